//! What went wrong in a world.

use handset::HandsetError;
use station::store::StoreError;

/// Something that must not be. The text is for whoever looks for the cause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble(pub String);

impl Trouble {
    /// What kind it is: its first words without what stands in front, ids and numbers.
    pub fn kind(&self) -> String {
        let text = match self.0.strip_prefix("at ") {
            Some(rest) => rest.split_once(": ").map_or(rest, |(_, text)| text),
            None => &self.0,
        };
        let words = text.split_whitespace().filter(|word| !word.contains(|letter: char| letter.is_ascii_digit()));
        words.take(6).collect::<Vec<_>>().join(" ")
    }

    /// This.
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl From<HandsetError> for Trouble {
    fn from(error: HandsetError) -> Self {
        Self(format!("handset: {:?} {error}", error.kind))
    }
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        Self(format!("store: {error}"))
    }
}

impl From<rusqlite::Error> for Trouble {
    fn from(error: rusqlite::Error) -> Self {
        Self(format!("looking into a database: {error}"))
    }
}

impl From<std::io::Error> for Trouble {
    fn from(error: std::io::Error) -> Self {
        Self(format!("files: {error}"))
    }
}

/// Checks a condition; says what does not hold.
macro_rules! hold {
    ($condition:expr, $($text:tt)+) => {
        if !$condition {
            return Err($crate::trouble::Trouble::new(format!($($text)+)));
        }
    };
}
pub(crate) use hold;
