//! The laws of the fold, as property tests over random journals of several devices, and its rules as examples.

use super::{Fold, Inserted, Standing, VisitState};
use crate::chain::{Hash, Head, Link, StreamId};
use crate::check::{
    AuditRequested, CheckDescription, Counted, Extent, PhotoOf, PhotoTaken, PlantClosed, PlantOpened, RefusedFor,
    ReviewReason, Reviewed, SeenEmpty,
};
use crate::entry::{Act, Entry, PhotoLost, PlantDescribed, Scope, TakenBack, VisitEnded, VisitsJoined};
use crate::finding::Finding;
use crate::ids::{BootId, CheckId, DeviceId, EntryId, Epoch, ObserverId, PhotoId, ProtocolId, SiteId, VisitId};
use crate::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use crate::recorder::{Deed, Recorder};
use crate::stage::{AnimalState, Stage, What};
use crate::time::{Now, OffsetMinutes, SinceBoot, UnixMs};
use crate::visit::{ChecksCompared, Comparison, PooledCheck, Share, VisitBegun, VisitDescription};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

pub(super) const SITE: SiteId = SiteId::from_octets([9; 16]);
/// 2026-06-01 09:00 UTC.
const START: i64 = 1_780_304_400_000;

fn visit(n: u8) -> VisitId {
    VisitId::from_octets([n; 16])
}

fn check(n: u8) -> CheckId {
    CheckId::from_octets([n; 16])
}

fn observer(n: u8) -> ObserverId {
    ObserverId::from_octets([n; 16])
}

fn protocol() -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([7; 16]),
        name: "weekly walk".into(),
        stages: Stage::EGG_TO_LARVA5.into_iter().collect(),
        choice: PlantChoice::EveryKth { k: 7, start: 3 },
        units: BTreeMap::from([(Host::NotDetermined, Unit::Stem)]),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 20, at_most: 100 },
    }
}

/// A phone in a story: every act a second after the one before.
struct Phone {
    recorder: Recorder,
    second: u64,
    wall_shift: i64,
    links: Vec<Link>,
}

impl Phone {
    fn new(n: u8) -> Self {
        let stream = StreamId { device: DeviceId::from_octets([n; 16]), epoch: Epoch::from_octets([n; 16]) };
        Self { recorder: Recorder::after(stream, Head::START, None), second: 0, wall_shift: 0, links: Vec::new() }
    }

    fn act(&mut self, scope: Scope, replaces: Vec<EntryId>, act: Act) -> EntryId {
        self.second += 1;
        let ms = self.second * 1000;
        let device = self.recorder.stream().device.octets()[0];
        let now = Now {
            wall: UnixMs(START + self.wall_shift + i64::try_from(ms).unwrap()),
            offset: OffsetMinutes(-300),
            since_boot: SinceBoot { boot: BootId::from_octets([device; 16]), ms },
        };
        let mut random = [device; 16];
        random[1..9].copy_from_slice(&self.second.to_be_bytes());
        let (entry, link) = self.recorder.record(Deed { scope, replaces, act }, now, random).unwrap();
        self.links.push(link);
        entry.id
    }

    fn on(&mut self, n: u8, act: Act) -> EntryId {
        self.act(Scope::Visit(SITE, visit(n)), Vec::new(), act)
    }

    fn begin(&mut self, n: u8) -> EntryId {
        let device = self.recorder.stream().device.octets()[0];
        let observers = BTreeSet::from([observer(device)]);
        self.on(n, Act::VisitBegun(VisitBegun { protocol: protocol(), observers, share: Share::All }))
    }

    fn open(&mut self, n: u8, number: u8, id: u8) -> EntryId {
        let host = Some(Host::Species("Asclepias syriaca".into()));
        self.on(
            n,
            Act::PlantOpened(PlantOpened {
                check: check(id),
                number: number.into(),
                unit: Unit::Stem,
                host,
                plant: None,
            }),
        )
    }

    fn count(&mut self, n: u8, id: u8, what: &str) -> EntryId {
        self.on(n, counted(id, what, AnimalState::Alive))
    }

    fn close(&mut self, n: u8, id: u8) -> EntryId {
        self.on(n, Act::PlantClosed(PlantClosed { check: check(id), extent: Extent::Whole, empty: None }))
    }

    fn take_back(&mut self, n: u8, target: EntryId) -> EntryId {
        self.on(n, Act::TakenBack(TakenBack { target }))
    }
}

fn counted(id: u8, what: &str, state: AnimalState) -> Act {
    Act::Counted(Counted { check: check(id), what: what.parse().unwrap(), number: 1, state, key: None })
}

pub(super) fn fold<'a>(links: impl IntoIterator<Item = &'a Link>) -> Fold {
    let mut fold = Fold::new();
    for link in links {
        fold.insert(link).unwrap();
    }
    fold
}

/// Everything that the fold says, as text.
fn told(fold: &Fold) -> String {
    let sites: Vec<_> = fold.sites().into_iter().map(|site| fold.site(site)).collect();
    let visits: Vec<VisitState> =
        fold.sites().into_iter().flat_map(|site| fold.visits(site)).filter_map(|visit| fold.visit(visit)).collect();
    serde_json::to_string(&(sites, visits)).unwrap()
}

fn living(fold: &Fold, n: u8, what: &str) -> u64 {
    let totals = fold.visit(visit(n)).unwrap().living_totals();
    totals.get(&what.parse::<What>().unwrap()).copied().unwrap_or(0)
}

/// A random act of a random phone; targets are picked among everything recorded so far, rules broken on purpose.
#[derive(Debug, Clone)]
pub(super) enum Step {
    Begin,
    Open(u8, u8),
    Count(u8, usize, bool),
    Close(u8, u8),
    Describe(u8, u16, usize),
    TakeBack(usize),
    Review(usize, u8, usize),
    Pooled(u32),
    DescribeVisit(u32, usize),
    Join(u8),
    Compare(u8, u8, bool),
    Audit(usize),
    Photo(u8, usize),
    LosePhoto(u8),
    End,
    Shift(i32),
}

const WHATS: [&str; 5] = ["egg", "larva1", "larva5", "egg+none", "pupa"];

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        2 => Just(Step::Begin),
        3 => (1_u8..6, 1_u8..4).prop_map(|(id, number)| Step::Open(id, number)),
        8 => (1_u8..6, 0_usize..5, any::<bool>()).prop_map(|(id, what, dead)| Step::Count(id, what, dead)),
        2 => (1_u8..6, 0_u8..3).prop_map(|(id, how)| Step::Close(id, how)),
        2 => (1_u8..6, 1_u16..300, 0_usize..40).prop_map(|(id, height, sees)| Step::Describe(id, height, sees)),
        6 => (0_usize..40).prop_map(Step::TakeBack),
        3 => (0_usize..40, 0_u8..3, 0_usize..40).prop_map(|(count, number, sees)| Step::Review(count, number, sees)),
        1 => (0_u32..9).prop_map(Step::Pooled),
        1 => (0_u32..90, 0_usize..40).prop_map(|(minutes, sees)| Step::DescribeVisit(minutes, sees)),
        1 => (1_u8..4).prop_map(Step::Join),
        1 => (1_u8..6, 1_u8..6, any::<bool>()).prop_map(|(one, other, same)| Step::Compare(one, other, same)),
        1 => (0_usize..40).prop_map(Step::Audit),
        1 => (1_u8..3, 0_usize..40).prop_map(|(photo, count)| Step::Photo(photo, count)),
        1 => (1_u8..3).prop_map(Step::LosePhoto),
        1 => Just(Step::End),
        1 => any::<i32>().prop_map(Step::Shift),
    ]
}

pub(super) fn play(script: &[(u8, u8, Step)]) -> Vec<Link> {
    let mut phones = [Phone::new(1), Phone::new(2), Phone::new(3)];
    let mut ids: Vec<EntryId> = Vec::new();
    let pick = |ids: &[EntryId], at: usize| ids.get(ids.len().saturating_sub(1 + at)).copied();
    for (who, n, step) in script {
        let phone = &mut phones[usize::from(who % 3)];
        let n = 1 + n % 3;
        let scope = Scope::Visit(SITE, visit(n));
        let id = match step {
            Step::Begin => phone.begin(n),
            Step::Open(id, number) => phone.open(n, *number, *id),
            Step::Count(id, what, dead) => {
                phone.on(n, counted(*id, WHATS[*what], if *dead { AnimalState::SkinOnly } else { AnimalState::Alive }))
            }
            Step::Close(id, how) => {
                let extent = [Extent::Whole, Extent::Part, Extent::Refused(RefusedFor::Danger)][usize::from(*how)];
                let empty = (*how == 0).then_some(SeenEmpty::SeenEmpty);
                phone.on(n, Act::PlantClosed(PlantClosed { check: check(*id), extent, empty }))
            }
            Step::Describe(id, height, sees) => {
                let description = CheckDescription { height_cm: Some(*height), ..CheckDescription::default() };
                let act = Act::PlantDescribed(PlantDescribed { check: check(*id), description });
                phone.act(scope, pick(&ids, *sees).into_iter().collect(), act)
            }
            Step::TakeBack(at) => match pick(&ids, *at) {
                Some(target) => phone.take_back(n, target),
                None => continue,
            },
            Step::Review(at, number, sees) => match pick(&ids, *at) {
                Some(count) => {
                    let instead = BTreeMap::from([("larva2".parse().unwrap(), u32::from(*number))]);
                    let act = Act::Reviewed(Reviewed { count, instead, reason: ReviewReason::Photo, by: None });
                    phone.act(scope, pick(&ids, *sees).into_iter().collect(), act)
                }
                None => continue,
            },
            Step::Pooled(number) => {
                let totals = BTreeMap::from([("egg".parse().unwrap(), *number)]);
                phone.on(n, Act::PooledCheck(PooledCheck { checked: Some(40), unit: Unit::Stem, totals }))
            }
            Step::DescribeVisit(minutes, sees) => {
                let description = VisitDescription { person_minutes: Some(*minutes), ..VisitDescription::default() };
                phone.act(scope, pick(&ids, *sees).into_iter().collect(), Act::VisitDescribed(description))
            }
            Step::Join(other) => {
                let visits = BTreeSet::from([visit(n), visit(*other)]);
                phone.act(Scope::Site(SITE), Vec::new(), Act::VisitsJoined(VisitsJoined { visits }))
            }
            Step::Compare(one, other, same) => {
                let verdict = if *same { Comparison::SamePlantIndependent } else { Comparison::DifferentPlants };
                let checks = BTreeSet::from([check(*one), check(*other)]);
                phone.on(n, Act::ChecksCompared(ChecksCompared { checks, verdict }))
            }
            Step::Audit(at) => match pick(&ids, *at) {
                Some(count) => phone.on(n, Act::AuditRequested(AuditRequested { count, weight_milli: 15_000 })),
                None => continue,
            },
            Step::Photo(photo, at) => match pick(&ids, *at) {
                Some(count) => {
                    let (photo, of) = (PhotoId::from_octets([*photo; 16]), PhotoOf::Count(count));
                    phone.on(n, Act::PhotoTaken(PhotoTaken { photo, length: 9, hash: Hash([1; 32]), of }))
                }
                None => continue,
            },
            Step::LosePhoto(photo) => {
                phone.on(n, Act::PhotoLost(PhotoLost { photo: PhotoId::from_octets([*photo; 16]) }))
            }
            Step::End => phone.on(n, Act::VisitEnded(VisitEnded {})),
            Step::Shift(ms) => {
                phone.wall_shift = i64::from(*ms);
                continue;
            }
        };
        ids.push(id);
    }
    phones.into_iter().flat_map(|phone| phone.links).collect()
}

pub(super) fn script() -> impl Strategy<Value = Vec<(u8, u8, Step)>> {
    prop::collection::vec((any::<u8>(), any::<u8>(), step()), 1..60)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_order_and_any_repetition_give_the_same_state(
        (links, shuffled) in script().prop_map(|script| play(&script)).prop_flat_map(|links| {
            let twice = [links.clone(), links.clone()].concat();
            (Just(links), Just(twice).prop_shuffle())
        })
    ) {
        prop_assert_eq!(told(&fold(&links)), told(&fold(&shuffled)));
    }

    #[test]
    fn a_second_take_back_of_the_same_entry_changes_no_number(script in script(), at in any::<prop::sample::Index>()) {
        let links = play(&script);
        let numbers = |fold: &Fold| (1..4).map(|n| fold.visit(visit(n)).map(|visit| visit.checks.into_iter().map(|check| check.tally).collect::<Vec<_>>())).collect::<Vec<_>>();
        let Some(target) = links.get(at.index(links.len().max(1))) else { return Ok(()) };
        let entry = Entry::decode(&target.bytes).unwrap();
        let mut phone = Phone::new(target.stream.device.octets()[0]);
        phone.second = 100_000;
        phone.wall_shift = 1 << 33;
        phone.act(entry.scope, Vec::new(), Act::TakenBack(TakenBack { target: entry.id }));
        let once = fold(links.iter().chain(&phone.links));
        phone.act(entry.scope, Vec::new(), Act::TakenBack(TakenBack { target: entry.id }));
        prop_assert_eq!(numbers(&once), numbers(&fold(links.iter().chain(&phone.links))));
    }

    /// An independent, naive model: a count stands unless it was taken back by its own phone, and each take-back can
    /// be taken back in turn. Here a phone only ever takes back its own earlier acts in the same visit.
    #[test]
    fn counts_are_what_a_naive_list_of_taps_says(taps in prop::collection::vec((0_usize..3, prop::option::of(0_usize..12)), 1..60)) {
        let mut phone = Phone::new(1);
        phone.begin(1);
        phone.open(1, 1, 1);
        let mut ids = Vec::new();
        let mut naive: Vec<(Option<usize>, Option<&str>, bool)> = Vec::new();
        for (what, target) in taps {
            match target.filter(|&target| target < ids.len()) {
                None => {
                    ids.push(phone.count(1, 1, WHATS[what]));
                    naive.push((None, Some(WHATS[what]), true));
                }
                Some(target) => {
                    ids.push(phone.take_back(1, ids[target]));
                    naive.push((Some(target), None, true));
                }
            }
        }
        for at in (0..naive.len()).rev() {
            if let (Some(target), _, true) = naive[at] {
                naive[target].2 = false;
            }
        }
        let fold = fold(&phone.links);
        for what in &WHATS[..3] {
            let expected = naive.iter().filter(|(_, counted, stands)| *stands && *counted == Some(what)).count() as u64;
            let check = fold.check(check(1)).unwrap();
            prop_assert_eq!(check.tally.living(&what.parse().unwrap()), expected);
        }
    }
}

#[test]
fn a_take_back_before_its_target_is_remembered() {
    let mut phone = Phone::new(1);
    phone.begin(1);
    phone.open(1, 1, 1);
    let egg = phone.count(1, 1, "egg");
    let back = phone.take_back(1, egg);
    phone.close(1, 1);
    let mut late = fold(phone.links.iter().enumerate().filter(|(at, _)| *at != 2).map(|(_, link)| link));
    assert_eq!(living(&late, 1, "egg"), 0);
    assert_eq!(late.insert(&phone.links[2]), Ok(Inserted::Added));
    assert!(late.is_void(egg));
    assert_eq!(living(&late, 1, "egg"), 0);

    phone.take_back(1, back);
    assert_eq!(living(&fold(&phone.links), 1, "egg"), 1, "taking back the take-back redoes the count");
}

#[test]
fn a_phone_takes_back_only_its_own() {
    let (mut one, mut other) = (Phone::new(1), Phone::new(2));
    one.begin(1);
    one.open(1, 1, 1);
    let egg = one.count(1, 1, "egg");
    one.close(1, 1);
    other.second = 100;
    let back = other.take_back(1, egg);
    let fold = fold(one.links.iter().chain(&other.links));
    assert_eq!(living(&fold, 1, "egg"), 1);
    assert!(fold.visit(visit(1)).unwrap().findings.contains(&Finding::TakesBackNotOwn { entry: back }));
}

#[test]
fn a_review_splits_a_number_and_has_no_effect_on_a_void_count() {
    let (mut phone, mut station) = (Phone::new(1), Phone::new(8));
    phone.begin(1);
    phone.open(1, 1, 1);
    let three = phone.on(
        1,
        Act::Counted(Counted {
            check: check(1),
            what: Stage::Larva3.into(),
            number: 3,
            state: AnimalState::Alive,
            key: None,
        }),
    );
    phone.close(1, 1);
    station.second = 100;
    let instead = BTreeMap::from([(Stage::Larva3.into(), 1), (Stage::Larva2.into(), 1)]);
    let review = Reviewed { count: three, instead, reason: ReviewReason::Photo, by: None };
    station.on(1, Act::Reviewed(review.clone()));
    let both = |phone: &Phone, station: &Phone| fold(phone.links.iter().chain(&station.links));
    let state = both(&phone, &station);
    assert_eq!((living(&state, 1, "larva3"), living(&state, 1, "larva2")), (1, 1));
    let [seen] = &state.counts(check(1))[..] else { panic!("one count") };
    assert_eq!(
        (seen.entry, seen.number, &seen.what),
        (three, 3, &Stage::Larva3.into()),
        "the original stays to be seen"
    );
    let in_force = seen.review.as_ref().unwrap();
    assert_eq!((&in_force.instead, in_force.differs, &in_force.also[..]), (&review.instead, false, &[][..]));

    // A second coordinator, who did not see the first review, says something else: a finding, the later one holds.
    station.on(1, Act::Reviewed(Reviewed { instead: BTreeMap::new(), ..review }));
    let state = both(&phone, &station);
    assert_eq!((living(&state, 1, "larva3"), living(&state, 1, "larva2")), (0, 0));
    let differ = Finding::ReviewsDiffer { check: check(1), count: three };
    assert!(state.visit(visit(1)).unwrap().findings.contains(&differ));
    let in_force = state.count(three).unwrap().review.unwrap();
    assert!(in_force.instead.is_empty() && in_force.differs && in_force.also.len() == 1);

    phone.second = 200;
    phone.take_back(1, three);
    let state = both(&phone, &station);
    assert!(state.visit(visit(1)).unwrap().checks[0].tally.is_empty());
    assert_eq!((state.counts(check(1)), state.count(three)), (vec![], None));
}

#[test]
fn equal_numbers_of_two_phones_enter_nothing_until_compared() {
    let (mut one, mut other) = (Phone::new(1), Phone::new(2));
    for (phone, n, id) in [(&mut one, 1, 1), (&mut other, 2, 2)] {
        phone.begin(n);
        phone.open(n, 1, id);
        phone.count(n, id, "egg");
        phone.close(n, id);
        phone.on(n, Act::VisitEnded(VisitEnded {}));
    }
    let visits = BTreeSet::from([visit(1), visit(2)]);
    one.act(Scope::Site(SITE), Vec::new(), Act::VisitsJoined(VisitsJoined { visits: visits.clone() }));
    let all = |one: &Phone, other: &Phone| fold(one.links.iter().chain(&other.links));
    let state = all(&one, &other).visit(visit(2)).unwrap();
    assert_eq!((state.id, &state.members), (visit(1), &visits));
    assert_eq!(state.checks.iter().map(|check| check.standing).collect::<Vec<_>>(), [Standing::Disputed; 2]);
    assert_eq!(state.living_totals(), BTreeMap::new());
    let checks = BTreeSet::from([check(1), check(2)]);
    assert!(state.findings.contains(&Finding::EqualNumbers { number: 1, checks: checks.clone() }));

    let same = ChecksCompared { checks: checks.clone(), verdict: Comparison::SamePlantIndependent };
    one.on(1, Act::ChecksCompared(same));
    let state = all(&one, &other).visit(visit(1)).unwrap();
    assert_eq!(
        state.checks.iter().map(|check| check.standing).collect::<Vec<_>>(),
        [Standing::Enters, Standing::SecondLook]
    );

    one.on(1, Act::ChecksCompared(ChecksCompared { checks, verdict: Comparison::DifferentPlants }));
    assert_eq!(living(&all(&one, &other), 1, "egg"), 2);
}

#[test]
fn only_living_animals_of_whole_checks_enter() {
    let mut phone = Phone::new(1);
    phone.begin(1);
    phone.open(1, 1, 1);
    phone.count(1, 1, "egg");
    phone.on(1, counted(1, "egg", AnimalState::HatchedShell));
    phone.close(1, 1);
    phone.open(1, 2, 2);
    phone.count(1, 2, "egg");
    phone.on(1, Act::PlantClosed(PlantClosed { check: check(2), extent: Extent::Part, empty: None }));
    let fold = fold(&phone.links);
    assert_eq!(living(&fold, 1, "egg"), 1);
    assert_eq!(fold.check(check(1)).unwrap().tally.all(&Stage::Egg.into()), 2);
}

#[test]
fn findings_name_what_is_odd() {
    let mut phone = Phone::new(1);
    phone.begin(1);
    phone
        .on(1, Act::PlantOpened(PlantOpened { check: check(1), number: 1, unit: Unit::Stem, host: None, plant: None }));
    phone.on(
        1,
        Act::Counted(Counted {
            check: check(1),
            what: Stage::Egg.into(),
            number: 51,
            state: AnimalState::Alive,
            key: None,
        }),
    );
    phone.count(1, 1, "pupa");
    phone.wall_shift = -4_000_000;
    phone.on(1, Act::VisitEnded(VisitEnded {}));
    let findings = fold(&phone.links).visit(visit(1)).unwrap().findings;
    let device = phone.recorder.stream().device;
    for expected in [
        Finding::ImplausibleCount { check: check(1), what: Stage::Egg.into(), number: 51 },
        Finding::EndsBeforeStart { visit: visit(1) },
        Finding::ClockJump { device, jumped_ms: -4_000_000 },
        Finding::NoSpecies { check: check(1) },
        Finding::StageOutsideProtocol { check: Some(check(1)), what: Stage::Pupa.into() },
        Finding::LeftOpen { check: check(1) },
    ] {
        assert!(findings.contains(&expected), "{expected:?} is missing from {findings:?}");
    }
}

#[test]
fn a_long_chain_of_undo_and_redo_is_walked() {
    let mut phone = Phone::new(1);
    phone.begin(1);
    phone.open(1, 1, 1);
    let mut last = phone.count(1, 1, "egg");
    for _ in 0..20_001 {
        last = phone.take_back(1, last);
    }
    phone.close(1, 1);
    assert_eq!(living(&fold(&phone.links), 1, "egg"), 0);
}

#[test]
fn what_a_join_left_on_a_plant_stays_with_its_own_visit_when_the_join_is_taken_back() {
    let mut phone = Phone::new(1);
    phone.begin(1);
    phone.open(1, 1, 1);
    phone.count(1, 1, "egg");
    phone.begin(2);
    let visits = BTreeSet::from([visit(1), visit(2)]);
    let join = phone.act(Scope::Site(SITE), Vec::new(), Act::VisitsJoined(VisitsJoined { visits }));
    phone.count(2, 1, "egg");
    phone.close(1, 1);
    assert_eq!(living(&fold(&phone.links), 1, "egg"), 2);
    phone.act(Scope::Site(SITE), Vec::new(), Act::TakenBack(TakenBack { target: join }));
    let all = fold(&phone.links);
    // What a phone folds that looks at the first visit alone.
    let of_second = |link: &&Link| Entry::decode(&link.bytes).unwrap().scope.visit() == Some(visit(2));
    let alone = fold(phone.links.iter().filter(|link| !of_second(link)));
    assert_eq!(living(&all, 1, "egg"), 1);
    assert_eq!(all.visit(visit(1)), alone.visit(visit(1)));
    assert_eq!(all.check(check(1)).unwrap().visit, visit(1));
}
