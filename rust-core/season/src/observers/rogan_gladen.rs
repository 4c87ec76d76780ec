//! True share from an imperfect judgement.

use super::id;
use crate::{Estimate, Level, Refusal};

/// True share of a class from the share recorded, where `sensitivity` of the class and `specificity` of the rest are
/// recorded rightly: (recorded + specificity − 1) ÷ (sensitivity + specificity − 1), cut to 0 and 1 and said so.
///
/// Standard error √(p (1 − p) ÷ n) ÷ (sensitivity + specificity − 1), the two rates taken as exact.
///
/// Unit: share. Domain: n ≥ 1, rates from 0 to 1 that sum to more than 1.
///
/// Source: Rogan WJ, Gladen B (1978) Am. J. Epidemiol. 107:71-76.
///
/// # Errors
/// [`Refusal::Nothing`], [`Refusal::ImpossibleCounts`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] for a judgement no
/// better than chance.
pub fn rogan_gladen(
    recorded: u64,
    whole: u64,
    sensitivity: f64,
    specificity: f64,
    level: Level,
) -> Result<Estimate, Refusal> {
    crate::clopper_pearson::check(recorded, whole)?;
    if !((0.0..=1.0).contains(&sensitivity) && (0.0..=1.0).contains(&specificity)) {
        return Err(Refusal::NotANumber);
    }
    let worth = sensitivity + specificity - 1.0;
    if worth <= 1e-9 {
        return Err(Refusal::NotMet(id::REFUSED_TEST_WORTHLESS));
    }
    let n = whole as f64;
    let share = recorded as f64 / n;
    let raw = (share + specificity - 1.0) / worth;
    let error = (share * (1.0 - share) / n).sqrt() / worth;
    let value = raw.clamp(0.0, 1.0);
    let cut = (value - raw).abs() > 0.0;
    let found = Estimate::plain(raw, usize::try_from(whole).unwrap_or(usize::MAX), id::ROGAN_GLADEN)
        .normal(error, level)
        .within(0.0, 1.0)
        .assuming([id::ASSUMED_KNOWN_ERRORS, id::ASSUMED_ANIMALS_JUDGED_SINGLY])
        .assuming(cut.then_some(id::ASSUMED_CUT_TO_POSSIBLE));
    Ok(Estimate { value, ..found })
}
