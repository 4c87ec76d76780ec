//! The `leafturn` command.
fn main() {}
