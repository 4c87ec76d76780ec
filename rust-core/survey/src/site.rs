//! What is said of a site, its tagged plants, its host plants, and what was done to it.

use crate::chain::Hash;
use crate::date::Date;
use crate::ids::{EggId, PlantId};
use crate::place::{Place, PublicPrecision};
use crate::protocol::Host;
use crate::stage::{AnimalState, What};
use serde::{Deserialize, Serialize};

/// A description of a site; a field left out says nothing about it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SiteDescription {
    /// Its name, as people call it. Not a person's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Where it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// How finely that may be published.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub public_precision: Option<PublicPrecision>,
    /// Private land, or someone's home: published no finer than 0.01 degree.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub private: Option<Privacy>,
    /// Whether other species of *Danaus* breed here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other_danaus: Option<OtherDanaus>,
    /// Stems expected on the whole site, for choosing every k-th.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stems_expected: Option<u32>,
}

/// Whose land.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Privacy {
    /// Open to the public.
    Public,
    /// Private land, or a home.
    Private,
}

/// Whether eggs and first instars here may belong to another *Danaus*.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum OtherDanaus {
    /// None breed here.
    None,
    /// Some do: egg and larva 1 are stage certain, species "*Danaus*, not determined".
    Breed,
}

/// A tagged plant as it is described.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PlantDescription {
    /// The label on the tag.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Where it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Its species.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub host: Option<Host>,
}

/// How a tagged plant was found at a visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PlantFate {
    /// As before.
    AsBefore,
    /// Cut.
    Cut,
    /// Browsed.
    Browsed,
    /// Dried up.
    DriedUp,
    /// Not found, which is not empty.
    NotFound,
}

/// A count of host stems in belts or plots, a task of its own with its own date.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HostCount {
    /// The date, local, as `YYYY-MM-DD`.
    pub date: Date,
    /// Every belt or plot, the empty ones too.
    pub belts: Vec<Belt>,
}

/// One belt or plot of known size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Belt {
    /// Its area in square metres, above 0.
    pub square_metres: f64,
    /// Stems by species; empty where there were none.
    pub stems: Vec<(Host, u32)>,
}

/// Something done to a site that breaks its season's curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Management {
    /// What was done.
    pub what: ManagementKind,
    /// The date, local, as `YYYY-MM-DD`.
    pub date: Date,
    /// Share of the patch, 0 to 1.
    pub share: f64,
    /// Who says so.
    pub told_by: ToldBy,
}

/// What was done to a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ManagementKind {
    /// Cut or mown.
    Cut,
    /// Grazed.
    Grazed,
    /// Burnt.
    Burnt,
    /// Sprayed against insects.
    Sprayed,
    /// Herbicide used near it.
    HerbicideNear,
}

/// How it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ToldBy {
    /// The observer saw it being done, or its traces.
    Observer,
    /// The owner or manager of the land.
    Manager,
    /// Somebody else.
    Other,
}

/// An animal found outside the sample: for first and last dates, never in a density.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OutsideFind {
    /// What it was.
    pub what: What,
    /// Its state.
    #[serde(default, skip_serializing_if = "is_alive")]
    pub state: AnimalState,
    /// How many, 1 or more.
    pub number: u32,
    /// What it sat on.
    pub on: SatOn,
    /// Where.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

/// What an animal found outside the sample sat on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SatOn {
    /// A host plant outside the sample.
    Host(Host),
    /// Another plant.
    OtherPlant,
    /// The ground.
    Ground,
    /// A building, fence or other made thing.
    MadeThing,
}

/// A visit to a single egg that is followed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EggSeen {
    /// Which egg.
    pub egg: EggId,
    /// On which tagged plant, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plant: Option<PlantId>,
    /// Leaf pair from the top, 1 or more.
    pub leaf_pair: u16,
    /// Which side of the leaf.
    pub side: LeafSide,
    /// What became of it.
    pub fate: EggFate,
}

/// Side of a leaf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeafSide {
    /// The under side.
    Under,
    /// The upper side.
    Upper,
}

/// What became of a followed egg.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EggFate {
    /// Still there and alive.
    Present,
    /// Hatched.
    Hatched,
    /// Gone.
    Gone,
    /// Collapsed.
    Collapsed,
    /// Dark.
    Dark,
    /// The leaf is lost.
    LeafLost,
    /// Not known.
    NotKnown,
}

/// A note: text that lies as a blob elsewhere and can be erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// Salted hash that names the blob.
    pub text: Hash,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
pub(crate) fn is_alive(state: &AnimalState) -> bool {
    *state == AnimalState::Alive
}
