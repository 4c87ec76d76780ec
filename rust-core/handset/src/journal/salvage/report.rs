//! What was and what was not saved, for the screen.

use crate::views::{Argument, Message};
use serde::Serialize;

/// What was taken over from a database set aside, and what is known to be missing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Salvage {
    /// This device's entries.
    pub entries: u64,
    /// Entries of this device that are known to have been there and could not be read.
    pub lost: u64,
    /// Whether it is known how far the journal went, so that `lost` is all that was lost.
    pub end_known: bool,
    /// Other devices' entries; those that could not be read come again with the feed.
    pub received: u64,
    /// Texts of notes.
    pub texts: u64,
    /// Names of observers.
    pub names: u64,
    /// Photos that go on.
    pub photos: u64,
    /// Files of photos that nothing names any longer; they lie beside the database set aside.
    pub files: u64,
}

impl Salvage {
    /// Both together.
    pub(crate) fn and(self, other: Self) -> Self {
        Self {
            entries: self.entries + other.entries,
            lost: self.lost + other.lost,
            end_known: self.end_known || other.end_known,
            received: self.received + other.received,
            texts: self.texts + other.texts,
            names: self.names + other.names,
            photos: self.photos + other.photos,
            files: self.files + other.files,
        }
    }

    /// The report in words: ids of the catalogue with their arguments, in the order to be read.
    pub fn messages(&self) -> Vec<Message> {
        let number = |id: &str, number: u64| Message::new(id).with("number", Argument::Number(number));
        let mut report = vec![Message::new("salvage.set-aside"), number("salvage.entries", self.entries)];
        if self.lost > 0 {
            report.push(number("salvage.lost", self.lost));
        }
        if !self.end_known {
            report.push(Message::new("salvage.end-not-known"));
        }
        for (id, of) in [
            ("salvage.received", self.received),
            ("salvage.texts", self.texts),
            ("salvage.photos", self.photos),
            ("salvage.files", self.files),
        ] {
            if of > 0 {
                report.push(number(id, of));
            }
        }
        report.push(Message::new("salvage.go-on"));
        report
    }
}
