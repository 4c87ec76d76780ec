//! Every screen through the calls that shells make, in each language: no id of a message and no placeholder is shown.
//! People and places are invented.

use leafturn_phone::records::{
    Beginning, Beside, BothSaw, CertificateSeen, FindTyped, Fix, KeyBeginning, MeasuredAgainst, Measuring, NewSite,
    Opening, PhotoShows, PlaceGiven, PlantTyped, Point, Precision, ScaleLies, SettingsChosen, ShareOfPlants, SiteTyped,
    VisitTyped, WeatherTyped,
};
use leafturn_phone::{Failure, Leafturn};
use std::fmt::Debug;
use std::path::Path;
use std::sync::Arc;

const LANGUAGES: [&str; 3] = ["en", "es-MX", "fr-CA"];

fn open(folder: &Path, language: &str) -> Arc<Leafturn> {
    let opening = Opening {
        folder: folder.join("journal").display().to_string(),
        no_backup_folder: folder.join("no-backup").display().to_string(),
        language: language.into(),
        offset_minutes: -300,
        beside: Beside::Own,
    };
    Leafturn::open(opening).unwrap()
}

/// An invented site, and a visit to it with a plant open. Returns the site.
fn counting(phone: &Leafturn) -> String {
    let site = NewSite {
        name: "Invented meadow".into(),
        latitude: "44,25".into(),
        longitude: "-93.5".into(),
        accuracy_m: Some(5.0),
        precision: Precision::Hundredth,
    };
    let site = phone.add_site(site).unwrap().sites[0].site.clone();
    let start = phone.add_observer(site.clone(), "Odalys Made-Up".into()).unwrap();
    let beginning = Beginning {
        site: site.clone(),
        protocol: start.protocols[0].protocol.clone(),
        observers: vec![start.observers[0].observer.clone()],
        share: ShareOfPlants::All,
        beside: String::new(),
    };
    phone.begin_visit(beginning).unwrap();
    phone.open_plant("Asclepias incarnata".into()).unwrap();
    site
}

/// Refuses a record that shows an id of a message or a placeholder.
fn worded<T: Debug>(record: T) -> T {
    // No-break spaces are written with braces by Debug.
    let shown = format!("{record:?}").replace("\\u{a0}", " ").replace("\\u{202f}", " ");
    for (at, _) in shown.match_indices('"') {
        let text = &shown[at + 1..];
        let text = &text[..text.find('"').unwrap_or(0)];
        assert!(!messages::knows(text) && !is_an_id(text), "{text} stands in {shown}");
        let known = |word: &str| messages::knows(word.trim_end_matches([',', ':', '.']));
        assert!(!text.split(' ').any(|word| word.contains('.') && known(word)), "{text:?} stands in {shown}");
        let open = text.match_indices('{').map(|(at, _)| &text[at + 1..]);
        let placeholder = |rest: &str| rest.split_once('}').is_some_and(|(name, _)| !name.contains([' ', ',']));
        assert!(!open.into_iter().any(placeholder), "{text:?} has a placeholder left");
    }
    record
}

/// Words in lower case with dots between, and no space.
fn is_an_id(text: &str) -> bool {
    let word = |word: &str| !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    text.contains('.') && text.split('.').all(word)
}

fn refused<T: Debug>(result: Result<T, Failure>) -> String {
    match result {
        Err(Failure::Refused { text }) => worded(text),
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_key_leads_to_a_count_and_what_is_none_of_ours_is_noted() {
    for language in LANGUAGES {
        let folder = tempfile::tempdir().unwrap();
        let phone = open(folder.path(), language);
        counting(&phone);
        let start = worded(phone.key_start().unwrap());
        assert!(start.guesses.len() > 10 && start.going_on.is_none());
        let means = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
        let by_eye = KeyBeginning { means: means(&["eye", "lens", "photo"]), guess: None };
        let begun = worded(phone.begin_key(by_eye.clone()).unwrap());
        let question = begun.question.unwrap();
        assert!(phone.drawing(question.states[0].drawing.clone(), 64, 64).unwrap().paths.len() > 2);
        assert!(worded(phone.key_start().unwrap()).going_on.is_some());
        phone.answer_key("shape".into(), vec!["smooth-caterpillar".into()]).unwrap();
        let doubted = phone.key_question("pairs".into()).unwrap();
        let both = doubted.states[..2].iter().map(|state| state.answer.clone()).collect();
        let doubted = worded(phone.answer_key("pairs".into(), both).unwrap());
        assert_eq!(doubted.answers.len(), 2);
        phone.answer_key("pairs".into(), vec!["two".into()]).unwrap();
        let told = worded(phone.answer_key("filament-reach".into(), vec!["reaches".into()]).unwrap());
        assert!(!told.reasons.is_empty() && told.proposal.counted);
        let skipped = worded(phone.skip_question("bands".into()).unwrap());
        assert_eq!(skipped.skipped.len(), 1);
        assert!(phone.ask_again("bands".into()).unwrap().skipped.is_empty());
        assert!(phone.look_by(vec!["eye".into()]).unwrap().means[0].chosen);
        refused(phone.answer_key("wings".into(), vec!["two".into()]));
        refused(phone.answer_key("body-length".into(), vec!["4000".into()]));
        let counted = worded(phone.count_from_key().unwrap());
        assert_eq!(counted.tiles.iter().chain(&counted.undecided).map(|tile| tile.number).sum::<u64>(), 1);
        phone.begin_key(by_eye).unwrap();
        for (character, answer) in
            [("shape", "drop"), ("egg-form", "lens:uneven"), ("egg-ridges", "lens:smooth"), ("egg-touch", "smears")]
        {
            phone.answer_key(character.into(), vec![answer.into()]).unwrap();
        }
        assert!(!worded(phone.key().unwrap()).proposal.counted);
        let noted = worded(phone.count_from_key().unwrap());
        assert!(noted.others.contains('1'), "{}", noted.others);
        let guess = KeyBeginning { means: means(&["eye"]), guess: Some("larva3".into()) };
        worded(phone.begin_key(guess).unwrap());
        phone.ask_beyond_guess().unwrap();
        let otherwise = phone.count_from_key_as("larva4".into(), "moulting".into()).unwrap();
        assert!(otherwise.tiles.iter().any(|tile| !tile.others.is_empty() || tile.number == 1));
        refused(phone.key());
    }
}

#[test]
fn a_photo_is_measured_and_the_answer_has_its_error() {
    let folder = tempfile::tempdir().unwrap();
    let phone = open(folder.path(), "en");
    counting(&phone);
    let screen = worded(phone.measure().unwrap());
    let by_scale = screen.questions.iter().find(|one| one.needs_scale).unwrap();
    assert!(!screen.questions[0].needs_scale, "ratios come first");
    let point = |x: f64, y: f64| Point { x, y };
    let lies = ScaleLies { from: point(0.0, 0.0), to: point(300.0, 400.0), same_plane: true, tilt_degrees: 0.0 };
    let measuring = |lies: ScaleLies| Measuring {
        line: vec![point(10.0, 10.0), point(260.0, 10.0)],
        against: MeasuredAgainst::Coin { coin: 3, lies },
    };
    let character = by_scale.question.character.clone();
    // A coin of 24.26 mm over 500 pixels: 250 pixels are 12.13 mm.
    let measured = worded(phone.measured(character.clone(), measuring(lies.clone())).unwrap());
    assert!((measured.value - 12.13).abs() < 1e-9 && measured.text.starts_with("12.1\u{a0}mm"), "{measured:?}");
    phone.begin_key(KeyBeginning { means: vec!["eye".into(), "photo".into()], guess: None }).unwrap();
    let answered = worded(phone.answer_measured(character.clone(), measuring(lies.clone())).unwrap());
    assert_eq!(answered.answers[0].answer, "12.1\u{a0}mm");
    let leaning = ScaleLies { tilt_degrees: 30.0, ..lies };
    assert!(refused(phone.measured(character, measuring(leaning))).contains("leans"));
}

#[test]
fn practice_asks_marks_and_scores() {
    for language in LANGUAGES {
        let folder = tempfile::tempdir().unwrap();
        let phone = open(folder.path(), language);
        let mut screen = worded(phone.practice().unwrap());
        for at in 0..20 {
            assert!(phone.practice_drawing(200, 150).unwrap().paths.len() > 2);
            let choice = screen.choices[at % screen.choices.len()].name.clone();
            let marks = worded(phone.answer_practice(screen.item.clone(), choice.clone(), 900).unwrap());
            refused(phone.answer_practice(screen.item, choice, 900));
            assert!(phone.practice_explained(200, 150).unwrap().paths.len() > 2);
            screen = marks.next;
        }
        assert!(!screen.result.is_empty() && !screen.confused.is_empty(), "{screen:?}");
    }
}

#[test]
fn plants_visits_and_sites_are_described() {
    for language in LANGUAGES {
        let folder = tempfile::tempdir().unwrap();
        let phone = open(folder.path(), language);
        let site = counting(&phone);
        let mut chosen = SettingsChosen {
            language: String::new(),
            hand: "left".into(),
            theme: "dark".into(),
            units: "imperial".into(),
            on: vec!["company".into(), "buzz".into()],
        };
        let settings = worded(phone.change_settings(chosen.clone()).unwrap());
        assert!(settings.hands[1].chosen && settings.switches.iter().filter(|switch| switch.chosen).count() == 2);
        let details = worded(phone.details(None).unwrap());
        assert_eq!((details.company.len(), details.flowers.len()), (3, 2));
        assert!(details.stems.is_some(), "swamp milkweed is checked by clump");
        let typed = PlantTyped {
            height: "40".into(),
            stems: "7".into(),
            growth: vec!["5".into(), "6".into()],
            condition: Some("eaten-back".into()),
            fate: None,
            flowers: Some("yes".into()),
            company: Vec::new(),
        };
        let described = worded(phone.describe_plant(details.check.clone(), typed.clone()).unwrap());
        assert_eq!(described.height.value, "40");
        assert_eq!(described.growth.iter().filter(|stage| stage.chosen).count(), 2);
        refused(phone.describe_plant(details.check.clone(), PlantTyped { height: "tall".into(), ..typed }));
        let shows = PhotoShows::Plant { check: details.check.clone() };
        refused(phone.take_photo_of(shows, b"no picture".to_vec()));

        let weather = WeatherTyped { air: "77".into(), wind: Some("2".into()), cloud: Some("4".into()), rain: None };
        let weather = worded(phone.note_weather(weather).unwrap());
        assert!(weather.wind[2].chosen && weather.air.value.starts_with("77"));
        let visit = VisitTyped { hosts_up: Some("all-mown".into()), minutes: "45".into() };
        assert_eq!(worded(phone.describe_visit(visit).unwrap()).minutes.value, "45");
        refused(phone.link_visit("no code".into()));

        assert!(worded(phone.notes(None).unwrap()).begins_with.contains('1'));
        let notes = worded(phone.add_note(None, "The gate was open".into()).unwrap());
        assert_eq!(notes.notes[0].text, "The gate was open");
        let notes = worded(phone.erase_note(None, notes.notes[0].note.clone()).unwrap());
        assert!(notes.notes[0].erase.is_none());

        let find = FindTyped {
            what: "pupa".into(),
            state: None,
            number: 1,
            on: "made-thing".into(),
            host: None,
            place: Some(Fix { latitude: 44.25, longitude: -93.5, accuracy_m: Some(4.0) }),
        };
        assert_eq!(worded(phone.found_outside(site.clone(), find).unwrap()).finds.len(), 1);

        assert!(worded(phone.matching().unwrap()).none.is_some());
        let saw = BothSaw { what: "egg".into(), both: 1 };
        refused(phone.match_checks(vec![details.check], vec![saw]));

        let mine = worded(phone.my_data().unwrap());
        assert_eq!(mine.observers[0].label, "Odalys Made-Up");
        assert!(phone.forget_observer(mine.observers[0].name.clone()).unwrap().observers.is_empty());
        assert_eq!(worded(phone.cautions().unwrap()).cards.len(), 6);
        assert!(phone.licences().unwrap().len() > 50);
        chosen.language = "fr".into();
        assert!(worded(phone.change_settings(chosen).unwrap()).languages.last().unwrap().chosen);
        assert_eq!(phone.words().unwrap()["phone.save"], "Enregistrer");
        assert!(worded(phone.delete_everything().unwrap()).observers.is_empty());
        assert!(phone.sites().unwrap().sites.is_empty());
    }
}

#[test]
fn sites_are_placed_by_fixes_edges_and_files() {
    for language in LANGUAGES {
        let folder = tempfile::tempdir().unwrap();
        let phone = open(folder.path(), language);
        let fix = |latitude: f64, longitude: f64| Fix { latitude, longitude, accuracy_m: Some(5.0) };
        let typed = |name: &str, place: PlaceGiven| SiteTyped {
            name: name.into(),
            place,
            precision: Some(Precision::Exact),
            land: Some("private".into()),
            other_danaus: Some("breed".into()),
            stems: "300".into(),
        };
        let standing = PlaceGiven::Standing { fixes: vec![fix(44.25, -93.5); 3] };
        assert!(worded(phone.say_place(standing.clone()).unwrap()).text.contains('5'));
        let near = worded(phone.describe_site(None, typed("Invented meadow", standing)).unwrap());
        let chosen = near.precisions.iter().find(|precision| precision.chosen).unwrap();
        assert_eq!(chosen.precision, Precision::Hundredth, "private land is never finer");
        let corners = vec![fix(45.0, -93.0), fix(45.001, -93.0), fix(45.001, -93.001)];
        let edge = PlaceGiven::Edge { corners: corners.clone() };
        assert!(worded(phone.say_place(edge.clone()).unwrap()).text.contains("m²"));
        refused(phone.say_place(PlaceGiven::Edge { corners: corners[..2].to_vec() }));
        worded(phone.describe_site(None, typed("Invented verge", edge)).unwrap());
        let file = br#"{"type":"FeatureCollection","features":[
            {"type":"Feature","properties":{"name":"Made up"},"geometry":{"type":"Point","coordinates":[-93.2,44.3]}},
            {"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[-93.2,144.3]}}]}"#;
        let found = worded(phone.places_of_file(file.to_vec()).unwrap());
        assert!(found.places.len() == 1 && found.refused.is_some());
        let place = PlaceGiven::Found { place: found.places[0].place.clone() };
        worded(phone.describe_site(None, typed(&found.places[0].name, place)).unwrap());
        refused(phone.places_of_file(b"neither".to_vec()));
        let sites = worded(phone.sites_near(fix(44.25, -93.5)).unwrap()).sites;
        let names: Vec<&str> = sites.iter().map(|site| site.name.as_str()).collect();
        assert_eq!(names, ["Invented meadow", "Made up", "Invented verge"]);
        assert!(sites.iter().all(|site| site.due.is_some() && site.distance.is_some()));
        assert_eq!(phone.precisions().unwrap().len(), 5);
        let again = SiteTyped {
            name: String::new(),
            place: PlaceGiven::NotSaid,
            precision: Some(Precision::Tenth),
            land: None,
            other_danaus: None,
            stems: String::new(),
        };
        let again = worded(phone.describe_site(Some(near.site.clone()), again).unwrap());
        assert_eq!((again.name.value.as_str(), again.stems.value.as_str()), ("Invented meadow", "300"));
        let adopted = phone.adopt_site("00000000-0000-4000-8000-000000000001".into(), "Made up too".into()).unwrap();
        assert_eq!(worded(adopted).name.value, "Made up too");
    }
}

#[test]
fn a_season_is_shown_and_advice_given() {
    for language in LANGUAGES {
        let folder = tempfile::tempdir().unwrap();
        let phone = open(folder.path(), language);
        let site = counting(&phone);
        assert!(worded(phone.effort(site.clone()).unwrap()).lines.len() == 4);
        let before = worded(phone.advice().unwrap());
        assert!(before.more.is_some() && !before.which.is_empty());
        for plant in 0..25 {
            for _ in 0..plant % 3 {
                phone.count("egg".into()).unwrap();
            }
            phone.next_plant().unwrap();
        }
        let during = worded(phone.advice().unwrap());
        assert_ne!(during.lines, before.lines);
        phone.end_visit().unwrap();
        let closing = worded(phone.closing().unwrap());
        assert_eq!(closing.lines.len(), 3);
        let season = worded(phone.season(site.clone()).unwrap());
        let own = &season.seasons[0];
        assert!(own.lines.len() == 1 && season.come_again.is_some() && season.expect.len() > 4);
        for drawing in &own.drawings {
            let drawn = worded(phone.season_drawing(site.clone(), drawing.clone(), 320).unwrap());
            assert!(drawn.paths.len() > 5 && !drawn.description.is_empty());
        }
        let shown = worded(phone.site(site.clone()).unwrap());
        assert_eq!(shown.visits.len(), 1);
        assert!(worded(phone.take_in_hand(shown.visits[0].visit.clone()).unwrap()).ended);
        assert!(phone.sites().unwrap().sites[0].due.is_none(), "it was visited just now");
        worded(phone.effort(site).unwrap());
        worded(phone.heat("35".into(), "60".into()).unwrap());
        refused(phone.heat("35".into(), "160".into()));
    }
}

#[test]
fn joining_is_skipped_and_a_certificate_without_a_scan_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let phone = open(folder.path(), "en");
    assert!(worded(phone.join_screen().unwrap()).ask);
    assert!(!phone.skip_join().unwrap().ask);
    assert!(!phone.join_screen().unwrap().ask);
    refused(phone.join_scanned("https://example.org".into()));
    assert!(phone.trust().unwrap().is_none());
    let seen = CertificateSeen {
        address: "https://station.example".into(),
        certificate: b"no certificate".to_vec(),
        system_trusts: false,
    };
    refused(phone.judge_certificate(seen));
    let told = worded(phone.connection_refused("not-pinned".into()).unwrap());
    assert!(told.lines.iter().any(|line| !line.is_empty()));
    phone.connection_accepted("ab".repeat(32), None).unwrap();
}
