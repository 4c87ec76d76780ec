//! Stage counts corrected by inverting the matrix.

use super::correct::check;
use super::id;
use crate::numeric::solve;
use crate::{MessageId, Refusal};
use serde::Serialize;

/// Counts by inversion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inverted {
    /// One for each class; some may be below 0.
    pub classes: Vec<f64>,
    /// How it was made.
    pub method: MessageId,
    /// That some are, where they are: then the values are not to be used.
    pub warning: Option<MessageId>,
}

/// Counts of each true class by solving recorded = true · matrix.
///
/// The classic calibration. It can leave what is possible, which is warned of; [`super::correct`] cannot.
///
/// Unit: things. Domain: a square matrix with an inverse, rows summing to 1.
///
/// Source: Hoenig JM, Heisey DM (1987) Trans. Am. Fish. Soc. 116:232-243.
///
/// # Errors
/// [`Refusal::NotMet`] for a matrix of another shape or without inverse; [`Refusal::Nothing`], [`Refusal::NotANumber`].
pub fn invert(recorded: &[f64], matrix: &[Vec<f64>]) -> Result<Inverted, Refusal> {
    check(recorded, matrix)?;
    if matrix.len() != recorded.len() {
        return Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE));
    }
    let across: Vec<Vec<f64>> =
        (0..matrix.len()).map(|column| matrix.iter().map(|row| row[column]).collect()).collect();
    let classes = solve(&across, recorded).ok_or(Refusal::NotMet(id::REFUSED_NO_INVERSE))?;
    let slack = 1e-9 * recorded.iter().sum::<f64>();
    let warning = classes.iter().any(|&value| value < -slack).then_some(id::WARNED_BELOW_ZERO);
    Ok(Inverted { classes, method: id::CORRECTED_BY_INVERSION, warning })
}
