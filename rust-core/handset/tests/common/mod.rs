//! A made-up season's odds and ends, shared by the tests. Every place and name here is invented.
#![allow(dead_code, reason = "each test file uses a part of it")]

use handset::Handset;
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::surroundings::scripted::Script;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use survey::ids::{ObserverId, ProtocolId, SiteId};
use survey::place::{Pin, Place, PublicPrecision};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::site::SiteDescription;
use survey::stage::{Stage, What};
use survey::time::{OffsetMinutes, UnixMs};

/// 2026-07-04 09:30 UTC, half past four in the morning at an offset of −300 minutes.
pub(crate) const START: UnixMs = UnixMs(1_783_157_400_000);

pub(crate) fn script(seed: u64) -> Script {
    Script::new(seed, START, OffsetMinutes(-300))
}

pub(crate) fn open(folder: &Path, script: &Script) -> Handset {
    Handset::open(folder, script.surroundings()).unwrap()
}

pub(crate) fn milkweed() -> Host {
    Host::Species("Asclepias syriaca".into())
}

pub(crate) fn protocol(audit_one_in: u16) -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([9; 16]),
        name: "Every third stem".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::EveryKth { k: 3, start: 1 },
        units: BTreeMap::from([(Host::NotDetermined, Unit::Stem)]),
        search: SearchRule::Whole,
        audit_one_in,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 30, at_most: 200 },
    }
}

pub(crate) fn site(handset: &mut Handset, name: &str) -> SiteId {
    let description = SiteDescription {
        name: Some(name.into()),
        place: Some(Place::Pin { at: Pin::new(44.25, -93.5).unwrap(), radius_m: Some(40.0), accuracy_m: Some(6.0) }),
        public_precision: Some(PublicPrecision::Hundredth),
        ..SiteDescription::default()
    };
    handset.describe_site(None, description).unwrap().site.id
}

pub(crate) fn begin(observer: Option<ObserverId>, audit_one_in: u16) -> BeginVisit {
    BeginVisit {
        protocol: Some(protocol(audit_one_in)),
        observers: observer.into_iter().collect(),
        ..BeginVisit::default()
    }
}

/// A site and a visit to it with the first plant open.
pub(crate) fn first_plant(handset: &mut Handset) -> SiteId {
    let site = site(handset, "Invented meadow");
    handset.begin_visit(site, begin(None, 0)).unwrap();
    handset.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).unwrap();
    site
}

pub(crate) fn egg() -> Count {
    Count::one(Stage::Egg)
}

pub(crate) fn larva(stage: Stage) -> Count {
    Count::one(stage)
}

pub(crate) fn egg_or_not() -> Count {
    Count::one("egg+none".parse::<What>().unwrap())
}
