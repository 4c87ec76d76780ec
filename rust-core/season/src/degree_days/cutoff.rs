//! What happens above the upper threshold.

use super::temperature::Celsius;
use super::thresholds::Thresholds;
use serde::Serialize;

/// How development goes on above the upper threshold.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cutoff {
    /// As fast as at the upper threshold.
    #[default]
    Horizontal,
    /// Not at all.
    Vertical,
    /// Slower by as much as it is warmer than the upper threshold.
    ///
    /// Not held at zero, as in the published tables (Zalom et al. 1983): past twice the upper threshold minus the
    /// lower one the rate is negative, and so may be the degree-days of a very hot day.
    Intermediate,
}

/// Heat at one moment: degrees above the lower threshold at this temperature, with the cutoff above the upper one.
///
/// Unit: degrees Celsius (per day, if the temperature lasts). Without an upper threshold the cutoff does nothing.
/// Domain: every finite temperature.
///
/// Source: Zalom FG, Goodell PB, Wilson LT, Barnett WW, Bentley WJ (1983) Degree-Days, UC DANR Leaflet 21373.
pub fn rate(Celsius(now): Celsius, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    let lower = thresholds.lower().0;
    let plain = (now - lower).max(0.0);
    match thresholds.upper() {
        Some(Celsius(upper)) if now > upper => match cutoff {
            Cutoff::Horizontal => upper - lower,
            Cutoff::Vertical => 0.0,
            Cutoff::Intermediate => (upper - lower) - (now - upper),
        },
        _ => plain,
    }
}

/// Of a curve of temperature over a day, all that the cutoffs need to know about its part above one temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Above {
    /// Mean over the day of the degrees above it.
    pub(super) degrees: f64,
    /// Share of the day above it.
    pub(super) share: f64,
}

/// Degree-days of a curve, told by its parts above a temperature.
///
/// Horizontal: above(lower) − above(upper). Intermediate: above(lower) − 2 × above(upper). Vertical: above(lower) −
/// above(upper) − (upper − lower) × share of the day above the upper threshold.
pub(super) fn degree_days(above: impl Fn(f64) -> Above, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    let lower = thresholds.lower().0;
    let all = above(lower).degrees;
    let Some(Celsius(upper)) = thresholds.upper() else {
        return all;
    };
    let over = above(upper);
    match cutoff {
        Cutoff::Horizontal => (all - over.degrees).max(0.0),
        Cutoff::Vertical => (all - over.degrees - (upper - lower) * over.share).max(0.0),
        Cutoff::Intermediate => all - 2.0 * over.degrees,
    }
}
