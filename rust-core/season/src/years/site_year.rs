//! Site and year effects over all sites.

use super::{Wording, id, wording};
use crate::numeric::{Family, Glm, glm};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;
use std::collections::BTreeSet;

/// One site in one year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SiteYear {
    /// The site, numbered.
    pub site: u32,
    /// The year.
    pub year: i32,
    /// Animals found.
    pub animals: u32,
    /// Units checked, at least 1.
    pub effort: u32,
}

/// A year against the first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct YearIndex {
    /// The year.
    pub year: i32,
    /// Density ÷ that of the first year.
    pub index: Estimate,
    /// Sites visited in it.
    pub sites: u64,
}

/// All years of all sites.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteYears {
    /// One for each year with a visit.
    pub years: Vec<YearIndex>,
    /// Change per year in per cent, over all sites.
    pub per_cent: Estimate,
    /// What may be said of it.
    pub wording: Wording,
    /// Sites that found nothing in any year, and so say nothing about change; left out.
    pub sites_without_animals: u64,
}

/// With fewer sites errors clustered by site mean nothing.
const FEWEST_SITES: usize = 3;
/// Below this many they are rough.
const FEW_SITES: usize = 10;

/// Years against the first, and change per year, with a term for each site: ln expected = ln effort + site + year, and
/// ln expected = ln effort + site + slope × year.
///
/// Fitted as Poisson, which needs only the mean to be right; errors are clustered by site (sandwich × G ÷ (G − 1) for G
/// sites), intervals by t with G − 1 degrees on the log scale. Fewer than three sites: no interval. A year without any
/// animal has index 0 without interval and is left out of the year effects.
///
/// This is the main method for years. Sites that are visited are mostly chosen, and chosen sites hold more animals and
/// change otherwise than others: the note goes with every result.
///
/// Unit: ratio; per cent per year. Domain: at least two years, sites linked by common years.
///
/// Sources: site and year effects ter Braak CJF et al. (1994) Proc. 12th Int. Conf. IBCC & EOAC 663-673; clustered
/// errors Liang KY, Zeger SL (1986) Biometrika 73:13-22.
///
/// # Errors
/// [`Refusal::TooFew`] years, [`Refusal::Nothing`] without animals; [`Refusal::NotMet`] for efforts of 0, a site and
/// year given twice, or years that sites do not link.
pub fn site_years(rows: &[SiteYear], level: Level) -> Result<SiteYears, Refusal> {
    if rows.iter().any(|row| row.effort == 0) {
        return Err(Refusal::NotMet(crate::densities::id::REFUSED_NO_EFFORT));
    }
    if rows.iter().map(|row| (row.site, row.year)).collect::<BTreeSet<_>>().len() < rows.len() {
        return Err(Refusal::NotMet(id::REFUSED_SAME_YEAR));
    }
    let total = |site: u32| rows.iter().filter(|row| row.site == site).map(|row| u64::from(row.animals)).sum::<u64>();
    let sites: BTreeSet<u32> = rows.iter().map(|row| row.site).filter(|&site| total(site) > 0).collect();
    let every_site = rows.iter().map(|row| row.site).collect::<BTreeSet<_>>().len();
    let kept: Vec<SiteYear> = rows.iter().copied().filter(|row| sites.contains(&row.site)).collect();
    if kept.is_empty() {
        return Err(Refusal::Nothing);
    }
    let every_year: BTreeSet<i32> = kept.iter().map(|row| row.year).collect();
    crate::numeric::at_least(every_year.len(), 2)?;
    let found_in = |year: i32| kept.iter().any(|row| row.year == year && row.animals > 0);
    let present: Vec<i32> = every_year.iter().copied().filter(|&year| found_in(year)).collect();
    let assumed = [id::ASSUMED_SITE_SELECTION, id::ASSUMED_SITES_INDEPENDENT, crate::id::ASSUMED_ALL_SEEN];
    let few = (sites.len() < FEW_SITES).then_some(crate::densities::id::ASSUMED_FEW_CLUSTERS);
    let of_presence: Vec<SiteYear> = kept.iter().copied().filter(|row| present.contains(&row.year)).collect();
    let effects: Vec<Effect> = present
        .iter()
        .skip(1)
        .map(|&year| Box::new(move |row: &SiteYear| indicator(row.year == year)) as Effect)
        .collect();
    let by_year = fit(&of_presence, &sites, &effects)?;
    let estimate = |coefficient: usize| by_year.estimate(coefficient, level, sites.len());
    let years = every_year
        .iter()
        .map(|&year| {
            let place = present.iter().position(|&each| each == year);
            let (value, error, interval) = match place {
                Some(0) => (1.0, None, None),
                Some(place) => estimate(place - 1)?,
                None => (0.0, None, None),
            };
            let index = Estimate {
                standard_error: error,
                interval,
                ..Estimate::plain(value, kept.iter().filter(|row| row.year == year).count(), id::SITE_YEAR)
            };
            let index = index.assuming(assumed).assuming(few).sound()?;
            let visited = kept.iter().filter(|row| row.year == year).count() as u64;
            Ok(YearIndex { year, index, sites: visited })
        })
        .collect::<Result<Vec<_>, Refusal>>()?;
    let middle = every_year.iter().map(|&year| f64::from(year)).sum::<f64>() / every_year.len() as f64;
    let slope: Vec<Effect> = vec![Box::new(move |row: &SiteYear| f64::from(row.year) - middle)];
    let line = fit(&kept, &sites, &slope)?;
    let (factor, error, interval) = line.estimate(0, level, sites.len())?;
    let cent = |factor: f64| 100.0 * (factor - 1.0);
    let interval = interval.map(|interval| Interval { low: cent(interval.low), high: cent(interval.high), ..interval });
    let per_cent = Estimate {
        standard_error: error.map(|error| 100.0 * error),
        interval,
        ..Estimate::plain(cent(factor), kept.len(), id::SITE_YEAR)
    }
    .assuming(assumed)
    .assuming([id::ASSUMED_CONSTANT_CHANGE])
    .assuming(few)
    .sound()?;
    Ok(SiteYears {
        years,
        wording: wording(every_year.len() as u64, sites.len() as u64, per_cent.interval.as_ref()),
        per_cent,
        sites_without_animals: (every_site - sites.len()) as u64,
    })
}

/// A column of the design.
type Effect = Box<dyn Fn(&SiteYear) -> f64>;

struct Clustered {
    fit: Glm,
    /// Covariance clustered by site.
    robust: Vec<Vec<f64>>,
}

impl Clustered {
    /// e^coefficient with error and interval.
    fn estimate(
        &self,
        coefficient: usize,
        level: Level,
        sites: usize,
    ) -> Result<(f64, Option<f64>, Option<Interval>), Refusal> {
        let value = self.fit.coefficients[coefficient];
        if sites < FEWEST_SITES {
            return Ok((value.exp(), None, None));
        }
        let error = self.robust[coefficient][coefficient].max(0.0).sqrt();
        let reach = quantile::t(sites as f64 - 1.0, 1.0 - level.alpha() / 2.0)? * error;
        let interval = Interval::both((value - reach).exp(), (value + reach).exp(), level);
        Ok((value.exp(), Some(value.exp() * error), Some(interval).filter(|interval| interval.high.is_finite())))
    }
}

fn indicator(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

fn fit(rows: &[SiteYear], sites: &BTreeSet<u32>, effects: &[Effect]) -> Result<Clustered, Refusal> {
    let design: Vec<Vec<f64>> = rows
        .iter()
        .map(|row| {
            effects
                .iter()
                .map(|effect| effect(row))
                .chain(sites.iter().map(|&site| indicator(row.site == site)))
                .collect()
        })
        .collect();
    let counts: Vec<f64> = rows.iter().map(|row| f64::from(row.animals)).collect();
    let offsets: Vec<f64> = rows.iter().map(|row| f64::from(row.effort).ln()).collect();
    let fit = glm(&design, &counts, &offsets, Family::Poisson).ok_or(Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED))?;
    let columns = design[0].len();
    let groups = sites.len() as f64;
    let mut robust = vec![vec![0.0; columns]; columns];
    for &site in sites {
        let mut score = vec![0.0; columns];
        for (index, _) in rows.iter().enumerate().filter(|(_, row)| row.site == site) {
            for (sum, x) in score.iter_mut().zip(&design[index]) {
                *sum += x * (counts[index] - fit.fitted[index]);
            }
        }
        let pulled: Vec<f64> =
            fit.covariance.iter().map(|row| row.iter().zip(&score).map(|(a, b)| a * b).sum::<f64>()).collect();
        for i in 0..columns {
            for j in 0..columns {
                robust[i][j] += pulled[i] * pulled[j] * groups / (groups - 1.0).max(1.0);
            }
        }
    }
    Ok(Clustered { fit, robust })
}
