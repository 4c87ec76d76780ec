//! Degree-days added up over a span of dates.

use super::gaps::{Filled, Known};
use super::id;
use super::method::Counting;
use crate::{Estimate, Refusal};
use serde::Serialize;
use survey::date::Date;

/// A span's degree-days.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatSum {
    /// Sum over the measured days alone, in °C × day; `n` counts them. No interval: nothing in the data tells how far
    /// the shape of the day and the air at the leaf are from what is assumed.
    pub measured: Estimate,
    /// What the interpolated days add, in °C × day.
    pub interpolated: f64,
    /// How many days were interpolated.
    pub interpolated_days: usize,
    /// How many days are missing and add nothing.
    pub missing_days: usize,
    /// Day by day.
    pub days: Vec<DayHeat>,
}

/// One day's degree-days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DayHeat {
    /// The day.
    pub date: Date,
    /// Its degree-days in °C × day; `None` where it is missing, which is no zero.
    pub degree_days: Option<f64>,
    /// How its temperatures are known.
    pub known: Known,
}

impl HeatSum {
    /// Measured and interpolated days together, in °C × day.
    pub fn with_interpolated(&self) -> f64 {
        self.measured.value + self.interpolated
    }
}

/// Degree-days over all days of a series, kept apart by how the days are known.
///
/// Sum over measured days of the method's degree-days. Interpolated days are summed apart, missing days counted. The
/// double methods take the day's own lowest temperature where the next day is missing.
///
/// Unit: °C × day. Domain: at least one measured day.
///
/// Source: that of the method; that gaps stay apart is this project's rule.
///
/// # Errors
/// [`Refusal::Nothing`] where no day is measured.
pub fn sum(series: &Filled, counting: &Counting) -> Result<HeatSum, Refusal> {
    let days: Vec<_> = series
        .days()
        .iter()
        .enumerate()
        .map(|(index, &(date, day, known))| {
            let next = series.days().get(index + 1).and_then(|(_, next, _)| *next);
            DayHeat { date, degree_days: day.map(|day| counting.of_day(day, next)), known }
        })
        .collect();
    let of = |wanted| days.iter().filter(move |day: &&DayHeat| day.known == wanted);
    // Not `sum`: of no days that is −0.
    let total = |wanted| of(wanted).filter_map(|day| day.degree_days).fold(0.0, |sum, day| sum + day);
    let measured_days = of(Known::Measured).count();
    if measured_days == 0 {
        return Err(Refusal::Nothing);
    }
    let looks_ahead = counting.method().looks_ahead();
    let measured = Estimate {
        value: total(Known::Measured),
        standard_error: None,
        interval: None,
        n: measured_days as u64,
        method: counting.method().id(),
        assumed: [Some(id::ASSUMED_AIR_IS_LEAF), looks_ahead.then_some(id::ASSUMED_LAST_NIGHT_LIKE_OWN)]
            .into_iter()
            .flatten()
            .collect(),
    };
    Ok(HeatSum {
        measured,
        interpolated: total(Known::Interpolated),
        interpolated_days: of(Known::Interpolated).count(),
        missing_days: of(Known::Missing).count(),
        days,
    })
}
