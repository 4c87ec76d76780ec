//! The words of drawn specimens, given by whoever wants one.

use super::texts::TEXTS;
use std::collections::BTreeMap;

/// Words of one language: a text for each id of [`Words::ids`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    texts: BTreeMap<&'static str, String>,
    decimal_mark: char,
}

/// English.
pub fn english() -> Words {
    Words { texts: TEXTS.iter().map(|(id, text)| (*id, (*text).to_owned())).collect(), decimal_mark: '.' }
}

impl Words {
    /// The words that `text` gives for each id, and the mark between whole and decimals.
    pub fn from_texts(decimal_mark: char, mut text: impl FnMut(&'static str) -> String) -> Self {
        Self { texts: Self::ids().map(|id| (id, text(id))).collect(), decimal_mark }
    }

    /// The ids of all texts: `outcome.NAME`, `CHARACTER.STATE` as in [`super::ids`], and a few that begin with
    /// `drawing.`. Some hold places in braces, which [`english`] shows.
    pub fn ids() -> impl Iterator<Item = &'static str> {
        TEXTS.iter().map(|(id, _)| *id)
    }

    /// The text of an id; the id itself where there is none, so that something is said at least.
    pub(super) fn say<'a>(&'a self, id: &'a str) -> &'a str {
        self.texts.get(id).map(String::as_str).filter(|text| !text.trim().is_empty()).unwrap_or(id)
    }

    /// Millimetres as one writes them: a decimal below 10, none above.
    pub(super) fn millimetres(&self, number: f64) -> String {
        let text = if number < 9.95 { format!("{number:.1}") } else { format!("{number:.0}") };
        text.trim_end_matches(".0").replace('.', self.decimal_mark.encode_utf8(&mut [0; 4]))
    }
}
