//! Stages passing through a season, what to expect, and animals per hectare: what stands below a season's table.

use super::analysis::{Figure, SeasonReport};
use season::clock::{Normals, Reached, StageClock, Temperatures, durations, stage_dates};
use season::degree_days::{Celsius, Day, Weather};
use season::densities::{Belt, hosts_per_hectare, per_hectare};
use season::passage::{
    ClockModel, Development, Mortality, Present, Residence, Scatter, StageSeries, Survival, mean_date, present,
    stage_clock,
};
use season::{Estimate, Level, MessageId, Refusal, Shown};
use survey::date::Date;
use survey::fold::SiteState;
use survey::protocol::Unit;
use survey::stage::Stage;

/// Days that are so warm throughout, °C: a station knows no weather of its sites.
pub const DAYS: [f64; 3] = [20.0, 25.0, 30.0];
/// The warmth at which stages are taken to last as long as they do, °C; the middle one of [`DAYS`].
const USUAL: Celsius = Celsius(25.0);
/// Days before the first visit in which eggs may have been laid that it could still see, and as many after the last.
const LEAD_DAYS: f64 = 60.0;
/// Days of all months, the leap day among them.
const MONTHS: [u32; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Stages set against how long they last.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// One row for each stage from egg to larva 5.
    pub rows: Vec<PassageRow>,
    /// Larva 5 against eggs.
    pub ratio: Estimate,
    /// Everything that was assumed.
    pub assumed: Vec<MessageId>,
}

/// A stage.
#[derive(Debug, Clone, PartialEq)]
pub struct PassageRow {
    /// The stage.
    pub stage: Stage,
    /// Mean date of its presence; `None` where none was found.
    pub mean_date: Option<Date>,
    /// Days that it lasts at 25 °C.
    pub days: f64,
    /// Mean numbers present per unit of stage duration, animals per unit of check.
    pub present: f64,
}

/// Until when animals that were eggs at a visit are in a stage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExpectRow {
    /// The stage.
    pub stage: Stage,
    /// Its typical end for each of [`DAYS`].
    pub ends: [Option<Date>; 3],
}

/// Animals per hectare at a visit of a season.
#[derive(Debug, Clone)]
pub struct Hectare {
    /// When the stems were counted.
    pub counted: Date,
    /// Stems per hectare.
    pub hosts: Estimate,
    /// The visit.
    pub visit: Date,
    /// By stage, or why there is none.
    pub rows: Vec<(Stage, Figure<Estimate>)>,
}

/// The passage of a season's stages.
///
/// # Errors
/// [`Refusal`] where effort is unknown, a stage was not looked for at every visit, there are fewer than two visits, or no
/// egg was found.
pub fn passage(season: &SeasonReport) -> Result<Passage, Refusal> {
    let first = season.visits.first().ok_or(Refusal::Nothing)?.date;
    let time = |date: Date| (date.naive() - first.naive()).num_days() as f64;
    let mean = |stage: Stage, visit: &super::analysis::VisitReport| {
        let animals = visit.cells.iter().find(|cell| cell.stage == stage).ok_or(Refusal::OutOfScope)?.animals;
        let checked = visit.checked.filter(|checked| *checked > 0).ok_or(Refusal::UnknownEffort)?;
        Ok(animals as f64 / checked as f64)
    };
    let row = |visit| Stage::EGG_TO_LARVA5.iter().map(|&stage| mean(stage, visit)).collect::<Result<Vec<_>, _>>();
    let rows = season.visits.iter().map(row).collect::<Result<Vec<_>, Refusal>>()?;
    let series = StageSeries::new(season.visits.iter().map(|visit| time(visit.date)).collect(), rows)?;
    let lasting = durations(&StageClock::monarch(), USUAL, Level::P95).map_err(|_| Refusal::NotANumber)?;
    let days: Vec<f64> = lasting.iter().take(Stage::EGG_TO_LARVA5.len()).map(|stage| stage.days.value).collect();
    let Present { per_duration, ratio } = present(&series, &days)?;
    let dated = |stage: usize| {
        let days = mean_date(&series, stage).ok()?.value;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "days of one year, from 0 on")]
        let days = chrono::Days::new(days.round().clamp(0.0, 400.0) as u64);
        first.naive().checked_add_days(days).map(Date::from)
    };
    let rows = Stage::EGG_TO_LARVA5.into_iter().enumerate().map(|(at, stage)| PassageRow {
        stage,
        mean_date: dated(at),
        days: days[at],
        present: per_duration[at],
    });
    Ok(Passage { rows: rows.collect(), assumed: ratio.assumed.clone(), ratio })
}

/// Survival from laying to entering larva 5, for each of [`DAYS`]: the stages' durations, and with them the survival, hang
/// on how warm the days were. Uncorrected for what was overlooked; larva 5 is taken to stay on its plant to its end.
///
/// # Errors
/// [`Refusal`] as for [`passage`], and of the likelihood, for too few visits or animals.
pub fn survival(season: &SeasonReport, level: Level) -> Result<[Survival; 3], Refusal> {
    let first = season.visits.first().ok_or(Refusal::Nothing)?.date;
    let days: Vec<f64> =
        season.visits.iter().map(|visit| (visit.date.naive() - first.naive()).num_days() as f64).collect();
    let found = |stage: Stage, visit: &super::analysis::VisitReport| {
        let cell = visit.cells.iter().find(|cell| cell.stage == stage).ok_or(Refusal::OutOfScope)?;
        Ok(cell.animals as f64)
    };
    let row = |visit| Stage::EGG_TO_LARVA5.iter().map(|&stage| found(stage, visit)).collect::<Result<Vec<_>, _>>();
    let rows = season.visits.iter().map(row).collect::<Result<Vec<_>, Refusal>>()?;
    let checked = |visit: &super::analysis::VisitReport| {
        visit.checked.filter(|checked| *checked > 0).map(|checked| checked as f64).ok_or(Refusal::UnknownEffort)
    };
    let effort = season.visits.iter().map(checked).collect::<Result<Vec<_>, Refusal>>()?;
    let series = StageSeries::new(days.clone(), rows)?;
    let last = days.last().copied().unwrap_or_default();
    let fit = |celsius: f64| {
        let lasting =
            durations(&StageClock::monarch(), Celsius(celsius), Level::P95).map_err(|_| Refusal::NotANumber)?;
        let model = ClockModel {
            effort: effort.clone(),
            // Each day is one day of development, and a stage is as wide as the days that it takes.
            clock: Development::constant(-LEAD_DAYS, last + LEAD_DAYS, 1.0)?,
            widths: lasting.iter().take(Stage::EGG_TO_LARVA5.len()).map(|stage| stage.days.value).collect(),
            detection: None,
            residence: Residence::WHOLE,
            mortality: Mortality::FirstAndRest,
            scatter: Scatter::NegativeBinomial,
        };
        Ok(stage_clock(&series, &model, level)?.to_last_stage)
    };
    let [cool, warm, hot] = DAYS;
    Ok([fit(cool)?, fit(warm)?, fit(hot)?])
}

/// What to expect of eggs laid on a day.
pub fn expect(laid: Date) -> Vec<ExpectRow> {
    let clock = StageClock::monarch();
    let all = DAYS.map(|celsius| stage_dates(&clock, laid, &constant(celsius), Level::P95).ok());
    let [Some(cool), Some(warm), Some(hot)] = all else { return Vec::new() };
    let date = |reached: &Reached| match reached {
        Reached::On { date, .. } => Some(*date),
        Reached::NotBy { .. } => None,
    };
    let rows = cool.ends.iter().zip(&warm.ends).zip(&hot.ends);
    rows.map(|((cool, warm), hot)| ExpectRow {
        stage: cool.stage,
        ends: [date(&cool.typical), date(&warm.typical), date(&hot.typical)],
    })
    .collect()
}

/// Animals per hectare at a season's latest visit that has a mean of any stage, or at its last where none has, by the
/// latest count of host stems of that year; `None` without such a count, or where plants are checked by the clump.
pub fn hectare(site: &SiteState, season: &SeasonReport, level: Level) -> Option<Result<Hectare, Refusal>> {
    use chrono::Datelike;
    let of_year = site.host_counts.iter().filter(|told| told.what.date.naive().year() == season.year);
    let count = &of_year.max_by_key(|told| told.what.date)?.what;
    let has_mean = |visit: &&super::analysis::VisitReport| visit.cells.iter().any(|cell| mean(&cell.figure).is_some());
    let latest = season.visits.iter().rev().find(has_mean).or(season.visits.last());
    let visit = latest.filter(|_| season.unit == Unit::Stem)?;
    let belts: Vec<Belt> = count
        .belts
        .iter()
        .map(|belt| Belt {
            square_metres: belt.square_metres,
            stems: belt.stems.iter().fold(0, |sum: u32, (_, stems)| sum.saturating_add(*stems)),
        })
        .collect();
    let hosts = match hosts_per_hectare(&belts, level) {
        Ok(hosts) => hosts,
        Err(refusal) => return Some(Err(refusal)),
    };
    let rows = visit.cells.iter().map(|cell| {
        let figure = per_hectare(&hosts, mean(&cell.figure), level);
        (cell.stage, Figure::from(figure))
    });
    Some(Ok(Hectare { counted: count.date, visit: visit.date, rows: rows.collect(), hosts }))
}

/// The mean per unit, where there is one: below five animals there is none.
fn mean(figure: &Figure<season::Density>) -> Option<&Estimate> {
    match figure {
        Figure::Value(density) => match &density.shown {
            Shown::Mean(mean) => Some(mean),
            Shown::Occupancy(_) => None,
        },
        Figure::Refused(_) => None,
    }
}

/// Days that are so warm throughout, the whole year.
fn constant(celsius: f64) -> Temperatures {
    let days = (1..=12).zip(MONTHS).flat_map(|(month, days)| (1..=days).map(move |day| (month, day)));
    let day = Day::new(Celsius(celsius), Celsius(celsius));
    let normals: Normals = days.filter_map(|key| Some((key, day?))).collect();
    Temperatures::new(Weather::default(), Some(normals))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::analysis::report;
    use crate::report::invented;
    use crate::report::load::load_all;
    use survey::fold::Told;
    use survey::ids::EntryId;
    use survey::protocol::Host;
    use survey::site::HostCount;
    use survey::time::{OffsetMinutes, UnixMs};

    fn site_with_seasons() -> (SiteState, Vec<SeasonReport>) {
        let folder = tempfile::tempdir().unwrap();
        let store = invented::store(&invented::full(), &folder.path().join("station.sqlite"));
        let loaded = load_all(&store).unwrap().remove(0);
        let report = report(&loaded.site, &loaded.verified, Level::P95).unwrap();
        (loaded.site, report.seasons)
    }

    #[test]
    fn per_hectare_multiplies_stems_by_animals_and_carries_both_doubts() {
        let (mut site, seasons) = site_with_seasons();
        let season = seasons.iter().find(|season| season.unit == Unit::Stem).unwrap();
        assert!(hectare(&site, season, Level::P95).is_none(), "no stems were counted");
        let host = Host::Species("Asclepias syriaca".into());
        let belt = |stems| survey::site::Belt { square_metres: 100.0, stems: vec![(host.clone(), stems)] };
        let date = season.visits[0].date;
        let what = HostCount { date, belts: vec![belt(20), belt(10), belt(30), belt(0)] };
        let told = Told { entry: EntryId::from_octets([1; 16]), at: UnixMs(0), offset: OffsetMinutes(0), what };
        site.host_counts.push(told);
        let found = hectare(&site, season, Level::P95).unwrap().unwrap();
        // 60 stems on 400 square metres.
        assert!((found.hosts.value - 1500.0).abs() < 1e-9);
        let visit = season.visits.iter().find(|visit| visit.date == found.visit).unwrap();
        assert_eq!(found.rows.len(), visit.cells.len());
        assert!(
            found.rows.iter().any(|(_, figure)| matches!(figure, Figure::Value(_))),
            "a visit with a mean is taken"
        );
        for ((_, figure), cell) in found.rows.iter().zip(&visit.cells) {
            match (figure, &cell.figure) {
                (Figure::Value(own), Figure::Value(density)) => {
                    let mean = density.shown.estimate();
                    assert!((own.value - 1500.0 * mean.value).abs() < 1e-9);
                    let relative = |estimate: &Estimate| estimate.standard_error.map(|error| error / estimate.value);
                    assert!(relative(own) > relative(mean), "the stems add their doubt");
                }
                (Figure::Refused(_), _) => {}
                (Figure::Value(_), Figure::Refused(_)) => panic!("a figure per hectare without one per stem"),
            }
        }
    }

    /// Area ÷ duration by hand: trapezoids of the means per stem, and 45.0 degree-days at 13.5 a day for eggs.
    #[test]
    fn numbers_present_are_areas_over_durations() {
        let (_, seasons) = site_with_seasons();
        for season in seasons.iter().filter(|season| season.effort_is_known()) {
            let Ok(found) = passage(season) else { continue };
            assert!((found.rows[0].days - 45.0 / 13.5).abs() < 1e-9);
            let eggs: Vec<(f64, f64)> = season
                .visits
                .iter()
                .map(|visit| {
                    let cell = visit.cells.iter().find(|cell| cell.stage == Stage::Egg).unwrap();
                    let day = (visit.date.naive() - season.visits[0].date.naive()).num_days() as f64;
                    (day, cell.animals as f64 / visit.checked.unwrap() as f64)
                })
                .collect();
            let area: f64 = eggs.windows(2).map(|two| (two[1].0 - two[0].0) * (two[0].1 + two[1].1) / 2.0).sum();
            assert!((found.rows[0].present - area / (45.0 / 13.5)).abs() < 1e-9);
            assert!((found.ratio.value - found.rows[5].present / found.rows[0].present).abs() < 1e-12);
            return;
        }
        panic!("no season carried a passage");
    }

    /// Survivors that are expected of 200 eggs a stem, laid around the second visit, when three in four are lost on the way:
    /// the likelihood finds what the counts were made with.
    #[test]
    fn survival_is_found_again_in_counts_that_were_made_with_it() {
        let (_, seasons) = site_with_seasons();
        let mut season =
            seasons.into_iter().find(|season| season.visits.len() >= 4 && season.effort_is_known()).unwrap();
        let lasting = durations(&StageClock::monarch(), USUAL, Level::P95).unwrap();
        let days: Vec<f64> = lasting.iter().take(6).map(|stage| stage.days.value).collect();
        let entered = |stage: usize| days.iter().take(stage).sum::<f64>();
        let hazard = 4_f64.ln() / entered(5);
        let first = season.visits[0].date;
        for visit in &mut season.visits {
            let at = (visit.date.naive() - first.naive()).num_days() as f64;
            visit.checked = Some(1);
            for (stage, cell) in visit.cells.iter_mut().enumerate() {
                let age = |laid: f64| at - laid;
                let alive = |laid: f64| {
                    let inside = age(laid) >= entered(stage) && age(laid) < entered(stage + 1);
                    if inside { (-0.5 * ((laid - 7.0) / 4.0).powi(2) - hazard * age(laid)).exp() } else { 0.0 }
                };
                let sum: f64 = (-600..600).map(|tenth| 0.1 * alive(f64::from(tenth) / 10.0)).sum();
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "counts of a test")]
                let animals = (200.0 * sum).round() as u64;
                cell.animals = animals;
            }
        }
        let Survival::Estimated(found) = &survival(&season, Level::P95).unwrap()[1] else { panic!("not identified") };
        let interval = found.interval.as_ref().unwrap();
        assert!(interval.low < 0.25 && 0.25 < interval.high, "{found:?}");
        assert!((0.2..0.31).contains(&found.value), "{found:?}");
    }

    #[test]
    fn warmer_days_end_stages_earlier() {
        let rows = expect(Date::try_from("2026-06-01".to_owned()).unwrap());
        assert_eq!(rows[0].stage, Stage::Egg);
        assert!(rows.iter().all(|row| row.ends[0] >= row.ends[1] && row.ends[1] >= row.ends[2]));
        assert!(rows.windows(2).all(|two| two[0].ends[1] < two[1].ends[1]));
    }
}
