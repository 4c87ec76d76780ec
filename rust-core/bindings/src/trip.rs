//! A call that panics: for the test that no panic leaves the library.

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
}
