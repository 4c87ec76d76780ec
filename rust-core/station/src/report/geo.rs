//! The reported sites as GeoJSON, no finer than each may be published.

use super::analysis::SiteReport;
use super::load::Loaded;
use exchange::{SiteToWrite, sites_geojson};

/// The sites.
pub fn sites(sites: &[(Loaded, SiteReport)]) -> String {
    let write = |(loaded, _): &(Loaded, SiteReport)| SiteToWrite {
        id: loaded.site.id,
        name: loaded.site.name.clone(),
        place: loaded.site.place.clone(),
        precision: loaded.site.public_precision,
        privacy: loaded.site.private,
    };
    sites_geojson(&sites.iter().map(write).collect::<Vec<_>>())
}
