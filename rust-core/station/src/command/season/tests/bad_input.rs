//! What cannot be read or carried is refused with its place or its reason, and no number that is none comes out.

use super::ask;
use crate::command::CommandError;
use crate::command::season::{SeasonFault, shown};
use messages::Language;
use proptest::prelude::*;
use serde_json::Value;

/// Topic, options, file, exit code, and what the message must hold.
const TABLE: &[(&str, &str, &str, u8, &str)] = &[
    // Weather.
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax\n2026-06-01,20,10\n",
        1,
        "line 2, column 12: tmin: the lowest temperature 20 is above the highest 10",
    ),
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax\n2026-06-01,60,88\n2026-06-02,62,91\n",
        1,
        "These days look like degrees Fahrenheit",
    ),
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax\n2026-06-01,1,9\n2026-06-01,2,8\n",
        1,
        "line 3, column 1: date: 2026-06-01 stands there twice",
    ),
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax\n2026-06-02,1,9\n2026-06-01,2,8\n",
        1,
        "line 3, column 1: date: 2026-06-01 comes after 2026-06-02",
    ),
    ("degree-days", "FILE", "date,tmin,tmax\n2026-02-29,1,9\n", 1, "line 2, column 1: date"),
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax\n2026-06-01,NaN,9\n",
        1,
        "line 2, column 12: tmin: NaN is no finite number",
    ),
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax\n2026-06-01,1,inf\n",
        1,
        "line 2, column 14: tmax: inf is no finite number",
    ),
    ("degree-days", "FILE --unit c", "date,tmin,tmax\n2026-06-01,1,900\n", 1, "tmax: 900 is no temperature of the air"),
    ("degree-days", "FILE", "", 1, "line 1, column 1: the file is empty"),
    ("degree-days", "FILE", "date,tmin,tmax\n", 1, "there is no row of data"),
    ("degree-days", "FILE", "date,tmin,tmax\n2026-06-01,,\n", 1, "no day has both temperatures"),
    ("degree-days", "FILE", "date,tmin\n2026-06-01,4\n", 1, "the column \"tmax\" is missing"),
    ("degree-days", "FILE", "date;tmin;tmax\n2026-06-01;4;9\n", 1, "by commas here"),
    ("degree-days", "FILE", "date,tmin,tmax\n2026-06-01,4\n", 1, "line 2, column 1: 2 fields"),
    (
        "degree-days",
        "FILE",
        "date,tmin,tmax,rain\n2026-06-01,4,9,1\n",
        1,
        "line 1, column 16: there is no column \"rain\" here",
    ),
    (
        "degree-days",
        "FILE",
        "[{\"date\": \"2026-06-01\", \"tmin\": 4,\n \"tmax\": \"warm\"}]",
        1,
        "line 2, column 10: tmax: \"warm\" is no number",
    ),
    ("degree-days", "FILE", "[{\"date\": ]", 1, "line 1, column 11"),
    (
        "degree-days",
        "FILE --lower 20 --upper 10",
        "date,tmin,tmax\n2026-06-01,4,9\n",
        2,
        "not above the lower threshold",
    ),
    ("degree-days", "FILE --method clamped-average --cutoff vertical", "date,tmin,tmax\n2026-06-01,4,9\n", 2, ""),
    ("degree-days", "", "", 2, "a FILE is needed"),
    (
        "degree-days",
        "FILE",
        "time,temperature\n2026-06-01T12:00,20\n2026-06-01T12:30,21\n",
        1,
        "line 3, column 1: time: the hours must be in order",
    ),
    (
        "stage-dates",
        "FILE --laid 2026-07-01",
        "date,tmin,tmax\n2026-06-01,14,29\n",
        1,
        "no weather for the days this needs",
    ),
    ("stage-dates", "FILE", "date,tmin,tmax\n2026-06-01,14,29\n", 2, "--laid"),
    ("durations", "--at 5", "", 1, "at this temperature nothing grows"),
    // Counts.
    ("density", "FILE", "count\n-1\n", 1, "line 2, column 1: count: -1 is below 0"),
    ("density", "FILE", "count\n1\n2.5\n", 1, "line 3, column 1: count: 2.5 is not whole"),
    ("density", "FILE", "count\n1\ntwo\n", 1, "line 3, column 1: count: \"two\" is no number"),
    ("density", "FILE", "count,stratum\n6,a\n2,b\n", 1, "say how many plants stratum \"a\" has"),
    ("aggregation", "FILE", "count\n3\n", 1, "too few observations (1 < 2)"),
    ("aggregation", "FILE", "count\n0\n0\n0\n", 1, "all counts are zero"),
    ("presence", "--occupied 5 --checked 4", "", 1, "the numbers contradict each other (5 > 4)"),
    ("how-many", "--mean 0.4 --plants-at-site 0", "", 1, "no answer"),
    ("how-many", "", "", 2, "one of --mean"),
    ("stop-line", "", "", 2, "--a with --b"),
    ("stop-line", "--k 1 --means 1,0.5", "", 1, "a value is out of range"),
    ("choose", "--plants 10 --plants-at-site 0", "", 1, "no answer"),
    // Series.
    ("passage", "FILE", "day,egg\n1,3\n1,4\n", 1, "line 3, column 1: day: this day stands there twice"),
    ("passage", "FILE", "day,egg\n2,3\n1,4\n", 1, "line 3, column 1: day: this day comes after a later one"),
    (
        "passage",
        "FILE",
        "day,egg,checked,unit\n1,3,10,stem\n2,4,10,clump\n",
        1,
        "line 3, column 8: unit: stems and clumps",
    ),
    ("passage", "FILE", "day,egg,checked\n1,3,0\n2,4,10\n", 1, "line 2, column 5: checked: nothing was checked"),
    ("passage", "FILE", "day,egg,undecided:egg\n1,3,0\n2,4,1\n", 1, "undecided:egg"),
    ("passage", "FILE", "egg\n1\n2\n", 1, "a column day or date is missing"),
    ("survival", "FILE --weather FILE2", "day,egg,larva1\n1,3,0\n8,4,1\n", 2, "--day-one DATE is needed"),
    ("egg-fate", "FILE --days 4", "days,fate\n1,vanished\n", 1, "line 2, column 3: fate: \"vanished\" is no fate"),
    ("egg-fate", "FILE --days 4", "days,fate\n0,died\n", 1, "line 2, column 1: days: an interval is longer than 0"),
    // Matrices.
    ("agreement", "FILE", "1,2\n3\n", 1, "line 2, column 1: 1 numbers, but the first row has 2"),
    ("agreement", "FILE", "1,2,3\n4,5,6\n", 1, "the rows of the table do not fit"),
    ("agreement", "FILE", "1,-2\n3,4\n", 1, "line 1, column 3: -2 is below 0"),
    ("agreement", "FILE --many", "3,1\n2,1\n", 1, "no answer"),
    (
        "correction",
        "FILE",
        "{\"recorded\": [5, 5], \"matrix\": [[0.9, 0.3], [0.1, 0.9]]}",
        1,
        "the rows of the table do not fit",
    ),
    ("correction", "FILE", "{\"recorded\": [5, 5]}", 1, "wanted: recorded with matrix"),
    ("correction", "FILE", "{\"recorde\": [5, 5]}", 1, "line 1, column 10: unknown field `recorde`"),
    ("double-count", "FILE", "{\"first\": 5, \"second\": 4, \"both\": 6}", 1, "the numbers contradict each other"),
    ("double-count", "FILE", "{\"first\": 5, \"second\": 4}", 1, "the number that both saw is needed"),
    ("double-count", "FILE", "{\"passes\": [5, 5]}", 1, "the later pass found as many"),
    ("n-mixture", "FILE", "3,2\n", 1, "too few observations"),
    // Years.
    ("trend", "FILE", "year,value\n2020,1\n2020,2\n", 1, "two values for one year (2020)"),
    ("trend", "FILE", "year,value\n2020.5,1\n", 1, "line 2, column 1: year: \"2020.5\" is no year"),
    ("compare", "FILE", "count,checked,side\n1,0,a\n", 1, "line 2, column 3: checked: nothing was checked"),
    ("compare", "FILE", "count,checked,side\n1,9,a\n2,9,b\n3,9,c\n", 1, "line 4, column 5: side: a third side"),
    ("compare", "FILE", "count,checked,side\n9,9,a\n2,9,a\n", 1, "one side has no visit"),
    (
        "mow",
        "FILE --at 25",
        "{\"today\": \"2026-07-30\", \"visits\": [{\"date\": \"2026-07-08\", \"per_hectare\": {\"egg\": {\"value\": 3}}}], \"cuts\": [{\"date\": \"2026-08-01\"}]}",
        1,
        "no visit in the last eight days",
    ),
    // Places.
    (
        "points",
        "FILE --count 3",
        "{\"type\": \"Polygon\",\n \"coordinates\": [[[0, 0], [1, 0], [2, 0], [0, 0]]]}",
        1,
        "line 2, column 2: this polygon has no area",
    ),
    ("points", "FILE --count 3", "{\"type\": \"Point\", \"coordinates\": [0, 0]}", 1, "one polygon is wanted"),
    ("walk", "FILE", "lat,lon\n95,0\n1,1\n", 1, "line 2, column 1: lat"),
    ("walk", "FILE --start 3", "lat,lon\n5,0\n1,1\n", 2, "--start names no point"),
    ("sun", "--place 44,-93", "", 2, "either --on DATE or --moment TIME"),
    ("heat", "--at 90 --humidity 50", "", 1, "a value is out of range"),
    ("heat", "--at 30 --humidity 150", "", 1, "a value is out of range"),
    ("ground", "--place 44,-93", "", 2, "--to, or --direction"),
];

#[test]
fn bad_input_has_a_clear_error() {
    let mut wrong = Vec::new();
    for (topic, options, file, code, wanted) in TABLE {
        match ask(topic, options, &[file, "date,tmin,tmax\n2026-06-01,14,29\n"]) {
            Ok(answer) => wrong.push(format!("{topic} {options} {file:?} gave {}", answer.value())),
            Err(error) => {
                let text = error.to_string();
                if !text.contains(wanted) || error.exit_code() != *code {
                    wrong.push(format!(
                        "{topic} {options} {file:?}: {} {text:?}, not {code} {wanted:?}",
                        error.exit_code()
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is odd but has an answer.
#[test]
fn limits_have_a_documented_result() {
    let value = |topic: &str, options: &str, file: &str| super::value(topic, options, file);
    // A leap day is a day like others.
    let leap = value("degree-days", "FILE", "date,tmin,tmax\n2024-02-28,14,29\n2024-02-29,14,29\n2024-03-01,14,29\n");
    assert_eq!((leap["missing_days"].as_u64(), leap["days"].as_array().unwrap().len()), (Some(0), 3));
    // One plant has no mean with an interval.
    let one = value("density", "FILE", "count\n7\n");
    assert_eq!(one["per_plant"]["refused"], "refused.too-few");
    assert!((one["occupied"]["value"].as_f64().unwrap() - 1.0).abs() < 1e-12);
    // k without end.
    let even = value("aggregation", "FILE", "count\n1\n2\n1\n2\n1\n2\n");
    assert_eq!(even["k"]["k"], Value::Null);
    assert!(even["k"]["assumed"].as_array().unwrap().contains(&"assumed.no-clumping-found".into()));
    // Degrees Fahrenheit that the person has confirmed to be Celsius.
    let hot = value("degree-days", "FILE --unit c", "date,tmin,tmax\n2026-06-01,12,40\n2026-06-02,12,40\n");
    assert!(hot["total"].as_f64().unwrap() > 0.0);
    // Midnight sun.
    let north = value("sun", "--place 69.6492,18.9553 --on 2024-06-21", "");
    assert_eq!((&north["rise"], &north["set"]), (&"stays-up".into(), &"stays-up".into()));
    // The poles, and a way round the world.
    let pole = value("ground", "--place 90,0 --to -90,0", "");
    super::near(&pole, "metres", 20_003_931.458_6, 0.001);
    let sun = value("sun", "--place -90,0 --on 2024-12-21", "");
    assert_eq!(sun["rise"], "stays-up");
}

/// Two counts, plants checked, lowest temperature and how far above it the highest is.
type Drawn = (u32, u32, u32, f64, f64);

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever is counted: an answer or a reason, and no number that is none.
    #[test]
    fn nothing_breaks_on_any_counts(counts in prop::collection::vec(prop_oneof![Just(0_u32), 0_u32..9, 0_u32..2_000_000], 1..12)) {
        let file = std::iter::once("count".to_owned()).chain(counts.iter().map(u32::to_string)).collect::<Vec<_>>().join("\n");
        for (topic, options) in [("aggregation", "FILE --by-bootstrap --resamples 100"), ("presence", "FILE"),
            ("density", "FILE --resamples 100"), ("how-many", "FILE"),
            ("stop-line", "FILE --a 1.5 --b 1.3"), ("stop-line", "FILE --at-least 3 --at-most 9")] {
            let answer = ask(topic, options, &[&file]);
            prop_assert!(!matches!(&answer, Err(CommandError::Season(SeasonFault::NoNumber(_)))), "{topic}: {answer:?}");
            if let Ok(answer) = answer {
                let table = shown::table(answer.value(), topic, Language::En);
                prop_assert!(!table.contains("NaN") && !table.contains("inf "), "{topic}: {table}");
            }
        }
    }

    /// Whatever series, years, places and weather: an answer or a reason, and no number that is none, in JSON either, where
    /// it would be written as null.
    #[test]
    fn no_answer_holds_a_number_that_is_none(
        rows in prop::collection::vec((0_u32..40, 0_u32..9, 1_u32..60, -40.0_f64..45.0, 0.0_f64..20.0), 1..9),
    ) {
        let lines = |head: &str, of: &dyn Fn(usize, &Drawn) -> String| {
            let rows = rows.iter().enumerate().map(|(index, row)| of(index, row));
            std::iter::once(head.to_owned()).chain(rows).collect::<Vec<_>>().join("\n")
        };
        let series = lines("day,egg,larva1,checked,unit", &|index, (egg, larva, checked, ..)| {
            format!("{},{egg},{larva},{checked},stem", 7 * index)
        });
        let weather = lines("date,tmin,tmax", &|index, (.., low, reach)| {
            format!("2026-06-{:02},{low:.1},{:.1}", index + 1, (low + reach).min(50.0))
        });
        let asked = [
            ("passage", "FILE --at 25", &series),
            ("survival", "FILE --at 25", &series),
            ("trend", "FILE", &lines("year,value", &|index, (value, ..)| format!("{},{value}", 2000 + index))),
            ("trend", "FILE", &lines("year,value,effort,site", &|index, (value, other, effort, ..)| {
                format!("{},{value},{effort},{}", 2000 + index / 2, if index % 2 == 0 { "a" } else { "b" })
                    + if *other > 8 { " " } else { "" }
            })),
            ("degree-days", "FILE --unit c", &weather),
            ("stage-dates", "FILE --unit c --laid 2026-06-01", &weather),
            ("compare", "FILE --resamples 100", &lines("count,checked,side", &|index, (count, _, checked, ..)| {
                format!("{count},{checked},{}", if index % 2 == 0 { "a" } else { "b" })
            })),
            ("agreement", "FILE", &rows.iter().map(|(a, b, ..)| format!("{a},{b}")).take(2).collect::<Vec<_>>().join("\n")),
            ("n-mixture", "FILE --most 60", &rows.iter().map(|(a, b, ..)| format!("{},{b}", a % 12)).collect::<Vec<_>>().join("\n")),
            ("walk", "FILE", &lines("lat,lon", &|_, (a, b, _, low, _)| format!("{},{}", 2.0 * low, i64::from(*a) - i64::from(*b)))),
        ];
        for (topic, options, file) in asked {
            match ask(topic, options, &[file]) {
                Ok(answer) => {
                    let table = shown::table(answer.value(), topic, Language::Es);
                    prop_assert!(!table.contains("NaN") && !table.contains("inf "), "{topic}: {table}");
                }
                Err(error) => {
                    prop_assert!(!matches!(error, CommandError::Season(SeasonFault::NoNumber(_))), "{topic} {file}: {error}");
                }
            }
        }
    }

    /// Whatever stands in a file: no panic.
    #[test]
    fn nothing_breaks_on_any_text(text in "(day|date|egg|count|year|value|tmin|[0-9,.\\-\"{}\\[\\]:\\n ]){0,40}") {
        for (topic, options) in [("degree-days", "FILE"), ("passage", "FILE"), ("density", "FILE"), ("trend", "FILE"),
            ("agreement", "FILE"), ("correction", "FILE"), ("points", "FILE --count 2"), ("walk", "FILE")] {
            if let Err(error) = ask(topic, options, &[&text]) {
                prop_assert!(!matches!(error, CommandError::Season(SeasonFault::NoNumber(_))), "{topic}: {error}");
                prop_assert!(error.exit_code() == 1 || error.exit_code() == 2, "{topic}: {error}");
            }
        }
    }
}
