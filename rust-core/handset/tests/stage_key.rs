//! The stage key and practice, as a shell leads a person through them.

mod common;

use common::{first_plant, open, script, site};
use figure::Size;
use figure::specimen::english;
use handset::acts::{BeginKey, KeyCount, KeyReply, Screen};
use handset::views::{KeyNext, KeySays, KeyView, drawing};
use handset::{Handset, Kind, Why};
use practice::Choice;
use stagekey::Means;
use std::collections::BTreeSet;
use std::path::Path;
use survey::check::Counted;
use survey::entry::{Act, Entry};
use survey::site::{OtherDanaus, SiteDescription};
use survey::stage::{AnimalState, Stage, What};

const SIZE: Size = Size { width: 200, height: 150 };

fn by_eye() -> BeginKey {
    BeginKey { means: BTreeSet::from([Means::Eye, Means::Lens]), guess: None }
}

fn typed(phone: &mut Handset, character: &str, text: &str) -> KeyView {
    phone.answer_key(character, &KeyReply::Typed(text.into())).unwrap()
}

fn asked(view: &KeyView) -> String {
    match &view.next {
        KeyNext::Question(question) => question.character.to_string(),
        KeyNext::Done(message) => message.id.clone(),
    }
}

fn entries(folder: &Path) -> Vec<Entry> {
    let db = rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap();
    let mut statement = db.prepare("SELECT bytes FROM entry ORDER BY stream, seq").unwrap();
    let rows = statement.query_map([], |row| row.get::<_, Vec<u8>>(0)).unwrap();
    rows.map(|bytes| Entry::decode(&bytes.unwrap()).unwrap()).collect()
}

fn last_count(folder: &Path) -> Counted {
    let mut counted = entries(folder).into_iter().filter_map(|entry| match entry.act {
        Act::Counted(counted) => Some(counted),
        _ => None,
    });
    counted.next_back().unwrap()
}

#[test]
fn a_third_instar_is_told_and_counted_in_one_act_with_its_answers() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(31));
    first_plant(&mut phone);
    let before = phone.last_seq();
    insta::assert_json_snapshot!("key-begun", phone.begin_key(&by_eye()).unwrap());
    typed(&mut phone, "shape", "smooth-caterpillar");
    typed(&mut phone, "pairs", "two");
    typed(&mut phone, "filament-reach", "reaches");
    let view = typed(&mut phone, "filament-head", "one-to-two");
    insta::assert_json_snapshot!("key-answered", view);
    assert_eq!(phone.last_seq(), before, "answers are no entries");
    let plant = phone.count_from_key(KeyCount::ONE).unwrap();
    assert_eq!(phone.last_seq().0, before.0 + 1, "one act, one entry");
    let counted = last_count(folder.path());
    assert_eq!(Some(&counted.what), view.proposal.counts.as_ref().map(|counts| &counts.what));
    let evidence = counted.key.unwrap();
    assert_eq!(evidence.answers.len(), 4);
    assert_eq!(evidence.answers["filament-reach"], "eye:reaches");
    assert!((evidence.support.iter().map(|one| one.1).sum::<f64>() - 1.0).abs() < 1e-9);
    let tiles = plant.stages.iter().chain(&plant.undecided).map(|tile| tile.living).sum::<u64>();
    assert_eq!(tiles, 1);
    assert_eq!(phone.key().unwrap_err().kind, Kind::NotAllowed(Why::NoKey), "the session has ended");
    let Screen::Plant(back) = phone.take_back().unwrap() else { panic!("the plant is open") };
    assert!(back.may_be_empty);
}

#[test]
fn a_phone_that_dies_amid_the_key_goes_on_where_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(32);
    let mut phone = open(folder.path(), &script);
    phone.begin_key(&by_eye()).unwrap();
    typed(&mut phone, "shape", "egg");
    let last = phone.answer_key("egg-posture", &KeyReply::CouldNotLook).unwrap();
    drop(phone);
    let mut again = open(folder.path(), &script);
    assert_eq!(again.key().unwrap(), last);
    // A state was said to be another: the later answers stay.
    typed(&mut again, "egg-ridges", "lens:ridged");
    let changed = typed(&mut again, "shape", "drop");
    assert_eq!(changed.answers.len(), 2);
    assert_eq!(changed.skipped.len(), 1);
    let open_again = again.answer_key("shape", &KeyReply::AskAgain).unwrap();
    assert_eq!(open_again.answers.len(), 1);
    assert_eq!(again.key_question("shape").unwrap().by, Means::Eye);
    again.drop_key().unwrap();
    assert_eq!(again.key().unwrap_err().kind, Kind::NotAllowed(Why::NoKey));
}

#[test]
fn refused_answers_lose_nothing_and_say_why() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(33));
    assert_eq!(phone.answer_key("shape", &KeyReply::CouldNotLook).unwrap_err().kind, Kind::NotAllowed(Why::NoKey));
    phone.begin_key(&by_eye()).unwrap();
    let before = typed(&mut phone, "shape", "smooth-caterpillar");
    for (character, text, message) in [
        ("bands", "plaid", "key.refused.unknown-state"),
        ("wings", "two", "key.refused.unknown-character"),
        ("bands", "thin wide", "key.refused.two-states"),
        ("body-length", "0", "key.refused.out-of-range"),
        ("body-length", "-3", "key.refused.out-of-range"),
        ("body-length", "4000", "key.refused.out-of-range"),
        ("body-length", "long", "key.refused.not-a-number"),
        ("bands", "radar:thin", "key.refused.unknown-means"),
    ] {
        let error = phone.answer_key(character, &KeyReply::Typed(text.into())).unwrap_err();
        assert_eq!((error.kind, error.message), (Kind::NotAllowed(Why::AnswerNotUsable), message), "{text}");
    }
    assert_eq!(phone.key().unwrap(), before);
    let view = typed(&mut phone, "body-length", "measuring:12,5");
    assert_eq!(view.answers[0].answer.to_string(), "measuring:12.5");
    let wrong = BeginKey { guess: Some("moth".into()), ..by_eye() };
    assert_eq!(phone.begin_key(&wrong).unwrap_err().kind, Kind::NotAllowed(Why::AnswerNotUsable));
}

#[test]
fn a_guess_asks_two_questions_at_most_and_is_no_evidence() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(34));
    first_plant(&mut phone);
    let mut view = phone.begin_key(&BeginKey { guess: Some("larva3".into()), ..by_eye() }).unwrap();
    let mut questions = 0;
    while let KeyNext::Question(question) = &view.next {
        questions += 1;
        let KeySays::States(states) = &question.says else { panic!("{question:?}") };
        let name = question.character.to_string();
        view = phone.answer_key(&name, &KeyReply::Answer(states[2].answer.clone())).unwrap();
    }
    assert!((1..=2).contains(&questions), "{questions}");
    assert_eq!(asked(&view), "key.guess-checked");
    assert!(matches!(phone.ask_beyond_guess().unwrap().next, KeyNext::Question(_)));
    // The observer decides otherwise: that is counted, and the answers are kept.
    let instead = KeyCount { instead: Some((What::Stage(Stage::Larva4), AnimalState::Moulting)), ..KeyCount::ONE };
    phone.count_from_key(instead).unwrap();
    let counted = last_count(folder.path());
    assert_eq!((counted.what, counted.state), (What::Stage(Stage::Larva4), AnimalState::Moulting));
    assert_eq!(counted.key.unwrap().guess, Some("larva3".parse().unwrap()));
}

#[test]
fn what_is_not_of_the_species_is_noted_with_its_answers_and_enters_no_total() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(35));
    first_plant(&mut phone);
    phone.begin_key(&by_eye()).unwrap();
    typed(&mut phone, "shape", "drop");
    typed(&mut phone, "egg-form", "lens:uneven");
    typed(&mut phone, "egg-ridges", "lens:smooth");
    let view = typed(&mut phone, "egg-touch", "smears");
    assert_eq!((view.proposal.counts, view.support[0].outcome.as_str()), (None, "latex"));
    let before = phone.visit().unwrap();
    let plant = phone.count_from_key(KeyCount::ONE).unwrap();
    assert_eq!(plant.others, 1);
    assert!(plant.may_be_empty, "nothing of ours is on it");
    assert_eq!(phone.visit().unwrap().living, before.living);
    assert_eq!(plant.take_back.unwrap().id, "act.other-noted");
    let noted = entries(folder.path()).into_iter().find_map(|entry| match entry.act {
        Act::OtherNoted(other) => other.key,
        _ => None,
    });
    assert_eq!(noted.unwrap().answers.len(), 4);
    assert_eq!(phone.key().unwrap_err().kind, Kind::NotAllowed(Why::NoKey), "the session has ended");
    let Screen::Plant(back) = phone.take_back().unwrap() else { panic!("the plant is open") };
    assert_eq!(back.others, 0);
}

#[test]
fn where_related_species_breed_an_egg_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(36));
    let told = |phone: &mut Handset| {
        phone.begin_key(&by_eye()).unwrap();
        typed(phone, "shape", "egg");
        let view = typed(phone, "egg-ridges", "lens:ridged");
        view.notes.iter().any(|note| note.id == "key.among-danaus")
    };
    assert!(!told(&mut phone), "no visit is in hand");
    let site = site(&mut phone, "Invented meadow");
    phone.begin_visit(site, common::begin(None, 0)).unwrap();
    assert!(!told(&mut phone));
    let breed = SiteDescription { other_danaus: Some(OtherDanaus::Breed), ..SiteDescription::default() };
    phone.describe_site(Some(site), breed).unwrap();
    assert!(told(&mut phone));
}

#[test]
fn every_drawing_that_a_record_names_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(37));
    let view = phone.begin_key(&by_eye()).unwrap();
    let mut names: Vec<String> = view.support.iter().map(|row| row.drawing.clone()).collect();
    for character in stagekey::Key::monarch().characters() {
        match phone.key_question(character.id.as_str()).unwrap().says {
            KeySays::States(states) => names.extend(states.into_iter().map(|state| state.drawing)),
            KeySays::Number { drawing, .. } => names.push(drawing),
        }
        names.push(character.id.to_string());
    }
    assert!(names.len() > 100);
    for name in names {
        assert!(drawing(&name, SIZE, &english()).is_some_and(|figure| figure.shapes.len() > 2), "{name}");
    }
    assert!(drawing("wings/blue", SIZE, &english()).is_none());
}

#[test]
fn practice_is_kept_in_the_journal_and_goes_on_after_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(38);
    let mut phone = open(folder.path(), &script);
    let first = phone.practice().unwrap();
    insta::assert_json_snapshot!("practice", first);
    let drawn = phone.practice_drawing(SIZE, &english()).unwrap();
    assert!(drawn.text_alternative.title.contains("name") || drawn.text_alternative.title.contains("side"));
    let marked = phone.answer_practice(&first.item, first.choices[0].choice, 4200).unwrap();
    insta::assert_json_snapshot!("practice-marked", marked);
    assert!(phone.practice_explained(SIZE, &english()).unwrap().shapes.len() > 2);
    // A second press on the same item answers nothing.
    let again = phone.answer_practice(&first.item, first.choices[0].choice, 1).unwrap_err();
    assert_eq!(again.kind, Kind::NotAllowed(Why::NotHere));
    let own = entries(folder.path()).into_iter().filter(|entry| matches!(entry.act, Act::PracticeAnswered(_)));
    let own: Vec<_> = own.collect();
    assert_eq!((own.len(), own[0].scope), (1, survey::entry::Scope::Device));
    drop(phone);
    let mut phone = open(folder.path(), &script);
    assert_eq!(phone.practice().unwrap(), marked.next);
    // Twenty items make a round; then the next begins, with the score of the one before.
    for _ in 1..20 {
        let item = phone.practice().unwrap();
        phone.answer_practice(&item.item, item.choices[0].choice, 1000).unwrap();
    }
    let next = phone.practice().unwrap();
    assert_eq!((next.number, next.score.score.asked), (1, 20));
    assert_eq!(
        next.score.score.right
            + next
                .score
                .score
                .matrix
                .iter()
                .filter(|cell| cell.truth != cell.answered)
                .map(|cell| cell.number)
                .sum::<u32>(),
        20
    );
    assert!(Choice::named("egg").is_some());
}
