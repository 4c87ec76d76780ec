//! Units for a precision of a share, such as that of occupied plants.

use super::HowMany;
use crate::estimate::Level;
use crate::sampling::{Precision, id};
use crate::{Refusal, quantile};

/// Units that give a share p the wanted precision as a share of itself: (z ÷ D)² × (1 − p) ÷ p.
///
/// Unit: units of check. Domain: p above 0 and below 1; D above 0.0001.
///
/// Source: Karandinos MG (1976) Bull. Entomol. Soc. Am. 22:417-421.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn how_many_for_share(p: f64, precision: Precision) -> Result<HowMany, Refusal> {
    between_0_and_1(p)?;
    HowMany::new(precision.factor()? * (1.0 - p) / p, id::HOW_MANY_SHARE, &[id::ASSUMED_EXPECTED_MEAN])
}

/// Units that give a share p an interval of p ± `within`: z² × p × (1 − p) ÷ within².
///
/// Unit: units of check. Domain: p and `within` above 0 and below 1.
///
/// Source: Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, section 4.4.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn how_many_for_share_within(p: f64, within: f64, level: Level) -> Result<HowMany, Refusal> {
    between_0_and_1(p)?;
    between_0_and_1(within)?;
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    HowMany::new((z / within).powi(2) * p * (1.0 - p), id::HOW_MANY_SHARE, &[id::ASSUMED_EXPECTED_MEAN])
}

fn between_0_and_1(share: f64) -> Result<(), Refusal> {
    if share > 1e-9 && share < 1.0 { Ok(()) } else { Err(Refusal::NotANumber) }
}
