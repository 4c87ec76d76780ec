//! Sun, heat and ground: where and when a visit takes place.

mod ground;
mod heat;
mod solar;
mod sun;

ids! {
    /// Heat index by the regression of the United States weather service.
    HEAT_INDEX = "method.heat-index";
    /// It is shady and the wind is light; in full sun it feels up to 8 °C hotter.
    ASSUMED_SHADE = "assumed.shade";
    /// Temperature or humidity is beyond what the regression was made from.
    ASSUMED_BEYOND_HEAT_TABLE = "assumed.beyond-heat-table";
    /// It may be tiring.
    HEAT_CAUTION = "heat.caution";
    /// Cramps and exhaustion are possible.
    HEAT_EXTREME_CAUTION = "heat.extreme-caution";
    /// Exhaustion is likely, stroke is possible: stop.
    HEAT_DANGER = "heat.danger";
    /// Stroke is likely: stop.
    HEAT_EXTREME_DANGER = "heat.extreme-danger";
    /// Not hot.
    HEAT_NONE = "heat.none";
}

pub use ground::{Ellipsoid, GeodesicLine, Ring, direct, inverse, ring};
pub use heat::{HeatCategory, HeatIndex, HeatRange, heat_index};
pub use solar::{SolarPosition, equation_of_time, solar_position};
pub use sun::{Crossing, SunAt, SunDay, sun_at, sun_day};
