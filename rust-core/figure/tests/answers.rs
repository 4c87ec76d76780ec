//! Charts of answers: what they say in words, and that nothing of them lies outside the sheet. All numbers are invented.

use figure::{
    Anchor, Band, Confusion, Figure, FigureError, HeatDay, Shape, StopLine, StopLines, Succession, Xy, YearValue,
    Years, confusion_matrix, english_charts, heat_curve, stage_succession, stop_lines, svg, text_width, year_course,
};
use proptest::prelude::*;
use season::{Interval, Level, Sides};
use survey::date::Date;
use survey::stage::Stage;

const WIDTHS: [u32; 3] = [240, 320, 720];

fn date(day: u32) -> Date {
    Date::try_from(format!("2026-06-{day:02}")).unwrap()
}

fn heat(width: u32) -> Result<Figure, FigureError> {
    let days: Vec<HeatDay> = (1..=12)
        .map(|day| HeatDay { date: date(day), sum: 10.0 * f64::from(day), measured: !matches!(day, 5 | 6) })
        .collect();
    let bands = [
        Band { stage: Stage::Egg, ends: 45.0 },
        Band { stage: Stage::Larva1, ends: 77.3 },
        Band { stage: Stage::Larva5, ends: 231.9 },
    ];
    heat_curve(&days, &bands, width, &english_charts())
}

fn succession(width: u32) -> Result<Figure, FigureError> {
    let of = Succession {
        days: vec![1.0, 8.0, 15.0],
        dates: None,
        stages: vec![Stage::Egg, Stage::Larva1, Stage::Larva2],
        rows: vec![vec![3.0, 0.0, 0.0], vec![40.0, 5.0, 0.0], vec![12.0, 9.0, 0.0]],
    };
    stage_succession(&of, width, &english_charts())
}

fn stopping(running: Vec<u64>, width: u32) -> Result<Figure, FigureError> {
    let line = (1..=60).map(|plants| (f64::from(plants), 60.0 / f64::from(plants).sqrt())).collect();
    stop_lines(&StopLines { lines: vec![(StopLine::Stop, line)], running }, width, &english_charts())
}

fn testing(running: Vec<u64>, width: u32) -> Result<Figure, FigureError> {
    let line = |over: f64| (8..=60).map(|plants| (f64::from(plants), 0.7 * f64::from(plants) + over)).collect();
    let lines = vec![(StopLine::High, line(5.4)), (StopLine::Low, line(-5.4))];
    stop_lines(&StopLines { lines, running }, width, &english_charts())
}

fn confusion(width: u32) -> Result<Figure, FigureError> {
    let rows = vec![vec![0.9, 0.1, 0.0], vec![0.05, 0.7, 0.25], vec![0.0, 0.0, 1.0]];
    let classes = vec!["egg".to_owned(), "larva 1".to_owned()];
    confusion_matrix(&Confusion { classes, rows, two_observers: false }, width, &english_charts())
}

fn years(width: u32) -> Result<Figure, FigureError> {
    let value = |year: i32, value: f64| YearValue {
        year,
        value,
        interval: Some(Interval { low: value * 0.6, high: value * 1.5, level: Level::P95, sides: Sides::Both }),
    };
    let values = vec![value(2021, 1.0), value(2022, 0.4), value(2023, 1.7), value(2024, 1.2)];
    let of = Years { values, line: Some((-200.0, 0.099_5)), against_first: true, wording: "values only".to_owned() };
    year_course(&of, width, &english_charts())
}

fn all(width: u32) -> Vec<Figure> {
    [
        heat(width),
        succession(width),
        stopping(vec![0, 2, 9, 30, 61], width),
        testing(vec![0; 20], width),
        confusion(width),
        years(width),
    ]
    .into_iter()
    .map(Result::unwrap)
    .collect()
}

#[test]
fn alternatives_state_the_finding() {
    let said: Vec<String> = all(720)
        .iter()
        .map(|figure| format!("{} | {}", figure.text_alternative.title, figure.text_alternative.description))
        .collect();
    insta::assert_snapshot!(said.join("\n"));
    let of = |figure: Result<Figure, FigureError>| figure.unwrap().text_alternative.description;
    assert_eq!(of(stopping(vec![0, 1], 720)), "After 2 plants and 1 animals the count has not reached the line.");
    assert_eq!(of(testing(vec![9; 10], 720)), "After 10 plants and 9 animals the count has not reached the line.");
    assert_eq!(of(testing((1..=20).map(|n| 3 * n).collect(), 720)), "After 20 plants and 60 animals: many.");
    assert!(of(testing(Vec::new(), 720)).contains("On 60 plants it takes"));
}

#[test]
fn nothing_lies_outside_the_sheet() {
    for width in WIDTHS {
        for figure in all(width) {
            let title = &figure.text_alternative.title;
            let (right, bottom) = (f64::from(figure.size.width), f64::from(figure.size.height));
            let inside = |at: &Xy| (-0.5..=right + 0.5).contains(&at.x) && (-0.5..=bottom + 0.5).contains(&at.y);
            for shape in &figure.shapes {
                match shape {
                    Shape::Line { from, to, .. } => assert!(inside(from) && inside(to), "{title} {width}: {shape:?}"),
                    Shape::Polyline { points, .. } | Shape::Polygon { points, .. } => {
                        assert!(points.iter().all(inside), "{title} {width}: {shape:?}");
                    }
                    Shape::Circle { center, .. } => assert!(inside(center), "{title} {width}: {shape:?}"),
                    Shape::Text { at, text, size, anchor, weight, .. } => {
                        let wide = text_width(text, *size, *weight);
                        let left = match anchor {
                            Anchor::Start => at.x,
                            Anchor::Middle => at.x - wide / 2.0,
                            Anchor::End => at.x - wide,
                        };
                        assert!(left >= -0.5 && left + wide <= right + 0.5 && inside(at), "{title} {width}: {text}");
                    }
                    Shape::Curve { .. } => panic!("{title} has a curve"),
                }
            }
            assert!(svg(&figure).contains("<title"));
        }
    }
}

#[test]
fn what_cannot_be_drawn_is_refused() {
    let words = english_charts();
    assert_eq!(heat_curve(&[], &[], 720, &words), Err(FigureError::Nothing));
    assert_eq!(heat(100), Err(FigureError::TooNarrow { width: 100, least: 240 }));
    let none = StopLines { lines: vec![(StopLine::Stop, vec![(1.0, 2.0)])], running: Vec::new() };
    assert_eq!(stop_lines(&none, 720, &words), Err(FigureError::Nothing));
    let empty = Confusion { classes: Vec::new(), rows: vec![vec![0.0; 2]; 2], two_observers: true };
    assert_eq!(confusion_matrix(&empty, 720, &words), Err(FigureError::Nothing));
    let one = Years {
        values: vec![YearValue { year: 2020, value: 1.0, interval: None }],
        line: None,
        against_first: false,
        wording: String::new(),
    };
    assert_eq!(year_course(&one, 720, &words), Err(FigureError::Nothing));
    let flat = Succession { days: vec![1.0, 2.0], dates: None, stages: vec![Stage::Egg], rows: vec![vec![0.0]; 2] };
    assert_eq!(stage_succession(&flat, 720, &words), Err(FigureError::Nothing));
}

proptest! {
    /// Whatever the counts: a figure or a refusal.
    #[test]
    fn any_succession_is_drawn(rows in prop::collection::vec(prop::collection::vec(0.0_f64..1e6, 3), 2..8), step in 0.01_f64..90.0) {
        let days = (0..rows.len()).map(|visit| step * visit as f64).collect();
        let stages = vec![Stage::Egg, Stage::Larva1, Stage::Larva5];
        let some = rows.iter().flatten().any(|value| *value > 0.0);
        let drawn = stage_succession(&Succession { days, dates: None, stages, rows }, 320, &english_charts());
        prop_assert_eq!(drawn.is_ok(), some);
    }
}
