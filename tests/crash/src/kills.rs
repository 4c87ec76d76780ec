//! A counting process, really killed. The page cache survives a kill, so this proves nothing about the disk: it proves
//! that no act is printed before its commit, and that the next opening is in order.

use crate::dice::Dice;
use crate::reopen;
use crate::session::data;
use crate::told::{Broken, Held};
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use survey::chain::Seq;

/// Kills in one folder, before a fresh one is begun.
const OF_ONE_FOLDER: u64 = 10;
/// The most acts that are waited for before a kill.
const MOST_ACTS: usize = 40;
/// The most turns of an empty loop after that, so that the kill falls anywhere within an act.
const MOST_TURNS: usize = 400_000;

/// What the kills came upon.
#[derive(Debug, Default)]
pub struct Killed {
    /// Processes killed.
    pub kills: u64,
    /// Acts that they had printed as done.
    pub shown: u64,
    /// Seed of the kill and what does not hold.
    pub failures: Vec<(u64, Broken)>,
}

/// Starts the counting process `counter` and kills it, so many times, each at a moment told by the seed and the kill.
///
/// # Errors
/// The process cannot be started, or there is no room for its folder.
pub fn kill(counter: &Path, seed: u64, kills: u64) -> std::io::Result<Killed> {
    let mut killed = Killed::default();
    let mut root = tempfile::tempdir()?;
    let mut shown = Seq(0);
    for nth in 0..kills {
        if nth % OF_ONE_FOLDER == 0 {
            root = tempfile::tempdir()?;
            shown = Seq(0);
        }
        let before = shown.0;
        kill_one(counter, &root.path().join("phone"), &mut Dice::new(seed, nth), &mut shown)?;
        killed.kills += 1;
        killed.shown += shown.0 - before;
        if let Err(broken) = check(root.path(), shown) {
            killed.failures.push((nth, broken));
        }
    }
    Ok(killed)
}

fn kill_one(counter: &Path, folder: &Path, dice: &mut Dice, shown: &mut Seq) -> std::io::Result<()> {
    let mut child = Command::new(counter).arg(folder).stdout(Stdio::piped()).spawn()?;
    let out = child.stdout.take().ok_or(std::io::ErrorKind::BrokenPipe)?;
    let mut lines = BufReader::new(out).lines();
    for _ in 0..dice.below(MOST_ACTS) {
        note(lines.next(), shown);
    }
    for turn in 0..dice.below(MOST_TURNS) {
        std::hint::black_box(turn);
    }
    child.kill()?;
    // What it had written before the kill is in the pipe still.
    while note(lines.next(), shown) {}
    child.wait()?;
    Ok(())
}

fn note(line: Option<std::io::Result<String>>, shown: &mut Seq) -> bool {
    let Some(Ok(line)) = line else { return false };
    if let Ok(seq) = line.parse() {
        *shown = Seq(seq);
    }
    true
}

fn check(root: &Path, shown: Seq) -> Result<(), Broken> {
    let folder = data(root);
    if !folder.join("journal.sqlite").exists() && shown == Seq(0) {
        return Ok(());
    }
    let mut phone = reopen::open(root, shown.0).map_err(|error| Broken::Closed(error.to_string()))?;
    let opened = phone.opened();
    if opened.set_aside.is_some() || (shown > Seq(0) && opened.fresh_epoch.is_some()) {
        return Err(Broken::BeganAnew(format!("{opened:?}")));
    }
    let held = Held::read(&folder)?;
    held.no_stray_files(&folder)?;
    if phone.last_seq() < shown {
        return Err(Broken::Missing(format!("entry {shown}; the last one is {}", phone.last_seq())));
    }
    phone.refold().map_err(|error| Broken::Closed(error.to_string()))?;
    if Held::read(&folder)?.state == held.state { Ok(()) } else { Err(Broken::State) }
}
