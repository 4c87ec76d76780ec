//! What screens show: plain records, complete and immutable. A shell draws them and holds no state of its own.
//! No words: ids of messages, with typed arguments.

mod details;
mod heat;
pub(crate) mod key;
mod matching;
mod measure;
mod message;
mod mine;
mod notes;
mod plant;
pub(crate) mod practice;
mod review;
mod season;
mod sites;
mod start;
mod sync;
mod visit;

pub use ::practice::Choice as PracticeAnswer;
pub use details::DetailsView;
pub use heat::HeatView;
pub use key::{
    KeyAnswer, KeyCounts, KeyNext, KeyOutcome, KeyProposal, KeyQuestion, KeyReason, KeySays, KeyStartView, KeyState,
    KeySupport, KeyView, drawing,
};
pub use matching::{MatchRow, MatchingView, PairRow};
pub use measure::{MeasureCoin, MeasureQuestion, MeasureView, MeasuredBy, MeasuredView};
pub use message::{Argument, Message};
pub use mine::MineView;
pub use notes::{NoteRow, NotesView};
pub use plant::{PlantView, Tile};
pub use practice::{PracticeChoice, PracticeMarked, PracticeScore, PracticeView};
pub use review::{FindingLead, ReviewRow, ReviewTotal, ReviewView};
pub use season::{
    ChanceRow, ClosingView, ComeAgainView, EffortRow, EffortView, ExpectRow, HowManyView, OneSeason, SeasonChart,
    SeasonView,
};
pub use sites::{Due, SiteRow, SiteView, SitesView, VisitRow};
pub use stagekey::Means;
pub use stagekey::photo::{COINS, Known, Pixel, Plane, Scale};
pub use start::{StartView, hosts};
pub use sync::{PhotosSent, StreamSent, SyncView};
pub use visit::{ObserverRow, PlantRow, VisitAround, VisitView};

use crate::acts::Screen;
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use crate::state::group::{Group, InTables};
use survey::ids::{CheckId, VisitId};

/// Whether what is shown is complete.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Completeness {
    /// It is.
    Whole,
    /// Numbers are still being folded after an update of the software.
    Folding,
}

impl Handset {
    /// The screen of the visit in hand.
    ///
    /// # Errors
    /// `no-visit`; storage.
    pub fn visit(&self) -> Result<VisitView, HandsetError> {
        let hand = self.in_hand()?;
        Ok(visit::view(self, hand.group, hand.visit)?)
    }

    /// The visit in hand without its list of plants.
    ///
    /// # Errors
    /// `no-visit`.
    pub fn visit_around(&self) -> Result<VisitAround<'_>, HandsetError> {
        let hand = self.in_hand()?;
        Ok(visit::around(hand.group, self.device, hand.visit)?)
    }

    /// The screen of any visit.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn visit_of(&mut self, visit: VisitId) -> Result<VisitView, HandsetError> {
        self.memory.group(&self.db, visit)?;
        let group = self.loaded(visit)?;
        let state = group.state.as_ref().ok_or_else(|| Error::refused(Why::NotHere, visit))?;
        let own = crate::state::memory::own_part(state, self.device).unwrap_or(visit);
        Ok(visit::view(self, group, own)?)
    }

    /// The screen of a plant of the visit in hand.
    ///
    /// # Errors
    /// `no-visit`, `not-here`; storage.
    pub fn plant(&self, check: CheckId) -> Result<PlantView, HandsetError> {
        let hand = self.in_hand()?;
        let state = hand.group.check(check).ok_or_else(|| Error::refused(Why::NotHere, check))?;
        Ok(plant::view(hand.group, hand.visit, state))
    }

    /// The screen after an act that may lead to either: the open plant, or the visit.
    ///
    /// # Errors
    /// `no-visit`; storage.
    pub fn screen(&self) -> Result<Screen, HandsetError> {
        let open = self.in_hand()?.group.open_check().map(|check| check.id);
        match open {
            Some(check) => self.plant(check).map(Screen::Plant),
            None => self.visit().map(Screen::Visit),
        }
    }

    /// The review of any visit: the table of its plants, its totals and what looks odd.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn review(&mut self, visit: VisitId) -> Result<ReviewView, HandsetError> {
        self.memory.group(&self.db, visit)?;
        Ok(review::view(self.loaded(visit)?, visit)?)
    }

    fn loaded(&self, visit: VisitId) -> Result<&Group, Error> {
        self.memory.loaded(visit).ok_or_else(|| Error::refused(Why::NotHere, visit))
    }
}

pub(crate) fn completeness(group: &Group) -> Completeness {
    match group.in_tables {
        InTables::Yes => Completeness::Whole,
        InTables::No => Completeness::Folding,
    }
}
