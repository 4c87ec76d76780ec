//! A plant with its counters.

use super::message::Message;
use crate::state::group::Group;
use serde::Serialize;
use std::collections::BTreeSet;
use survey::check::{Bbch, Condition, Extent, SeenEmpty};
use survey::entry::Act;
use survey::fold::{CheckState, TallyRow};
use survey::ids::{CheckId, EntryId, PlantId, VisitId};
use survey::protocol::{Host, Unit};
use survey::stage::{Undecided, What};

/// The screen on which is counted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantView {
    /// The visit.
    pub visit: VisitId,
    /// The check.
    pub check: CheckId,
    /// Number shown to people.
    pub number: u32,
    /// Host plant.
    pub host: Option<Host>,
    /// Unit of the check.
    pub unit: Unit,
    /// The tagged plant it is.
    pub plant: Option<PlantId>,
    /// Stems of a clump.
    pub stems: Option<u32>,
    /// Height in centimetres.
    pub height_cm: Option<u16>,
    /// Growth stage.
    pub bbch: Option<Bbch>,
    /// Condition.
    pub condition: Option<Condition>,
    /// How much was searched; `None` while it is open.
    pub extent: Option<Extent>,
    /// The statement that it was found empty.
    pub seen_empty: Option<SeenEmpty>,
    /// One tile for each stage in scope, in the order of development.
    pub stages: Vec<Tile>,
    /// Undecided sets: {egg, not an egg}, neighbouring instars in scope, then others that are counted.
    pub undecided: Vec<Tile>,
    /// Stages counted though they are not in scope.
    pub outside_scope: Vec<Tile>,
    /// Things noted on it that are none of this species: in no total.
    pub others: u32,
    /// Whether "empty" may be pressed: it is open, and nothing is counted.
    pub may_be_empty: bool,
    /// What "take back" would take back.
    pub take_back: Option<Message>,
    /// What "redo" would redo.
    pub redo: Option<Message>,
    /// The count for which a photo is asked for and not there yet.
    pub photo_asked: Option<EntryId>,
    /// Plants wholly searched by this device's part, and the least and most that the protocol wants.
    pub whole_plants: u32,
    /// Never fewer whole plants than this.
    pub at_least: Option<u32>,
    /// Never more whole plants than this.
    pub at_most: Option<u32>,
}

/// A counter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Tile {
    /// What it counts.
    pub what: What,
    /// Living animals.
    pub living: u64,
    /// Numbers in every state that occurs.
    pub by_state: Vec<TallyRow>,
}

pub(crate) fn view(group: &Group, visit: VisitId, check: &CheckState) -> PlantView {
    let protocol = group.state.as_ref().and_then(|state| state.protocol.as_ref());
    let scope: Vec<What> =
        protocol.into_iter().flat_map(|protocol| &protocol.stages).map(|&stage| What::Stage(stage)).collect();
    let counted: BTreeSet<What> = check.tally.rows().map(|row| row.what).collect();
    let offered: Vec<What> = std::iter::once(Undecided::egg_or_not())
        .chain(protocol.map(|protocol| Undecided::neighbours(&protocol.stages)).unwrap_or_default())
        .map(What::Undecided)
        .collect();
    let sets = counted.iter().filter(|what| matches!(what, What::Undecided(_)) && !offered.contains(what));
    let outside = counted.iter().filter(|what| matches!(what, What::Stage(_)) && !scope.contains(what));
    let tile = |what: &What| Tile {
        what: what.clone(),
        living: check.tally.living(what),
        by_state: check.tally.rows().filter(|row| row.what == *what).collect(),
    };
    let number_of = |id| group.check(id).map(|check| check.number);
    PlantView {
        visit,
        check: check.id,
        number: check.number,
        host: check.host.clone(),
        unit: check.unit,
        plant: check.plant,
        stems: check.stems,
        height_cm: check.height_cm,
        bbch: check.bbch,
        condition: check.condition,
        extent: check.extent,
        seen_empty: check.seen_empty,
        stages: scope.iter().map(tile).collect(),
        undecided: offered.iter().chain(sets).map(tile).collect(),
        outside_scope: outside.map(tile).collect(),
        others: others(group, check.id),
        may_be_empty: check.extent.is_none() && check.tally.is_empty(),
        take_back: group.last_act_named().map(|kept| Message::act(kept, number_of)),
        redo: redo(group, number_of),
        photo_asked: photo_asked(group),
        whole_plants: whole_plants(group),
        at_least: protocol.map(|protocol| protocol.stop.at_least),
        at_most: protocol.map(|protocol| protocol.stop.at_most),
    }
}

fn others(group: &Group, check: CheckId) -> u32 {
    let noted = group.state.iter().flat_map(|state| &state.others).filter(|told| told.what.check == check);
    noted.fold(0, |sum: u32, told| sum.saturating_add(told.what.number))
}

/// What the act is that "redo" would bring back.
pub(super) fn redo(group: &Group, number_of: impl Fn(CheckId) -> Option<u32>) -> Option<Message> {
    let Act::TakenBack(taken) = &group.last_take_back()?.entry.act else { return None };
    let target = group.fold.entry(taken.target)?;
    Some(Message::act(group.named(target).unwrap_or(target), number_of))
}

/// The latest audit without a photo whose count still has effect.
pub(super) fn photo_asked(group: &Group) -> Option<EntryId> {
    let audits = group.state.as_ref()?.audits.iter().rev();
    audits.filter(|audit| audit.photo.is_none()).map(|audit| audit.count).find(|&count| !group.fold.is_void(count))
}

pub(super) fn whole_plants(group: &Group) -> u32 {
    let whole = group.own_checks().filter(|check| check.extent == Some(Extent::Whole)).count();
    u32::try_from(whole).unwrap_or(u32::MAX)
}
