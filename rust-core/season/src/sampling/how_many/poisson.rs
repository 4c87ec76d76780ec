//! Units for a precision of counts that scatter by pure chance.

use super::{HowMany, by_scatter};
use crate::Refusal;
use crate::sampling::{Precision, Scatter, id};

/// Units that give a mean the wanted precision under Poisson counts: (z ÷ D)² ÷ mean.
///
/// Unit: units of check. Domain: mean above 0; D above 0.0001. Animals on plants are clumped, so this is too few.
///
/// Source: Karandinos MG (1976) Bull. Entomol. Soc. Am. 22:417-421.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn how_many_by_poisson(mean: f64, precision: Precision) -> Result<HowMany, Refusal> {
    by_scatter(Scatter::Poisson, mean, precision, id::HOW_MANY_POISSON)
}
