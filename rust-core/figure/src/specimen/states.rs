//! A drawing for each state of each character of the key.

use super::form::{Bands, Collar, Growth, Head, Instar, Larva, Posture, ProlegSpots, Skin};
use super::larva::{Extent, HEAD_LENGTH, laid_forward, larva};
use super::others::{Bites, CaseForm, OtherForm, Place, bites, case, other, place};
use super::pen::horn;
use super::sketch::{GUIDE, Mm, OUTLINE, POINTER, Sketch};
use super::speck::{Company, Speck, SpeckColour, SpeckForm, SpeckPosture, Surface, aphids, speck, touched};
use super::subject::hairy;
use crate::ink::Ink;

/// Every state of every character, and `measure` for those that are numbers.
pub(super) const STATES: &[(&str, &str)] = &[
    ("shape", "drop"),
    ("shape", "egg"),
    ("shape", "smooth-caterpillar"),
    ("shape", "hairy-caterpillar"),
    ("shape", "other-crawler"),
    ("shape", "case"),
    ("egg-ridges", "ridged"),
    ("egg-ridges", "smooth"),
    ("egg-form", "upright-oval"),
    ("egg-form", "long"),
    ("egg-form", "round"),
    ("egg-form", "uneven"),
    ("egg-colour", "cream"),
    ("egg-colour", "milk-white"),
    ("egg-colour", "yellow"),
    ("egg-colour", "other"),
    ("egg-state", "whole-pale"),
    ("egg-state", "dark-top"),
    ("egg-state", "dark"),
    ("egg-state", "open"),
    ("egg-state", "caved-in"),
    ("egg-posture", "upright"),
    ("egg-posture", "lying"),
    ("egg-posture", "stalk"),
    ("egg-posture", "flat"),
    ("egg-company", "alone"),
    ("egg-company", "few"),
    ("egg-company", "packed"),
    ("leaf-wound", "beside"),
    ("leaf-wound", "none"),
    ("aphids", "beside"),
    ("aphids", "none"),
    ("egg-touch", "stays"),
    ("egg-touch", "smears"),
    ("filament-reach", "none"),
    ("filament-reach", "short"),
    ("filament-reach", "reaches"),
    ("filament-reach", "beyond"),
    ("filament-reach", "far-beyond"),
    ("filament-head", "none"),
    ("filament-head", "shorter"),
    ("filament-head", "one-to-two"),
    ("filament-head", "two-to-three"),
    ("filament-head", "over-three"),
    ("filament-posture", "none"),
    ("filament-posture", "stiff"),
    ("filament-posture", "drooping"),
    ("back-head", "none"),
    ("back-head", "shorter"),
    ("back-head", "longer"),
    ("back-head", "far-longer"),
    ("filament-ratio", "measure"),
    ("front-filament", "measure"),
    ("pairs", "none"),
    ("pairs", "front-only"),
    ("pairs", "back-stubs"),
    ("pairs", "two"),
    ("pairs", "three"),
    ("head-body", "wider"),
    ("head-body", "equal"),
    ("head-body", "narrower"),
    ("head-body", "much-narrower"),
    ("head-width", "measure"),
    ("head-pattern", "black"),
    ("head-pattern", "black-marked"),
    ("head-pattern", "striped"),
    ("head-pattern", "pale"),
    ("bands", "none"),
    ("bands", "faint"),
    ("bands", "thin"),
    ("bands", "wide"),
    ("bands", "other-pattern"),
    ("collar", "plain"),
    ("collar", "patches"),
    ("collar", "bars"),
    ("bites", "holes"),
    ("bites", "edge"),
    ("bites", "notched-stalk"),
    ("bites", "none-near"),
    ("legs", "tiny"),
    ("legs", "short"),
    ("legs", "long"),
    ("proleg-spots", "none"),
    ("proleg-spots", "faint"),
    ("proleg-spots", "clear"),
    ("body-length", "measure"),
    ("place", "under-leaf"),
    ("place", "on-leaf"),
    ("place", "bud-or-flower"),
    ("place", "stem"),
    ("place", "off-plant"),
    ("case-form", "smooth-green"),
    ("case-form", "other-case"),
    ("case-form", "no-case"),
];

/// A caterpillar of middle size on which single marks are varied.
fn plain() -> Larva {
    Larva { front: 0.0, back: 0.0, bands: Bands::Faint, ..Larva::monarch(Instar::Third, Growth::MIDDLE) }
}

/// The drawing of a state; `None` where there is no such state.
pub(super) fn state(character: &str, state: &str) -> Option<Sketch> {
    let sketch = match character {
        "shape" => shape(state)?,
        "egg-ridges" | "egg-form" | "egg-colour" | "egg-state" | "egg-posture" | "egg-company" => {
            speck(of_egg(character, state)?)
        }
        "leaf-wound" | "aphids" | "egg-touch" => beside(character, state)?,
        "filament-reach" | "filament-head" | "filament-posture" | "pairs" => filaments(character, state)?,
        "back-head" => back_head(state)?,
        "head-body" | "head-pattern" | "collar" | "bands" | "legs" | "proleg-spots" => skin(character, state)?,
        "filament-ratio" | "front-filament" | "head-width" | "body-length" if state == "measure" => measured(character),
        "bites" => bites(match state {
            "holes" => Bites::Holes,
            "edge" => Bites::Edge,
            "notched-stalk" => Bites::NotchedStalk,
            "none-near" => Bites::NoneNear,
            _ => return None,
        }),
        "place" => place(match state {
            "under-leaf" => Place::UnderLeaf,
            "on-leaf" => Place::OnLeaf,
            "bud-or-flower" => Place::BudOrFlower,
            "stem" => Place::Stem,
            "off-plant" => Place::OffPlant,
            _ => return None,
        }),
        "case-form" => case(match state {
            "smooth-green" => CaseForm::SmoothGreen,
            "other-case" => CaseForm::Other,
            "no-case" => CaseForm::None,
            _ => return None,
        }),
        _ => return None,
    };
    Some(sketch)
}

fn shape(state: &str) -> Option<Sketch> {
    match state {
        "drop" => Some(speck(Speck::LATEX)),
        "egg" => Some(speck(Speck::EGG)),
        "smooth-caterpillar" => Some(larva(&Larva::monarch(Instar::Third, Growth::MIDDLE), 0.3, Extent::Whole)),
        "hairy-caterpillar" => Some(larva(&hairy(), 0.3, Extent::Whole)),
        "other-crawler" => Some(crawlers()),
        "case" => Some(case(CaseForm::SmoothGreen)),
        _ => None,
    }
}

/// A legless one and one with six legs, below each other.
fn crawlers() -> Sketch {
    let mut sketch = other(OtherForm::Legless).without_ground();
    sketch.add(&other(OtherForm::SixLegs).without_ground(), 2.0, 5.2);
    sketch
}

fn of_egg(character: &str, state: &str) -> Option<Speck> {
    let egg = Speck::EGG;
    let coloured = |colour| Speck { colour, ..egg };
    let smooth = |form| Speck { form, surface: Surface::Smooth, ..egg };
    let speck = match (character, state) {
        ("egg-ridges", "ridged")
        | ("egg-form", "upright-oval")
        | ("egg-colour", "cream")
        | ("egg-state", "whole-pale")
        | ("egg-posture", "upright")
        | ("egg-company", "alone") => egg,
        ("egg-ridges", "smooth") => Speck { surface: Surface::Smooth, ..egg },
        ("egg-form", "long") => smooth(SpeckForm::Long),
        ("egg-form", "round") => smooth(SpeckForm::Round),
        ("egg-form", "uneven") => smooth(SpeckForm::Uneven),
        ("egg-colour", "milk-white") => Speck { surface: Surface::Smooth, ..coloured(SpeckColour::MilkWhite) },
        ("egg-colour", "yellow") => coloured(SpeckColour::Yellow),
        ("egg-colour", "other") => Speck { surface: Surface::Smooth, ..coloured(SpeckColour::Blotched) },
        ("egg-state", "dark-top") => Speck::ABOUT_TO_HATCH,
        ("egg-state", "dark") => coloured(SpeckColour::Dark),
        ("egg-state", "open") => Speck::HATCHED,
        ("egg-state", "caved-in") => Speck::COLLAPSED,
        ("egg-posture", "lying") => Speck { posture: SpeckPosture::Lying, ..egg },
        ("egg-posture", "stalk") => Speck { posture: SpeckPosture::Stalk, ..smooth(SpeckForm::Long) },
        ("egg-posture", "flat") => Speck { posture: SpeckPosture::Flat, ..egg },
        ("egg-company", "few") => Speck { company: Company::Few, ..egg },
        ("egg-company", "packed") => Speck { company: Company::Packed, ..smooth(SpeckForm::Round) },
        _ => return None,
    };
    Some(speck)
}

fn beside(character: &str, state: &str) -> Option<Sketch> {
    let mut sketch = match (character, state) {
        ("egg-touch", _) => {
            return Some(touched(match state {
                "stays" => true,
                "smears" => false,
                _ => return None,
            }));
        }
        ("leaf-wound", _) => speck(Speck::LATEX),
        _ => speck(Speck::EGG),
    };
    match (character, state) {
        ("leaf-wound", "beside") => super::speck::wound(&mut sketch),
        ("aphids", "beside") => aphids(&mut sketch),
        (_, "none") => {}
        _ => return None,
    }
    Some(sketch)
}

fn filaments(character: &str, state: &str) -> Option<Sketch> {
    let body = Larva { bands: Bands::Even, ..plain() };
    let whole = |subject: &Larva| larva(subject, 0.5, Extent::Whole);
    let (reach, head) = (body.front_to_head(), super::larva::HEAD_LENGTH * body.head_width);
    let sketch = match (character, state) {
        ("filament-reach", "none") => laid_forward(&body),
        ("filament-reach", "short") => laid_forward(&Larva { front: reach * 0.5, ..body }),
        ("filament-reach", "reaches") => laid_forward(&Larva { front: reach, ..body }),
        ("filament-reach", "beyond") => laid_forward(&Larva { front: reach + 0.6 * head, ..body }),
        ("filament-reach", "far-beyond") => laid_forward(&Larva { front: reach + 1.8 * head, ..body }),
        ("filament-head", "none") => head_widths(0.0),
        ("filament-head", "shorter") => head_widths(0.65),
        ("filament-head", "one-to-two") => head_widths(1.5),
        ("filament-head", "two-to-three") => head_widths(2.5),
        ("filament-head", "over-three") => head_widths(3.8),
        ("filament-posture", "none") => larva(&body, 0.02, Extent::Parts(0, 6)),
        ("filament-posture", "stiff") => larva(&Larva { front: 3.2, ..body }, 0.02, Extent::Parts(0, 6)),
        ("filament-posture", "drooping") => {
            let drooping = Larva { front: 5.0, posture: Posture::Drooping, ..body };
            larva(&drooping, 0.02, Extent::Parts(0, 6))
        }
        ("pairs", "none") => whole(&body),
        ("pairs", "front-only") => whole(&Larva { front: 3.2, ..body }),
        ("pairs", "back-stubs") => whole(&Larva { front: 3.2, back: 0.7, ..body }),
        ("pairs", "two") => whole(&Larva { front: 3.2, back: 2.2, ..body }),
        ("pairs", "three") => whole(&Larva { front: 3.2, middle: 2.2, back: 2.2, ..body }),
        _ => return None,
    };
    Some(sketch)
}

/// A back filament beside marks one head width and one and a half apart from its base.
fn back_head(state: &str) -> Option<Sketch> {
    let filament = match state {
        "none" => 0.0,
        "shorter" => 0.6,
        "longer" => 1.25,
        "far-longer" => 2.1,
        _ => return None,
    };
    Some(head_and_filament(filament, &[0.0, 1.0, 1.5]))
}

/// The head from the front, and a filament beside marks one, two and three head widths apart.
fn head_widths(filament: f64) -> Sketch {
    head_and_filament(filament, &[0.0, 1.0, 2.0, 3.0, 4.0])
}

fn head_and_filament(filament: f64, marks: &[f64]) -> Sketch {
    let mut sketch = Sketch::default();
    for &x in marks {
        let top = if x <= 1.0 { 1.15 } else { 0.25 };
        sketch.line(vec![Mm(x, -0.45), Mm(x, top)], GUIDE);
    }
    sketch.disc(Mm(0.5, 0.85), 0.5, Ink::Paper, OUTLINE);
    for (from, to) in [(0.16, 0.34), (0.42, 0.58), (0.66, 0.84)] {
        sketch.area(vec![Mm(from, 0.55), Mm(to, 0.5), Mm(to, 1.2), Mm(from, 1.15)], Ink::Black, None);
    }
    sketch.disc(Mm(0.5, 0.85), 0.5, None, OUTLINE);
    if filament > 0.0 {
        let horn = horn(Mm(0.0, -0.1), Mm(filament / 2.0, -0.1), Mm(filament, -0.1), (0.24, 0.1));
        sketch.area(horn, Ink::Black, OUTLINE);
    }
    sketch
}

fn skin(character: &str, state: &str) -> Option<Sketch> {
    let body = plain();
    let part = |subject: Larva, from, to| larva(&subject, 0.02, Extent::Parts(from, to));
    // The height of the body over its length, such that the head (1.26 mm) compares with it as stated.
    let beside_head = |times: f64| Larva { plumpness: body.head_width * times / body.length, ..body };
    let sketch = match (character, state) {
        ("head-body", "wider") => part(beside_head(0.72), 0, 5),
        ("head-body", "equal") => part(beside_head(1.0), 0, 5),
        ("head-body", "narrower") => part(beside_head(1.4), 0, 5),
        ("head-body", "much-narrower") => part(beside_head(2.3), 0, 5),
        ("head-pattern", "black") => part(Larva { head: Head::Black, ..body }, 0, 2),
        ("head-pattern", "black-marked") => part(Larva { head: Head::BlackMarked, ..body }, 0, 2),
        ("head-pattern", "striped") => part(Larva { head: Head::Striped, ..body }, 0, 2),
        ("head-pattern", "pale") => part(Larva { head: Head::Pale, skin: Skin::Loose, ..body }, 0, 2),
        ("collar", "plain") => part(Larva { collar: Collar::Plain, bands: Bands::None, ..body }, 0, 2),
        ("collar", "patches") => part(Larva { collar: Collar::Patches, bands: Bands::None, ..body }, 0, 2),
        ("collar", "bars") => part(Larva { collar: Collar::Bars, bands: Bands::None, ..body }, 0, 2),
        ("bands", "none") => part(Larva { bands: Bands::None, ..body }, 2, 8),
        ("bands", "faint") => part(Larva { bands: Bands::Faint, ..body }, 2, 8),
        ("bands", "thin") => part(Larva { bands: Bands::Thin, ..body }, 2, 8),
        ("bands", "wide") => part(Larva { bands: Bands::Wide, ..body }, 2, 8),
        ("bands", "other-pattern") => part(Larva { bands: Bands::OtherPattern, ..body }, 2, 8),
        ("legs", "tiny") => part(Larva { legs: 0.12, bands: Bands::None, ..body }, 0, 4),
        ("legs", "short") => part(Larva { legs: 0.28, bands: Bands::None, ..body }, 0, 4),
        ("legs", "long") => part(Larva { legs: 0.55, bands: Bands::None, ..body }, 0, 4),
        ("proleg-spots", "none") => part(spotted(ProlegSpots::None), 4, 9),
        ("proleg-spots", "faint") => part(spotted(ProlegSpots::Faint), 4, 9),
        ("proleg-spots", "clear") => part(spotted(ProlegSpots::Clear), 4, 9),
        _ => return None,
    };
    Some(sketch)
}

fn spotted(proleg_spots: ProlegSpots) -> Larva {
    Larva { proleg_spots, bands: Bands::Even, ..plain() }
}

/// Arrows over what is to be measured.
fn measured(character: &str) -> Sketch {
    let front = if character == "body-length" { 0.0 } else { 4.0 };
    let subject = Larva { front, bands: Bands::Even, posture: Posture::LaidForward, ..plain() };
    let extent = if character == "body-length" { Extent::Whole } else { Extent::Parts(0, 5) };
    let mut sketch = larva(&subject, 0.02, extent);
    let (half, head) = (subject.trunk() / 2.0, subject.head_width);
    let up = subject.length * subject.plumpness;
    let base = half - 1.5 / 13.0 * subject.trunk();
    let mut across = |from: Mm, to: Mm, tick: (f64, f64)| {
        sketch.line(vec![from, to], POINTER);
        for end in [from, to] {
            sketch.line(vec![Mm(end.0 - tick.0, end.1 - tick.1), Mm(end.0 + tick.0, end.1 + tick.1)], POINTER);
        }
    };
    if matches!(character, "front-filament" | "filament-ratio") {
        across(Mm(base, up * 1.05), Mm(base + subject.front, up * 1.05), (0.0, 0.25));
    }
    if matches!(character, "head-width" | "filament-ratio") {
        let x = half + HEAD_LENGTH * head + 0.5;
        across(Mm(x, -head / 2.0), Mm(x, head / 2.0), (0.25, 0.0));
    }
    if character == "body-length" {
        across(Mm(-half, up * 1.3), Mm(half + HEAD_LENGTH * head, up * 1.3), (0.0, 0.4));
    }
    sketch
}
