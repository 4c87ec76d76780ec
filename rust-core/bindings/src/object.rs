//! The one object that a shell holds.

use crate::held::Held;

/// The phone side of one observer's device. Call it on one thread; each call does one act and returns the record of its
/// screen, complete and with its words. What a call shows is durable when it returns.
#[derive(uniffi::Object)]
pub struct Leafturn {
    pub(crate) held: Held,
}
