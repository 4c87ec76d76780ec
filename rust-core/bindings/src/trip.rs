//! What only tests and measurements call.

use crate::failure::Failure;
use crate::object::Leafturn;
use handset::surroundings::{Clock, Surroundings};
use std::sync::atomic::{AtomicI64, Ordering};
use survey::time::{Now, UnixMs};

/// By how many milliseconds the wall clock was set, in this process.
static SET_BY: AtomicI64 = AtomicI64::new(0);

/// A clock that somebody may set.
struct Settable(Box<dyn Clock + Send>);

impl Clock for Settable {
    fn now(&self) -> Now {
        let now = self.0.now();
        Now { wall: UnixMs(now.wall.0.saturating_add(SET_BY.load(Ordering::Relaxed))), ..now }
    }
}

/// These surroundings, with a wall clock that [`Leafturn::set_wall_clock`] sets.
pub(crate) fn settable(around: Surroundings) -> Surroundings {
    Surroundings { clock: Box::new(Settable(around.clock)), ..around }
}

#[uniffi::export]
impl Leafturn {
    /// Panics inside, halfway through an act.
    ///
    /// # Errors
    /// Always: [`Failure::StartedAgain`].
    pub fn trip(&self) -> Result<(), Failure> {
        self.held.act(|_, _| panic!("asked to panic"))
    }

    /// Sets the wall clock of every journal of this process by this many milliseconds, counted from the true one; time
    /// since boot does not move.
    ///
    /// # Errors
    /// None that is its own.
    pub fn set_wall_clock(&self, by_ms: i64) -> Result<(), Failure> {
        self.held.act(|_, _| {
            SET_BY.store(by_ms, Ordering::Relaxed);
            Ok(())
        })
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
