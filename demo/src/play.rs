//! Plays the season: eight weeks on the phones with the network closed, then everybody at home.

use crate::Trouble;
use crate::link::{BadLink, Link, Mishaps, Wifi};
use crate::person::{Begin, Person};
use crate::scenario::{Meeting, Phone, SitePlan, VisitPlan, standing};
use crate::station::Station;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use survey::fold::Standing;
use survey::ids::{ProtocolId, SiteId, VisitId};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::site::{Belt, HostCount, SiteDescription};
use survey::stage::{Stage, What};
use survey::visit::{ChecksCompared, Comparison, Share};

/// The phones, and what the demo itself kept count of while it tapped.
#[derive(Debug)]
pub struct Played {
    /// The people with their phones.
    pub people: BTreeMap<Phone, Person>,
    /// What was tapped and stands, by site and by what it was counted as: living animals of checks that enter.
    pub tapped: BTreeMap<SiteId, (String, BTreeMap<What, u64>)>,
    /// The visit that two phones began apart, each for itself.
    apart: Option<Apart>,
}

#[derive(Debug)]
struct Apart {
    site: SiteId,
    visits: BTreeMap<Phone, VisitId>,
}

/// The plant number of which nobody says whether the two phones looked at one plant: neither enters.
const LEFT_UNCOMPARED: u32 = 7;

/// Counts the whole season on phones whose files lie in `folder`. `progress` is told of each week.
///
/// # Errors
/// Those of the handsets.
pub fn count(plans: &[SitePlan], folder: &Path, mut progress: impl FnMut(&str)) -> Result<Played, Trouble> {
    let mut played = Played { people: BTreeMap::new(), tapped: BTreeMap::new(), apart: None };
    let names = ["Ines", "Tomas", "Marguerite", "Joel", "Awa"];
    let phones = plans.iter().flat_map(|plan| plan.phones);
    for (&phone, name) in phones.zip(names) {
        let folder = folder.join(format!("{phone:?}").to_lowercase());
        std::fs::create_dir_all(&folder)?;
        played.people.insert(phone, Person::with_phone(phone, &folder, name)?);
    }
    for (at, plan) in plans.iter().enumerate() {
        let site = played.describe(plan)?;
        let first = protocol(u8::try_from(at).unwrap_or(0), plan.stems);
        for (visit_at, visit) in plan.visits.iter().enumerate() {
            progress(&format!("{}: week {} of {}", plan.name, visit.week + 1, crate::scenario::WEEKS));
            played.visit(site, plan, visit, (visit_at == 0).then_some(&first))?;
        }
    }
    Ok(played)
}

/// Everybody joins the station and syncs; the two who counted one site apart join their visits. Returns what the bad
/// connection did.
///
/// # Errors
/// Those of the handsets and the station.
pub fn go_home(played: &mut Played, station: &Station, mut progress: impl FnMut(&str)) -> Result<Mishaps, Trouble> {
    let mut wifi = Wifi::to(&station.address);
    let mut bad = BadLink::to(&station.address, 7);
    let shared: Vec<SiteId> = played.apart.iter().map(|apart| apart.site).collect();
    for (phone, person) in &mut played.people {
        let sites = if *phone == Phone::SignalTwo { shared.clone() } else { Vec::new() };
        let link: &mut dyn Link = if *phone == Phone::Tannery { &mut bad } else { &mut wifi };
        let requests = person.join_and_sync(&station.invite(&format!("Phone {phone:?}"), &sites)?, link)?;
        progress(&format!("{phone:?} joined and sent everything in {requests} requests"));
    }
    if let Some(apart) = played.apart.take() {
        progress("Signal Verge: two phones see each other's plants and say which are which");
        for phone in [Phone::SignalOne, Phone::SignalTwo] {
            played.person(phone)?.sync(&mut wifi)?;
        }
        let one = played.person(Phone::SignalOne)?;
        join(one, &apart)?;
        one.sync(&mut wifi)?;
        played.person(Phone::SignalTwo)?.sync(&mut wifi)?;
    }
    Ok(bad.mishaps)
}

/// The invented protocol of site `n`, with about `stems` stems.
pub fn protocol(n: u8, stems: u32) -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([n + 1; 16]),
        name: "weekly walk".into(),
        stages: Stage::EGG_TO_LARVA5.into_iter().collect(),
        choice: PlantChoice::EveryKth { k: (stems / 50).max(1), start: 0 },
        units: BTreeMap::from([(Host::NotDetermined, Unit::Stem)]),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 20, at_most: 80 },
    }
}

/// The day of the first visits.
const FIRST_DAY: &str = "2026-06-06";

/// Six belts of 2 by 20 metres on which stems were counted, one of them bare; invented like all else.
fn belts() -> Vec<Belt> {
    [21, 9, 0, 26, 14, 17]
        .into_iter()
        .map(|stems| Belt { square_metres: 40.0, stems: vec![(Host::NotDetermined, stems)] })
        .collect()
}

impl Played {
    fn person(&mut self, phone: Phone) -> Result<&mut Person, Trouble> {
        self.people.get_mut(&phone).ok_or(Trouble::NoPhone)
    }

    /// The first phone describes the site; a second one takes it over from the first one's screen.
    fn describe(&mut self, plan: &SitePlan) -> Result<SiteId, Trouble> {
        let description = SiteDescription {
            name: Some(plan.name.into()),
            place: Some(plan.place.clone()),
            public_precision: Some(plan.precision),
            private: Some(plan.private),
            other_danaus: None,
            stems_expected: Some(plan.stems),
        };
        let (first, others) = plan.phones.split_first().ok_or(Trouble::NoPhone)?;
        let site = self.person(*first)?.handset.describe_site(None, description)?.site.id;
        let date = serde_json::from_value(FIRST_DAY.into())?;
        self.person(*first)?.handset.count_hosts(site, HostCount { date, belts: belts() })?;
        for &other in others {
            self.person(other)?.handset.adopt_site(site, plan.name)?;
        }
        self.tapped.insert(site, (plan.name.into(), BTreeMap::new()));
        Ok(site)
    }

    fn visit(
        &mut self,
        site: SiteId,
        plan: &SitePlan,
        visit: &VisitPlan,
        protocol: Option<&Protocol>,
    ) -> Result<(), Trouble> {
        let mut parts: BTreeMap<Phone, VisitId> = BTreeMap::new();
        for (at, &phone) in plan.phones.iter().enumerate() {
            let share = match (visit.meeting, at) {
                (Meeting::Alone | Meeting::JoinedLater, _) => Share::All,
                (Meeting::ByCode, 0) => Share::Odd,
                (Meeting::ByCode, _) => Share::Even,
            };
            let beside = match visit.meeting {
                Meeting::ByCode => parts.values().next().copied(),
                Meeting::Alone | Meeting::JoinedLater => None,
            };
            let begin = Begin { protocol: protocol.cloned(), share, beside };
            let id = self.person(phone)?.visit(site, visit, begin)?;
            parts.insert(phone, id);
        }
        for (at, plant) in visit.plants.values().flat_map(|plants| plants.iter().enumerate()) {
            let uncompared = visit.meeting == Meeting::JoinedLater && at + 1 == LEFT_UNCOMPARED as usize;
            if uncompared {
                continue;
            }
            if let Some((_, totals)) = self.tapped.get_mut(&site) {
                for (what, number) in standing(&plant.taps) {
                    *totals.entry(what).or_default() += number;
                }
            }
        }
        if visit.meeting == Meeting::JoinedLater {
            self.apart = Some(Apart { site, visits: parts });
        }
        Ok(())
    }
}

fn join(person: &mut Person, apart: &Apart) -> Result<(), Trouble> {
    let visits: Vec<VisitId> = apart.visits.values().copied().collect();
    let [one, other] = visits[..] else { return Err(Trouble::NoPhone) };
    person.handset.take_in_hand(one)?;
    let joined = person.handset.join_visits(one, other)?;
    let mut same: BTreeMap<u32, BTreeSet<_>> = BTreeMap::new();
    for plant in joined.plants.iter().filter(|plant| plant.standing == Standing::Disputed) {
        same.entry(plant.number).or_default().insert(plant.check);
    }
    for (_, checks) in same.into_iter().filter(|(number, _)| *number != LEFT_UNCOMPARED) {
        person.handset.compare_checks(ChecksCompared { checks, verdict: Comparison::DifferentPlants })?;
    }
    Ok(())
}
