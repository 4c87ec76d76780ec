//! Sites, and the beginning of a visit.

use super::{counting, sites, start};
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{self, Beginning, CountingScreen, NewSite, SitesScreen, StartScreen, read};

#[uniffi::export]
impl Leafturn {
    /// The list of sites.
    pub fn sites(&self) -> Result<SitesScreen, Failure> {
        self.held.act(sites)
    }

    /// Adds a site.
    pub fn add_site(&self, site: NewSite) -> Result<SitesScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.describe_site(None, records::place_of(&site)?)?;
            sites(handset, voice)
        })
    }

    /// What is asked before a visit to a site.
    pub fn start(&self, site: String) -> Result<StartScreen, Failure> {
        self.held.act(|handset, voice| start(handset, read(&site)?, voice))
    }

    /// Adds an observer by a name of the person's choice, which stays on this phone.
    pub fn add_observer(&self, site: String, name: String) -> Result<StartScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.add_observer(&name)?;
            start(handset, read(&site)?, voice)
        })
    }

    /// Begins a visit and takes it in hand.
    pub fn begin_visit(&self, beginning: Beginning) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let site = read(&beginning.site)?;
            let offered = handset.start(site)?.protocols;
            handset.begin_visit(site, beginning.with(offered)?)?;
            counting(handset, voice)
        })
    }
}
