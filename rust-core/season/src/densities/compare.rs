//! Ratio of densities between years, sites or treatments.

use super::{Bootstrap, Watch, id};
use crate::numeric::{Dice, Family, alpha_by_likelihood, glm, normal_above, quantile_of};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;
use std::collections::BTreeSet;

/// One visit's total of whole checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// Animals found.
    pub animals: u32,
    /// Units checked, at least 1.
    pub effort: u32,
    /// The site, numbered.
    pub site: u32,
    /// The week of the season, numbered, for differences by date.
    pub week: u32,
    /// On which side of the comparison: 0 is compared with, 1 is compared.
    pub side: Side,
    /// Before or after the change; only [`Contrast::BeforeAfterControlImpact`] looks at it.
    pub period: Period,
}

/// A side of the comparison: year, site or treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// What is compared with, or the control.
    Reference,
    /// What is compared, or the changed one.
    Compared,
}

/// Before or after a change such as a cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Period {
    /// Before it.
    Before,
    /// After it.
    After,
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contrast {
    /// Density of the compared side ÷ that of the reference.
    Sides,
    /// How the ratio of the sides changed from before to after.
    BeforeAfterControlImpact,
}

/// A ratio of densities.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The ratio; 1 is no difference.
    pub ratio: Estimate,
    /// k of the counts per visit, `None` where they scatter no more than by chance.
    pub k: Option<f64>,
    /// What was resampled: sites, or visits where there is one site.
    pub clusters: u64,
}

/// With fewer clusters no interval is given.
const FEWEST_CLUSTERS: usize = 3;
/// Below this many the interval is called rough.
const FEW_CLUSTERS: usize = 10;
/// Resamples that must have a value.
const FEWEST_RESAMPLES: usize = 100;

/// Ratio of densities from a negative binomial regression of visit totals.
///
/// ln of the expected animals = ln effort + side (+ period + side × period) + a term for each site + a term for each
/// week. Site terms stand only where the contrast lies within sites, week terms only where it does not coincide with
/// weeks; what was left out is said. Value = e^coefficient of the contrast. The interval resamples whole sites, k kept;
/// where there is one site it resamples visits and is about that site alone. Percentiles are widened for few clusters:
/// the tail is Φ(−√(n ÷ (n − 1)) × t quantile with n − 1 degrees).
///
/// Unit: none. Domain: visits of the same unit of check on both sides, at least one animal on each (in each of the four
/// cells for before-after). No interval with fewer than three clusters.
///
/// Sources: Hilbe JM (2011) Negative Binomial Regression, 2nd ed.; cluster bootstrap Field CA, Welsh AH (2007) J. R.
/// Stat. Soc. B 69:369-390; widening Hesterberg TC (2015) Am. Stat. 69:371-386; before-after control-impact
/// Stewart-Oaten A, Murdoch WW, Parker KR (1986) Ecology 67:929-940.
///
/// # Errors
/// [`Refusal::TooFew`] below five animals in all; [`Refusal::NotMet`] for a side without visits or animals, a visit without effort, a contrast that cannot be told
/// from the other terms, or if `watch` stopped the work.
pub fn compare(
    rows: &[Row],
    contrast: Contrast,
    how: Bootstrap,
    level: Level,
    watch: Watch<'_>,
) -> Result<Comparison, Refusal> {
    check(rows, contrast)?;
    super::enough(rows.iter().map(|row| u64::from(row.animals)).sum())?;
    let terms = Terms::of(rows, contrast);
    let (design, counts, offsets) = terms.design(rows);
    let alpha = alpha_by_likelihood(&design, &counts, &offsets);
    let family = alpha.map_or(Family::Poisson, Family::Clumped);
    let log_ratio = terms.log_ratio(rows, family).ok_or(Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED))?;
    let sites: BTreeSet<u32> = rows.iter().map(|row| row.site).collect();
    let clusters: Vec<Vec<Row>> = if sites.len() == 1 {
        rows.iter().map(|row| vec![*row]).collect()
    } else {
        sites.iter().map(|site| rows.iter().copied().filter(|row| row.site == *site).collect()).collect()
    };
    let method = match contrast {
        Contrast::Sides => id::RATIO_OF_DENSITIES,
        Contrast::BeforeAfterControlImpact => id::BEFORE_AFTER_CONTROL_IMPACT,
    };
    let n = clusters.len();
    let value = Estimate::plain(log_ratio.exp(), rows.len(), method)
        .sound()?
        .assuming([crate::id::ASSUMED_ALL_SEEN])
        .assuming([if terms.sites { id::ASSUMED_SITE_TERMS } else { id::ASSUMED_NO_SITE_TERMS }])
        .assuming([if terms.weeks { id::ASSUMED_WEEK_TERMS } else { id::ASSUMED_NO_WEEK_TERMS }])
        .assuming((sites.len() == 1).then_some(id::ASSUMED_ABOUT_ONE_SITE))
        .assuming((n < FEW_CLUSTERS).then_some(id::ASSUMED_FEW_CLUSTERS));
    let k = alpha.map(|alpha| 1.0 / alpha);
    if n < FEWEST_CLUSTERS {
        return Ok(Comparison { ratio: value, k, clusters: n as u64 });
    }
    let drawn = resample(&clusters, terms, family, how, watch)?;
    let ratio = if drawn.len() < FEWEST_RESAMPLES { value } else { with_interval(value, &drawn, n, level)? };
    Ok(Comparison { ratio, k, clusters: n as u64 })
}

fn with_interval(value: Estimate, drawn: &[f64], clusters: usize, level: Level) -> Result<Estimate, Refusal> {
    let n = clusters as f64;
    let reach = (n / (n - 1.0)).sqrt() * quantile::t(n - 1.0, 1.0 - level.alpha() / 2.0)?;
    let tail = normal_above(reach);
    let (low, high) = (quantile_of(drawn, tail).exp(), quantile_of(drawn, 1.0 - tail).exp());
    Ok(value.with_interval(Interval::both(low, high, level)).assuming([id::ASSUMED_RESAMPLED_UNITS]))
}

fn resample(
    clusters: &[Vec<Row>],
    terms: Terms,
    family: Family,
    how: Bootstrap,
    watch: Watch<'_>,
) -> Result<Vec<f64>, Refusal> {
    let mut dice = Dice::new(how.seed);
    let mut drawn = Vec::new();
    for done in 0..how.resamples {
        let rows: Vec<Row> =
            (0..clusters.len()).flat_map(|_| clusters[dice.below(clusters.len())].iter().copied()).collect();
        if check(&rows, terms.contrast).is_ok() {
            drawn.extend(terms.log_ratio(&rows, family).filter(|value| value.is_finite()));
        }
        if done % 100 == 99 && watch(done + 1).is_break() {
            return Err(Refusal::NotMet(id::REFUSED_STOPPED));
        }
    }
    drawn.sort_by(f64::total_cmp);
    Ok(drawn)
}

fn check(rows: &[Row], contrast: Contrast) -> Result<(), Refusal> {
    if rows.iter().any(|row| row.effort == 0) {
        return Err(Refusal::NotMet(id::REFUSED_NO_EFFORT));
    }
    let cells: &[(Side, Option<Period>)] = match contrast {
        Contrast::Sides => &[(Side::Reference, None), (Side::Compared, None)],
        Contrast::BeforeAfterControlImpact => &[
            (Side::Reference, Some(Period::Before)),
            (Side::Reference, Some(Period::After)),
            (Side::Compared, Some(Period::Before)),
            (Side::Compared, Some(Period::After)),
        ],
    };
    for (side, period) in cells {
        let mut cell =
            rows.iter().filter(|row| row.side == *side && period.is_none_or(|period| row.period == period)).peekable();
        if cell.peek().is_none() {
            return Err(Refusal::NotMet(id::REFUSED_SIDE_WITHOUT_VISITS));
        }
        if cell.all(|row| row.animals == 0) {
            return Err(Refusal::NotMet(id::REFUSED_SIDE_WITHOUT_ANIMALS));
        }
    }
    Ok(())
}

#[derive(Debug, Clone, Copy)]
struct Terms {
    contrast: Contrast,
    sites: bool,
    weeks: bool,
}

impl Terms {
    /// Site and week terms as far as the contrast can be told from them.
    fn of(rows: &[Row], contrast: Contrast) -> Self {
        let plain = Self { contrast, sites: false, weeks: false };
        let with = |terms: Self| terms.told_apart(rows).then_some(terms);
        let sites = with(Self { sites: true, ..plain }).unwrap_or(plain);
        with(Self { weeks: true, ..sites }).unwrap_or(sites)
    }

    fn told_apart(self, rows: &[Row]) -> bool {
        let mut basis = Basis::default();
        for column in self.nuisance(rows) {
            basis.take(&column);
        }
        basis.take(&self.contrast_column(rows))
    }

    fn contrast_column(self, rows: &[Row]) -> Vec<f64> {
        let of = |row: &Row| match self.contrast {
            Contrast::Sides => row.side == Side::Compared,
            Contrast::BeforeAfterControlImpact => row.side == Side::Compared && row.period == Period::After,
        };
        rows.iter().map(|row| f64::from(u8::from(of(row)))).collect()
    }

    fn nuisance(self, rows: &[Row]) -> Vec<Vec<f64>> {
        let column = |of: &dyn Fn(&Row) -> bool| rows.iter().map(|row| f64::from(u8::from(of(row)))).collect();
        let mut columns: Vec<Vec<f64>> = vec![column(&|_| true)];
        if self.contrast == Contrast::BeforeAfterControlImpact {
            columns.push(column(&|row| row.side == Side::Compared));
            columns.push(column(&|row| row.period == Period::After));
        }
        let levels = |of: fn(&Row) -> u32| rows.iter().map(of).collect::<BTreeSet<u32>>();
        if self.sites {
            columns.extend(levels(|row| row.site).into_iter().skip(1).map(|site| column(&|row| row.site == site)));
        }
        if self.weeks {
            columns.extend(levels(|row| row.week).into_iter().skip(1).map(|week| column(&|row| row.week == week)));
        }
        columns
    }

    /// Rows of independent columns, the contrast first; counts and offsets.
    fn design(self, rows: &[Row]) -> (Vec<Vec<f64>>, Vec<f64>, Vec<f64>) {
        let mut basis = Basis::default();
        let mut columns = vec![self.contrast_column(rows)];
        basis.take(&columns[0]);
        columns.extend(self.nuisance(rows).into_iter().filter(|column| basis.take(column)));
        let design = (0..rows.len()).map(|row| columns.iter().map(|column| column[row]).collect()).collect();
        let counts = rows.iter().map(|row| f64::from(row.animals)).collect();
        (design, counts, rows.iter().map(|row| f64::from(row.effort).ln()).collect())
    }

    fn log_ratio(self, rows: &[Row], family: Family) -> Option<f64> {
        if !self.told_apart(rows) {
            return None;
        }
        let (design, counts, offsets) = self.design(rows);
        glm(&design, &counts, &offsets, family).map(|fit| fit.coefficients[0])
    }
}

/// Directions taken so far, at right angles to each other.
#[derive(Default)]
struct Basis(Vec<Vec<f64>>);

impl Basis {
    /// Takes the column where it is independent of the others.
    fn take(&mut self, column: &[f64]) -> bool {
        let size = |of: &[f64]| of.iter().map(|value| value * value).sum::<f64>().sqrt();
        let mut rest = column.to_vec();
        for direction in &self.0 {
            let along: f64 = direction.iter().zip(&rest).map(|(a, b)| a * b).sum();
            for (value, unit) in rest.iter_mut().zip(direction) {
                *value -= along * unit;
            }
        }
        let left = size(&rest);
        let independent = left > 1e-8 * size(column).max(1e-300);
        if independent {
            self.0.push(rest.iter().map(|value| value / left).collect());
        }
        independent
    }
}
