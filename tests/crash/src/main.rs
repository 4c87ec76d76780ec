//! Rehearses power cuts and kills.

use crash::kills;
use crash::rehearse::{Images, Report, rehearse};
use crash::session::{Acts, Plan};
use std::path::Path;
use std::process::ExitCode;

const USAGE: &str = "usage: crash images [--seed N] [--sessions M] [--images K] [--acts A] [--instant I]
       crash kills COUNTER [--seed N] [--kills K]";
/// Failures of one session that are enough to look at.
const ENOUGH: usize = 5;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let done = match arguments.first().map(String::as_str) {
        Some("images") => images(&arguments[1..]),
        Some("kills") => arguments.get(1).and_then(|counter| kill(Path::new(counter), &arguments[2..])),
        _ => None,
    };
    match done {
        None => {
            eprintln!("{USAGE}");
            ExitCode::from(2)
        }
        Some(true) => ExitCode::SUCCESS,
        Some(false) => ExitCode::FAILURE,
    }
}

/// Sessions, two at a time; `None` where the options make no sense.
fn images(options: &[String]) -> Option<bool> {
    let seed = option(options, "--seed", 1)?;
    let sessions = option(options, "--sessions", 4)?.max(1);
    let all = usize::try_from(option(options, "--images", 2400)?).ok()?;
    let acts = usize::try_from(option(options, "--acts", 60)?).ok()?;
    let instant = usize::try_from(option(options, "--instant", 0)?).ok()?;
    let many = all.div_ceil(usize::try_from(sessions).ok()?);
    let images = if instant == 0 { Images::About(many) } else { Images::Of { instant, many } };
    let half = |first: u64| {
        let seeds = (seed + first..seed + sessions).step_by(2);
        seeds.map(move |seed| rehearse(Plan { seed, acts, of: Acts::All }, images, ENOUGH)).collect::<Vec<_>>()
    };
    let reports = std::thread::scope(|scope| {
        let other = scope.spawn(|| half(1));
        let mut reports = half(0);
        reports.extend(other.join().expect("a session does not panic"));
        reports
    });
    let mut whole = Report::default();
    let mut held = true;
    for report in reports {
        match report {
            Ok(report) => {
                whole.images += report.images;
                whole.instants += report.instants;
                whole.failures.extend(report.failures);
            }
            Err(error) => {
                println!("a session from seed {seed} failed: {error}");
                held = false;
            }
        }
    }
    for failure in &whole.failures {
        println!("{failure}");
    }
    println!(
        "{} images of {} instants of {sessions} sessions from seed {seed}, {} do not hold",
        whole.images,
        whole.instants,
        whole.failures.len()
    );
    Some(held && whole.failures.is_empty())
}

fn kill(counter: &Path, options: &[String]) -> Option<bool> {
    let (seed, kills) = (option(options, "--seed", 1)?, option(options, "--kills", 200)?);
    match kills::kill(counter, seed, kills) {
        Ok(killed) => {
            for (nth, broken) in &killed.failures {
                println!("seed {seed}, kill {nth}: {broken}");
            }
            let failed = killed.failures.len();
            println!("{} kills from seed {seed}, {} acts printed, {failed} do not hold", killed.kills, killed.shown);
            Some(failed == 0 && killed.shown > 0)
        }
        Err(error) => {
            println!("the counting process cannot be started: {error}");
            Some(false)
        }
    }
}

fn option(options: &[String], name: &str, otherwise: u64) -> Option<u64> {
    match options.iter().position(|option| option == name) {
        None => Some(otherwise),
        Some(at) => options.get(at + 1)?.parse().ok(),
    }
}
