//! How long one answer with its next question takes on the built-in key, beside multiplying the same tables once.
//!
//! Usage: `cargo run --release -p stagekey --example speed`

use stagekey::{Key, KeySession, Means, Next};
use std::hint::black_box;
use std::time::Duration;

const ROUNDS: u32 = 300;

fn main() {
    let key = Key::monarch();
    let answers = [
        ("shape", "smooth-caterpillar"),
        ("pairs", "two"),
        ("filament-reach", "reaches|beyond"),
        ("bands", "thin"),
        ("body-length", "12.5"),
        ("head-body", "equal"),
    ];
    let begin = KeySession::begin(&key, Means::ALL.into());
    let mut session = begin.clone();
    for (nth, (character, answer)) in answers.iter().enumerate() {
        let before = session.clone();
        let time = timed(|| {
            let after = before.typed(&key, character, answer).expect("a good answer");
            let next = after.next(&key).expect("the session belongs to the key");
            assert!(!matches!(next, Next::NothingLeft));
            black_box(after);
        });
        let floor = timed(|| {
            black_box(multiplied(&key));
        });
        session = before.typed(&key, character, answer).expect("a good answer");
        println!(
            "answer {} and next question: {:.1} us; multiplying the tables once: {:.1} us; ratio {:.1}",
            nth + 1,
            time.as_secs_f64() * 1e6,
            floor.as_secs_f64() * 1e6,
            time.as_secs_f64() / floor.as_secs_f64()
        );
    }
}

/// Every likelihood of every table times an even support, summed: the least that a look at all questions must do.
fn multiplied(key: &Key) -> f64 {
    let outcomes = key.outcomes().len();
    let support = vec![1.0 / outcomes as f64; outcomes];
    let mut sum = 0.0;
    for character in key.characters() {
        for look in &character.looks {
            for state in 0..character.states().len() {
                for (outcome, share) in support.iter().enumerate() {
                    sum += share * character.likelihood(look.means, state, outcome).map_or(0.0, |one| one.0);
                }
            }
        }
    }
    sum
}

/// The least time of many runs, which other work on the machine disturbs least.
#[expect(clippy::disallowed_methods, reason = "an example that measures time reads a clock")]
fn timed(mut act: impl FnMut()) -> Duration {
    (0..ROUNDS)
        .map(|_| {
            let began = std::time::Instant::now();
            act();
            began.elapsed()
        })
        .min()
        .unwrap_or_default()
}
