//! State as the fold gives it: plain records, the same for the same set of entries.

use crate::chain::Hash;
use crate::check::{
    Abundance, Bbch, Company, Condition, Extent, Judgement, OtherNoted, PhotoOf, ReviewReason, Seen, SeenEmpty,
};
use crate::finding::Finding;
use crate::ids::{CheckId, DeviceId, EggId, EntryId, ObserverId, PhotoId, PlantId, SiteId, VisitId};
use crate::place::{Place, PublicPrecision};
use crate::protocol::{Host, Protocol, Unit};
use crate::site::{EggSeen, HostCount, Management, OtherDanaus, OutsideFind, PlantDescription, PlantFate, Privacy};
use crate::stage::{AnimalState, What};
use crate::time::{OffsetMinutes, UnixMs};
use crate::visit::{AdultsCounted, HostsUp, Matched, PooledCheck, Share, Weather};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// A site, joined ones together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SiteState {
    /// The smallest id of the group.
    pub id: SiteId,
    /// All ids of the group.
    pub members: BTreeSet<SiteId>,
    /// Its name.
    pub name: Option<String>,
    /// Where it is.
    pub place: Option<Place>,
    /// How finely that may be published: never finer than 0.01 degree on private land.
    pub public_precision: PublicPrecision,
    /// Whose land.
    pub private: Option<Privacy>,
    /// Whether other *Danaus* breed here.
    pub other_danaus: Option<OtherDanaus>,
    /// Stems expected on the whole site.
    pub stems_expected: Option<u32>,
    /// The entries that hold these values: what a further description replaces.
    pub described_by: Vec<EntryId>,
    /// Tagged plants.
    pub plants: Vec<TaggedPlant>,
    /// Counts of host stems.
    pub host_counts: Vec<Told<HostCount>>,
    /// Management noted.
    pub management: Vec<Told<Management>>,
    /// Animals found outside the sample.
    pub finds: Vec<Told<OutsideFind>>,
    /// Looks at followed eggs, in order.
    pub eggs: BTreeMap<EggId, Vec<Told<EggSeen>>>,
    /// Notes, by the hash that names their text.
    pub notes: Vec<Told<Hash>>,
    /// Photos of the site and of finds.
    pub photos: Vec<PhotoState>,
    /// The visits, joined ones under their smallest id.
    pub visits: BTreeSet<VisitId>,
    /// What looks odd about the site itself.
    pub findings: Vec<Finding>,
}

/// Something that was told once, with the entry and the time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told<T> {
    /// The entry.
    pub entry: EntryId,
    /// Wall time of the device.
    pub at: UnixMs,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// What was told.
    pub what: T,
}

/// A tagged plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TaggedPlant {
    /// Its id.
    pub id: PlantId,
    /// Label, place and species.
    pub description: PlantDescription,
    /// The entries that hold these values.
    pub described_by: Vec<EntryId>,
}

/// A visit, joined ones together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct VisitState {
    /// The smallest id of the group.
    pub id: VisitId,
    /// All ids of the group.
    pub members: BTreeSet<VisitId>,
    /// The site that its scope names.
    pub site: SiteId,
    /// Each device's part, in order of their beginning.
    pub parts: Vec<VisitPart>,
    /// The protocol in force: that of the part begun first.
    pub protocol: Option<Protocol>,
    /// Who searched.
    pub observers: BTreeSet<ObserverId>,
    /// When it started.
    pub started: Option<UnixMs>,
    /// When it ended; `None` while a part goes on.
    pub ended: Option<UnixMs>,
    /// Offset of local time at the start.
    pub offset: OffsetMinutes,
    /// Milliseconds of search from start to end, by the time since boot where that is possible.
    pub duration_ms: Option<u64>,
    /// Minutes of search by all people together, where somebody said so.
    pub person_minutes: Option<u32>,
    /// Whether host plants were up.
    pub hosts_up: Option<HostsUp>,
    /// Weather.
    pub weather: Weather,
    /// The entries that hold the described values.
    pub described_by: Vec<EntryId>,
    /// The entries that hold the weather.
    pub weather_by: Vec<EntryId>,
    /// Plant checks by number, device and id.
    pub checks: Vec<CheckState>,
    /// Totals of plants not kept apart.
    pub pooled: Vec<PooledState>,
    /// Adults counted.
    pub adults: Vec<AdultsState>,
    /// Things that are none of this species.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Told<OtherNoted>>,
    /// Matched numbers of double counts.
    pub matched: Vec<MatchedState>,
    /// Notes, by the hash that names their text.
    pub notes: Vec<Told<Hash>>,
    /// Photos.
    pub photos: Vec<PhotoState>,
    /// Audits asked for.
    pub audits: Vec<AuditState>,
    /// Entries of kinds that only a newer version knows.
    pub from_newer_version: u32,
    /// What looks odd.
    pub findings: Vec<Finding>,
}

/// One device's part of a visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct VisitPart {
    /// The id under which the device began it.
    pub visit: VisitId,
    /// The device.
    pub device: DeviceId,
    /// When it began, wall time of the device.
    pub begun: UnixMs,
    /// When it ended.
    pub ended: Option<UnixMs>,
    /// Milliseconds from begin to end.
    pub duration_ms: Option<u64>,
    /// Which of the chosen plants the device took.
    pub share: Share,
}

/// A plant check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckState {
    /// Its identity.
    pub id: CheckId,
    /// The visit that its entries name.
    pub visit: VisitId,
    /// The device that made it; the smallest where several wrote on it.
    pub device: DeviceId,
    /// The number shown to people, 0 where the beginning is not here.
    pub number: u32,
    /// The unit; stem where the beginning is not here.
    pub unit: Unit,
    /// The tagged plant it is.
    pub plant: Option<PlantId>,
    /// When it began, wall time of the device.
    pub opened: Option<UnixMs>,
    /// Milliseconds from its beginning to its end by the time since boot.
    pub took_ms: Option<u64>,
    /// Host plant.
    pub host: Option<Host>,
    /// Stems of a clump.
    pub stems: Option<u32>,
    /// Height in centimetres.
    pub height_cm: Option<u16>,
    /// Growth stage.
    pub bbch: Option<Bbch>,
    /// Condition.
    pub condition: Option<Condition>,
    /// How a tagged plant was found.
    pub fate: Option<PlantFate>,
    /// Open flowers.
    pub open_flowers: Option<Seen>,
    /// Ants, aphids, predators.
    pub company: BTreeMap<Company, Abundance>,
    /// The entries that hold the described values.
    pub described_by: Vec<EntryId>,
    /// How much was searched; `None` while it is open.
    pub extent: Option<Extent>,
    /// The statement that it was found empty.
    pub seen_empty: Option<SeenEmpty>,
    /// What was counted, reviews in force.
    pub tally: Tally,
    /// Whether it enters estimates.
    pub standing: Standing,
}

/// A count as it was entered, and the review in force on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountState {
    /// Its entry.
    pub entry: EntryId,
    /// The entry's scope.
    pub scope: crate::entry::Scope,
    /// The entry's hybrid time.
    pub hybrid: crate::time::HybridTime,
    /// The device that counted.
    pub device: DeviceId,
    /// When, wall time of the device.
    pub at: UnixMs,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// On which check.
    pub check: CheckId,
    /// What was counted.
    pub what: What,
    /// How many.
    pub number: u32,
    /// In which state.
    pub state: AnimalState,
    /// The review in force.
    pub review: Option<ReviewState>,
}

/// A review in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReviewState {
    /// Its entry.
    pub entry: EntryId,
    /// The entry's hybrid time.
    pub hybrid: crate::time::HybridTime,
    /// The device whose journal it is in: the station's own.
    pub device: DeviceId,
    /// When, wall time of that device.
    pub at: UnixMs,
    /// Who reviewed, by random id, where the entry says so.
    pub by: Option<ObserverId>,
    /// What stands for the count; empty where it was nothing of ours.
    pub instead: BTreeMap<What, u32>,
    /// Why.
    pub reason: ReviewReason,
    /// Other current reviews, which lost; a further review names them too.
    pub also: Vec<EntryId>,
    /// Whether they say something else.
    pub differs: bool,
}

/// Whether a check enters estimates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// It does.
    Enters,
    /// Still open.
    Open,
    /// Only a part of the plant was searched.
    Part,
    /// It was not searched.
    Refused,
    /// An independent second look at a plant whose first look enters; serves agreement.
    SecondLook,
    /// Another device used the same number, and nobody has said what that means.
    Disputed,
    /// Not a host plant after all.
    NotMilkweed,
    /// Its beginning is not here.
    NotOpened,
}

/// Numbers by what was counted and in which state.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally(BTreeMap<(What, AnimalState), u64>);

/// One number of a tally.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TallyRow {
    /// A stage, or an undecided set.
    pub what: What,
    /// State of the animals.
    pub state: AnimalState,
    /// How many, 1 or more.
    pub number: u64,
}

/// A pooled check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PooledState {
    /// Its entry.
    pub entry: EntryId,
    /// The device.
    pub device: DeviceId,
    /// The totals.
    pub check: PooledCheck,
}

/// Adults counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AdultsState {
    /// Its entry.
    pub entry: EntryId,
    /// What was seen and how.
    pub counted: AdultsCounted,
}

/// Matched numbers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MatchedState {
    /// Its entry.
    pub entry: EntryId,
    /// The numbers.
    pub matched: Matched,
}

/// A photo.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoState {
    /// Its id.
    pub id: PhotoId,
    /// The device that took it.
    pub device: DeviceId,
    /// Octets.
    pub length: u64,
    /// Salted hash of the whole.
    pub hash: Hash,
    /// What it shows.
    pub of: PhotoOf,
    /// Whether it was lost before the station had it.
    pub lost: Option<EntryId>,
    /// The judgement in force, where it was audited.
    pub judged: Option<Judgement>,
}

/// An audit that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AuditState {
    /// The count.
    pub count: EntryId,
    /// Weight times 1000.
    pub weight_milli: u32,
    /// The photo, where one was taken.
    pub photo: Option<PhotoId>,
}

impl Tally {
    /// Adds a number; huge ones stop at the largest that can be kept, and nothing is nothing.
    pub(super) fn add(&mut self, what: What, state: AnimalState, number: u64) {
        if number == 0 {
            return;
        }
        let sum = self.0.entry((what, state)).or_default();
        *sum = sum.saturating_add(number);
    }

    /// Takes a number away: nothing in order does that, see [`crate::defect::Defect::TakeBackTwice`].
    pub(super) fn subtract(&mut self, what: &What, state: AnimalState, number: u64) {
        let key = (what.clone(), state);
        let left = self.0.get(&key).map_or(0, |had| had.saturating_sub(number));
        if left == 0 {
            self.0.remove(&key);
        } else {
            self.0.insert(key, left);
        }
    }

    /// The numbers in order; none is 0.
    pub fn rows(&self) -> impl Iterator<Item = TallyRow> + '_ {
        self.0.iter().map(|((what, state), &number)| TallyRow { what: what.clone(), state: *state, number })
    }

    /// Living animals counted as this.
    pub fn living(&self, what: &What) -> u64 {
        self.sum(|row, state| row == what && state.is_living())
    }

    /// Everything counted as this, in any state.
    pub fn all(&self, what: &What) -> u64 {
        self.sum(|row, _| row == what)
    }

    /// Everything counted.
    pub fn total(&self) -> u64 {
        self.sum(|_, _| true)
    }

    /// Living animals by what they were counted as.
    pub fn living_rows(&self) -> BTreeMap<What, u64> {
        let mut living = BTreeMap::new();
        for ((what, state), number) in &self.0 {
            if state.is_living() {
                let sum: &mut u64 = living.entry(what.clone()).or_default();
                *sum = sum.saturating_add(*number);
            }
        }
        living
    }

    /// Whether nothing was counted.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn sum(&self, keep: impl Fn(&What, AnimalState) -> bool) -> u64 {
        self.0
            .iter()
            .filter(|((what, state), _)| keep(what, *state))
            .fold(0, |sum, (_, &number)| sum.saturating_add(number))
    }
}

impl VisitState {
    /// The checks that enter estimates.
    pub fn entering(&self) -> impl Iterator<Item = &CheckState> {
        self.checks.iter().filter(|check| check.standing == Standing::Enters)
    }

    /// Living animals on all checks that enter estimates, pooled ones included, by what they were counted as.
    pub fn living_totals(&self) -> BTreeMap<What, u64> {
        let mut totals: BTreeMap<What, u64> = BTreeMap::new();
        let checks = self.entering().flat_map(|check| check.tally.living_rows());
        let pooled = self.pooled.iter().flat_map(|pooled| {
            pooled
                .check
                .totals
                .iter()
                .filter(|(_, number)| **number > 0)
                .map(|(what, &number)| (what.clone(), u64::from(number)))
        });
        for (what, number) in checks.chain(pooled) {
            let sum = totals.entry(what).or_default();
            *sum = sum.saturating_add(number);
        }
        totals
    }

    /// The date at the site on which it started.
    pub fn date(&self) -> Option<crate::date::Date> {
        self.started?.local_date(self.offset).map(Into::into)
    }
}

impl Serialize for Tally {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.rows())
    }
}

impl<'de> Deserialize<'de> for Tally {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut tally = Self::default();
        for row in Vec::<TallyRow>::deserialize(deserializer)? {
            tally.add(row.what, row.state, row.number);
        }
        Ok(tally)
    }
}
