//! Photos taken and lost.

use super::{Beside, Plan};
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use crate::photo::{files, jpeg};
use ::sync::engine::KnownPhoto;
use ::sync::wire::photo::PhotoState;
use survey::chain::blob_hash;
use survey::check::{PhotoOf, PhotoTaken};
use survey::entry::{Act, PhotoLost, Scope};
use survey::ids::{PhotoId, SiteId};

impl Handset {
    /// Keeps a photo. The shell hands over a JPEG with the orientation baked in, at most 2,560 px a side; every
    /// segment that is not needed to draw it is left out, so that neither place nor time nor device stay in it.
    ///
    /// A photo of a count or a check belongs to the visit in hand, one of a find or a site to `site`.
    ///
    /// # Errors
    /// `picture-not-usable`, `no-visit`, `not-here`; storage.
    pub fn take_photo(&mut self, site: Option<SiteId>, of: PhotoOf, picture: &[u8]) -> Result<PhotoId, HandsetError> {
        let picture = jpeg::strip(picture).map_err(|error| Error::refused(Why::PictureNotUsable, error))?;
        let scope = self.scope_of_photo(site, &of)?;
        let photo = self.draw(PhotoId::timed);
        let salt = self.around.random.octets();
        let hash = blob_hash(salt, &picture);
        let length = picture.len() as u64;
        let name = files::write(&*self.around.disk.files, &self.folder, photo, &picture)?;
        let act = Act::PhotoTaken(PhotoTaken { photo, length, hash, of });
        let beside = Beside::Photo { photo, hash, salt, length, name: name.clone() };
        if let Err(error) = self.commit(&Plan::one(scope, act).beside(beside)) {
            files::remove(&*self.around.disk.files, &self.folder, &name);
            return Err(error.into());
        }
        let (stream, seq) = (self.stream.id, self.stream.head.seq);
        self.photo_added(KnownPhoto { id: photo, stream, seq, bytes: length, state: PhotoState::default() });
        Ok(photo)
    }

    /// Says that a photo's file was lost before the station had it, and lets go of what is left of it.
    ///
    /// # Errors
    /// `not-here` for a photo that is not of this device; storage.
    pub fn lose_photo(&mut self, photo: PhotoId) -> Result<(), HandsetError> {
        Ok(self.mark_photo_lost(photo)?)
    }

    pub(crate) fn mark_photo_lost(&mut self, photo: PhotoId) -> Result<(), Error> {
        let (scope, name) = files::own_photo(self, photo)?.ok_or_else(|| Error::refused(Why::NotHere, photo))?;
        let plan = Plan::one(scope, Act::PhotoLost(PhotoLost { photo })).beside(Beside::PhotoGone(photo));
        self.commit(&plan)?;
        if let Some(name) = name {
            files::remove(&*self.around.disk.files, &self.folder, &name);
        }
        self.photo_gone(photo);
        Ok(())
    }

    /// Lets go of the files of photos that the station has backed up and that were taken at least 30 days ago; what
    /// is said of them stays. Returns how many.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn let_go_of_photos(&mut self) -> Result<u64, HandsetError> {
        let now = self.around.clock.now().wall;
        Ok(files::let_go(&self.db, &*self.around.disk.files, &self.folder, now)?)
    }

    fn scope_of_photo(&self, site: Option<SiteId>, of: &PhotoOf) -> Result<Scope, Error> {
        match of {
            PhotoOf::Site | PhotoOf::OutsideFind(_) => {
                let site = site.ok_or_else(|| Error::refused(Why::NotHere, "a photo of a site names the site"))?;
                self.known_site(site)?;
                if let PhotoOf::OutsideFind(find) = of
                    && self.memory.sites.entry(*find).is_none()
                {
                    return Err(Error::refused(Why::NotHere, find));
                }
                Ok(Scope::Site(site))
            }
            PhotoOf::Count(count) => {
                let hand = self.in_hand()?;
                let known = hand.group.fold.entry(*count).is_some();
                if known { Ok(hand.scope()) } else { Err(Error::refused(Why::NotHere, count)) }
            }
            PhotoOf::Check(check) => {
                let hand = self.in_hand()?;
                let known = hand.group.check(*check).is_some();
                if known { Ok(hand.scope()) } else { Err(Error::refused(Why::NotHere, check)) }
            }
        }
    }
}
