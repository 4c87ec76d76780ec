//! Acts on a site as a whole.

use super::{Plan, input};
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use crate::views::SiteView;
use std::collections::BTreeSet;
use survey::entry::{Act, PlantTagged, Scope, SitesJoined};
use survey::ids::{PlantId, SiteId};
use survey::site::{EggSeen, HostCount, Management, OutsideFind, PlantDescription, SiteDescription};

impl Handset {
    /// Describes a site, or with `None` a site that was not known. A field left out says nothing.
    ///
    /// # Errors
    /// `not-here` for a site nobody described, `text-not-usable`, `number-out-of-range`, `says-nothing`; storage.
    pub fn describe_site(
        &mut self,
        site: Option<SiteId>,
        description: SiteDescription,
    ) -> Result<SiteView, HandsetError> {
        let description = input::site(description)?;
        let (site, replaces) = match site {
            None => (self.draw(SiteId::timed), Vec::new()),
            Some(site) => {
                let state = self.memory.sites.site(site).ok_or_else(|| Error::refused(Why::NotHere, site))?;
                (site, state.described_by)
            }
        };
        self.commit(&Plan::default().and_replacing(Scope::Site(site), Act::SiteDescribed(description), replaces))?;
        self.site(site)
    }

    /// Takes over a site that another phone shows on its screen, by its id and name, so that both count at one site
    /// also where neither has a signal. A site that is known already is left as it is.
    ///
    /// # Errors
    /// `text-not-usable` for the name; storage.
    pub fn adopt_site(&mut self, site: SiteId, name: &str) -> Result<SiteView, HandsetError> {
        if self.memory.sites.site(site).is_none() {
            let description = SiteDescription { name: Some(name.to_owned()), ..SiteDescription::default() };
            let description = input::site(description)?;
            self.commit(&Plan::one(Scope::Site(site), Act::SiteDescribed(description)))?;
        }
        self.site(site)
    }

    /// Says that two sites are one.
    ///
    /// # Errors
    /// `not-here` for a site nobody described, `says-nothing` for one site twice; storage.
    pub fn join_sites(&mut self, one: SiteId, other: SiteId) -> Result<SiteView, HandsetError> {
        for site in [one, other] {
            self.known_site(site)?;
        }
        if self.memory.sites.site_group(one).contains(&other) {
            return Err(Error::refused(Why::SaysNothing, "the two are one site already").into());
        }
        let join = Act::SitesJoined(SitesJoined { sites: BTreeSet::from([one, other]) });
        self.commit(&Plan::one(Scope::Site(one), join))?;
        self.site(one)
    }

    /// Tags a plant, or with a plant's id describes its tag again.
    ///
    /// # Errors
    /// `not-here`, `text-not-usable`, `says-nothing`; storage.
    pub fn tag_plant(
        &mut self,
        site: SiteId,
        plant: Option<PlantId>,
        description: PlantDescription,
    ) -> Result<SiteView, HandsetError> {
        self.known_site(site)?;
        if description == PlantDescription::default() {
            return Err(Error::refused(Why::SaysNothing, "tagged plant").into());
        }
        let description = PlantDescription {
            label: description.label.as_deref().map(input::name).transpose()?,
            host: description.host.map(input::host).transpose()?,
            place: description.place,
        };
        let (plant, replaces) = match plant {
            None => (self.draw(PlantId::timed), Vec::new()),
            Some(plant) => {
                let plants = self.memory.sites.site(site).map(|state| state.plants).unwrap_or_default();
                let tagged = plants.into_iter().find(|tagged| tagged.id == plant);
                (plant, tagged.ok_or_else(|| Error::refused(Why::NotHere, plant))?.described_by)
            }
        };
        let act = Act::PlantTagged(PlantTagged { plant, description });
        self.commit(&Plan::default().and_replacing(Scope::Site(site), act, replaces))?;
        self.site(site)
    }

    /// Host stems counted in belts or plots of known size.
    ///
    /// # Errors
    /// `not-here`, `number-out-of-range`, `says-nothing` without a belt; storage.
    pub fn count_hosts(&mut self, site: SiteId, count: HostCount) -> Result<SiteView, HandsetError> {
        if count.belts.is_empty() {
            return Err(Error::refused(Why::SaysNothing, "a count of hosts has at least one belt").into());
        }
        for belt in &count.belts {
            input::within("square metres", belt.square_metres, 0.01, 1e7)?;
            for (host, stems) in &belt.stems {
                input::host(host.clone())?;
                input::within("stems", *stems, 0, 1_000_000)?;
            }
        }
        self.on_site(site, Act::HostsCounted(count))
    }

    /// An animal found outside the sample: for first and last dates, never in a density.
    ///
    /// # Errors
    /// `not-here`, `number-out-of-range`; storage.
    pub fn found_outside(&mut self, site: SiteId, find: OutsideFind) -> Result<SiteView, HandsetError> {
        input::count(find.number)?;
        find.place.as_ref().map_or(Ok(()), input::place)?;
        self.on_site(site, Act::FoundOutside(find))
    }

    /// Something done to the site.
    ///
    /// # Errors
    /// `not-here`, `number-out-of-range`; storage.
    pub fn note_management(&mut self, site: SiteId, management: Management) -> Result<SiteView, HandsetError> {
        input::within("share", management.share, 0.0, 1.0)?;
        self.on_site(site, Act::ManagementNoted(management))
    }

    /// A followed egg looked at.
    ///
    /// # Errors
    /// `not-here`, `number-out-of-range`; storage.
    pub fn see_egg(&mut self, site: SiteId, seen: EggSeen) -> Result<SiteView, HandsetError> {
        input::within("leaf pair", seen.leaf_pair, 1, 200)?;
        self.on_site(site, Act::EggSeen(seen))
    }

    pub(crate) fn known_site(&self, site: SiteId) -> Result<(), Error> {
        match self.memory.sites.site(site) {
            Some(_) => Ok(()),
            None => Err(Error::refused(Why::NotHere, site)),
        }
    }

    fn on_site(&mut self, site: SiteId, act: Act) -> Result<SiteView, HandsetError> {
        self.known_site(site)?;
        self.commit(&Plan::one(Scope::Site(site), act))?;
        self.site(site)
    }
}
