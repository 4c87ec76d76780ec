//! Settings, what is kept of a person, and cautions.

use super::plant::{choices, named};
use super::{Choice, Label};
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::{Hand, Settings, Switch, Theme, Units};
use handset::views::{HeatView, MineView};
use messages::{Language, decimal};

/// Settings of the person at this phone; the core keeps them.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SettingsScreen {
    /// Title.
    pub title: String,
    /// The language; a name that is empty is that of the phone.
    pub languages: Vec<Choice>,
    /// Which hand holds the phone.
    pub hands: Vec<Choice>,
    /// Colours.
    pub themes: Vec<Choice>,
    /// Units in which is typed and read.
    pub units: Vec<Choice>,
    /// What can be on or off.
    pub switches: Vec<Choice>,
}

/// Settings as chosen, by the names of the screen.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SettingsChosen {
    /// Language.
    pub language: String,
    /// Hand.
    pub hand: String,
    /// Theme.
    pub theme: String,
    /// Units.
    pub units: String,
    /// All that is on.
    pub on: Vec<String>,
}

/// What this phone keeps, and what can be done with it.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MineScreen {
    /// Title.
    pub title: String,
    /// What is kept, a line each.
    pub lines: Vec<String>,
    /// Names of observers, which are on this phone alone: each can be forgotten.
    pub observers: Vec<Choice>,
    /// "Make a file to hand over", for `export_to`.
    pub export: Label,
    /// "Delete everything on this phone", for `delete_everything`.
    pub delete: Label,
    /// What deleting means: to be confirmed.
    pub delete_lead: String,
}

/// Safety before going out.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CautionsScreen {
    /// Title.
    pub title: String,
    /// That local rules come first.
    pub lead: String,
    /// Cards, sap and eyes first.
    pub cards: Vec<Card>,
    /// Heading of the heat index, for `heat`.
    pub heat_title: String,
    /// Label of the field for the air temperature.
    pub air_label: String,
    /// Label of the field for the humidity in percent.
    pub humidity_label: String,
}

/// A card.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Card {
    /// Heading.
    pub title: String,
    /// Advice.
    pub text: String,
}

/// What air and humidity feel like.
#[derive(Debug, Clone, uniffi::Record)]
pub struct HeatScreen {
    /// The heat index with its unit.
    pub index: String,
    /// What it means.
    pub category: String,
    /// What else holds, a line each.
    pub notes: Vec<String>,
}

/// A licence under which something in the app is used.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Licence {
    /// The part.
    pub part: String,
    /// Its licence, as an SPDX expression.
    pub licence: String,
}

const HANDS: [(&str, Hand); 2] = [("right", Hand::Right), ("left", Hand::Left)];
const THEMES: [(&str, Theme); 2] = [("light", Theme::Light), ("dark", Theme::Dark)];
const UNITS: [(&str, Units); 2] = [("metric", Units::Metric), ("imperial", Units::Imperial)];
const CARDS: [&str; 6] = ["sap", "heat", "ticks", "roads", "permission", "animals"];

impl SettingsScreen {
    pub(crate) fn of(settings: &Settings, voice: Voice) -> Self {
        let own = Choice {
            name: String::new(),
            label: voice.plain("phone.language.own"),
            chosen: settings.language.is_none(),
        };
        let languages = Language::ALL.map(|language| Choice {
            name: language.name().into(),
            label: language.own_name().into(),
            chosen: settings.language.as_deref().and_then(Language::of_tag) == Some(language),
        });
        let label = |group: &'static str| move |name: &str| voice.plain(&format!("phone.{group}.{name}"));
        let (hand, theme, units) = (label("hand"), label("theme"), label("units"));
        let switches = Switch::ALL.map(|switch| Choice {
            name: switch.name().into(),
            label: voice.plain(&format!("phone.{}", switch.name())),
            chosen: settings.on.contains(&switch),
        });
        Self {
            title: voice.plain("phone.settings"),
            languages: std::iter::once(own).chain(languages).collect(),
            hands: choices(&HANDS, Some(settings.hand), |name, _| hand(name)),
            themes: choices(&THEMES, Some(settings.theme), |name, _| theme(name)),
            units: choices(&UNITS, Some(settings.units), |name, _| units(name)),
            switches: switches.into(),
        }
    }
}

impl SettingsChosen {
    pub(crate) fn read(&self) -> Result<Settings, HandsetError> {
        let switch = |name: &String| {
            let found = Switch::ALL.into_iter().find(|switch| switch.name() == name);
            found.ok_or_else(|| HandsetError::not_here(name))
        };
        Ok(Settings {
            language: Some(self.language.clone()).filter(|tag| !tag.is_empty()),
            hand: named(&HANDS, &self.hand)?,
            theme: named(&THEMES, &self.theme)?,
            units: named(&UNITS, &self.units)?,
            on: self.on.iter().map(switch).collect::<Result<_, _>>()?,
        })
    }
}

impl MineScreen {
    pub(crate) fn of(view: &MineView, voice: Voice) -> Self {
        let lines = [
            voice.counted("phone.mine-acts", view.made),
            voice.counted("phone.mine-received", view.received),
            voice.counted("phone.mine-photos", view.photos),
            voice.counted("phone.mine-notes", view.notes),
            voice.counted("phone.waits", view.waiting),
        ];
        Self {
            title: voice.plain("phone.mine"),
            lines: lines.into(),
            observers: view
                .observers
                .iter()
                .map(|(id, name)| Choice { name: id.to_string(), label: name.clone(), chosen: false })
                .collect(),
            export: Label::plain(voice.plain("phone.export")),
            delete: Label::plain(voice.plain("phone.delete-all")),
            delete_lead: voice.counted("phone.delete-all-lead", view.waiting),
        }
    }
}

impl CautionsScreen {
    pub(crate) fn of(units: Units, voice: Voice) -> Self {
        let air = match units {
            Units::Metric => "phone.air-celsius",
            Units::Imperial => "phone.air-fahrenheit",
        };
        let card = |name: &str| Card {
            title: voice.plain(&format!("cautions.{name}-title")),
            text: voice.plain(&format!("cautions.{name}")),
        };
        Self {
            title: voice.plain("phone.cautions"),
            lead: voice.plain("cautions.lead"),
            cards: CARDS.map(card).into(),
            heat_title: voice.plain("phone.heat"),
            air_label: voice.plain(air),
            humidity_label: voice.plain("phone.humidity"),
        }
    }
}

impl HeatScreen {
    pub(crate) fn of(view: &HeatView, voice: Voice) -> Self {
        let degrees = decimal(voice.language, view.index, 0);
        let id = match view.units {
            Units::Metric => "phone.heat-celsius",
            Units::Imperial => "phone.heat-fahrenheit",
        };
        Self {
            index: voice.say(id, &[("degrees", degrees.into())]),
            category: voice.message(&view.category),
            notes: view.notes.iter().map(|note| voice.message(note)).collect(),
        }
    }
}

/// The licences of what the library is made of, this software's first.
pub(crate) fn licences() -> Vec<Licence> {
    let rows = include_str!("../../licences.txt").lines().filter_map(|line| line.split_once('\t'));
    rows.map(|(part, licence)| Licence { part: part.into(), licence: licence.into() }).collect()
}
