//! Practice: what comes next, what is right, and what is said of a round.

use stagekey::practice::{Answered, Choice, Deck, LookAlike, Score, Shows, SpecimenLook, Subject, Topic};
use stagekey::{Key, monarch_text};
use std::collections::BTreeMap;

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
    for subject in Subject::ALL {
        assert!(answered.iter().any(|one| one.truth == Choice::Is(subject)), "{subject:?}");
    }
}

#[test]
fn what_is_confused_comes_more_often() {
    let swap = |truth| match truth {
        Choice::Is(Subject::Larva3) => Choice::Is(Subject::Larva4),
        Choice::Is(Subject::Larva4) => Choice::Is(Subject::Larva3),
        other => other,
    };
    let hard = Topic::Between(Subject::Larva3, Subject::Larva4);
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
        let truth = Choice::Is(Subject::Egg);
        let answered = if right { truth } else { Choice::Is(Subject::Other(LookAlike::Latex)) };
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
            let (SpecimenLook::Larva(a), SpecimenLook::Larva(b)) = (&one.look, &other.look) else { panic!("{item:?}") };
            let (small, large) = if a.length < b.length { (a, b) } else { (b, a) };
            if item.truth == Choice::SameInstar {
                same += 1;
                assert_eq!(one.subject, other.subject);
                assert!(large.length > 1.4 * small.length, "same instar, very different size");
                assert!((large.head / small.head).ln().abs() < 0.15, "yet heads alike");
            } else {
                different += 1;
                assert_ne!(one.subject, other.subject);
                assert!(large.length < 1.5 * small.length, "different instars, nearly one size");
                assert!((large.head.max(small.head) / large.head.min(small.head)).ln() > 0.2, "yet heads differ");
            }
        }
        assert!(item.choices().contains(&item.truth) && item.longest() > 0.0);
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
    assert_eq!(of(Subject::Egg, Subject::Other(LookAlike::Latex)), Some("egg-ridges"));
    assert_eq!(of(Subject::Larva3, Subject::Larva4), Some("filament-reach"));
    assert_eq!(of(Subject::Larva5, Subject::Other(LookAlike::OtherDanaus)), Some("pairs"));
    assert_eq!(of(Subject::Larva3, Subject::Other(LookAlike::Hairy)), Some("shape"));
}

#[test]
fn a_round_is_scored() {
    // The table [[20, 5], [10, 15]] of agreement has kappa 0.4000000 (computed by hand: 0.7 agree, 0.5 by chance).
    let one = |truth, given| Answered {
        item: String::new(),
        topic: Topic::Between(Subject::Larva1, Subject::Larva2),
        truth: Choice::Is(truth),
        answered: Choice::Is(given),
        took_ms: 1,
    };
    let (a, b) = (Subject::Larva1, Subject::Larva2);
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
