//! Coordinators' acts: what they change, who may do them, and the stream they are written in.

use super::*;
use crate::judge;
use crate::report::invented::{self, Phone, site_id, visit_id};
use crate::store::coordinators::Grant;
use crate::store::journal::JournalStore;
use crate::store::sqlite::SqliteStore;
use crate::store::{BlobStore, JudgementStore, UpkeepStore};
use std::sync::{Arc, Mutex};
use survey::chain::{Seq, StreamId, blob_hash};
use survey::check::Extent;
use survey::entry::{Act, Erased, Scope};
use survey::fold::{CountState, Fold, Standing};
use survey::ids::BootId;
use survey::protocol::PlantChoice;
use survey::site::Note;
use survey::stage::{AnimalState, Stage};
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};

/// A mark in memory, which tests can set back.
#[derive(Clone, Default)]
struct InMemory(Arc<Mutex<Option<Mark>>>);

impl Marker for InMemory {
    fn read(&self) -> io::Result<Option<Mark>> {
        Ok(*self.0.lock().unwrap())
    }

    fn write(&self, mark: &Mark) -> io::Result<()> {
        *self.0.lock().unwrap() = Some(*mark);
        Ok(())
    }
}

/// 2026-09-01, after the invented season.
const AUTUMN: i64 = 1_788_220_800_000;

struct Room {
    store: SqliteStore,
    marker: InMemory,
    drawn: u8,
    acts: u8,
    _folder: tempfile::TempDir,
}

impl Room {
    fn with(links: &[survey::chain::Link]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = invented::store(links, &folder.path().join("s.sqlite"));
        Self { store, marker: InMemory::default(), drawn: 0, acts: 0, _folder: folder }
    }

    fn desk(&mut self) -> Desk {
        let drawn = &mut self.drawn;
        let mut draw = || {
            *drawn += 1;
            Ok([*drawn; 16])
        };
        Desk::open(&self.store, Box::new(self.marker.clone()), &mut draw).unwrap()
    }

    fn moment(&mut self) -> Moment {
        self.acts += 1;
        let ms = u64::from(self.acts) * 1000;
        let since_boot = SinceBoot { boot: BootId::from_octets([9; 16]), ms };
        let wall = UnixMs(AUTUMN + i64::from(self.acts) * 1000);
        Moment { now: Now { wall, offset: OffsetMinutes(0), since_boot }, random: [self.acts; 16] }
    }

    fn act(&mut self, desk: &Desk, who: Actor<'_>, site: SiteId, act: &ReviewAct) -> Result<EntryId, ReviewError> {
        let moment = self.moment();
        desk.act(&self.store, who, site, act, &moment)
    }

    fn fold(&self, site: SiteId) -> Fold {
        judge::fold_site(&self.store, site, judge::Which::Verified).unwrap()
    }
}

const CORNER: u8 = 0x51;

/// The first count of so many eggs at the first visit to the corner.
fn eggs(fold: &Fold, number: u32) -> CountState {
    let visit = fold.visit(visit_id(CORNER, 0)).unwrap();
    let counts = visit.checks.iter().flat_map(|check| fold.counts(check.id));
    let mut eggs = counts.filter(|count| count.what == Stage::Egg.into() && count.number == number);
    eggs.next().unwrap()
}

fn total(fold: &Fold, what: Stage) -> u64 {
    fold.visit(visit_id(CORNER, 0)).unwrap().living_totals().get(&what.into()).copied().unwrap_or(0)
}

fn split(numbers: &[(Stage, u32)]) -> Instead {
    Instead::Split(numbers.iter().map(|&(stage, number)| (stage.into(), number)).collect())
}

fn ada(role: Role, site: Option<SiteId>) -> Coordinator {
    let grants = vec![Grant { role, site }];
    Coordinator { id: ObserverId::from_octets([0xAD; 16]), name: "Invented Ada".into(), grants }
}

#[test]
fn a_count_is_reviewed_fed_and_the_review_undone() {
    let mut room = Room::with(&invented::small());
    let (desk, site) = (room.desk(), site_id(CORNER));
    let ada = ada(Role::Review, Some(site));
    let who = Actor::Coordinator(&ada);
    let before = room.store.sites().unwrap()[0].end.number;
    let count = eggs(&room.fold(site), 3);
    assert_eq!((total(&room.fold(site), Stage::Egg), total(&room.fold(site), Stage::Larva1)), (6, 0));

    let say = |instead| ReviewAct::Count { count: count.entry, instead, reason: ReviewReason::Photo };
    let first = room.act(&desk, who, site, &say(split(&[(Stage::Egg, 1), (Stage::Larva1, 2)]))).unwrap();
    assert_eq!((total(&room.fold(site), Stage::Egg), total(&room.fold(site), Stage::Larva1)), (4, 2));
    let again = room.act(&desk, who, site, &say(split(&[(Stage::Egg, 1), (Stage::Larva1, 2)])));
    assert!(matches!(again, Err(ReviewError::NothingToDo)), "a form sent twice: {again:?}");

    let second = room.act(&desk, who, site, &say(Instead::Nothing)).unwrap();
    assert_eq!((total(&room.fold(site), Stage::Egg), total(&room.fold(site), Stage::Larva1)), (3, 0));
    let shown = room.fold(site).count(count.entry).unwrap();
    let review = shown.review.unwrap();
    assert_eq!((shown.number, review.entry, review.differs, review.by), (3, second, false, Some(ada.id)));

    room.act(&desk, who, site, &ReviewAct::TakeBack { entry: second }).unwrap();
    assert_eq!(total(&room.fold(site), Stage::Larva1), 2, "the review before it stands again");
    room.act(&desk, who, site, &ReviewAct::TakeBack { entry: first }).unwrap();
    assert_eq!((total(&room.fold(site), Stage::Egg), total(&room.fold(site), Stage::Larva1)), (6, 0));
    room.act(&desk, who, site, &say(Instead::AsCounted)).unwrap();
    assert_eq!(total(&room.fold(site), Stage::Egg), 6);

    let fed = room.store.feed_from(site, before, 100).unwrap();
    assert_eq!(fed.len(), 5);
    assert!(fed.iter().all(|item| item.link.stream == desk.stream()));
    judge::bring_up_to_date(&room.store, UnixMs(AUTUMN)).unwrap();
    let own: Vec<_> = room.store.rulings(site).unwrap().into_iter().filter(|own| own.stream == desk.stream()).collect();
    assert_eq!(own, [], "nothing is odd about them");
    assert_eq!(crate::command::check(&room.store).unwrap().problems, Vec::<String>::new());
}

#[test]
fn rights_and_numbers_are_checked_before_anything_is_written() {
    let mut room = Room::with(&invented::small());
    let (desk, site) = (room.desk(), site_id(CORNER));
    let count = eggs(&room.fold(site), 3).entry;
    let opened = room.fold(site).entries().find(|kept| matches!(kept.entry.act, Act::PlantOpened(_))).unwrap().entry.id;
    let say = |count, instead| ReviewAct::Count { count, instead, reason: ReviewReason::Implausible };
    let one_egg = || split(&[(Stage::Egg, 1)]);
    let (reads, reviews, elsewhere) =
        (ada(Role::Read, None), ada(Role::Review, None), ada(Role::Administer, Some(site_id(9))));
    let note = Hash([7; 32]);
    for (who, act, expected) in [
        (Actor::Coordinator(&reads), say(count, one_egg()), "NotAllowed"),
        (Actor::Coordinator(&elsewhere), say(count, one_egg()), "NotAllowed"),
        (Actor::Coordinator(&reads), ReviewAct::TakeBack { entry: count }, "NotAllowed"),
        (Actor::Coordinator(&reviews), ReviewAct::Erase { blob: note }, "NotAllowed"),
        (Actor::Console, ReviewAct::Erase { blob: note }, "NotHere"),
        (Actor::Coordinator(&reviews), say(opened, one_egg()), "NotHere"),
        (Actor::Coordinator(&reviews), say(EntryId::from_octets([1; 16]), one_egg()), "NotHere"),
        (Actor::Coordinator(&reviews), say(count, split(&[])), "Numbers"),
        (Actor::Coordinator(&reviews), say(count, split(&[(Stage::Egg, 0)])), "Numbers"),
        (Actor::Coordinator(&reviews), say(count, split(&[(Stage::Egg, MOST_INSTEAD + 1)])), "Numbers"),
        (Actor::Coordinator(&reviews), say(count, split(&[(Stage::Egg, u32::MAX), (Stage::Pupa, 2)])), "Numbers"),
        (Actor::Coordinator(&reviews), ReviewAct::TakeBack { entry: count }, "NotOwn"),
    ] {
        let error = room.act(&desk, who, site, &act).unwrap_err();
        assert!(format!("{error:?}").starts_with(expected), "{act:?}: {error:?}");
    }
    assert!(matches!(room.act(&desk, Actor::Console, site_id(9), &say(count, one_egg())), Err(ReviewError::NotHere)));
    assert_eq!(room.store.held(desk.stream(), &[]).unwrap().head.seq, Seq(0));
}

#[test]
fn a_restored_database_begins_a_fresh_epoch_and_a_whole_one_does_not() {
    let mut room = Room::with(&invented::small());
    let site = site_id(CORNER);
    let desk = room.desk();
    let first = desk.stream();
    let count = eggs(&room.fold(site), 3).entry;
    let say = |instead| ReviewAct::Count { count, instead, reason: ReviewReason::Photo };
    room.act(&desk, Actor::Console, site, &say(Instead::Nothing)).unwrap();
    assert_eq!(room.desk().stream(), first, "a restart goes on");
    // Stopped after the commit and before the mark.
    room.marker.write(&Mark { stream: first, seq: Seq(0) }).unwrap();
    assert_eq!(room.desk().stream(), first, "a mark behind is no sign");

    let mut former = first;
    let cases: [(&str, Option<Mark>); 3] = [
        ("absent", None),
        (
            "different",
            Some(Mark { stream: StreamId { epoch: survey::ids::Epoch::from_octets([0; 16]), ..first }, seq: Seq(0) }),
        ),
        ("ahead", Some(Mark { stream: first, seq: Seq(1000) })),
    ];
    for (name, mark) in cases {
        let mark = mark.map(|mark| if name == "ahead" { Mark { stream: former, ..mark } } else { mark });
        *room.marker.0.lock().unwrap() = mark;
        let stream = room.desk().stream();
        assert!(stream.device == first.device && stream.epoch != former.epoch, "{name}");
        assert_eq!(room.store.own_stream().unwrap(), Some(stream), "{name}");
        assert_eq!(room.desk().stream(), stream, "{name}: and stays");
        former = stream;
    }
    // A review of the former epoch is still the station's own: it is taken back in the present one.
    let review = room.fold(site).count(count).unwrap().review.unwrap();
    let desk = room.desk();
    room.act(&desk, Actor::Console, site, &ReviewAct::TakeBack { entry: review.entry }).unwrap();
    assert_eq!(total(&room.fold(site), Stage::Egg), 6);
}

#[test]
fn a_count_from_the_future_can_be_reviewed_and_holds_nothing_else_up() {
    let mut phone = Phone::new(5);
    let site = site_id(CORNER);
    let scope = Scope::Visit(site, visit_id(CORNER, 0));
    phone.begin(scope, PlantChoice::All);
    let now_plant = phone.plant(scope, 1, "Asclepias syriaca", Extent::Whole, &[("egg", AnimalState::Alive, 4)]);
    // A phone whose clock stands years ahead.
    phone.until_week(200);
    let far_plant = phone.plant(scope, 2, "Asclepias syriaca", Extent::Whole, &[("egg", AnimalState::Alive, 5)]);
    let mut room = Room::with(&phone.links);
    let desk = room.desk();
    let count = |room: &Room, plant| room.fold(site).counts(plant)[0].clone();
    let nothing = |count: &CountState| ReviewAct::Count {
        count: count.entry,
        instead: Instead::Nothing,
        reason: ReviewReason::ObserverSaid,
    };
    let far = count(&room, far_plant);
    let review = room.act(&desk, Actor::Console, site, &nothing(&far)).unwrap();
    assert!(count(&room, far_plant).review.is_some(), "it comes later in the order than what it reviews");
    let near = count(&room, now_plant);
    room.act(&desk, Actor::Console, site, &nothing(&near)).unwrap();
    let near = count(&room, now_plant).review.unwrap();
    assert!(near.hybrid.0 < AUTUMN + 1_000_000, "the wrong clock is not carried on: {:?}", near.hybrid);
    room.act(&desk, Actor::Console, site, &ReviewAct::TakeBack { entry: review }).unwrap();
    assert!(count(&room, far_plant).review.is_none());
}

#[test]
fn two_processes_of_one_station_never_fork_its_stream() {
    let mut room = Room::with(&invented::small());
    let site = site_id(CORNER);
    let (one, two) = (room.desk(), room.desk());
    assert_eq!(one.stream(), two.stream());
    let visit = room.fold(site).visit(visit_id(CORNER, 0)).unwrap();
    let fold = room.fold(site);
    let counts: Vec<EntryId> =
        visit.checks.iter().flat_map(|check| fold.counts(check.id)).map(|count| count.entry).collect();
    let (moments, store) = ([room.moment(), room.moment()], &room.store);
    std::thread::scope(|scope| {
        for ((desk, moment), number) in [&one, &two].into_iter().zip(moments).zip(1_u8..) {
            let counts = &counts;
            scope.spawn(move || {
                for (at, &count) in (0_u8..).zip(counts.iter()) {
                    let reason = ReviewReason::ALL[usize::from(number)];
                    let act = ReviewAct::Count { count, instead: Instead::Nothing, reason };
                    let moment = Moment { random: [number * 64 + at; 16], ..moment };
                    desk.act(store, Actor::Console, site, &act, &moment).unwrap();
                }
            });
        }
    });
    let row = room.store.streams().unwrap().into_iter().find(|row| row.stream == one.stream()).unwrap();
    assert_eq!((row.heads.len(), row.entries), (1, 2 * counts.len() as u64));
}

#[test]
fn equal_numbers_are_compared_and_the_comparison_changed() {
    let mut room = Room::with(&invented::full());
    let (desk, site) = (room.desk(), site_id(3));
    let state = |room: &Room| room.fold(site).visit(visit_id(3, 1)).unwrap();
    let first = state(&room).checks[0].number;
    let same: BTreeSet<CheckId> =
        state(&room).checks.iter().filter(|check| check.number == first).map(|check| check.id).collect();
    let standings = |room: &Room| -> Vec<Standing> {
        state(room).checks.iter().filter(|check| same.contains(&check.id)).map(|check| check.standing).collect()
    };
    assert_eq!(standings(&room), [Standing::Disputed; 2]);
    let say = |verdict| ReviewAct::Compare { checks: same.clone(), verdict };
    let compared = room.act(&desk, Actor::Console, site, &say(Comparison::SamePlantIndependent)).unwrap();
    assert_eq!(standings(&room), [Standing::Enters, Standing::SecondLook]);
    let again = room.act(&desk, Actor::Console, site, &say(Comparison::SamePlantIndependent));
    assert!(matches!(again, Err(ReviewError::NothingToDo)));
    let other = room.act(&desk, Actor::Console, site, &say(Comparison::DifferentPlants)).unwrap();
    assert_eq!(standings(&room), [Standing::Enters; 2]);
    for entry in [other, compared] {
        room.act(&desk, Actor::Console, site, &ReviewAct::TakeBack { entry }).unwrap();
    }
    assert_eq!(standings(&room), [Standing::Disputed; 2]);
    let alone =
        ReviewAct::Compare { checks: same.iter().copied().take(1).collect(), verdict: Comparison::DifferentPlants };
    assert!(matches!(room.act(&desk, Actor::Console, site, &alone), Err(ReviewError::NotHere)));
}

#[test]
fn the_station_erases_anybodys_text_once() {
    let (salt, words) = ([3; 16], "Zacharias Quillfeather left the gate open");
    let blob = blob_hash(salt, words.as_bytes());
    let mut phone = Phone::new(5);
    let site = site_id(CORNER);
    phone.act(Scope::Site(site), Act::Noted(Note { text: blob }));
    let device = phone.links[0].stream.device;
    let mut room = Room::with(&phone.links);
    room.store.put_text(device, blob, salt, words, UnixMs(AUTUMN)).unwrap();
    let desk = room.desk();
    room.act(&desk, Actor::Console, site, &ReviewAct::Erase { blob }).unwrap();
    assert_eq!(room.store.text_at(site, blob).unwrap(), Some(crate::store::blobs::TextRow::Erased));
    assert!(matches!(room.act(&desk, Actor::Console, site, &ReviewAct::Erase { blob }), Err(ReviewError::NothingToDo)));
    // Another phone's word erases nothing here, and does not keep the station from it.
    let mut liar = Phone::new(6);
    let mut author = Phone::new(7);
    let other = blob_hash(salt, b"theirs");
    author.act(Scope::Site(site), Act::Noted(Note { text: other }));
    liar.act(Scope::Site(site), Act::Erased(Erased { blob: other }));
    invented::fill(&room.store, &author.links);
    room.store.put_text(author.links[0].stream.device, other, salt, "theirs", UnixMs(AUTUMN)).unwrap();
    invented::fill(&room.store, &liar.links);
    assert!(room.act(&desk, Actor::Console, site, &ReviewAct::Erase { blob: other }).is_ok());
    assert_eq!(room.store.text_at(site, other).unwrap(), Some(crate::store::blobs::TextRow::Erased));
}
