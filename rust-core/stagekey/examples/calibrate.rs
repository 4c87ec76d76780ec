//! Calibrates the built-in key on simulated things that know nothing of the key file, and prints the tables.
//!
//! Usage: `cargo run --release -p stagekey --example calibrate [things of each outcome] [KEY.toml]`

#[path = "../tests/calibration/mod.rs"]
mod calibration;

use calibration::{Leading, best_single, means_of, observer::CARES, percent, run, wrong_by_a_fifth};
use stagekey::{Key, Means};

const SEED: u64 = 20_260_501;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let each: u32 = arguments.next().map_or(500, |number| number.parse().expect("a number of things"));
    let key = arguments.next().map_or_else(Key::monarch, |path| {
        let text = std::fs::read_to_string(&path).expect("the key file can be read");
        Key::load(&text).unwrap_or_else(|faults| panic!("{faults}"))
    });
    println!("{each} simulated things of each of 13 outcomes, seed {SEED}; invented, not real animals");
    for care in &CARES {
        let means = means_of(care);
        let result = run(&key, care, &means, Leading::Next, each, SEED);
        println!("\n== {}", care.name);
        println!(
            "best right {:.1} %, decided {:.1} % (of these right {:.1} %), undecided {:.1} %, truth in the proposal {:.1} %",
            percent(result.best_right, result.animals),
            percent(result.decided, result.animals),
            percent(result.decided_right, result.decided),
            100.0 - percent(result.decided, result.animals),
            percent(result.held, result.animals),
        );
        println!(
            "questions a thing {:.2}, a clear one {:.2}, seconds {:.1}",
            f64::from(result.questions) / f64::from(result.animals),
            f64::from(result.clear_questions) / f64::from(result.clear),
            result.seconds / f64::from(result.animals),
        );
        let length = run(&key, care, &means, Leading::Only("body-length", Means::Measuring), each, SEED);
        let (name, single) = best_single(&key, care, each.min(1000), SEED);
        println!(
            "Brier {:.4}; body length alone {:.4}; best single character {single:.4} ({name})",
            result.brier_score(),
            length.brier_score()
        );
        println!("calibration error {:.4}, overconfidence {:+.4}", result.calibration_error(), result.overconfidence());
        println!("support of the best   number   mean support   share true");
        for (tenth, (number, sum, hits)) in result.best_bins.iter().enumerate().filter(|(_, bin)| bin.0 > 0) {
            let n = f64::from(*number);
            println!(
                "  {:.1} to {:.1}   {number:>10}   {:>12.3}   {:>10.3}",
                tenth as f64 / 10.0,
                (tenth + 1) as f64 / 10.0,
                sum / n,
                f64::from(*hits) / n
            );
        }
        println!("support of any outcome: number, mean support, share true");
        for (number, sum, hits) in result.bins.iter().filter(|bin| bin.0 > 0) {
            let n = f64::from(*number);
            print!("  {number} {:.3} {:.3};", sum / n, f64::from(*hits) / n);
        }
        println!("\ntruth: questions, decided %, right of decided %, truth in the proposal %, proposed most");
        for (truth, row) in &result.by_truth {
            let mut proposed: Vec<_> = row.proposed.iter().collect();
            proposed.sort_by(|a, b| b.1.cmp(a.1));
            let most: Vec<_> =
                proposed.iter().take(4).map(|(name, n)| format!("{name} {:.0}", percent(**n, row.animals))).collect();
            println!(
                "  {truth:<13} {:.2} {:>5.1} {:>5.1} {:>5.1}  {}",
                f64::from(row.questions) / f64::from(row.animals),
                percent(row.decided, row.animals),
                percent(row.decided_right, row.decided),
                percent(row.held, row.animals),
                most.join(", ")
            );
        }
        let wrong: Vec<_> = (1..=5)
            .map(|seed| {
                let key = wrong_by_a_fifth(&key, seed);
                let other = run(&key, care, &means, Leading::Next, each.min(1000), SEED);
                format!(
                    "{:.4}/{:.1}/{:+.3}",
                    other.brier_score(),
                    percent(other.best_right, other.animals),
                    other.overconfidence()
                )
            })
            .collect();
        println!("likelihoods wrong by up to 20 %, five draws, Brier/best right %/overconfidence: {}", wrong.join(" "));
    }
}
