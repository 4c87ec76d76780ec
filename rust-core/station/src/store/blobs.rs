//! Photos, which come in parts, and texts.

use super::StoreError;
use survey::chain::Hash;
use survey::ids::{DeviceId, PhotoId, SiteId};
use survey::time::UnixMs;

/// Octets of a part of a photo but the last: 1 MiB.
pub const PART_OCTETS: u64 = 1024 * 1024;

/// Octets of photos that one device may declare: 4 GiB.
pub const PHOTO_QUOTA_OCTETS: u64 = 4 * 1024 * 1024 * 1024;

/// Octets of texts that one device may keep: 64 MiB.
pub const TEXT_QUOTA_OCTETS: u64 = 64 * 1024 * 1024;

/// A photo that an accepted entry declared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoRow {
    /// Whose.
    pub device: DeviceId,
    /// Which.
    pub photo: PhotoId,
    /// The site it belongs to.
    pub site: SiteId,
    /// Its declared length in octets.
    pub length: u64,
    /// Its declared salted hash.
    pub hash: Hash,
    /// How far it has come.
    pub state: PhotoState,
    /// When a back-up that holds it was made.
    pub backed_up: Option<UnixMs>,
}

/// How far a photo has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PhotoState {
    /// These parts are here, from 0.
    Partial(Vec<u32>),
    /// Whole and verified.
    Verified {
        /// Since when.
        at: UnixMs,
        /// The salt that lies with it.
        salt: [u8; 16],
    },
    /// Erased on request.
    Erased,
}

impl PhotoRow {
    /// How many parts it has, at least 1.
    pub fn parts(&self) -> u32 {
        u32::try_from(self.length.div_ceil(PART_OCTETS).max(1)).unwrap_or(u32::MAX)
    }

    /// How many octets a part has, `None` if there is no such part.
    pub fn part_octets(&self, part: u32) -> Option<u64> {
        match part.checked_add(1)?.cmp(&self.parts()) {
            std::cmp::Ordering::Less => Some(PART_OCTETS),
            std::cmp::Ordering::Equal => Some(self.length - u64::from(part) * PART_OCTETS),
            std::cmp::Ordering::Greater => None,
        }
    }
}

/// What became of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKept {
    /// It is noted.
    Kept,
    /// The device's quota of declared photos is used up.
    OverQuota,
}

/// What became of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextKept {
    /// It is kept, or was.
    Kept,
    /// No accepted entry of this device names it.
    NotNamed,
    /// It was erased, and stays so.
    Erased,
    /// The device's quota of texts is used up.
    OverQuota,
}

/// A text as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TextRow {
    /// Its salt and words.
    Text {
        /// The salt.
        salt: [u8; 16],
        /// The words, UTF-8.
        text: String,
    },
    /// Erased on request.
    Erased,
}

/// Photos and texts. The octets of photos lie in files beside the store; it keeps what is known of them.
pub trait BlobStore {
    /// The photo that an entry of this device declared.
    ///
    /// # Errors
    /// Where the store cannot.
    fn photo(&self, device: DeviceId, photo: PhotoId) -> Result<Option<PhotoRow>, StoreError>;

    /// The photos of a site, in order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn photos(&self, site: SiteId) -> Result<Vec<PhotoRow>, StoreError>;

    /// How many photos of a site were declared and are neither whole nor erased.
    ///
    /// # Errors
    /// Where the store cannot.
    fn photos_to_come(&self, site: SiteId) -> Result<u64, StoreError>;

    /// Notes that a part is on the disk, unless the photo would take the device over its quota.
    ///
    /// # Errors
    /// Where the store cannot.
    fn part_kept(&self, device: DeviceId, photo: PhotoId, part: u32) -> Result<PartKept, StoreError>;

    /// Forgets every part of a photo that is not verified.
    ///
    /// # Errors
    /// Where the store cannot.
    fn drop_parts(&self, device: DeviceId, photo: PhotoId) -> Result<(), StoreError>;

    /// Notes that the whole is on the disk and fits its hash with this salt.
    ///
    /// # Errors
    /// Where the store cannot.
    fn photo_verified(&self, device: DeviceId, photo: PhotoId, salt: [u8; 16], at: UnixMs) -> Result<(), StoreError>;

    /// Keeps a text that an accepted entry of this device names, under its salted hash, which the caller has checked.
    ///
    /// # Errors
    /// Where the store cannot.
    fn put_text(
        &self,
        device: DeviceId,
        hash: Hash,
        salt: [u8; 16],
        text: &str,
        at: UnixMs,
    ) -> Result<TextKept, StoreError>;

    /// A text, if this device wrote it or is a member of a site where an entry names it.
    ///
    /// # Errors
    /// Where the store cannot.
    fn text_for(&self, device: DeviceId, hash: Hash) -> Result<Option<TextRow>, StoreError>;

    /// Texts that accepted entries of this device name and that are not here, erased ones left out; at most `most`.
    ///
    /// # Errors
    /// Where the store cannot.
    fn texts_wanted(&self, device: DeviceId, most: usize) -> Result<Vec<Hash>, StoreError>;

    /// A text that an entry of this site names, for pages.
    ///
    /// # Errors
    /// Where the store cannot.
    fn text_at(&self, site: SiteId, hash: Hash) -> Result<Option<TextRow>, StoreError>;
}
