//! Counts by stage over a season.

use super::id;
use crate::Refusal;
use crate::numeric::{all_finite, at_least, none_negative};

/// Numbers of each stage at each visit: sample totals or means per unit, as the caller says.
#[derive(Debug, Clone, PartialEq)]
pub struct StageSeries {
    times: Vec<f64>,
    rows: Vec<Vec<f64>>,
}

/// How far from equal two intervals may be.
const SPACING: f64 = 1e-6;

impl StageSeries {
    /// Of times (days, or degree-days) and one row of stages for each.
    ///
    /// # Errors
    /// [`Refusal::TooFew`] below two visits; [`Refusal::NotANumber`] for values below 0; [`Refusal::SameDay`] for equal
    /// times; [`Refusal::NotMet`] for times out of order or rows that differ in length.
    pub fn new(times: Vec<f64>, rows: Vec<Vec<f64>>) -> Result<Self, Refusal> {
        at_least(times.len(), 2)?;
        all_finite(&times)?;
        none_negative(rows.iter().flatten())?;
        if rows.len() != times.len() || rows[0].is_empty() || rows.iter().any(|row| row.len() != rows[0].len()) {
            return Err(Refusal::NotMet(id::REFUSED_SERIES_SHAPE));
        }
        for pair in times.windows(2) {
            if pair[0] >= pair[1] {
                let same = (pair[0] - pair[1]).abs() <= 0.0;
                return Err(if same {
                    Refusal::SameDay { day: pair[0] }
                } else {
                    Refusal::NotMet(id::REFUSED_SERIES_SHAPE)
                });
            }
        }
        Ok(Self { times, rows })
    }

    /// The same numbers at other times, such as degree-days since the first visit.
    ///
    /// # Errors
    /// As for [`Self::new`].
    pub fn at_times(&self, times: Vec<f64>) -> Result<Self, Refusal> {
        Self::new(times, self.rows.clone())
    }

    /// Times of the visits.
    pub fn times(&self) -> &[f64] {
        &self.times
    }

    /// One row for each visit.
    pub fn rows(&self) -> &[Vec<f64>] {
        &self.rows
    }

    /// Number of stages.
    pub fn stages(&self) -> usize {
        self.rows[0].len()
    }

    /// One stage over time.
    pub fn stage(&self, stage: usize) -> Vec<f64> {
        self.rows.iter().map(|row| row[stage]).collect()
    }

    /// Numbers in a stage or a later one, over time.
    pub fn from_stage(&self, stage: usize) -> Vec<f64> {
        self.rows.iter().map(|row| row[stage..].iter().sum()).collect()
    }

    /// The interval between visits where all are equal.
    pub(super) fn spacing(&self) -> Result<f64, Refusal> {
        let step = self.times[1] - self.times[0];
        let equal = self.times.windows(2).all(|pair| (pair[1] - pair[0] - step).abs() <= SPACING * step);
        if equal { Ok(step) } else { Err(Refusal::NotMet(id::REFUSED_UNEQUAL_INTERVALS)) }
    }
}

/// Refuses durations that are not one positive number for each stage.
pub(super) fn check_durations(durations: &[f64], stages: usize) -> Result<(), Refusal> {
    let sound = durations.len() == stages && durations.iter().all(|days| days.is_finite() && *days > 0.0);
    if sound { Ok(()) } else { Err(Refusal::NotMet(id::REFUSED_DURATIONS)) }
}
