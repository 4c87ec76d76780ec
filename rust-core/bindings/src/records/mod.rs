//! What goes to and fro: the handset's records, mirrored screen by screen with their words.

mod counting;
mod drawing;
mod key;
mod matching;
mod measure;
mod outside;
mod place;
mod plant;
mod practice;
mod review;
mod season;
mod sending;
mod settings;
mod sites;
mod start;
mod trust;
mod visit;

pub use counting::{CountingScreen, HostChoice, PhotoAsked, StateChoice, Tile};
pub use drawing::{Drawing, Ink, Path, PathStep, Point, TextLine};
pub use key::{
    KeyAnswered, KeyBeginning, KeyNumber, KeyOutcome, KeyProposal, KeyQuestion, KeyScreen, KeyStartScreen, KeyState,
    KeySupport,
};
pub use matching::{BothSaw, MatchPair, MatchRow, MatchScreen};
pub use measure::{CoinChoice, MeasureQuestion, MeasureScreen, MeasuredAgainst, MeasuredLine, Measuring, ScaleLies};
pub use outside::{FindRow, FindTyped, Fix, OutsideScreen, PhotoShows};
pub use place::{PlaceFound, PlaceGiven, PlaceSaid, PlacesFound, PrecisionChoice, SiteScreen, SiteTyped, VisitRow};
pub use plant::{CompanyField, CompanySeen, DetailsScreen, PlantTyped, TypedField};
pub use practice::{PracticeMarks, PracticeScreen};
pub use review::{FindingLead, ReviewRow, ReviewScreen};
pub use season::{AdviceScreen, ClosingScreen, ComeAgain, EffortScreen, OneSeason, SeasonDrawing, SeasonScreen};
pub use sending::{Answer, Header, HttpRequest, Joined, RequestBody, RequestOutcome, SendingScreen, Wanted};
pub use settings::{Card, CautionsScreen, HeatScreen, Licence, MineScreen, SettingsChosen, SettingsScreen};
pub use sites::{NewSite, Precision, SiteRow, SitesScreen};
pub use start::{Beginning, ObserverChoice, ProtocolChoice, ShareOfPlants, StartScreen};
pub use trust::{CertificateJudged, CertificateSeen, JoinScreen, JoinedAt, StationTrust};
pub use visit::{NoteRow, NotesScreen, VisitScreen, VisitTyped, WeatherScreen, WeatherTyped};

pub(crate) use counting::plant_of;
pub(crate) use drawing::{chart_words, size, specimen, words};
pub(crate) use key::{read_means, reply};
pub(crate) use place::precisions;
pub(crate) use practice::read_choice;
pub(crate) use settings::licences;
pub(crate) use sites::place_of;
pub(crate) use trust::read_refusal;

use handset::HandsetError;

/// How the handset is opened.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Opening {
    /// The folder of the journal; no backup may carry it.
    pub folder: String,
    /// The folder of the marker, which no backup carries either and no restore brings back.
    pub no_backup_folder: String,
    /// Tag of the language, such as `es-MX`; English for every other than en, es, fr.
    pub language: String,
    /// Minutes that local time is ahead of UTC.
    pub offset_minutes: i16,
    /// Which journal.
    pub beside: Beside,
}

/// Which journal is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
pub enum Beside {
    /// The phone's own.
    Own,
    /// A fresh one beside a journal that a newer version made.
    Newer,
}

/// What opening came upon, to be said once.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Opened {
    /// Things to say; mostly none.
    pub said: Vec<String>,
}

/// Something to choose.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
pub struct Choice {
    /// The name by which it is given back.
    pub name: String,
    /// Its words.
    pub label: String,
    /// Whether it is chosen at the moment.
    pub chosen: bool,
}

/// Something with a label, and what is spoken where that differs.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
pub struct Label {
    /// Shown.
    pub text: String,
    /// Spoken by a screen reader.
    pub spoken: String,
}

impl Label {
    /// Spoken as it is shown.
    pub(crate) fn plain(text: impl Into<String>) -> Self {
        let text = text.into();
        Self { spoken: text.clone(), text }
    }
}

/// An id or a word of the handset's, as the shell got it from a record.
pub(crate) fn read<T: std::str::FromStr>(text: &str) -> Result<T, HandsetError> {
    text.parse().map_err(|_| HandsetError::not_here(text))
}

/// Ids or words of the handset's, each once.
pub(crate) fn read_all<T: std::str::FromStr + Ord>(
    texts: &[String],
) -> Result<std::collections::BTreeSet<T>, HandsetError> {
    texts.iter().map(|text| read(text)).collect()
}
