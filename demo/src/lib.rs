//! An invented season played through real handsets and a real station.

pub mod compare;
pub mod link;
pub mod person;
pub mod play;
pub mod scenario;
pub mod station;

/// What can go wrong while playing.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// The handset refused.
    #[error("the handset says: {0}")]
    Handset(#[from] handset::HandsetError),
    /// A command of the station failed.
    #[error("`leafturn {what}` failed: {said}")]
    Station {
        /// The command.
        what: String,
        /// What it printed.
        said: String,
    },
    /// A sync did not come to an end.
    #[error("a sync was not done after {requests} requests")]
    NoEnd {
        /// How many there were.
        requests: u32,
    },
    /// The scenario names a phone that nobody has.
    #[error("the scenario names a phone that nobody has")]
    NoPhone,
    /// A file.
    #[error(transparent)]
    File(#[from] std::io::Error),
    /// A database that is compared.
    #[error(transparent)]
    Database(#[from] rusqlite::Error),
    /// The station does not answer.
    #[error(transparent)]
    Http(#[from] ureq::Error),
    /// JSON that a command printed.
    #[error(transparent)]
    Json(#[from] serde_json::Error),
}
