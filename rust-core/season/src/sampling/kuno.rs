//! Kuno's stop line.

use super::scatter::Iwao;
use crate::Refusal;

/// Total count at which so many units have the wanted precision, under Iwao's regression; `None` where no total is
/// enough, with units of no more than (β − 1) ÷ D².
///
/// Total = (α + 1) ÷ (D² − (β − 1) ÷ units), D being standard error ÷ mean. Counting may stop where the running total
/// reaches it. With α = 0 and β = 1 + 1 ÷ k it is the line of a negative binomial.
///
/// Unit: animals. Domain: units from 1 on; D above 0 to 10.
///
/// Source: Kuno E (1969) Res. Popul. Ecol. 11:127-136.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn kuno_line(units: u32, line: Iwao, error: f64) -> Result<Option<f64>, Refusal> {
    line.check()?;
    if units == 0 || !(1e-4..=10.0).contains(&error) {
        return Err(Refusal::NotANumber);
    }
    let room = error * error - (line.beta - 1.0) / f64::from(units);
    Ok((room > 1e-12).then(|| (line.alpha + 1.0) / room))
}
