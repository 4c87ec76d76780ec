//! Looking a visit over, and its end.

use super::review;
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::ReviewScreen;

#[uniffi::export]
impl Leafturn {
    /// The review of the visit in hand.
    pub fn review(&self) -> Result<ReviewScreen, Failure> {
        self.held.act(review)
    }

    /// Ends this phone's part of the visit in hand.
    pub fn end_visit(&self) -> Result<ReviewScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.end_visit()?;
            review(handset, voice)
        })
    }
}
