//! Names in a key file, and the means by which one looks.

use serde::{Deserialize, Serialize};
use std::borrow::Borrow;
use std::fmt;

macro_rules! name_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// The name as it stands in the key file.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $name {
            fn from(name: &str) -> Self {
                Self(name.to_owned())
            }
        }

        impl Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

name_type! {
    /// An outcome of a key, finer than the outcomes that are counted.
    OutcomeId
}
name_type! {
    /// A character: what is asked.
    CharacterId
}
name_type! {
    /// A state of a character: an answer.
    StateId
}

/// By what one looks. What can be seen depends on it, and so do likelihoods and cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Means {
    /// By eye.
    Eye,
    /// With a hand lens.
    Lens,
    /// On a photo, enlarged.
    Photo,
    /// With a ruler or on a scale beside the animal.
    Measuring,
}

impl Means {
    /// All means, the quickest first.
    pub const ALL: [Self; 4] = [Self::Eye, Self::Lens, Self::Photo, Self::Measuring];

    /// The name in key files and answers.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Eye => "eye",
            Self::Lens => "lens",
            Self::Photo => "photo",
            Self::Measuring => "measuring",
        }
    }

    /// The means with this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|means| means.name() == name)
    }
}

impl fmt::Display for Means {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
