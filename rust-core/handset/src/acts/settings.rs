//! Settings of the person at this phone. They are no entries: nobody else is concerned.

use crate::error::{Error, HandsetError};
use crate::object::{Handset, set, setting};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Under which they are kept.
const SETTINGS: &str = "settings";

/// What a person chose at this phone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Tag of the language; `None` for that of the phone.
    pub language: Option<String>,
    /// Which hand holds the phone.
    pub hand: Hand,
    /// Colours.
    pub theme: Theme,
    /// In what temperatures and lengths are typed and shown.
    pub units: Units,
    /// What is switched on.
    pub on: BTreeSet<Switch>,
}

/// A hand.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// The right one.
    #[default]
    Right,
    /// The left one.
    Left,
}

/// Colours.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Theme {
    /// Black on white, for the sun.
    #[default]
    Light,
    /// White on black.
    Dark,
}

/// Units in which people type and read. Entries are metric whatever is chosen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Units {
    /// Degrees Celsius, centimetres.
    #[default]
    Metric,
    /// Degrees Fahrenheit, inches.
    Imperial,
}

/// Something that is on or off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Switch {
    /// A buzz at each tap.
    Buzz,
    /// A sound at each tap.
    Sound,
    /// The volume keys count.
    VolumeKeys,
    /// Each act is spoken, for a phone on a strap while a lens is held to the eye.
    LensMode,
    /// The phone asks at its start whether to join a station.
    AskToJoin,
    /// Ants, aphids, predators and open flowers are asked for at each plant.
    Company,
}

impl Default for Settings {
    fn default() -> Self {
        let on = [Switch::Buzz, Switch::AskToJoin].into();
        Self { language: None, hand: Hand::Right, theme: Theme::Light, units: Units::Metric, on }
    }
}

impl Switch {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Buzz, Self::Sound, Self::VolumeKeys, Self::LensMode, Self::Company, Self::AskToJoin];

    /// The name in message ids.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Buzz => "buzz",
            Self::Sound => "sound",
            Self::VolumeKeys => "volume-keys",
            Self::LensMode => "lens-mode",
            Self::AskToJoin => "ask-to-join",
            Self::Company => "company",
        }
    }
}

impl Handset {
    /// The settings; what was never chosen is as it comes.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn settings(&self) -> Result<Settings, HandsetError> {
        let text: Option<String> = setting(&self.db, SETTINGS)?;
        // What another version wrote and this one cannot read is chosen again.
        Ok(text.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default())
    }

    /// Switches one thing off; all else stays.
    ///
    /// # Errors
    /// `full` and others of the storage.
    pub fn switch_off(&mut self, switch: Switch) -> Result<(), HandsetError> {
        let mut settings = self.settings()?;
        settings.on.remove(&switch);
        self.change_settings(&settings)
    }

    /// Keeps settings.
    ///
    /// # Errors
    /// `full` and others of the storage.
    pub fn change_settings(&mut self, settings: &Settings) -> Result<(), HandsetError> {
        let text = serde_json::to_string(settings).map_err(Error::from)?;
        Ok(set(&self.db, SETTINGS, text)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_of_an_earlier_version_keep_what_they_say() {
        let read: Settings = serde_json::from_str(r#"{"hand":"left"}"#).unwrap();
        assert_eq!(read, Settings { hand: Hand::Left, ..Settings::default() });
        let text = serde_json::to_string(&Settings::default()).unwrap();
        assert_eq!(
            text,
            r#"{"language":null,"hand":"right","theme":"light","units":"metric","on":["buzz","ask-to-join"]}"#
        );
    }
}
