//! Placeholder while the walk is built.
use stagekey::Key;
#[test]
fn loads() {
    if let Err(faults) = Key::load(stagekey::monarch_text()) { panic!("{faults}"); }
}
