//! Drawn specimens: laws that hold for every one, and a few kept as they are.

use figure::specimen::{
    Bands, Caption, Collar, Growth, Hair, Head, Instar, Kind, Larva, Part, Posture, ProlegSpots, Reach, Scale, Scaling,
    Skin, Specimen, Subject, Words, character, character_state, english, ids, plate, pointing_at, side_by_side,
    specimen,
};
use figure::{Anchor, CurveStep, Figure, Ink, Shape, Size, Xy, svg, text_width};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

const SIZES: [Size; 4] = [
    Size { width: 64, height: 64 },
    Size { width: 64, height: 48 },
    Size { width: 200, height: 150 },
    Size { width: 480, height: 200 },
];

/// Every point of every shape, circles and texts by their extremes.
fn reach(shape: &Shape) -> Vec<Xy> {
    let corners = |at: Xy, left: f64, right: f64, up: f64, down: f64| {
        vec![Xy { x: at.x - left, y: at.y - up }, Xy { x: at.x + right, y: at.y + down }]
    };
    match shape {
        Shape::Line { from, to, .. } => vec![*from, *to],
        Shape::Polyline { points, .. } | Shape::Polygon { points, .. } => points.clone(),
        Shape::Circle { center, radius, .. } => corners(*center, *radius, *radius, *radius, *radius),
        Shape::Curve { start, steps, .. } => steps.iter().fold(vec![*start], |mut all, step| {
            match step {
                CurveStep::Line { to } => all.push(*to),
                CurveStep::Cubic { first, second, to } => all.extend([*first, *second, *to]),
                CurveStep::Close => {}
            }
            all
        }),
        Shape::Text { at, text, size, anchor, weight, .. } => {
            let width = text_width(text, *size, *weight);
            let (left, right) = match anchor {
                Anchor::Start => (0.0, width),
                Anchor::Middle => (width / 2.0, width / 2.0),
                Anchor::End => (width, 0.0),
            };
            corners(*at, left, right, 0.8 * size, 0.25 * size)
        }
    }
}

fn assert_sound(figure: &Figure, what: &str) {
    let (width, height) = (f64::from(figure.size.width), f64::from(figure.size.height));
    assert!(figure.shapes.len() > 2, "{what}");
    for shape in &figure.shapes {
        for Xy { x, y } in reach(shape) {
            let inside = (-0.02..=width + 0.02).contains(&x) && (-0.02..=height + 0.02).contains(&y);
            assert!(inside, "{what} at {:?}: ({x}, {y}) of {shape:?}", figure.size);
        }
    }
    let words = &figure.text_alternative;
    assert!(!words.title.trim().is_empty() && !words.description.trim().is_empty(), "{what}");
    assert!(!words.description.contains('{') && !words.description.contains("drawing."), "{what}: {words:?}");
}

fn named(subject: Subject, kind: Kind) -> Specimen {
    Specimen { subject, scale: Scale::Bar, caption: Caption::Named(kind) }
}

#[test]
fn every_example_lies_in_its_frame_and_says_something() {
    for kind in Kind::ALL {
        for subject in Subject::examples(kind) {
            for size in SIZES {
                assert_sound(&specimen(&named(subject, kind), size, &english()), kind.name());
            }
        }
    }
}

#[test]
fn every_state_lies_in_its_frame_and_says_something() {
    for (own, state) in ids() {
        for size in SIZES {
            let figure = character_state(own, state, size, &english()).unwrap_or_else(|| panic!("{own}/{state}"));
            assert_sound(&figure, &format!("{own}/{state}"));
        }
    }
    assert!(character_state("bands", "plaid", SIZES[0], &english()).is_none());
    assert!(character_state("plaid", "none", SIZES[0], &english()).is_none());
    assert!(character_state("outcome", "plaid", SIZES[0], &english()).is_none());
}

/// Two states of one character are never the same drawing or the same words.
#[test]
fn states_of_a_character_differ() {
    let mut seen: BTreeMap<&str, Vec<Figure>> = BTreeMap::new();
    for (own, state) in ids() {
        let figure = character_state(own, state, SIZES[2], &english()).unwrap();
        let others = seen.entry(own).or_default();
        for other in others.iter() {
            assert_ne!(other.shapes, figure.shapes, "{own}/{state}");
            assert_ne!(other.text_alternative.title, figure.text_alternative.title, "{own}/{state}");
        }
        others.push(figure);
    }
}

/// Every outcome, every state and every numeric character of the key of the monarch has a drawing.
#[test]
fn what_the_key_asks_is_drawn() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../stagekey/keys/monarch.toml");
    let key: toml::Table = std::fs::read_to_string(path).expect("the key stands beside this crate").parse().unwrap();
    let list = |name: &str| key[name].as_array().unwrap().clone();
    let text = |value: &toml::Value| value.as_str().unwrap().to_owned();
    let mut asked: BTreeSet<(String, String)> =
        list("outcome").iter().map(|outcome| ("outcome".to_owned(), text(&outcome["id"]))).collect();
    for character in list("character") {
        let own = text(&character["id"]);
        match character.get("states").and_then(toml::Value::as_array) {
            Some(states) => asked.extend(states.iter().map(|state| (own.clone(), text(state)))),
            None => {
                asked.insert((own, "measure".to_owned()));
            }
        }
    }
    let drawn: BTreeSet<_> = ids().into_iter().map(|(own, state)| (own.to_owned(), state.to_owned())).collect();
    assert!(asked.len() > 50, "{asked:?}");
    assert_eq!(asked.difference(&drawn).collect::<Vec<_>>(), Vec::<&(String, String)>::new());
}

#[test]
fn sheets_lie_in_their_frames() {
    let words = english();
    for size in [Size { width: 0, height: 0 }, Size { width: 360, height: 640 }, Size { width: 900, height: 700 }] {
        let figure = plate(size, &words);
        assert_sound(&figure, "plate");
        for kind in &Kind::ALL[..7] {
            let name = specimen(&Specimen::typical(*kind), size, &words).text_alternative.title;
            let labels =
                figure.shapes.iter().filter(|shape| matches!(shape, Shape::Text { text, .. } if *text == name));
            assert_eq!(labels.count(), 1, "{name}");
        }
        for own in ids().into_iter().map(|(own, _)| own).collect::<BTreeSet<_>>() {
            assert_sound(&character(own, size, &words).unwrap(), own);
        }
    }
    assert!(character("plaid", SIZES[2], &words).is_none());
    let both = [Kind::Egg, Kind::Latex].map(Specimen::typical);
    for scaling in [Scaling::One, Scaling::Each] {
        assert_sound(&side_by_side(&both, scaling, SIZES[2], &words), "side by side");
    }
}

/// The ring is one shape more, in the ink of doubt, and lies in the frame.
#[test]
fn a_ring_marks_the_part() {
    let parts = [Part::FrontFilaments, Part::BackFilaments, Part::Head, Part::Collar, Part::Body];
    let larvae = parts.map(|part| (Kind::Larva4, part));
    let eggs = [Part::Surface, Part::Top, Part::Base].map(|part| (Kind::Egg, part));
    for (kind, part) in larvae.into_iter().chain(eggs).chain([(Kind::OtherDanaus, Part::MiddleFilaments)]) {
        let typical = Specimen::typical(kind);
        for size in SIZES {
            let figure = pointing_at(&typical, part, size, &english());
            assert_sound(&figure, &format!("{kind:?} {part:?}"));
            let rings = figure.shapes.iter().filter(|shape| match shape {
                Shape::Circle { fill: None, stroke: Some(stroke), .. } => stroke.ink == Ink::Doubt,
                _ => false,
            });
            assert_eq!(rings.count(), 1, "{kind:?} {part:?}");
            assert!(figure.text_alternative.description.contains("A ring marks"), "{kind:?} {part:?}");
        }
        assert_eq!(
            pointing_at(&Specimen::typical(Kind::Pupa), part, SIZES[2], &english()),
            specimen(&Specimen::typical(Kind::Pupa), SIZES[2], &english())
        );
    }
}

/// Two larvae of one instar at one scale differ as their lengths do.
#[test]
fn one_scale_is_one_scale() {
    let pair = [Growth::FRESH, Growth::FULL].map(|growth| {
        let larva = Larva { front: 0.0, back: 0.0, ..Larva::monarch(Instar::Third, growth) };
        Specimen { subject: Subject::Larva(larva), scale: Scale::Hidden, caption: Caption::Unnamed }
    });
    let figure = side_by_side(&pair, Scaling::One, Size { width: 600, height: 200 }, &english());
    // The outlines of both bodies are the polygons with an edge that are wider than a quarter of the sheet.
    let widths: Vec<f64> = figure.shapes.iter().filter_map(width_of_outline).filter(|width| *width > 150.0).collect();
    assert_eq!(widths.len(), 2, "{widths:?}");
    let trunk = |length: f64| length - 0.85 * 1.26;
    assert!((widths[1] / widths[0] - trunk(15.0) / trunk(10.0)).abs() < 0.02, "{widths:?}");
}

fn width_of_outline(shape: &Shape) -> Option<f64> {
    let Shape::Polygon { points, stroke: Some(_), .. } = shape else { return None };
    let (low, high) = points.iter().fold((f64::MAX, f64::MIN), |(low, high), xy| (low.min(xy.x), high.max(xy.x)));
    Some(high - low)
}

/// The facts of the trade: what the front pair laid forward does in each instar at mid-growth, and that the back pair
/// is about as long as the front pair one instar before (common practice, no source).
#[test]
fn filaments_are_as_the_trade_teaches() {
    let larvae = Instar::ALL.map(|instar| Larva::monarch(instar, Growth::MIDDLE));
    let reaches = larvae.map(|larva| larva.reach());
    assert_eq!(reaches, [Reach::None, Reach::Short, Reach::Reaches, Reach::Beyond, Reach::FarBeyond]);
    for pair in larvae.windows(2) {
        assert!(pair[0].front < pair[1].front && pair[0].back < pair[1].back && pair[0].length < pair[1].length);
        assert!((pair[1].back - pair[0].front).abs() <= 0.5);
    }
    assert!((larvae[2].front / larvae[3].front - 0.5).abs() < 0.05);
    assert!(larvae[2].back > 0.5, "the third's back pair is clearly visible");
    let lengths = Instar::ALL.map(|instar| format!("{:.1}", Larva::monarch(instar, Growth::FULL).length));
    assert_eq!(lengths, ["6.0", "10.0", "15.0", "25.0", "45.0"]);
}

/// Whoever is to name a specimen is told no name, and no size where the scale is hidden.
#[test]
fn nothing_is_given_away() {
    let words = english();
    for kind in Kind::ALL {
        for subject in Subject::examples(kind) {
            let hidden = Specimen { subject, scale: Scale::Hidden, caption: Caption::Unnamed };
            let figure = specimen(&hidden, SIZES[2], &words);
            let told = format!("{} {}", figure.text_alternative.title, figure.text_alternative.description);
            let name = specimen(&Specimen::typical(kind), SIZES[2], &words).text_alternative.title;
            assert!(!told.contains(&name) && !told.contains(" mm"), "{told}");
            assert!(!figure.shapes.iter().any(|shape| matches!(shape, Shape::Text { .. })), "{kind:?}");
        }
    }
}

#[test]
fn words_of_another_language_are_used() {
    let marked = Words::from_texts(',', |id| format!("<{id}> {{length}}{{width}}"));
    let figure = specimen(&Specimen::typical(Kind::Larva2), SIZES[2], &marked);
    assert!(figure.text_alternative.title.contains("<outcome.larva2>"));
    assert!(figure.text_alternative.description.contains("<drawing.length> 7,8"));
    let empty = Words::from_texts('.', |_| String::new());
    assert!(!specimen(&Specimen::typical(Kind::Egg), SIZES[2], &empty).text_alternative.title.is_empty());
    let ids: Vec<_> = Words::ids().collect();
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len());
    let known: BTreeSet<_> = ids.into_iter().collect();
    let missing: Vec<_> = figure::specimen::ids()
        .into_iter()
        .map(|(own, state)| format!("{own}.{state}"))
        .filter(|id| !known.contains(id.as_str()))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn a_few_as_they_are() {
    let words = english();
    insta::assert_snapshot!("egg_svg", svg(&specimen(&Specimen::typical(Kind::Egg), SIZES[1], &words)));
    insta::assert_snapshot!("larva3_svg", svg(&specimen(&Specimen::typical(Kind::Larva3), SIZES[2], &words)));
    let reaches = character_state("filament-reach", "reaches", SIZES[1], &words).unwrap();
    insta::assert_snapshot!("reaches_svg", svg(&reaches));
    let plate = plate(Size { width: 600, height: 800 }, &words);
    insta::assert_snapshot!("plate_words", plate.text_alternative.description);
    insta::assert_json_snapshot!("specimen_json", Specimen::typical(Kind::Larva5));
    insta::assert_json_snapshot!(
        "other_specimens_json",
        [Kind::Egg, Kind::OtherLarva, Kind::Pupa].map(Specimen::typical)
    );
}

fn any_larva() -> impl Strategy<Value = Larva> {
    let number = || prop_oneof![9 => -1.0_f64..100.0, 1 => Just(f64::NAN), 1 => Just(f64::INFINITY)];
    let numbers = (number(), -0.1_f64..0.6, number(), number(), number(), number(), -0.5_f64..2.0);
    let looks = (
        prop::sample::select(vec![Posture::Stiff, Posture::Drooping, Posture::LaidForward]),
        prop::sample::select(vec![Head::Black, Head::BlackMarked, Head::Striped, Head::Pale]),
        prop::sample::select(vec![Bands::None, Bands::Faint, Bands::Thin, Bands::Even, Bands::Wide]),
        prop::sample::select(vec![Skin::Loose, Skin::Even, Skin::Swollen]),
        prop::sample::select(vec![Collar::Plain, Collar::Patches, Collar::Bars]),
        prop::sample::select(vec![Hair::Bare, Hair::Bristles, Hair::Long]),
        prop::sample::select(vec![ProlegSpots::None, ProlegSpots::Faint, ProlegSpots::Clear]),
    );
    (numbers, looks).prop_map(|(numbers, looks)| Larva {
        length: numbers.0,
        plumpness: numbers.1,
        head_width: numbers.2,
        front: numbers.3,
        middle: numbers.4,
        back: numbers.5,
        legs: numbers.6,
        posture: looks.0,
        head: looks.1,
        bands: looks.2,
        skin: looks.3,
        collar: looks.4,
        hair: looks.5,
        proleg_spots: looks.6,
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever the numbers, what is drawn lies in the frame, says something, and is the same each time.
    #[test]
    fn any_larva_in_any_frame(larva in any_larva(), width in 0_u32..700, height in 0_u32..500) {
        let size = Size { width, height };
        let bare = Specimen { subject: Subject::Larva(larva), scale: Scale::Bar, caption: Caption::Unnamed };
        let figure = specimen(&bare, size, &english());
        assert_sound(&figure, "any larva");
        prop_assert_eq!(svg(&figure), svg(&specimen(&bare, size, &english())));
        let pair = side_by_side(&[bare, bare], Scaling::One, size, &english());
        assert_sound(&pair, "a pair");
    }

    /// Within one instar the body grows; head and filaments do not.
    #[test]
    fn growth_within_an_instar(place in 0_usize..5, early in 0.0_f64..1.0, late in 0.0_f64..1.0) {
        let (early, late) = (early.min(late), early.max(late));
        let at = |share: f64| Larva::monarch(Instar::ALL[place], Growth::from(share));
        let (young, old) = (at(early), at(late));
        prop_assert!(young.length <= old.length);
        prop_assert_eq!((young.head_width, young.front, young.back), (old.head_width, old.front, old.back));
    }
}
