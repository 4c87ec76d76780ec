//! What only tests and measurements call.

use crate::failure::Failure;
use crate::object::Leafturn;

#[uniffi::export]
impl Leafturn {
    /// Panics inside, halfway through an act.
    ///
    /// # Errors
    /// Always: [`Failure::StartedAgain`].
    pub fn trip(&self) -> Result<(), Failure> {
        self.held.act(|_, _| panic!("asked to panic"))
    }

    /// Puts one bare row down beside the journal, durable when this returns: nanoseconds that it took, without the way over
    /// the boundary. A tap is measured against it.
    ///
    /// # Errors
    /// Storage.
    pub fn bare_insert(&self) -> Result<u64, Failure> {
        self.held.act(|handset, _| Ok(u64::try_from(handset.bare_insert()?.as_nanos()).unwrap_or(u64::MAX)))
    }
}
