//! How often 95 % intervals hold the truth in simulated seasons, by regime.
//!
//! `coverage [SEASONS] [SEED] [PART]`: prints a table; 2,000 seasons where no number is given, all parts where none is
//! named. Means are judged among samples
//! with at least five animals, for the others show no mean; their share stands in the last column. Everything simulated
//! is invented: negative binomial counts as Poisson counts of gamma-distributed plants.

use rand_chacha::ChaCha8Rng;
use rand_core::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson};
use season::aggregation::{Clumping, agresti_coull, jeffreys, k_by_likelihood, mid_p};
use season::densities::{
    Bootstrap, PooledK, bootstrap_k, bootstrap_mean, clumped_mean, cluster_mean, go_on, none_found,
};
use season::observers::{Audit, Pair, chapman, confusion, correct};
use season::passage::{
    ClockModel, Development, Exposure, Fate, Mortality, Residence, Scatter, StageSeries, Survival, logistic_exposure,
    mayfield, stage_clock, tagged_area,
};
use season::years::theil_sen;
use season::{
    Choice, Counted, Counts, FEWEST_FOR_A_MEAN, Group, Interval, Level, Sides, VisitSample, clopper_pearson,
    density as density_of, mean_per_unit, wilson,
};
use std::ops::ControlFlow;
use survey::protocol::Unit;
use survey::stage::{Stage, What};

/// Hits among tries, and tries among seasons.
#[derive(Default, Clone, Copy)]
struct Tally {
    held: u32,
    tried: u32,
    seasons: u32,
}

impl Tally {
    fn add(&mut self, interval: Option<Interval>, truth: f64) {
        self.seasons += 1;
        if let Some(interval) = interval {
            self.tried += 1;
            self.held += u32::from(interval.contains(truth));
        }
    }

    fn print(&self, regime: &str, method: &str) {
        let share = |part: u32, whole: u32| 100.0 * f64::from(part) / f64::from(whole.max(1));
        let (held, shown) = (share(self.held, self.tried), share(self.tried, self.seasons));
        let mark = if self.tried > 0 && held < 92.0 { "below 92" } else { "" };
        println!("{regime:<44} {method:<22} {held:>6.1} {shown:>6.1} {mark}");
    }
}

struct Chance(ChaCha8Rng);

impl Chance {
    fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Below `end`, which must be above 0 and small.
    fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.0.next_u64() % end as u64).unwrap_or(0)
    }

    fn poisson(&mut self, mean: f64) -> u32 {
        if mean <= 0.0 {
            return 0;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small whole numbers")]
        Poisson::new(mean).map_or(0, |poisson| poisson.sample(&mut self.0) as u32)
    }

    /// Gamma with mean 1 and this shape; 1 where there is none.
    fn frailty(&mut self, k: Option<f64>) -> f64 {
        k.map_or(1.0, |k| Gamma::new(k, 1.0 / k).map_or(1.0, |gamma| gamma.sample(&mut self.0)))
    }

    fn plants(&mut self, n: usize, mean: f64, k: Option<f64>) -> Vec<u32> {
        (0..n)
            .map(|_| {
                let own = mean * self.frailty(k);
                self.poisson(own)
            })
            .collect()
    }

    fn pick(&mut self, shares: &[f64]) -> usize {
        let mut left = self.unit() * shares.iter().sum::<f64>();
        let found = shares.iter().position(|share| {
            left -= share;
            left < 0.0
        });
        found.unwrap_or(shares.len() - 1)
    }
}

/// Runs one part of the table.
type Part = fn(&mut Chance, u32);

const MEANS: [(&str, f64); 3] = [("rare", 0.1), ("ordinary", 0.5), ("abundant", 2.0)];
const CLUMPING: [(&str, Option<f64>); 3] = [("k 0.2", Some(0.2)), ("k 1", Some(1.0)), ("k inf", None)];

fn main() {
    let number =
        |place: usize, other: u64| std::env::args().nth(place).and_then(|text| text.parse().ok()).unwrap_or(other);
    let (seasons, seed) = (number(1, 2000), number(2, 1));
    let seasons = u32::try_from(seasons).unwrap_or(u32::MAX).max(1);
    let mut chance = Chance(ChaCha8Rng::seed_from_u64(seed));
    println!("{:<44} {:<22} {:>6} {:>6}", "regime", "method", "held %", "shown %");
    let part = std::env::args().nth(3).unwrap_or_default();
    let parts: [(&str, Part); 11] = [
        ("means", means),
        ("finite", finite),
        ("k", clumping),
        ("occupancies", occupancies),
        ("clusters", clusters),
        ("tagged", tagged),
        ("misclassified", misclassified),
        ("double", double_counts),
        ("eggs", eggs),
        ("slopes", slopes),
        ("clock", clock),
    ];
    for (name, run) in parts {
        if part.is_empty() || part == name {
            run(&mut chance, seasons);
        }
    }
}

fn means(chance: &mut Chance, seasons: u32) {
    for (density, mean) in MEANS {
        for (clumping, k) in CLUMPING {
            for n in [20, 60] {
                let mut tallies = [Tally::default(); 4];
                for season in 0..seasons {
                    let counts = chance.plants(n, mean, k);
                    let animals: u32 = counts.iter().sum();
                    let shown = u64::from(animals) >= FEWEST_FOR_A_MEAN;
                    let how = Bootstrap { seed: u64::from(season), resamples: 400 };
                    let intervals = [
                        mean_per_unit(&counts, None, Level::P95).ok().and_then(|found| found.interval),
                        bootstrap_mean(&counts, how, Level::P95, &mut go_on).ok().and_then(|found| found.interval),
                        clumped_mean(&counts, Level::P95).ok().and_then(|found| found.interval),
                    ];
                    for (tally, interval) in tallies.iter_mut().zip(intervals) {
                        tally.add(interval.filter(|_| shown), mean);
                    }
                    if animals == 0 {
                        let pooled = PooledK { k: k.unwrap_or(1e6), checks: 200 };
                        tallies[3].add(none_found(n as u64, &pooled, Level::P95).ok().and_then(|f| f.interval), mean);
                    } else {
                        // Finding any is no miss of a bound for finding none.
                        tallies[3].add(
                            Some(Interval { low: 0.0, high: f64::MAX, level: Level::P95, sides: Sides::Upper }),
                            mean,
                        );
                    }
                }
                let regime = format!("mean {density} {mean}, {clumping}, {n} plants");
                for (tally, method) in
                    tallies.iter().zip(["mean t", "mean bootstrap BCa", "mean clumped", "none found"])
                {
                    if tally.tried > 0 {
                        tally.print(&regime, method);
                    }
                }
            }
        }
    }
}

/// Plants at the site and how many of them are checked: half, two thirds, a fifth.
const FINITE: [(usize, u32); 3] = [(20, 40), (60, 90), (60, 300)];

/// Samples without replacement from a site whose plants are few; the truth is the mean of all its plants.
fn finite(chance: &mut Chance, seasons: u32) {
    for (density, mean) in MEANS {
        for (clumping, k) in CLUMPING {
            for (checked, there) in FINITE {
                let mut tallies = [Tally::default(); 3];
                for _ in 0..seasons {
                    let mut plants = chance.plants(there as usize, mean, k);
                    let truth = f64::from(plants.iter().sum::<u32>()) / f64::from(there);
                    for place in 0..checked {
                        let rest = there as usize - place;
                        let other = place + chance.below(rest);
                        plants.swap(place, other);
                    }
                    plants.truncate(checked);
                    let shown = u64::from(plants.iter().sum::<u32>()) >= FEWEST_FOR_A_MEAN;
                    let of = |units_at_site: Option<u32>| {
                        let found =
                            density_of(&sample_of(&plants, units_at_site), Group::Stage(Stage::Egg), Level::P95);
                        found.ok().and_then(|found| found.shown.estimate().interval)
                    };
                    let intervals = [
                        mean_per_unit(&plants, Some(there), Level::P95).ok().and_then(|found| found.interval),
                        of(Some(there)),
                        of(None),
                    ];
                    for (tally, interval) in tallies.iter_mut().zip(intervals) {
                        tally.add(interval.filter(|_| shown), truth);
                    }
                }
                let regime = format!("site {density} {mean}, {clumping}, {checked} of {there}");
                let names = ["mean t, drawn in", "mean clumped, drawn in", "mean clumped, as it is"];
                for (tally, name) in tallies.iter().zip(names) {
                    tally.print(&regime, name);
                }
            }
        }
    }
}

fn sample_of(plants: &[u32], units_at_site: Option<u32>) -> VisitSample {
    let egg = |&count: &u32| Counts::from_iter([(What::Stage(Stage::Egg), count)]);
    VisitSample {
        // Any day: densities do not depend on it.
        date: chrono::NaiveDate::default().into(),
        unit: Some(Unit::Stem),
        choice: Choice::ByChance,
        units_at_site,
        scope: [Stage::Egg].into(),
        counted: Counted::Units(plants.iter().map(egg).collect()),
    }
}

/// k itself, among samples with at least five animals.
fn clumping(chance: &mut Chance, seasons: u32) {
    for (density, mean) in MEANS {
        for k in [0.2, 1.0] {
            for n in [20, 60] {
                let mut tallies = [Tally::default(); 2];
                for season in 0..seasons {
                    let counts = chance.plants(n, mean, Some(k));
                    let shown = u64::from(counts.iter().sum::<u32>()) >= FEWEST_FOR_A_MEAN;
                    let how = Bootstrap { seed: u64::from(season), resamples: 400 };
                    let ends = |found: Clumping| Interval {
                        low: found.low.unwrap_or(0.0),
                        high: found.high.unwrap_or(f64::MAX),
                        level: Level::P95,
                        sides: Sides::Both,
                    };
                    let intervals = [
                        k_by_likelihood(&counts, Level::P95).ok().map(ends),
                        bootstrap_k(&counts, how, Level::P95, &mut go_on).ok().map(ends),
                    ];
                    for (tally, interval) in tallies.iter_mut().zip(intervals) {
                        tally.add(interval.filter(|_| shown), k);
                    }
                }
                let regime = format!("k {k}, mean {density} {mean}, {n} plants");
                for (tally, method) in tallies.iter().zip(["k by profile", "k by bootstrap BCa"]) {
                    tally.print(&regime, method);
                }
            }
        }
    }
}

fn occupancies(chance: &mut Chance, seasons: u32) {
    for share in [0.02, 0.15, 0.5] {
        for n in [20_u64, 60] {
            let mut tallies = [Tally::default(); 5];
            for _ in 0..seasons {
                let occupied = (0..n).filter(|_| chance.unit() < share).count() as u64;
                let methods = [clopper_pearson, wilson, mid_p, jeffreys, agresti_coull];
                for (tally, method) in tallies.iter_mut().zip(methods) {
                    tally.add(method(occupied, n, Level::P95).ok(), share);
                }
            }
            let names = ["Clopper-Pearson", "Wilson", "mid-P", "Jeffreys", "Agresti-Coull"];
            for (tally, name) in tallies.iter().zip(names) {
                tally.print(&format!("occupied share {share}, {n} plants"), name);
            }
        }
    }
}

/// Clusters of five plants; a patch is good or bad as a whole (k 1 between clusters), plants within it k 1.
fn clusters(chance: &mut Chance, seasons: u32) {
    for (density, mean) in MEANS {
        for count in [6, 12, 24] {
            let mut tallies = [Tally::default(); 2];
            for _ in 0..seasons {
                let sample: Vec<Vec<u32>> = (0..count)
                    .map(|_| {
                        let patch = mean * chance.frailty(Some(1.0));
                        chance.plants(5, patch, Some(1.0))
                    })
                    .collect();
                let single: Vec<u32> = sample.iter().flatten().copied().collect();
                let shown = u64::from(single.iter().sum::<u32>()) >= FEWEST_FOR_A_MEAN;
                let plain = mean_per_unit(&single, None, Level::P95).ok().and_then(|found| found.interval);
                let between = cluster_mean(&sample, None, Level::P95).ok().and_then(|found| found.interval);
                tallies[0].add(plain.filter(|_| shown), mean);
                tallies[1].add(between.filter(|_| shown), mean);
            }
            let regime = format!("clusters {density} {mean}, {count} of 5 plants");
            tallies[0].print(&regime, "mean t, ignoring them");
            tallies[1].print(&regime, "cluster mean");
        }
    }
}

/// The same plants each week: each keeps its own level (k 1) over eight weeks.
fn tagged(chance: &mut Chance, seasons: u32) {
    let days: Vec<f64> = (0..8).map(|week| 7.0 * f64::from(week)).collect();
    let curve = [0.1, 0.5, 1.0, 1.4, 1.4, 1.0, 0.5, 0.1];
    for (density, mean) in MEANS {
        for n in [20, 60] {
            let truth: f64 = mean * 7.0 * (curve.iter().sum::<f64>() - 0.1);
            let mut tally = Tally::default();
            for season in 0..seasons {
                let plants: Vec<Vec<Option<u32>>> = (0..n)
                    .map(|_| {
                        let own = mean * chance.frailty(Some(1.0));
                        curve.iter().map(|share| Some(chance.poisson(own * share))).collect()
                    })
                    .collect();
                let animals: u32 = plants.iter().flatten().flatten().sum();
                let how = Bootstrap { seed: u64::from(season), resamples: 400 };
                let found = tagged_area(&days, &plants, how, Level::P95, &mut |_| ControlFlow::Continue(()));
                let shown = u64::from(animals) >= FEWEST_FOR_A_MEAN;
                tally.add(found.ok().and_then(|found| found.interval).filter(|_| shown), truth);
            }
            tally.print(&format!("tagged plants {density} {mean}, {n} plants, 8 weeks"), "tagged area");
        }
    }
}

const SHARES: [f64; 6] = [0.7, 0.1, 0.07, 0.05, 0.04, 0.04];
const CONFUSION: [[f64; 6]; 6] = [
    [0.96, 0.04, 0.0, 0.0, 0.0, 0.0],
    [0.02, 0.88, 0.10, 0.0, 0.0, 0.0],
    [0.0, 0.06, 0.82, 0.12, 0.0, 0.0],
    [0.0, 0.0, 0.08, 0.80, 0.12, 0.0],
    [0.0, 0.0, 0.0, 0.09, 0.85, 0.06],
    [0.0, 0.0, 0.0, 0.0, 0.05, 0.95],
];

/// Stages recorded wrongly; 60 audited animals of each true class; the truth is the expected count of each class.
fn misclassified(chance: &mut Chance, seasons: u32) {
    for total in [60_u32, 300] {
        let mut tallies = [Tally::default(); 6];
        for season in 0..seasons {
            let mut recorded = [0_u64; 6];
            for _ in 0..total {
                let truth = chance.pick(&SHARES);
                recorded[chance.pick(&CONFUSION[truth])] += 1;
            }
            let audits: Vec<Audit> = (0..6)
                .flat_map(|truth| std::iter::repeat_n(truth, 60))
                .map(|truth| Audit { truth: Some(truth), recorded: chance.pick(&CONFUSION[truth]), weight: 1.0 })
                .collect();
            let how = Bootstrap { seed: u64::from(season), resamples: 400 };
            let corrected = confusion(&audits, &[], 6, &recorded)
                .and_then(|matrix| correct(&recorded, &matrix, how, Level::P95, &mut go_on));
            for (class, tally) in tallies.iter_mut().enumerate() {
                let interval = corrected.as_ref().ok().and_then(|found| found.classes[class].interval);
                tally.add(interval, SHARES[class] * f64::from(total));
            }
        }
        for (class, tally) in tallies.iter().enumerate() {
            let stage = if class == 0 { "eggs".to_owned() } else { format!("larvae {class}") };
            tally.print(&format!("misclassified, {total} things, {stage}"), "corrected by EM");
        }
    }
}

fn double_counts(chance: &mut Chance, seasons: u32) {
    for (animals, p) in [(10, 0.6), (10, 0.9), (60, 0.6), (60, 0.9)] {
        let mut tally = Tally::default();
        for _ in 0..seasons {
            let (mut first, mut second, mut both) = (0, 0, 0);
            for _ in 0..animals {
                let (one, other) = (chance.unit() < p, chance.unit() < p);
                first += u64::from(one);
                second += u64::from(other);
                both += u64::from(one && other);
            }
            let found = chapman(Pair { first, second, both: Some(both) }, Level::P95).ok();
            tally.add(found.and_then(|found| found.animals.interval), f64::from(animals));
        }
        tally.print(&format!("double count, {animals} animals, each sees {p}"), "Chapman");
    }
}

/// Single eggs checked every second day up to four times, daily survival 0.9.
fn eggs(chance: &mut Chance, seasons: u32) {
    for n in [10, 40] {
        let mut tallies = [Tally::default(); 2];
        for _ in 0..seasons {
            let mut exposures = Vec::new();
            for _ in 0..n {
                for _ in 0..4 {
                    let survived = chance.unit() < 0.81;
                    exposures.push(Exposure { days: 2.0, fate: if survived { Fate::Survived } else { Fate::Died } });
                    if !survived {
                        break;
                    }
                }
            }
            tallies[0].add(mayfield(&exposures, 4.0, Level::P95).ok().and_then(|found| found.daily.interval), 0.9);
            let logistic = logistic_exposure(&exposures, &[], Level::P95).ok();
            tallies[1].add(logistic.and_then(|found| found.daily.interval), 0.9);
        }
        tallies[0].print(&format!("egg fate, {n} eggs every 2 days"), "Mayfield");
        tallies[1].print(&format!("egg fate, {n} eggs every 2 days"), "logistic exposure");
    }
}

fn slopes(chance: &mut Chance, seasons: u32) {
    for years in [5, 8, 20] {
        let mut tally = Tally::default();
        for _ in 0..seasons {
            let points: Vec<(f64, f64)> = (0..years)
                .map(|year| (f64::from(year), 0.3 * f64::from(year) + f64::from(chance.poisson(20.0))))
                .collect();
            tally.add(theil_sen(&points, Level::P95).ok().and_then(|found| found.slope.interval), 0.3);
        }
        tally.print(&format!("yearly values, {years} years"), "Theil-Sen");
    }
}

/// Stage counts of a season at 13 degree-days a day, egg hazard 0.5 and later 0.15 a day.
fn clock(chance: &mut Chance, seasons: u32) {
    let widths = [45.0, 32.3, 27.8, 24.5, 35.7, 66.6];
    let ends: Vec<f64> = widths
        .iter()
        .scan(0.0, |sum, width| {
            *sum += width;
            Some(*sum)
        })
        .collect();
    let truth = (-0.5 * 45.0 / 13.0 - 0.15 * (165.3 - 45.0) / 13.0_f64).exp();
    for (eggs, every) in [(400.0, 3.5), (1500.0, 3.5), (1500.0, 7.0)] {
        let mut tally = Tally::default();
        let mut times = Vec::new();
        let mut time = 0.0;
        while time <= 56.0 {
            times.push(time);
            time += every;
        }
        let expected: Vec<Vec<f64>> = times.iter().map(|&time| expected_row(time, eggs, &ends)).collect();
        for _ in 0..seasons {
            let rows =
                expected.iter().map(|row| row.iter().map(|&mean| f64::from(chance.poisson(mean))).collect()).collect();
            let model = ClockModel {
                effort: vec![1.0; times.len()],
                clock: match Development::constant(-25.0, 60.0, 13.0) {
                    Ok(clock) => clock,
                    Err(refusal) => return println!("no clock: {refusal}"),
                },
                widths: widths.to_vec(),
                detection: None,
                residence: Residence::WHOLE,
                mortality: Mortality::FirstAndRest,
                scatter: Scatter::Poisson,
            };
            let found =
                StageSeries::new(times.clone(), rows).and_then(|series| stage_clock(&series, &model, Level::P95));
            let interval = match found.map(|fit| fit.to_last_stage) {
                Ok(Survival::Estimated(estimate)) => estimate.interval,
                Ok(Survival::NotIdentified(_)) | Err(_) => None,
            };
            tally.add(interval, truth);
        }
        tally.print(&format!("stage clock, {eggs} eggs, every {every} days, {seasons} seasons"), "profile likelihood");
    }
}

fn expected_row(time: f64, eggs: f64, ends: &[f64]) -> Vec<f64> {
    let mut row = vec![0.0; 6];
    let height = eggs / (7.0 * (2.0 * std::f64::consts::PI).sqrt());
    for step in 0..1800 {
        let laid = -25.0 + 0.05 * (f64::from(step) + 0.5);
        let age = (time - laid) * 13.0;
        let Some(stage) = ends.iter().position(|end| age < *end).filter(|_| age >= 0.0) else { continue };
        let lost = 0.5 * age.min(45.0) / 13.0 + 0.15 * (age - 45.0).max(0.0) / 13.0;
        row[stage] += 0.05 * height * (-0.5 * ((laid - 24.0) / 7.0_f64).powi(2) - lost).exp();
    }
    row
}
