//! Estimates of one site's season: densities, areas under the curve, shares. Pure: no clock, no chance, no file.
//!
//! One method a file. Every result is an [`Estimate`]: a value, its interval where there is one, the name of the
//! method, and what was assumed, all names being message ids. Where the data do not carry a result it is refused with
//! a [`Refusal`] that says why. Nothing here is corrected for animals that nobody saw: densities are "counted".

#[macro_use]
mod message;

pub mod clock;
pub mod degree_days;
pub mod sampling;
pub mod sky;

pub mod aggregation;
mod area;
mod clopper_pearson;
mod curve;
pub mod densities;
mod density;
mod doubt;
mod estimate;
mod mean;
mod numeric;
pub mod observers;
mod occupancy;
pub mod passage;
mod quantile;
mod refusal;
mod sample;
mod totals;
mod visits;
mod wilson;
pub mod years;

pub use area::{AreaOf, Point, area_under_curve, trapezoid};
pub use clopper_pearson::clopper_pearson;
pub use curve::{Composition, Share, ShareOf};
pub use curve::{Curve, CurvePoint, Measure, StageCurve, composition, curve};
pub use density::{Density, FEWEST_FOR_A_MEAN, Shown, density};
pub use doubt::{may_be_nothing, share_undecided};
pub use estimate::{Estimate, Interval, Level, Sides};
pub use mean::mean_per_unit;
pub use message::{MessageId, id};
pub use occupancy::occupancy;
pub use refusal::Refusal;
pub use sample::{Choice, Counted, Counts, Group, SiteSeason, VisitSample};
pub use totals::{StageTotal, totals_by_stage};
pub use visits::{Aside, visit_samples};
pub use wilson::wilson;
