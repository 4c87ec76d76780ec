//! Animals passing through their stages, and what survives.
//!
//! The likelihood with a stage clock is the main method. The classical methods are for comparison only: each states what
//! it assumes, tests what it can, and refuses otherwise.

mod area;
mod clock_fit;
mod clock_likelihood;
mod clock_model;
mod clock_problem;
mod entering;
mod exposure;
mod kiritani_nakasuji;
mod knm;
mod knm_truncated;
mod logistic_exposure;
mod mayfield;
mod mean_date;
mod present;
mod richards_waloff;
mod series;
mod southwood;
mod tagged_area;

pub use area::stage_areas;
pub use clock_fit::{ClockFit, LikeliestClock, Survival, likeliest_clock, residence_band, stage_clock};
pub use clock_likelihood::{Development, Recruitment};
pub use clock_model::{ClockModel, Mortality, Residence, Scatter};
pub use entering::{Entering, entering};
pub use exposure::{Exposure, Fate};
pub use kiritani_nakasuji::kiritani_nakasuji;
pub use knm::{Knm, knm};
pub use knm_truncated::knm_truncated;
pub use logistic_exposure::{LogisticExposure, logistic_exposure};
pub use mayfield::{Mayfield, mayfield};
pub use mean_date::mean_date;
pub use present::{Present, present};
pub use richards_waloff::{RichardsWaloff, richards_waloff};
pub use series::StageSeries;
pub use southwood::southwood;
pub use tagged_area::tagged_area;

ids! {
    /// Area-weighted mean date.
    MEAN_DATE = "method.area-weighted-mean-date";
    /// Mean numbers present per unit of stage duration.
    PRESENT_PER_DURATION = "method.present-per-stage-duration";
    /// Ratio of the last stage's to the first's.
    PRESENT_RATIO = "method.present-ratio";
    /// Numbers entering a stage, given its daily mortality.
    ENTERING = "method.entering-with-mortality";
    /// Kiritani and Nakasuji.
    KIRITANI_NAKASUJI = "method.kiritani-nakasuji";
    /// Kiritani, Nakasuji and Manly.
    KNM = "method.kiritani-nakasuji-manly";
    /// The same for a series that ends early.
    KNM_TRUNCATED = "method.kiritani-nakasuji-manly-truncated";
    /// Southwood's graphical method.
    SOUTHWOOD = "method.southwood-area-by-duration";
    /// Richards and Waloff's first method.
    RICHARDS_WALOFF = "method.richards-waloff";
    /// Likelihood with a stage clock.
    STAGE_CLOCK = "method.stage-clock-likelihood";
    /// Mayfield's daily survival.
    MAYFIELD = "method.mayfield";
    /// Logistic exposure.
    LOGISTIC_EXPOSURE = "method.logistic-exposure";
    /// Area under the curve of tagged plants.
    TAGGED_AREA = "method.tagged-area";

    /// For comparison only, never the main figure.
    ASSUMED_FOR_COMPARISON = "assumed.for-comparison-only";
    /// Nobody dies within the stage.
    ASSUMED_NO_DEATH_WITHIN_STAGE = "assumed.no-death-within-stage";
    /// All stages die at the same rate per day.
    ASSUMED_EQUAL_SURVIVAL = "assumed.equal-survival-in-all-stages";
    /// The last stage stays where it is counted.
    ASSUMED_LAST_STAGE_STAYS = "assumed.last-stage-stays-countable";
    /// No laying after the samples used.
    ASSUMED_RECRUITMENT_ENDED = "assumed.recruitment-ended";
    /// One generation.
    ASSUMED_ONE_GENERATION = "assumed.one-generation";
    /// Stage durations are known without error.
    ASSUMED_KNOWN_DURATIONS = "assumed.known-durations";
    /// Daily mortality is known without error.
    ASSUMED_KNOWN_MORTALITY = "assumed.known-mortality";
    /// Ages within a stage are evenly spread where the series ends.
    ASSUMED_EVEN_AGES_AT_END = "assumed.even-ages-at-end";
    /// Laying over the season follows a bell-shaped curve.
    ASSUMED_BELL_SHAPED_LAYING = "assumed.bell-shaped-laying";
    /// Detection of each stage is as stated.
    ASSUMED_KNOWN_DETECTION = "assumed.known-detection";
    /// Detection is taken as 1: uncorrected.
    ASSUMED_UNCORRECTED_DETECTION = "assumed.uncorrected-detection";
    /// The last larvae stay on their plant for the stated share of their duration.
    ASSUMED_RESIDENCE = "assumed.residence-of-last-stage";
    /// Losses are the same on each day of an interval between checks.
    ASSUMED_CONSTANT_DAILY_SURVIVAL = "assumed.constant-daily-survival";
    /// A loss fell in the middle of its interval.
    ASSUMED_LOSS_AT_MIDPOINT = "assumed.loss-at-midpoint";
    /// Unknown fates and lost leaves are censored, not dead.
    ASSUMED_UNKNOWN_IS_CENSORED = "assumed.unknown-fate-is-censored";

    /// Times do not increase, or rows differ in length.
    REFUSED_SERIES_SHAPE = "refused.series-shape";
    /// Samples are not equally spaced.
    REFUSED_UNEQUAL_INTERVALS = "refused.unequal-intervals";
    /// The series does not start near zero.
    REFUSED_STARTS_ABOVE_ZERO = "refused.starts-above-zero";
    /// The series does not end near zero.
    REFUSED_ENDS_ABOVE_ZERO = "refused.ends-above-zero";
    /// Numbers do not fall after the peak.
    REFUSED_NO_DECLINE = "refused.numbers-do-not-fall";
    /// More than one peak: more than one generation, or gaps.
    REFUSED_TWO_PEAKS = "refused.more-than-one-peak";
    /// Recruitment had not ended when the samples begin.
    REFUSED_BEFORE_PEAK = "refused.samples-before-the-peak";
    /// A stage has no animals.
    REFUSED_STAGE_EMPTY = "refused.stage-without-animals";
    /// Durations have to be above zero and as many as stages.
    REFUSED_DURATIONS = "refused.durations";
    /// Not identified: the data say the same for all values up to the bound.
    REFUSED_NOT_IDENTIFIED = "refused.not-identified";
    /// The clock does not reach over the series.
    REFUSED_CLOCK_TOO_SHORT = "refused.clock-too-short";
    /// The correction for an early end does not settle.
    REFUSED_NOT_SETTLED = "refused.not-settled";
}
