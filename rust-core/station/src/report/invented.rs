//! Invented sites and seasons for tests: no real place, person or count.

use crate::intake::whole;
use crate::store::journal::{JournalStore, Offerer, Push};
use crate::store::sqlite::SqliteStore;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Head, Link, StreamId};
use survey::check::{CheckDescription, Counted, Extent, PlantClosed, PlantOpened, RefusedFor, SeenEmpty};
use survey::entry::{Act, PlantDescribed, Scope, TakenBack, VisitEnded, VisitsJoined};
use survey::fold::Fold;
use survey::ids::{BootId, CheckId, DeviceId, EntryId, Epoch, ObserverId, ProtocolId, SiteId, VisitId};
use survey::place::{Pin, Place, PublicPrecision};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::recorder::{Deed, Recorder};
use survey::site::{Management, ManagementKind, SiteDescription, ToldBy};
use survey::stage::{AnimalState, Stage};
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};
use survey::visit::{
    AdultAct, AdultEffort, AdultsCounted, HostsUp, PooledCheck, Rain, Share, VisitBegun, VisitDescription, Weather,
};

/// 2026-06-01 14:00 UTC, 09:00 at the invented sites.
const FIRST: i64 = 1_780_322_400_000;
const WEEK_MS: i64 = 7 * 24 * 3600 * 1000;
const WEEKS: u8 = 8;

/// A phone that writes a journal.
pub(crate) struct Phone {
    recorder: Recorder,
    name: u8,
    acts: u32,
    wall: i64,
    up: u64,
    pub(crate) links: Vec<Link>,
}

/// What is counted on a plant: what, state, how many.
type Found<'a> = &'a [(&'a str, AnimalState, u32)];

pub(crate) fn site_id(n: u8) -> SiteId {
    SiteId::from_octets([n; 16])
}

pub(crate) fn visit_id(site: u8, n: u8) -> VisitId {
    VisitId::from_octets([site, n, 7, 7, 7, 7, 0x70, 7, 0x80, 7, 7, 7, 7, 7, 7, 7])
}

pub(crate) fn protocol(choice: PlantChoice) -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([7; 16]),
        name: "Weekly walk".into(),
        stages: Stage::EGG_TO_LARVA5.into_iter().collect(),
        choice,
        units: BTreeMap::from([
            (Host::NotDetermined, Unit::Stem),
            (Host::Species("Asclepias tuberosa".into()), Unit::Clump),
        ]),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 20, at_most: 100 },
    }
}

impl Phone {
    pub(crate) fn new(n: u8) -> Self {
        let stream = StreamId { device: DeviceId::from_octets([n; 16]), epoch: Epoch::from_octets([n; 16]) };
        Self {
            recorder: Recorder::after(stream, Head::START, None),
            name: n,
            acts: 0,
            wall: FIRST,
            up: 0,
            links: Vec::new(),
        }
    }

    /// Waits until a week of the season, never back.
    pub(crate) fn until_week(&mut self, week: u8) {
        let wall = FIRST + i64::from(week) * WEEK_MS;
        self.up += u64::try_from(wall - self.wall).unwrap_or(0);
        self.wall = self.wall.max(wall);
    }

    pub(crate) fn act(&mut self, scope: Scope, act: Act) -> EntryId {
        self.wait(4000);
        self.acts += 1;
        let mut random = [self.name; 16];
        random[1..5].copy_from_slice(&self.acts.to_be_bytes());
        let now = Now {
            wall: UnixMs(self.wall),
            offset: OffsetMinutes(-300),
            since_boot: SinceBoot { boot: BootId::from_octets([self.name; 16]), ms: self.up },
        };
        let (entry, link) = self.recorder.record(Deed { scope, replaces: Vec::new(), act }, now, random).unwrap();
        self.links.push(link);
        entry.id
    }

    pub(crate) fn wait(&mut self, ms: u32) {
        self.wall += i64::from(ms);
        self.up += u64::from(ms);
    }

    pub(crate) fn begin(&mut self, scope: Scope, choice: PlantChoice) {
        let observers = BTreeSet::from([ObserverId::from_octets([self.name; 16])]);
        self.act(scope, Act::VisitBegun(VisitBegun { protocol: protocol(choice), observers, share: Share::All }));
    }

    pub(crate) fn end(&mut self, scope: Scope) {
        self.act(scope, Act::VisitEnded(VisitEnded {}));
    }

    /// A plant from opening to closing; the check's id comes of phone, visit and number.
    pub(crate) fn plant(&mut self, scope: Scope, number: u32, host: &str, extent: Extent, found: Found<'_>) -> CheckId {
        let host = Some(Host::from(host.to_owned())).filter(|_| !host.is_empty());
        let unit = match &host {
            Some(Host::Species(name)) if name == "Asclepias tuberosa" => Unit::Clump,
            _ => Unit::Stem,
        };
        let visit = scope.visit().unwrap().octets();
        let mut octets = [self.name; 16];
        octets[..2].copy_from_slice(&visit[..2]);
        octets[2..6].copy_from_slice(&number.to_be_bytes());
        let check = CheckId::from_octets(octets);
        self.act(scope, Act::PlantOpened(PlantOpened { check, number, unit, host, plant: None }));
        if unit == Unit::Clump {
            let description = CheckDescription { stems: Some(4), ..CheckDescription::default() };
            self.act(scope, Act::PlantDescribed(PlantDescribed { check, description }));
        }
        for &(what, state, number) in found {
            let what = what.parse().unwrap();
            self.act(scope, Act::Counted(Counted { check, what, number, state, key: None }));
        }
        let empty = (found.is_empty() && extent == Extent::Whole).then_some(SeenEmpty::SeenEmpty);
        self.act(scope, Act::PlantClosed(PlantClosed { check, extent, empty }));
        check
    }
}

/// A small fixed season at one site: three visits, six stems each.
pub(crate) fn small() -> Vec<Link> {
    let mut phone = Phone::new(3);
    let site = site_id(0x51);
    describe(&mut phone, site, "Invented corner", 45.0001);
    let counts: [&[u32]; 3] = [&[2, 0, 1, 0, 3, 0], &[0, 0, 1, 0, 0, 0], &[0; 6]];
    for (week, eggs) in (0..).zip(counts) {
        phone.until_week(week);
        let scope = Scope::Visit(site, visit_id(0x51, week));
        phone.begin(scope, PlantChoice::EveryKth { k: 7, start: 3 });
        for (number, &eggs) in (1..).zip(eggs) {
            let mut found = Vec::new();
            found.extend((eggs > 0).then_some(("egg", AnimalState::Alive, eggs)));
            found.extend((number == 2 && week == 0).then_some(("egg+none", AnimalState::Alive, 1)));
            found.extend((number == 3 && week == 1).then_some(("larva2", AnimalState::Alive, 1)));
            found.extend((number == 4 && week == 1).then_some(("egg", AnimalState::HatchedShell, 1)));
            phone.plant(scope, number, "Asclepias syriaca", Extent::Whole, &found);
        }
        phone.end(scope);
    }
    phone.links
}

/// Several sites over eight weeks, with most of what a season brings.
pub(crate) fn full() -> Vec<Link> {
    let (mut one, mut two) = (Phone::new(0x11), Phone::new(0x22));
    describe(&mut one, site_id(1), "Long Meadow (invented)", 45.0123);
    describe(&mut two, site_id(2), "Quarry road (invented)", 44.4321);
    describe(&mut one, site_id(3), "<script>alert('é')</script> \"quoted\" & שדה הפרפרים", 43.2);
    two.act(
        Scope::Site(site_id(2)),
        Act::ManagementNoted(Management {
            what: ManagementKind::Cut,
            date: "2026-07-13".to_owned().try_into().unwrap(),
            share: 0.4,
            told_by: ToldBy::Manager,
        }),
    );
    for week in 0..WEEKS {
        one.until_week(week);
        two.until_week(week);
        walk(&mut one, Scope::Visit(site_id(1), visit_id(1, week)), week, &Walk { plants: 40, mean: 6, clumps: 6 });
        match week {
            5 => {
                let scope = Scope::Visit(site_id(2), visit_id(2, week));
                two.begin(scope, PlantChoice::ObserversChoice);
                let mown = VisitDescription { hosts_up: Some(HostsUp::AllMown), ..VisitDescription::default() };
                two.act(scope, Act::VisitDescribed(mown));
                two.end(scope);
            }
            other => walk(
                &mut two,
                Scope::Visit(site_id(2), visit_id(2, other)),
                other,
                &Walk { plants: 25, mean: 2, clumps: 0 },
            ),
        }
    }
    shared(&mut one, &mut two);
    pooled(&mut one);
    one.links.into_iter().chain(two.links).collect()
}

/// A store that holds these journals, taken in by the station itself so that they enter estimates.
pub(crate) fn store(links: &[Link], path: &std::path::Path) -> SqliteStore {
    let store = SqliteStore::open(path).unwrap();
    fill(&store, links);
    store
}

pub(crate) fn fill(store: &SqliteStore, links: &[Link]) {
    let streams: BTreeSet<StreamId> = links.iter().map(|link| link.stream).collect();
    for stream in streams {
        let items = links.iter().filter(|link| link.stream == stream).cloned().map(whole).collect();
        let push = Push { stream, after: Head::START, items, by: Offerer::File, received: UnixMs(FIRST + 9 * WEEK_MS) };
        store.append(&push).unwrap();
        assert!(store.confirm(stream).unwrap());
    }
}

pub(crate) fn fold(links: &[Link]) -> Fold {
    let mut fold = Fold::new();
    for link in links {
        fold.insert(link).unwrap();
    }
    fold
}

fn describe(phone: &mut Phone, site: SiteId, name: &str, lat: f64) {
    let description = SiteDescription {
        name: Some(name.into()),
        place: Some(Place::Pin { at: Pin::new(lat, -93.0).unwrap(), radius_m: Some(40.0), accuracy_m: Some(6.0) }),
        public_precision: Some(PublicPrecision::Hundredth),
        ..SiteDescription::default()
    };
    phone.act(Scope::Site(site), Act::SiteDescribed(description));
}

struct Walk {
    plants: u32,
    mean: u32,
    clumps: u32,
}

/// A visit whose eggs come first and whose later stages follow week by week.
fn walk(phone: &mut Phone, scope: Scope, week: u8, walk: &Walk) {
    let choice = PlantChoice::EveryKth { k: 7, start: 3 };
    phone.begin(scope, choice);
    let weather = Weather {
        air_decicelsius: Some(214 + i16::from(week) * 7),
        beaufort: Some((week % 4).try_into().unwrap()),
        cloud: Some((week % 9).try_into().unwrap()),
        rain: Some(Rain::None),
    };
    phone.act(scope, Act::WeatherNoted(weather));
    let mut dice = u32::from(week) * 7919 + walk.plants;
    let mut roll = |faces: u32| {
        dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (dice >> 16) % faces
    };
    for number in 1..=walk.plants {
        let mut found: Vec<(&str, AnimalState, u32)> = Vec::new();
        let stages = ["egg", "larva1", "larva2", "larva3", "larva4", "larva5"];
        for (lag, stage) in (0_u32..).zip(stages) {
            let near = 6_u32.saturating_sub(u32::from(week).abs_diff(lag / 2 + 2));
            if roll(60) < near * walk.mean / (1 + lag) {
                found.push((stage, AnimalState::Alive, 1 + roll(2)));
            }
        }
        match roll(24) {
            0 => found.push(("egg+none", AnimalState::Alive, 1)),
            1 => found.push(("larva2+larva3", AnimalState::Alive, 1)),
            2 => found.push(("egg", AnimalState::HatchedShell, 1)),
            3 => found.push(("larva4", AnimalState::LimpOrBlackened, 1)),
            _ => {}
        }
        let extent = match number {
            9 => Extent::Refused(RefusedFor::Danger),
            17 => Extent::Part,
            _ => Extent::Whole,
        };
        let host = if number == 12 && week == 3 { "" } else { "Asclepias syriaca" };
        phone.plant(scope, number, host, extent, if number == 9 { &[] } else { &found });
    }
    for number in 1..=walk.clumps {
        let found = [("egg", AnimalState::Alive, 1 + roll(3))];
        phone.plant(scope, 100 + number, "Asclepias tuberosa", Extent::Whole, if roll(2) == 0 { &found } else { &[] });
    }
    if week == 4 {
        let stem = phone.plant(scope, 90, "Asclepias syriaca", Extent::Whole, &[("egg", AnimalState::Alive, 60)]);
        let slip = Counted { check: stem, what: Stage::Larva3.into(), number: 1, state: AnimalState::Alive, key: None };
        let slip = phone.act(scope, Act::Counted(slip));
        phone.act(scope, Act::TakenBack(TakenBack { target: slip }));
        let seen = BTreeMap::from([(AdultAct::Laying, 2), (AdultAct::Feeding, 5)]);
        let effort = AdultEffort::TimedWalk { minutes: 15, metres: 300.0, width_m: 5.0 };
        phone.act(scope, Act::AdultsCounted(AdultsCounted { effort, seen }));
    }
    phone.end(scope);
}

/// Two phones in one visit, who used the same numbers, one of whom never ended it.
fn shared(one: &mut Phone, two: &mut Phone) {
    let (first, second) = (visit_id(3, 1), visit_id(3, 2));
    for (phone, visit) in [(&mut *one, first), (&mut *two, second)] {
        let scope = Scope::Visit(site_id(3), visit);
        phone.begin(scope, PlantChoice::ObserversChoice);
        for number in 1..=4 {
            phone.plant(scope, number, "Asclepias incarnata", Extent::Whole, &[("larva5", AnimalState::Alive, 1)]);
        }
    }
    one.end(Scope::Visit(site_id(3), first));
    let visits = BTreeSet::from([first, second]);
    one.act(Scope::Site(site_id(3)), Act::VisitsJoined(VisitsJoined { visits }));
}

/// Older records: totals of weekly visits, with and without the number of plants.
fn pooled(phone: &mut Phone) {
    describe(phone, site_id(4), "Old notebook (invented)", 46.9);
    for (week, eggs) in [(0, 12), (1, 40), (2, 9)] {
        phone.until_week(WEEKS + week);
        let scope = Scope::Visit(site_id(4), visit_id(4, week));
        phone.begin(scope, PlantChoice::ObserversChoice);
        let totals = BTreeMap::from([(Stage::Egg.into(), eggs), (Stage::Larva3.into(), u32::from(week))]);
        phone.act(scope, Act::PooledCheck(PooledCheck { checked: None, unit: Unit::Stem, totals }));
        phone.end(scope);
    }
}
