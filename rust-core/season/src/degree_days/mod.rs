//! Degree-days: heat above a threshold, summed over days.
//!
//! One method a file; [`Method`] names them, [`sum`] adds a method's days up and keeps missing days apart from zeros.

mod average;
mod clamped_average;
mod cutoff;
mod day;
mod double_sine;
mod double_triangle;
mod fahrenheit;
mod gaps;
mod hourly;
mod method;
mod sine;
mod sum;
mod temperature;
mod thresholds;
mod triangle;
mod weather;

ids! {
    /// Degree-days by the simple average.
    DEGREE_DAYS_AVERAGE = "method.degree-days-average";
    /// Degree-days by the clamped average.
    DEGREE_DAYS_CLAMPED_AVERAGE = "method.degree-days-clamped-average";
    /// Degree-days by the single triangle.
    DEGREE_DAYS_SINGLE_TRIANGLE = "method.degree-days-single-triangle";
    /// Degree-days by the double triangle.
    DEGREE_DAYS_DOUBLE_TRIANGLE = "method.degree-days-double-triangle";
    /// Degree-days by the single sine.
    DEGREE_DAYS_SINGLE_SINE = "method.degree-days-single-sine";
    /// Degree-days by the double sine.
    DEGREE_DAYS_DOUBLE_SINE = "method.degree-days-double-sine";
    /// Degree-days from hourly temperatures.
    DEGREE_DAYS_HOURLY = "method.degree-days-hourly";
    /// Asks whether temperatures given as degrees Celsius are degrees Fahrenheit.
    ASK_IF_FAHRENHEIT = "ask.are-these-fahrenheit";
    /// The air of the weather station is as warm as the leaf.
    ASSUMED_AIR_IS_LEAF = "assumed.air-is-leaf";
    /// Where the next day is not known, its night is as cold as the day's own.
    ASSUMED_LAST_NIGHT_LIKE_OWN = "assumed.last-night-like-own";
}

pub use average::average;
pub use clamped_average::clamped_average;
pub use cutoff::{Cutoff, rate};
pub use day::Day;
pub use double_sine::double_sine;
pub use double_triangle::double_triangle;
pub use fahrenheit::{ScaleQuestion, looks_like_fahrenheit};
pub use gaps::{Filled, Gaps, Known, MOST_INTERPOLATED};
pub(crate) use gaps::{dates, earlier, later};
pub use hourly::{HourlySum, hourly};
pub use method::{Counting, Method, NoSuchCutoff};
pub use sine::sine;
pub use sum::{DayHeat, HeatSum, sum};
pub use temperature::{Celsius, Fahrenheit, Scale};
pub use thresholds::{ThresholdError, Thresholds};
pub use triangle::triangle;
pub use weather::{Weather, WeatherError};
