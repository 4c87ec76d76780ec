//! Both charts, drawn from one invented season and from published sample totals.

use figure::{
    Anchor, Figure, FigureError, Ink, Role, Shape, english, season_curve, stage_composition, svg, text_width,
};
use season::{Choice, Counted, Counts, Level, SiteSeason, VisitSample, composition, curve};
use std::collections::BTreeSet;
use survey::date::Date;
use survey::protocol::Unit;
use survey::stage::{Stage, What};

/// Place of the invented season.
const PLACE: &str = "Quarry Bend (invented), 2026";

fn date(text: &str) -> Date {
    Date::try_from(text.to_owned()).unwrap()
}

/// Forty stems; animals are dealt out to every third stem in turn, so that some stems hold several.
fn dealt(parts: &[(&str, u32)]) -> Vec<Counts> {
    let mut stems: Vec<Vec<(What, u32)>> = vec![Vec::new(); 40];
    let mut next = 0;
    for (what, number) in parts {
        let what: What = what.parse().unwrap();
        for _ in 0..*number {
            stems[next % 40].push((what.clone(), 1));
            next += 3;
        }
    }
    stems.into_iter().map(|stem| stem.into_iter().collect()).collect()
}

/// An invented season of eight visits; at the third nobody looked for anything but eggs.
fn invented() -> SiteSeason {
    let rows: [(&str, &[(&str, u32)]); 8] = [
        ("2026-06-01", &[]),
        ("2026-06-08", &[("egg", 4), ("egg+none", 2)]),
        ("2026-06-15", &[("egg", 11), ("egg+none", 3)]),
        ("2026-06-22", &[("egg", 18), ("larva1", 6), ("larva2", 3), ("larva2+larva3", 1), ("egg+none", 4)]),
        ("2026-06-30", &[("egg", 14), ("larva1", 5), ("larva2", 6), ("larva3", 4), ("larva4", 1), ("larva", 1)]),
        ("2026-07-06", &[("egg", 7), ("larva1", 2), ("larva3", 5), ("larva4", 6), ("larva5", 2), ("egg+none", 1)]),
        ("2026-07-14", &[("egg", 3), ("larva4", 2), ("larva5", 5)]),
        ("2026-07-20", &[("larva5", 1)]),
    ];
    let visits = rows.into_iter().map(|(day, parts)| VisitSample {
        date: date(day),
        unit: Some(Unit::Stem),
        choice: Choice::ByChance,
        units_at_site: Some(900),
        scope: if day == "2026-06-15" { [Stage::Egg].into() } else { Stage::EGG_TO_LARVA5.into_iter().collect() },
        counted: Counted::Units(dealt(parts)),
    });
    SiteSeason::new(visits.collect()).unwrap()
}

/// Weekly counts of Iowa 2015, series B: Grant et al. (2020) Ecosphere 11(4):e03082, from the authors' public
/// repository github.com/tgrant7/arthropod-survival-estimation; the calendar dates here are invented.
fn totals() -> SiteSeason {
    let rows: [(&str, [u32; 6]); 7] = [
        ("2015-07-01", [37, 2, 4, 0, 0, 0]),
        ("2015-07-09", [90, 15, 9, 7, 1, 1]),
        ("2015-07-17", [135, 19, 5, 5, 3, 7]),
        ("2015-07-24", [156, 22, 7, 3, 1, 3]),
        ("2015-07-31", [121, 5, 2, 3, 1, 3]),
        ("2015-08-07", [77, 1, 7, 2, 1, 1]),
        ("2015-08-15", [11, 1, 0, 2, 3, 2]),
    ];
    let visits = rows.into_iter().map(|(day, numbers)| VisitSample {
        date: date(day),
        unit: None,
        choice: Choice::NotStated,
        units_at_site: None,
        scope: Stage::EGG_TO_LARVA5.into_iter().collect(),
        counted: Counted::Pooled {
            counts: Stage::EGG_TO_LARVA5.into_iter().map(What::Stage).zip(numbers).collect(),
            checked: None,
        },
    });
    SiteSeason::new(visits.collect()).unwrap()
}

/// Twenty-two visits, to see what happens to labels.
fn long() -> SiteSeason {
    let visits = (0..22_u32).map(|index| {
        let (month, day) = (4 + index / 4, 1 + index % 4 * 7);
        let parts = [("egg", index * (21 - index)), ("larva3", index), ("larva5", 3)];
        VisitSample {
            date: date(&format!("2026-{month:02}-{day:02}")),
            unit: Some(Unit::Clump),
            choice: Choice::ObserversChoice,
            units_at_site: None,
            scope: Stage::EGG_TO_LARVA5.into_iter().chain([Stage::Pupa]).collect(),
            counted: Counted::Units(dealt(&parts)),
        }
    });
    SiteSeason::new(visits.collect()).unwrap()
}

fn curve_of(season: &SiteSeason, place: &str, width: u32) -> Figure {
    season_curve(&curve(season, Level::P95).unwrap(), place, width, &english()).unwrap()
}

fn composition_of(season: &SiteSeason, place: &str, width: u32) -> Figure {
    stage_composition(&composition(season).unwrap(), place, width, &english()).unwrap()
}

fn all() -> Vec<(String, Figure)> {
    let seasons = [("invented", invented(), PLACE), ("totals", totals(), "Iowa B, 2015"), ("long", long(), PLACE)];
    seasons
        .iter()
        .flat_map(|(name, season, place)| {
            [360, 900].into_iter().flat_map(move |width| {
                [
                    (format!("curve_{name}_{width}"), curve_of(season, place, width)),
                    (format!("composition_{name}_{width}"), composition_of(season, place, width)),
                ]
            })
        })
        .collect()
}

/// The box that a text takes up by the stated width rule.
fn text_box(shape: &Shape) -> Option<(String, [f64; 4])> {
    let Shape::Text { at, text, size, anchor, weight, .. } = shape else { return None };
    let width = text_width(text, *size, *weight);
    let left = match anchor {
        Anchor::Start => at.x,
        Anchor::Middle => at.x - width / 2.0,
        Anchor::End => at.x - width,
    };
    Some((text.clone(), [left, at.y - 0.76 * size, left + width, at.y + 0.2 * size]))
}

#[test]
fn texts_neither_overlap_nor_leave_the_sheet() {
    for (name, figure) in all() {
        let texts: Vec<_> = figure.shapes.iter().filter_map(text_box).collect();
        for (index, (text, own)) in texts.iter().enumerate() {
            let (width, height) = (f64::from(figure.size.width), f64::from(figure.size.height));
            assert!(own[0] >= 0.0 && own[1] >= 0.0 && own[2] <= width && own[3] <= height, "{name}: {text} {own:?}");
            for (other_text, other) in &texts[..index] {
                let apart = own[2] <= other[0] || other[2] <= own[0] || own[3] <= other[1] || other[3] <= own[1];
                assert!(apart, "{name}: {text:?} on {other_text:?}");
            }
        }
    }
}

#[test]
fn text_is_set_in_inks_for_text() {
    for (name, figure) in all() {
        for shape in &figure.shapes {
            if let Shape::Text { ink, .. } = shape {
                assert_eq!(ink.role(), Role::Text, "{name}");
            }
        }
    }
}

#[test]
fn densities_say_counted_and_totals_say_that_effort_is_unknown() {
    assert!(curve_of(&invented(), PLACE, 360).text_alternative.title.contains("counted"));
    assert!(curve_of(&totals(), "Iowa B", 360).text_alternative.title.contains("effort unknown"));
}

#[test]
fn markers_tell_means_shares_and_doubt_apart() {
    let figure = curve_of(&invented(), PLACE, 900);
    let full = |shape: &&Shape| matches!(shape, Shape::Circle { fill: Some(Ink::Black), .. });
    let hollow = |shape: &&Shape| matches!(shape, Shape::Circle { stroke: Some(_), .. });
    // Five or more: eggs at four visits, larva 1 at two, larva 2, 3, 4 and 5 at one each; and the key.
    assert_eq!(figure.shapes.iter().filter(full).count(), 11);
    // All other points: 8 of the egg, 7 of each instar, 7 of the unjudged larva; and the key.
    assert_eq!(figure.shapes.iter().filter(hollow).count(), 8 + 6 * 7 - 10 + 1);
}

#[test]
fn the_text_alternative_states_the_finding() {
    let figure = curve_of(&invented(), PLACE, 360);
    insta::assert_snapshot!("alternative_curve", figure.text_alternative.description);
    let figure = curve_of(&totals(), "Iowa B, 2015", 360);
    insta::assert_snapshot!("alternative_totals", figure.text_alternative.description);
    let figure = composition_of(&invented(), PLACE, 360);
    insta::assert_snapshot!("alternative_composition", figure.text_alternative.description);
}

#[test]
fn figures_as_they_are_written() {
    // One visit is enough to see how shapes are serialised.
    let one = SiteSeason::new(vec![invented().visits()[3].clone()]).unwrap();
    insta::assert_json_snapshot!("curve_json", curve_of(&one, PLACE, 360));
    insta::assert_snapshot!("curve_svg", svg(&curve_of(&invented(), PLACE, 360)));
    insta::assert_snapshot!("composition_svg", svg(&composition_of(&invented(), PLACE, 360)));
    assert_eq!(svg(&curve_of(&invented(), PLACE, 360)), svg(&curve_of(&invented(), PLACE, 360)));
}

#[test]
fn what_cannot_be_drawn_is_refused() {
    let words = english();
    assert_eq!(stage_composition(&[], PLACE, 360, &words), Err(FigureError::Nothing));
    let curve = curve(&invented(), Level::P95).unwrap();
    let narrow = FigureError::TooNarrow { width: 100, least: figure::NARROWEST };
    assert_eq!(season_curve(&curve, PLACE, 100, &words), Err(narrow));
    let without = season::Curve { stages: Vec::new(), ..curve };
    assert_eq!(season_curve(&without, PLACE, 360, &words), Err(FigureError::Nothing));
}

#[test]
fn a_single_empty_visit_can_be_drawn() {
    let visit = VisitSample { counted: Counted::Units(dealt(&[])), ..invented().visits()[0].clone() };
    let season = SiteSeason::new(vec![visit]).unwrap();
    let dates = |figure: &Figure| {
        figure.shapes.iter().filter_map(text_box).map(|(text, _)| text).collect::<BTreeSet<_>>().contains("1 Jun")
    };
    assert!(dates(&curve_of(&season, PLACE, 240)));
    assert!(dates(&composition_of(&season, PLACE, 240)));
}
