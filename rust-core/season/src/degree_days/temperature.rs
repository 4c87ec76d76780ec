//! Temperatures in the two scales that weather files use.

use serde::Serialize;

/// A temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Celsius(pub f64);

/// A temperature in degrees Fahrenheit.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Fahrenheit(pub f64);

/// The scale of a column of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scale {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl Scale {
    /// The temperature that this number means.
    pub fn read(self, number: f64) -> Celsius {
        match self {
            Self::Celsius => Celsius(number),
            Self::Fahrenheit => Fahrenheit(number).into(),
        }
    }

    /// A span of degree-days in degrees Celsius, in this scale: a degree Celsius is 1.8 degrees Fahrenheit.
    pub fn degree_days(self, celsius_days: f64) -> f64 {
        match self {
            Self::Celsius => celsius_days,
            Self::Fahrenheit => celsius_days * 1.8,
        }
    }
}

impl From<Fahrenheit> for Celsius {
    fn from(Fahrenheit(degrees): Fahrenheit) -> Self {
        Self((degrees - 32.0) / 1.8)
    }
}

impl From<Celsius> for Fahrenheit {
    fn from(Celsius(degrees): Celsius) -> Self {
        Self(degrees * 1.8 + 32.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scales_meet_at_their_fixed_points() {
        for (celsius, fahrenheit) in [(0.0, 32.0), (100.0, 212.0), (-40.0, -40.0), (37.0, 98.6)] {
            let there: Fahrenheit = Celsius(celsius).into();
            let back: Celsius = Fahrenheit(fahrenheit).into();
            assert!((there.0 - fahrenheit).abs() < 1e-12 && (back.0 - celsius).abs() < 1e-12);
        }
        assert!((Scale::Fahrenheit.degree_days(10.0) - 18.0).abs() < 1e-12);
    }
}
