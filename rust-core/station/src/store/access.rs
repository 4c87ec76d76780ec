//! Invitations, tokens, memberships.

use super::StoreError;
use crate::security::codes::{CodeDigest, Prefix};
use crate::security::secret::SecretHash;
use survey::ids::{DeviceId, SiteId};
use survey::time::UnixMs;

/// An invitation to be kept.
#[derive(Debug, Clone)]
pub struct Invitation {
    /// Keyed digest of the code.
    pub digest: CodeDigest,
    /// Its public prefix.
    pub prefix: Prefix,
    /// Sites that it opens.
    pub sites: Vec<SiteId>,
    /// For whom, in the coordinator's words; kept in the table of names.
    pub name: Option<String>,
    /// When it was made.
    pub made: UnixMs,
    /// When it dies.
    pub expires: UnixMs,
}

/// What became of an invitation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Invited {
    /// Kept.
    Kept,
    /// A living invitation has the same prefix: draw another code.
    PrefixTaken,
}

/// A phone that wants to join.
#[derive(Debug, Clone, Copy)]
pub struct Joining {
    /// Keyed digest of the code that it gave.
    pub digest: CodeDigest,
    /// Prefix of that code.
    pub prefix: Prefix,
    /// The phone.
    pub device: DeviceId,
    /// Hash of the token that it made.
    pub token: SecretHash,
    /// When.
    pub at: UnixMs,
}

/// What became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Redeemed {
    /// The phone has joined, or had with the same code, device and token before.
    Joined {
        /// The sites that the invitation opens.
        sites: Vec<SiteId>,
    },
    /// No living invitation has this code; the try is counted against its prefix.
    Unknown,
    /// Another phone or token has used the code.
    Spent,
    /// The device has a living token already, and this is another.
    DeviceTaken,
}

/// A token known to the station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TokenRow {
    /// Whose.
    pub device: DeviceId,
    /// Whether it still opens anything.
    pub state: TokenState,
}

/// Whether a token opens anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenState {
    /// It does.
    Living,
    /// It was revoked.
    Revoked,
}

/// A device that has joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceRow {
    /// Which.
    pub device: DeviceId,
    /// What the coordinator calls it, from the table of names.
    pub name: Option<String>,
    /// When it first joined.
    pub joined: UnixMs,
    /// Whether it has a living token.
    pub state: TokenState,
    /// The sites that it reads.
    pub sites: Vec<SiteId>,
}

/// Invitations, tokens, memberships.
pub trait AccessStore {
    /// Keeps an invitation.
    ///
    /// # Errors
    /// Where the store cannot.
    fn invite(&self, invitation: &Invitation) -> Result<Invited, StoreError>;

    /// Spends a code, or recognises that this very phone and token spent it. A code dies at its time or after
    /// [`crate::security::codes::MOST_TRIES`] wrong tries against its prefix.
    ///
    /// # Errors
    /// Where the store cannot.
    fn redeem(&self, joining: &Joining) -> Result<Redeemed, StoreError>;

    /// The token with this hash.
    ///
    /// # Errors
    /// Where the store cannot.
    fn token(&self, token: SecretHash) -> Result<Option<TokenRow>, StoreError>;

    /// Revokes the tokens of a device and ends its memberships; the device may join again with another token.
    ///
    /// # Errors
    /// Where the store cannot.
    fn revoke(&self, device: DeviceId) -> Result<(), StoreError>;

    /// Makes a device a member of a site.
    ///
    /// # Errors
    /// Where the store cannot.
    fn grant(&self, device: DeviceId, site: SiteId, at: UnixMs) -> Result<(), StoreError>;

    /// The sites a device is a member of, in order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn memberships(&self, device: DeviceId) -> Result<Vec<SiteId>, StoreError>;

    /// Every device that has joined, in order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn devices(&self) -> Result<Vec<DeviceRow>, StoreError>;
}
