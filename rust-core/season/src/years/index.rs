//! Index of a season.

use super::{id, weekly};
use crate::numeric::at_least;
use crate::{Estimate, Point, Refusal, trapezoid};
use serde::Serialize;

/// A season in one number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonIndex {
    /// Area under the weekly curve, in the values' unit × days.
    pub index: Estimate,
    /// Share of weeks between the first and the last visited one that were interpolated.
    pub interpolated: f64,
    /// Weeks from the first to the last visited one.
    pub weeks: u64,
}

/// Area under the weekly curve ([`weekly`], [`trapezoid`]), each week at its middle.
///
/// Unit: that of the values × days. Domain: at least two visited weeks. Comparable between years only where effort, unit
/// and span of the season are alike; the share interpolated says how far to trust it.
///
/// Source: Southwood TRE, Henderson PA (2000) Ecological Methods, chapter 10; Rothery P, Roy DB (2001) J. Appl. Stat.
/// 28:897-909.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`].
pub fn season_index(points: &[Point], first_day: f64) -> Result<SeasonIndex, Refusal> {
    let weeks = weekly(points, first_day)?;
    let visited = weeks.iter().filter(|week| week.visits > 0).count();
    at_least(visited, 2)?;
    let middles: Vec<Point> = weeks
        .iter()
        .map(|week| Point { day: first_day + 7.0 * f64::from(week.week) + 3.5, value: week.value })
        .collect();
    let missing = weeks.len() - visited;
    let index = Estimate::plain(trapezoid(&middles)?, points.len(), id::SEASON_INDEX)
        .sound()?
        .assuming([crate::id::ASSUMED_ALL_SEEN, id::ASSUMED_NOTHING_OUTSIDE_SEASON])
        .assuming((missing > 0).then_some(id::ASSUMED_WEEKS_INTERPOLATED));
    Ok(SeasonIndex { index, interpolated: missing as f64 / weeks.len() as f64, weeks: weeks.len() as u64 })
}
