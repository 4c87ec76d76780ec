//! What is wrong in a key file, and where.

use std::fmt;
use std::ops::Range;

/// One fault in a key file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// What is wrong.
    pub reason: Reason,
}

/// What is wrong in a key file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// It cannot be read at all: cut off, a bracket missing, a field unknown or missing.
    #[error("{0}")]
    Unreadable(String),
    /// The file says it is written in a format that is not read here.
    #[error("format {0} is not known; this program reads format 1")]
    Format(u32),
    /// Two things have one name.
    #[error("{0:?} stands twice")]
    Twice(String),
    /// A name that nothing has.
    #[error("{name:?} names no {what}")]
    Unknown {
        /// What was looked for.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A name with other characters than small letters, digits and hyphens.
    #[error("{0:?} is no name: use small letters, digits and hyphens")]
    BadName(String),
    /// A character with fewer than two states, or both states and a number.
    #[error("{0:?} needs two states or more, or else a number")]
    TooFewStates(String),
    /// A character with no way to look at it, or two of the same means.
    #[error("{0:?} needs one look or more, each by another means")]
    Looks(String),
    /// A row has too few or too many likelihoods.
    #[error("{found} likelihoods stand where there are {expected} states")]
    Width {
        /// How many there should be.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// A row does not sum to one.
    #[error("the likelihoods sum to {0}, not to 1")]
    Sum(String),
    /// A likelihood of 0 or 1, or outside.
    #[error("the likelihood {0} is not between 0 and 1; nothing is impossible or certain")]
    ZeroOrOne(String),
    /// No row says anything of an outcome.
    #[error("nothing is said of the outcome {0:?}")]
    OutcomeMissing(String),
    /// A number that cannot be.
    #[error("{what} cannot be {value}")]
    Number {
        /// What.
        what: &'static str,
        /// The number.
        value: String,
    },
    /// Weights of a group do not sum to one, or a group has neither weights nor a joint table where it needs one.
    #[error("the group {0:?} needs weights that sum to 1, or one joint table")]
    Weights(String),
    /// No answers lead to an outcome.
    #[error("no answers lead to the outcome {0:?}")]
    Unreachable(String),
    /// A look-alike without a deciding character, not said to have none.
    #[error("nothing tells {look_alike:?} from {of:?}, and it is not said that nothing does")]
    Undecided {
        /// The look-alike.
        look_alike: String,
        /// What it is taken for.
        of: String,
    },
    /// A state named as deciding does not decide.
    #[error("{character}.{state} does not tell {look_alike:?} from {of:?}")]
    DoesNotDecide {
        /// The character.
        character: String,
        /// The state.
        state: String,
        /// The look-alike.
        look_alike: String,
        /// What it is taken for.
        of: String,
    },
    /// A text or drawing that the key needs and nobody has.
    #[error("there is no {what} {name:?}")]
    Missing {
        /// Text or drawing.
        what: &'static str,
        /// Its id.
        name: String,
    },
}

/// Everything that is wrong in a key file, at least one thing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.reason)
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            fault.fmt(f)?;
        }
        Ok(())
    }
}

/// The faults found so far in a text.
pub(crate) struct Found<'t> {
    text: &'t str,
    faults: Vec<Fault>,
}

impl<'t> Found<'t> {
    pub(crate) const fn none(text: &'t str) -> Self {
        Self { text, faults: Vec::new() }
    }

    pub(crate) fn at(&mut self, span: Range<usize>, reason: Reason) {
        let before = &self.text.as_bytes()[..span.start.min(self.text.len())];
        let line = 1 + before.iter().map(|octet| usize::from(*octet == b'\n')).sum::<usize>();
        self.faults.push(Fault { line, reason });
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.faults.is_empty()
    }

    pub(crate) fn into_faults(mut self) -> Faults {
        self.faults.sort_by_key(|fault| fault.line);
        Faults(self.faults)
    }
}
