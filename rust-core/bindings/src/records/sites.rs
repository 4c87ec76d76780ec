//! The list of sites, and adding one.

use crate::voice::Voice;
use handset::HandsetError;
use handset::views::{Due, SitesView, SyncView};
use messages::decimal;
use survey::place::{Pin, Place, PublicPrecision};
use survey::site::SiteDescription;

/// The first screen.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SitesScreen {
    /// Title.
    pub title: String,
    /// Sites by name.
    pub sites: Vec<SiteRow>,
    /// Shown where there is none.
    pub none: Option<String>,
    /// The label of the button back to the visit that goes on.
    pub go_on: Option<String>,
    /// What waits to be sent, or that nothing does.
    pub waits: String,
    /// Shown while numbers are worked out again.
    pub folding: Option<String>,
}

/// A site in the list.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SiteRow {
    /// Its id.
    pub site: String,
    /// Its name.
    pub name: String,
    /// The line below: when it was last visited.
    pub last: String,
    /// "Due", where a week has passed since the last visit.
    pub due: Option<String>,
    /// How far it is, in a list by nearness.
    pub distance: Option<String>,
}

/// What was typed for a site.
#[derive(Debug, Clone, uniffi::Record)]
pub struct NewSite {
    /// Its name.
    pub name: String,
    /// Latitude in degrees north, as typed; with the longitude empty where the place is not said.
    pub latitude: String,
    /// Longitude in degrees east, as typed.
    pub longitude: String,
    /// Radius of 68 % of fixes in metres, where the phone said so.
    pub accuracy_m: Option<f64>,
    /// How finely the place may be published.
    pub precision: Precision,
}

/// How finely a place may be published.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
pub enum Precision {
    /// As it is.
    Exact,
    /// To 0.001 degree.
    Thousandth,
    /// To 0.01 degree.
    Hundredth,
    /// To 0.1 degree.
    Tenth,
    /// Not at all.
    Withheld,
}

impl SitesScreen {
    pub(crate) fn of(view: &SitesView, sync: &SyncView, voice: Voice) -> Self {
        Self {
            title: voice.plain("phone.sites"),
            sites: view.sites.iter().map(|row| site_row(row, voice)).collect(),
            none: view.sites.is_empty().then(|| voice.plain("phone.no-sites")),
            go_on: view.going_on.map(|_| voice.plain("phone.go-on")),
            waits: waits(sync, voice),
            folding: (view.folding.left > 0).then(|| voice.counted("phone.folding", view.folding.left)),
        }
    }
}

impl From<Precision> for PublicPrecision {
    fn from(precision: Precision) -> Self {
        match precision {
            Precision::Exact => Self::Exact,
            Precision::Thousandth => Self::Thousandth,
            Precision::Hundredth => Self::Hundredth,
            Precision::Tenth => Self::Tenth,
            Precision::Withheld => Self::Withheld,
        }
    }
}

/// The description that was typed; coordinates may be written with a decimal comma.
pub(crate) fn place_of(typed: &NewSite) -> Result<SiteDescription, HandsetError> {
    let place = match (typed.latitude.trim(), typed.longitude.trim()) {
        ("", "") => None,
        (lat, lon) => Some(Place::Pin { at: pin(lat, lon)?, radius_m: None, accuracy_m: typed.accuracy_m }),
    };
    Ok(SiteDescription {
        name: Some(typed.name.clone()),
        place,
        public_precision: Some(typed.precision.into()),
        ..SiteDescription::default()
    })
}

/// What waits to be sent, in one line.
pub(crate) fn waits(sync: &SyncView, voice: Voice) -> String {
    let waiting: u64 = sync.streams.iter().map(|stream| stream.waits).sum();
    let entries: u64 = sync.streams.iter().map(|stream| stream.entries).sum();
    match (waiting, entries) {
        (0, 0) => voice.plain("phone.nothing-recorded"),
        (0, _) => voice.plain("phone.nothing-waits"),
        (number, _) => voice.counted("phone.waits", number),
    }
}

fn site_row(row: &handset::views::SiteRow, voice: Voice) -> SiteRow {
    let last = match row.latest {
        Some(at) => voice.say("phone.last-visit", &[("date", voice.day(at).into())]),
        None => voice.plain("phone.no-visit"),
    };
    let name = row.name.clone().unwrap_or_else(|| voice.plain("sites.unnamed"));
    let distance = row.metres.map(|metres| {
        let (id, number) =
            if metres < 1000.0 { ("phone.metres", metres) } else { ("phone.kilometres", metres / 1000.0) };
        voice.say(id, &[("number", decimal(voice.language, number, 0).into())])
    });
    let due = (row.due == Due::Due).then(|| voice.plain("phone.due"));
    SiteRow { site: row.site.to_string(), name, last, due, distance }
}

pub(crate) fn pin(lat: &str, lon: &str) -> Result<Pin, HandsetError> {
    let degrees = |text: &str| text.replace(',', ".").replace('−', "-").parse::<f64>().ok();
    let pin = degrees(lat).zip(degrees(lon)).and_then(|(lat, lon)| Pin::new(lat, lon).ok());
    pin.ok_or_else(|| HandsetError::number_out_of_range(&format!("{lat}, {lon}")))
}
