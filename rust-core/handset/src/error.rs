//! Errors. Inside they are rich; at the boundary they are a few kinds, each with what to do next.

use serde::Serialize;
use stagekey::AnswerError;
use stagekey::photo::PhotoError;
use std::collections::BTreeMap;
use std::path::PathBuf;
use survey::entry::EntryError;

/// What a caller of the handset sees of a failure. Nothing needs its text: the kind says what to do, the message id
/// and the arguments make the words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{message} {arguments:?}")]
pub struct HandsetError {
    /// Which kind.
    pub kind: Kind,
    /// Id of the message in the catalogue.
    pub message: &'static str,
    /// Its arguments.
    pub arguments: BTreeMap<&'static str, String>,
}

/// The kinds of failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind", content = "why")]
pub enum Kind {
    /// Another process, or another object of this one, holds the journal.
    AlreadyOpen,
    /// The files cannot be reached at the moment, as before the first unlock of a phone.
    TryLater,
    /// No room is left on the disk. Nothing that was shown is lost.
    Full,
    /// The database is damaged.
    Damaged,
    /// A newer version of the software made the database.
    Newer,
    /// The act is not allowed as things stand; nothing was changed.
    NotAllowed(Why),
    /// The storage failed in another way.
    Storage,
}

/// Why an act is not allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    /// No visit is in hand.
    NoVisit,
    /// This device's part of the visit has ended.
    VisitEnded,
    /// No plant is open.
    NoPlantOpen,
    /// A plant is open, and has to be closed first.
    PlantOpen,
    /// Something is counted on the plant, so it is not empty.
    SomethingCounted,
    /// Nothing is there to take back, or to redo.
    NothingToTakeBack,
    /// The entry is another device's, or cannot be taken back.
    NotOwn,
    /// No such site, visit, plant, entry, photo or text is here.
    NotHere,
    /// A number outside its range.
    NumberOutOfRange,
    /// A text that is empty, too long, or holds control characters.
    TextNotUsable,
    /// The picture is no JPEG, is broken, or is too large.
    PictureNotUsable,
    /// No protocol was given and none can be carried forward.
    NoProtocol,
    /// The value says nothing.
    SaysNothing,
    /// No session of the stage key is going on.
    NoKey,
    /// The stage key does not take this answer; the message says why.
    AnswerNotUsable,
    /// An edge that encloses no patch; the message says why.
    PlaceNotUsable,
    /// A file that holds no places, or is broken.
    FileNotUsable,
    /// Nothing can be measured on the photo so; the message says why.
    NotMeasured,
}

/// What the shell offers next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// Bring the other window or process to the front.
    UseTheOther,
    /// Wait and try again.
    TryAgain,
    /// Free some space, then try again.
    FreeSpace,
    /// Open again: the damaged file is set aside and counting goes on in a fresh database.
    OpenAgain,
    /// Count into a database of its own beside the newer one.
    OpenBeside,
    /// Correct what was typed or pressed.
    Correct,
    /// Report the failure; trying again may help.
    Report,
}

/// Everything that goes wrong inside.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Error {
    #[error("the journal in {0} is in use")]
    AlreadyOpen(PathBuf),
    #[error("{path} cannot be reached: {cause}")]
    File { path: PathBuf, cause: std::io::Error },
    #[error("database: {0}")]
    Database(#[from] rusqlite::Error),
    #[error("the database has version {found}, this software knows {known}")]
    Newer { found: i64, known: i64 },
    #[error("the database is damaged: {0}")]
    Damaged(String),
    #[error("not allowed: {why:?} ({about})")]
    Refused { why: Why, about: String },
    #[error("the marker cannot be used: {0}")]
    Marker(std::io::Error),
    #[error(transparent)]
    Entry(#[from] EntryError),
    #[error(transparent)]
    Answer(#[from] AnswerError),
    #[error(transparent)]
    Photo(#[from] PhotoError),
    #[error("a record cannot be written: {0}")]
    Record(#[from] serde_json::Error),
}

impl Error {
    #[expect(clippy::needless_pass_by_value, reason = "reads better where it is called")]
    pub(crate) fn refused(why: Why, about: impl ToString) -> Self {
        Self::Refused { why, about: about.to_string() }
    }

    pub(crate) fn file(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |cause| Self::File { path, cause }
    }

    pub(crate) fn kind(&self) -> Kind {
        match self {
            Self::AlreadyOpen(_) => Kind::AlreadyOpen,
            Self::File { cause, .. } | Self::Marker(cause) => kind_of_io(cause),
            Self::Database(error) => kind_of_database(error),
            Self::Newer { .. } => Kind::Newer,
            Self::Damaged(_) => Kind::Damaged,
            Self::Refused { why, .. } => Kind::NotAllowed(*why),
            Self::Entry(_) => Kind::NotAllowed(Why::TextNotUsable),
            Self::Answer(_) => Kind::NotAllowed(Why::AnswerNotUsable),
            Self::Photo(_) => Kind::NotAllowed(Why::NotMeasured),
            Self::Record(_) => Kind::Storage,
        }
    }
}

impl Kind {
    /// What to do next.
    pub const fn next(self) -> Next {
        match self {
            Self::AlreadyOpen => Next::UseTheOther,
            Self::TryLater => Next::TryAgain,
            Self::Full => Next::FreeSpace,
            Self::Damaged => Next::OpenAgain,
            Self::Newer => Next::OpenBeside,
            Self::NotAllowed(_) => Next::Correct,
            Self::Storage => Next::Report,
        }
    }

    const fn message(self) -> &'static str {
        match self {
            Self::AlreadyOpen => "error.already-open",
            Self::TryLater => "error.try-later",
            Self::Full => "error.full",
            Self::Damaged => "error.damaged",
            Self::Newer => "error.newer",
            Self::Storage => "error.storage",
            Self::NotAllowed(why) => match why {
                Why::NoVisit => "error.no-visit",
                Why::VisitEnded => "error.visit-ended",
                Why::NoPlantOpen => "error.no-plant-open",
                Why::PlantOpen => "error.plant-open",
                Why::SomethingCounted => "error.something-counted",
                Why::NothingToTakeBack => "error.nothing-to-take-back",
                Why::NotOwn => "error.not-own",
                Why::NotHere => "error.not-here",
                Why::NumberOutOfRange => "error.number-out-of-range",
                Why::TextNotUsable => "error.text-not-usable",
                Why::PictureNotUsable => "error.picture-not-usable",
                Why::NoProtocol => "error.no-protocol",
                Why::SaysNothing => "error.says-nothing",
                Why::NoKey => "error.no-key",
                Why::AnswerNotUsable => "error.answer-not-usable",
                Why::PlaceNotUsable => "error.place-not-usable",
                Why::FileNotUsable => "error.file-not-usable",
                Why::NotMeasured => "error.not-measured",
            },
        }
    }
}

impl HandsetError {
    /// What a shell named is not here: an id or a word that cannot be read.
    pub fn not_here(named: &str) -> Self {
        Error::refused(Why::NotHere, named).into()
    }

    /// What was typed is no number of the range.
    pub fn number_out_of_range(typed: &str) -> Self {
        Error::refused(Why::NumberOutOfRange, typed).into()
    }
}

impl From<Error> for HandsetError {
    fn from(error: Error) -> Self {
        let kind = error.kind();
        let detail = match &error {
            Error::Refused { about, .. } => about.clone(),
            other => other.to_string(),
        };
        let mut arguments = BTreeMap::from([("detail", detail)]);
        if let Error::Answer(answer) = &error {
            arguments.extend(details(answer));
            return Self { kind, message: answer.text_id(), arguments };
        }
        if let Error::Photo(photo) = &error {
            return Self { kind, message: why_not_measured(*photo), arguments };
        }
        Self { kind, message: kind.message(), arguments }
    }
}

const fn why_not_measured(error: PhotoError) -> &'static str {
    match error {
        PhotoError::Line => "measure.line",
        PhotoError::TooShort => "measure.too-short",
        PhotoError::Scale => "measure.scale",
        PhotoError::Tilt => "measure.tilt",
    }
}

/// The arguments of what a refused answer is told, by their names in the message. States and means are names.
fn details(error: &AnswerError) -> Vec<(&'static str, String)> {
    match error {
        AnswerError::UnknownCharacter(name) | AnswerError::UnknownOutcome(name) => vec![("name", name.clone())],
        AnswerError::UnknownState { given, states, .. } => {
            vec![("given", given.clone()), ("states", states.join(", "))]
        }
        AnswerError::NotANumber { given, .. } => vec![("given", given.clone())],
        AnswerError::OutOfRange { value, least, most, .. } => {
            vec![("value", value.to_string()), ("least", least.to_string()), ("most", most.to_string())]
        }
        AnswerError::OtherMeans { means, .. } => {
            vec![("means", means.iter().map(|means| means.name()).collect::<Vec<_>>().join(", "))]
        }
        AnswerError::TwoStates { .. }
        | AnswerError::TooFewStates { .. }
        | AnswerError::BadError { .. }
        | AnswerError::UnknownMeans(_)
        | AnswerError::OtherKey
        | AnswerError::PriorBeforeChoice
        | AnswerError::BadPrior => Vec::new(),
    }
}

fn kind_of_io(error: &std::io::Error) -> Kind {
    use std::io::ErrorKind;
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => Kind::Full,
        ErrorKind::PermissionDenied | ErrorKind::WouldBlock | ErrorKind::ResourceBusy => Kind::TryLater,
        _ => Kind::Storage,
    }
}

fn kind_of_database(error: &rusqlite::Error) -> Kind {
    use rusqlite::ErrorCode;
    match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => Kind::Full,
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Kind::Damaged,
        // A phone that was not unlocked since its start denies its files with one of these.
        Some(
            ErrorCode::PermissionDenied
            | ErrorCode::CannotOpen
            | ErrorCode::DatabaseBusy
            | ErrorCode::DatabaseLocked
            | ErrorCode::AuthorizationForStatementDenied,
        ) => Kind::TryLater,
        _ => Kind::Storage,
    }
}
