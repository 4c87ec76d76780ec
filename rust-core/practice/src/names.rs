//! The names under which answers are kept.

use crate::deck::{Choice, Topic};
use crate::score::Answered;
use figure::specimen::Kind;

const SAME: &str = "same-instar";
const OTHER: &str = "other-instar";

impl Choice {
    /// Its name: that of an outcome of the key, or `same-instar`, `other-instar`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Is(kind) => kind.name(),
            Self::SameInstar => SAME,
            Self::OtherInstar => OTHER,
        }
    }

    /// The one of this name.
    pub fn named(name: &str) -> Option<Self> {
        match name {
            SAME => Some(Self::SameInstar),
            OTHER => Some(Self::OtherInstar),
            name => Kind::named(name).map(Self::Is),
        }
    }
}

impl Topic {
    /// Its name: `larva3+larva4`, or `same-instar+larva2`.
    pub fn name(self) -> String {
        match self {
            Self::Between(one, other) => format!("{}+{}", one.name(), other.name()),
            Self::SameInstar(kind) => format!("{SAME}+{}", kind.name()),
        }
    }

    /// The one of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|topic| topic.name() == name)
    }
}

impl Answered {
    /// An answer as it was kept: the name of its item, the truth, what was answered, milliseconds. Nothing is returned
    /// where a name is not known here, as after practice with a newer version.
    pub fn of_names(item: &str, truth: &str, answered: &str, took_ms: u32) -> Option<Self> {
        let (topic, _) = item.split_once('.')?;
        Some(Self {
            item: item.to_owned(),
            topic: Topic::named(topic)?,
            truth: Choice::named(truth)?,
            answered: Choice::named(answered)?,
            took_ms,
        })
    }
}
