//! What is said of a visit as a whole, notes, and double counts.

use super::review;
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{
    BothSaw, MatchScreen, NotesScreen, ReviewScreen, VisitScreen, VisitTyped, WeatherScreen, WeatherTyped, read,
    read_all,
};
use survey::visit::{ChecksCompared, Comparison};

#[uniffi::export]
impl Leafturn {
    /// The visit in hand as a whole.
    pub fn visit(&self) -> Result<VisitScreen, Failure> {
        self.held.act(|handset, voice| Ok(VisitScreen::of(&handset.visit()?, voice)))
    }

    /// Says whether hosts were up, and how long was searched.
    pub fn describe_visit(&self, typed: VisitTyped) -> Result<VisitScreen, Failure> {
        self.held.act(|handset, voice| Ok(VisitScreen::of(&handset.describe_visit(typed.read()?)?, voice)))
    }

    /// The weather of the visit in hand.
    pub fn weather(&self) -> Result<WeatherScreen, Failure> {
        self.held
            .act(|handset, voice| Ok(WeatherScreen::of(&handset.visit()?.weather, handset.settings()?.units, voice)))
    }

    /// Notes the weather of the visit in hand.
    pub fn note_weather(&self, typed: WeatherTyped) -> Result<WeatherScreen, Failure> {
        self.held.act(|handset, voice| {
            let units = handset.settings()?.units;
            Ok(WeatherScreen::of(&handset.note_weather(typed.read(units)?)?.weather, units, voice))
        })
    }

    /// Says that another visit is the same as the one in hand: by the code that the other phone shows.
    pub fn link_visit(&self, code: String) -> Result<VisitScreen, Failure> {
        self.held.act(|handset, voice| {
            let own = handset.visit()?.visit;
            Ok(VisitScreen::of(&handset.join_visits(own, read(code.trim())?)?, voice))
        })
    }

    /// The notes on a site, or without one those on the visit in hand.
    pub fn notes(&self, site: Option<String>) -> Result<NotesScreen, Failure> {
        self.held.act(|handset, voice| {
            let site = site.as_deref().map(read).transpose()?;
            Ok(NotesScreen::of(&handset.notes(site)?, voice))
        })
    }

    /// Writes a note on a site, or without one on the visit in hand.
    pub fn add_note(&self, site: Option<String>, text: String) -> Result<NotesScreen, Failure> {
        self.held.act(|handset, voice| {
            let site = site.as_deref().map(read).transpose()?;
            handset.note(site, &text).and_then(|_| Ok(NotesScreen::of(&handset.notes(site)?, voice)))
        })
    }

    /// Erases the text of a note of this list.
    pub fn erase_note(&self, site: Option<String>, note: String) -> Result<NotesScreen, Failure> {
        self.held.act(|handset, voice| {
            let site = site.as_deref().map(read).transpose()?;
            handset.erase_text(read(&note)?).and_then(|()| Ok(NotesScreen::of(&handset.notes(site)?, voice)))
        })
    }

    /// Plants that two phones looked at independently.
    pub fn matching(&self) -> Result<MatchScreen, Failure> {
        self.held.act(|handset, voice| Ok(MatchScreen::of(&handset.matching()?, voice)))
    }

    /// Says how many of each stage both of two looks saw.
    pub fn match_checks(&self, checks: Vec<String>, both: Vec<BothSaw>) -> Result<MatchScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.match_checks(BothSaw::read(&checks, &both)?)?;
            Ok(MatchScreen::of(&handset.matching()?, voice))
        })
    }

    /// Says that checks with one number were looks at one plant.
    pub fn same_plant(&self, checks: Vec<String>) -> Result<ReviewScreen, Failure> {
        self.held.act(|handset, voice| {
            let (checks, verdict) = (read_all(&checks)?, Comparison::SamePlantIndependent);
            handset.compare_checks(ChecksCompared { checks, verdict }).and_then(|_| review(handset, voice))
        })
    }

    /// Says that checks with one number were different plants.
    pub fn different_plants(&self, checks: Vec<String>) -> Result<ReviewScreen, Failure> {
        self.held.act(|handset, voice| {
            let (checks, verdict) = (read_all(&checks)?, Comparison::DifferentPlants);
            handset.compare_checks(ChecksCompared { checks, verdict }).and_then(|_| review(handset, voice))
        })
    }
}
