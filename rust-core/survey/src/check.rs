//! What is said of a plant check, and what is counted on it.

use crate::chain::Hash;
use crate::ids::{CheckId, EntryId, ObserverId, PhotoId, PlantId};
use crate::protocol::{Host, Unit};
use crate::site::{PlantFate, is_alive};
use crate::stage::{AnimalState, Outcome, What};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The start of a plant check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlantOpened {
    /// Its identity.
    pub check: CheckId,
    /// The number shown to people, from 1 on each device.
    pub number: u32,
    /// Unit of the check.
    pub unit: Unit,
    /// Host plant, where it is known at the start.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub host: Option<Host>,
    /// The tagged plant it is, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plant: Option<PlantId>,
}

/// A description of a plant at its check; a field left out says nothing about it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckDescription {
    /// Host plant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub host: Option<Host>,
    /// Stems of a clump, 1 or more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stems: Option<u32>,
    /// Height in centimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_cm: Option<u16>,
    /// Principal growth stages 0 to 9 of the general BBCH scale (Meier 2001), one or two.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bbch: Option<Bbch>,
    /// Condition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<Condition>,
    /// How a tagged plant was found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fate: Option<PlantFate>,
    /// Open flowers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub open_flowers: Option<Seen>,
    /// Ants, aphids and predators, off by default.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub company: Option<BTreeMap<Company, Abundance>>,
}

/// One or two principal growth stages of the general BBCH scale, written `5` or `5/7`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Bbch {
    main: u8,
    beside: Option<u8>,
}

/// The text is no growth stage.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no BBCH principal growth stage; write 5 or 5/7")]
pub struct NotBbch(String);

/// Condition of a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Sound.
    Sound,
    /// Mown or cut.
    Cut,
    /// Eaten back.
    EatenBack,
    /// Dried up.
    DriedUp,
    /// Diseased.
    Diseased,
}

/// A yes or no that was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// Yes.
    Yes,
    /// Looked, and no.
    No,
}

/// Who else sits on a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Company {
    /// Ants.
    Ants,
    /// Aphids.
    Aphids,
    /// Predators.
    Predators,
}

/// How many, in four classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Abundance {
    /// None.
    #[serde(rename = "0")]
    None,
    /// 1 to 10.
    #[serde(rename = "1-10")]
    Few,
    /// 11 to 100.
    #[serde(rename = "11-100")]
    Many,
    /// More than 100.
    #[serde(rename = ">100")]
    Hosts,
}

/// The end of a plant check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlantClosed {
    /// Which check.
    pub check: CheckId,
    /// How much of the plant was searched.
    pub extent: Extent,
    /// Whether it was looked at and found empty; in the same act where nothing is counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty: Option<SeenEmpty>,
}

/// How much of a plant was searched under the search rule. Only whole checks enter densities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Extent {
    /// All that the search rule names.
    Whole,
    /// A part of it.
    Part,
    /// Not searched, for this reason.
    Refused(RefusedFor),
}

/// Why a plant was not searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RefusedFor {
    /// Could not be reached.
    OutOfReach,
    /// Wasps, ticks, animals, traffic or another danger.
    Danger,
    /// Rain, dusk or another hindrance to seeing.
    CouldNotSee,
    /// The plant would have been harmed.
    WouldHarm,
    /// Another reason.
    Other,
}

/// The deliberate statement that a plant was searched and nothing was there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SeenEmpty {
    /// Every stage in scope was looked for, none was there.
    SeenEmpty,
}

/// A count on a plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Counted {
    /// On which check.
    pub check: CheckId,
    /// A stage, or an undecided set.
    pub what: What,
    /// How many, 1 or more; 1 for a tap.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub number: u32,
    /// State of the animal.
    #[serde(default, skip_serializing_if = "is_alive")]
    pub state: AnimalState,
    /// What a stage key said, where it was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<KeyEvidence>,
}

/// Something on a plant that turned out to be none of this species: a drop, another egg, another caterpillar. It is no
/// count, for it enters no total and no estimate; what the key was told of it is kept for whoever reviews.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OtherNoted {
    /// On which check.
    pub check: CheckId,
    /// How many, 1 or more.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub number: u32,
    /// What a stage key said, where it was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<KeyEvidence>,
}

/// What a stage key said of one animal. Every estimate uses the likelihood alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeyEvidence {
    /// SHA-256 of the key file.
    pub key: Hash,
    /// The answers, state by character.
    pub answers: BTreeMap<String, String>,
    /// Likelihood of the answers by outcome, scaled to sum to one.
    pub support: Vec<(Outcome, f64)>,
    /// The observer's own guess before the key was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guess: Option<Outcome>,
    /// A prior that was used for what the observer saw, by outcome.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prior: Option<Vec<(Outcome, f64)>>,
}

/// A photo, named by this entry; its parts follow by themselves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoTaken {
    /// The photo.
    pub photo: PhotoId,
    /// Octets of the stripped JPEG; the number of 1 MiB parts follows from it.
    pub length: u64,
    /// Salted hash of the whole.
    pub hash: Hash,
    /// What it shows.
    pub of: PhotoOf,
}

/// What a photo shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PhotoOf {
    /// The animal of this count.
    Count(EntryId),
    /// The plant of this check.
    Check(CheckId),
    /// The animal found outside the sample in this entry.
    OutsideFind(EntryId),
    /// The site as a whole.
    Site,
}

/// A photo asked for at random after a count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AuditRequested {
    /// The count.
    pub count: EntryId,
    /// How many counts of its kind stand for it: the inverse of the chance of being asked, times 1000.
    pub weight_milli: u32,
}

/// The judgement of an audit photo by a person who saw neither the count nor a name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AuditJudged {
    /// The photo.
    pub photo: PhotoId,
    /// What it shows.
    pub judged: Judgement,
}

/// What an audit photo shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judgement {
    /// This.
    Is(Outcome),
    /// It cannot be judged.
    CannotJudge,
}

/// A review of one count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reviewed {
    /// The count that is reviewed.
    pub count: EntryId,
    /// What it was instead, split over stages; empty where it was nothing of ours.
    pub instead: BTreeMap<What, u32>,
    /// Why.
    pub reason: ReviewReason,
    /// Who reviewed, by random id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<ObserverId>,
}

/// Why a count was reviewed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ReviewReason {
    /// A photo shows otherwise.
    Photo,
    /// The observer said so.
    ObserverSaid,
    /// Counted twice.
    Twice,
    /// The number cannot be.
    Implausible,
}

impl ReviewReason {
    /// All reasons.
    pub const ALL: [Self; 4] = [Self::Photo, Self::ObserverSaid, Self::Twice, Self::Implausible];

    /// The name in entries, forms and message ids.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Photo => "photo",
            Self::ObserverSaid => "observer-said",
            Self::Twice => "twice",
            Self::Implausible => "implausible",
        }
    }
}

impl Bbch {
    /// One principal growth stage, or two that run in parallel, each 0 to 9.
    ///
    /// # Errors
    /// A number above 9.
    pub fn new(main: u8, beside: Option<u8>) -> Result<Self, NotBbch> {
        let stages = Self { main, beside };
        if main > 9 || beside.is_some_and(|stage| stage > 9) {
            return Err(NotBbch(stages.to_string()));
        }
        Ok(stages)
    }
}

impl std::fmt::Display for Bbch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.beside {
            None => self.main.fmt(f),
            Some(beside) => write!(f, "{}/{beside}", self.main),
        }
    }
}

impl TryFrom<String> for Bbch {
    type Error = NotBbch;

    fn try_from(text: String) -> Result<Self, NotBbch> {
        let mut stages = text.split('/').map(str::parse::<u8>);
        match (stages.next(), stages.next(), stages.next()) {
            (Some(Ok(main)), None, None) => Self::new(main, None),
            (Some(Ok(main)), Some(Ok(beside)), None) => Self::new(main, Some(beside)),
            _ => Err(NotBbch(text.chars().take(64).collect())),
        }
    }
}

impl From<Bbch> for String {
    fn from(stages: Bbch) -> Self {
        stages.to_string()
    }
}

const fn one() -> u32 {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
const fn is_one(number: &u32) -> bool {
    *number == 1
}
