//! Photos: what is left of a picture, and where it lies.

pub(crate) mod files;
pub mod jpeg;
