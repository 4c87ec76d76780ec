//! Square tables of two observers' judgements.

use super::id;
use crate::Refusal;
use crate::numeric::none_negative;

/// How many things the first observer called by the row's class and the second by the column's.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    rows: Vec<Vec<f64>>,
    total: f64,
}

impl Table {
    /// From rows of counts, or of weights.
    ///
    /// # Errors
    /// [`Refusal::NotMet`] unless square with at least two classes; [`Refusal::NotANumber`] for values below 0;
    /// [`Refusal::Nothing`] if all are 0.
    pub fn new(rows: Vec<Vec<f64>>) -> Result<Self, Refusal> {
        if rows.len() < 2 || rows.iter().any(|row| row.len() != rows.len()) {
            return Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE));
        }
        none_negative(rows.iter().flatten())?;
        let total: f64 = rows.iter().flatten().sum();
        if total > 0.0 && total.is_finite() { Ok(Self { rows, total }) } else { Err(Refusal::Nothing) }
    }

    /// Number of classes.
    pub fn classes(&self) -> usize {
        self.rows.len()
    }

    /// Number of things.
    pub fn total(&self) -> f64 {
        self.total
    }

    /// Share of all things in the cell.
    pub fn share(&self, row: usize, column: usize) -> f64 {
        self.rows[row][column] / self.total
    }

    /// Shares of the first observer's classes.
    pub fn first(&self) -> Vec<f64> {
        self.rows.iter().map(|row| row.iter().sum::<f64>() / self.total).collect()
    }

    /// Shares of the second observer's classes.
    pub fn second(&self) -> Vec<f64> {
        (0..self.classes()).map(|column| self.rows.iter().map(|row| row[column]).sum::<f64>() / self.total).collect()
    }
}
