//! Figures of answers, in the reader's language.

use super::read::Series;
use crate::report::figures::figure_words;
use figure::{
    Band, ChartWords, Confusion, Figure, FigureError, HeatDay, StopLine, StopLines, Succession, YearValue, Years,
    confusion_matrix, heat_curve, stage_succession, stop_lines, year_course,
};
use messages::{Language, say};
use season::clock::{StageClock, StageDates, Temperatures};
use season::degree_days::{HeatSum, Known};
use season::sampling::SequentialTest;
use season::years::{SiteYears, Wording};
use survey::date::Date;

/// Width in which figures are drawn.
const WIDE: u32 = 720;

/// Degree-days over the days of a weather, with the ends of the stages of an egg laid before the first.
pub(super) fn heat(found: &HeatSum, clock: &StageClock, language: Language) -> Result<Figure, FigureError> {
    let mut sum = 0.0;
    let days: Vec<HeatDay> = found
        .days
        .iter()
        .map(|day| {
            sum += day.degree_days.unwrap_or(0.0);
            HeatDay { date: day.date, sum, measured: day.known == Known::Measured }
        })
        .collect();
    heat_curve(&days, &bands(clock), WIDE, &chart_words(language))
}

fn bands(clock: &StageClock) -> Vec<Band> {
    let of =
        |heat: &season::clock::StageHeat| clock.end_of(heat.stage).ok().map(|ends| Band { stage: heat.stage, ends });
    clock.stages().iter().filter_map(of).collect()
}

/// Heat since an egg was laid, up to its last stage or the end of the weather.
pub(super) fn stage_dates(
    found: &StageDates,
    clock: &StageClock,
    temperatures: &Temperatures,
    language: Language,
) -> Result<Figure, FigureError> {
    let most = found.ends.iter().map(|end| end.needs).fold(0.0, f64::max);
    let mut days = Vec::new();
    let mut sum = 0.0;
    let mut date = found.laid;
    while let Some((day, basis)) = temperatures.on(date) {
        let Some(next) = date.naive().succ_opt().map(Date::from) else { break };
        sum += clock.counting().of_day(day, temperatures.on(next).map(|(day, _)| day));
        days.push(HeatDay { date, sum, measured: basis == season::clock::Basis::Measured });
        if sum >= most || days.len() > 400 {
            break;
        }
        date = next;
    }
    heat_curve(&days, &bands(clock), WIDE, &chart_words(language))
}

/// Fixed-precision stop lines with the running count.
pub(super) fn stop_line(
    needed: impl Fn(u32) -> Option<f64>,
    plants: &[u32],
    counts: Option<&[u32]>,
    language: Language,
) -> Result<Figure, FigureError> {
    let last = furthest(plants, counts);
    let line: Vec<(f64, f64)> =
        (1..=last).filter_map(|units| needed(units).map(|total| (f64::from(units), total))).collect();
    let of = StopLines { lines: vec![(StopLine::Stop, line)], running: running(counts) };
    stop_lines(&of, WIDE, &chart_words(language))
}

/// The two lines of a sequential test with the running count.
pub(super) fn test_lines(
    test: &SequentialTest,
    plants: &[u32],
    counts: Option<&[u32]>,
    language: Language,
) -> Result<Figure, FigureError> {
    let last = furthest(plants, counts);
    let line = |of: fn((f64, f64)) -> f64| {
        (1..=last).map(|units| (f64::from(units), of(test.lines(units)))).filter(|point| point.1 >= 0.0).collect()
    };
    let of = StopLines {
        lines: vec![(StopLine::High, line(|lines| lines.1)), (StopLine::Low, line(|lines| lines.0))],
        running: running(counts),
    };
    stop_lines(&of, WIDE, &chart_words(language))
}

fn furthest(plants: &[u32], counts: Option<&[u32]>) -> u32 {
    let counted = counts.map_or(0, |counts| u32::try_from(counts.len()).unwrap_or(u32::MAX));
    plants.iter().copied().max().unwrap_or(0).max(counted).clamp(2, 5_000)
}

fn running(counts: Option<&[u32]>) -> Vec<u64> {
    counts
        .into_iter()
        .flatten()
        .scan(0_u64, |total, count| {
            *total += u64::from(*count);
            Some(*total)
        })
        .collect()
}

/// Stages one under the other.
pub(super) fn succession(series: &Series, language: Language) -> Result<Figure, FigureError> {
    let of = Succession {
        days: series.days.clone(),
        dates: series.dates.clone(),
        stages: series.stages.clone(),
        rows: series.rows.clone(),
    };
    stage_succession(&of, WIDE, &chart_words(language))
}

/// Whose judgements a matrix holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Judged {
    /// Two observers', thing by thing.
    TwoObservers,
    /// Truth by row, records by column.
    Shares,
}

/// A confusion matrix.
pub(super) fn confusion(
    rows: &[Vec<f64>],
    classes: &[String],
    judged: Judged,
    language: Language,
) -> Result<Figure, FigureError> {
    let named = |class: &String| {
        let id = format!("stage.{class}");
        if messages::knows(&id) { say(language, &id, &[]) } else { class.clone() }
    };
    let of = Confusion {
        classes: classes.iter().map(named).collect(),
        rows: rows.to_vec(),
        two_observers: judged == Judged::TwoObservers,
    };
    confusion_matrix(&of, WIDE, &chart_words(language))
}

/// One series of years with its line by medians.
pub(super) fn trend(
    points: &[(f64, f64)],
    line: Option<(f64, f64)>,
    said: Wording,
    language: Language,
) -> Result<Figure, FigureError> {
    #[expect(clippy::cast_possible_truncation, reason = "the years were whole numbers of 32 bits")]
    let values = points.iter().map(|&(year, value)| YearValue { year: year as i32, value, interval: None }).collect();
    let of = Years { values, line, against_first: false, wording: wording(said, language) };
    year_course(&of, WIDE, &chart_words(language))
}

/// Years against the first, over sites.
pub(super) fn year_indices(found: &SiteYears, language: Language) -> Result<Figure, FigureError> {
    let values = found
        .years
        .iter()
        .map(|year| YearValue { year: year.year, value: year.index.value, interval: year.index.interval })
        .collect();
    let of = Years { values, line: None, against_first: true, wording: wording(found.wording, language) };
    year_course(&of, WIDE, &chart_words(language))
}

fn wording(said: Wording, language: Language) -> String {
    let (Wording::ValuesOnly(id) | Wording::Word(id)) = said;
    say(language, id.name(), &[])
}

/// The words of charts in a language.
fn chart_words(language: Language) -> ChartWords {
    let say = |id: &str| say(language, &format!("chart.{id}"), &[]);
    ChartWords {
        words: figure_words(language),
        succession_title: say("succession-title"),
        succession_note: say("succession-note"),
        axis_day: say("axis-day"),
        day: say("day"),
        succession_says: say("succession-says"),
        succession_none: say("succession-none"),
        heat_title: say("heat-title"),
        heat_axis: say("heat-axis"),
        axis_date: say("axis-date"),
        heat_gap: say("heat-gap"),
        heat_says: say("heat-says"),
        heat_ends: say("heat-ends"),
        heat_band: say("heat-band"),
        stop_title: say("stop-title"),
        stop_axis_plants: say("stop-axis-plants"),
        stop_axis_animals: say("stop-axis-animals"),
        stop_line: say("stop-line"),
        stop_high: say("stop-high"),
        stop_low: say("stop-low"),
        stop_running: say("stop-running"),
        stop_says_at: say("stop-says-at"),
        stop_says_not_yet: say("stop-says-not-yet"),
        stop_says_line: say("stop-says-line"),
        stop_says_high: say("stop-says-high"),
        stop_says_low: say("stop-says-low"),
        confusion_title: say("confusion-title"),
        confusion_title_two: say("confusion-title-two"),
        confusion_rows: say("confusion-rows"),
        confusion_columns: say("confusion-columns"),
        confusion_first: say("confusion-first"),
        confusion_second: say("confusion-second"),
        confusion_note: say("confusion-note"),
        confusion_says: say("confusion-says"),
        confusion_worst: say("confusion-worst"),
        class: say("class"),
        years_title: say("years-title"),
        years_title_index: say("years-title-index"),
        years_axis: say("years-axis"),
        years_axis_value: say("years-axis-value"),
        years_axis_index: say("years-axis-index"),
        years_line: say("years-line"),
        years_says: say("years-says"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_catalogue_has_the_words_that_charts_speak() {
        assert_eq!(chart_words(Language::En), figure::english_charts());
    }
}
