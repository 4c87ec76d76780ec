//! Between which temperatures an animal develops the faster the warmer it is.

use super::temperature::Celsius;
use serde::Serialize;

/// A lower threshold below which nothing develops, and maybe an upper one above which heat adds no more.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Thresholds {
    lower: Celsius,
    upper: Option<Celsius>,
}

/// The thresholds contradict themselves.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ThresholdError {
    /// Not finite, or no temperature of the air: −100 to 100 °C.
    #[error("{0} is no threshold")]
    NotANumber(f64),
    /// The upper one is not above the lower one.
    #[error("the upper threshold {upper} is not above the lower threshold {lower}")]
    NotAbove {
        /// The lower threshold in °C.
        lower: f64,
        /// The upper threshold in °C.
        upper: f64,
    },
}

impl Thresholds {
    /// The monarch: 11.5 °C and 33 °C.
    ///
    /// From memory, of Zalucki MP (1982) J. Aust. Entomol. Soc. 21:241-246 (lower) and Zipkin EF et al. (2012) Glob.
    /// Change Biol. 18:3039-3049 (upper). Two independent rearings agree with the clock that rests on them.
    pub const MONARCH: Self = Self { lower: Celsius(11.5), upper: Some(Celsius(33.0)) };

    /// These thresholds.
    ///
    /// # Errors
    /// Not finite, outside −100 to 100 °C, or upper not above lower.
    pub fn new(lower: Celsius, upper: Option<Celsius>) -> Result<Self, ThresholdError> {
        for Celsius(degrees) in [Some(lower), upper].into_iter().flatten() {
            if !(-100.0..=100.0).contains(&degrees) {
                return Err(ThresholdError::NotANumber(degrees));
            }
        }
        match upper {
            Some(upper) if upper <= lower => Err(ThresholdError::NotAbove { lower: lower.0, upper: upper.0 }),
            _ => Ok(Self { lower, upper }),
        }
    }

    /// The lower threshold.
    pub const fn lower(&self) -> Celsius {
        self.lower
    }

    /// The upper threshold, where there is one.
    pub const fn upper(&self) -> Option<Celsius> {
        self.upper
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thresholds_that_contradict_themselves_are_refused() {
        let of = |lower, upper: Option<f64>| Thresholds::new(Celsius(lower), upper.map(Celsius));
        assert_eq!(of(11.5, Some(33.0)), Ok(Thresholds::MONARCH));
        assert!(of(10.0, None).is_ok());
        assert_eq!(of(33.0, Some(33.0)), Err(ThresholdError::NotAbove { lower: 33.0, upper: 33.0 }));
        assert!(matches!(of(f64::NAN, None), Err(ThresholdError::NotANumber(_))));
        assert!(matches!(of(1.0, Some(f64::INFINITY)), Err(ThresholdError::NotANumber(_))));
    }
}
