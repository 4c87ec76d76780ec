//! A quick calibration of the built-in key; `examples/calibrate.rs` prints the whole.

mod calibration;

use calibration::{Leading, best_single, means_of, observer::CARES, percent, run, wrong_by_a_fifth};
use stagekey::{Key, Means};

/// Things of each of 13 outcomes; the whole calibration takes 10 000.
const EACH: u32 = 60;
const SEED: u64 = 9;

#[test]
fn support_means_what_it_says_and_beats_one_character() {
    let key = Key::monarch();
    for care in &CARES {
        let result = run(&key, care, &means_of(care), Leading::Next, EACH, SEED);
        let length = run(&key, care, &means_of(care), Leading::Only("body-length", Means::Measuring), EACH, SEED);
        let (name, single) = best_single(&key, care, EACH / 4, SEED);
        let brier = result.brier_score();
        assert!(brier < 0.5 * length.brier_score(), "{}: {brier} {}", care.name, length.brier_score());
        assert!(brier < 0.6 * single, "{}: {brier}, {name} {single}", care.name);
        // It must not claim more than it keeps: in all, and in the highest tenth.
        assert!(result.overconfidence() < 0.05, "{}: {}", care.name, result.overconfidence());
        assert!(result.calibration_error() < 0.08, "{}: {}", care.name, result.calibration_error());
        let (number, sum, hits) = result.best_bins[9];
        assert!(f64::from(hits) / f64::from(number) > sum / f64::from(number) - 0.05, "{}", care.name);
        assert!(percent(result.held, result.animals) > 90.0, "{}", care.name);
        assert!(percent(result.decided, result.animals) > 40.0, "{}", care.name);
        assert!(percent(result.decided_right, result.decided) > 90.0, "{}", care.name);
        assert!(percent(result.best_right, result.animals) > 75.0 && result.seconds > 0.0);
        assert!(result.bins.iter().map(|bin| bin.0).sum::<u32>() == 13 * result.animals);
        assert!(
            result.by_truth.values().all(|row| row.held > 0 && row.questions > 0 && row.decided_right <= row.decided)
        );
        assert!(result.by_truth.values().all(|row| !row.proposed.is_empty() && row.animals == EACH));
        let wrong = run(&wrong_by_a_fifth(&key, 1), care, &means_of(care), Leading::Next, EACH, SEED);
        assert!((wrong.brier_score() - brier).abs() < 0.06, "{}: {} {brier}", care.name, wrong.brier_score());
        assert!(f64::from(result.questions) / f64::from(result.animals) < 7.0);
        if care.name == "careful" {
            let clear = f64::from(result.clear_questions) / f64::from(result.clear);
            assert!(clear <= 4.0, "questions for a clear specimen: {clear}");
        }
    }
}
