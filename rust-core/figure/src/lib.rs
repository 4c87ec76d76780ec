//! Drawings as plain shapes with a text alternative, charts onto them, and SVG. Pure.
//!
//! A [`Figure`] is data: shells paint it, [`svg()`] writes it. Charts are laid out by `plotters` onto a drawing backend
//! that records shapes. No fonts are read and no pixels are made: the width of a text is estimated by one stated rule
//! ([`text_width`]). Words come in as [`Words`], for nothing in the core speaks a language of its own.

mod axis;
mod backend;
mod chart;
mod hatch;
mod ink;
mod page;
mod season_curve;
mod shape;
pub mod specimen;
mod stage_composition;
mod svg;
mod text;
mod words;

pub use backend::FigureError;
pub use chart::{Band, HeatDay, heat_curve};
pub use chart::{ChartWords, english_charts};
pub use chart::{Confusion, confusion_matrix};
pub use chart::{StopLine, StopLines, stop_lines};
pub use chart::{Succession, stage_succession};
pub use chart::{YearValue, Years, year_course};
pub use ink::{Ink, Role, contrast};
pub use season_curve::season_curve;
pub use shape::{Anchor, CurveStep, Dash, Figure, Shape, Size, Stroke, TextAlternative, Weight, Xy};
pub use stage_composition::stage_composition;
pub use svg::svg;
pub use text::text_width;
pub use words::{Words, english};

/// The narrowest width in which charts are laid out, in figure units (dp, pt or CSS pixels).
pub const NARROWEST: u32 = 240;
