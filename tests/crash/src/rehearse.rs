//! Every instant of a session, and images of what a power cut at it could leave.

use crate::dice::Dice;
use crate::log::{Change, Log};
use crate::model::{Disk, Fate};
use crate::reopen;
use crate::session::{self, Failed, Plan};
use crate::told::{Broken, Told};
use std::fmt;
use std::sync::Arc;

/// What a rehearsal came upon.
#[derive(Debug, Default)]
pub struct Report {
    /// Images reopened.
    pub images: usize,
    /// Instants of the session.
    pub instants: usize,
    /// Images that did not hold.
    pub failures: Vec<Failure>,
}

/// An image that did not hold.
#[derive(Debug)]
pub struct Failure {
    /// The session's seed.
    pub seed: u64,
    /// The instant: so many changes had been made.
    pub instant: usize,
    /// Which image of that instant.
    pub nth: usize,
    /// Its fate.
    pub fate: Fate,
    /// What does not hold.
    pub broken: Broken,
}

/// Which images.
#[derive(Debug, Clone, Copy)]
pub enum Images {
    /// About so many, spread evenly over all instants.
    About(usize),
    /// So many of one instant.
    Of {
        /// The instant.
        instant: usize,
        /// How many.
        many: usize,
    },
}

/// Plays a session and reopens images of it. Stops at `enough` failures.
///
/// # Errors
/// The session itself failed.
pub fn rehearse(plan: Plan, images: Images, enough: usize) -> Result<Report, Failed> {
    let root = tempfile::tempdir().map_err(|error| Broken::Unreadable(error.to_string()))?;
    let log = Arc::new(Log::of(root.path().to_path_buf()));
    session::play(&log, plan)?;
    let changes = log.changes();
    let mut report = Report { instants: changes.len(), ..Report::default() };
    let mut spread = Dice::new(plan.seed, 1);
    let (mut disk, mut before) = (Disk::new(), None);
    for (at, change) in changes.iter().enumerate() {
        disk.apply(change);
        if let Change::Told(told) = change {
            before = Some(&**told);
        }
        let instant = at + 1;
        let many = match images {
            Images::About(number) => {
                let (whole, rest) = (number / changes.len(), number % changes.len());
                whole + usize::from(spread.below(changes.len()) < rest)
            }
            Images::Of { instant: only, many } => {
                if only == instant {
                    many
                } else {
                    0
                }
            }
        };
        let during = changes[instant..].iter().find_map(told);
        for nth in 0..many {
            let fate_and_broken = reopen_one(&disk, plan.seed, instant, nth, before, during);
            report.images += 1;
            if let (fate, Err(broken)) = fate_and_broken {
                report.failures.push(Failure { seed: plan.seed, instant, nth, fate, broken });
                if report.failures.len() >= enough {
                    return Ok(report);
                }
            }
        }
    }
    Ok(report)
}

fn reopen_one(
    disk: &Disk<'_>,
    seed: u64,
    instant: usize,
    nth: usize,
    before: Option<&Told>,
    during: Option<&Told>,
) -> (Fate, Result<(), Broken>) {
    let mut dice = Dice::new(seed, (instant as u64) << 16 | nth as u64);
    let fate = if disk.is_settled() { Fate::Kept } else { disk.fate(&mut dice) };
    let mut image = disk.image(fate, &mut dice);
    if dice.once_in(4) {
        image = image.with_stale_shared_memory(&mut dice);
    }
    let checked = tempfile::tempdir()
        .and_then(|root| image.write(root.path()).map(|()| root))
        .map_err(|error| Broken::Unreadable(error.to_string()))
        .and_then(|root| reopen::check(root.path(), before, during));
    (fate, checked)
}

fn told(change: &Change) -> Option<&Told> {
    match change {
        Change::Told(told) => Some(told),
        _ => None,
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { seed, instant, nth, fate, broken } = self;
        write!(f, "seed {seed}, instant {instant}, image {nth} ({fate:?}): {broken}")
    }
}
