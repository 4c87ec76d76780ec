//! Units for a precision under Taylor's power law.

use super::{HowMany, by_scatter};
use crate::Refusal;
use crate::sampling::{Precision, Scatter, Taylor, id};

/// Units that give a mean the wanted precision under Taylor's power law: (z ÷ D)² × a × mean to the power of (b − 2).
///
/// Unit: units of check. Domain: mean, a and b above 0; D above 0.0001.
///
/// Source: Karandinos MG (1976) Bull. Entomol. Soc. Am. 22:417-421; Taylor LR (1961) Nature 189:732-735.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn how_many_by_taylor(mean: f64, law: Taylor, precision: Precision) -> Result<HowMany, Refusal> {
    by_scatter(Scatter::Taylor(law), mean, precision, id::HOW_MANY_TAYLOR)
}
