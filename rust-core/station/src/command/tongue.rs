//! The language of what a command prints.

use clap::ValueEnum;
use messages::Language;

/// A language of the catalogue, as it is typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Tongue {
    /// English.
    En,
    /// Spanish.
    Es,
    /// French.
    Fr,
}

impl From<Tongue> for Language {
    fn from(tongue: Tongue) -> Self {
        match tongue {
            Tongue::En => Self::En,
            Tongue::Es => Self::Es,
            Tongue::Fr => Self::Fr,
        }
    }
}
