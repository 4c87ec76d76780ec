//! Densities in breadth: ratio, cluster and stratified samples, per hectare, bootstrap, zero counts, undecided things,
//! and comparisons between years, sites and treatments.

mod bootstrap;
mod bootstrap_k;
mod clumped_mean;
mod cluster;
mod compare;
mod coverage;
mod design_effect;
mod hosts;
mod jackknife;
mod mean_of_ratios;
mod paired;
mod per_hectare;
mod ratio;
mod stratified;
mod undecided;
mod undecided_mean;
mod zero_counts;

pub(crate) use bootstrap::told;
pub use bootstrap::{Bootstrap, Watch, bca, bootstrap_mean, bootstrap_ratio, go_on};
pub use bootstrap_k::bootstrap_k;
pub use clumped_mean::clumped_mean;
pub use cluster::cluster_mean;
pub use compare::{Comparison, Contrast, Period, Row, Side, compare};
pub use coverage::{Coverage, CoverageOf, MEASURED, coverage_of};
pub use design_effect::design_effect;
pub use hosts::{Belt, hosts_per_hectare};
pub use jackknife::jackknife_ratio;
pub use mean_of_ratios::mean_of_ratios;
pub use paired::paired_change;
pub use per_hectare::per_hectare;
pub use ratio::ratio;
pub use stratified::{Stratum, stratified_mean};
pub use undecided::{Audited, Split, SplitOutcome, split_undecided};
pub use undecided_mean::{mean_with_undecided, occupancy_with_undecided};
pub use zero_counts::{FEWEST_CHECKS_FOR_K, PooledK, none_found};

/// Refuses a mean over fewer animals than [`crate::FEWEST_FOR_A_MEAN`]: the share of occupied units serves there.
fn enough(animals: u64) -> Result<(), crate::Refusal> {
    let need = crate::FEWEST_FOR_A_MEAN;
    if animals >= need { Ok(()) } else { Err(crate::Refusal::TooFew { have: animals, need }) }
}

ids! {
    /// Ratio of totals.
    RATIO = "method.ratio";
    /// Ratio of totals by the jackknife.
    JACKKNIFE_RATIO = "method.jackknife-ratio";
    /// Mean of the ratios of single places.
    MEAN_OF_RATIOS = "method.mean-of-ratios";
    /// Mean per unit from clusters.
    CLUSTER_MEAN = "method.cluster-mean";
    /// Mean per unit over strata.
    STRATIFIED_MEAN = "method.stratified-mean";
    /// Mean per unit with the likelihood interval of a negative binomial.
    CLUMPED_MEAN = "method.clumped-mean";
    /// Design effect.
    DESIGN_EFFECT = "method.design-effect";
    /// Host plants per hectare from belts or plots.
    HOSTS_PER_HECTARE = "method.hosts-per-hectare";
    /// Animals per hectare from the host count.
    PER_HECTARE = "method.per-hectare";
    /// Bootstrap, bias-corrected and accelerated.
    BOOTSTRAP_BCA = "method.bootstrap-bca";
    /// Upper bound of a mean where nothing was found.
    NONE_FOUND = "method.none-found";
    /// Mean change on tagged plants.
    PAIRED_CHANGE = "method.paired-change";
    /// Ratio of densities from a regression of counts.
    RATIO_OF_DENSITIES = "method.ratio-of-densities";
    /// Before-after control-impact ratio.
    BEFORE_AFTER_CONTROL_IMPACT = "method.before-after-control-impact";

    /// Clusters were chosen by chance with equal chances.
    ASSUMED_RANDOM_CLUSTERS = "assumed.random-clusters";
    /// Strata were sampled by chance, each for itself.
    ASSUMED_RANDOM_WITHIN_STRATA = "assumed.random-within-strata";
    /// Host count and animal count are independent.
    ASSUMED_HOSTS_INDEPENDENT = "assumed.host-count-independent";
    /// No host plant stood: zero per hectare, and no value per stem.
    ASSUMED_NO_HOSTS = "assumed.no-hosts-standing";
    /// Bootstrap resamples whole units as they were drawn.
    ASSUMED_RESAMPLED_UNITS = "assumed.resampled-units";
    /// The bias correction failed, so plain percentiles stand there.
    ASSUMED_PLAIN_PERCENTILES = "assumed.plain-percentiles";
    /// k comes from a pool of other checks of the same kind.
    ASSUMED_POOLED_K = "assumed.pooled-k";
    /// The comparison is about the one site that was visited.
    ASSUMED_ABOUT_ONE_SITE = "assumed.about-one-site-alone";
    /// Differences between sites are taken out by a term for each site.
    ASSUMED_SITE_TERMS = "assumed.site-terms";
    /// The contrast lies between sites, so differences between sites are not taken out.
    ASSUMED_NO_SITE_TERMS = "assumed.no-site-terms";
    /// Differences between weeks are taken out by a term for each week.
    ASSUMED_WEEK_TERMS = "assumed.week-terms";
    /// The contrast lies between weeks, so differences between weeks are not taken out.
    ASSUMED_NO_WEEK_TERMS = "assumed.no-week-terms";
    /// So few sites that the interval is widened by a rule and still rough.
    ASSUMED_FEW_CLUSTERS = "assumed.few-clusters";
    /// Undecided things are split as the decided ones are.
    ASSUMED_SPLIT_LIKE_DECIDED = "assumed.split-like-decided";
    /// Undecided things are split as audited undecided ones were.
    ASSUMED_SPLIT_LIKE_AUDITED = "assumed.split-like-audited";
    /// Shares of neighbouring visits helped to split.
    ASSUMED_NEIGHBOURING_VISITS = "assumed.neighbouring-visits";

    /// Plants of the observer's choice do not go into figures per hectare.
    REFUSED_OBSERVERS_CHOICE = "refused.observers-choice-per-hectare";
    /// Host plants stand, but nothing is known of the animals per stem.
    REFUSED_NO_DENSITY = "refused.no-density-per-stem";
    /// The k comes from too few checks.
    REFUSED_K_FROM_TOO_FEW = "refused.k-from-too-few-checks";
    /// In simulated samples like this such intervals held the truth in fewer than 92 of 100; `coverage_of` has the number.
    NOTED_COVERAGE_BELOW_92 = "noted.coverage-below-92";

    /// One side of the comparison has no animal at all.
    REFUSED_SIDE_WITHOUT_ANIMALS = "refused.side-without-animals";
    /// One side of the comparison has no visit.
    REFUSED_SIDE_WITHOUT_VISITS = "refused.side-without-visits";
    /// The contrast cannot be told from the other terms.
    REFUSED_NOT_IDENTIFIED = "refused.not-identified";
    /// The work was stopped.
    REFUSED_STOPPED = "refused.stopped";
    /// The statistic has no value for this sample.
    REFUSED_NO_STATISTIC = "refused.no-statistic";
    /// All effort or size is zero.
    REFUSED_NO_EFFORT = "refused.no-effort";
}
