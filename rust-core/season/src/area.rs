//! Area under a season's curve.

use crate::estimate::{Estimate, Interval, Level, Sides};
use crate::sample::{Choice, Counted, Group, SiteSeason, VisitSample};
use crate::{FEWEST_FOR_A_MEAN, MessageId, Refusal, id, mean_per_unit, quantile};

/// A value on a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Day number, whole or not; any start.
    pub day: f64,
    /// The value on that day, 0 or more.
    pub value: f64,
}

/// What the curve is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AreaOf {
    /// Sample totals: comparable only where effort is the same at each visit.
    Totals,
    /// Means per unit of check.
    Means,
}

/// Area under straight lines from point to point.
///
/// Area = sum over neighbouring points of (later day − earlier day) × (one value + the other) ÷ 2. Days need not be
/// whole nor equally spaced; points may come in any order. Nothing is added before the first day or after the last.
///
/// Unit: that of the values × days. Domain: at least two points on different days, values finite and 0 or more.
///
/// Source: the trapezoid rule as used for areas under stage-frequency curves, Southwood TRE, Henderson PA (2000)
/// Ecological Methods, 3rd ed., Blackwell, chapter 10.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::SameDay`], [`Refusal::NotANumber`].
pub fn trapezoid(points: &[Point]) -> Result<f64, Refusal> {
    let points = in_order(points)?;
    Ok(points.iter().zip(weights(&points)).map(|(point, weight)| point.value * weight).sum())
}

/// Area under a group's curve over a season, by [`trapezoid`] over days.
///
/// Visits that did not look for the group are passed over. For means per unit the standard error is the root of the
/// summed squares of weight × standard error of each visit ([`mean_per_unit`]), a visit's weight being half the days
/// between its neighbours, and the interval is area ± normal quantile × standard error, no lower than 0. Sample totals
/// have no interval, nor have tagged plants (the same at each visit), pooled totals, or fewer than
/// [`FEWEST_FOR_A_MEAN`] animals in all. Undecided things are left out.
///
/// Unit: animal-days in the sample, or animal-days per unit of check. It is no number of animals that passed through.
///
/// # Errors
/// Those of [`trapezoid`]; [`Refusal::OutOfScope`] where no visit looked for the group; [`Refusal::UnknownEffort`] and
/// [`Refusal::Nothing`] for means where a visit's effort is unknown or nothing was checked.
pub fn area_under_curve(season: &SiteSeason, group: Group, of: AreaOf, level: Level) -> Result<Estimate, Refusal> {
    let visits: Vec<(&VisitSample, u64)> =
        season.visits().iter().filter_map(|visit| Some((visit, visit.total(group)?))).collect();
    if visits.is_empty() {
        return Err(Refusal::OutOfScope);
    }
    let points = visits
        .iter()
        .map(|&(visit, total)| Ok(Point { day: season.day(visit.date), value: value(visit, total, of)? }))
        .collect::<Result<Vec<_>, Refusal>>()?;
    let area = trapezoid(&points)?;
    let (standard_error, why) = match of {
        AreaOf::Totals => (None, effort_assumed(season)),
        AreaOf::Means => standard_error(&visits, group, &weights(&points), level),
    };
    let interval = standard_error.map(|error| {
        let reach = quantile::normal(1.0 - level.alpha() / 2.0) * error;
        Interval { low: (area - reach).max(0.0), high: area + reach, level, sides: Sides::Both }
    });
    let choices = visits.iter().flat_map(|(visit, _)| visit.choice_assumes().iter().copied());
    Ok(Estimate {
        value: area,
        standard_error,
        interval,
        n: visits.len() as u64,
        method: id::TRAPEZOID_AREA,
        assumed: vec![id::ASSUMED_STRAIGHT_BETWEEN_VISITS, id::ASSUMED_ALL_SEEN],
    }
    .assuming(choices)
    .assuming(why))
}

fn value(visit: &VisitSample, total: u64, of: AreaOf) -> Result<f64, Refusal> {
    match (of, visit.checked()) {
        (AreaOf::Totals, _) => Ok(total as f64),
        (AreaOf::Means, None) => Err(Refusal::UnknownEffort),
        (AreaOf::Means, Some(0)) => Err(Refusal::Nothing),
        (AreaOf::Means, Some(checked)) => Ok(total as f64 / checked as f64),
    }
}

fn effort_assumed(season: &SiteSeason) -> Vec<MessageId> {
    if season.effort_is_known() {
        vec![id::ASSUMED_SAMPLE_ONLY]
    } else {
        vec![id::ASSUMED_SAMPLE_ONLY, id::ASSUMED_EQUAL_EFFORT]
    }
}

fn standard_error(
    visits: &[(&VisitSample, u64)],
    group: Group,
    weights: &[f64],
    level: Level,
) -> (Option<f64>, Vec<MessageId>) {
    if visits.iter().any(|(visit, _)| visit.choice == Choice::Tagged) {
        return (None, vec![id::ASSUMED_SAME_PLANTS_NO_INTERVAL]);
    }
    if visits.iter().map(|(_, total)| total).sum::<u64>() < FEWEST_FOR_A_MEAN {
        return (None, vec![id::ASSUMED_SAMPLE_ONLY]);
    }
    let mut variance = 0.0;
    let mut why = vec![id::ASSUMED_VISITS_INDEPENDENT];
    for ((visit, total), weight) in visits.iter().zip(weights) {
        let Counted::Units(units) = &visit.counted else {
            return (None, vec![id::ASSUMED_POOLED_NO_VARIANCE]);
        };
        if *total == 0 {
            why.push(id::ASSUMED_ZERO_VISITS_EXACT);
            continue;
        }
        let counts: Vec<u32> =
            units.iter().map(|unit| u32::try_from(unit.certain(group)).unwrap_or(u32::MAX)).collect();
        match mean_per_unit(&counts, None, level).map(|mean| mean.standard_error) {
            Ok(Some(error)) => variance += (weight * error).powi(2),
            Ok(None) | Err(_) => return (None, vec![id::ASSUMED_EQUAL_COUNTS_NO_VARIANCE]),
        }
    }
    (Some(variance.sqrt()), why)
}

/// Half the days from the earlier to the later neighbour, for each of the points in order of day.
fn weights(points: &[Point]) -> Vec<f64> {
    let day = |index: usize| points[index].day;
    let last = points.len() - 1;
    (0..=last).map(|index| (day((index + 1).min(last)) - day(index.saturating_sub(1))) / 2.0).collect()
}

fn in_order(points: &[Point]) -> Result<Vec<Point>, Refusal> {
    if points.iter().any(|point| !point.day.is_finite() || !point.value.is_finite() || point.value < 0.0) {
        return Err(Refusal::NotANumber);
    }
    if points.len() < 2 {
        return Err(Refusal::TooFew { have: points.len() as u64, need: 2 });
    }
    let mut points = points.to_vec();
    points.sort_by(|one, other| one.day.total_cmp(&other.day));
    match points.windows(2).find(|pair| pair[0].day >= pair[1].day) {
        Some(pair) => Err(Refusal::SameDay { day: pair[0].day }),
        None => Ok(points),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_no_curve_is_refused() {
        let point = |day, value| Point { day, value };
        assert_eq!(trapezoid(&[]), Err(Refusal::TooFew { have: 0, need: 2 }));
        assert_eq!(trapezoid(&[point(1.0, 3.0)]), Err(Refusal::TooFew { have: 1, need: 2 }));
        assert_eq!(trapezoid(&[point(1.0, 3.0), point(1.0, 2.0)]), Err(Refusal::SameDay { day: 1.0 }));
        for value in [f64::NAN, f64::INFINITY, -1.0] {
            assert_eq!(trapezoid(&[point(1.0, value), point(2.0, 0.0)]), Err(Refusal::NotANumber));
        }
    }

    /// A triangle: half of base × height.
    #[test]
    fn fractional_and_unequal_days() {
        let points = [(0.0, 0.0), (2.25, 8.0), (10.5, 0.0)].map(|(day, value)| Point { day, value });
        assert!((trapezoid(&points).unwrap() - 42.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn areas_add_up_at_any_visit_and_in_any_order(
            values in prop::collection::vec((0.01_f64..20.0, 0.0_f64..500.0), 3..30),
            cut in 1_usize..28,
        ) {
            let mut day = 0.0;
            let points: Vec<Point> = values
                .into_iter()
                .map(|(step, value)| { day += step; Point { day, value } })
                .collect();
            let cut = 1 + cut % (points.len() - 2);
            let whole = trapezoid(&points).unwrap();
            let parts = trapezoid(&points[..=cut]).unwrap() + trapezoid(&points[cut..]).unwrap();
            prop_assert!((whole - parts).abs() <= 1e-9 * whole.max(1.0));
            let mut backwards = points;
            backwards.reverse();
            prop_assert!((trapezoid(&backwards).unwrap() - whole).abs() <= 1e-12 * whole.max(1.0));
        }
    }
}
