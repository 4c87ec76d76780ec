//! The season by week.

use crate::numeric::{all_finite, at_least, none_negative};
use crate::{Point, Refusal};
use serde::Serialize;

/// One week of the season.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Week {
    /// Its number, counted from the first day of the series.
    pub week: u32,
    /// Mean of the visits in it; between visited weeks, by a straight line where there is none.
    pub value: f64,
    /// Visits in it; 0 where the value is interpolated.
    pub visits: u32,
}

/// No season is longer.
const MOST_WEEKS: f64 = 600.0;

/// Values by week: the mean of a week's visits, and straight lines through weeks without a visit between two that have
/// one. Nothing is added before the first or after the last visited week.
///
/// Week 0 starts on `first_day`. Unit: that of the values. Domain: at least one visit, values 0 or more, no visit before
/// `first_day` nor 600 weeks after it.
///
/// Source: common practice; interpolation inside the season only.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`].
pub fn weekly(points: &[Point], first_day: f64) -> Result<Vec<Week>, Refusal> {
    at_least(points.len(), 1)?;
    all_finite([&first_day])?;
    none_negative(points.iter().map(|point| &point.value))?;
    let week_of = |day: f64| ((day - first_day) / 7.0).floor();
    if points.iter().any(|point| !(0.0..MOST_WEEKS).contains(&week_of(point.day))) {
        return Err(Refusal::NotANumber);
    }
    let mut sums: std::collections::BTreeMap<u32, (f64, u32)> = std::collections::BTreeMap::new();
    for point in points {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 600")]
        let sum = sums.entry(week_of(point.day) as u32).or_default();
        sum.0 += point.value;
        sum.1 += 1;
    }
    let known: Vec<Week> =
        sums.into_iter().map(|(week, (sum, visits))| Week { week, value: sum / f64::from(visits), visits }).collect();
    let between = |pair: &[Week]| {
        let (from, to) = (pair[0], pair[1]);
        let slope = (to.value - from.value) / f64::from(to.week - from.week);
        (from.week + 1..to.week)
            .map(|week| Week { week, value: from.value + slope * f64::from(week - from.week), visits: 0 })
            .chain([to])
            .collect::<Vec<_>>()
    };
    Ok(known.iter().take(1).copied().chain(known.windows(2).flat_map(between)).collect())
}
