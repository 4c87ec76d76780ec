//! Charts of answers: succession of stages, heat over days, stop lines, confusion, years.

mod confusion;
mod frame;
mod heat;
mod plot;
mod stop_lines;
mod succession;
mod words;
mod years;

pub use confusion::{Confusion, confusion_matrix};
pub use heat::{Band, HeatDay, heat_curve};
pub use stop_lines::{StopLine, StopLines, stop_lines};
pub use succession::{Succession, stage_succession};
pub use words::{ChartWords, english_charts};
pub use years::{YearValue, Years, year_course};
