//! Mistakes planted on purpose: the worlds have to notice each of them within the number that a test run plays.

use survey::defect::{Defect, clear, plant};
use worlds::Coverage;
use worlds::run::{Plan, Stage};

/// What `tests/run worlds` plays by default.
const PLAYED: u64 = 3000;

/// Those that worlds can notice; the others are about the disk and have rehearsals of their own.
const HERE: [Defect; 6] = [
    Defect::LastOfBatchDropped,
    Defect::MarkerUnchecked,
    Defect::TakeBackTwice,
    Defect::FeedCursorUnchecked,
    Defect::WrongBranchAcknowledged,
    Defect::TokenByPrefix,
];

/// One test, for a planted mistake is there for the whole process.
#[test]
fn every_planted_mistake_is_noticed_and_without_one_nothing_is() {
    std::panic::set_hook(Box::new(|_| {}));
    let folder = tempfile::tempdir().unwrap();
    let mut stage = Stage::new(folder.path()).unwrap();
    clear();
    let mut first = |most: u64| {
        (1..=most).find_map(|seed| {
            let trouble = stage.play(&Plan::of(seed), &mut Coverage::default()).err()?;
            Some((seed, trouble))
        })
    };
    assert_eq!(first(100), None, "a control without any mistake");
    for defect in HERE {
        plant(defect);
        let noticed = first(PLAYED);
        clear();
        let (seed, trouble) = noticed.unwrap_or_else(|| panic!("{defect:?} was not noticed in {PLAYED} worlds"));
        println!("{defect:?} noticed by world {seed}: {}", trouble.kind());
    }
    assert_eq!(first(20), None, "a control after the mistakes were taken out");
}
