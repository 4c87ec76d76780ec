//! Sites, and the beginning of a visit.

use super::{counting, sites, start};
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{
    self, Beginning, CountingScreen, Fix, NewSite, PlaceGiven, PlaceSaid, PlacesFound, PrecisionChoice, SiteScreen,
    SiteTyped, SitesScreen, StartScreen, read,
};
use handset::HandsetError;
use handset::acts::places_of_file;
use survey::place::PublicPrecision;

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

    /// The list of sites, the nearest to a fix of the phone first.
    pub fn sites_near(&self, here: Fix) -> Result<SitesScreen, Failure> {
        self.held.act(|handset, voice| {
            Ok(SitesScreen::of(&handset.sites_near(here.pin()?)?, &handset.sync_status()?, voice))
        })
    }

    /// One site with its visits.
    pub fn site(&self, site: String) -> Result<SiteScreen, Failure> {
        self.held.act(|handset, voice| Ok(SiteScreen::of(&handset.site(read(&site)?)?, voice)))
    }

    /// Describes a site, or without one adds one.
    pub fn describe_site(&self, site: Option<String>, typed: SiteTyped) -> Result<SiteScreen, Failure> {
        self.held.act(|handset, voice| {
            let site = site.as_deref().map(read).transpose()?;
            Ok(SiteScreen::of(&handset.describe_site(site, typed.read()?)?, voice))
        })
    }

    /// Takes over a site that another phone shows, by its id and name, so that both count at one site.
    pub fn adopt_site(&self, site: String, name: String) -> Result<SiteScreen, Failure> {
        self.held.act(|handset, voice| Ok(SiteScreen::of(&handset.adopt_site(read(&site)?, &name)?, voice)))
    }

    /// How finely a place may be published, each with its meaning.
    pub fn precisions(&self) -> Result<Vec<PrecisionChoice>, Failure> {
        self.held.act(|_, voice| Ok::<_, HandsetError>(records::precisions(PublicPrecision::default(), voice)))
    }

    /// A place in words before it is kept: averaged fixes with their accuracy, an edge with its area.
    pub fn say_place(&self, place: PlaceGiven) -> Result<PlaceSaid, Failure> {
        self.held.act(|_, voice| Ok(PlaceSaid::of(place.read()?.as_ref(), voice)))
    }

    /// The places of a GPX or `GeoJSON` file.
    pub fn places_of_file(&self, content: Vec<u8>) -> Result<PlacesFound, Failure> {
        self.held.act(|_, voice| Ok(PlacesFound::of(&places_of_file(&content)?, voice)))
    }

    /// Takes another visit in hand: to go on with it, to look at it or to correct it.
    pub fn take_in_hand(&self, visit: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.take_in_hand(read(&visit)?)?;
            counting(handset, voice)
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
