//! What those who teach this say, one row a fact; each is common practice without a source unless a source stands there.

use stagekey::{Counts, Key, KeySession, Means, Next};
use std::collections::BTreeSet;
use survey::stage::{AnimalState, Stage, What};

fn all_means() -> BTreeSet<Means> {
    Means::ALL.into()
}

fn told(answers: &str) -> Vec<(String, f64)> {
    let key = Key::monarch();
    let session = answers.split_whitespace().fold(KeySession::begin(&key, all_means()), |session, one| {
        let (character, answer) = one.split_once('=').unwrap();
        session.typed(&key, character, answer).unwrap_or_else(|error| panic!("{one}: {error}"))
    });
    session.support(&key).unwrap().into_iter().map(|(id, chance)| (id.to_string(), chance)).collect()
}

fn chance(of: &[(String, f64)], outcome: &str) -> f64 {
    of.iter().find(|one| one.0 == outcome).unwrap().1
}

/// The fact; what was seen; what fits best; what is still in question (support 0.02 or more), where the fact names it.
type Fact = (&'static str, &'static str, &'static str, &'static str);

const FACTS: &[Fact] = &[
    (
        "a hand lens shows lengthwise ridges on an egg",
        "shape=egg egg-ridges=lens:ridged egg-state=whole-pale",
        "egg",
        "",
    ),
    (
        "by eye ridges are mostly not seen: smooth by eye rules nothing out",
        "shape=egg egg-ridges=eye:smooth egg-colour=cream",
        "egg",
        "latex",
    ),
    ("an egg is off-white, oval, upright", "shape=egg egg-colour=cream egg-form=lens:upright-oval", "egg", ""),
    ("latex is bright white, without ridges", "shape=drop egg-colour=milk-white egg-ridges=lens:smooth", "latex", ""),
    (
        "latex may be almost yellow",
        "shape=drop egg-colour=yellow egg-ridges=lens:smooth egg-form=lens:uneven",
        "latex",
        "",
    ),
    ("a touched drop smears", "shape=egg egg-touch=smears", "latex", ""),
    (
        "several eggs on one leaf are not rare",
        "shape=egg egg-ridges=lens:ridged egg-posture=upright egg-company=few",
        "egg",
        "",
    ),
    ("not always under a leaf", "shape=egg egg-ridges=lens:ridged egg-form=lens:upright-oval place=on-leaf", "egg", ""),
    ("a lacewing egg stands on a stalk", "shape=egg egg-posture=stalk", "other-egg", ""),
    (
        "a hoverfly egg lies beside aphids and has fine ridges (from memory)",
        "shape=egg egg-posture=lying egg-form=lens:long aphids=beside egg-ridges=lens:ridged",
        "other-egg",
        "",
    ),
    (
        "eggs in a mass are another's",
        "shape=egg egg-posture=flat egg-company=packed egg-form=lens:round",
        "other-egg",
        "",
    ),
    (
        "a first instar is unmarked until it has eaten",
        "shape=smooth-caterpillar pairs=none bands=none head-pattern=black head-body=wider",
        "larva1",
        "",
    ),
    (
        "faint bands alone do not rule out the first instar",
        "shape=smooth-caterpillar bands=faint pairs=none",
        "larva1",
        "larva2",
    ),
    (
        "a first instar eats small holes",
        "shape=smooth-caterpillar pairs=none head-pattern=black bites=holes",
        "larva1",
        "",
    ),
    (
        "a second instar has bands and short front stubs",
        "shape=smooth-caterpillar bands=thin pairs=front-only filament-reach=short",
        "larva2",
        "",
    ),
    (
        "a third instar's front pair reaches the front of the head",
        "shape=smooth-caterpillar pairs=two filament-reach=reaches",
        "larva3",
        "larva4",
    ),
    (
        "a third instar's back pair is about as long as a second's front pair: shorter than its head is wide",
        "shape=smooth-caterpillar filament-reach=reaches back-head=shorter",
        "larva3",
        "",
    ),
    (
        "a fourth instar's back pair is about as long as a third's front pair: longer than its head is wide",
        "shape=smooth-caterpillar filament-reach=beyond back-head=longer",
        "larva4",
        "larva5",
    ),
    ("a third instar eats from the edge", "shape=smooth-caterpillar filament-reach=reaches bites=edge", "larva3", ""),
    (
        "a fourth instar's front pair is beyond the head, about 5 mm",
        "filament-reach=beyond front-filament=5 filament-posture=stiff",
        "larva4",
        "",
    ),
    (
        "a fifth instar's front pair is about 10 mm and droops",
        "front-filament=10 filament-posture=drooping",
        "larva5",
        "",
    ),
    (
        "a fifth instar's bands are wide and velvety",
        "shape=smooth-caterpillar pairs=two filament-reach=far-beyond bands=wide filament-posture=drooping",
        "larva5",
        "larva4",
    ),
    (
        "a fourth may notch a stalk too (from memory)",
        "shape=smooth-caterpillar filament-reach=far-beyond bites=notched-stalk",
        "larva5",
        "larva4",
    ),
    ("a fifth may be far from milkweed", "shape=smooth-caterpillar bands=wide pairs=two place=off-plant", "larva5", ""),
    (
        "15 mm may be a third or a fourth",
        "shape=smooth-caterpillar pairs=two body-length=measuring:14.5",
        "larva4",
        "larva3",
    ),
    (
        "25 mm may be a fourth or a fifth",
        "shape=smooth-caterpillar pairs=two body-length=measuring:25",
        "larva5",
        "larva4",
    ),
    (
        "a fresh fifth is short with a wide head: the head decides",
        "body-length=measuring:23 head-width=measuring:2.65 filament-head=over-three",
        "larva5",
        "",
    ),
    (
        "Dyar's ratio 1.45 from 0.60 mm: 1.26 mm is a third (Dyar 1890, Psyche 5: 420-422)",
        "shape=smooth-caterpillar head-width=measuring:1.26 pairs=two",
        "larva3",
        "",
    ),
    (
        "queen caterpillars have three pairs (The Book of Caterpillars, p. 217)",
        "shape=smooth-caterpillar pairs=three",
        "other-danaus",
        "",
    ),
    ("tussock moths are hairy", "shape=hairy-caterpillar", "hairy", ""),
    ("maggots have no legs", "shape=other-crawler aphids=beside pairs=none", "other-larva", ""),
    ("a pupa hangs smooth and green with gold dots", "shape=case case-form=smooth-green", "pupa", ""),
    (
        "an empty shell is no living egg",
        "shape=egg egg-ridges=lens:ridged egg-state=open egg-colour=other",
        "spent-egg",
        "",
    ),
];

#[test]
fn facts_of_the_trade() {
    for (fact, answers, best, open) in FACTS {
        let support = told(answers);
        assert_eq!(support[0].0, *best, "{fact}: {support:?}");
        assert!(open.is_empty() || chance(&support, open) >= 0.02, "{fact}: {open} {}", chance(&support, open));
    }
}

#[test]
fn eggs_of_other_danaus_have_no_deciding_character_and_the_key_says_so() {
    let key = Key::monarch();
    let listed: Vec<_> =
        key.outcome("other-danaus").unwrap().looks_like.iter().filter(|one| one.none_deciding.is_some()).collect();
    assert_eq!(listed.iter().map(|one| one.of.as_str()).collect::<Vec<_>>(), ["egg", "larva1"]);
}

#[test]
fn one_slip_of_a_finger_cannot_decide() {
    let plain = "shape=smooth-caterpillar pairs=two filament-reach=reaches bands=thin";
    let slipped = told(&format!("{plain} body-length=measuring:45"));
    assert!(chance(&slipped, "larva3") > 0.05 && chance(&slipped, "larva5") < 0.9, "{slipped:?}");
}

#[test]
fn the_error_of_a_photo_scale_widens_the_answer() {
    let sharp = told("body-length=photo:11 shape=smooth-caterpillar pairs=two");
    let blurred = told("body-length=photo:11~0.4 shape=smooth-caterpillar pairs=two");
    assert!(chance(&sharp, "larva3") > chance(&blurred, "larva3") + 0.1);
}

#[test]
fn contradictory_answers_are_named() {
    let key = Key::monarch();
    let session = KeySession::begin(&key, all_means());
    let session = session.typed(&key, "filament-reach", "beyond").unwrap().typed(&key, "bands", "thin").unwrap();
    assert_eq!(session.contradiction(&key).unwrap(), None);
    let session = session.typed(&key, "shape", "drop").unwrap();
    let found = session.contradiction(&key).unwrap().unwrap();
    assert_eq!((found.between.0.as_str(), found.between.1.as_str()), ("filament-reach", "shape"));
    assert!(found.conflict > 4.0_f64.ln());
}

#[test]
fn reasons_stand_in_order_of_weight_for_and_against() {
    let key = Key::monarch();
    let session = KeySession::begin(&key, all_means());
    let session = session.typed(&key, "shape", "smooth-caterpillar").unwrap().typed(&key, "pairs", "two").unwrap();
    let session =
        session.typed(&key, "filament-reach", "reaches").unwrap().typed(&key, "bites", "notched-stalk").unwrap();
    let reasons = session.reasons(&key, "larva3").unwrap();
    assert!(reasons.windows(2).all(|two| two[0].weight.abs() >= two[1].weight.abs()));
    let weight = |character: &str| reasons.iter().find(|one| one.character.as_str() == character).unwrap().weight;
    assert!(weight("filament-reach") > 0.0 && weight("pairs") > 0.0 && weight("bites") < 0.0, "{reasons:?}");
    let json = serde_json::to_string_pretty(&reasons).unwrap();
    insta::assert_snapshot!("reasons", json);
}

#[test]
fn what_is_counted() {
    let key = Key::monarch();
    let begin = KeySession::begin(&key, all_means());
    let proposal = |typed: &[(&str, &str)]| {
        let session = typed.iter().fold(begin.clone(), |session, (c, a)| session.typed(&key, c, a).unwrap());
        session.proposal(&key).unwrap()
    };
    let latex = proposal(&[
        ("shape", "drop"),
        ("egg-touch", "smears"),
        ("egg-form", "lens:uneven"),
        ("egg-ridges", "lens:smooth"),
    ]);
    assert_eq!(latex.counts, Counts::NotThis);
    let shell = proposal(&[
        ("shape", "egg"),
        ("egg-state", "open"),
        ("egg-colour", "other"),
        ("egg-ridges", "lens:ridged"),
        ("egg-posture", "upright"),
        ("egg-company", "alone"),
    ]);
    assert_eq!(shell.counts, Counts::This { what: What::Stage(Stage::Egg), state: Some(AnimalState::HatchedShell) });
    let hatching = proposal(&[
        ("shape", "egg"),
        ("egg-state", "dark-top"),
        ("egg-colour", "cream"),
        ("egg-ridges", "lens:ridged"),
        ("egg-posture", "upright"),
        ("egg-company", "alone"),
        ("egg-form", "lens:upright-oval"),
    ]);
    assert_eq!(hatching.counts, Counts::This { what: What::Stage(Stage::Egg), state: Some(AnimalState::AboutToHatch) });
    let doubt = proposal(&[
        ("shape", "smooth-caterpillar"),
        ("pairs", "two"),
        ("filament-reach", "reaches|beyond"),
        ("body-length", "measuring:14.2"),
    ]);
    assert_eq!(doubt.counts, Counts::This { what: "larva3+larva4".parse().unwrap(), state: Some(AnimalState::Alive) });
    insta::assert_snapshot!("proposal", serde_json::to_string_pretty(&doubt).unwrap());
}

#[test]
fn a_guess_asks_at_most_two_questions_and_is_no_evidence() {
    let key = Key::monarch();
    for outcome in key.outcomes() {
        let plain = KeySession::begin(&key, all_means());
        let mut session = KeySession::begin_with_guess(&key, all_means(), outcome.id.as_str()).unwrap();
        assert_eq!(session.support(&key).unwrap(), plain.support(&key).unwrap());
        let mut asked = Vec::new();
        while let Next::Ask(question) = session.next(&key).unwrap() {
            asked.push(question.character.to_string());
            session = session.skipped(&key, question.character.as_str()).unwrap();
        }
        assert!((1..=2).contains(&asked.len()), "{}: {asked:?}", outcome.id);
        assert_eq!(session.next(&key).unwrap(), Next::GuessChecked);
        assert!(matches!(session.going_on().next(&key).unwrap(), Next::Ask(_)));
    }
    let third = KeySession::begin_with_guess(&key, all_means(), "larva3").unwrap();
    let evidence = third.evidence(&key, None).unwrap();
    assert_eq!(evidence.guess, Some("larva3".parse().unwrap()));
    assert!(KeySession::begin_with_guess(&key, all_means(), "larva9").is_err());
}

#[test]
fn a_prior_waits_for_the_observers_own_choice() {
    let key = Key::monarch();
    let even = 1.0 / key.outcomes().len() as f64;
    let prior: stagekey::Prior = key.outcomes().iter().map(|outcome| (outcome.id.clone(), even)).collect();
    let session = KeySession::begin(&key, all_means()).typed(&key, "bands", "thin").unwrap();
    assert!(session.with_prior(&key, &prior).is_err() && session.evidence(&key, Some(&prior)).is_err());
    let guessed =
        KeySession::begin_with_guess(&key, all_means(), "larva3").unwrap().typed(&key, "bands", "thin").unwrap();
    for (with, without) in guessed.with_prior(&key, &prior).unwrap().iter().zip(guessed.support(&key).unwrap()) {
        assert!((with.1 - without.1).abs() < 1e-12);
    }
    let kept = guessed.evidence(&key, Some(&prior)).unwrap();
    assert_eq!(kept.support, guessed.evidence(&key, None).unwrap().support, "support never holds the prior");
    assert!(kept.prior.is_some());
    let short: stagekey::Prior = prior.into_iter().take(3).collect();
    assert!(guessed.with_prior(&key, &short).is_err());
}

#[test]
fn means_that_are_off_are_not_asked_for() {
    let key = Key::monarch();
    let eye = KeySession::begin(&key, BTreeSet::from([Means::Eye]));
    assert!(eye.questions(&key).unwrap().iter().all(|question| question.by == Means::Eye));
    let none = KeySession::begin(&key, BTreeSet::new());
    assert_eq!(none.next(&key).unwrap(), Next::NothingLeft);
}
