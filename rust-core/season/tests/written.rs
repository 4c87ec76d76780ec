//! How results of degree-days, clock, sampling and sky are written as JSON.
//!
//! Numbers are rounded to nine digits, so that the last bits of a machine's sines do not matter.

use season::Level;
use season::clock::{
    Cohort, Rearing, Span, StageClock, Temperatures, durations, fit_rates, laying_dates, next_visit, stage_dates,
    stage_fits,
};
use season::degree_days::{
    Celsius, Counting, Cutoff, Day, Filled, Gaps, Scale, Thresholds, Weather, hourly, looks_like_fahrenheit, sum,
};
use season::densities::go_on;
use season::sampling::{
    EveryKth, Goal, Precision, Scatter, SequentialTest, Simulation, SoFar, advice, belts, check_rule, clusters,
    how_many_by_negative_binomial, season_tells, short_walk, what_effort_tells,
};
use season::sky::{Ellipsoid, heat_index, inverse, ring, solar_position, sun_at, sun_day};
use serde_json::{Value, json};
use survey::date::Date;
use survey::place::{Area, Pin};
use survey::stage::Stage;

fn date(text: &str) -> Date {
    text.to_owned().try_into().unwrap()
}

fn pin(lat: f64, lon: f64) -> Pin {
    Pin::new(lat, lon).unwrap()
}

fn written(result: &(impl serde::Serialize + ?Sized)) -> Value {
    rounded(serde_json::to_value(result).unwrap())
}

fn rounded(value: Value) -> Value {
    match value {
        Value::Number(number) if number.is_f64() => {
            let number = number.as_f64().unwrap();
            json!(format!("{number:.8e}").parse::<f64>().unwrap())
        }
        Value::Array(values) => values.into_iter().map(rounded).collect(),
        Value::Object(fields) => fields.into_iter().map(|(name, value)| (name, rounded(value))).collect(),
        other => other,
    }
}

fn temperatures() -> Temperatures {
    let day = |degrees: f64| Day::new(Celsius(degrees - 5.0), Celsius(degrees + 5.0)).unwrap();
    let from = date("2026-06-01").naive();
    let weather = from.iter_days().map(Date::from).zip((0..60).map(|after| day(20.0 + f64::from(after % 7)))).collect();
    Temperatures::new(weather, None)
}

fn patch() -> Area {
    let outline = vec![pin(45.0, -93.0), pin(45.0, -92.999), pin(45.001, -92.999), pin(45.001, -93.0)];
    Area::new(outline, Vec::new()).unwrap()
}

#[test]
fn degree_days_are_written() {
    let rows = [("2026-06-01", 15.0, 28.0), ("2026-06-03", 18.0, 36.0), ("2026-06-08", 61.0, 82.0)];
    let weather = Weather::read(rows.map(|(on, min, max)| (date(on), min, max)), Scale::Celsius).unwrap();
    let series = Filled::over(&weather, date("2026-06-01"), date("2026-06-04"), Gaps::Interpolate);
    insta::assert_json_snapshot!("degree_days", written(&sum(&series, &Counting::MONARCH).unwrap()));
    insta::assert_json_snapshot!("scale_question", written(&looks_like_fahrenheit(&weather)));
    let hours = hourly(&[Some(Celsius(21.5)), None], Thresholds::MONARCH, Cutoff::Horizontal).unwrap();
    insta::assert_json_snapshot!("hourly", written(&hours));
    insta::assert_json_snapshot!("counting", written(&Counting::MONARCH));
}

#[test]
fn the_clock_is_written() {
    let (clock, weather) = (StageClock::monarch(), temperatures());
    insta::assert_json_snapshot!("durations", written(&durations(&clock, Celsius(25.0), Level::P95).unwrap()[..2]));
    let dates = stage_dates(&clock, date("2026-06-05"), &weather, Level::P95).unwrap();
    insta::assert_json_snapshot!("stage_dates", written(&dates));
    let seen = (Stage::Larva3, date("2026-06-25"));
    insta::assert_json_snapshot!("laying_dates", written(&laying_dates(&clock, seen, &weather, Level::P95).unwrap()));
    let possible = Span { from: date("2026-06-20"), to: date("2026-06-25") };
    insta::assert_json_snapshot!(
        "stage_fit",
        written(&stage_fits(&clock, seen, possible, &weather, Level::P95).unwrap())
    );
    let visits = next_visit(&clock, date("2026-06-25"), (Cohort::LaidEvenly, Stage::Larva1), &weather).unwrap();
    insta::assert_json_snapshot!("next_visit", written(&visits[..1]));
    let rearings = [(18.0, 35.0), (22.0, 21.5), (26.0, 16.0)].map(|(at, days)| Rearing { at: Celsius(at), days });
    insta::assert_json_snapshot!("rate_fit", written(&fit_rates(&rearings, Level::P95).unwrap()));
}

#[test]
fn choices_are_written() {
    insta::assert_json_snapshot!("every_kth", written(&EveryKth::plan(350, 50, 11).unwrap()));
    insta::assert_json_snapshot!("clusters", written(&clusters(&patch(), 2.0, 2, 1).unwrap()));
    insta::assert_json_snapshot!("belts", written(&belts(&patch(), 2, 2.0, 90.0, 1).unwrap()));
    let points = [pin(45.0, -93.0), pin(45.001, -93.0), pin(45.0005, -93.0)];
    insta::assert_json_snapshot!("walk", written(&short_walk(&points, Some(0)).unwrap()));
}

#[test]
fn sizes_and_advice_are_written() {
    let precision = Precision::HalfWidth { share: 0.25, level: Level::P95 };
    let scatter = Scatter::NegativeBinomial { k: 0.5 };
    insta::assert_json_snapshot!("how_many", written(&how_many_by_negative_binomial(0.4, 0.5, precision).unwrap()));
    insta::assert_json_snapshot!("effort", written(&what_effort_tells(&[40], 0.4, scatter, Level::P95).unwrap()));
    let season = season_tells(&[(0.0, 0.2), (7.0, 0.4)], 40, scatter, Level::P95).unwrap();
    insta::assert_json_snapshot!("season_tells", written(&season));
    let goal = Goal { at_least: 4, at_most: 400, precision, minutes: 90.0 };
    let said = |counts: &[u32], minutes, units_at_site| {
        written(&advice(&goal, &SoFar { counts, minutes, units_at_site }, Level::P95).unwrap())
    };
    let all = [
        said(&[0], 1.0, None),
        said(&[1, 2, 3, 1, 0, 0], 1.0, None),
        said(&[2; 40], 10.0, None),
        said(&[0; 400], 10.0, None),
        said(&[0; 30], 10.0, Some(40)),
    ];
    insta::assert_json_snapshot!("advice", json!(all));
    let simulation = Simulation { runs: 50, seed: 3, at_least: 1, at_most: 100 };
    insta::assert_json_snapshot!(
        "rule_check",
        written(&check_rule(&goal, (1.0, 1.0), Level::P95, simulation, &mut go_on).unwrap())
    );
    let test = SequentialTest::new(1.02, (0.5, 1.0), (0.1, 0.1)).unwrap();
    insta::assert_json_snapshot!(
        "sequential_test",
        json!([
            written(&test),
            written(&test.decide(10, 5)),
            written(&test.operating((0.7, 1.02), simulation, &mut go_on).unwrap()),
        ])
    );
}

#[test]
fn the_sky_is_written() {
    let (north, middle) = (pin(69.6492, 18.9553), pin(44.9778, -93.265));
    let days = [(north, "2024-06-21"), (north, "2024-12-21"), (middle, "2024-06-21")]
        .map(|(at, on)| written(&sun_day(at, date(on)).unwrap()));
    insta::assert_json_snapshot!("sun_day", json!(days));
    insta::assert_json_snapshot!("sun_at", written(&sun_at(middle, "2024-06-21T18:00:00Z".parse().unwrap()).unwrap()));
    insta::assert_json_snapshot!("solar_position", written(&solar_position(2_448_908.5)));
    insta::assert_json_snapshot!("heat_index", written(&heat_index(Celsius(35.0), 60.0).unwrap()));
    insta::assert_json_snapshot!("line", written(&inverse(middle, pin(44.9788, -93.2637), Ellipsoid::Wgs84)));
    insta::assert_json_snapshot!("ring", written(&ring(patch().outline())));
}
