//! The protocol in force: what is counted, on what, chosen how.

use crate::ids::ProtocolId;
use crate::stage::Stage;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// A version of a protocol, copied whole into each visit when it begins and never changed there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Protocol {
    /// This version's id.
    pub id: ProtocolId,
    /// What it is called.
    pub name: String,
    /// The stages that are looked for: a zero of one of these is a zero, of another it is nothing.
    pub stages: BTreeSet<Stage>,
    /// How plants are chosen.
    pub choice: PlantChoice,
    /// Unit of a check for each host; a host not named here has the unit under [`Host::NotDetermined`].
    pub units: BTreeMap<Host, Unit>,
    /// What of a plant is searched.
    pub search: SearchRule,
    /// One counted animal in this many is asked for as an audit photo; 0 is none.
    pub audit_one_in: u16,
    /// When enough plants were checked.
    pub stop: StopRule,
}

/// A host plant.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Host {
    /// A species, by its scientific name without author, such as `Asclepias syriaca`.
    Species(String),
    /// Milkweed, species not determined.
    NotDetermined,
    /// Not milkweed after all.
    NotMilkweed,
}

/// Unit of a check. Units are never added or averaged together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// A shoot that leaves the ground by itself.
    Stem,
    /// Stems of one species rising within 10 cm of each other, with their number.
    Clump,
}

/// How plants are chosen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PlantChoice {
    /// Every k-th stem along a walk with a random start.
    EveryKth {
        /// The k, 1 or more.
        k: u32,
        /// Stems passed over before the first, below k.
        start: u32,
    },
    /// All stems within a radius of seeded points; the point is the cluster.
    Clusters {
        /// Metres, above 0.
        radius_m: f64,
        /// Seed of the points.
        seed: u64,
    },
    /// Tagged plants.
    Tagged,
    /// All plants of the site.
    All,
    /// The observer's choice: labelled so, and kept out of per-hectare figures.
    ObserversChoice,
}

/// What of a plant is searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SearchRule {
    /// Both sides of all leaves, stem, buds, flowers, pods.
    Whole,
    /// The upper third of the shoot alone.
    UpperThird,
    /// The under sides of leaves alone.
    LeafUnderSides,
}

/// When enough plants were checked; all numbers count whole checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct StopRule {
    /// The stages, taken together, that the goal is about.
    pub goal: GoalGroup,
    /// Never fewer than this.
    pub at_least: u32,
    /// Never more than this.
    pub at_most: u32,
}

/// The stage group that a stop rule is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GoalGroup {
    /// Eggs.
    Eggs,
    /// Larvae of any instar.
    Larvae,
    /// Eggs and larvae.
    Immatures,
}

impl Protocol {
    /// The unit in which plants of this host are checked.
    pub fn unit_of(&self, host: &Host) -> Unit {
        self.units.get(host).or_else(|| self.units.get(&Host::NotDetermined)).copied().unwrap_or(Unit::Stem)
    }
}

impl Host {
    /// The name in files and entries.
    pub fn name(&self) -> &str {
        match self {
            Self::Species(name) => name,
            Self::NotDetermined => "milkweed-not-determined",
            Self::NotMilkweed => "not-milkweed",
        }
    }
}

impl Unit {
    /// The name in files, entries and message ids.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stem => "stem",
            Self::Clump => "clump",
        }
    }
}

impl From<String> for Host {
    fn from(name: String) -> Self {
        match name.as_str() {
            "milkweed-not-determined" => Self::NotDetermined,
            "not-milkweed" => Self::NotMilkweed,
            _ => Self::Species(name),
        }
    }
}

impl Serialize for Host {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Host {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer).map(Self::from)
    }
}
