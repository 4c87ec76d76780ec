//! Plants beside their counts, photos, and animals found outside the sample.

use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{DetailsScreen, FindTyped, OutsideScreen, PhotoShows, PlantTyped, read};

#[uniffi::export]
impl Leafturn {
    /// The details of the open plant, or of the one named.
    pub fn details(&self, check: Option<String>) -> Result<DetailsScreen, Failure> {
        self.held.act(|handset, voice| {
            let check = check.as_deref().map(read).transpose()?;
            Ok(DetailsScreen::of(&handset.details(check)?, &handset.settings()?, voice))
        })
    }

    /// Describes a plant: the one named.
    pub fn describe_plant(&self, check: String, typed: PlantTyped) -> Result<DetailsScreen, Failure> {
        self.held.act(|handset, voice| {
            let (check, settings) = (Some(read(&check)?), handset.settings()?);
            handset.describe_plant(check, typed.read(settings.units)?)?;
            Ok(DetailsScreen::of(&handset.details(check)?, &settings, voice))
        })
    }

    /// Keeps a photo of a count, a plant, a find or a site: a JPEG with its orientation baked in, at most 2,560 pixels a
    /// side. Everything in it that is not needed to draw it is left out. Returns the photo's id.
    pub fn take_photo_of(&self, shows: PhotoShows, jpeg: Vec<u8>) -> Result<String, Failure> {
        self.held.act(|handset, _| {
            let (site, of) = shows.read()?;
            Ok(handset.take_photo(site, of, &jpeg)?.to_string())
        })
    }

    /// Animals found outside the sample at a site.
    pub fn outside(&self, site: String) -> Result<OutsideScreen, Failure> {
        self.held.act(|handset, voice| Ok(OutsideScreen::of(&handset.site(read(&site)?)?, voice)))
    }

    /// Notes an animal found outside the sample.
    pub fn found_outside(&self, site: String, find: FindTyped) -> Result<OutsideScreen, Failure> {
        self.held
            .act(|handset, voice| Ok(OutsideScreen::of(&handset.found_outside(read(&site)?, find.read()?)?, voice)))
    }
}
