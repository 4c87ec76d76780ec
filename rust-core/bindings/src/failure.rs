//! What goes wrong, in a few kinds, each with what to do next.

use crate::voice::Voice;
use handset::{HandsetError, Next};

/// A call did not do what it was asked for. Nothing was changed by it, but for [`Failure::StartedAgain`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error, uniffi::Error)]
pub enum Failure {
    /// Not allowed as things stand, or what was typed cannot be used: say why, and let the person correct it.
    #[error("{text}")]
    Refused {
        /// What to show, in the chosen language.
        text: String,
    },
    /// The files cannot be reached at the moment: wait for the unlocked phone, then call again.
    #[error("{text}")]
    TryAgain {
        /// What to show.
        text: String,
    },
    /// No room is left: say so, and call again when some was freed.
    #[error("{text}")]
    FreeSpace {
        /// What to show.
        text: String,
    },
    /// Another object or process holds the journal: use that one.
    #[error("{text}")]
    UseTheOther {
        /// What to show.
        text: String,
    },
    /// A newer version made the journal: offer to count beside it.
    #[error("{text}")]
    OpenBeside {
        /// What to show.
        text: String,
    },
    /// The journal is damaged: open again, which sets it aside.
    #[error("{text}")]
    OpenAgain {
        /// What to show.
        text: String,
    },
    /// A fault inside was caught. The journal was opened again and holds all that was shown; whether the last call
    /// was done is to be looked up on its screen.
    #[error("{text}")]
    StartedAgain {
        /// What to show.
        text: String,
    },
    /// The storage failed: say so; trying again may help.
    #[error("{text}")]
    Report {
        /// What to show.
        text: String,
    },
}

impl Failure {
    /// A fault was caught, and the journal is open again.
    pub(crate) fn started_again(voice: Voice) -> Self {
        Self::StartedAgain { text: voice.plain("phone.reopened") }
    }

    /// The error of the handset in words.
    pub(crate) fn of(error: &HandsetError, voice: Voice) -> Self {
        let detail = error.arguments.iter().map(|(name, value)| (*name, value.into())).collect::<Vec<_>>();
        let text = voice.say(error.message, &detail);
        match error.kind.next() {
            Next::UseTheOther => Self::UseTheOther { text },
            Next::TryAgain => Self::TryAgain { text },
            Next::FreeSpace => Self::FreeSpace { text },
            Next::OpenAgain => Self::OpenAgain { text },
            Next::OpenBeside => Self::OpenBeside { text },
            Next::Correct => Self::Refused { text },
            Next::Report => Self::Report { text },
        }
    }
}
