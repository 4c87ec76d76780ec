//! Rows of likelihoods and sizes, filled in for every outcome.

use super::{SUM_TOLERANCE, source, unknown};
use crate::density::{Reading, Spread, dyar};
use crate::fault::{Found, Reason};
use crate::key::{Character, KeyOutcome, Kind, Look, Table, state_in_cell};
use crate::names::OutcomeId;
use crate::raw::{RawCharacter, RawJoint, RawKey, RawLook, RawNumber, RawRow, RawSize};
use std::collections::BTreeSet;
use std::ops::Range;
use toml::Spanned;

/// Stands for every outcome that no other row names.
const REST: &str = "rest";

/// Cells by which a measure is looked ahead at: each 20 to 28 % wide for the monarch's measures, coarser than a ruler, so
/// that a sharp measure is held a little less useful than it is (our own choice, no source). Answers themselves are
/// weighed by the density, not by cells.
const CELLS: u32 = 24;

pub(super) fn looks(
    raw: &RawKey,
    one: &RawCharacter,
    kind: &Kind,
    outcomes: &[KeyOutcome],
    joint: bool,
    span: Range<usize>,
    found: &mut Found<'_>,
) -> Vec<Look> {
    let means: BTreeSet<_> = one.looks.iter().map(|look| look.get_ref().means).collect();
    if one.looks.is_empty() || means.len() < one.looks.len() || (joint && one.looks.len() != 1) {
        found.at(span, Reason::Looks(one.id.to_string()));
    }
    let mut looks = Vec::new();
    for spanned in &one.looks {
        let look = spanned.get_ref();
        source(raw, &look.source, spanned.span(), found);
        if !(look.seconds > 0.0 && look.seconds <= 600.0) {
            found.at(spanned.span(), number_fault("the cost in seconds", look.seconds));
        }
        let table = match kind {
            Kind::States(_) if joint => Some(Table::States { p: Vec::new(), sources: Vec::new() }),
            Kind::States(states) => rows(raw, &look.rows, states.len(), outcomes, &spanned.span(), found)
                .map(|(p, sources)| Table::States { p, sources }),
            Kind::Number { least, most, spreads, .. } => {
                reading(look, *least, *most, spanned.span(), found).map(|reading| cells(reading, spreads))
            }
        };
        if let Some(table) = table {
            looks.push(Look { means: look.means, seconds: look.seconds, source: look.source.clone(), table });
        }
    }
    looks
}

type Filled = (Vec<Vec<f64>>, Vec<String>);

/// `p[state][outcome]` and the source by outcome.
fn rows(
    raw: &RawKey,
    rows: &[Spanned<RawRow>],
    width: usize,
    outcomes: &[KeyOutcome],
    span: &Range<usize>,
    found: &mut Found<'_>,
) -> Option<Filled> {
    for spanned in rows {
        let row = spanned.get_ref();
        source(raw, &row.source, spanned.span(), found);
        if row.p.len() != width {
            found.at(spanned.span(), Reason::Width { expected: width, found: row.p.len() });
        }
        for p in row.p.iter().filter(|p| !(**p > 0.0 && **p < 1.0)) {
            found.at(spanned.span(), Reason::ZeroOrOne(p.to_string()));
        }
        let sum: f64 = row.p.iter().sum();
        if (sum - 1.0).abs() > SUM_TOLERANCE {
            found.at(spanned.span(), Reason::Sum(format!("{sum:.6}")));
        }
    }
    let by_outcome = spread_over(rows, |row| &row.outcomes, outcomes, span, found)?;
    let sound = by_outcome.iter().all(|row| row.p.len() == width);
    sound.then(|| {
        let p = (0..width).map(|state| by_outcome.iter().map(|row| row.p[state]).collect()).collect();
        (p, by_outcome.iter().map(|row| row.source.clone()).collect())
    })
}

/// The row of each outcome: the one that names it, or else the one for the rest.
fn spread_over<'r, R>(
    rows: &'r [Spanned<R>],
    names: impl Fn(&R) -> &[OutcomeId],
    outcomes: &[KeyOutcome],
    span: &Range<usize>,
    found: &mut Found<'_>,
) -> Option<Vec<&'r R>> {
    let mut by_outcome: Vec<Option<&R>> = vec![None; outcomes.len()];
    let mut rest = None;
    for row in rows {
        for name in names(row.get_ref()) {
            if name.as_str() == REST {
                if rest.replace(row.get_ref()).is_some() {
                    found.at(row.span(), Reason::Twice(REST.to_owned()));
                }
                continue;
            }
            match outcomes.iter().position(|outcome| outcome.id == *name) {
                None => found.at(row.span(), unknown("outcome", name.as_str())),
                Some(place) if by_outcome[place].is_some() => found.at(row.span(), Reason::Twice(name.to_string())),
                Some(place) => by_outcome[place] = Some(row.get_ref()),
            }
        }
    }
    let filled: Vec<_> = by_outcome.into_iter().map(|row| row.or(rest)).collect();
    if let Some(place) = filled.iter().position(Option::is_none) {
        found.at(span.clone(), Reason::OutcomeMissing(outcomes[place].id.to_string()));
    }
    filled.into_iter().collect()
}

pub(super) fn number(
    raw: &RawKey,
    number: &RawNumber,
    outcomes: &[KeyOutcome],
    span: Range<usize>,
    found: &mut Found<'_>,
) -> Option<Kind> {
    if !(number.least > 0.0 && number.most > number.least && number.most.is_finite()) {
        found.at(span, number_fault("the range", number.least));
        return None;
    }
    if let Some(dyar) = &number.dyar {
        source(raw, &dyar.source, span.clone(), found);
        let positive = [dyar.first, dyar.ratio, dyar.spread].iter().all(|one| *one > 0.0 && one.is_finite());
        if !positive {
            found.at(span.clone(), number_fault("a number of Dyar's rule", dyar.first));
        }
    }
    for size in &number.sizes {
        source(raw, &size.get_ref().source, size.span(), found);
        if spread(number, size.get_ref()).is_none() {
            found.at(size.span(), number_fault("a size", size.get_ref().from.unwrap_or(f64::NAN)));
        }
    }
    let sizes = spread_over(&number.sizes, |size| &size.outcomes, outcomes, &span, found)?;
    let spreads =
        sizes.into_iter().map(|size| Some((spread(number, size)?, size.source.clone()))).collect::<Option<_>>();
    Some(Kind::Number { unit: number.unit, least: number.least, most: number.most, spreads: spreads? })
}

fn spread(number: &RawNumber, size: &RawSize) -> Option<Spread> {
    let inside = |value: f64| value >= number.least && value <= number.most;
    match (size.from, size.to, size.about, size.spread, size.instar, size.broad) {
        (Some(from), Some(to), None, None, None, None) if from < to && inside(from) && inside(to) => {
            Some(Spread::Growing { from, to })
        }
        (None, None, Some(middle), Some(spread), None, None) if inside(middle) && spread > 0.0 => {
            Some(Spread::About { middle, spread })
        }
        (None, None, None, None, Some(instar), None) => {
            let rule = number.dyar.as_ref()?;
            let middle = dyar(rule.first, rule.ratio, instar);
            inside(middle).then_some(Spread::About { middle, spread: rule.spread })
        }
        (None, None, None, None, None, Some(true)) => Some(Spread::Broad),
        _ => None,
    }
}

/// The least share of readings that say nothing: no measure may decide by itself.
const LEAST_SLIP: f64 = 0.02;

fn reading(look: &RawLook, least: f64, most: f64, span: Range<usize>, found: &mut Found<'_>) -> Option<Reading> {
    let (error, slip) = (look.error.unwrap_or(f64::NAN), look.slip.unwrap_or(f64::NAN));
    if !(error > 0.0 && error < 1.0) {
        found.at(span, number_fault("the error", error));
        return None;
    }
    if !(LEAST_SLIP..1.0).contains(&slip) {
        found.at(span, number_fault("the slip, which is 0.02 or more,", slip));
        return None;
    }
    Some(Reading { least, most, error, slip })
}

fn cells(reading: Reading, spreads: &[(Spread, String)]) -> Table {
    let width = (reading.most / reading.least).ln() / f64::from(CELLS);
    let middles: Vec<f64> = (0..CELLS).map(|cell| reading.least * ((f64::from(cell) + 0.5) * width).exp()).collect();
    let mut cells: Vec<Vec<f64>> = middles
        .iter()
        .map(|middle| spreads.iter().map(|(spread, _)| reading.density(*spread, *middle, 0.0)).collect())
        .collect();
    for outcome in 0..spreads.len() {
        let sum: f64 = cells.iter().map(|row| row[outcome]).sum();
        for row in &mut cells {
            row[outcome] /= sum;
        }
    }
    Table::Number { reading, middles, cells }
}

/// The joint table of a group; the tables of its members become its margins.
pub(super) fn joint(
    raw: &RawKey,
    joint: &RawJoint,
    members: &[usize],
    characters: &mut [Character],
    outcomes: &[KeyOutcome],
    span: &Range<usize>,
    found: &mut Found<'_>,
) -> Option<Vec<Vec<f64>>> {
    let sizes: Vec<usize> = members.iter().map(|place| characters[*place].states().len()).collect();
    let (cells, sources) = rows(raw, &joint.rows, sizes.iter().product(), outcomes, span, found)?;
    for (nth, place) in members.iter().enumerate() {
        let character = &mut characters[*place];
        if character.looks.first().is_none_or(|look| look.means != joint.means) {
            found.at(span.clone(), Reason::Looks(character.id.to_string()));
            return None;
        }
        let mut p = vec![vec![0.0; outcomes.len()]; sizes[nth]];
        for (cell, row) in cells.iter().enumerate() {
            let state = state_in_cell(&sizes, nth, cell);
            p[state].iter_mut().zip(row).for_each(|(sum, one)| *sum += one);
        }
        character.looks[0].table = Table::States { p, sources: sources.clone() };
    }
    Some(cells)
}

fn number_fault(what: &'static str, value: f64) -> Reason {
    Reason::Number { what, value: value.to_string() }
}
