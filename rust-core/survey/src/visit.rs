//! What is said of a visit, and what is counted in it beside plants.

use crate::ids::{CheckId, ObserverId};
use crate::protocol::{Protocol, Unit};
use crate::stage::What;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// The start of a visit on one device.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct VisitBegun {
    /// The protocol in force, whole.
    pub protocol: Protocol,
    /// Who searches, by random id.
    pub observers: BTreeSet<ObserverId>,
    /// Which plants of every k-th this device takes.
    #[serde(default, skip_serializing_if = "Share::is_all")]
    pub share: Share,
}

/// Which of the chosen plants a device takes, where two split them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Share {
    /// All of them.
    #[default]
    All,
    /// The first, third, fifth.
    Odd,
    /// The second, fourth, sixth.
    Even,
}

/// A description of a visit; a field left out says nothing about it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct VisitDescription {
    /// Who searches, by random id; replaces the set named at the start.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub observers: Option<BTreeSet<ObserverId>>,
    /// Start in milliseconds since 1970 UTC, where it was not the moment of *visit begun* (older records).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub started: Option<crate::time::UnixMs>,
    /// End in milliseconds since 1970 UTC, where it was not the moment of *visit ended*.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended: Option<crate::time::UnixMs>,
    /// Minutes of search by all people together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person_minutes: Option<u32>,
    /// Whether there were any host plants up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hosts_up: Option<HostsUp>,
}

/// Whether the patch had host plants at the visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HostsUp {
    /// Some were up.
    Yes,
    /// None were up: zero per hectare, no value per stem.
    None,
    /// All were mown: zero per hectare, no value per stem.
    AllMown,
}

/// Weather at a visit; a field left out was not noted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Weather {
    /// Air temperature in tenths of a degree Celsius, −600 to 600.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_decicelsius: Option<i16>,
    /// Wind by the Beaufort scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beaufort: Option<Beaufort>,
    /// Cloud by WMO code table 2700.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloud: Option<Oktas>,
    /// Rain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rain: Option<Rain>,
}

/// Wind force 0 to 9 by the Beaufort scale (WMO-No. 8).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Beaufort(u8);

/// Cloud 0 to 8 eighths, 9 where the sky is obscured (WMO code table 2700).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Oktas(u8);

/// A number outside the scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{0} is not on the scale of 0 to 9")]
pub struct OffScale(pub u8);

/// Rain, in words; intensities as in the glossary of the American Meteorological Society.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rain {
    /// None.
    None,
    /// Drizzle or mist.
    Drizzle,
    /// Light, up to 2.5 mm an hour.
    Light,
    /// Moderate, up to 7.6 mm an hour.
    Moderate,
    /// Heavy.
    Heavy,
}

/// Totals over a number of plants that were not kept apart: older records.
/// Estimates that need plants one by one are not available from it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PooledCheck {
    /// How many units were checked, `None` where it is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<u32>,
    /// The unit.
    pub unit: Unit,
    /// Living animals by stage or undecided set. A stage in scope and not named was looked for and not found.
    pub totals: BTreeMap<What, u32>,
}

/// Adults seen at a visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AdultsCounted {
    /// How they were looked for.
    pub effort: AdultEffort,
    /// How many, by what they did.
    pub seen: BTreeMap<AdultAct, u32>,
}

/// How adults were looked for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AdultEffort {
    /// A timed walk of their own.
    TimedWalk {
        /// Minutes.
        minutes: u32,
        /// Metres walked.
        metres: f64,
        /// Width looked over, in metres.
        width_m: f64,
    },
    /// Noted in passing: never an index.
    Noted,
}

/// What an adult did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AdultAct {
    /// A female laying.
    Laying,
    /// Feeding.
    Feeding,
    /// Mating.
    Mating,
    /// Flying or resting.
    Flying,
}

/// How many animals of one stage both of two independent checks of a plant saw.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Matched {
    /// The two checks.
    pub checks: [CheckId; 2],
    /// Seen by both, by stage; from 0 to the smaller count.
    pub both: BTreeMap<What, u32>,
}

/// What equal plant numbers of two devices in a joined visit turned out to be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChecksCompared {
    /// The checks that bear one number.
    pub checks: BTreeSet<CheckId>,
    /// What they are.
    pub verdict: Comparison,
}

/// What checks with equal numbers are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Comparison {
    /// The same plant, looked at independently: the check with the smallest id enters estimates.
    SamePlantIndependent,
    /// Different plants: all enter.
    DifferentPlants,
}

impl Share {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
    fn is_all(&self) -> bool {
        *self == Self::All
    }
}

impl Beaufort {
    /// The force as a number.
    pub const fn force(self) -> u8 {
        self.0
    }
}

impl Oktas {
    /// Eighths covered, 9 obscured.
    pub const fn code(self) -> u8 {
        self.0
    }
}

macro_rules! scale_of_ten {
    ($($name:ident),*) => {$(
        impl TryFrom<u8> for $name {
            type Error = OffScale;

            fn try_from(number: u8) -> Result<Self, OffScale> {
                if number <= 9 { Ok(Self(number)) } else { Err(OffScale(number)) }
            }
        }

        impl From<$name> for u8 {
            fn from(value: $name) -> Self {
                value.0
            }
        }
    )*};
}
scale_of_ten!(Beaufort, Oktas);
