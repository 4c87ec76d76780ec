//! Measuring on a photo: lengths along a line, by a scale of known length beside the animal, with the error that goes
//! into the answer.
//!
//! A line has two points or more, for larvae curl. Each point is set by a finger with an error of its own; the scale is
//! measured in the same way and is known only so well; and what is not square to the camera looks shorter. All errors
//! are standard deviations of the logarithm, which are shares of the length as long as they are small. Ratios of two
//! lines on one photo need no scale.

use crate::answer::Answer;
use crate::names::Means;

/// A point on a photo, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pixel {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// Something of known length beside the animal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Its ends on the photo.
    pub ends: [Pixel; 2],
    /// What it is.
    pub of: Known,
    /// Whether it lies as far from the camera as the animal does.
    pub plane: Plane,
    /// By how many degrees the leaf leans from the camera, 0 to 20.
    pub tilt_degrees: f64,
}

/// What is of known length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// A coin, across.
    Coin(Coin),
    /// A stretch of a ruler, or of a card that was printed, so many millimetres long.
    Marked(f64),
}

/// A coin, by its diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coin {
    /// Where it is paid with, by the two letters of the country (ISO 3166-1), or `EU`.
    pub region: &'static str,
    /// What is written on it.
    pub name: &'static str,
    /// Across, in millimetres.
    pub diameter_mm: f64,
}

/// How far from the camera a scale lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plane {
    /// As far as the animal: on the same leaf.
    Same,
    /// Nearer or farther.
    Other,
}

/// A length with its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Millimetres; for a ratio, times.
    pub value: f64,
    /// Standard deviation of its logarithm.
    pub error: f64,
}

/// Why nothing is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// A line of fewer than two points, more than [`MOST_POINTS`], or points that are no numbers.
    #[error("a line has 2 to {MOST_POINTS} points")]
    Line,
    /// Both ends at nearly one place: the error would be larger than the length.
    #[error("this is too short on the photo to be measured; take it from nearer")]
    TooShort,
    /// A scale that has no length.
    #[error("a scale has a length above zero")]
    Scale,
    /// The leaf leans too much.
    #[error("the leaf leans by more than {MOST_TILT_DEGREES} degrees; hold the camera square to it")]
    Tilt,
}

/// The most points of a line.
pub const MOST_POINTS: usize = 6;
/// The most degrees by which a leaf may lean.
pub const MOST_TILT_DEGREES: f64 = 20.0;

/// Error of a point, in pixels (our own choice, no source: a finger on a picture that is shown enlarged).
const POINT_ERROR: f64 = 2.0;
/// Error of a coin's diameter, of a ruler's or a printed card's length, as a share (from memory: coins keep to about
/// 0.1 mm; a printer may scale a card by a percent).
const COIN_ERROR: f64 = 0.005;
const MARKED_ERROR: f64 = 0.01;
/// Error where the scale lies nearer or farther, as a share: two centimetres at a hand's breadth of twenty (chosen).
const OTHER_PLANE_ERROR: f64 = 0.10;

/// Coins by region; diameters are those of the mints, from memory.
pub const COINS: [Coin; 12] = [
    coin("US", "1 cent", 19.05),
    coin("US", "5 cents", 21.21),
    coin("US", "10 cents", 17.91),
    coin("US", "25 cents", 24.26),
    coin("CA", "5 cents", 21.20),
    coin("CA", "10 cents", 18.03),
    coin("CA", "25 cents", 23.88),
    coin("CA", "1 dollar", 26.50),
    coin("MX", "1 peso", 21.00),
    coin("MX", "2 pesos", 23.00),
    coin("MX", "5 pesos", 25.50),
    coin("EU", "1 euro", 23.25),
];

/// The length of a line by a scale.
///
/// # Errors
/// Why it cannot be measured.
pub fn length(line: &[Pixel], scale: &Scale) -> Result<Measured, PhotoError> {
    if !(0.0..=MOST_TILT_DEGREES).contains(&scale.tilt_degrees) {
        return Err(PhotoError::Tilt);
    }
    let (known, known_error) = match scale.of {
        Known::Coin(coin) => (coin.diameter_mm, COIN_ERROR),
        Known::Marked(mm) => (mm, MARKED_ERROR),
    };
    if !(known > 0.0 && known.is_finite()) {
        return Err(PhotoError::Scale);
    }
    let (own, by) = (along(line)?, along(&scale.ends)?);
    let plane = match scale.plane {
        Plane::Same => 0.0,
        Plane::Other => OTHER_PLANE_ERROR,
    };
    // Animal and scale may each be shortened by any share up to one minus the cosine: even, and twice.
    let tilt = (1.0 - scale.tilt_degrees.to_radians().cos()) / 12.0_f64.sqrt() * 2.0_f64.sqrt();
    let error = [own.error, by.error, known_error, plane, tilt].into_iter().fold(0.0, f64::hypot);
    Ok(Measured { value: known * own.value / by.value, error })
}

/// One line over another on the same photo.
///
/// # Errors
/// Why it cannot be measured.
pub fn ratio(line: &[Pixel], over: &[Pixel]) -> Result<Measured, PhotoError> {
    let (one, other) = (along(line)?, along(over)?);
    Ok(Measured { value: one.value / other.value, error: one.error.hypot(other.error) })
}

impl Measured {
    /// The answer that it is: measured on a photo, with its own error. To three digits, which is finer than any error.
    pub fn answer(self) -> Answer {
        let three = |value: f64| format!("{value:.2e}").parse().unwrap_or(value);
        Answer::Measures { value: three(self.value), by: Means::Photo, error: Some(three(self.error)) }
    }
}

/// Length in pixels, and its error: that of the two ends, for what a point between moves along the line it gives to one
/// side what it takes from the other.
fn along(line: &[Pixel]) -> Result<Measured, PhotoError> {
    let numbers = line.iter().all(|point| point.x.is_finite() && point.y.is_finite());
    if !(2..=MOST_POINTS).contains(&line.len()) || !numbers {
        return Err(PhotoError::Line);
    }
    let value: f64 = line.windows(2).map(|two| (two[1].x - two[0].x).hypot(two[1].y - two[0].y)).sum();
    let error = POINT_ERROR * 2.0_f64.sqrt() / value;
    if error < 0.5 { Ok(Measured { value, error }) } else { Err(PhotoError::TooShort) }
}

const fn coin(region: &'static str, name: &'static str, diameter_mm: f64) -> Coin {
    Coin { region, name, diameter_mm }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Key, KeySession};

    fn line(points: &[(f64, f64)]) -> Vec<Pixel> {
        points.iter().map(|&(x, y)| Pixel { x, y }).collect()
    }

    fn quarter(tilt_degrees: f64, plane: Plane) -> Scale {
        let ends = [Pixel { x: 0.0, y: 0.0 }, Pixel { x: 300.0, y: 400.0 }];
        Scale { ends, of: Known::Coin(COINS[3]), plane, tilt_degrees }
    }

    /// A coin of 24.26 mm over 500 pixels: 250 pixels are 12.13 mm.
    #[test]
    fn a_length_follows_from_the_scale_and_a_curled_larva_from_its_pieces() {
        let straight = length(&line(&[(10.0, 10.0), (260.0, 10.0)]), &quarter(0.0, Plane::Same)).unwrap();
        assert!((straight.value - 12.13).abs() < 1e-9);
        let curled = length(&line(&[(0.0, 0.0), (150.0, 0.0), (150.0, 100.0)]), &quarter(0.0, Plane::Same)).unwrap();
        assert!((curled.value - 12.13).abs() < 1e-9);
        // sqrt(2) * 2 pixels over 250 and over 500, and half a percent of the coin.
        let expected = (2.0 * 2.0_f64.sqrt() / 250.0).hypot(2.0 * 2.0_f64.sqrt() / 500.0).hypot(0.005);
        assert!((straight.error - expected).abs() < 1e-12);
    }

    #[test]
    fn a_scale_elsewhere_and_a_leaning_leaf_widen_the_error_and_too_much_is_refused() {
        let own = line(&[(0.0, 0.0), (250.0, 0.0)]);
        let error = |tilt, plane| length(&own, &quarter(tilt, plane)).unwrap().error;
        assert!(error(0.0, Plane::Other) > error(0.0, Plane::Same) + 0.05);
        assert!(
            error(20.0, Plane::Same) > error(10.0, Plane::Same) && error(10.0, Plane::Same) > error(0.0, Plane::Same)
        );
        for tilt in [20.1, -1.0, f64::NAN] {
            assert_eq!(length(&own, &quarter(tilt, Plane::Same)), Err(PhotoError::Tilt));
        }
    }

    #[test]
    fn what_is_no_line_or_no_scale_is_refused() {
        let scale = quarter(0.0, Plane::Same);
        for points in [&[][..], &[(1.0, 1.0)], &[(0.0, 0.0); 7], &[(0.0, 0.0), (f64::NAN, 1.0)]] {
            assert_eq!(length(&line(points), &scale), Err(PhotoError::Line), "{points:?}");
        }
        assert_eq!(length(&line(&[(5.0, 5.0), (7.0, 5.0)]), &scale), Err(PhotoError::TooShort));
        let nothing = Scale { of: Known::Marked(0.0), ..scale };
        assert_eq!(length(&line(&[(0.0, 0.0), (250.0, 0.0)]), &nothing), Err(PhotoError::Scale));
        assert_eq!(ratio(&line(&[(0.0, 0.0), (9.0, 0.0)]), &line(&[(0.0, 0.0)])), Err(PhotoError::Line));
    }

    /// The error is carried into the answer: a blurred photo says less than a sharp one of the same length.
    #[test]
    fn the_error_goes_into_the_answer() {
        let key = Key::monarch();
        let begun = KeySession::begin(&key, Means::ALL.into()).typed(&key, "pairs", "two").unwrap();
        let support = |measured: Measured| {
            let session = begun.answered(&key, "body-length", measured.answer()).unwrap();
            session.support(&key).unwrap().into_iter().find(|one| one.0.as_str() == "larva3").unwrap().1
        };
        let own = line(&[(0.0, 0.0), (227.0, 0.0)]);
        let sharp = length(&own, &quarter(0.0, Plane::Same)).unwrap();
        let far = length(&own, &quarter(20.0, Plane::Other)).unwrap();
        assert_eq!(sharp.answer().to_string().split_once('~').unwrap().0, "photo:11");
        assert!(support(sharp) > support(far) + 0.02, "{} {}", support(sharp), support(far));
        let times = ratio(&line(&[(0.0, 0.0), (270.0, 0.0)]), &line(&[(0.0, 0.0), (100.0, 0.0)])).unwrap();
        let session = begun.answered(&key, "filament-ratio", times.answer()).unwrap();
        assert_eq!(session.support(&key).unwrap()[0].0.as_str(), "larva4");
    }
}
