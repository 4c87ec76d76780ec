//! Invented specimens to be drawn: what they are, and how large in every part.
//!
//! Sizes are in millimetres. Lengths at the moults and filaments are common practice without a source or from memory;
//! head widths follow Dyar's rule (Dyar 1890, Psyche 5: 420-422) from 0.60 mm by 1.45, both from memory.

use super::chance::Chance;
use serde::{Deserialize, Serialize};

/// What a specimen shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    /// A monarch egg.
    Egg,
    /// A monarch larva, first instar.
    Larva1,
    /// Second instar.
    Larva2,
    /// Third instar.
    Larva3,
    /// Fourth instar.
    Larva4,
    /// Fifth instar.
    Larva5,
    /// A monarch pupa.
    Pupa,
    /// Something else.
    Other(LookAlike),
}

/// What is taken for a monarch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LookAlike {
    /// A drop of milkweed latex.
    Latex,
    /// Another insect's egg.
    OtherEgg,
    /// A hatched or dead monarch egg.
    SpentEgg,
    /// Another *Danaus*.
    OtherDanaus,
    /// A hairy caterpillar.
    Hairy,
    /// Another larva.
    OtherLarva,
}

/// How far a larva is between its moults.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Age {
    /// Just moulted: pale head, loose skin.
    Fresh,
    /// Between.
    Middle,
    /// About to moult: swollen.
    BeforeMoult,
}

/// A specimen to be drawn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Specimen {
    /// What it is.
    pub subject: Subject,
    /// How it looks.
    pub look: SpecimenLook,
}

/// How a specimen looks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpecimenLook {
    /// A larva.
    Larva(LarvaLook),
    /// An egg, a droplet, or what is left of an egg.
    Egg(EggLook),
    /// A hanging case, this long in millimetres.
    Case {
        /// Length.
        length: f64,
    },
}

/// The parts of a larva, in millimetres.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LarvaLook {
    /// How far between its moults.
    pub age: Age,
    /// Length of the body.
    pub length: f64,
    /// Greatest width of the body.
    pub width: f64,
    /// Width of the head.
    pub head: f64,
    /// Length of the front filaments.
    pub front: f64,
    /// Length of the back filaments.
    pub back: f64,
    /// Length of a middle pair of filaments, 0 where there is none.
    pub middle: f64,
    /// Width of the black bands as a share of a segment, 0 where there are none.
    pub bands: f64,
    /// Whether the front filaments droop, as a share from stiff (0) to drooping (1).
    pub droop: f64,
    /// Length of hairs.
    pub hair: f64,
}

/// The parts of an egg or a droplet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EggLook {
    /// Height, millimetres.
    pub height: f64,
    /// Width, millimetres.
    pub width: f64,
    /// Number of lengthwise ridges to be seen, 0 for none.
    pub ridges: u8,
    /// How uneven the outline is, 0 smooth to 1.
    pub uneven: f64,
    /// How dark it is, 0 pale to 1 black.
    pub dark: f64,
    /// Length of a stalk, millimetres.
    pub stalk: f64,
    /// How many stand together.
    pub together: u8,
    /// Whether it is torn or caved in, 0 whole to 1.
    pub broken: f64,
}

/// Length just after and just before the moults that bound each instar.
const LENGTHS: [(f64, f64); 5] = [(2.0, 6.0), (5.0, 10.0), (9.0, 15.0), (13.0, 25.0), (23.0, 48.0)];
/// Head widths by instar.
const HEAD: [f64; 5] = [0.60, 0.87, 1.26, 1.83, 2.65];
/// Front filaments by instar; the back pair is about as long as the front pair one instar before.
const FRONT: [f64; 5] = [0.12, 0.6, 2.5, 5.0, 10.0];
const BACK: [f64; 5] = [0.05, 0.15, 0.7, 2.5, 5.0];
/// Width of the black bands by instar, as a share of a segment.
const BANDS: [f64; 5] = [0.06, 0.14, 0.2, 0.27, 0.38];

impl Subject {
    /// All, in the order of development, look-alikes last.
    pub const ALL: [Self; 13] = [
        Self::Egg,
        Self::Larva1,
        Self::Larva2,
        Self::Larva3,
        Self::Larva4,
        Self::Larva5,
        Self::Pupa,
        Self::Other(LookAlike::Latex),
        Self::Other(LookAlike::OtherEgg),
        Self::Other(LookAlike::SpentEgg),
        Self::Other(LookAlike::OtherDanaus),
        Self::Other(LookAlike::Hairy),
        Self::Other(LookAlike::OtherLarva),
    ];

    /// The outcome of the monarch's key that it is.
    pub const fn outcome(self) -> &'static str {
        match self {
            Self::Egg => "egg",
            Self::Larva1 => "larva1",
            Self::Larva2 => "larva2",
            Self::Larva3 => "larva3",
            Self::Larva4 => "larva4",
            Self::Larva5 => "larva5",
            Self::Pupa => "pupa",
            Self::Other(LookAlike::Latex) => "latex",
            Self::Other(LookAlike::OtherEgg) => "other-egg",
            Self::Other(LookAlike::SpentEgg) => "spent-egg",
            Self::Other(LookAlike::OtherDanaus) => "other-danaus",
            Self::Other(LookAlike::Hairy) => "hairy",
            Self::Other(LookAlike::OtherLarva) => "other-larva",
        }
    }

    /// The subject that this outcome of the monarch's key is.
    pub fn of_outcome(outcome: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|subject| subject.outcome() == outcome)
    }

    const fn instar(self) -> Option<usize> {
        match self {
            Self::Larva1 => Some(0),
            Self::Larva2 => Some(1),
            Self::Larva3 => Some(2),
            Self::Larva4 => Some(3),
            Self::Larva5 => Some(4),
            Self::Egg | Self::Pupa | Self::Other(_) => None,
        }
    }
}

impl Specimen {
    /// A specimen of this subject at this age; where it has no instar the age says nothing.
    pub(crate) fn draw(subject: Subject, age: Age, chance: &mut Chance) -> Self {
        let look = match subject {
            Subject::Pupa => SpecimenLook::Case { length: chance.between(24.0, 30.0) },
            Subject::Egg => SpecimenLook::Egg(egg(chance)),
            Subject::Other(LookAlike::Latex) => SpecimenLook::Egg(EggLook {
                height: chance.between(0.5, 1.4),
                width: chance.between(0.7, 2.0),
                ridges: 0,
                uneven: chance.between(0.2, 1.0),
                ..egg(chance)
            }),
            Subject::Other(LookAlike::OtherEgg) => SpecimenLook::Egg(other_egg(chance)),
            Subject::Other(LookAlike::SpentEgg) => {
                let dark = chance.pick(&[0.0, 1.0]).unwrap_or(1.0);
                SpecimenLook::Egg(EggLook { dark, broken: 1.0 - 0.5 * dark, ..egg(chance) })
            }
            Subject::Other(LookAlike::OtherDanaus) => {
                let instar = chance.pick(&[2, 3, 4]).unwrap_or(4);
                let alike = larva(instar, age, chance);
                SpecimenLook::Larva(LarvaLook { middle: 0.8 * alike.back, ..alike })
            }
            Subject::Other(LookAlike::Hairy) => {
                let length = chance.between(4.0, 33.0);
                let (head, width) = (0.1 * length, 0.2 * length);
                let plain =
                    LarvaLook { length, head, width, front: 0.0, back: 0.0, bands: 0.0, ..larva(2, age, chance) };
                SpecimenLook::Larva(LarvaLook { hair: 0.2 * length, ..plain })
            }
            Subject::Other(LookAlike::OtherLarva) => {
                let length = chance.between(3.0, 30.0);
                let (head, width) = (0.08 * length, 0.15 * length);
                SpecimenLook::Larva(LarvaLook {
                    length,
                    head,
                    width,
                    front: 0.0,
                    back: 0.0,
                    bands: 0.0,
                    ..larva(2, age, chance)
                })
            }
            Subject::Larva1 | Subject::Larva2 | Subject::Larva3 | Subject::Larva4 | Subject::Larva5 => {
                SpecimenLook::Larva(larva(subject.instar().unwrap_or(0), age, chance))
            }
        };
        Self { subject, look }
    }
}

fn larva(instar: usize, age: Age, chance: &mut Chance) -> LarvaLook {
    let grown = match age {
        Age::Fresh => chance.between(0.0, 0.1),
        Age::Middle => chance.between(0.3, 0.7),
        Age::BeforeMoult => chance.between(0.9, 1.0),
    };
    let build = chance.between(0.94, 1.06);
    let (low, high) = LENGTHS[instar];
    let length = build * low * (high / low).powf(grown);
    let unfed = instar == 0 && age == Age::Fresh;
    LarvaLook {
        age,
        length,
        width: length * 0.04_f64.mul_add(grown, 0.14),
        head: build * HEAD[instar],
        front: build * FRONT[instar],
        back: build * BACK[instar],
        middle: 0.0,
        bands: if unfed { 0.0 } else { BANDS[instar] * chance.between(0.85, 1.15) },
        droop: if instar == 4 { chance.between(0.7, 1.0) } else { chance.between(0.0, 0.3) },
        hair: 0.0,
    }
}

fn egg(chance: &mut Chance) -> EggLook {
    EggLook {
        height: chance.between(1.1, 1.3),
        width: chance.between(0.85, 0.95),
        ridges: 22,
        uneven: 0.0,
        dark: 0.0,
        stalk: 0.0,
        together: 1,
        broken: 0.0,
    }
}

fn other_egg(chance: &mut Chance) -> EggLook {
    let plain = EggLook { ridges: 0, height: chance.between(0.4, 0.9), width: chance.between(0.4, 1.0), ..egg(chance) };
    if chance.even() < 0.5 {
        EggLook { stalk: chance.between(4.0, 9.0), ..plain }
    } else {
        EggLook { together: 12, ..plain }
    }
}
