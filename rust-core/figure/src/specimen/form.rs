//! What a caterpillar looks like, in numbers.

use serde::{Deserialize, Serialize};

/// One of the five instars.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Instar {
    /// From the egg to the first moult.
    First,
    /// To the second moult.
    Second,
    /// To the third moult.
    Third,
    /// To the fourth moult.
    Fourth,
    /// To the pupa.
    Fifth,
}

/// Filaments shorter than this, in millimetres, are not to be seen by eye (chosen for drawing, no source).
pub(super) const SEEN: f64 = 0.25;

/// How far an animal is within its instar: 0 just after a moult, 1 just before the next.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(from = "f64", into = "f64")]
pub struct Growth(f64);

/// How filaments are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Posture {
    /// Straight, forward and up.
    Stiff,
    /// Bent over by their own weight.
    Drooping,
    /// The front pair laid along the body towards the head, for comparing; the others straight.
    LaidForward,
}

/// The look of the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Head {
    /// All black.
    Black,
    /// Black with a light mark.
    BlackMarked,
    /// Black and light stripes.
    Striped,
    /// Pale, as for some hours after a moult.
    Pale,
}

/// The pattern along the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bands {
    /// One colour, shiny.
    None,
    /// Grey shadows of bands.
    Faint,
    /// Thin black bands on white with a little yellow.
    Thin,
    /// Black, white and yellow bands about equally wide.
    Even,
    /// Wide black bands.
    Wide,
    /// Lengthwise stripes and dots instead of bands.
    OtherPattern,
}

/// How tight the skin is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Skin {
    /// In folds, as after a moult.
    Loose,
    /// Usual.
    Even,
    /// Stretched, as before a moult.
    Swollen,
}

/// The part behind the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Collar {
    /// Like the rest.
    Plain,
    /// Two dark patches.
    Patches,
    /// Dark bars.
    Bars,
}

/// Hair on the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hair {
    /// None to be seen.
    Bare,
    /// Single short bristles.
    Bristles,
    /// Long tufts.
    Long,
}

/// Pale spots on the fleshy legs of the belly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProlegSpots {
    /// None.
    None,
    /// Hardly to be seen.
    Faint,
    /// Clear.
    Clear,
}

/// A caterpillar in side view. Lengths in millimetres; 0 for a pair of filaments that is not to be seen.
///
/// A drawing takes what is not finite or out of range for the nearest that can be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Larva {
    /// From the front of the head to the tail, without filaments; drawn within 0.5 to 80.
    pub length: f64,
    /// Greatest height of the body over its length; drawn within 0.05 to 0.4.
    pub plumpness: f64,
    /// Width of the head; drawn within 0.1 to 8 and a third of the length.
    pub head_width: f64,
    /// Front pair of filaments, on the second part behind the head.
    pub front: f64,
    /// A pair between the two, which only other species have.
    pub middle: f64,
    /// Back pair.
    pub back: f64,
    /// How they are held.
    pub posture: Posture,
    /// The head.
    pub head: Head,
    /// The pattern.
    pub bands: Bands,
    /// The skin.
    pub skin: Skin,
    /// The part behind the head.
    pub collar: Collar,
    /// Hair.
    pub hair: Hair,
    /// Length of the three pairs of jointed legs over the height of the body; drawn within 0.05 to 0.8.
    pub legs: f64,
    /// Spots on the fleshy legs.
    pub proleg_spots: ProlegSpots,
}

/// How far the front filaments reach when they are laid forward.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reach {
    /// None to be seen.
    None,
    /// Not to the front of the head.
    Short,
    /// About to the front of the head.
    Reaches,
    /// A little past it.
    Beyond,
    /// Past it by more than the head is long.
    FarBeyond,
}

impl Instar {
    /// All five, in order.
    pub const ALL: [Self; 5] = [Self::First, Self::Second, Self::Third, Self::Fourth, Self::Fifth];

    /// 1 to 5.
    pub const fn number(self) -> u8 {
        match self {
            Self::First => 1,
            Self::Second => 2,
            Self::Third => 3,
            Self::Fourth => 4,
            Self::Fifth => 5,
        }
    }
}

impl Growth {
    /// Just after a moult.
    pub const FRESH: Self = Self(0.0);
    /// Half way.
    pub const MIDDLE: Self = Self(0.5);
    /// Just before the next moult.
    pub const FULL: Self = Self(1.0);

    /// Within 0 and 1.
    pub const fn share(self) -> f64 {
        self.0
    }
}

/// What is outside 0 to 1 becomes the nearer end, what is no number the middle.
impl From<f64> for Growth {
    fn from(share: f64) -> Self {
        if share.is_nan() { Self::MIDDLE } else { Self(share.clamp(0.0, 1.0)) }
    }
}

impl From<Growth> for f64 {
    fn from(growth: Growth) -> Self {
        growth.0
    }
}

/// Sizes of one instar, in millimetres: body just after the moult and just before the next, head, front and back pair.
///
/// Body lengths at hatching, and of the third and fifth instar: published descriptions (about 2 mm; 10 to 15 mm; 25 to
/// 45 mm). Front pair of the third to fifth (half a fourth's, 5, 10), the rest of the body lengths: common practice, no
/// source. The back pair is about as long as the front pair one instar before, a little longer in the third for it is
/// clearly visible: common practice, no source. Head: 0.60 mm times 1.45 per moult (Dyar 1890, Psyche 5: 420-422, for
/// the rule; its two numbers from memory). What remains is chosen for drawing.
struct Sizes {
    fresh: f64,
    full: f64,
    head: f64,
    front: f64,
    back: f64,
    plumpness: f64,
    legs: f64,
}

const fn sizes(instar: Instar) -> Sizes {
    let (fresh, full, head, front, back, plumpness, legs) = match instar {
        Instar::First => (2.0, 6.0, 0.60, 0.08, 0.0, 0.150, 0.18),
        Instar::Second => (6.0, 10.0, 0.87, 0.60, 0.08, 0.150, 0.22),
        Instar::Third => (10.0, 15.0, 1.26, 2.5, 0.9, 0.155, 0.27),
        Instar::Fourth => (15.0, 25.0, 1.83, 5.0, 2.5, 0.165, 0.30),
        Instar::Fifth => (25.0, 45.0, 2.65, 10.0, 5.0, 0.180, 0.32),
    };
    Sizes { fresh, full, head, front, back, plumpness, legs }
}

impl Larva {
    /// A caterpillar of the monarch. Within an instar the body grows, evenly on the log scale; head and filaments stay.
    pub fn monarch(instar: Instar, growth: Growth) -> Self {
        let own = sizes(instar);
        let share = growth.share();
        let length = super::sketch::hundredths(own.fresh * (own.full / own.fresh).powf(share));
        // A larva just out of the egg has moulted nothing: its head is black and its skin fits.
        let skin = if share < 0.12 && instar != Instar::First {
            Skin::Loose
        } else if share > 0.88 {
            Skin::Swollen
        } else {
            Skin::Even
        };
        let swell = match skin {
            Skin::Even if instar == Instar::First => 1.5 - 0.5 * share,
            Skin::Loose => 0.88,
            Skin::Even => 1.0,
            Skin::Swollen => 1.12,
        };
        let pale = skin == Skin::Loose;
        Self {
            length,
            plumpness: own.plumpness * swell,
            head_width: own.head,
            front: own.front,
            middle: 0.0,
            back: own.back,
            posture: if instar == Instar::Fifth { Posture::Drooping } else { Posture::Stiff },
            head: match instar {
                _ if pale => Head::Pale,
                Instar::First => Head::Black,
                Instar::Second => Head::BlackMarked,
                Instar::Third | Instar::Fourth | Instar::Fifth => Head::Striped,
            },
            bands: match instar {
                Instar::First if share < 0.3 => Bands::None,
                Instar::First => Bands::Faint,
                Instar::Second => Bands::Thin,
                Instar::Third | Instar::Fourth => Bands::Even,
                Instar::Fifth => Bands::Wide,
            },
            skin,
            collar: match instar {
                Instar::First => Collar::Plain,
                Instar::Second => Collar::Patches,
                Instar::Third | Instar::Fourth | Instar::Fifth => Collar::Bars,
            },
            hair: if instar == Instar::First { Hair::Bristles } else { Hair::Bare },
            legs: own.legs,
            proleg_spots: match instar {
                Instar::First | Instar::Second => ProlegSpots::None,
                Instar::Third => ProlegSpots::Faint,
                Instar::Fourth | Instar::Fifth => ProlegSpots::Clear,
            },
        }
    }

    /// Another *Danaus* with three pairs of filaments (queen: The Book of Caterpillars, p. 217; where the middle pair
    /// sits, and that it is nearly as long as the back pair: from memory). From the third instar the pair shows.
    pub fn other_danaus(instar: Instar, growth: Growth) -> Self {
        let own = Self::monarch(instar, growth);
        let middle = if own.back < 0.5 { own.back } else { own.back * 0.9 };
        Self { middle, ..own }
    }

    /// From the base of the front filaments to the front of the head, in millimetres.
    pub fn front_to_head(&self) -> f64 {
        1.5 / 13.0 * self.trunk() + super::larva::HEAD_LENGTH * self.head_width
    }

    /// The length without the head, in millimetres.
    pub(super) fn trunk(&self) -> f64 {
        self.length - super::larva::HEAD_LENGTH * self.head_width
    }

    /// How far the front filaments reach when they are laid forward: below a quarter of a millimetre they are not to be
    /// seen by eye; within about an eighth of the whole way they reach; a head's length further they are far beyond.
    pub fn reach(&self) -> Reach {
        let share = self.front / self.front_to_head();
        if self.front < SEEN {
            Reach::None
        } else if share < 0.87 {
            Reach::Short
        } else if share <= 1.13 {
            Reach::Reaches
        } else if self.front - self.front_to_head() <= super::larva::HEAD_LENGTH * self.head_width {
            Reach::Beyond
        } else {
            Reach::FarBeyond
        }
    }

    /// With every number finite and in its range.
    pub(super) fn drawable(&self) -> Self {
        let within = |number: f64, low: f64, high: f64| {
            if number.is_finite() { number.clamp(low, high) } else { low }
        };
        let length = within(self.length, 0.5, 80.0);
        let filament = |number: f64| within(number, 0.0, length);
        Self {
            length,
            plumpness: within(self.plumpness, 0.05, 0.4),
            head_width: within(self.head_width, 0.1, (length / 3.0).min(8.0)),
            front: filament(self.front),
            middle: filament(self.middle),
            back: filament(self.back),
            legs: within(self.legs, 0.05, 0.8),
            ..*self
        }
    }
}
