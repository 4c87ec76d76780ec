//! Number texts of charts.

use crate::words::Words;

/// A number in three figures or so.
pub(super) fn short(words: &Words, number: f64) -> String {
    let size = number.abs();
    let decimals = match size {
        _ if (size - size.round()).abs() < 1e-9 => 0,
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        size if size >= 0.1 => 2,
        _ => 4,
    };
    let text = words.number(number, decimals);
    let trimmed = text.trim_end_matches('0').trim_end_matches(['.', ',']);
    if decimals > 0 { trimmed.to_owned() } else { text }
}
