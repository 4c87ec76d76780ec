//! How hot it feels.

use super::id;
use crate::degree_days::{Celsius, Fahrenheit};
use crate::{MessageId, Refusal};
use serde::Serialize;

/// How hot a temperature feels at a humidity, in the shade.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatIndex {
    /// The index in °C.
    pub celsius: Celsius,
    /// The index in °F, in which the source states it.
    pub fahrenheit: Fahrenheit,
    /// What to make of it.
    pub category: HeatCategory,
    /// Which part of the formula it comes from.
    pub range: HeatRange,
    /// Name of the method.
    pub method: MessageId,
    /// What was assumed.
    pub assumed: Vec<MessageId>,
}

/// The weather service's categories. From memory: 80, 90, 103 and 125 °F.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeatCategory {
    /// Below 80 °F.
    None,
    /// 80 to below 90 °F.
    Caution,
    /// 90 to below 103 °F.
    ExtremeCaution,
    /// 103 to below 125 °F: stop.
    Danger,
    /// From 125 °F on: stop.
    ExtremeDanger,
}

/// Which part of the formula holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeatRange {
    /// The simple formula: the index is below 80 °F.
    Simple,
    /// The regression.
    Regression,
    /// The regression with its correction for dry air.
    Dry,
    /// The regression with its correction for damp air.
    Damp,
    /// The regression, beyond the temperatures and humidities from which it was made: not to be trusted.
    Beyond,
}

/// Hottest air of the weather service's chart, °F. From memory.
const HOTTEST_OF_CHART: f64 = 110.0;
/// Highest index of the chart, °F. From memory.
const HIGHEST_OF_CHART: f64 = 137.0;

/// The heat index of the United States weather service.
///
/// With T in °F and R in %: first the simple formula ½ × (T + 61 + 1.2 × (T − 68) + 0.094 R), then averaged with T, as
/// the service's text says (the simple formula's half is already such an average, and some libraries do not average
/// again: at 70 °F and 50 % they give 69.05 and this 69.525). From 80 °F on the regression of nine terms; below 13 %
/// and between 80 and 112 °F less (13 − R) ÷ 4 × √((17 − |T − 95|) ÷ 17); above 85 % and between 80 and 87 °F more by
/// (R − 85) ÷ 10 × (87 − T) ÷ 5. It holds in the shade with light wind; full sun adds up to 15 °F (8 °C; from memory).
///
/// Unit: °C and °F. Domain: −90 to 60 °C, 0 to 100 %. Beyond the service's chart (110 °F, an index of 137 °F) it is
/// marked so.
///
/// Source: Rothfusz LP (1990) NWS Southern Region Technical Attachment SR 90-23, after Steadman RG (1979) J. Appl.
/// Meteorol. 18:861-873; corrections from the service's page "The Heat Index Equation".
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn heat_index(temperature: Celsius, humidity: f64) -> Result<HeatIndex, Refusal> {
    if !(-90.0..=60.0).contains(&temperature.0) || !(0.0..=100.0).contains(&humidity) {
        return Err(Refusal::NotANumber);
    }
    let Fahrenheit(t) = temperature.into();
    let simple = 0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * humidity);
    let averaged = f64::midpoint(simple, t);
    let (fahrenheit, range) = if averaged < 80.0 { (averaged, HeatRange::Simple) } else { hot(t, humidity) };
    let beyond = (range == HeatRange::Beyond).then_some(id::ASSUMED_BEYOND_HEAT_TABLE);
    Ok(HeatIndex {
        celsius: Fahrenheit(fahrenheit).into(),
        fahrenheit: Fahrenheit(fahrenheit),
        category: HeatCategory::of(fahrenheit),
        range,
        method: id::HEAT_INDEX,
        assumed: [id::ASSUMED_SHADE].into_iter().chain(beyond).collect(),
    })
}

fn hot(t: f64, r: f64) -> (f64, HeatRange) {
    let regression = -42.379 + 2.049_015_23 * t + 10.143_331_27 * r
        - 0.224_755_41 * t * r
        - 0.006_837_83 * t * t
        - 0.054_817_17 * r * r
        + 0.001_228_74 * t * t * r
        + 0.000_852_82 * t * r * r
        - 0.000_001_99 * t * t * r * r;
    let (index, range) = if r < 13.0 && (80.0..=112.0).contains(&t) {
        (regression - (13.0 - r) / 4.0 * ((17.0 - (t - 95.0).abs()) / 17.0).max(0.0).sqrt(), HeatRange::Dry)
    } else if r > 85.0 && (80.0..=87.0).contains(&t) {
        (regression + (r - 85.0) / 10.0 * (87.0 - t) / 5.0, HeatRange::Damp)
    } else {
        (regression, HeatRange::Regression)
    };
    if t > HOTTEST_OF_CHART || index > HIGHEST_OF_CHART { (index, HeatRange::Beyond) } else { (index, range) }
}

impl HeatCategory {
    fn of(fahrenheit: f64) -> Self {
        match fahrenheit {
            f if f < 80.0 => Self::None,
            f if f < 90.0 => Self::Caution,
            f if f < 103.0 => Self::ExtremeCaution,
            f if f < 125.0 => Self::Danger,
            _ => Self::ExtremeDanger,
        }
    }

    /// Its message.
    pub const fn message(self) -> MessageId {
        match self {
            Self::None => id::HEAT_NONE,
            Self::Caution => id::HEAT_CAUTION,
            Self::ExtremeCaution => id::HEAT_EXTREME_CAUTION,
            Self::Danger => id::HEAT_DANGER,
            Self::ExtremeDanger => id::HEAT_EXTREME_DANGER,
        }
    }
}
