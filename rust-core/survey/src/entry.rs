//! Entries: one for each act. Their bytes are written once and never again.

use crate::chain::Hash;
use crate::check::{
    AuditJudged, AuditRequested, CheckDescription, Counted, OtherNoted, PhotoTaken, PlantClosed, PlantOpened, Reviewed,
};
use crate::ids::{CheckId, EntryId, PhotoId, PlantId, SiteId, VisitId};
use crate::site::{EggSeen, HostCount, Management, Note, OutsideFind, PlantDescription, SiteDescription};
use crate::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};
use crate::visit::{AdultsCounted, ChecksCompared, Matched, PooledCheck, VisitBegun, VisitDescription, Weather};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::BTreeSet;

/// The most bytes of one entry: 64 KiB.
pub const MOST_BYTES: usize = 64 * 1024;

/// The most levels of nesting in one entry.
pub const MOST_LEVELS: usize = 32;

/// One act, decoded.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its id.
    pub id: EntryId,
    /// Hybrid time.
    pub hybrid: HybridTime,
    /// Wall time by the device.
    pub wall: UnixMs,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// Time since boot.
    pub since_boot: SinceBoot,
    /// Whom it concerns.
    pub scope: Scope,
    /// The entries whose value it saw and takes the place of.
    pub replaces: Vec<EntryId>,
    /// What was done.
    pub act: Act,
}

/// Whom an entry concerns. Stands outside the payload; nobody derives it by folding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "RawScope", into = "RawScope")]
pub enum Scope {
    /// This device only: never fed to others.
    Device,
    /// A site.
    Site(SiteId),
    /// A visit of a site.
    Visit(SiteId, VisitId),
}

/// What was done.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// A site was described.
    SiteDescribed(SiteDescription),
    /// Sites turned out to be one.
    SitesJoined(SitesJoined),
    /// A device's part of a visit begun.
    VisitBegun(VisitBegun),
    /// A visit was described.
    VisitDescribed(VisitDescription),
    /// A device's part of a visit ended.
    VisitEnded(VisitEnded),
    /// Visits turned out to be one.
    VisitsJoined(VisitsJoined),
    /// A plant check begun.
    PlantOpened(PlantOpened),
    /// An animal, or several, counted.
    Counted(Counted),
    /// A plant was described at its check.
    PlantDescribed(PlantDescribed),
    /// A plant check ended.
    PlantClosed(PlantClosed),
    /// Something that is none of this species.
    OtherNoted(OtherNoted),
    /// Totals over plants not kept apart.
    PooledCheck(PooledCheck),
    /// Adults counted.
    AdultsCounted(AdultsCounted),
    /// An entry of the same device taken back.
    TakenBack(TakenBack),
    /// A photo taken.
    PhotoTaken(PhotoTaken),
    /// A photo lost before it could be sent.
    PhotoLost(PhotoLost),
    /// A practice question answered.
    PracticeAnswered(PracticeAnswered),
    /// Weather noted.
    WeatherNoted(Weather),
    /// The device's wall clock was set.
    ClockNoted(ClockNoted),
    /// A count reviewed.
    Reviewed(Reviewed),
    /// A blob erased.
    Erased(Erased),
    /// Matched numbers of a double count.
    Matched(Matched),
    /// Checks with equal numbers compared.
    ChecksCompared(ChecksCompared),
    /// An audit photo asked for.
    AuditRequested(AuditRequested),
    /// An audit photo judged.
    AuditJudged(AuditJudged),
    /// A plant tagged, or its tag described.
    PlantTagged(PlantTagged),
    /// Host plants counted in belts.
    HostsCounted(HostCount),
    /// An animal found outside the sample.
    FoundOutside(OutsideFind),
    /// Management noted.
    ManagementNoted(Management),
    /// A followed egg looked at.
    EggSeen(EggSeen),
    /// A note written.
    Noted(Note),
    /// Made by a newer version of the software: kept, sent, shown as such.
    Newer {
        /// Its kind.
        kind: String,
        /// Version of the kind.
        version: u32,
    },
}

/// Sites that are one; the smallest id names the group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SitesJoined {
    /// The sites, two or more.
    pub sites: BTreeSet<SiteId>,
}

/// Visits that are one; the smallest id names the group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VisitsJoined {
    /// The visits, two or more.
    pub visits: BTreeSet<VisitId>,
}

/// The end of this device's part of a visit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VisitEnded {}

/// A plant described at its check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlantDescribed {
    /// Which check.
    pub check: CheckId,
    /// What is said.
    #[serde(flatten)]
    pub description: CheckDescription,
}

/// A tagged plant described.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlantTagged {
    /// Which plant.
    pub plant: PlantId,
    /// What is said.
    #[serde(flatten)]
    pub description: PlantDescription,
}

/// An entry of the same device taken back; taking that back again redoes it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakenBack {
    /// Which entry.
    pub target: EntryId,
}

/// A photo lost before the station had it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoLost {
    /// Which photo.
    pub photo: PhotoId,
}

/// A practice question answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PracticeAnswered {
    /// The item, by its name in the practice set.
    pub item: String,
    /// The right answer, as the practice set names it: an outcome of the key, or what else the item asks.
    pub truth: String,
    /// What was answered, named alike.
    pub answered: String,
    /// Milliseconds taken.
    pub took_ms: u32,
}

/// The wall clock moved against the time since boot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClockNoted {
    /// Milliseconds by which it jumped, forward positive.
    pub jumped_ms: i64,
}

/// A blob erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Erased {
    /// The salted hash that named it.
    pub blob: Hash,
}

/// Why bytes are not made, or not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// More than [`MOST_BYTES`].
    #[error("an entry of {bytes} bytes is too large, {MOST_BYTES} are the most")]
    TooLarge {
        /// How many there were.
        bytes: usize,
    },
    /// More than [`MOST_LEVELS`].
    #[error("an entry nested deeper than {MOST_LEVELS} levels, at byte {at}")]
    TooDeep {
        /// Where the level too many begins.
        at: usize,
    },
    /// Not JSON, or not the shape of an entry.
    #[error("not an entry: {reason}, at line {line} column {column}")]
    NotAnEntry {
        /// What the reader says.
        reason: String,
        /// Line from 1, 0 where it is not known.
        line: usize,
        /// Column from 1, 0 where it is not known.
        column: usize,
    },
    /// The kind is known but its payload is not what it should be.
    #[error("the payload of {kind} is wrong: {reason}")]
    WrongPayload {
        /// The kind.
        kind: String,
        /// What the reader says.
        reason: String,
    },
}

impl Entry {
    /// The bytes of the entry: UTF-8 JSON, to be written once.
    ///
    /// # Errors
    /// Too large or too deep.
    pub fn encode(&self) -> Result<Vec<u8>, EntryError> {
        let (kind, version, payload) = self.act.parts()?;
        let raw = RawEntry {
            id: self.id,
            kind: kind.into(),
            v: version,
            hybrid: self.hybrid,
            wall: self.wall,
            offset: self.offset,
            up: self.since_boot.ms,
            boot: self.since_boot.boot,
            scope: self.scope,
            replaces: self.replaces.clone(),
            payload,
        };
        let bytes = serde_json::to_vec(&raw).map_err(|error| not_an_entry(&error))?;
        check_limits(&bytes)?;
        Ok(bytes)
    }

    /// Reads the bytes of an entry. Unknown fields are passed over; an unknown kind or a newer version of a
    /// known one becomes [`Act::Newer`].
    ///
    /// # Errors
    /// Too large, too deep, not JSON, not an entry, or a known kind with a wrong payload.
    pub fn decode(bytes: &[u8]) -> Result<Self, EntryError> {
        check_limits(bytes)?;
        let raw: RawEntry = serde_json::from_slice(bytes).map_err(|error| not_an_entry(&error))?;
        Ok(Self {
            id: raw.id,
            hybrid: raw.hybrid,
            wall: raw.wall,
            offset: raw.offset,
            since_boot: SinceBoot { boot: raw.boot, ms: raw.up },
            scope: raw.scope,
            replaces: raw.replaces,
            act: Act::from_parts(&raw.kind, raw.v, &raw.payload)?,
        })
    }
}

impl Scope {
    /// The site, where there is one.
    pub const fn site(self) -> Option<SiteId> {
        match self {
            Self::Device => None,
            Self::Site(site) | Self::Visit(site, _) => Some(site),
        }
    }

    /// The visit, where there is one.
    pub const fn visit(self) -> Option<VisitId> {
        match self {
            Self::Device | Self::Site(_) => None,
            Self::Visit(_, visit) => Some(visit),
        }
    }
}

macro_rules! kinds {
    ($($name:literal => $variant:ident),* $(,)?) => {
        /// Every kind of entry that this version knows, in the order of their first mention in the protocol.
        pub const KINDS: &[&str] = &[$($name),*];

        impl Act {
            /// The kind's name in entries, tables and message ids.
            pub fn kind(&self) -> &str {
                match self {
                    $(Self::$variant(_) => $name,)*
                    Self::Newer { kind, .. } => kind,
                }
            }

            fn parts(&self) -> Result<(&str, u32, Box<RawValue>), EntryError> {
                let payload = match self {
                    $(Self::$variant(payload) => serde_json::value::to_raw_value(payload),)*
                    Self::Newer { .. } => return Err(EntryError::WrongPayload {
                        kind: self.kind().into(),
                        reason: "what a newer version made is kept, never made here".into(),
                    }),
                };
                Ok((self.kind(), 1, payload.map_err(|error| not_an_entry(&error))?))
            }

            fn from_parts(kind: &str, version: u32, payload: &RawValue) -> Result<Self, EntryError> {
                let wrong = |error: serde_json::Error| EntryError::WrongPayload { kind: kind.into(), reason: error.to_string() };
                match (kind, version) {
                    $(($name, 1) => serde_json::from_str(payload.get()).map(Self::$variant).map_err(wrong),)*
                    _ => Ok(Self::Newer { kind: kind.into(), version }),
                }
            }
        }
    };
}

kinds! {
    "site-described" => SiteDescribed,
    "sites-joined" => SitesJoined,
    "visit-begun" => VisitBegun,
    "visit-described" => VisitDescribed,
    "visit-ended" => VisitEnded,
    "visits-joined" => VisitsJoined,
    "plant-opened" => PlantOpened,
    "counted" => Counted,
    "plant-described" => PlantDescribed,
    "plant-closed" => PlantClosed,
    "pooled-check" => PooledCheck,
    "adults-counted" => AdultsCounted,
    "taken-back" => TakenBack,
    "photo-taken" => PhotoTaken,
    "photo-lost" => PhotoLost,
    "practice-answered" => PracticeAnswered,
    "weather-noted" => WeatherNoted,
    "clock-noted" => ClockNoted,
    "reviewed" => Reviewed,
    "erased" => Erased,
    "matched" => Matched,
    "checks-compared" => ChecksCompared,
    "audit-requested" => AuditRequested,
    "audit-judged" => AuditJudged,
    "plant-tagged" => PlantTagged,
    "hosts-counted" => HostsCounted,
    "found-outside" => FoundOutside,
    "management-noted" => ManagementNoted,
    "egg-seen" => EggSeen,
    "noted" => Noted,
    "other-noted" => OtherNoted,
}

/// The layout of the bytes. `v` is the kind's version, `up` milliseconds since boot.
#[derive(Serialize, Deserialize)]
struct RawEntry {
    id: EntryId,
    kind: String,
    v: u32,
    hybrid: HybridTime,
    wall: UnixMs,
    offset: OffsetMinutes,
    up: u64,
    boot: crate::ids::BootId,
    scope: Scope,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    replaces: Vec<EntryId>,
    payload: Box<RawValue>,
}

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum RawScope {
    Device(DeviceOnly),
    Site {
        site: SiteId,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        visit: Option<VisitId>,
    },
}

#[derive(Serialize, Deserialize)]
enum DeviceOnly {
    #[serde(rename = "this-device")]
    ThisDevice,
}

impl From<RawScope> for Scope {
    fn from(raw: RawScope) -> Self {
        match raw {
            RawScope::Device(DeviceOnly::ThisDevice) => Self::Device,
            RawScope::Site { site, visit: None } => Self::Site(site),
            RawScope::Site { site, visit: Some(visit) } => Self::Visit(site, visit),
        }
    }
}

impl From<Scope> for RawScope {
    fn from(scope: Scope) -> Self {
        match scope {
            Scope::Device => Self::Device(DeviceOnly::ThisDevice),
            Scope::Site(site) => Self::Site { site, visit: None },
            Scope::Visit(site, visit) => Self::Site { site, visit: Some(visit) },
        }
    }
}

fn check_limits(bytes: &[u8]) -> Result<(), EntryError> {
    if bytes.len() > MOST_BYTES {
        return Err(EntryError::TooLarge { bytes: bytes.len() });
    }
    let (mut levels, mut in_text, mut escaped) = (0_usize, false, false);
    for (at, &octet) in bytes.iter().enumerate() {
        match octet {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            b'{' | b'[' if !in_text => {
                levels += 1;
                if levels > MOST_LEVELS {
                    return Err(EntryError::TooDeep { at });
                }
            }
            b'}' | b']' if !in_text => levels = levels.saturating_sub(1),
            _ => {}
        }
    }
    Ok(())
}

fn not_an_entry(error: &serde_json::Error) -> EntryError {
    EntryError::NotAnEntry { reason: error.to_string(), line: error.line(), column: error.column() }
}
