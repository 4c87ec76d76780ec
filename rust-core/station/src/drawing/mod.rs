//! Drawings of specimens in the reader's language, and as pictures of pixels.

mod glyphs;
mod png;

pub use png::{PngError, png};

use figure::specimen::Words;
use messages::{Language, say};

/// The words of drawings in a language.
pub fn drawing_words(language: Language) -> Words {
    let mark = match language {
        Language::En | Language::Es => '.',
        Language::Fr => ',',
    };
    Words::from_texts(mark, |id| match id.strip_prefix("drawing.") {
        Some(_) => say(language, id, &[]),
        None => say(language, &format!("drawing.{id}"), &[]),
    })
}
