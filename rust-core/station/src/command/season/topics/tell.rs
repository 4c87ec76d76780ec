//! What counts tell: density, aggregation, presence.

use super::ask;
use crate::command::CommandError;
use crate::command::season::answer::{Answer, part, whole};
use crate::command::season::common::{Common, option, positive, stage};
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Columns, PlantCounts, Source, Table, belts};
use clap::Args;
use messages::Language;
use season::aggregation::{
    Distribution, LikeliestK, agresti_coull, david_moore, dispersion_index, garwood, goodness_of_fit, green, iwao,
    jeffreys, k_by_likelihood, k_by_moments, k_by_zeros, last_class_for, mean_crowding, mean_from_presence, mid_p,
    morisita, patchiness, poisson_or_clumped, presence_from_mean, score_difference, taylor, wilson_corrected,
};
use season::densities::{
    CoverageOf, PooledK, Stratum, bootstrap_k, bootstrap_mean, bootstrap_ratio, clumped_mean, cluster_mean,
    coverage_of, design_effect, hosts_per_hectare, jackknife_ratio, mean_of_ratios, mean_with_undecided, none_found,
    occupancy_with_undecided, paired_change, per_hectare, ratio, split_undecided, stratified_mean,
};
use season::{Counts, FEWEST_FOR_A_MEAN, Group, Level, Refusal, clopper_pearson, id, mean_per_unit, occupancy, wilson};
use serde_json::{Map, Value, json};
use std::path::PathBuf;
use survey::stage::Stage;

/// `leafturn season density`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Density {
    #[command(flatten)]
    common: Common,
    /// Plants at the whole site.
    #[arg(long, value_name = "N")]
    plants_at_site: Option<u32>,
    /// Plants in a stratum, NAME=N; once for each stratum of the file.
    #[arg(long = "stratum", value_name = "NAME=N", value_parser = named_number)]
    strata: Vec<(String, u64)>,
    /// Belts of the host count (`square_metres,stems`), for animals per hectare.
    #[arg(long, value_name = "FILE")]
    hosts: Option<PathBuf>,
    /// k from other checks of the same kind, for the upper bound where nothing was found (with --k-checks).
    #[arg(long, value_name = "K", value_parser = positive, requires = "k_checks")]
    k: Option<f64>,
    /// How many checks that k is from; 200 or more.
    #[arg(long, value_name = "N", requires = "k")]
    k_checks: Option<u64>,
    /// What the column count is of, where something is undecided: egg, larva1 to larva5, larva, pupa.
    #[arg(long, value_name = "STAGE", value_parser = stage)]
    stage: Option<Stage>,
}

fn named_number(text: &str) -> Result<(String, u64), String> {
    let wrong = || format!("{text:?} is not NAME=N");
    let (name, number) = text.rsplit_once('=').ok_or_else(wrong)?;
    Ok((name.to_owned(), number.parse().map_err(|_| wrong())?))
}

ask!(Density, "density", density);

fn density(asked: &Density) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    if Table::names_of(&source)?.iter().any(|name| name == "before") {
        return Ok(paired(&source, level, language)?);
    }
    let plants = PlantCounts::read(&source)?;
    let doubt = Doubt::of(&plants, asked.stage)?;
    if doubt.is_some() && (plants.clusters.is_some() || plants.strata.is_some() || plants.sizes.is_some()) {
        let problem = "columns of undecided things go with plain counts, not with cluster, size or stratum";
        return Err(source.fault_of_all(problem).into());
    }
    let counts = &plants.counts;
    let animals: u64 = counts.iter().copied().map(u64::from).sum();
    let mut value = Map::new();
    let mut put = |name: &str, part: Value| value.insert(name.to_owned(), part);
    put("heading", json!(id::HEADING_COUNTED));
    put("checked", json!(counts.len()));
    put("animals", json!(animals));
    let occupied = counts.iter().filter(|count| **count > 0).count() as u64;
    let checked = counts.len() as u64;
    put(
        "occupied",
        match &doubt {
            Some(doubt) => part(&occupancy_with_undecided(&doubt.things, doubt.group, level), language),
            None => part(&occupancy(occupied, checked, level), language),
        },
    );
    if let Some(doubt) = &doubt {
        put("undecided", doubt.told(level, language)?);
    }
    if animals < FEWEST_FOR_A_MEAN {
        let bound = match (asked.k, asked.k_checks) {
            (Some(k), Some(checks)) if animals == 0 => {
                Some(none_found(counts.len() as u64, &PooledK { k, checks }, level))
            }
            _ => None,
        };
        if let Some(bound) = bound {
            put("per_plant_at_most", part(&bound, language));
        }
        let few: Result<f64, _> = Err(Refusal::TooFew { have: animals, need: FEWEST_FOR_A_MEAN });
        put("per_plant", part(&few, language));
        return Ok(Answer::of(Value::Object(value)));
    }
    let per_plant = match &doubt {
        Some(doubt) => mean_with_undecided(&doubt.things, doubt.group, level),
        None => clumped_mean(counts, level),
    };
    put("per_plant", part(&per_plant, language));
    if let Ok(found) = &per_plant {
        let k = LikeliestK::default().of(counts.iter().copied()).ok().flatten();
        put("coverage", whole(&coverage_of(CoverageOf::ClumpedMean, found.n, k, found.value)));
    }
    let mut work = asked.common.work();
    put("by_t", part(&mean_per_unit(counts, asked.plants_at_site, level), language));
    put(
        "by_bootstrap",
        part(&bootstrap_mean(counts, asked.common.bootstrap(), level, &mut |done| work.tell(done)), language),
    );
    let mut best = per_plant;
    if let Some(names) = &plants.clusters {
        let clusters: Vec<Vec<u32>> = plants.by(names).into_iter().map(|(_, counts)| counts).collect();
        best = cluster_mean(&clusters, None, level);
        put("by_clusters", part(&best, language));
        put("design_effect", part(&design_effect(&clusters), language));
    }
    if let Some(names) = &plants.strata {
        best = stratified_mean(&strata(&source, &plants, names, &asked.strata)?, level);
        put("by_strata", part(&best, language));
    }
    if let Some(sizes) = &plants.sizes {
        let pairs: Vec<(f64, f64)> = sizes.iter().copied().zip(counts.iter().copied().map(f64::from)).collect();
        let places = asked.plants_at_site.map(u64::from);
        put("per_size", part(&ratio(&pairs, places, level), language));
        put("per_size_by_jackknife", part(&jackknife_ratio(&pairs, level), language));
        put(
            "per_size_by_bootstrap",
            part(&bootstrap_ratio(&pairs, asked.common.bootstrap(), level, &mut |done| work.tell(done)), language),
        );
        put("mean_of_ratios", part(&mean_of_ratios(&pairs, level), language));
    }
    if let Some(path) = &asked.hosts {
        let hosts = hosts_per_hectare(&belts(&Source::open(path)?)?, level).said(language)?;
        put("per_hectare", part(&per_hectare(&hosts, best.as_ref().ok(), level), language));
        put("hosts_per_hectare", whole(&hosts));
    }
    Ok(Answer::of(Value::Object(value)))
}

/// Counts some of which are undecided.
struct Doubt {
    things: Vec<Counts>,
    group: Group,
}

impl Doubt {
    fn of(plants: &PlantCounts, stage: Option<Stage>) -> Result<Option<Self>, SeasonFault> {
        if plants.undecided.is_empty() {
            return Ok(None);
        }
        let stage = plants.stage(stage)?;
        let group = if stage == Stage::Larva { Group::Larvae } else { Group::Stage(stage) };
        Ok(Some(Self { things: plants.things(stage), group }))
    }

    /// How many things are undecided, how they are shared out, and the mean that follows: its ends are the extremes.
    fn told(&self, level: Level, language: Language) -> Result<Value, SeasonFault> {
        let n = self.things.len() as f64;
        let split = split_undecided(&self.things, &[], &[], level).said(language)?;
        let possible: u64 = self.things.iter().map(|unit| unit.possible(self.group)).sum();
        let certain: u64 = self.things.iter().map(|unit| unit.certain(self.group)).sum();
        Ok(json!({
            "things": split.undecided,
            "outcomes": split.outcomes,
            "per_plant_if_none": certain as f64 / n,
            "per_plant_if_all": possible as f64 / n,
            "assumed": split.assumed,
        }))
    }
}

fn strata(
    source: &Source,
    plants: &PlantCounts,
    names: &[String],
    sizes: &[(String, u64)],
) -> Result<Vec<Stratum>, SeasonFault> {
    plants
        .by(names)
        .into_iter()
        .map(|(name, counts)| {
            let units = sizes.iter().find(|(own, _)| *own == name).map(|(_, units)| *units);
            let units = units.ok_or_else(|| {
                source.fault_of_all(format!("say how many plants stratum {name:?} has: --stratum {name}=N"))
            })?;
            Ok(Stratum { counts, units })
        })
        .collect()
}

fn paired(source: &Source, level: Level, language: Language) -> Result<Answer, SeasonFault> {
    let columns = Columns { needed: &["before", "after"], allowed: &[], beginning: None };
    let pairs = Table::read(source, columns)?
        .rows()
        .map(|row| Ok((row.count("before")?, row.count("after")?)))
        .collect::<Result<Vec<_>, SeasonFault>>()?;
    Ok(Answer::of(json!({ "change": paired_change(&pairs, level).said(language)? })))
}

/// `leafturn season aggregation`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Aggregation {
    #[command(flatten)]
    common: Common,
    /// Last class of the tests of fit; without it the first that holds 5 expected plants or more.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    last_class: Option<u32>,
    /// Give k an interval by resampling too, as many times as --resamples says.
    #[arg(long)]
    by_bootstrap: bool,
}

ask!(Aggregation, "aggregation", aggregation);

/// Plants expected in the last class of a test of fit.
const EXPECTED: f64 = 5.0;

fn aggregation(asked: &Aggregation) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    if Table::names_of(&source)?.iter().any(|name| name == "variance") {
        let columns = Columns { needed: &["mean", "variance"], allowed: &[], beginning: None };
        let samples = Table::read(&source, columns)?
            .rows()
            .map(|row| Ok((row.number("mean")?, row.number("variance")?)))
            .collect::<Result<Vec<_>, SeasonFault>>()?;
        let value = json!({
            "taylor": part(&taylor(&samples), language), "iwao": part(&iwao(&samples), language),
        });
        return Ok(Answer::of(value));
    }
    let counts = PlantCounts::decided(&source)?.counts;
    let likely = k_by_likelihood(&counts, level).said(language)?;
    let fitted = Distribution::new(likely.mean, likely.k).said(language)?;
    let poisson = Distribution::new(likely.mean, None).said(language)?;
    let fit = |distribution: &Distribution, parameters: u32| {
        let class = asked.last_class.unwrap_or_else(|| last_class_for(counts.len() as u64, distribution, EXPECTED));
        part(&goodness_of_fit(&counts, distribution, parameters, class), language)
    };
    let mut value = json!({
        "k": likely,
        "log_likelihood": fitted.log_likelihood(&counts),
        "fit": fit(&fitted, if likely.k.is_some() { 2 } else { 1 }),
        "fit_of_poisson": fit(&poisson, 1),
        "poisson_or_clumped": part(&poisson_or_clumped(&counts), language),
        "k_by_moments": part(&k_by_moments(&counts), language),
        "k_by_zeros": part(&k_by_zeros(&counts), language),
        "dispersion": part(&dispersion_index(&counts), language),
        "morisita": part(&morisita(&counts), language),
        "mean_crowding": part(&mean_crowding(&counts), language),
        "patchiness": part(&patchiness(&counts), language),
        "david_moore": part(&david_moore(&counts), language),
        "green": part(&green(&counts), language),
    });
    if asked.by_bootstrap {
        let mut work = asked.common.work();
        let found = bootstrap_k(&counts, asked.common.bootstrap(), level, &mut |done| work.tell(done));
        value["k_by_bootstrap"] = part(&found, language);
    }
    Ok(Answer::of(value))
}

/// `leafturn season presence`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Presence {
    #[command(flatten)]
    common: Common,
    /// Plants with at least one animal (instead of a FILE of counts).
    #[arg(long, value_name = "N", requires = "checked")]
    occupied: Option<u64>,
    /// Plants checked.
    #[arg(long, value_name = "N", requires = "occupied")]
    checked: Option<u64>,
    /// k of a negative binomial: what the share says of the mean. Without it as if by chance alone.
    #[arg(long, value_name = "K", value_parser = positive)]
    k: Option<f64>,
    /// The other way: the share that is expected at this mean.
    #[arg(long, value_name = "MEAN", value_parser = positive, conflicts_with = "occupied")]
    mean: Option<f64>,
    /// Another share, OCCUPIED,CHECKED, to take from this one.
    #[arg(long, value_name = "N,N", value_delimiter = ',', num_args = 1)]
    minus: Vec<u64>,
    /// What the column count is of, where something is undecided: egg, larva1 to larva5, larva, pupa.
    #[arg(long, value_name = "STAGE", value_parser = stage)]
    stage: Option<Stage>,
}

ask!(Presence, "presence", presence);

fn presence(asked: &Presence) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    if let Some(mean) = asked.mean {
        let share = presence_from_mean(mean, asked.k).said(language)?;
        return Ok(Answer::of(json!({ "mean": mean, "k": asked.k, "share": share })));
    }
    let mut doubt = None;
    let (occupied, checked) = match (asked.common.source()?, asked.occupied) {
        (Some(_), Some(_)) => return Err(SeasonFault::usage("either a FILE or --occupied, not both").into()),
        (Some(source), None) => {
            let plants = PlantCounts::read(&source)?;
            doubt = Doubt::of(&plants, asked.stage)?;
            let counts = plants.counts;
            (counts.iter().filter(|count| **count > 0).count() as u64, counts.len() as u64)
        }
        (None, occupied) => {
            (option(occupied.as_ref(), "--occupied N")?, option(asked.checked.as_ref(), "--checked N")?)
        }
    };
    let mut value = json!({
        "occupied": occupied,
        "checked": checked,
        "share": match &doubt {
            Some(doubt) => occupancy_with_undecided(&doubt.things, doubt.group, level),
            None => occupancy(occupied, checked, level),
        }
        .said(language)?,
        "wilson": part(&wilson(occupied, checked, level), language),
        "wilson_corrected": part(&wilson_corrected(occupied, checked, level), language),
        "clopper_pearson": part(&clopper_pearson(occupied, checked, level), language),
        "mid_p": part(&mid_p(occupied, checked, level), language),
        "agresti_coull": part(&agresti_coull(occupied, checked, level), language),
        "jeffreys": part(&jeffreys(occupied, checked, level), language),
        "number_by_chance": part(&garwood(occupied, level), language),
        "mean": part(&mean_from_presence(occupied, checked, asked.k, level), language),
    });
    if let Some(doubt) = &doubt {
        value["undecided"] = doubt.told(level, language)?;
    }
    match asked.minus.as_slice() {
        [] => {}
        [part_of, of] => {
            let found = score_difference((occupied, checked), (*part_of, *of), level);
            value["difference"] = part(&found, language);
        }
        _ => return Err(SeasonFault::usage("--minus takes OCCUPIED,CHECKED").into()),
    }
    Ok(Answer::of(value))
}
