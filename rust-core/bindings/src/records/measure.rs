//! Measuring on a photo.

use super::{KeyQuestion, Point};
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::{Against, Measuring as Drawn};
use handset::views::{COINS, Known, MeasureView, MeasuredBy, MeasuredView, Pixel, Plane, Scale};
use messages::{decimal, percent};

/// What can be measured on a photo.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MeasureScreen {
    /// Title.
    pub title: String,
    /// What to do, a line each.
    pub lines: Vec<String>,
    /// The questions that are answered so; those that need no scale come first.
    pub questions: Vec<MeasureQuestion>,
    /// Coins that may lie beside the animal.
    pub coins: Vec<CoinChoice>,
    /// The most points of a line; the fewest are two.
    pub most_points: u32,
    /// What the points of a line are called, from the first to the last.
    pub points: Vec<String>,
    /// The most degrees by which the leaf may lean from the camera.
    pub most_tilt_degrees: f64,
}

/// A question that is measured.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MeasureQuestion {
    /// The question.
    pub question: KeyQuestion,
    /// Whether it needs a scale; else it needs a second line on the same photo.
    pub needs_scale: bool,
}

/// A coin.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CoinChoice {
    /// Its place in the list, for `MeasuredAgainst`.
    pub coin: u32,
    /// What is written on it, and where it is paid with.
    pub label: String,
    /// Across, in millimetres.
    pub diameter_mm: f64,
}

/// What was drawn on a photo. Points are in pixels of the photo.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Measuring {
    /// The line along what is measured.
    pub line: Vec<Point>,
    /// What it is compared with.
    pub against: MeasuredAgainst,
}

/// What a line is compared with.
#[derive(Debug, Clone, uniffi::Enum)]
pub enum MeasuredAgainst {
    /// Another line on the same photo.
    Line {
        /// Its points.
        line: Vec<Point>,
    },
    /// A coin, across.
    Coin {
        /// Its place in the list.
        coin: u32,
        /// Where it lies.
        lies: ScaleLies,
    },
    /// A stretch of a ruler, or of a card that was printed.
    Marked {
        /// Its length in millimetres.
        mm: f64,
        /// Where it lies.
        lies: ScaleLies,
    },
}

/// Where a scale lies on a photo.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ScaleLies {
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// Whether it lies as far from the camera as the animal does.
    pub same_plane: bool,
    /// By how many degrees the leaf leans from the camera.
    pub tilt_degrees: f64,
}

/// What a line measures.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MeasuredLine {
    /// With its error, in words.
    pub text: String,
    /// Millimetres, or how many times.
    pub value: f64,
}

impl MeasureScreen {
    pub(crate) fn of(view: &MeasureView, voice: Voice) -> Self {
        let coins = view.coins.iter().zip(0_u32..);
        Self {
            title: voice.plain("phone.measure"),
            lines: ["phone.measure-line", "phone.measure-scale", "phone.measure-tilt"].map(|id| voice.plain(id)).into(),
            questions: view
                .questions
                .iter()
                .map(|one| MeasureQuestion {
                    question: KeyQuestion::of(&one.question, voice),
                    needs_scale: one.by == MeasuredBy::Scale,
                })
                .collect(),
            coins: coins
                .map(|(coin, at)| CoinChoice {
                    coin: at,
                    label: format!("{} ({})", coin.name, coin.region),
                    diameter_mm: coin.diameter_mm,
                })
                .collect(),
            most_points: u32::try_from(view.most_points).unwrap_or(u32::MAX),
            points: (1..=view.most_points as u64).map(|number| voice.counted("phone.measure-point", number)).collect(),
            most_tilt_degrees: view.most_tilt_degrees,
        }
    }
}

impl MeasuredLine {
    pub(crate) fn of(view: &MeasuredView, voice: Voice) -> Self {
        let number = decimal(voice.language, view.value, 1);
        let value = if view.unit.is_empty() { number } else { format!("{number}\u{a0}{}", view.unit) };
        let error = percent(voice.language, view.error, 0);
        Self {
            text: voice.say("phone.measured", &[("value", value.into()), ("error", error.into())]),
            value: view.value,
        }
    }
}

impl Measuring {
    pub(crate) fn read(self) -> Result<Drawn, HandsetError> {
        let against = match self.against {
            MeasuredAgainst::Line { line } => Against::Line(pixels(&line)),
            MeasuredAgainst::Coin { coin, lies } => {
                let known = usize::try_from(coin).ok().and_then(|at| COINS.get(at));
                let known = known.ok_or_else(|| HandsetError::not_here(&coin.to_string()))?;
                Against::Scale(scale(&lies, Known::Coin(*known)))
            }
            MeasuredAgainst::Marked { mm, lies } => Against::Scale(scale(&lies, Known::Marked(mm))),
        };
        Ok(Drawn { line: pixels(&self.line), against })
    }
}

fn scale(lies: &ScaleLies, of: Known) -> Scale {
    let plane = if lies.same_plane { Plane::Same } else { Plane::Other };
    Scale { ends: [lies.from, lies.to].map(pixel), of, plane, tilt_degrees: lies.tilt_degrees }
}

fn pixels(points: &[Point]) -> Vec<Pixel> {
    points.iter().copied().map(pixel).collect()
}

const fn pixel(point: Point) -> Pixel {
    Pixel { x: point.x, y: point.y }
}
