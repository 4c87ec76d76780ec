//! The rehearsal can fail: each planted mistake is noticed, and without one nothing is.
#![cfg(feature = "seeded-defects")]

use crash::rehearse::{Images, Report, rehearse};
use crash::session::{Acts, Plan};
use survey::defect::{Defect, clear, plant};

/// The same sessions for the planted mistakes and for the control.
fn rehearsed() -> Report {
    let plans = [1, 2].map(|seed| Plan { seed, acts: 25, of: Acts::Taps });
    let mut whole = Report::default();
    for plan in plans {
        let report = rehearse(plan, Images::About(250), 1).unwrap();
        whole.images += report.images;
        whole.failures.extend(report.failures);
    }
    whole
}

#[test]
fn every_planted_mistake_is_noticed_and_its_absence_too() {
    for defect in [Defect::DoneBeforeCommit, Defect::SynchronousNormal, Defect::DirectoryUnsynced] {
        plant(defect);
        let report = rehearsed();
        clear();
        println!(
            "{defect:?}: noticed at {:?} after {} images",
            report.failures.first().map(ToString::to_string),
            report.images
        );
        assert!(!report.failures.is_empty(), "{defect:?} was not noticed in {} images", report.images);
    }
    let control = rehearsed();
    assert!(control.failures.is_empty(), "{:?}", control.failures);
    assert!(control.images > 400);
}
