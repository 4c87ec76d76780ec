//! The bytes of every kind of entry, and what is said of bytes that are none.

use std::collections::{BTreeMap, BTreeSet};
use survey::chain::Hash;
use survey::check::{
    Abundance, AuditJudged, AuditRequested, Bbch, CheckDescription, Company, Condition, Counted, Extent, Judgement,
    KeyEvidence, OtherNoted, PhotoOf, PhotoTaken, PlantClosed, PlantOpened, RefusedFor, ReviewReason, Reviewed, Seen,
    SeenEmpty,
};
use survey::date::Date;
use survey::entry::{
    Act, ClockNoted, Entry, EntryError, Erased, KINDS, MOST_BYTES, PhotoLost, PlantDescribed, PlantTagged,
    PracticeAnswered, Scope, SitesJoined, TakenBack, VisitEnded, VisitsJoined,
};
use survey::ids::{BootId, CheckId, EggId, EntryId, ObserverId, PhotoId, PlantId, ProtocolId, SiteId, VisitId};
use survey::place::{Area, Pin, Place, PublicPrecision};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::site::{
    Belt, EggFate, EggSeen, HostCount, LeafSide, Management, ManagementKind, Note, OtherDanaus, OutsideFind,
    PlantDescription, PlantFate, Privacy, SatOn, SiteDescription, ToldBy,
};
use survey::stage::{AnimalState, Outcome, Stage, What};
use survey::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};
use survey::visit::{
    AdultAct, AdultEffort, AdultsCounted, Beaufort, ChecksCompared, Comparison, HostsUp, Matched, Oktas, PooledCheck,
    Rain, Share, VisitBegun, VisitDescription, Weather,
};

const SITE: SiteId = SiteId::from_octets([0x51; 16]);
const VISIT: VisitId = VisitId::from_octets([0x52; 16]);
const CHECK: CheckId = CheckId::from_octets([0x53; 16]);
const ENTRY: EntryId = EntryId::from_octets([0x54; 16]);
const PHOTO: PhotoId = PhotoId::from_octets([0x55; 16]);
const HASH: Hash = Hash([0xAB; 32]);

fn entry(scope: Scope, act: Act) -> Entry {
    Entry {
        id: EntryId::from_octets([0x11; 16]),
        hybrid: HybridTime(1_780_304_400_123, 2),
        wall: UnixMs(1_780_304_400_123),
        offset: OffsetMinutes(-300),
        since_boot: SinceBoot { boot: BootId::from_octets([0x22; 16]), ms: 86_400_000 },
        scope,
        replaces: Vec::new(),
        act,
    }
}

fn date(text: &str) -> Date {
    text.to_owned().try_into().unwrap()
}

fn host() -> Host {
    Host::Species("Asclepias syriaca".into())
}

fn totals(numbers: &[(&str, u32)]) -> BTreeMap<What, u32> {
    numbers.iter().map(|(what, number)| (what.parse().unwrap(), *number)).collect()
}

fn place() -> Place {
    Place::Pin { at: Pin::new(44.9778, -93.265).unwrap(), radius_m: Some(40.0), accuracy_m: Some(5.0) }
}

/// One entry of each kind, with every field set.
#[expect(clippy::too_many_lines, reason = "a list of examples, one for each kind")]
fn one_of_each() -> Vec<Entry> {
    let corner = |lat, lon| Pin::new(lat, lon).unwrap();
    let area =
        Area::new(vec![corner(44.97, -93.26), corner(44.97, -93.25), corner(44.98, -93.25)], Vec::new()).unwrap();
    let visit = Scope::Visit(SITE, VISIT);
    let site = Scope::Site(SITE);
    let protocol = Protocol {
        id: ProtocolId::from_octets([0x56; 16]),
        name: "weekly walk".into(),
        stages: Stage::EGG_TO_LARVA5.into_iter().collect(),
        choice: PlantChoice::EveryKth { k: 7, start: 3 },
        units: BTreeMap::from([
            (Host::NotDetermined, Unit::Stem),
            (Host::Species("Asclepias tuberosa".into()), Unit::Clump),
        ]),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 20, at_most: 100 },
    };
    let observers = BTreeSet::from([ObserverId::from_octets([0x57; 16])]);
    let mut described = entry(
        visit,
        Act::PlantDescribed(PlantDescribed {
            check: CHECK,
            description: CheckDescription {
                host: Some(host()),
                stems: Some(3),
                height_cm: Some(85),
                bbch: Some(Bbch::new(5, Some(6)).unwrap()),
                condition: Some(Condition::Sound),
                fate: Some(PlantFate::AsBefore),
                open_flowers: Some(Seen::No),
                company: Some(BTreeMap::from([(Company::Ants, Abundance::Few), (Company::Aphids, Abundance::Hosts)])),
            },
        }),
    );
    described.replaces = vec![ENTRY];
    vec![
        entry(
            site,
            Act::SiteDescribed(SiteDescription {
                name: Some("Old quarry".into()),
                place: Some(Place::Area(area)),
                public_precision: Some(PublicPrecision::Hundredth),
                private: Some(Privacy::Private),
                other_danaus: Some(OtherDanaus::None),
                stems_expected: Some(400),
            }),
        ),
        entry(site, Act::SitesJoined(SitesJoined { sites: BTreeSet::from([SITE, SiteId::from_octets([0x61; 16])]) })),
        entry(visit, Act::VisitBegun(VisitBegun { protocol, observers: observers.clone(), share: Share::Odd })),
        entry(
            visit,
            Act::VisitDescribed(VisitDescription {
                observers: Some(observers),
                started: Some(UnixMs(1_780_304_000_000)),
                ended: Some(UnixMs(1_780_307_600_000)),
                person_minutes: Some(90),
                hosts_up: Some(HostsUp::Yes),
            }),
        ),
        entry(visit, Act::VisitEnded(VisitEnded {})),
        entry(
            site,
            Act::VisitsJoined(VisitsJoined { visits: BTreeSet::from([VISIT, VisitId::from_octets([0x62; 16])]) }),
        ),
        entry(
            visit,
            Act::PlantOpened(PlantOpened {
                check: CHECK,
                number: 12,
                unit: Unit::Clump,
                host: Some(host()),
                plant: Some(PlantId::from_octets([0x58; 16])),
            }),
        ),
        entry(
            visit,
            Act::Counted(Counted {
                check: CHECK,
                what: "egg+none".parse().unwrap(),
                number: 2,
                state: AnimalState::AboutToHatch,
                key: Some(KeyEvidence {
                    key: HASH,
                    answers: BTreeMap::from([("ridges".into(), "lengthwise".into())]),
                    support: vec![(Outcome::Stage(Stage::Egg), 0.75), (Outcome::NotThis, 0.25)],
                    guess: Some(Outcome::Stage(Stage::Egg)),
                    prior: None,
                }),
            }),
        ),
        described,
        entry(
            visit,
            Act::PlantClosed(PlantClosed { check: CHECK, extent: Extent::Whole, empty: Some(SeenEmpty::SeenEmpty) }),
        ),
        entry(
            visit,
            Act::PooledCheck(PooledCheck {
                checked: Some(40),
                unit: Unit::Stem,
                totals: totals(&[("egg", 3), ("larva1", 0)]),
            }),
        ),
        entry(
            visit,
            Act::AdultsCounted(AdultsCounted {
                effort: AdultEffort::TimedWalk { minutes: 10, metres: 300.0, width_m: 5.0 },
                seen: BTreeMap::from([(AdultAct::Laying, 1), (AdultAct::Flying, 2)]),
            }),
        ),
        entry(visit, Act::TakenBack(TakenBack { target: ENTRY })),
        entry(
            visit,
            Act::PhotoTaken(PhotoTaken { photo: PHOTO, length: 2_500_000, hash: HASH, of: PhotoOf::Count(ENTRY) }),
        ),
        entry(visit, Act::PhotoLost(PhotoLost { photo: PHOTO })),
        entry(
            Scope::Device,
            Act::PracticeAnswered(PracticeAnswered {
                item: "egg-beside-droplet".into(),
                truth: "egg".into(),
                answered: "egg+none".into(),
                took_ms: 4200,
            }),
        ),
        entry(
            visit,
            Act::WeatherNoted(Weather {
                air_decicelsius: Some(235),
                beaufort: Some(Beaufort::try_from(2).unwrap()),
                cloud: Some(Oktas::try_from(9).unwrap()),
                rain: Some(Rain::None),
            }),
        ),
        entry(visit, Act::ClockNoted(ClockNoted { jumped_ms: -3_600_000 })),
        entry(
            visit,
            Act::Reviewed(Reviewed {
                count: ENTRY,
                instead: totals(&[("larva2", 1)]),
                reason: ReviewReason::Photo,
                by: None,
            }),
        ),
        entry(site, Act::Erased(Erased { blob: HASH })),
        entry(
            visit,
            Act::Matched(Matched { checks: [CHECK, CheckId::from_octets([0x63; 16])], both: totals(&[("egg", 2)]) }),
        ),
        entry(
            visit,
            Act::ChecksCompared(ChecksCompared {
                checks: BTreeSet::from([CHECK, CheckId::from_octets([0x63; 16])]),
                verdict: Comparison::SamePlantIndependent,
            }),
        ),
        entry(visit, Act::AuditRequested(AuditRequested { count: ENTRY, weight_milli: 15_000 })),
        entry(
            visit,
            Act::AuditJudged(AuditJudged { photo: PHOTO, judged: Judgement::Is(Outcome::Stage(Stage::Larva2)) }),
        ),
        entry(
            site,
            Act::PlantTagged(PlantTagged {
                plant: PlantId::from_octets([0x58; 16]),
                description: PlantDescription { label: Some("A7".into()), place: Some(place()), host: Some(host()) },
            }),
        ),
        entry(
            site,
            Act::HostsCounted(HostCount {
                date: date("2026-06-14"),
                belts: vec![
                    Belt { square_metres: 100.0, stems: vec![(host(), 23), (Host::NotDetermined, 1)] },
                    Belt { square_metres: 100.0, stems: Vec::new() },
                ],
            }),
        ),
        entry(
            visit,
            Act::FoundOutside(OutsideFind {
                what: Stage::Pupa.into(),
                state: AnimalState::Alive,
                number: 1,
                on: SatOn::MadeThing,
                place: Some(place()),
            }),
        ),
        entry(
            site,
            Act::ManagementNoted(Management {
                what: ManagementKind::Cut,
                date: date("2026-07-02"),
                share: 0.5,
                told_by: ToldBy::Manager,
            }),
        ),
        entry(
            visit,
            Act::EggSeen(EggSeen {
                egg: EggId::from_octets([0x59; 16]),
                plant: Some(PlantId::from_octets([0x58; 16])),
                leaf_pair: 3,
                side: LeafSide::Under,
                fate: EggFate::Present,
            }),
        ),
        entry(visit, Act::Noted(Note { text: HASH })),
        entry(visit, Act::OtherNoted(OtherNoted { check: CHECK, number: 2, key: None })),
    ]
}

/// A format that phones have written can never change: every kind's bytes are kept as a snapshot.
#[test]
fn the_bytes_of_every_kind_are_fixed() {
    let written: Vec<String> =
        one_of_each().iter().map(|entry| String::from_utf8(entry.encode().unwrap()).unwrap()).collect();
    insta::assert_snapshot!(written.join("\n"));
}

#[test]
fn every_kind_is_there_and_survives_writing_and_reading() {
    let entries = one_of_each();
    let kinds: Vec<&str> = entries.iter().map(|entry| entry.act.kind()).collect();
    assert_eq!(kinds, KINDS);
    for entry in entries {
        assert_eq!(Entry::decode(&entry.encode().unwrap()), Ok(entry));
    }
}

#[test]
fn a_newer_version_is_kept_and_named() {
    let bytes = entry(Scope::Site(SITE), Act::Noted(Note { text: HASH })).encode().unwrap();
    let text = String::from_utf8(bytes).unwrap();
    for (from, to, kind, version) in [
        ("\"kind\":\"noted\",\"v\":1", "\"kind\":\"noted\",\"v\":2", "noted", 2),
        ("\"kind\":\"noted\",\"v\":1", "\"kind\":\"leaf-scanned\",\"v\":1,\"lens\":{\"x\":1}", "leaf-scanned", 1),
    ] {
        let newer = Entry::decode(text.replace(from, to).as_bytes()).unwrap();
        assert_eq!(newer.act, Act::Newer { kind: kind.into(), version });
    }
    let with_field = text.replace("\"payload\":{", "\"payload\":{\"mood\":\"calm\",");
    assert!(matches!(Entry::decode(with_field.as_bytes()).unwrap().act, Act::Noted(_)));
}

type Expected = fn(&EntryError) -> bool;

#[test]
fn bytes_that_are_no_entry_say_what_and_where() {
    let good = String::from_utf8(
        entry(
            Scope::Visit(SITE, VISIT),
            Act::PlantClosed(PlantClosed { check: CHECK, extent: Extent::Refused(RefusedFor::Danger), empty: None }),
        )
        .encode()
        .unwrap(),
    )
    .unwrap();
    let deep = format!("{{\"a\":{}1{}}}", "[".repeat(40), "]".repeat(40));
    let large = format!("{{\"a\":\"{}\"}}", "x".repeat(MOST_BYTES));
    let table: [(&str, String, Expected); 7] = [
        ("cut in half", good[..good.len() / 2].into(), |e| {
            matches!(e, EntryError::NotAnEntry { line: 1, column: 1.., .. })
        }),
        ("two documents", format!("{good}{good}"), |e| matches!(e, EntryError::NotAnEntry { .. })),
        ("lone surrogate", good.replace("plant-closed", "\\ud800"), |e| matches!(e, EntryError::NotAnEntry { .. })),
        ("deep nesting", deep, |e| matches!(e, EntryError::TooDeep { at: 36 })),
        ("too large", large, |e| matches!(e, EntryError::TooLarge { .. })),
        (
            "unknown extent",
            good.replace("danger", "boredom"),
            |e| matches!(e, EntryError::WrongPayload { kind, .. } if kind == "plant-closed"),
        ),
        ("year far away", good.replace("1780304400123", "99999999999999999999"), |e| {
            matches!(e, EntryError::NotAnEntry { .. })
        }),
    ];
    for (what, bytes, expected) in table {
        let error = Entry::decode(bytes.as_bytes()).expect_err(what);
        assert!(expected(&error), "{what}: {error:?}");
    }
    let count = String::from_utf8(
        entry(
            Scope::Visit(SITE, VISIT),
            Act::Counted(Counted {
                check: CHECK,
                what: Stage::Egg.into(),
                number: 7,
                state: AnimalState::Alive,
                key: None,
            }),
        )
        .encode()
        .unwrap(),
    )
    .unwrap();
    for number in ["-7", "4294967296", "1e9", "0.5", "\"7\""] {
        let error =
            Entry::decode(count.replace("\"number\":7", &format!("\"number\":{number}")).as_bytes()).unwrap_err();
        assert!(matches!(error, EntryError::WrongPayload { .. }), "{number}: {error:?}");
    }
}

#[test]
fn an_entry_that_would_be_too_large_is_not_made() {
    let site = SiteDescription { name: Some("x".repeat(MOST_BYTES)), ..SiteDescription::default() };
    let error = entry(Scope::Site(SITE), Act::SiteDescribed(site)).encode().unwrap_err();
    assert!(matches!(error, EntryError::TooLarge { bytes } if bytes > MOST_BYTES));
}
