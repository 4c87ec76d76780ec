//! An invented season played through real handsets and a real station.
fn main() {}
