//! Units for a precision of clumped counts.

use super::{HowMany, by_scatter};
use crate::Refusal;
use crate::sampling::{Precision, Scatter, id};

/// Units that give a mean the wanted precision under negative binomial counts: (z ÷ D)² × (1 ÷ mean + 1 ÷ k).
///
/// Unit: units of check. Domain: mean and k above 0; D above 0.0001.
///
/// Source: Karandinos MG (1976) Bull. Entomol. Soc. Am. 22:417-421.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn how_many_by_negative_binomial(mean: f64, k: f64, precision: Precision) -> Result<HowMany, Refusal> {
    by_scatter(Scatter::NegativeBinomial { k }, mean, precision, id::HOW_MANY_NEGATIVE_BINOMIAL)
}
