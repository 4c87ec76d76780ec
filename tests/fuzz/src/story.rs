//! Entries that know each other: few devices, sites, visits, plants and ids, so that entries meet.

use arbitrary::Arbitrary;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Hash, Head, Link, StreamId};
use survey::check::{
    AuditJudged, AuditRequested, CheckDescription, Condition, Counted, Extent, Judgement, PhotoOf, PhotoTaken,
    PlantClosed, PlantOpened, RefusedFor, ReviewReason, Reviewed, SeenEmpty,
};
use survey::entry::{
    Act, ClockNoted, Entry, Erased, KINDS, PhotoLost, PlantDescribed, Scope, SitesJoined, TakenBack, VisitEnded,
    VisitsJoined,
};
use survey::ids::{
    BootId, CheckId, DeviceId, EntryId, Epoch, ObserverId, PhotoId, PlantId, ProtocolId, SiteId, VisitId,
};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::site::{Note, Privacy, SiteDescription};
use survey::stage::{AnimalState, Outcome, Stage, What};
use survey::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};
use survey::visit::{ChecksCompared, Comparison, Matched, PooledCheck, Share, VisitBegun, VisitDescription};

/// 2026-06-01 09:00 UTC, in an invented season.
pub(crate) const START: i64 = 1_780_304_400_000;

/// The most entries of a story.
const MOST: usize = 48;

/// What a few phones recorded, in the order in which one of them learnt of it.
#[derive(Debug, Arbitrary)]
pub(crate) struct Story {
    deeds: Vec<Deed>,
}

#[derive(Debug, Arbitrary)]
struct Deed {
    phone: u8,
    id: u8,
    at: i16,
    ticks: u8,
    since_boot: u32,
    scope: Where,
    replaces: Vec<u8>,
    told: Told,
}

#[derive(Debug, Arbitrary)]
enum Where {
    Device,
    Site(u8),
    Visit(u8, u8),
}

#[derive(Debug, Arbitrary)]
enum Told {
    SiteDescribed {
        name: Option<String>,
        private: bool,
        stems: Option<u32>,
    },
    SitesJoined(Vec<u8>),
    VisitBegun {
        observers: Vec<u8>,
        odd: bool,
    },
    VisitDescribed {
        observers: Option<Vec<u8>>,
        started: Option<i32>,
        minutes: Option<u32>,
    },
    VisitEnded,
    VisitsJoined(Vec<u8>),
    PlantOpened {
        check: u8,
        number: u8,
        clump: bool,
        plant: Option<u8>,
    },
    Counted {
        check: u8,
        what: u16,
        number: u32,
        state: u8,
    },
    PlantDescribed {
        check: u8,
        stems: Option<u32>,
        not_ours: bool,
        condition: bool,
    },
    PlantClosed {
        check: u8,
        extent: u8,
        empty: bool,
    },
    PooledCheck {
        checked: Option<u32>,
        what: u16,
        number: u32,
    },
    TakenBack(u8),
    PhotoTaken {
        photo: u8,
        length: u64,
        of: u8,
    },
    PhotoLost(u8),
    ClockNoted(i64),
    Reviewed {
        count: u8,
        instead: Vec<(u16, u32)>,
    },
    Erased(u8),
    Matched {
        checks: [u8; 2],
        what: u16,
        both: u32,
    },
    ChecksCompared {
        checks: Vec<u8>,
        same: bool,
    },
    AuditRequested {
        count: u8,
        weight: u32,
    },
    AuditJudged {
        photo: u8,
        stage: Option<u8>,
    },
    Noted(u8),
    /// A kind by its place in the list, or one that nobody knows, with octets for a payload.
    Octets {
        kind: u8,
        version: u8,
        payload: Vec<u8>,
    },
}

/// An entry of a story: as it was meant, where this version can say so, and as a link.
pub(crate) struct Recorded {
    pub(crate) meant: Option<Entry>,
    pub(crate) link: Link,
}

impl Story {
    /// The entries, each behind the one before of its phone.
    pub(crate) fn told(&self) -> Vec<Recorded> {
        let mut heads = [Head::START; 4];
        let mut told = Vec::new();
        for deed in self.deeds.iter().take(MOST) {
            let phone = usize::from(deed.phone % 4);
            let Some((meant, bytes)) = deed.entry() else { continue };
            let link = heads[phone].extend(stream(deed.phone), bytes);
            heads[phone] = link.head();
            told.push(Recorded { meant, link });
        }
        told
    }
}

/// The stream of one of four phones.
pub(crate) fn stream(phone: u8) -> StreamId {
    let octet = 0x10 + phone % 4;
    StreamId { device: DeviceId::from_octets([octet; 16]), epoch: Epoch::from_octets([octet ^ 0xFF; 16]) }
}

/// One of three sites.
pub(crate) const fn site(n: u8) -> SiteId {
    SiteId::from_octets([0x30 + n % 3; 16])
}

/// One of four visits.
pub(crate) const fn visit(n: u8) -> VisitId {
    VisitId::from_octets([0x40 + n % 4; 16])
}

/// One of four photos.
pub(crate) const fn photo(n: u8) -> PhotoId {
    PhotoId::from_octets([0x70 + n % 4; 16])
}

const fn entry_id(n: u8) -> EntryId {
    EntryId::from_octets([0x80 + n % 32; 16])
}

const fn check(n: u8) -> CheckId {
    CheckId::from_octets([0x50 + n % 5; 16])
}

const fn plant(n: u8) -> PlantId {
    PlantId::from_octets([0x60 + n % 2; 16])
}

fn observers(of: &[u8]) -> BTreeSet<ObserverId> {
    of.iter().take(4).map(|n| ObserverId::from_octets([0x20 + n % 3; 16])).collect()
}

/// A stage, or an undecided set by the bits of a number.
fn what(bits: u16) -> What {
    let outcomes = Stage::ALL.map(Outcome::Stage).into_iter().chain([Outcome::NotThis]);
    let chosen: Vec<Outcome> =
        (0..).zip(outcomes).filter(|(bit, _)| bits >> bit & 1 == 1).map(|(_, out)| out).collect();
    survey::stage::Undecided::among(chosen)
        .map_or_else(|_| What::Stage(Stage::ALL[usize::from(bits) % Stage::ALL.len()]), What::Undecided)
}

const STATES: [AnimalState; 5] = [
    AnimalState::Alive,
    AnimalState::Moulting,
    AnimalState::HatchedShell,
    AnimalState::LimpOrBlackened,
    AnimalState::SkinOnly,
];

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

impl Where {
    const fn scope(&self) -> Scope {
        match self {
            Self::Device => Scope::Device,
            Self::Site(n) => Scope::Site(site(*n)),
            Self::Visit(n, m) => Scope::Visit(site(*n), visit(*m)),
        }
    }
}

impl Deed {
    /// What was meant, where this version can say it, and the bytes; `None` where no entry can be made of it.
    fn entry(&self) -> Option<(Option<Entry>, Vec<u8>)> {
        let at = START + i64::from(self.at);
        let entry = |act| Entry {
            id: entry_id(self.id),
            hybrid: HybridTime(at, u32::from(self.ticks % 3)),
            wall: UnixMs(at),
            offset: OffsetMinutes(-300),
            since_boot: SinceBoot { boot: BootId::from_octets([self.phone % 4; 16]), ms: self.since_boot.into() },
            scope: self.scope.scope(),
            replaces: self.replaces.iter().take(4).map(|n| entry_id(*n)).collect(),
            act,
        };
        if let Told::Octets { kind, version, payload } = &self.told {
            let frame = String::from_utf8(entry(Act::VisitEnded(VisitEnded {})).encode().ok()?).ok()?;
            let kind = KINDS.get(usize::from(*kind)).copied().unwrap_or("not-known-here");
            let (head, tail) = frame.split_once("\"payload\":{}")?;
            let head = head.replace("\"visit-ended\",\"v\":1", &format!("\"{kind}\",\"v\":{version}"));
            return Some((None, [head.as_bytes(), b"\"payload\":", payload, tail.as_bytes()].concat()));
        }
        let entry = entry(self.told.act()?);
        let bytes = entry.encode().ok()?;
        Some((Some(entry), bytes))
    }
}

impl Told {
    #[expect(clippy::too_many_lines, reason = "one arm for each kind of entry")]
    fn act(&self) -> Option<Act> {
        Some(match self {
            Self::SiteDescribed { name, private, stems } => Act::SiteDescribed(SiteDescription {
                name: name.clone(),
                private: private.then_some(Privacy::Private),
                stems_expected: *stems,
                ..SiteDescription::default()
            }),
            Self::SitesJoined(sites) => {
                Act::SitesJoined(SitesJoined { sites: sites.iter().take(4).map(|n| site(*n)).collect() })
            }
            Self::VisitBegun { observers: who, odd } => Act::VisitBegun(VisitBegun {
                protocol: protocol(),
                observers: observers(who),
                share: if *odd { Share::Odd } else { Share::All },
            }),
            Self::VisitDescribed { observers: who, started, minutes } => Act::VisitDescribed(VisitDescription {
                observers: who.as_deref().map(observers),
                started: started.map(|ms| UnixMs(START + i64::from(ms))),
                person_minutes: *minutes,
                ..VisitDescription::default()
            }),
            Self::VisitEnded => Act::VisitEnded(VisitEnded {}),
            Self::VisitsJoined(visits) => {
                Act::VisitsJoined(VisitsJoined { visits: visits.iter().take(4).map(|n| visit(*n)).collect() })
            }
            Self::PlantOpened { check: of, number, clump, plant: tagged } => Act::PlantOpened(PlantOpened {
                check: check(*of),
                number: u32::from(*number % 6),
                unit: if *clump { Unit::Clump } else { Unit::Stem },
                host: Some(Host::Species("Asclepias syriaca".into())),
                plant: tagged.map(plant),
            }),
            Self::Counted { check: on, what: bits, number, state } => Act::Counted(Counted {
                check: check(*on),
                what: what(*bits),
                number: *number,
                state: STATES[usize::from(*state) % STATES.len()],
                key: None,
            }),
            Self::PlantDescribed { check: of, stems, not_ours, condition } => Act::PlantDescribed(PlantDescribed {
                check: check(*of),
                description: CheckDescription {
                    host: not_ours.then_some(Host::NotMilkweed),
                    stems: *stems,
                    condition: condition.then_some(Condition::EatenBack),
                    ..CheckDescription::default()
                },
            }),
            Self::PlantClosed { check: of, extent, empty } => Act::PlantClosed(PlantClosed {
                check: check(*of),
                extent: match extent % 3 {
                    0 => Extent::Whole,
                    1 => Extent::Part,
                    _ => Extent::Refused(RefusedFor::Danger),
                },
                empty: empty.then_some(SeenEmpty::SeenEmpty),
            }),
            Self::PooledCheck { checked, what: bits, number } => Act::PooledCheck(PooledCheck {
                checked: *checked,
                unit: Unit::Stem,
                totals: BTreeMap::from([(what(*bits), *number)]),
            }),
            Self::TakenBack(target) => Act::TakenBack(TakenBack { target: entry_id(*target) }),
            Self::PhotoTaken { photo: of, length, of: shows } => Act::PhotoTaken(PhotoTaken {
                photo: photo(*of),
                length: *length,
                hash: Hash([*of; 32]),
                of: match shows % 4 {
                    0 => PhotoOf::Site,
                    1 => PhotoOf::Check(check(shows / 4)),
                    2 => PhotoOf::OutsideFind(entry_id(shows / 4)),
                    _ => PhotoOf::Count(entry_id(shows / 4)),
                },
            }),
            Self::PhotoLost(of) => Act::PhotoLost(PhotoLost { photo: photo(*of) }),
            Self::ClockNoted(jumped_ms) => Act::ClockNoted(ClockNoted { jumped_ms: *jumped_ms }),
            Self::Reviewed { count, instead } => Act::Reviewed(Reviewed {
                count: entry_id(*count),
                instead: instead.iter().take(4).map(|(bits, number)| (what(*bits), *number)).collect(),
                reason: ReviewReason::ObserverSaid,
                by: None,
            }),
            Self::Erased(n) => Act::Erased(Erased { blob: Hash([*n; 32]) }),
            Self::Matched { checks, what: bits, both } => {
                Act::Matched(Matched { checks: checks.map(check), both: BTreeMap::from([(what(*bits), *both)]) })
            }
            Self::ChecksCompared { checks, same } => Act::ChecksCompared(ChecksCompared {
                checks: checks.iter().take(4).map(|n| check(*n)).collect(),
                verdict: if *same { Comparison::SamePlantIndependent } else { Comparison::DifferentPlants },
            }),
            Self::AuditRequested { count, weight } => {
                Act::AuditRequested(AuditRequested { count: entry_id(*count), weight_milli: *weight })
            }
            Self::AuditJudged { photo: of, stage } => Act::AuditJudged(AuditJudged {
                photo: photo(*of),
                judged: stage.map_or(Judgement::CannotJudge, |n| {
                    Judgement::Is(Outcome::Stage(Stage::ALL[usize::from(n) % Stage::ALL.len()]))
                }),
            }),
            Self::Noted(n) => Act::Noted(Note { text: Hash([*n; 32]) }),
            Self::Octets { .. } => return None,
        })
    }
}
