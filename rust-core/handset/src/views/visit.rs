//! A visit with its running list of plants.

use super::message::Message;
use super::{Completeness, completeness, plant};
use crate::error::{Error, Why};
use crate::object::Handset;
use crate::state::group::Group;
use serde::Serialize;
use std::collections::BTreeMap;
use survey::check::{Extent, SeenEmpty};
use survey::fold::{CheckState, Standing, VisitPart, VisitState};
use survey::ids::{CheckId, DeviceId, EntryId, ObserverId, SiteId, VisitId};
use survey::protocol::{Host, Protocol, Unit};
use survey::stage::What;
use survey::time::{OffsetMinutes, UnixMs};
use survey::visit::{AdultsCounted, HostsUp, Weather};

/// A visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VisitView {
    /// The id under which this device counts; also the visit code that a second phone scans or types.
    pub visit: VisitId,
    /// The site.
    pub site: SiteId,
    /// Its name.
    pub site_name: Option<String>,
    /// When it started.
    pub started: Option<UnixMs>,
    /// When it ended.
    pub ended: Option<UnixMs>,
    /// When this device's part ended.
    pub own_part_ended: Option<UnixMs>,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// Phones in this visit, this one among them.
    pub phones: u32,
    /// Who searches.
    pub observers: Vec<ObserverRow>,
    /// The protocol in force.
    pub protocol: Option<Protocol>,
    /// Minutes of search by all people together, where somebody said so.
    pub person_minutes: Option<u32>,
    /// Whether host plants were up.
    pub hosts_up: Option<HostsUp>,
    /// Weather.
    pub weather: Weather,
    /// Plants, the latest of this device last.
    pub plants: Vec<PlantRow>,
    /// The open plant of this device.
    pub open: Option<CheckId>,
    /// Adults counted.
    pub adults: Vec<AdultsCounted>,
    /// Living animals on checks that enter estimates, pooled ones included; a stage in scope that was not seen is 0.
    pub living: BTreeMap<What, u64>,
    /// Plants wholly searched by this device's part.
    pub whole_plants: u32,
    /// Entries that only a newer version understands.
    pub from_newer_version: u32,
    /// How many findings the review shows.
    pub findings: u32,
    /// What "take back" would take back.
    pub take_back: Option<Message>,
    /// What "redo" would redo.
    pub redo: Option<Message>,
    /// The count for which a photo is asked for and not there yet.
    pub photo_asked: Option<EntryId>,
    /// What that photo is of: it may be asked for when the plant is left behind already.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub photo_of: Option<Box<Message>>,
    /// Whether all is folded.
    pub completeness: Completeness,
}

/// What the counting screen says of the visit around its plants: a tap brings it along, so that it holds no list that
/// grows with the visit.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitAround<'a> {
    /// The id under which this device counts; also the visit code that a second phone scans or types.
    pub visit: VisitId,
    /// The site.
    pub site: SiteId,
    /// When this device's part ended.
    pub own_part_ended: Option<UnixMs>,
    /// The protocol in force.
    pub protocol: Option<&'a Protocol>,
    /// Plants wholly searched by this device's part.
    pub whole_plants: u32,
    /// What "take back" would take back.
    pub take_back: Option<Message>,
    /// What "redo" would redo.
    pub redo: Option<Message>,
    /// The count for which a photo is asked for and not there yet, and what that photo is of.
    pub photo_asked: Option<(EntryId, Message)>,
}

/// An observer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ObserverRow {
    /// Random id.
    pub observer: ObserverId,
    /// The name kept on this device.
    pub name: Option<String>,
}

/// A plant in the list of a visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantRow {
    /// The check.
    pub check: CheckId,
    /// Number shown to people.
    pub number: u32,
    /// The device that made it.
    pub device: DeviceId,
    /// Host plant.
    pub host: Option<Host>,
    /// Unit.
    pub unit: Unit,
    /// How much was searched.
    pub extent: Option<Extent>,
    /// Said to be empty.
    pub seen_empty: Option<SeenEmpty>,
    /// Whether it enters estimates.
    pub standing: Standing,
    /// Living animals by what they were counted as.
    pub living: BTreeMap<What, u64>,
    /// Animals in other states.
    pub not_living: u64,
}

pub(crate) fn view(handset: &Handset, group: &Group, visit: VisitId) -> Result<VisitView, Error> {
    let state = group.state.as_ref().ok_or_else(|| Error::refused(Why::NotHere, visit))?;
    let names = super::sites::names(handset)?;
    let around = around(group, handset.device, visit)?;
    let devices: std::collections::BTreeSet<DeviceId> = state.parts.iter().map(|part| part.device).collect();
    let mut living: BTreeMap<What, u64> =
        state.protocol.iter().flat_map(|protocol| &protocol.stages).map(|&stage| (What::Stage(stage), 0)).collect();
    living.extend(state.living_totals());
    Ok(VisitView {
        visit,
        site: state.site,
        site_name: handset.memory.sites.site(state.site).and_then(|site| site.name),
        started: state.started,
        ended: state.ended,
        own_part_ended: around.own_part_ended,
        offset: state.offset,
        phones: u32::try_from(devices.len()).unwrap_or(u32::MAX),
        observers: state
            .observers
            .iter()
            .map(|&observer| ObserverRow { observer, name: names.get(&observer).cloned() })
            .collect(),
        protocol: state.protocol.clone(),
        person_minutes: state.person_minutes,
        hosts_up: state.hosts_up,
        weather: state.weather,
        plants: state.checks.iter().map(row).collect(),
        open: group.open_check().map(|check| check.id),
        adults: state.adults.iter().map(|adults| adults.counted.clone()).collect(),
        living,
        whole_plants: around.whole_plants,
        from_newer_version: state.from_newer_version,
        findings: u32::try_from(state.findings.len()).unwrap_or(u32::MAX),
        take_back: around.take_back,
        redo: around.redo,
        photo_asked: around.photo_asked.as_ref().map(|(count, _)| *count),
        photo_of: around.photo_asked.map(|(_, of)| Box::new(of)),
        completeness: completeness(group),
    })
}

pub(crate) fn around(group: &Group, device: DeviceId, visit: VisitId) -> Result<VisitAround<'_>, Error> {
    let state = group.state.as_ref().ok_or_else(|| Error::refused(Why::NotHere, visit))?;
    let number_of = |id| group.check(id).map(|check| check.number);
    Ok(VisitAround {
        visit,
        site: state.site,
        own_part_ended: own_part(state, device, visit).and_then(|part| part.ended),
        protocol: state.protocol.as_ref(),
        whole_plants: plant::whole_plants(group),
        take_back: group.last_act_named().map(|kept| Message::act(kept, number_of)),
        redo: plant::redo(group, number_of),
        photo_asked: plant::photo_asked(group)
            .and_then(|count| Some((count, Message::act(group.fold.entry(count)?, number_of)))),
    })
}

/// The part of this device under this id.
fn own_part(state: &VisitState, device: DeviceId, visit: VisitId) -> Option<&VisitPart> {
    state.parts.iter().find(|part| part.visit == visit && part.device == device)
}

pub(super) fn row(check: &CheckState) -> PlantRow {
    let living = check.tally.living_rows();
    let not_living = check.tally.total() - living.values().sum::<u64>();
    PlantRow {
        check: check.id,
        number: check.number,
        device: check.device,
        host: check.host.clone(),
        unit: check.unit,
        extent: check.extent,
        seen_empty: check.seen_empty,
        standing: check.standing,
        living,
        not_living,
    }
}
