//! Units for a precision under Iwao's regression.

use super::{HowMany, by_scatter};
use crate::Refusal;
use crate::sampling::{Iwao, Precision, Scatter, id};

/// Units that give a mean the wanted precision under Iwao's regression: (z ÷ D)² × ((α + 1) ÷ mean + β − 1).
///
/// Unit: units of check. Domain: mean above 0, α above −1, β above 0, a variance above 0; D above 0.0001.
///
/// Source: Iwao S, Kuno E (1968) Res. Popul. Ecol. 10:210-214.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn how_many_by_iwao(mean: f64, line: Iwao, precision: Precision) -> Result<HowMany, Refusal> {
    by_scatter(Scatter::Iwao(line), mean, precision, id::HOW_MANY_IWAO)
}
