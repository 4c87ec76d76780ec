//! What a specimen can be: its drawing, its view and its words.

use super::Scale;
use super::form::{Bands, Growth, Hair, Head, Instar, Larva, Posture, Reach, SEEN, Skin};
use super::larva::{Extent, larva};
use super::others::{CaseForm, OtherForm, case, other};
use super::sketch::{Frame, Mm, POINTER, Sketch, View};
use super::speck::{Company, HEIGHT, Speck, SpeckColour, SpeckForm, SpeckPosture, Surface, Wholeness, speck};
use super::words::Words;
use crate::words::fill;
use serde::{Deserialize, Serialize};

/// The outcomes of the key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A living egg.
    Egg,
    /// First instar.
    Larva1,
    /// Second instar.
    Larva2,
    /// Third instar.
    Larva3,
    /// Fourth instar.
    Larva4,
    /// Fifth instar.
    Larva5,
    /// A pupa.
    Pupa,
    /// A drop of latex.
    Latex,
    /// An egg of another insect.
    OtherEgg,
    /// A hatched, dead or dark egg.
    SpentEgg,
    /// A caterpillar of another *Danaus*.
    OtherDanaus,
    /// A hairy caterpillar.
    Hairy,
    /// Another larva.
    OtherLarva,
}

/// What sits on the leaf.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    /// An egg or what looks like one.
    Speck(Speck),
    /// A caterpillar.
    Larva(Larva),
    /// Another larva.
    Other(OtherForm),
    /// A pupa, another case, or none.
    Case(CaseForm),
}

/// A part of an animal or egg that a drawing can point at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// The front pair of filaments.
    FrontFilaments,
    /// The pair that only other species have.
    MiddleFilaments,
    /// The back pair of filaments, or where it would be.
    BackFilaments,
    /// The head.
    Head,
    /// The part behind the head.
    Collar,
    /// The pattern or hair in the middle of the body.
    Body,
    /// The surface of an egg.
    Surface,
    /// The top of an egg.
    Top,
    /// How an egg sits.
    Base,
}

impl Part {
    pub(super) const fn text_id(self) -> &'static str {
        match self {
            Self::FrontFilaments => "drawing.ring-front-filaments",
            Self::MiddleFilaments => "drawing.ring-middle-filaments",
            Self::BackFilaments => "drawing.ring-back-filaments",
            Self::Head => "drawing.ring-head",
            Self::Collar => "drawing.ring-collar",
            Self::Body => "drawing.ring-body",
            Self::Surface => "drawing.ring-surface",
            Self::Top => "drawing.ring-top",
            Self::Base => "drawing.ring-base",
        }
    }
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 13] = [
        Self::Egg,
        Self::Larva1,
        Self::Larva2,
        Self::Larva3,
        Self::Larva4,
        Self::Larva5,
        Self::Pupa,
        Self::Latex,
        Self::OtherEgg,
        Self::SpentEgg,
        Self::OtherDanaus,
        Self::Hairy,
        Self::OtherLarva,
    ];

    /// Its name in key files.
    pub const fn name(self) -> &'static str {
        match self.text_id().as_bytes() {
            // Every id begins with the eight octets of `outcome.`.
            [_, _, _, _, _, _, _, _, name @ ..] => match std::str::from_utf8(name) {
                Ok(name) => name,
                Err(_) => "",
            },
            _ => "",
        }
    }

    /// The one of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    pub(super) const fn text_id(self) -> &'static str {
        match self {
            Self::Egg => "outcome.egg",
            Self::Larva1 => "outcome.larva1",
            Self::Larva2 => "outcome.larva2",
            Self::Larva3 => "outcome.larva3",
            Self::Larva4 => "outcome.larva4",
            Self::Larva5 => "outcome.larva5",
            Self::Pupa => "outcome.pupa",
            Self::Latex => "outcome.latex",
            Self::OtherEgg => "outcome.other-egg",
            Self::SpentEgg => "outcome.spent-egg",
            Self::OtherDanaus => "outcome.other-danaus",
            Self::Hairy => "outcome.hairy",
            Self::OtherLarva => "outcome.other-larva",
        }
    }
}

impl Subject {
    /// A typical one of its kind.
    pub fn typical(kind: Kind) -> Self {
        Self::examples(kind)[0]
    }

    /// Examples of a kind, the typical one first.
    pub fn examples(kind: Kind) -> Vec<Self> {
        let instar = |instar| {
            [Growth::MIDDLE, Growth::FRESH, Growth::FULL].map(|growth| Self::Larva(Larva::monarch(instar, growth)))
        };
        match kind {
            Kind::Egg => vec![Self::Speck(Speck::EGG), Self::Speck(Speck::ABOUT_TO_HATCH)],
            Kind::Larva1 => instar(Instar::First).to_vec(),
            Kind::Larva2 => instar(Instar::Second).to_vec(),
            Kind::Larva3 => instar(Instar::Third).to_vec(),
            Kind::Larva4 => instar(Instar::Fourth).to_vec(),
            Kind::Larva5 => instar(Instar::Fifth).to_vec(),
            Kind::Pupa => vec![Self::Case(CaseForm::SmoothGreen)],
            Kind::Latex => vec![
                Self::Speck(Speck::LATEX),
                Self::Speck(Speck { form: SpeckForm::Round, ..Speck::LATEX }),
                Self::Speck(Speck { company: Company::Few, colour: SpeckColour::Yellow, ..Speck::LATEX }),
            ],
            Kind::OtherEgg => [Speck::MASS, Speck::STALKED, Speck::LYING].map(Self::Speck).to_vec(),
            Kind::SpentEgg => [Speck::HATCHED, Speck::DEAD, Speck::COLLAPSED].map(Self::Speck).to_vec(),
            Kind::OtherDanaus => [Instar::Fourth, Instar::Fifth, Instar::Third]
                .map(|instar| Self::Larva(Larva::other_danaus(instar, Growth::MIDDLE)))
                .to_vec(),
            Kind::Hairy => vec![Self::Larva(hairy())],
            Kind::OtherLarva => [OtherForm::Legless, OtherForm::SixLegs, OtherForm::Looping].map(Self::Other).to_vec(),
        }
    }

    /// The sketch for a frame, and what of it is in view.
    pub(super) fn drawn(&self, frame: Frame) -> (Sketch, View) {
        let sketch = self.sketch(bend(frame));
        let view = self.view(&sketch);
        (sketch, view)
    }

    /// The same with a ring about a part; `None` where it has no such part.
    pub(super) fn pointed(&self, part: Part, frame: Frame) -> Option<(Sketch, View)> {
        let (center, radius) = self.spot(part, bend(frame))?;
        let (mut sketch, _) = self.drawn(frame);
        sketch.disc(center, radius, None, POINTER);
        let view = self.view(&sketch);
        Some((sketch, view))
    }

    /// Where a part is, and how large; a caterpillar is bent by this angle in radians.
    pub(super) fn spot(&self, part: Part, bend: f64) -> Option<(Mm, f64)> {
        match self {
            Self::Speck(own) => super::speck::spot(*own, part),
            Self::Larva(own) => super::larva::spot(own, bend, part),
            Self::Other(_) | Self::Case(_) => None,
        }
    }

    /// The sketch; a caterpillar is bent by this angle in radians.
    pub(super) fn sketch(&self, bend: f64) -> Sketch {
        match self {
            Self::Speck(own) => speck(*own),
            Self::Larva(own) => larva(own, bend, Extent::Whole),
            Self::Other(form) => other(*form),
            Self::Case(form) => case(*form),
        }
    }

    pub(super) fn view(&self, sketch: &Sketch) -> View {
        match self {
            Self::Speck(_) => speck_view(sketch),
            Self::Larva(_) | Self::Other(_) => on_leaf(sketch),
            Self::Case(_) => sketch.bounds().padded(0.03),
        }
    }

    /// What is seen, in words: the same marks as in the drawing.
    pub(super) fn description(&self, scale: Scale, words: &Words) -> String {
        let mut parts: Vec<String> = match self {
            Self::Speck(own) => speck_texts(*own).iter().map(|id| words.say(id).to_owned()).collect(),
            Self::Larva(own) => larva_texts(&own.drawable()).iter().map(|id| words.say(id).to_owned()).collect(),
            Self::Other(OtherForm::Legless) => vec![words.say("drawing.legless").to_owned()],
            Self::Other(OtherForm::SixLegs) => vec![words.say("drawing.six-legs").to_owned()],
            Self::Other(OtherForm::Looping) => vec![words.say("drawing.looping").to_owned()],
            Self::Case(CaseForm::SmoothGreen) => vec![words.say("case-form.smooth-green").to_owned()],
            Self::Case(CaseForm::Other) => vec![words.say("case-form.other-case").to_owned()],
            Self::Case(CaseForm::None) => vec![words.say("case-form.no-case").to_owned()],
        };
        match scale {
            Scale::Hidden => parts.push(words.say("drawing.enlarged").to_owned()),
            Scale::Bar => parts.extend(self.sizes(words)),
        }
        parts.join(" ")
    }

    fn sizes(&self, words: &Words) -> Vec<String> {
        let filled = |id, place, number| fill(words.say(id), &[(place, &words.millimetres(number))]);
        match self {
            Self::Larva(own) => {
                let own = own.drawable();
                vec![filled("drawing.length", "length", own.length), filled("drawing.head", "width", own.head_width)]
            }
            Self::Speck(own) if own.form == SpeckForm::UprightOval && own.posture == SpeckPosture::Upright => {
                vec![filled("drawing.height", "length", HEIGHT)]
            }
            Self::Other(form) => vec![filled(
                "drawing.length",
                "length",
                match form {
                    OtherForm::Legless => 12.0,
                    OtherForm::SixLegs => 9.0,
                    OtherForm::Looping => 18.0,
                },
            )],
            Self::Case(CaseForm::SmoothGreen) => vec![filled("drawing.height", "length", 27.0)],
            Self::Speck(_) | Self::Case(CaseForm::Other | CaseForm::None) => Vec::new(),
        }
    }
}

/// How far a caterpillar is bent, in radians, to fill a frame well.
fn bend(frame: Frame) -> f64 {
    if frame.width > 2.2 * frame.height { 0.3 } else { 1.4 }
}

/// What of the drawing of a state is in view.
pub(super) fn view_of_state(character: &str, sketch: &Sketch) -> View {
    match character {
        "shape" => sketch.bounds().padded(0.08),
        "leaf-wound" | "aphids" | "egg-touch" => speck_view(sketch),
        name if name.starts_with("egg-") => speck_view(sketch),
        "bites" | "place" | "case-form" | "filament-head" | "back-head" => sketch.bounds().padded(0.03),
        _ => on_leaf(sketch),
    }
}

/// A hairy caterpillar of milkweeds, to 35 mm long (naturalists' pages on the milkweed tussock moth).
pub(super) fn hairy() -> Larva {
    Larva {
        length: 20.0,
        plumpness: 0.17,
        head_width: 2.0,
        front: 0.0,
        back: 0.0,
        head: Head::Black,
        bands: Bands::None,
        skin: Skin::Even,
        hair: Hair::Long,
        ..Larva::monarch(Instar::First, Growth::MIDDLE)
    }
}

/// Specks are seen in one window, larger only if they need more, so that they compare.
fn speck_view(sketch: &Sketch) -> View {
    let own = sketch.bounds().padded(0.05);
    let (left, bottom) = (own.left.min(-1.2), own.bottom.min(-0.42));
    let (right, top) = ((own.left + own.width).max(1.2), (own.bottom + own.height).max(1.5));
    View { left, bottom, width: right - left, height: top - bottom }
}

/// With a strip of the leaf below.
fn on_leaf(sketch: &Sketch) -> View {
    let own = sketch.bounds().padded(0.02);
    let strip = own.width * 0.06;
    View { bottom: own.bottom - strip, height: own.height + strip, ..own }
}

fn speck_texts(speck: Speck) -> Vec<&'static str> {
    let form = match speck.form {
        SpeckForm::UprightOval => "egg-form.upright-oval",
        SpeckForm::Long => "egg-form.long",
        SpeckForm::Round => "egg-form.round",
        SpeckForm::Uneven => "egg-form.uneven",
    };
    let surface = match speck.surface {
        Surface::Ridged => "egg-ridges.ridged",
        Surface::Smooth => "egg-ridges.smooth",
    };
    let colour = match speck.colour {
        SpeckColour::Cream => "egg-colour.cream",
        SpeckColour::MilkWhite => "egg-colour.milk-white",
        SpeckColour::Yellow => "egg-colour.yellow",
        SpeckColour::Blotched => "egg-colour.other",
        SpeckColour::DarkTop => "egg-state.dark-top",
        SpeckColour::Dark => "egg-state.dark",
        SpeckColour::Clear => "drawing.clear",
    };
    let whole = match speck.wholeness {
        Wholeness::Whole => "drawing.whole",
        Wholeness::Hole => "drawing.hole",
        Wholeness::OpenTop => "egg-state.open",
        Wholeness::CavedIn => "egg-state.caved-in",
    };
    let posture = match speck.posture {
        SpeckPosture::Upright => "egg-posture.upright",
        SpeckPosture::Lying => "egg-posture.lying",
        SpeckPosture::Stalk => "egg-posture.stalk",
        SpeckPosture::Flat => "egg-posture.flat",
    };
    let company = match speck.company {
        Company::Alone => "egg-company.alone",
        Company::Few => "egg-company.few",
        Company::Packed => "egg-company.packed",
    };
    vec![form, surface, colour, whole, posture, company]
}

/// Marks of a caterpillar that is `drawable`.
fn larva_texts(larva: &Larva) -> Vec<&'static str> {
    let reach = match larva.reach() {
        Reach::None => "filament-reach.none",
        Reach::Short => "filament-reach.short",
        Reach::Reaches => "filament-reach.reaches",
        Reach::Beyond => "filament-reach.beyond",
        Reach::FarBeyond => "filament-reach.far-beyond",
    };
    let droops = larva.posture == Posture::Drooping && larva.reach() != Reach::None;
    let middle = larva.middle >= SEEN;
    let back = match larva.back {
        back if back < SEEN => "drawing.back-none",
        back if back < larva.length * 0.05 => "drawing.back-stubs",
        _ => "drawing.back-clear",
    };
    let beside = larva.head_width / (larva.length * larva.plumpness);
    let head_body = match beside {
        beside if beside > 1.12 => "head-body.wider",
        beside if beside > 0.88 => "head-body.equal",
        beside if beside > 0.55 => "head-body.narrower",
        _ => "head-body.much-narrower",
    };
    let head = match larva.head {
        Head::Black => "head-pattern.black",
        Head::BlackMarked => "head-pattern.black-marked",
        Head::Striped => "head-pattern.striped",
        Head::Pale => "head-pattern.pale",
    };
    let bands = match larva.bands {
        Bands::None => "bands.none",
        Bands::Faint => "bands.faint",
        Bands::Thin => "bands.thin",
        Bands::Even => "drawing.bands-even",
        Bands::Wide => "bands.wide",
        Bands::OtherPattern => "bands.other-pattern",
    };
    let hair = match larva.hair {
        Hair::Bare => None,
        Hair::Bristles => Some("drawing.bristles"),
        Hair::Long => Some("drawing.long-hair"),
    };
    let skin = match larva.skin {
        Skin::Loose => Some("drawing.loose"),
        Skin::Even => None,
        Skin::Swollen => Some("drawing.swollen"),
    };
    let mut texts = vec!["drawing.caterpillar", reach];
    texts.extend(droops.then_some("filament-posture.drooping"));
    texts.extend(middle.then_some("pairs.three"));
    texts.extend([back, head_body, head, bands]);
    texts.extend(hair);
    texts.extend(skin);
    texts
}
