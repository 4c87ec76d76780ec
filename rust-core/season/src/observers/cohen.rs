//! Cohen's kappa.

use super::{Kappa, Table, Weights, id, weighted_kappa};
use crate::{Estimate, Level, Refusal};

/// Cohen's kappa: agreement of two observers beyond chance, every difference counting alike. It is [`weighted_kappa`]
/// without weights.
///
/// Unit, domain and errors as there. It depends on how common the classes are, not only on the observers.
///
/// Source: Cohen J (1960) Educ. Psychol. Meas. 20:37-46.
///
/// # Errors
/// As for [`weighted_kappa`].
pub fn cohen(table: &Table, level: Level) -> Result<Kappa, Refusal> {
    let found = weighted_kappa(table, &Weights::None, level)?;
    Ok(Kappa { kappa: Estimate { method: id::COHEN, ..found.kappa }, ..found })
}
