//! Numbers as people type them, in the units that they chose. Entries are metric.

use super::settings::Units;
use crate::error::{Error, HandsetError, Why};

/// Centimetres of an inch, by definition.
const CM_OF_INCH: f64 = 2.54;

impl Units {
    /// Air temperature as typed, in tenths of a degree Celsius; `None` for an empty text.
    ///
    /// # Errors
    /// `number-out-of-range` for what is no number from −60 to 60 degrees Celsius.
    pub fn air(self, typed: &str) -> Result<Option<i16>, HandsetError> {
        let celsius = |number: f64| match self {
            Self::Metric => number,
            Self::Imperial => (number - 32.0) / 1.8,
        };
        rounded(typed, |number| celsius(number) * 10.0, -600.0, 600.0)
    }

    /// A height as typed, in centimetres; `None` for an empty text.
    ///
    /// # Errors
    /// `number-out-of-range` for what is no height from 1 to 999 centimetres.
    pub fn height(self, typed: &str) -> Result<Option<u16>, HandsetError> {
        let cm = |number: f64| match self {
            Self::Metric => number,
            Self::Imperial => number * CM_OF_INCH,
        };
        rounded(typed, cm, 1.0, 999.0)
    }

    /// Tenths of a degree Celsius as degrees of these units.
    pub fn of_air(self, tenths: i16) -> f64 {
        let celsius = f64::from(tenths) / 10.0;
        match self {
            Self::Metric => celsius,
            Self::Imperial => celsius * 1.8 + 32.0,
        }
    }

    /// Centimetres as centimetres or inches.
    pub fn of_height(self, cm: u16) -> f64 {
        match self {
            Self::Metric => f64::from(cm),
            Self::Imperial => f64::from(cm) / CM_OF_INCH,
        }
    }
}

/// A number as typed, with a point or a comma; `None` for an empty text.
///
/// # Errors
/// `number-out-of-range` for what is no number.
pub fn typed_number(typed: &str) -> Result<Option<f64>, HandsetError> {
    let text = typed.trim().replace(',', ".").replace('\u{2212}', "-");
    if text.is_empty() {
        return Ok(None);
    }
    let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
    number.map(Some).ok_or_else(|| HandsetError::number_out_of_range(typed))
}

/// A whole number as typed; `None` for an empty text.
///
/// # Errors
/// `number-out-of-range` for what is none.
pub fn typed_count(typed: &str) -> Result<Option<u32>, HandsetError> {
    let text = typed.trim();
    if text.is_empty() {
        return Ok(None);
    }
    text.parse().map(Some).map_err(|_| HandsetError::number_out_of_range(typed))
}

fn rounded<T: std::str::FromStr>(
    typed: &str,
    scaled: impl Fn(f64) -> f64,
    least: f64,
    most: f64,
) -> Result<Option<T>, HandsetError> {
    let Some(number) = typed_number(typed)? else { return Ok(None) };
    let number = scaled(number).round();
    let within = (least..=most).contains(&number).then(|| format!("{number:.0}").parse().ok()).flatten();
    within.map(Some).ok_or_else(|| Error::refused(Why::NumberOutOfRange, typed).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 212 °F is 100 °C and 32 °F is 0 °C; an inch is 2.54 cm, by definition.
    #[test]
    fn what_is_typed_in_other_units_is_kept_metric_and_shown_back() {
        assert_eq!(Units::Imperial.air("77").unwrap(), Some(250));
        assert_eq!(Units::Imperial.air("32").unwrap(), Some(0));
        assert_eq!(Units::Metric.air("23,5").unwrap(), Some(235));
        assert_eq!(Units::Metric.air("\u{2212}4").unwrap(), Some(-40));
        assert_eq!(Units::Imperial.height("40").unwrap(), Some(102));
        assert_eq!(Units::Metric.height(" ").unwrap(), None);
        assert!((Units::Imperial.of_air(250) - 77.0).abs() < 1e-9);
        assert!((Units::Imperial.of_height(102) - 40.157).abs() < 1e-3);
        for wrong in ["warm", "1000", "inf", "-70", "1 2"] {
            assert!(Units::Metric.air(wrong).is_err(), "{wrong}");
        }
        assert!(Units::Metric.height("0").is_err() && Units::Metric.height("1000").is_err());
        assert_eq!(typed_count(" 12 ").unwrap(), Some(12));
        assert!(typed_count("-1").is_err() && typed_count("1.5").is_err());
    }
}
