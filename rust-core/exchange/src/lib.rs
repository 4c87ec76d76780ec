//! Files of other people's formats, in and out: `GeoJSON` and GPX so far. Pure: bytes and text are arguments and results.

mod gpx_in;
mod limits;
mod sites_in;
mod sites_out;

pub use gpx_in::{Lines, read_gpx};
pub use limits::{FileError, MOST_BYTES, MOST_FEATURES, MOST_LEVELS, MOST_POINTS, MOST_VALUES};
pub use sites_in::{FeatureError, Problem, SiteRead, SitesRead, read_sites};
pub use sites_out::{SiteToWrite, sites_geojson};
