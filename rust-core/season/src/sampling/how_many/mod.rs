//! How many units a wanted precision takes.

mod iwao;
mod negative_binomial;
mod pilot;
mod poisson;
mod share;
mod taylor;

pub use iwao::how_many_by_iwao;
pub use negative_binomial::how_many_by_negative_binomial;
pub use pilot::how_many_by_pilot;
pub use poisson::how_many_by_poisson;
pub use share::{how_many_for_share, how_many_for_share_within};
pub use taylor::how_many_by_taylor;

use super::id;
use super::precision::Precision;
use super::scatter::Scatter;
use crate::{MessageId, Refusal};
use serde::Serialize;

/// How many units it takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HowMany {
    /// As the formula gives it, above 0.
    pub exact: f64,
    /// In whole units, rounded up.
    pub units: u64,
    /// Name of the method.
    pub method: MessageId,
    /// What was assumed.
    pub assumed: Vec<MessageId>,
}

impl HowMany {
    fn new(exact: f64, method: MessageId, assumed: &[MessageId]) -> Result<Self, Refusal> {
        if !(exact > 0.0 && exact < 1e15) {
            return Err(Refusal::NotANumber);
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 10^15")]
        let units = exact.ceil() as u64;
        Ok(Self { exact, units, method, assumed: assumed.to_vec() })
    }

    /// How many it takes at a site that has so many units: n ÷ (1 + n ÷ N), fewer because the sample takes a part of the
    /// whole (Cochran 1977, section 4.6).
    ///
    /// # Errors
    /// [`Refusal::Nothing`] for a site without units.
    pub fn at_site(self, units_at_site: u32) -> Result<Self, Refusal> {
        if units_at_site == 0 {
            return Err(Refusal::Nothing);
        }
        let exact = self.exact / (1.0 + self.exact / f64::from(units_at_site));
        Self::new(exact, self.method, &self.assumed)
    }
}

/// (z ÷ D)² × variance ÷ mean².
fn by_scatter(scatter: Scatter, mean: f64, precision: Precision, method: MessageId) -> Result<HowMany, Refusal> {
    let exact = precision.factor()? * scatter.variance(mean)? / (mean * mean);
    HowMany::new(exact, method, &[id::ASSUMED_EXPECTED_MEAN, id::ASSUMED_STATED_SCATTER])
}
