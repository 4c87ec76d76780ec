//! The screen on which is measured on a photo.

use super::key::{KeyQuestion, question};
use crate::acts::measurable;
use crate::object::Handset;
use serde::Serialize;
use stagekey::photo::{COINS, Coin, MOST_POINTS, MOST_TILT_DEGREES};
use stagekey::{Means, Unit};

/// What can be measured on a photo, and by what scale.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureView {
    /// The questions that are answered so. Ratios come first: they need no scale.
    pub questions: Vec<MeasureQuestion>,
    /// Coins that may lie beside the animal.
    pub coins: Vec<MeasureCoin>,
    /// The most points of a line.
    pub most_points: usize,
    /// The most degrees by which the leaf may lean from the camera.
    pub most_tilt_degrees: f64,
}

/// A question that is measured.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureQuestion {
    /// The question.
    pub question: KeyQuestion,
    /// Whether a scale is needed or another line.
    pub by: MeasuredBy,
}

/// By what something is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MeasuredBy {
    /// By another line on the same photo.
    OtherLine,
    /// By a scale.
    Scale,
}

/// A coin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureCoin {
    /// Where it is paid with: the two letters of a country, or `EU`.
    pub region: &'static str,
    /// What is written on it.
    pub name: &'static str,
    /// Across, in millimetres.
    pub diameter_mm: f64,
}

/// What a line measures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasuredView {
    /// `mm`, or nothing for a ratio.
    pub unit: &'static str,
    /// The length, or how many times.
    pub value: f64,
    /// Standard deviation as a share of it.
    pub error: f64,
}

impl Handset {
    /// What can be measured on a photo.
    pub fn measure(&self) -> MeasureView {
        let mut questions: Vec<MeasureQuestion> = measurable()
            .map(|(character, unit)| MeasureQuestion {
                question: question(character, Means::Photo),
                by: match unit {
                    Unit::Ratio => MeasuredBy::OtherLine,
                    Unit::Millimetre | Unit::Milligram => MeasuredBy::Scale,
                },
            })
            .collect();
        questions.sort_by_key(|question| question.by == MeasuredBy::Scale);
        let coin = |&Coin { region, name, diameter_mm }: &Coin| MeasureCoin { region, name, diameter_mm };
        MeasureView {
            questions,
            coins: COINS.iter().map(coin).collect(),
            most_points: MOST_POINTS,
            most_tilt_degrees: MOST_TILT_DEGREES,
        }
    }
}
