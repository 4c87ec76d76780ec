//! `worlds --seed N --runs M`: plays so many worlds, says what occurred in them, and fails if anything failed or if
//! some kind of step never occurred.

use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use worlds::run::{Failure, Plan, Stage};
use worlds::{Coverage, Deed, MISHAPS, Step};

const USAGE: &str = "usage: worlds [--seed N] [--runs M] [--threads T] [--folder DIR] [--phones P --steps LIST]
  --seed N      the first seed (1)
  --runs M      how many worlds (3000)
  --threads T   how many side by side (2)
  --folder DIR  where they are played, best in memory (a temporary folder)
  --steps LIST  these steps instead of the seed's own, as a failure prints them";

/// After so many failures nothing more is to be learnt.
const ENOUGH: usize = 5;

#[derive(Default)]
struct Options {
    seed: Option<u64>,
    runs: Option<u64>,
    threads: Option<u64>,
    folder: Option<String>,
    phones: Option<u64>,
    steps: Option<String>,
}

fn main() -> ExitCode {
    let Some(options) = read(std::env::args().skip(1)) else {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    };
    let folder = match &options.folder {
        Some(folder) => tempfile::tempdir_in(folder),
        None => tempfile::tempdir(),
    };
    let folder = match folder {
        Ok(folder) => folder,
        Err(error) => {
            eprintln!("no folder to play in: {error}");
            return ExitCode::from(3);
        }
    };
    let seed = options.seed.unwrap_or(1);
    if let Some(steps) = &options.steps {
        let steps: Result<Vec<Step>, _> = steps.split(',').map(str::parse).collect();
        let Ok(steps) = steps else {
            eprintln!("{USAGE}");
            return ExitCode::from(2);
        };
        let plan = Plan { seed, phones: options.phones.unwrap_or(2), steps };
        return one(folder.path(), &plan);
    }
    many(folder.path(), seed, options.runs.unwrap_or(3000), options.threads.unwrap_or(2))
}

fn one(folder: &std::path::Path, plan: &Plan) -> ExitCode {
    let played = Stage::new(folder).and_then(|mut stage| stage.play(plan, &mut Coverage::default()));
    match played {
        Ok(ending) => {
            println!("{ending:#?}");
            ExitCode::SUCCESS
        }
        Err(trouble) => {
            println!("FAILED {trouble}");
            ExitCode::FAILURE
        }
    }
}

fn many(folder: &std::path::Path, seed: u64, runs: u64, threads: u64) -> ExitCode {
    // Panics are caught and reported with their world.
    std::panic::set_hook(Box::new(|_| {}));
    let next = AtomicU64::new(0);
    let failures: Mutex<Vec<Failure>> = Mutex::new(Vec::new());
    let totals: Mutex<(Coverage, u64, u64, u64)> = Mutex::default();
    std::thread::scope(|scope| {
        for thread in 0..threads.max(1) {
            let (next, failures, totals) = (&next, &failures, &totals);
            let folder = folder.join(format!("thread-{thread}"));
            scope.spawn(move || {
                let Ok(mut stage) = Stage::new(&folder) else { return };
                let mut coverage = Coverage::default();
                let (mut played, mut entries, mut animals) = (0, 0, 0);
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let enough = failures.lock().is_ok_and(|failures| failures.len() >= ENOUGH);
                    if at >= runs || enough {
                        break;
                    }
                    let plan = Plan::of(seed + at);
                    match stage.play(&plan, &mut coverage) {
                        Ok(ending) => {
                            entries += ending.held as u64;
                            animals += ending.animals;
                        }
                        Err(trouble) => {
                            println!("seed {}: {trouble}", plan.seed);
                            let least = stage.shrink(Failure { plan, trouble });
                            println!("shrunk to: {}\n  {}", least.plan, least.trouble);
                            if let Ok(mut failures) = failures.lock() {
                                failures.push(least);
                            }
                        }
                    }
                    played += 1;
                    if at % 1000 == 999 {
                        println!("{} worlds", at + 1);
                    }
                }
                if let Ok(mut totals) = totals.lock() {
                    totals.0.add(&coverage);
                    totals.1 += played;
                    totals.2 += entries;
                    totals.3 += animals;
                }
            });
        }
    });
    let failed = failures.into_inner().map_or(0, |failures| failures.len());
    let (coverage, played, entries, animals) = totals.into_inner().unwrap_or_default();
    for (what, times) in coverage.all() {
        println!("{times:>9}  {what}");
    }
    let names = Deed::ALL.iter().map(|(deed, _)| deed.name()).chain(MISHAPS.iter().map(|(_, name)| *name));
    let never: Vec<&str> = names.filter(|name| coverage.times(name) == 0).collect();
    println!("{played} worlds from seed {seed}, {entries} entries, {animals} animals counted, {failed} failed");
    if runs >= 1000 && !never.is_empty() {
        println!("never occurred: {}", never.join(", "));
        return ExitCode::FAILURE;
    }
    if failed == 0 && played == runs { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn read(mut arguments: impl Iterator<Item = String>) -> Option<Options> {
    let mut options = Options::default();
    while let Some(name) = arguments.next() {
        let value = arguments.next()?;
        match name.as_str() {
            "--seed" => options.seed = Some(value.parse().ok()?),
            "--runs" => options.runs = Some(value.parse().ok()?),
            "--threads" => options.threads = Some(value.parse().ok()?),
            "--phones" => options.phones = Some(value.parse().ok()?),
            "--folder" => options.folder = Some(value),
            "--steps" => options.steps = Some(value),
            _ => return None,
        }
    }
    Some(options)
}
