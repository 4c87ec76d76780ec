//! Two published series of weekly counts, Iowa 2015: Grant et al. (2020) Ecosphere 11(4):e03082, counts from the
//! authors' public repository github.com/tgrant7/arthropod-survival-estimation. Totals and areas computed with
//! numpy 2.4.6 from those counts. How many plants were checked is not given there.

use season::{
    AreaOf, Choice, Counted, Group, Level, Point, Refusal, SiteSeason, VisitSample, area_under_curve, curve, id,
    totals_by_stage, trapezoid,
};
use survey::date::Date;
use survey::stage::{Stage, What};

type Row = (u8, [u32; 6]);

const SERIES_A: [Row; 7] = [
    (1, [3, 0, 0, 1, 0, 0]),
    (10, [96, 12, 13, 4, 1, 4]),
    (20, [138, 8, 8, 3, 0, 2]),
    (27, [137, 9, 10, 8, 3, 3]),
    (36, [65, 3, 5, 1, 2, 2]),
    (41, [47, 0, 1, 0, 1, 1]),
    (48, [27, 1, 0, 0, 1, 0]),
];
const SERIES_B: [Row; 7] = [
    (1, [37, 2, 4, 0, 0, 0]),
    (9, [90, 15, 9, 7, 1, 1]),
    (17, [135, 19, 5, 5, 3, 7]),
    (24, [156, 22, 7, 3, 1, 3]),
    (31, [121, 5, 2, 3, 1, 3]),
    (38, [77, 1, 7, 2, 1, 1]),
    (46, [11, 1, 0, 2, 3, 2]),
];
const TOTALS_A: [f64; 6] = [513.0, 33.0, 37.0, 17.0, 8.0, 12.0];
const TOTALS_B: [f64; 6] = [627.0, 65.0, 34.0, 22.0, 10.0, 17.0];
const AREAS_A: [f64; 6] = [4026.0, 278.5, 312.5, 139.0, 57.0, 99.0];
const AREAS_B: [f64; 6] = [4441.0, 471.0, 241.0, 158.5, 64.0, 118.0];

/// The series as pooled checks without effort, day 1 being the 1st of July of a year that nobody stated.
fn season_of(rows: &[Row]) -> SiteSeason {
    let visits = rows.iter().map(|(day, numbers)| {
        let (month, day) = if *day > 31 { (8, day - 31) } else { (7, *day) };
        VisitSample {
            date: Date::try_from(format!("2015-{month:02}-{day:02}")).unwrap(),
            unit: None,
            choice: Choice::NotStated,
            units_at_site: None,
            scope: Stage::EGG_TO_LARVA5.into_iter().collect(),
            counted: Counted::Pooled {
                counts: Stage::EGG_TO_LARVA5.into_iter().map(What::Stage).zip(numbers.iter().copied()).collect(),
                checked: None,
            },
        }
    });
    SiteSeason::new(visits.collect()).unwrap()
}

#[test]
fn totals_and_areas_are_those_of_the_published_counts() {
    for (rows, totals, areas) in [(&SERIES_A, TOTALS_A, AREAS_A), (&SERIES_B, TOTALS_B, AREAS_B)] {
        let season = season_of(rows);
        let by_stage = totals_by_stage(&season).unwrap();
        for (stage, (total, area)) in Stage::EGG_TO_LARVA5.into_iter().zip(totals.into_iter().zip(areas)) {
            let found = by_stage.iter().find(|found| found.stage == stage).unwrap();
            assert!((found.total.value - total).abs() < 1e-12, "{found:?}");
            assert_eq!(found.heading, Some(id::HEADING_TOTALS_EFFORT_UNKNOWN));
            let found = area_under_curve(&season, Group::Stage(stage), AreaOf::Totals, Level::P95).unwrap();
            assert!((found.value - area).abs() < 1e-9, "{stage}: {found:?}");
            assert!(found.assumed.contains(&id::ASSUMED_EQUAL_EFFORT) && found.interval.is_none());
        }
    }
}

#[test]
fn day_numbers_need_no_calendar() {
    let eggs: Vec<Point> = SERIES_A
        .iter()
        .map(|(day, numbers)| Point { day: f64::from(*day) + 0.5, value: f64::from(numbers[0]) })
        .collect();
    assert!((trapezoid(&eggs).unwrap() - 4026.0).abs() < 1e-9);
}

#[test]
fn without_effort_there_are_totals_and_no_means() {
    let season = season_of(&SERIES_A);
    let means = area_under_curve(&season, Group::Stage(Stage::Egg), AreaOf::Means, Level::P95);
    assert_eq!(means, Err(Refusal::UnknownEffort));
    let curve = curve(&season, Level::P95).unwrap();
    assert_eq!(curve.heading, id::HEADING_TOTALS_EFFORT_UNKNOWN);
    let eggs = &curve.stages[0].points;
    assert!((eggs.iter().map(|point| point.value.unwrap()).sum::<f64>() - 513.0).abs() < 1e-12);
    assert!(eggs.iter().all(|point| point.interval.is_none()));
}
