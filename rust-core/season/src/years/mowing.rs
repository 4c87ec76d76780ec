//! Which day for mowing costs least.

use super::id;
use crate::numeric::{all_finite, at_least, none_negative};
use crate::passage::Development;
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;

/// Density per hectare with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LivingMean {
    /// Living animals per hectare.
    pub value: f64,
    /// Standard error; 0 where unknown.
    pub error: f64,
}

/// What a visit found, by stage from egg to the last larva.
#[derive(Debug, Clone, PartialEq)]
pub struct MowingVisit {
    /// Day of the visit.
    pub day: f64,
    /// Per hectare, by stage.
    pub stages: Vec<LivingMean>,
}

/// What is assumed of eggs to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Laying {
    /// None.
    Nothing,
    /// As in the last two weeks.
    GoesOn,
}

/// A cut to be ranked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Its day, today or later.
    pub day: f64,
    /// Share of the patch that is cut, above 0 to 1.
    pub share: f64,
}

/// What is known for ranking.
#[derive(Debug, Clone, PartialEq)]
pub struct Mowing {
    /// Today.
    pub today: f64,
    /// Visits so far; the last three are used.
    pub visits: Vec<MowingVisit>,
    /// Development over days, from the first visit used to the last cut.
    pub clock: Development,
    /// Development each stage takes.
    pub widths: Vec<f64>,
    /// Daily mortality of each stage; `None`: before losses.
    pub mortality: Option<Vec<f64>>,
    /// Eggs to come.
    pub laying: Laying,
}

/// A cut with what it would cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RankedCut {
    /// Its day.
    pub day: f64,
    /// Share of the patch.
    pub share: f64,
    /// Living immatures on the plants cut, per hectare of the whole patch.
    pub expected: Estimate,
    /// Share of the immatures present today that will have left as pupae by then, of those that live.
    pub left_by_then: f64,
}

/// A visit has to be no older.
const LATEST_VISIT: f64 = 8.0;
/// Visits used.
const VISITS: usize = 3;
/// Days over which laying is taken.
const TWO_WEEKS: f64 = 14.0;
/// Parts a stage is cut into by age.
const SLICES: u32 = 200;

/// Cuts in order of living immatures per hectare that they would meet, the least first; it never calls one harmless.
///
/// Each of the last three visits spreads its animals of a stage evenly over the ages of the stage, and the clock carries
/// them to the day of the cut, less daily losses where stated; an age that several visits could know of takes the mean
/// of them, each visit knowing only animals laid before it. Eggs to come: none, or each day as many as the visits of the
/// last two weeks had in the egg stage ÷ its duration then. Interval: lognormal, from the visits' standard errors alone;
/// doubt about weather and clock is not in it, for which ranking with clocks 2 °C warmer and cooler is to be shown too.
///
/// Unit: animals per hectare. Domain: a visit in the last 8 days; cuts from today to the end of the clock.
///
/// Source: this project's own use of the stage clock.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] without a visit in 8 days, for visits after today,
/// cuts out of range, or lists of another length.
pub fn mowing(state: &Mowing, cuts: &[Cut], level: Level) -> Result<Vec<RankedCut>, Refusal> {
    let visits = check(state, cuts)?;
    let now = Standing::on(state.today);
    let present = now.expected(state, &visits);
    let mut ranked = cuts
        .iter()
        .map(|cut| {
            let then = Standing::on(cut.day);
            let (value, variance) = then.expected(state, &visits);
            let expected = Estimate::plain(value * cut.share, visits.len(), id::MOWING)
                .sound()?
                .assuming([id::ASSUMED_EVEN_AGES, id::ASSUMED_WEATHER_TO_COME, crate::id::ASSUMED_ALL_SEEN])
                .assuming([match state.laying {
                    Laying::Nothing => id::ASSUMED_NO_NEW_LAYING,
                    Laying::GoesOn => id::ASSUMED_LAYING_GOES_ON,
                }])
                .assuming(state.mortality.is_none().then_some(id::ASSUMED_BEFORE_LOSSES));
            let expected = with_interval(expected, variance.sqrt() * cut.share, level);
            Ok(RankedCut {
                day: cut.day,
                share: cut.share,
                expected,
                left_by_then: left(state, &visits, present.0, cut.day),
            })
        })
        .collect::<Result<Vec<_>, Refusal>>()?;
    ranked
        .sort_by(|one, other| one.expected.value.total_cmp(&other.expected.value).then(one.day.total_cmp(&other.day)));
    Ok(ranked)
}

fn with_interval(expected: Estimate, error: f64, level: Level) -> Estimate {
    if expected.value <= 0.0 || error <= 0.0 {
        return expected.assuming([crate::aggregation::id::ASSUMED_NO_INTERVAL]);
    }
    let cv = error / expected.value;
    let reach = (quantile::normal(1.0 - level.alpha() / 2.0) * (cv * cv).ln_1p().sqrt()).exp();
    let interval = Interval::both(expected.value / reach, expected.value * reach, level);
    expected.with_error(error).with_interval(interval)
}

/// Share of today's immatures that have left by a day, losses aside.
fn left(state: &Mowing, visits: &[&MowingVisit], present: f64, day: f64) -> f64 {
    if present <= 0.0 {
        return 0.0;
    }
    let plain = Mowing { laying: Laying::Nothing, mortality: None, ..state.clone() };
    let of = |day: f64| Standing { laid_by: Some(state.today), ..Standing::on(day) };
    let (start, later) = (of(state.today).expected(&plain, visits).0, of(day).expected(&plain, visits).0);
    if start > 0.0 { (1.0 - later / start).clamp(0.0, 1.0) } else { 0.0 }
}

fn check<'a>(state: &'a Mowing, cuts: &[Cut]) -> Result<Vec<&'a MowingVisit>, Refusal> {
    at_least(cuts.len(), 1)?;
    all_finite([&state.today])?;
    all_finite(cuts.iter().flat_map(|cut| [&cut.day, &cut.share]))?;
    let stages = state.widths.len();
    let shaped = stages >= 1
        && state.widths.iter().all(|width| width.is_finite() && *width > 0.0)
        && state.visits.iter().all(|visit| visit.stages.len() == stages)
        && state.mortality.as_ref().is_none_or(|hazards| hazards.len() == stages);
    if !shaped {
        return Err(Refusal::NotMet(id::REFUSED_SHAPE));
    }
    none_negative(state.visits.iter().flat_map(|visit| &visit.stages).flat_map(|mean| [&mean.value, &mean.error]))?;
    none_negative(state.mortality.iter().flatten())?;
    all_finite(state.visits.iter().map(|visit| &visit.day))?;
    let mut visits: Vec<&MowingVisit> = state.visits.iter().collect();
    visits.sort_by(|one, other| other.day.total_cmp(&one.day));
    if visits.first().is_some_and(|visit| visit.day > state.today) {
        return Err(Refusal::NotMet(id::REFUSED_VISIT_AFTER_TODAY));
    }
    if visits.first().is_none_or(|visit| state.today - visit.day > LATEST_VISIT) {
        return Err(Refusal::NotMet(id::REFUSED_NO_RECENT_VISIT));
    }
    visits.truncate(VISITS);
    if visits.windows(2).any(|pair| pair[0].day <= pair[1].day) {
        return Err(Refusal::SameDay { day: visits[0].day });
    }
    let possible =
        |cut: &Cut| cut.day >= state.today && state.clock.covers(cut.day) && cut.share > 0.0 && cut.share <= 1.0;
    if !cuts.iter().all(possible) || !visits.iter().all(|visit| state.clock.covers(visit.day)) {
        return Err(Refusal::NotMet(id::REFUSED_CUT_OUT_OF_RANGE));
    }
    Ok(visits)
}

/// How each visit's stages and the eggs to come count for one day.
struct Standing {
    day: f64,
    /// Animals laid after this day do not count.
    laid_by: Option<f64>,
}

impl Standing {
    const fn on(day: f64) -> Self {
        Self { day, laid_by: None }
    }

    /// Expected living immatures and their variance.
    fn expected(&self, state: &Mowing, visits: &[&MowingVisit]) -> (f64, f64) {
        let at = state.clock.at(self.day);
        let total: f64 = state.widths.iter().sum();
        let grown: Vec<f64> = visits.iter().map(|visit| at - state.clock.at(visit.day)).collect();
        let laid_by = self.laid_by.map_or(0.0, |day| at - state.clock.at(day));
        let mut weights = vec![vec![0.0; state.widths.len()]; visits.len()];
        for (index, visit) in visits.iter().enumerate() {
            let mut from = 0.0;
            for (own, &width) in state.widths.iter().enumerate() {
                for part in 0..SLICES {
                    let before = from + width * (f64::from(part) + 0.5) / f64::from(SLICES);
                    let age = before + grown[index];
                    if age >= total || age < laid_by {
                        continue;
                    }
                    let know = grown.iter().filter(|&&since| age >= since).count();
                    let alive = self.alive(state, visit.day, before, age);
                    weights[index][own] += alive / f64::from(SLICES) / know as f64;
                }
                from += width;
            }
        }
        self.add_eggs_to_come(state, visits, total, &mut weights);
        let (mut value, mut variance) = (0.0, 0.0);
        for (visit, row) in visits.iter().zip(&weights) {
            for (mean, weight) in visit.stages.iter().zip(row) {
                value += weight * mean.value;
                variance += (weight * mean.error).powi(2);
            }
        }
        (value, variance)
    }

    /// Eggs laid after the latest visit, as a multiple of the eggs the visits of two weeks saw.
    fn add_eggs_to_come(&self, state: &Mowing, visits: &[&MowingVisit], total: f64, weights: &mut [Vec<f64>]) {
        let newest = visits[0].day;
        if state.laying == Laying::Nothing || self.day <= newest {
            return;
        }
        let recent = visits.iter().filter(|visit| visit.day >= state.today - TWO_WEEKS).count();
        let grown = (state.clock.at(self.day) - state.clock.at(newest)).min(total);
        let rate = state.clock.rate(newest, self.day);
        if rate <= 0.0 || grown <= 0.0 {
            return;
        }
        // Laid evenly over the days since the latest visit: ages from 0 to `grown`.
        let days = grown / rate;
        let alive: f64 = (0..SLICES)
            .map(|part| self.alive(state, newest, 0.0, grown * (f64::from(part) + 0.5) / f64::from(SLICES)))
            .sum::<f64>()
            / f64::from(SLICES);
        for (row, visit) in weights.iter_mut().zip(visits).filter(|(_, visit)| visit.day >= state.today - TWO_WEEKS) {
            let own_rate = daily_rate(state, visit.day).unwrap_or(rate);
            row[0] += days * alive * own_rate / state.widths[0] / recent as f64;
        }
    }

    /// Share alive after development from one age to another, at the mean pace since a visit.
    fn alive(&self, state: &Mowing, since: f64, from: f64, to: f64) -> f64 {
        let Some(hazards) = &state.mortality else { return 1.0 };
        let pace = if self.day > since { state.clock.rate(since, self.day) } else { 0.0 };
        if pace <= 0.0 {
            return 1.0;
        }
        let mut start = 0.0;
        let mut lost = 0.0;
        for (width, hazard) in state.widths.iter().zip(hazards) {
            let within = (to.min(start + width) - from.max(start)).max(0.0);
            lost += within / pace * hazard;
            start += width;
        }
        (-lost).exp()
    }
}

/// Development per day around a visit: over the three days before it, or after where the clock begins there.
fn daily_rate(state: &Mowing, day: f64) -> Option<f64> {
    let (from, to) = if state.clock.covers(day - 3.0) { (day - 3.0, day) } else { (day, day + 3.0) };
    let rate = state.clock.rate(from, to);
    (state.clock.covers(to) && rate > 0.0).then_some(rate)
}
