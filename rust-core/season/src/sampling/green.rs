//! Green's stop line.

use super::scatter::Taylor;
use crate::Refusal;

/// Total count at which so many units have the wanted precision, under Taylor's power law.
///
/// Total = (D² ÷ a) to the power of 1 ÷ (b − 2) × units to the power of (b − 1) ÷ (b − 2), D being standard error ÷ mean.
/// Counting may stop where the running total reaches it.
///
/// Unit: animals. Domain: units from 1 on; D above 0 to 10; b below 2, for at 2 and above it no line falls with units.
///
/// Source: Green RH (1970) Res. Popul. Ecol. 12:249-251.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain or where the line is beyond all numbers.
pub fn green_line(units: u32, law: Taylor, error: f64) -> Result<f64, Refusal> {
    law.check()?;
    if units == 0 || !(1e-4..=10.0).contains(&error) || law.b >= 2.0 {
        return Err(Refusal::NotANumber);
    }
    let root = law.b - 2.0;
    let total = (error * error / law.a).powf(1.0 / root) * f64::from(units).powf((law.b - 1.0) / root);
    if total.is_finite() { Ok(total) } else { Err(Refusal::NotANumber) }
}
