//! Coordinators, their sign-in links and sessions.

use super::StoreError;
use crate::security::secret::SecretHash;
use survey::ids::{ObserverId, SiteId};
use survey::time::UnixMs;

/// How long a session lives without use: 12 h, in milliseconds.
pub const IDLE_MS: i64 = 12 * 60 * 60 * 1000;

/// How long a session lives however much it is used: 7 days, in milliseconds.
pub const LIFE_MS: i64 = 7 * 24 * 60 * 60 * 1000;

/// How long a sign-in link waits: 24 h, in milliseconds.
pub const LINK_MS: i64 = 24 * 60 * 60 * 1000;

/// What a coordinator may do. Each includes those before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// See pages and figures.
    Read,
    /// Review entries as well.
    Review,
    /// Invite, link, confirm and revoke as well.
    Administer,
}

/// A role, on one site or on all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grant {
    /// What may be done.
    pub role: Role,
    /// Where; everywhere if `None`.
    pub site: Option<SiteId>,
}

/// A coordinator.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Coordinator {
    /// A random id, as it stands in reviews.
    pub id: ObserverId,
    /// The name, from the table of names.
    pub name: String,
    /// What they may do.
    pub grants: Vec<Grant>,
}

impl Coordinator {
    /// Whether they may act as `role` on a site.
    pub fn may(&self, role: Role, site: SiteId) -> bool {
        self.grants.iter().any(|grant| grant.role >= role && grant.site.is_none_or(|own| own == site))
    }

    /// Whether they may act as `role` on every site.
    pub fn may_everywhere(&self, role: Role) -> bool {
        self.grants.iter().any(|grant| grant.role >= role && grant.site.is_none())
    }
}

/// Coordinators, their sign-in links and sessions.
pub trait CoordinatorStore {
    /// Adds a coordinator, or gives the one of this name further grants, with a one-time sign-in link that waits
    /// [`LINK_MS`]. `id` is used for somebody new. Gives the id that holds.
    ///
    /// # Errors
    /// Where the store cannot.
    fn add_coordinator(
        &self,
        id: ObserverId,
        name: &str,
        grants: &[Grant],
        link: SecretHash,
        at: UnixMs,
    ) -> Result<ObserverId, StoreError>;

    /// Spends a sign-in link and opens a session. `false` if there is no such link, it is spent or too old.
    ///
    /// # Errors
    /// Where the store cannot.
    fn sign_in(&self, link: SecretHash, session: SecretHash, at: UnixMs) -> Result<bool, StoreError>;

    /// The coordinator of a session that was used within [`IDLE_MS`] and opened within [`LIFE_MS`]; notes the use.
    ///
    /// # Errors
    /// Where the store cannot.
    fn session(&self, session: SecretHash, at: UnixMs) -> Result<Option<Coordinator>, StoreError>;

    /// Ends everything that the coordinator of this name may do: grants, sign-in links and sessions. Their name and what
    /// they reviewed stay. `false` if there is nobody of this name.
    ///
    /// # Errors
    /// Where the store cannot.
    fn revoke_coordinator(&self, name: &str) -> Result<bool, StoreError>;

    /// Ends a session.
    ///
    /// # Errors
    /// Where the store cannot.
    fn sign_out(&self, session: SecretHash) -> Result<(), StoreError>;
}
