//! Practice: what comes next, what is right, and what is said of a round.

use figure::specimen::{Subject, english};
use figure::{Ink, Shape, Size, svg};
use practice::{Answered, Choice, Deck, Kind, Score, Shows, Topic, part_for};
use stagekey::{Key, monarch_text};
use std::collections::{BTreeMap, BTreeSet};

/// A round of this many items, answered by `observer`.
fn round(seed: u64, items: usize, observer: impl Fn(Choice) -> Choice) -> Vec<Answered> {
    let mut answered: Vec<Answered> = Vec::new();
    for _ in 0..items {
        let item = Deck::seeded(seed).next(&answered);
        answered.push(item.answered(observer(item.truth), 4000));
    }
    answered
}

#[test]
fn the_same_seed_and_answers_bring_the_same_items() {
    assert_eq!(round(7, 30, |truth| truth), round(7, 30, |truth| truth));
    assert_ne!(round(7, 30, |truth| truth), round(8, 30, |truth| truth));
}

#[test]
fn every_topic_and_every_subject_comes_and_none_twice_running() {
    let answered = round(3, 400, |truth| truth);
    assert!(answered.windows(2).all(|two| two[0].topic != two[1].topic));
    for topic in Topic::ALL {
        assert!(answered.iter().any(|one| one.topic == topic), "{topic:?}");
    }
    for subject in Kind::ALL {
        assert!(answered.iter().any(|one| one.truth == Choice::Is(subject)), "{subject:?}");
    }
}

#[test]
fn what_is_confused_comes_more_often() {
    let swap = |truth| match truth {
        Choice::Is(Kind::Larva3) => Choice::Is(Kind::Larva4),
        Choice::Is(Kind::Larva4) => Choice::Is(Kind::Larva3),
        other => other,
    };
    let hard = Topic::Between(Kind::Larva3, Kind::Larva4);
    let share =
        |answered: &[Answered]| answered.iter().filter(|one| one.topic == hard).count() as f64 / answered.len() as f64;
    let (mut confused, mut sure) = (0.0, 0.0);
    for seed in 0..20 {
        confused += share(&round(seed, 100, swap));
        sure += share(&round(seed, 100, |truth| truth));
    }
    assert!(confused > 1.6 * sure, "{confused} {sure}");
}

#[test]
fn need_follows_its_rule() {
    let of = |topic, right: bool| {
        let truth = Choice::Is(Kind::Egg);
        let answered = if right { truth } else { Choice::Is(Kind::Latex) };
        Answered { item: String::new(), topic, truth, answered, took_ms: 0 }
    };
    let (egg, other) = (Topic::ALL[0], Topic::ALL[1]);
    assert!((egg.need(&[]) - 0.5).abs() < 1e-12);
    assert!(egg.need(&[of(egg, false)]).abs() < 1e-12, "not twice running");
    // One wrong of one, one item since: (1 + 1) / (1 + 2) * 1.1.
    assert!((egg.need(&[of(egg, false), of(other, true)]) - 2.0 / 3.0 * 1.1).abs() < 1e-12);
    assert!((egg.need(&[of(egg, true), of(other, true)]) - 1.0 / 3.0 * 1.1).abs() < 1e-12);
    let long: Vec<_> = std::iter::once(of(egg, true)).chain((0..90).map(|_| of(other, true))).collect();
    assert!((egg.need(&long) - 1.0 / 3.0 * 3.0).abs() < 1e-12, "waiting counts three times at most");
}

#[test]
fn pairs_of_larvae_are_hard_and_true() {
    let (mut same, mut different) = (0, 0);
    let mut answered: Vec<Answered> = Vec::new();
    for _ in 0..300 {
        let item = Deck::seeded(11).next(&answered);
        if let Shows::Two(one, other) = &item.shows {
            let (Subject::Larva(a), Subject::Larva(b)) = (&one.subject, &other.subject) else { panic!("{item:?}") };
            let (small, large) = if a.length < b.length { (a, b) } else { (b, a) };
            if item.truth == Choice::SameInstar {
                same += 1;
                assert_eq!(one.kind, other.kind);
                assert!(large.length > 1.3 * small.length, "same instar, very different size");
                assert!((large.head_width / small.head_width).ln().abs() < 0.15, "yet heads alike");
            } else {
                different += 1;
                assert_ne!(one.kind, other.kind);
                assert!(large.length < 1.5 * small.length, "different instars, nearly one size");
                assert!(
                    (large.head_width.max(small.head_width) / large.head_width.min(small.head_width)).ln() > 0.2,
                    "yet heads differ"
                );
            }
        }
        assert!(item.choices().contains(&item.truth));
        answered.push(item.answered(item.truth, 1000));
    }
    assert!(same > 10 && different > 10, "{same} {different}");
}

#[test]
fn marks_name_the_character_that_decides() {
    let key = Key::load(monarch_text()).unwrap();
    let mut decided: BTreeMap<(Choice, Choice), String> = BTreeMap::new();
    let mut answered: Vec<Answered> = Vec::new();
    for _ in 0..200 {
        let item = Deck::seeded(5).next(&answered);
        let Topic::Between(one, other) = item.topic else {
            answered.push(item.answered(item.truth, 1000));
            continue;
        };
        let wrong = if item.truth == Choice::Is(one) { Choice::Is(other) } else { Choice::Is(one) };
        let marks = item.marks(&key, wrong);
        assert!(!marks.right && item.marks(&key, item.truth).right);
        let (character, _) = marks.deciding.clone().unwrap();
        decided.insert((item.truth, wrong), character.to_string());
        answered.push(item.answered(wrong, 1000));
    }
    let of = |truth, other| decided.get(&(Choice::Is(truth), Choice::Is(other))).map(String::as_str);
    assert_eq!(of(Kind::Egg, Kind::Latex), Some("egg-ridges"));
    assert_eq!(of(Kind::Larva3, Kind::Larva4), Some("back-head"));
    assert_eq!(of(Kind::Larva5, Kind::OtherDanaus), Some("pairs"));
    assert_eq!(of(Kind::Larva3, Kind::Hairy), Some("shape"));
}

#[test]
fn a_round_is_scored() {
    // The table [[20, 5], [10, 15]] of agreement has kappa 0.4000000 (computed by hand: 0.7 agree, 0.5 by chance).
    let one = |truth, given| Answered {
        item: String::new(),
        topic: Topic::Between(Kind::Larva1, Kind::Larva2),
        truth: Choice::Is(truth),
        answered: Choice::Is(given),
        took_ms: 1,
    };
    let (a, b) = (Kind::Larva1, Kind::Larva2);
    let cells = [(a, a, 20), (a, b, 5), (b, a, 10), (b, b, 15)];
    let answered: Vec<_> =
        cells.iter().flat_map(|(truth, given, number)| (0..*number).map(|_| one(*truth, *given))).collect();
    let score = Score::of(&answered);
    assert_eq!((score.asked, score.right), (50, 35));
    assert!((score.agreement.unwrap() - 0.7).abs() < 1e-12 && (score.kappa.unwrap() - 0.4).abs() < 1e-12);
    assert_eq!(score.look_at, [Topic::Between(a, b)]);
    assert_eq!(Score::of(&[]).agreement, None);
    insta::assert_snapshot!("score", serde_json::to_string_pretty(&score).unwrap());
    insta::assert_snapshot!("item", serde_json::to_string_pretty(&Deck::seeded(1).next(&[])).unwrap());
}

/// The names of the drawings are the outcomes of the built-in key, so that whatever can be told apart can be practised.
#[test]
fn every_outcome_of_the_key_can_be_drawn_and_answered() {
    let key = Key::monarch();
    let outcomes: BTreeSet<String> = key.outcomes().iter().map(|outcome| outcome.id.to_string()).collect();
    assert_eq!(outcomes, Kind::ALL.iter().map(|kind| kind.name().to_owned()).collect());
}

/// What is kept under names is read again, so that practice goes on from the journal alone.
#[test]
fn answers_are_read_again_from_their_names() {
    let answered = round(21, 60, |truth| if truth == Choice::SameInstar { Choice::OtherInstar } else { truth });
    let again: Vec<_> = answered
        .iter()
        .map(|one| Answered::of_names(&one.item, one.truth.name(), one.answered.name(), one.took_ms).unwrap())
        .collect();
    assert_eq!(again, answered);
    assert_eq!(Deck::seeded(21).next(&again), Deck::seeded(21).next(&answered));
    assert_eq!(Answered::of_names("tunnels.1-1", "egg", "egg", 1), None);
    assert_eq!(Answered::of_names("egg+latex.1-1", "egg", "moth", 1), None);
}

const SIZE: Size = Size { width: 360, height: 240 };

/// The question gives neither name nor answer away; the explanation names the truth and rings what decides.
#[test]
fn a_question_gives_nothing_away_and_the_explanation_points() {
    let (key, words) = (Key::monarch(), english());
    let mut answered: Vec<Answered> = Vec::new();
    let (mut ringed, mut one_ring_missing) = (0, BTreeSet::new());
    for _ in 0..250 {
        let item = Deck::seeded(4).next(&answered);
        let asked = item.figure(SIZE, &words);
        let told = format!("{} {}", asked.text_alternative.title, asked.text_alternative.description);
        for specimen in item.specimens() {
            let name = figure::specimen::specimen(&figure::specimen::Specimen::typical(specimen.kind), SIZE, &words);
            assert!(!told.contains(&name.text_alternative.title), "{told}");
        }
        let wrong = item.choices().into_iter().find(|choice| *choice != item.truth).unwrap();
        let marks = item.marks(&key, wrong);
        let explained = item.explained(&marks, SIZE, &words);
        let rings = explained.shapes.iter().filter(|shape| match shape {
            Shape::Circle { fill: None, stroke: Some(stroke), .. } => stroke.ink == Ink::Doubt,
            _ => false,
        });
        let (rings, pointed) = (rings.count(), marks.apart.map(|(one, other)| [one, other]));
        let part = marks.deciding.as_ref().zip(pointed).and_then(|((name, _), pair)| part_for(name.as_str(), &pair));
        if part.is_some() && rings == 0 {
            one_ring_missing.insert(item.specimens()[0].kind.name());
        }
        ringed += usize::from(rings > 0);
        assert!(svg(&explained).starts_with("<svg"));
        answered.push(item.answered(wrong, 1000));
    }
    assert!(ringed > 100, "{ringed}");
    // What has no such part cannot be ringed: a case, and crawlers without the parts of a caterpillar.
    assert!(one_ring_missing.iter().all(|name| ["pupa", "other-larva"].contains(name)), "{one_ring_missing:?}");
}
