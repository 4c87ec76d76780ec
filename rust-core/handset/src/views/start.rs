//! Before a visit: what repeats is carried forward, and what else may be chosen.

use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use survey::ids::{ObserverId, ProtocolId, RandomOctets, SiteId};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::stage::Stage;

/// What is asked before a visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StartView {
    /// The site.
    pub site: SiteId,
    /// Its name.
    pub name: Option<String>,
    /// Observers whose names are kept here.
    pub observers: BTreeMap<ObserverId, String>,
    /// Those of the latest visit to the site.
    pub carried_observers: BTreeSet<ObserverId>,
    /// Protocols to choose from.
    pub protocols: Vec<Protocol>,
    /// Whether the first of them is that of the latest visit.
    pub carried_protocol: bool,
}

/// Plants wanted where nobody says otherwise. With a mean m of 0.4 egg a stem and a k of 0.5 the mean of 40 stems is known to
/// 1.96·√((1/m + 1/k)/40) = ±66 %, and a
/// walk ends within an hour (choice of this project).
const WANTED: u32 = 40;

/// Milkweeds offered by name, with the unit that is used for each: stems where they leave the ground singly, clumps
/// where they rise in tufts (from memory, to be checked with a practitioner).
const HOSTS: [(&str, Unit); 5] = [
    ("Asclepias syriaca", Unit::Stem),
    ("Asclepias speciosa", Unit::Stem),
    ("Asclepias incarnata", Unit::Clump),
    ("Asclepias tuberosa", Unit::Clump),
    ("Asclepias viridis", Unit::Clump),
];

/// Hosts that are offered where no protocol says otherwise.
pub fn hosts() -> Vec<Host> {
    let named = HOSTS.iter().map(|(name, _)| Host::from((*name).to_owned()));
    named.chain([Host::NotDetermined, Host::NotMilkweed]).collect()
}

impl Handset {
    /// What is asked before a visit to a site.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn start(&mut self, site: SiteId) -> Result<StartView, HandsetError> {
        let state = self.memory.sites.site(site).ok_or_else(|| Error::refused(Why::NotHere, site))?;
        let before = self.latest_visit(site)?;
        let (carried, carried_observers) = before.map(|visit| (visit.protocol, visit.observers)).unwrap_or_default();
        let seed = self.around.random.octets();
        let offered = offered(state.stems_expected, seed);
        let others = offered.into_iter().filter(|own| carried.as_ref().is_none_or(|carried| carried.id != own.id));
        Ok(StartView {
            site,
            name: state.name,
            observers: self.observers()?,
            carried_observers,
            carried_protocol: carried.is_some(),
            protocols: carried.iter().cloned().chain(others).collect(),
        })
    }
}

/// The protocols that the software brings: every k-th stem of a walk with a start drawn by chance, all plants, and the
/// observer's choice.
fn offered(stems_expected: Option<u32>, seed: RandomOctets) -> Vec<Protocol> {
    let k = (stems_expected.unwrap_or(WANTED) / WANTED).max(1);
    let draw = u32::from_be_bytes([seed[0], seed[1], seed[2], seed[3]]);
    let units = HOSTS.map(|(name, unit)| (Host::from(name.to_owned()), unit));
    let others = [(Host::NotDetermined, Unit::Stem), (Host::NotMilkweed, Unit::Stem)];
    let protocol = |number: u8, name: &str, choice| Protocol {
        id: ProtocolId::from_octets([b'l', b'e', b'a', b'f', b't', b'u', 0x72, 0x6e, 0x80, 0, 0, 0, 0, 0, 1, number]),
        name: name.to_owned(),
        stages: Stage::EGG_TO_LARVA5.into(),
        choice,
        units: units.iter().cloned().chain(others.clone()).collect(),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Eggs, at_least: 20, at_most: 150 },
    };
    vec![
        protocol(1, "every k-th on a walk", PlantChoice::EveryKth { k, start: draw % k }),
        protocol(2, "all plants", PlantChoice::All),
        protocol(3, "observer's choice", PlantChoice::ObserversChoice),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn k_follows_from_the_stems_expected_and_the_start_lies_below_it() {
        let k = |stems, seed| match offered(stems, [seed; 16])[0].choice {
            PlantChoice::EveryKth { k, start } => {
                assert!(start < k);
                k
            }
            _ => 0,
        };
        assert_eq!((k(None, 9), k(Some(12), 200), k(Some(300), 77)), (1, 1, 7));
    }

    #[test]
    fn what_is_offered_may_be_begun() {
        for protocol in offered(Some(500), [3; 16]) {
            assert_eq!(protocol.unit_of(&Host::from("Asclepias incarnata".to_owned())), Unit::Clump);
            crate::acts::checked_protocol(protocol).unwrap();
        }
    }
}
