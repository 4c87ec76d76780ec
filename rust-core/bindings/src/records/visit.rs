//! What is said of a visit: weather, hosts, minutes; and notes on visits and sites.

use super::plant::{TypedField, choices, named};
use super::{Choice, Label};
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::{Units, typed_count};
use handset::views::{NotesView, VisitView};
use messages::{decimal, words};
use survey::visit::{Beaufort, HostsUp, Oktas, Rain, VisitDescription, Weather};

/// The weather of a visit by words: everything may be left out.
#[derive(Debug, Clone, uniffi::Record)]
pub struct WeatherScreen {
    /// Title.
    pub title: String,
    /// What is noted, in one line.
    pub said: String,
    /// Air temperature as it is shown and typed.
    pub air: TypedField,
    /// Wind by what it moves.
    pub wind: Vec<Choice>,
    /// Cloud.
    pub cloud: Vec<Choice>,
    /// Rain.
    pub rain: Vec<Choice>,
}

/// Weather as typed and chosen; what is left out says nothing.
#[derive(Debug, Clone, uniffi::Record)]
pub struct WeatherTyped {
    /// As typed, in the unit of the settings.
    pub air: String,
    /// Name of the wind.
    pub wind: Option<String>,
    /// Name of the cloud.
    pub cloud: Option<String>,
    /// Name of the rain.
    pub rain: Option<String>,
}

/// A visit as a whole.
#[derive(Debug, Clone, uniffi::Record)]
pub struct VisitScreen {
    /// Title: the site.
    pub title: String,
    /// When it began.
    pub begun: String,
    /// Who searches.
    pub observers: Vec<String>,
    /// Whether host plants were up: without any, a visit is valid all the same.
    pub hosts_up: Vec<Choice>,
    /// Minutes of search by all people together.
    pub minutes: TypedField,
    /// Weather in one line.
    pub weather: String,
    /// Phones in this visit.
    pub phones: u32,
    /// The code of this visit, for a second phone.
    pub code: String,
}

/// A visit as typed and chosen; what is left out says nothing.
#[derive(Debug, Clone, uniffi::Record)]
pub struct VisitTyped {
    /// Name of whether hosts were up.
    pub hosts_up: Option<String>,
    /// As typed.
    pub minutes: String,
}

/// Notes on a visit or a site.
#[derive(Debug, Clone, uniffi::Record)]
pub struct NotesScreen {
    /// Title.
    pub title: String,
    /// Words that a note about the open plant begins with.
    pub begins_with: String,
    /// That names of people do not belong here, and that a note can be erased.
    pub lead: String,
    /// The notes, the latest last.
    pub notes: Vec<NoteRow>,
}

/// A note.
#[derive(Debug, Clone, uniffi::Record)]
pub struct NoteRow {
    /// For `erase_note`.
    pub note: String,
    /// When it was written.
    pub day: String,
    /// Its text, or words where it is not here any more.
    pub text: String,
    /// "Erase", where the text is here.
    pub erase: Option<Label>,
}

const RAINS: [(&str, Rain); 5] = [
    ("none", Rain::None),
    ("drizzle", Rain::Drizzle),
    ("light", Rain::Light),
    ("moderate", Rain::Moderate),
    ("heavy", Rain::Heavy),
];
const HOSTS_UP: [(&str, HostsUp); 3] = [("yes", HostsUp::Yes), ("none", HostsUp::None), ("all-mown", HostsUp::AllMown)];

impl WeatherScreen {
    pub(crate) fn of(weather: &Weather, units: Units, voice: Voice) -> Self {
        let air = weather.air_decicelsius.map(|tenths| decimal(voice.language, units.of_air(tenths), 1));
        let air_label = match units {
            Units::Metric => "phone.air-celsius",
            Units::Imperial => "phone.air-fahrenheit",
        };
        let ten = |chosen: Option<u8>, label: &dyn Fn(u8) -> String| {
            let choice =
                |number: u8| Choice { name: number.to_string(), label: label(number), chosen: chosen == Some(number) };
            (0..=9).map(choice).collect::<Vec<_>>()
        };
        let wind = |force: u8| {
            Beaufort::try_from(force).map_or_else(|_| String::new(), |f| words::beaufort(voice.language, f))
        };
        let cloud =
            |code: u8| Oktas::try_from(code).map_or_else(|_| String::new(), |c| words::cloud(voice.language, c));
        Self {
            title: voice.plain("phone.weather"),
            said: words::weather(voice.language, weather),
            air: TypedField { label: voice.plain(air_label), value: air.unwrap_or_default() },
            wind: ten(weather.beaufort.map(Beaufort::force), &wind),
            cloud: ten(weather.cloud.map(Oktas::code), &cloud),
            rain: choices(&RAINS, weather.rain, |_, rain| words::rain(voice.language, rain)),
        }
    }
}

impl WeatherTyped {
    pub(crate) fn read(&self, units: Units) -> Result<Weather, HandsetError> {
        let number = |text: &Option<String>| {
            let text = text.as_deref().filter(|text| !text.is_empty());
            text.map(|text| text.parse::<u8>().map_err(|_| HandsetError::not_here(text))).transpose()
        };
        let off = |number: survey::visit::OffScale| HandsetError::number_out_of_range(&number.0.to_string());
        Ok(Weather {
            air_decicelsius: units.air(&self.air)?,
            beaufort: number(&self.wind)?.map(Beaufort::try_from).transpose().map_err(off)?,
            cloud: number(&self.cloud)?.map(Oktas::try_from).transpose().map_err(off)?,
            rain: self.rain.as_deref().map(|name| named(&RAINS, name)).transpose()?,
        })
    }
}

impl VisitScreen {
    pub(crate) fn of(view: &VisitView, voice: Voice) -> Self {
        let name = |row: &handset::views::ObserverRow| {
            row.name.clone().unwrap_or_else(|| voice.plain("phone.observer-elsewhere"))
        };
        Self {
            title: view.site_name.clone().unwrap_or_else(|| voice.plain("sites.unnamed")),
            begun: view.started.map_or_else(String::new, |at| voice.day(at)),
            observers: view.observers.iter().map(name).collect(),
            hosts_up: choices(&HOSTS_UP, view.hosts_up, |_, hosts| words::hosts_up(voice.language, hosts)),
            minutes: TypedField {
                label: voice.plain("phone.person-minutes"),
                value: view.person_minutes.map_or_else(String::new, |minutes| minutes.to_string()),
            },
            weather: words::weather(voice.language, &view.weather),
            phones: view.phones,
            code: voice.say("phone.code-of-visit", &[("code", view.visit.to_string().into())]),
        }
    }
}

impl VisitTyped {
    pub(crate) fn read(&self) -> Result<VisitDescription, HandsetError> {
        Ok(VisitDescription {
            hosts_up: self.hosts_up.as_deref().map(|name| named(&HOSTS_UP, name)).transpose()?,
            person_minutes: typed_count(&self.minutes)?,
            ..VisitDescription::default()
        })
    }
}

impl NotesScreen {
    pub(crate) fn of(view: &NotesView, voice: Voice) -> Self {
        let title = if view.site.is_some() { "phone.notes-site" } else { "phone.notes-visit" };
        Self {
            title: voice.plain(title),
            begins_with: view.plant.map_or_else(String::new, |number| {
                voice.say("phone.note-of-plant", &[("number", number.to_string().into())])
            }),
            lead: voice.plain("phone.notes-lead"),
            notes: view
                .notes
                .iter()
                .map(|row| NoteRow {
                    note: row.note.to_string(),
                    day: voice.day(row.at),
                    erase: row.text.is_some().then(|| Label::plain(voice.plain("phone.erase"))),
                    text: row.text.clone().unwrap_or_else(|| voice.plain("phone.note-gone")),
                })
                .collect(),
        }
    }
}
