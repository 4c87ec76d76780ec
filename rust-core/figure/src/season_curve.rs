//! The season curve: one panel for each stage, one under the other, on one axis of dates.

use crate::axis::{Between, Ticks, fitting, ticks};
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{
    Area, BODY, Box2, MARGIN, Marker, PLAIN, SMALL, TICK, Type, heading, interval_bar, legend, line, mark, paragraph,
    path, sheet, wide, width_of, write, write_level,
};
use crate::shape::{Anchor, Figure, Stroke, TextAlternative, Weight};
use crate::words::{Words, capital, fill};
use plotters::chart::{ChartBuilder, ChartContext};
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::types::RangedCoordf64;
use season::{Curve, CurvePoint, Measure, StageCurve};
use std::collections::BTreeMap;
use survey::date::Date;
use survey::stage::Stage;

/// Height of the egg's panel and of the others.
const TALL: i32 = 104;
const LOW: i32 = 52;
/// Room between panels, and how far beside its point the mark of doubt stands.
const GAP: i32 = 10;
const ASIDE: i32 = 8;
/// Room over the highest value, as a share of the axis.
const HEADROOM: f64 = 0.12;

type Chart<'a> = ChartContext<'a, crate::backend::Recorder<'a>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// The season of one site, stage by stage: means per unit of check with their intervals, shares of occupied units where
/// fewer than five animals were found, and how far undecided things would raise them; or sample totals where the effort
/// is unknown. `place` is the site's name, with the year where it is not obvious; `width` in figure units.
///
/// The unjudged larva has a panel only where one was counted.
///
/// # Errors
/// [`FigureError::Nothing`] without a stage in scope; [`FigureError::TooNarrow`] below [`crate::NARROWEST`].
pub fn season_curve(curve: &Curve, place: &str, width: u32, words: &Words) -> Result<Figure, FigureError> {
    let stages: Vec<&StageCurve> = curve.stages.iter().filter(|stage| is_shown(stage)).collect();
    let dates = dates(&stages);
    if dates.is_empty() {
        return Err(FigureError::Nothing);
    }
    let (title, mut notes) = title_and_notes(curve, place, words);
    let text_alternative = TextAlternative { title: title.clone(), description: describe(curve, &stages, words) };
    let scales = Scales::of(curve, &stages);
    let has_two_scales = stages.len() > 1 && stages[0].stage == Stage::Egg;
    if has_two_scales {
        notes.push(&words.note_scales);
    }
    sheet(width, text_alternative, |area| {
        let y = heading(area, &title, &notes)?;
        write(area, &words.axis(curve.measure), (MARGIN, y + 8), PLAIN)?;
        let mut y = y + 8 + BODY + 4;
        let left = MARGIN + 8 + scales.label_width(words);
        for stage in &stages {
            y = panel(area, stage, &dates, (left, y), &scales, words)?;
        }
        y = date_axis(area, &dates, (left, y), words)?;
        let y = legend(area, &keys(curve, &stages, words), y + 6, key)?;
        let has_gaps = stages
            .iter()
            .any(|stage| stage.points.len() < dates.len() || stage.points.iter().any(|point| point.value.is_none()));
        if has_gaps { paragraph(area, &words.legend_gaps, y + 4, SMALL) } else { Ok(y) }
    })
}

/// The highest value of the egg's panel and of the others.
struct Scales {
    egg: f64,
    others: f64,
    between: Between,
}

impl Scales {
    fn of(curve: &Curve, stages: &[&StageCurve]) -> Self {
        let top = |wanted: fn(Stage) -> bool| {
            let highest = stages
                .iter()
                .filter(|stage| wanted(stage.stage))
                .flat_map(|stage| &stage.points)
                .flat_map(|point| [point.value, point.if_all_undecided, point.interval.map(|interval| interval.high)])
                .flatten()
                .fold(0.0, f64::max);
            if highest > 0.0 { highest } else { 1.0 }
        };
        let between = match curve.measure {
            Measure::PerUnit(_) => Between::Decimals,
            Measure::SampleTotals => Between::WholeOnly,
        };
        Self { egg: top(|stage| stage == Stage::Egg), others: top(|stage| stage != Stage::Egg), between }
    }

    const fn top(&self, stage: Stage) -> f64 {
        match stage {
            Stage::Egg => self.egg,
            _ => self.others,
        }
    }

    fn ticks(&self, stage: Stage) -> Ticks {
        ticks(self.top(stage) * (1.0 + HEADROOM / 2.0), if stage == Stage::Egg { 5 } else { 3 }, self.between)
    }

    fn label_width(&self, words: &Words) -> i32 {
        [Stage::Egg, Stage::Larva1]
            .into_iter()
            .flat_map(|stage| {
                let ticks = self.ticks(stage);
                ticks.values.iter().map(|&value| tick_label(value, &ticks, words)).collect::<Vec<_>>()
            })
            .map(|text| wide(&text, TICK))
            .max()
            .unwrap_or(0)
    }
}

fn tick_label(value: f64, ticks: &Ticks, words: &Words) -> String {
    // Nought needs no decimals.
    words.number(value, if value > 0.0 { ticks.decimals } else { 0 })
}

fn is_shown(stage: &StageCurve) -> bool {
    stage.stage != Stage::Larva || stage.points.iter().any(|point| point.animals > 0)
}

/// Days of all visits that have any point, with their dates.
fn dates(stages: &[&StageCurve]) -> Vec<(f64, Date)> {
    let by_date: BTreeMap<Date, f64> =
        stages.iter().flat_map(|stage| &stage.points).map(|point| (point.date, point.day)).collect();
    by_date.into_iter().map(|(date, day)| (day, date)).collect()
}

fn title_and_notes<'a>(curve: &Curve, place: &str, words: &'a Words) -> (String, Vec<&'a str>) {
    let (title, note) = match curve.measure {
        Measure::PerUnit(unit) => {
            let unit = &words.unit(unit).0;
            (fill(&words.title_per_unit, &[("place", place), ("unit", unit)]), &words.note_counted)
        }
        Measure::SampleTotals => (fill(&words.title_totals, &[("place", place)]), &words.note_totals),
    };
    let labels = curve.labels.iter().filter_map(|&label| words.label(label));
    (title, std::iter::once(note.as_str()).chain(labels).collect())
}

/// A stage's panel: its name, then axes and points; returns where it ends.
fn panel(
    area: &Area<'_>,
    stage: &StageCurve,
    dates: &[(f64, Date)],
    (left, top): (i32, i32),
    scales: &Scales,
    words: &Words,
) -> Result<i32, FigureError> {
    let bold = Type { size: BODY, weight: Weight::Bold, ..PLAIN };
    write(area, &capital(words.stage(stage.stage)), (left, top + 2), bold)?;
    let top = top + BODY + 6;
    let height = if stage.stage == Stage::Egg { TALL } else { LOW };
    let right = width_of(area) - MARGIN;
    let chart = chart(area, Box2 { left, top, right, bottom: top + height }, dates, scales.top(stage.stage))?;
    let floor = chart.backend_coord(&(dates[0].0, 0.0)).1;
    let axis = Stroke::solid(Ink::Rule, 1.0);
    line(area, (left, top), (left, floor), axis)?;
    line(area, (left, floor), (right, floor), axis)?;
    let ticks = scales.ticks(stage.stage);
    for &value in &ticks.values {
        let y = chart.backend_coord(&(dates[0].0, value)).1;
        line(area, (left - 4, y), (left, y), axis)?;
        let label = tick_label(value, &ticks, words);
        write_level(area, &label, (left - 7, y), Type { anchor: Anchor::End, ..SMALL })?;
    }
    for run in runs(&stage.points, dates) {
        let points = run.iter().map(|&(day, value)| chart.backend_coord(&(day, value))).collect();
        path(area, points, Stroke::solid(Ink::Rule, 1.0))?;
    }
    for point in &stage.points {
        draw_point(area, &chart, point)?;
    }
    Ok(top + height + GAP)
}

fn draw_point(area: &Area<'_>, chart: &Chart<'_>, point: &CurvePoint) -> Result<(), FigureError> {
    let at = |value: f64| chart.backend_coord(&(point.day, value));
    if let Some(interval) = point.interval {
        interval_bar(area, at(0.0).0, at(interval.low).1, at(interval.high).1)?;
    }
    if let Some(value) = point.if_all_undecided {
        let (x, y) = at(value);
        mark(area, (x + ASIDE, y), Marker::Doubt)?;
    }
    if let Some(value) = point.value {
        mark(area, at(value), if point.is_occupancy { Marker::Hollow } else { Marker::Full })?;
    }
    Ok(())
}

fn chart<'a>(area: &Area<'a>, area_box: Box2, dates: &[(f64, Date)], top: f64) -> Result<Chart<'a>, FigureError> {
    let (first, last) = (dates[0].0, dates[dates.len() - 1].0);
    let (first, last) = if last > first { (first, last) } else { (first - 1.0, first + 1.0) };
    // Markers at both ends keep clear of the axis and of the edge.
    let inner = (u32::try_from(area_box.right - area_box.left - 20).unwrap_or(1), area_box.bottom - area_box.top);
    let plot = area.clone().shrink((area_box.left + 10, area_box.top), (inner.0, u32::try_from(inner.1).unwrap_or(1)));
    Ok(ChartBuilder::on(&plot).build_cartesian_2d(first..last, 0.0..top * (1.0 + HEADROOM))?)
}

/// Points that neighbouring visits have in common with a value, for the line that guides the eye.
fn runs(points: &[CurvePoint], dates: &[(f64, Date)]) -> Vec<Vec<(f64, f64)>> {
    let by_date: BTreeMap<Date, f64> = points.iter().filter_map(|point| Some((point.date, point.value?))).collect();
    let with_gaps: Vec<Option<(f64, f64)>> =
        dates.iter().map(|(day, date)| Some((*day, *by_date.get(date)?))).collect();
    with_gaps
        .split(Option::is_none)
        .map(|run| run.iter().flatten().copied().collect::<Vec<_>>())
        .filter(|run| run.len() > 1)
        .collect()
}

/// Dates of visits under the last panel; returns where they end.
fn date_axis(
    area: &Area<'_>,
    dates: &[(f64, Date)],
    (left, top): (i32, i32),
    words: &Words,
) -> Result<i32, FigureError> {
    let right = width_of(area) - MARGIN;
    let chart = chart(area, Box2 { left, top, right, bottom: top + 1 }, dates, 1.0)?;
    let middles: Vec<i32> = dates.iter().map(|(day, _)| chart.backend_coord(&(*day, 0.0)).0).collect();
    let labels: Vec<String> = dates.iter().map(|(_, date)| words.day(*date)).collect();
    let top = top - GAP;
    write_dates(area, &middles, &labels, top)?;
    let middle = Type { anchor: Anchor::Middle, ..PLAIN };
    write(area, &words.axis_date, (i32::midpoint(left, right), top + 10 + TICK + 4), middle)?;
    Ok(top + 10 + TICK + 4 + BODY + 4)
}

/// Ticks at the middles, and as many labels as fit.
pub(crate) fn write_dates(area: &Area<'_>, middles: &[i32], labels: &[String], top: i32) -> Result<(), FigureError> {
    let widths: Vec<f64> = labels.iter().map(|label| f64::from(wide(label, TICK))).collect();
    for &x in middles {
        line(area, (x, top), (x, top + 4), Stroke::solid(Ink::Rule, 1.0))?;
    }
    // The first and last label stay inside the sheet.
    let edge = width_of(area) - 2;
    let places: Vec<i32> = middles
        .iter()
        .zip(labels)
        .map(|(x, label)| (wide(label, TICK) / 2 + 1, x))
        .map(|(half, x)| (*x).min(edge - half).max(half + 2))
        .collect();
    for index in fitting(&places, &widths, 8.0) {
        write(area, &labels[index], (places[index], top + 7), Type { anchor: Anchor::Middle, ..SMALL })?;
    }
    Ok(())
}

fn keys(curve: &Curve, stages: &[&StageCurve], words: &Words) -> Vec<(Marker, String)> {
    let points = || stages.iter().flat_map(|stage| &stage.points);
    let level = points().find_map(|point| point.interval).map_or(0.95, |interval| interval.level.share());
    let level = words.percent(level);
    let mut keys = Vec::new();
    match curve.measure {
        Measure::SampleTotals => keys.push((Marker::Full, words.legend_total.clone())),
        Measure::PerUnit(unit) => {
            if points().any(|point| point.value.is_some() && !point.is_occupancy) {
                keys.push((Marker::Full, fill(&words.legend_mean, &[("level", &level)])));
            }
            if points().any(|point| point.is_occupancy) {
                let values = [("units", words.unit(unit).1.as_str()), ("level", level.as_str())];
                keys.push((Marker::Hollow, fill(&words.legend_occupancy, &values)));
            }
        }
    }
    if points().any(|point| point.if_all_undecided.is_some()) {
        keys.push((Marker::Doubt, words.legend_undecided.clone()));
    }
    keys
}

fn key(area: &Area<'_>, area_box: Box2, marker: Marker) -> Result<(), FigureError> {
    let middle = (i32::midpoint(area_box.left, area_box.right), i32::midpoint(area_box.top, area_box.bottom));
    mark(area, middle, marker)
}

fn describe(curve: &Curve, stages: &[&StageCurve], words: &Words) -> String {
    let visits = dates(stages).len().to_string();
    let mut parts = Vec::new();
    if let Some((first, last)) = curve.dates {
        let (first, last) = (words.day_and_year(first), words.day_and_year(last));
        parts.push(fill(&words.says_span, &[("visits", &visits), ("first", &first), ("last", &last)]));
    }
    parts.extend(stages.iter().flat_map(|stage| say_stage(curve, stage, words)));
    parts.extend(title_and_notes(curve, "", words).1.into_iter().map(str::to_owned));
    parts.join(" ")
}

fn say_stage(curve: &Curve, stage: &StageCurve, words: &Words) -> Vec<String> {
    let name = capital(words.stage(stage.stage));
    let total: u64 = stage.points.iter().map(|point| point.animals).sum();
    let undecided: u64 = stage.points.iter().map(|point| point.undecided).sum();
    let peak = stage
        .points
        .iter()
        .filter_map(|point| point.value.map(|value| (value, point)))
        .max_by(|(one, first), (other, second)| one.total_cmp(other).then(second.date.cmp(&first.date)));
    let mut said = vec![match (peak, curve.measure) {
        (Some((value, point)), measure) if total > 0 => {
            let (decimals, unit) = match measure {
                Measure::PerUnit(unit) => (2, Some(words.unit(unit))),
                Measure::SampleTotals => (0, None),
            };
            let template = match measure {
                Measure::SampleTotals => &words.says_peak_total,
                Measure::PerUnit(_) if point.is_occupancy => &words.says_peak_occupancy,
                Measure::PerUnit(_) => &words.says_peak_mean,
            };
            let show = |number: f64| {
                if point.is_occupancy {
                    format!("{}\u{a0}%", words.number(number * 100.0, 0))
                } else {
                    words.number(number, decimals)
                }
            };
            let (date, value) = (words.day(point.date), show(value));
            let interval = words.interval(point.interval, show);
            let (unit, units) = unit.map_or(("", ""), |(one, several)| (one.as_str(), several.as_str()));
            let total = total.to_string();
            let values: [(&str, &str); 7] = [
                ("stage", &name),
                ("date", &date),
                ("value", &value),
                ("interval", &interval),
                ("unit", unit),
                ("units", units),
                ("total", &total),
            ];
            fill(template, &values)
        }
        _ => fill(&words.says_none, &[("stage", &name)]),
    }];
    if undecided > 0 {
        said.push(fill(&words.says_undecided, &[("stage", &name), ("number", &undecided.to_string())]));
    }
    said
}
