//! Animals found outside the sample.

use super::{Choice, HostChoice, Label, read};
use crate::voice::Voice;
use handset::HandsetError;
use handset::views::{SiteView, hosts};
use messages::words;
use survey::check::PhotoOf;
use survey::place::{Pin, Place};
use survey::protocol::Host;
use survey::site::{OutsideFind, SatOn};
use survey::stage::{AnimalState, Stage, What};

/// A find outside the sample: for first and last dates, never in a density.
#[derive(Debug, Clone, uniffi::Record)]
pub struct OutsideScreen {
    /// Title.
    pub title: String,
    /// What it is for.
    pub lead: String,
    /// The site.
    pub site: String,
    /// What it was, with its drawing's name as the choice's name.
    pub whats: Vec<Choice>,
    /// "What did it sit on?", for `SatOnTyped`.
    pub on: Vec<Choice>,
    /// Hosts, where it sat on one.
    pub hosts: Vec<HostChoice>,
    /// What was found there so far, the latest first.
    pub finds: Vec<FindRow>,
}

/// A find.
#[derive(Debug, Clone, uniffi::Record)]
pub struct FindRow {
    /// For `take_photo_of`.
    pub find: String,
    /// What, where and when.
    pub text: String,
    /// "Photo", where there is none yet.
    pub photo: Option<Label>,
}

/// A find as typed and chosen.
#[derive(Debug, Clone, uniffi::Record)]
pub struct FindTyped {
    /// What it was.
    pub what: String,
    /// Its state; `None` for alive.
    pub state: Option<String>,
    /// How many.
    pub number: u32,
    /// What it sat on.
    pub on: String,
    /// The host, where it sat on one.
    pub host: Option<String>,
    /// Where, where the phone says so.
    pub place: Option<Fix>,
}

/// A fix of the phone.
#[derive(Debug, Clone, Copy, uniffi::Record)]
pub struct Fix {
    /// Degrees north.
    pub latitude: f64,
    /// Degrees east.
    pub longitude: f64,
    /// Radius in metres within which it lies with 68 % confidence.
    pub accuracy_m: Option<f64>,
}

/// What a photo shows.
#[derive(Debug, Clone, uniffi::Enum)]
pub enum PhotoShows {
    /// The animal of a count.
    Count {
        /// Its id in a record.
        count: String,
    },
    /// The plant of a check.
    Plant {
        /// Its id in a record.
        check: String,
    },
    /// An animal found outside the sample.
    Find {
        /// The site.
        site: String,
        /// Its id in a record.
        find: String,
    },
    /// A site as a whole.
    Site {
        /// The site.
        site: String,
    },
}

const ON: [&str; 4] = ["host", "other-plant", "ground", "made-thing"];

impl OutsideScreen {
    pub(crate) fn of(view: &SiteView, voice: Voice) -> Self {
        let photo = |find| view.site.photos.iter().any(|photo| photo.of == PhotoOf::OutsideFind(find));
        let whats = Stage::ALL.into_iter().map(What::from);
        Self {
            title: voice.plain("phone.outside"),
            lead: voice.plain("phone.outside-lead"),
            site: view.site.id.to_string(),
            whats: whats
                .map(|what| Choice { name: what.to_string(), label: voice.what(&what), chosen: false })
                .collect(),
            on: ON
                .map(|name| Choice {
                    name: name.into(),
                    label: voice.plain(&format!("phone.on.{name}")),
                    chosen: false,
                })
                .into(),
            hosts: hosts()
                .into_iter()
                .map(|host| HostChoice { host: host.name().into(), label: words::host(voice.language, Some(&host)) })
                .collect(),
            finds: view
                .site
                .finds
                .iter()
                .rev()
                .map(|told| FindRow {
                    find: told.entry.to_string(),
                    text: found(&told.what, &voice.day(told.at), voice),
                    photo: (!photo(told.entry)).then(|| Label::plain(voice.plain("phone.photo"))),
                })
                .collect(),
        }
    }
}

fn found(find: &OutsideFind, day: &str, voice: Voice) -> String {
    let on = match &find.on {
        SatOn::Host(_) => "phone.on.host",
        SatOn::OtherPlant => "phone.on.other-plant",
        SatOn::Ground => "phone.on.ground",
        SatOn::MadeThing => "phone.on.made-thing",
    };
    let told = [
        ("what", voice.what(&find.what).into()),
        ("number", find.number.into()),
        ("on", voice.plain(on).into()),
        ("date", day.into()),
    ];
    voice.say("phone.find-row", &told)
}

impl FindTyped {
    pub(crate) fn read(&self) -> Result<OutsideFind, HandsetError> {
        let on = match self.on.as_str() {
            "host" => SatOn::Host(self.host.clone().map_or(Host::NotDetermined, Host::from)),
            "other-plant" => SatOn::OtherPlant,
            "ground" => SatOn::Ground,
            "made-thing" => SatOn::MadeThing,
            other => return Err(HandsetError::not_here(other)),
        };
        let state = self.state.as_deref().map_or(Ok(AnimalState::Alive), |name| {
            AnimalState::named(name).ok_or_else(|| HandsetError::not_here(name))
        })?;
        let place = self.place.map(|fix| fix.pin().map(|at| (at, fix.accuracy_m))).transpose()?;
        Ok(OutsideFind {
            what: read(&self.what)?,
            state,
            number: self.number,
            on,
            place: place.map(|(at, accuracy_m)| Place::Pin { at, radius_m: None, accuracy_m }),
        })
    }
}

impl Fix {
    pub(crate) fn pin(self) -> Result<Pin, HandsetError> {
        let place = format!("{}, {}", self.latitude, self.longitude);
        Pin::new(self.latitude, self.longitude).map_err(|_| HandsetError::number_out_of_range(&place))
    }
}

impl PhotoShows {
    pub(crate) fn read(&self) -> Result<(Option<survey::ids::SiteId>, PhotoOf), HandsetError> {
        Ok(match self {
            Self::Count { count } => (None, PhotoOf::Count(read(count)?)),
            Self::Plant { check } => (None, PhotoOf::Check(read(check)?)),
            Self::Find { site, find } => (Some(read(site)?), PhotoOf::OutsideFind(read(find)?)),
            Self::Site { site } => (Some(read(site)?), PhotoOf::Site),
        })
    }
}
