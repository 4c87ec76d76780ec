//! What was left out of a season, and what one has to know of it: message ids with arguments.

use messages::{Arg, Language, percent, say, words};
use serde::Serialize;
use survey::date::Date;
use survey::site::ManagementKind;

/// One note.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Note {
    /// Names the message.
    pub message: &'static str,
    /// The visit, or the day, that it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Date>,
    /// How many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<u64>,
    /// What was done to the site.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub management: Option<ManagementKind>,
    /// Of how much of the patch, 0 to 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
}

impl Note {
    /// A note about a visit or a day.
    pub const fn on(message: &'static str, date: Date) -> Self {
        Self { message, date: Some(date), number: None, management: None, share: None }
    }

    /// A note that counts something.
    pub const fn counting(message: &'static str, number: u64) -> Self {
        Self { message, date: None, number: Some(number), management: None, share: None }
    }

    /// A note that stands by itself.
    pub const fn plain(message: &'static str) -> Self {
        Self { message, date: None, number: None, management: None, share: None }
    }

    /// Its words.
    pub fn say(&self, language: Language) -> String {
        let mut args: Vec<(&str, Arg<'_>)> = Vec::new();
        args.extend(self.date.map(|date| ("date", Arg::from(date.to_string()))));
        args.extend(self.number.map(|number| ("number", Arg::from(number))));
        args.extend(self.management.map(|kind| ("what", Arg::from(words::management(language, kind)))));
        args.extend(self.share.map(|share| ("percent", Arg::from(percent(language, share, 0)))));
        say(language, self.message, &args)
    }
}
