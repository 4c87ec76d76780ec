//! The edge: the only places where the station reads a clock or a random source.

pub mod clock;
pub mod random;
