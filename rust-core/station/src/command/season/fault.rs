//! Why a season question has no answer.

use messages::{Language, say};
use season::clock::ClockRefusal;
use season::degree_days::{NoSuchCutoff, ScaleQuestion, ThresholdError};
use season::{MessageId, Refusal};
use std::fmt::Display;

/// Why a season question has no answer.
#[derive(Debug, thiserror::Error)]
pub enum SeasonFault {
    /// Something in a file cannot be read.
    #[error("{file}, line {line}, column {column}: {problem}")]
    Input {
        /// The file as it was named.
        file: String,
        /// From 1.
        line: usize,
        /// From 1, in characters.
        column: usize,
        /// What is wrong.
        problem: String,
    },
    /// The data do not carry the answer; the words say why.
    #[error("no answer: {words}")]
    Refused {
        /// Names the reason.
        reason: MessageId,
        /// The reason in words.
        words: String,
    },
    /// A question that only the person can answer.
    #[error("{0}")]
    Asks(String),
    /// The options do not go together.
    #[error("{0}")]
    Usage(String),
    /// Ctrl-c ended the work.
    #[error("{0}")]
    Stopped(String),
    /// A number came out that is none: a mistake of the program, not of the data.
    #[error("{0}")]
    NoNumber(String),
}

impl SeasonFault {
    /// An option that is missing or does not fit.
    pub(super) fn usage(problem: impl Display) -> Self {
        Self::Usage(problem.to_string())
    }

    /// The data do not carry the answer.
    pub(super) fn refused(refusal: &Refusal, language: Language) -> Self {
        Self::Refused { reason: refusal.message(), words: refusal_words(refusal, language) }
    }

    /// Asks whether temperatures are in degrees Fahrenheit.
    pub(super) fn asks(question: &ScaleQuestion, language: Language) -> Self {
        let (given, meant) = (format!("{:.1}", question.as_given), format!("{:.1}", question.if_fahrenheit));
        let date = question.hottest.to_string();
        Self::Asks(say(
            language,
            question.question.name(),
            &[("date", date.as_str().into()), ("given", given.as_str().into()), ("meant", meant.as_str().into())],
        ))
    }

    /// Ctrl-c ended the work; what was computed until then was printed.
    pub(super) fn stopped(language: Language) -> Self {
        Self::Stopped(say(language, "season-answer.stopped", &[]))
    }

    /// Ctrl-c ended the work before anything could be said.
    pub(super) fn stopped_with_nothing(language: Language) -> Self {
        Self::Stopped(say(language, "season-answer.stopped-with-nothing", &[]))
    }

    /// The field at this path is no number.
    pub(super) fn no_number(path: &str, language: Language) -> Self {
        Self::NoNumber(say(language, "season-answer.no-number", &[("field", path.into())]))
    }

    /// The process's exit code: 1 where the data are at fault, 2 where the command line is, 3 where it was not done.
    pub(in crate::command) const fn exit_code(&self) -> u8 {
        match self {
            Self::Input { .. } | Self::Refused { .. } | Self::Asks(_) => 1,
            Self::Usage(_) => 2,
            Self::Stopped(_) | Self::NoNumber(_) => 3,
        }
    }
}

/// A refusal in words, with its numbers.
pub(super) fn refusal_words(refusal: &Refusal, language: Language) -> String {
    let words = say(language, refusal.message().name(), &[]);
    match refusal {
        Refusal::TooFew { have, need } => format!("{words} ({have} < {need})"),
        Refusal::ImpossibleCounts { part, whole } => format!("{words} ({part} > {whole})"),
        Refusal::SameDay { day } => format!("{words} ({day})"),
        Refusal::Nothing
        | Refusal::NoVariance
        | Refusal::UnknownEffort
        | Refusal::Pooled
        | Refusal::OutOfScope
        | Refusal::MixedUnits
        | Refusal::UnknownUnit
        | Refusal::NotANumber
        | Refusal::CountedOutOfScope(_)
        | Refusal::NotMet(_) => words,
    }
}

/// What the methods refuse with, in the reader's language.
pub(super) trait Said<T> {
    /// The value, or why there is none.
    fn said(self, language: Language) -> Result<T, SeasonFault>;
}

impl<T> Said<T> for Result<T, Refusal> {
    fn said(self, language: Language) -> Result<T, SeasonFault> {
        self.map_err(|refusal| SeasonFault::refused(&refusal, language))
    }
}

impl<T> Said<T> for Result<T, ClockRefusal> {
    fn said(self, language: Language) -> Result<T, SeasonFault> {
        self.map_err(|refusal| match &refusal {
            ClockRefusal::Data(data) => SeasonFault::refused(data, language),
            ClockRefusal::NoDevelopment { .. }
            | ClockRefusal::NotInClock(_)
            | ClockRefusal::NoClock
            | ClockRefusal::RatesDoNotRise
            | ClockRefusal::NoWeather => {
                SeasonFault::Refused { reason: refusal.message(), words: say(language, refusal.message().name(), &[]) }
            }
        })
    }
}

impl From<ThresholdError> for SeasonFault {
    fn from(error: ThresholdError) -> Self {
        Self::usage(error)
    }
}

impl From<NoSuchCutoff> for SeasonFault {
    fn from(error: NoSuchCutoff) -> Self {
        Self::usage(error)
    }
}
