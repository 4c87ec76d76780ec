//! Seasons and years: curves by week, indices, trends under rules for few years and few sites, and which day for mowing
//! costs least.

mod few_years;
mod index;
mod log_linear;
mod mann_kendall;
mod mowing;
mod site_year;
mod theil_sen;
mod weekly;

pub use few_years::{FEWEST_SITES_FOR_A_WORD, FEWEST_YEARS_FOR_A_WORD, Wording, wording};
pub use index::{SeasonIndex, season_index};
pub use log_linear::{LogLinear, TrendModel, log_linear};
pub use mann_kendall::{MannKendall, mann_kendall};
pub use mowing::{Cut, Laying, LivingMean, Mowing, MowingVisit, RankedCut, mowing};
pub use site_year::{SiteYear, SiteYears, YearIndex, site_years};
pub use theil_sen::{TheilSen, theil_sen};
pub use weekly::{Week, weekly};

ids! {
    /// Area under the weekly curve.
    SEASON_INDEX = "method.season-index";
    /// Mann-Kendall.
    MANN_KENDALL = "method.mann-kendall";
    /// Theil-Sen slope.
    THEIL_SEN = "method.theil-sen";
    /// Change per year from a Poisson regression.
    LOG_LINEAR_POISSON = "method.log-linear-poisson";
    /// The same with the scatter estimated.
    LOG_LINEAR_QUASI = "method.log-linear-quasi-poisson";
    /// The same with a negative binomial.
    LOG_LINEAR_CLUMPED = "method.log-linear-negative-binomial";
    /// Site and year effects.
    SITE_YEAR = "method.site-and-year-effects";
    /// Expected living immatures on a day of mowing.
    MOWING = "method.mowing-ranked";

    /// Sites were chosen, not drawn: chosen sites hold more and change otherwise than others.
    ASSUMED_SITE_SELECTION = "assumed.sites-were-chosen";
    /// Years are independent of each other.
    ASSUMED_YEARS_INDEPENDENT = "assumed.years-independent";
    /// The change per year is the same all the time.
    ASSUMED_CONSTANT_CHANGE = "assumed.constant-change";
    /// Sites scatter each for itself.
    ASSUMED_SITES_INDEPENDENT = "assumed.sites-independent";
    /// Weeks without a visit were filled by straight lines.
    ASSUMED_WEEKS_INTERPOLATED = "assumed.weeks-interpolated";
    /// Before the first and after the last visited week nothing is added.
    ASSUMED_NOTHING_OUTSIDE_SEASON = "assumed.nothing-outside-the-season";
    /// Nothing more is laid.
    ASSUMED_NO_NEW_LAYING = "assumed.no-new-laying";
    /// Laying goes on as in the last two weeks.
    ASSUMED_LAYING_GOES_ON = "assumed.laying-as-in-last-two-weeks";
    /// Ages within a stage are evenly spread.
    ASSUMED_EVEN_AGES = "assumed.even-ages-within-stage";
    /// No losses but by leaving as pupa, where no survival was stated.
    ASSUMED_BEFORE_LOSSES = "assumed.before-losses";
    /// The coming weather is a forecast or a normal.
    ASSUMED_WEATHER_TO_COME = "assumed.weather-to-come";

    /// Values only: too few years for a word on their course.
    WORDING_TOO_FEW_YEARS = "wording.values-only-few-years";
    /// Values only: one site says nothing about others.
    WORDING_ONE_SITE = "wording.values-only-one-site";
    /// Rising.
    WORDING_RISING = "wording.rising";
    /// Falling.
    WORDING_FALLING = "wording.falling";
    /// No direction shown.
    WORDING_NO_DIRECTION = "wording.no-direction-shown";

    /// Two values for one year.
    REFUSED_SAME_YEAR = "refused.same-year";
    /// Rows of the stages differ in length.
    REFUSED_SHAPE = "refused.stages-shape";
    /// No visit in the last eight days.
    REFUSED_NO_RECENT_VISIT = "refused.no-visit-in-eight-days";
    /// The cut lies before today, or beyond the stated weather.
    REFUSED_CUT_OUT_OF_RANGE = "refused.cut-out-of-range";
    /// The terms cannot be told from each other.
    REFUSED_NOT_IDENTIFIED = "refused.not-identified";
    /// Visits may not lie after today.
    REFUSED_VISIT_AFTER_TODAY = "refused.visit-after-today";
}
