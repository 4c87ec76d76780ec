//! Files of other people's formats, in and out: `GeoJSON` so far. Pure: bytes and text are arguments and results.

mod limits;
mod sites_in;
mod sites_out;

pub use limits::{FileError, MOST_BYTES, MOST_LEVELS};
pub use sites_in::{FeatureError, Problem, SiteRead, SitesRead, read_sites};
pub use sites_out::{SiteToWrite, sites_geojson};
