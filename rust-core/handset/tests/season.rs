//! The season on the phone, of an invented site.

mod common;

use common::{begin, egg, larva, milkweed, open, script, site};
use figure::english;
use handset::acts::OpenPlant;
use handset::views::SeasonChart;
use handset::{Handset, Kind, Why};
use survey::ids::SiteId;
use survey::protocol::Unit;
use survey::stage::Stage;

/// A visit of so many plants; every third has two eggs, every tenth a larva.
fn visit(phone: &mut Handset, site: SiteId, plants: usize) {
    phone.begin_visit(site, begin(None, 0)).unwrap();
    phone.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).unwrap();
    for plant in 0..plants {
        if plant % 3 == 0 {
            phone.count(egg()).unwrap();
            phone.count(egg()).unwrap();
        }
        if plant % 10 == 0 {
            phone.count(larva(Stage::Larva3)).unwrap();
        }
        phone.next_plant(OpenPlant::default()).unwrap();
    }
    phone.end_visit().unwrap();
}

#[test]
fn a_season_has_its_curve_its_lines_and_what_comes() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(71);
    let mut phone = open(folder.path(), &script);
    let site = site(&mut phone, "Invented meadow");
    let nothing = phone.season(site).unwrap();
    assert!(nothing.seasons.is_empty() && nothing.come_again.is_none() && nothing.expect.is_empty());
    visit(&mut phone, site, 30);
    script.pass(7 * 86_400_000);
    visit(&mut phone, site, 40);
    let view = phone.season(site).unwrap();
    insta::assert_json_snapshot!("season", view);
    let season = &view.seasons[0];
    let eggs = season.curve.stages.iter().find(|curve| curve.stage == Stage::Egg).unwrap();
    // Of 30 plants 10 have two eggs, of 40 there are 14.
    assert_eq!(eggs.points.iter().map(|point| point.animals).collect::<Vec<_>>(), [20, 28]);
    assert!((eggs.points[0].value.unwrap() - 20.0 / 30.0).abs() < 1e-12);
    let key = (2026, Unit::Stem);
    let drawn = phone.season_drawing(site, key, SeasonChart::Curve, (320, &english())).unwrap();
    assert!(drawn.text_alternative.title.contains("Invented meadow 2026"));
    phone.season_drawing(site, key, SeasonChart::Composition, (320, &english())).unwrap();
    let none = phone.season_drawing(site, (1999, Unit::Stem), SeasonChart::Curve, (320, &english())).unwrap_err();
    assert_eq!(none.kind, Kind::NotAllowed(Why::NotHere));
    insta::assert_json_snapshot!("closing", phone.closing().unwrap());
    insta::assert_json_snapshot!("effort", phone.effort(site).unwrap());
}

#[test]
fn advice_asks_for_the_least_then_says_what_the_sample_can_carry() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(72));
    let site = site(&mut phone, "Invented meadow");
    phone.begin_visit(site, begin(None, 0)).unwrap();
    // The protocol asks for at least 30.
    let first = phone.how_many().unwrap();
    assert_eq!((first.more, first.lines[0].id.as_str()), (Some(30), "phone.season.more-least"));
    let which: Vec<String> = phone.which_plants().unwrap().into_iter().map(|line| line.id).collect();
    assert_eq!(which, ["phone.season.pass-first", "phone.every-kth"]);
    phone.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).unwrap();
    for _ in 0..30 {
        phone.empty_plant().unwrap();
    }
    let empty = phone.how_many().unwrap();
    assert_eq!((empty.checked, empty.animals, empty.more), (30, 0, None));
    assert!(empty.lines[0].id.starts_with("phone.season.out-of"), "{:?}", empty.lines);
    for _ in 0..10 {
        for _ in 0..2 {
            phone.count(egg()).unwrap();
        }
        phone.next_plant(OpenPlant::default()).unwrap();
    }
    let found = phone.how_many().unwrap();
    assert_eq!((found.checked, found.animals), (40, 20));
    assert_ne!(found.lines, empty.lines);
}
