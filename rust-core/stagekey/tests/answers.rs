//! Answers as people type them, good and bad.

use stagekey::{Answer, AnswerError, Key, KeySession, Means};
use std::collections::BTreeSet;

/// A character, what is typed, and the kind of its error.
type Case = (&'static str, &'static str, fn(&AnswerError) -> bool);

fn all_means() -> BTreeSet<Means> {
    Means::ALL.into()
}

#[test]
fn answers_are_read_and_written_alike() {
    let key = Key::monarch();
    for (character, typed, written) in [
        ("bands", "thin", "eye:thin"),
        ("bands", "eye: thin ", "eye:thin"),
        ("pairs", "photo:two", "photo:two"),
        ("bands", "thin|wide", "eye:thin|wide"),
        ("bands", "wide | thin", "eye:thin|wide"),
        ("body-length", "12.5", "eye:12.5"),
        ("body-length", "12,5", "eye:12.5"),
        ("body-length", "12,5 mm", "eye:12.5"),
        ("body-length", "measuring:7", "measuring:7"),
        ("body-length", "photo:12.5~0.08", "photo:12.5~0.08"),
    ] {
        let answer =
            Answer::parse(&key, character, typed, &all_means()).unwrap_or_else(|error| panic!("{typed}: {error}"));
        assert_eq!(answer.to_string(), written);
        assert_eq!(Answer::parse(&key, character, written, &all_means()).unwrap(), answer);
        let json = serde_json::to_string(&answer).unwrap();
        assert_eq!(serde_json::from_str::<Answer>(&json).unwrap(), answer);
    }
}

#[test]
fn bad_answers_are_refused_with_a_reason_and_nothing_is_lost() {
    use AnswerError as E;
    let key = Key::monarch();
    let session = KeySession::begin(&key, all_means()).typed(&key, "shape", "egg").unwrap();
    let before = session.clone();
    let cases: Vec<Case> = vec![
        ("wings", "blue", |e| matches!(e, E::UnknownCharacter(_))),
        ("bands", "striped", |e| matches!(e, E::UnknownState { states, .. } if states.len() == 5)),
        ("bands", "", |e| matches!(e, E::UnknownState { .. })),
        ("bands", "thin,wide", |e| matches!(e, E::TwoStates { between, .. } if between == "thin|wide")),
        ("bands", "thin wide", |e| matches!(e, E::TwoStates { .. })),
        ("bands", "thin|thin", |e| matches!(e, E::TooFewStates { .. })),
        ("bands", "thin|blue", |e| matches!(e, E::UnknownState { .. })),
        ("bands", "lens:thin", |e| matches!(e, E::OtherMeans { .. })),
        ("bands", "radar:thin", |e| matches!(e, E::UnknownMeans(_))),
        ("bands", "3", |e| matches!(e, E::UnknownState { .. })),
        ("body-length", "0", |e| matches!(e, E::OutOfRange { .. })),
        ("body-length", "-3", |e| matches!(e, E::OutOfRange { .. })),
        ("body-length", "\u{2212}3", |e| matches!(e, E::OutOfRange { .. })),
        ("body-length", "4000", |e| matches!(e, E::OutOfRange { .. })),
        ("body-length", "1.234,5", |e| matches!(e, E::NotANumber { .. })),
        ("body-length", "12.", |e| matches!(e, E::NotANumber { .. })),
        ("body-length", "1e1", |e| matches!(e, E::NotANumber { .. })),
        ("body-length", "NaN", |e| matches!(e, E::NotANumber { .. })),
        ("body-length", "long", |e| matches!(e, E::NotANumber { .. })),
        ("body-length", "photo:12~3", |e| matches!(e, E::BadError { .. })),
    ];
    for (character, typed, is) in cases {
        let error = session.typed(&key, character, typed).unwrap_err();
        assert!(is(&error), "{character} {typed}: {error:?}");
        assert!(error.text_id().starts_with("key.refused."));
        assert!(!error.to_string().is_empty());
    }
    assert_eq!(session, before);
}

#[test]
fn a_session_of_another_key_is_not_mixed_in() {
    let key = Key::monarch();
    let other = Key::load(include_str!("keys/lamp-moth.toml")).unwrap();
    let session = KeySession::begin(&other, all_means());
    assert_eq!(session.typed(&key, "shape", "egg").unwrap_err(), AnswerError::OtherKey);
    assert_eq!(session.support(&key).unwrap_err(), AnswerError::OtherKey);
    let tampered = KeySession::begin(&key, all_means()).typed(&key, "body-length", "12").unwrap();
    let json = serde_json::to_string(&tampered).unwrap().replace("12.0", "4000.0");
    let read: KeySession = serde_json::from_str(&json).unwrap();
    assert!(matches!(read.checked(&key).unwrap_err(), AnswerError::OutOfRange { .. }));
}

#[test]
fn an_earlier_answer_changed_leaves_the_later_ones() {
    let key = Key::monarch();
    let session = KeySession::begin(&key, all_means());
    let session = session.typed(&key, "shape", "egg").unwrap().typed(&key, "bands", "thin").unwrap();
    let session = session.typed(&key, "pairs", "two").unwrap().skipped(&key, "legs").unwrap();
    let changed = session.typed(&key, "shape", "smooth-caterpillar").unwrap();
    assert_eq!(changed.answers().len(), 3);
    assert_eq!(changed.answers()["pairs"], session.answers()["pairs"]);
    assert!(changed.skips().contains("legs"));
    let afresh = KeySession::begin(&key, all_means());
    let afresh = afresh.typed(&key, "pairs", "two").unwrap().typed(&key, "shape", "smooth-caterpillar").unwrap();
    let afresh = afresh.typed(&key, "bands", "thin").unwrap();
    assert_eq!(changed.support(&key).unwrap(), afresh.support(&key).unwrap());
}

#[test]
fn a_session_is_written_down_and_goes_on() {
    let key = Key::monarch();
    let session = KeySession::begin_with_guess(&key, BTreeSet::from([Means::Eye, Means::Lens]), "larva3").unwrap();
    let session = session.typed(&key, "filament-reach", "reaches|beyond").unwrap();
    let session = session.typed(&key, "body-length", "12,5").unwrap().skipped(&key, "bites").unwrap();
    let json = serde_json::to_string_pretty(&session).unwrap();
    let read: KeySession = serde_json::from_str(&json).unwrap();
    assert_eq!(read.checked(&key).unwrap(), session);
    let stable = json.replace(&key.hash().to_string(), "[hash of the key file]");
    insta::assert_snapshot!("session", stable);
}
