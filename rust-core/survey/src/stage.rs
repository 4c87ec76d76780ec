//! Stages, outcomes, undecided sets, and the state of an animal.

use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

/// A stage of the monarch as it is counted on a plant. Adults are counted per visit, not here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// Egg.
    Egg,
    /// Larva of the first instar.
    Larva1,
    /// Larva of the second instar.
    Larva2,
    /// Larva of the third instar.
    Larva3,
    /// Larva of the fourth instar.
    Larva4,
    /// Larva of the fifth instar.
    Larva5,
    /// A larva whose instar was not judged.
    Larva,
    /// Pupa.
    Pupa,
}

/// What the thing on the leaf may turn out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// A monarch of this stage.
    Stage(Stage),
    /// Not an animal, or not this species.
    NotThis,
}

/// Two or more outcomes between which nothing was decided.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "BTreeSet<Outcome>", into = "BTreeSet<Outcome>")]
pub struct Undecided(BTreeSet<Outcome>);

/// What one act of counting counted. Written `egg`, or `egg+none` where undecided.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// A stage, decided.
    Stage(Stage),
    /// One of several outcomes, kept undecided.
    Undecided(Undecided),
}

/// The state of an animal beside its stage. Only the living enter density and stage structure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AnimalState {
    /// Alive, the default.
    #[default]
    Alive,
    /// A living egg about to hatch: its top is dark.
    AboutToHatch,
    /// A living larva that is moulting.
    Moulting,
    /// A living larva that is being eaten by a predator at the moment.
    BeingEaten,
    /// The shell of a hatched egg.
    HatchedShell,
    /// A collapsed egg.
    Collapsed,
    /// An egg wholly dark, or with a hole.
    DarkOrHoled,
    /// A limp or blackened larva.
    LimpOrBlackened,
    /// A parasitoid was seen leaving it.
    ParasitoidLeaving,
    /// Only a skin.
    SkinOnly,
}

/// A word that names no stage or outcome.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StageError {
    /// No stage or outcome has this name.
    #[error("{0:?} names no stage or outcome")]
    UnknownName(String),
    /// An undecided set needs at least two outcomes.
    #[error("an undecided count names at least two different outcomes")]
    TooFewOutcomes,
}

impl Stage {
    /// All stages in order of development, the unjudged larva between the fifth instar and the pupa.
    pub const ALL: [Self; 8] =
        [Self::Egg, Self::Larva1, Self::Larva2, Self::Larva3, Self::Larva4, Self::Larva5, Self::Larva, Self::Pupa];

    /// Egg and the five instars.
    pub const EGG_TO_LARVA5: [Self; 6] =
        [Self::Egg, Self::Larva1, Self::Larva2, Self::Larva3, Self::Larva4, Self::Larva5];

    /// The name in files, entries and message ids.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Egg => "egg",
            Self::Larva1 => "larva1",
            Self::Larva2 => "larva2",
            Self::Larva3 => "larva3",
            Self::Larva4 => "larva4",
            Self::Larva5 => "larva5",
            Self::Larva => "larva",
            Self::Pupa => "pupa",
        }
    }
}

impl Outcome {
    /// The name in files, entries and message ids; `none` for [`Outcome::NotThis`].
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stage(stage) => stage.name(),
            Self::NotThis => "none",
        }
    }
}

impl Undecided {
    /// The set of these outcomes.
    ///
    /// # Errors
    /// Fewer than two different outcomes.
    pub fn among(outcomes: impl IntoIterator<Item = Outcome>) -> Result<Self, StageError> {
        let set: BTreeSet<_> = outcomes.into_iter().collect();
        if set.len() < 2 { Err(StageError::TooFewOutcomes) } else { Ok(Self(set)) }
    }

    /// Egg, or nothing of ours: the set that comes first.
    pub fn egg_or_not() -> Self {
        Self(BTreeSet::from([Outcome::Stage(Stage::Egg), Outcome::NotThis]))
    }

    /// The outcomes, in order.
    pub fn outcomes(&self) -> impl Iterator<Item = Outcome> + '_ {
        self.0.iter().copied()
    }
}

impl Undecided {
    /// Pairs of neighbouring instars among these stages: what observers hesitate between most.
    pub fn neighbours(stages: &BTreeSet<Stage>) -> Vec<Self> {
        let instars = [Stage::Larva1, Stage::Larva2, Stage::Larva3, Stage::Larva4, Stage::Larva5];
        let pairs = instars.windows(2).filter(|pair| pair.iter().all(|stage| stages.contains(stage)));
        pairs.map(|pair| Self(pair.iter().map(|&stage| Outcome::Stage(stage)).collect())).collect()
    }
}

impl What {
    /// The stages that this may be.
    pub fn stages(&self) -> Vec<Stage> {
        match self {
            Self::Stage(stage) => vec![*stage],
            Self::Undecided(set) => set
                .outcomes()
                .filter_map(|outcome| match outcome {
                    Outcome::Stage(stage) => Some(stage),
                    Outcome::NotThis => None,
                })
                .collect(),
        }
    }
}

impl AnimalState {
    /// Whether the animal is alive, so that it enters density and stage structure.
    pub const fn is_living(self) -> bool {
        match self {
            Self::Alive | Self::AboutToHatch | Self::Moulting | Self::BeingEaten => true,
            Self::HatchedShell
            | Self::Collapsed
            | Self::DarkOrHoled
            | Self::LimpOrBlackened
            | Self::ParasitoidLeaving
            | Self::SkinOnly => false,
        }
    }

    /// The name in files, entries and message ids.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Alive => "alive",
            Self::AboutToHatch => "about-to-hatch",
            Self::Moulting => "moulting",
            Self::BeingEaten => "being-eaten",
            Self::HatchedShell => "hatched-shell",
            Self::Collapsed => "collapsed",
            Self::DarkOrHoled => "dark-or-holed",
            Self::LimpOrBlackened => "limp-or-blackened",
            Self::ParasitoidLeaving => "parasitoid-leaving",
            Self::SkinOnly => "skin-only",
        }
    }
}

impl AnimalState {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Alive,
        Self::AboutToHatch,
        Self::Moulting,
        Self::BeingEaten,
        Self::HatchedShell,
        Self::Collapsed,
        Self::DarkOrHoled,
        Self::LimpOrBlackened,
        Self::ParasitoidLeaving,
        Self::SkinOnly,
    ];

    /// The one of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.name() == name)
    }

    /// The states other than alive that an animal of this stage may be in.
    pub const fn of(stage: Stage) -> &'static [Self] {
        match stage {
            Stage::Egg => &[Self::AboutToHatch, Self::HatchedShell, Self::Collapsed, Self::DarkOrHoled],
            Stage::Larva1 | Stage::Larva2 | Stage::Larva3 | Stage::Larva4 | Stage::Larva5 | Stage::Larva => {
                &[Self::Moulting, Self::BeingEaten, Self::LimpOrBlackened, Self::ParasitoidLeaving, Self::SkinOnly]
            }
            Stage::Pupa => &[Self::DarkOrHoled, Self::ParasitoidLeaving, Self::SkinOnly],
        }
    }
}

impl From<Stage> for What {
    fn from(stage: Stage) -> Self {
        Self::Stage(stage)
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stage(stage) => stage.fmt(f),
            Self::Undecided(set) => {
                for (index, outcome) in set.outcomes().enumerate() {
                    if index > 0 {
                        f.write_str("+")?;
                    }
                    outcome.fmt(f)?;
                }
                Ok(())
            }
        }
    }
}

impl FromStr for Stage {
    type Err = StageError;

    fn from_str(name: &str) -> Result<Self, StageError> {
        Self::ALL
            .into_iter()
            .find(|stage| stage.name() == name)
            .ok_or_else(|| StageError::UnknownName(name.chars().take(64).collect()))
    }
}

impl FromStr for Outcome {
    type Err = StageError;

    fn from_str(name: &str) -> Result<Self, StageError> {
        if name == Self::NotThis.name() { Ok(Self::NotThis) } else { name.parse().map(Self::Stage) }
    }
}

impl FromStr for What {
    type Err = StageError;

    fn from_str(name: &str) -> Result<Self, StageError> {
        if name.contains('+') {
            let outcomes = name.split('+').map(str::parse).collect::<Result<Vec<_>, _>>()?;
            Undecided::among(outcomes).map(Self::Undecided)
        } else {
            name.parse().map(Self::Stage)
        }
    }
}

impl TryFrom<BTreeSet<Outcome>> for Undecided {
    type Error = StageError;

    fn try_from(outcomes: BTreeSet<Outcome>) -> Result<Self, StageError> {
        Self::among(outcomes)
    }
}

impl From<Undecided> for BTreeSet<Outcome> {
    fn from(set: Undecided) -> Self {
        set.0
    }
}

macro_rules! serde_by_name {
    ($($name:ty),*) => {$(
        impl Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let name = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
                name.parse().map_err(serde::de::Error::custom)
            }
        }
    )*};
}
serde_by_name!(Stage, Outcome, What);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_and_read_alike() {
        for name in ["egg", "larva5", "larva", "pupa", "egg+none", "larva2+larva3", "egg+larva1+none"] {
            let what: What = name.parse().unwrap();
            assert_eq!(what.to_string(), name);
            assert_eq!(serde_json::from_str::<What>(&serde_json::to_string(&what).unwrap()).unwrap(), what);
        }
    }

    #[test]
    fn doubt_needs_two_outcomes() {
        assert_eq!("egg+egg".parse::<What>(), Err(StageError::TooFewOutcomes));
        assert_eq!("egg+".parse::<What>(), Err(StageError::UnknownName(String::new())));
        assert_eq!("larva6".parse::<What>(), Err(StageError::UnknownName("larva6".into())));
    }
}
