//! The `leafturn` command.

mod archive;
mod back_up;
mod certificate;
mod check;
mod coordinator;
mod device;
mod draw;
mod erase;
mod folder;
mod invite;
mod key;
mod practice;
mod report;
mod restore;
mod salvage;
mod season;
mod serve;
mod take_in;
mod tongue;

pub use archive::{Counts, FileLine, MANIFEST, Manifest};
pub use back_up::{BackUpReport, back_up};
pub use check::{CheckReport, check};
pub use folder::{Folder, FolderError};
pub use restore::{InTheWay, RestoreReport, restore};
pub use salvage::{AFTER_GAPS, SalvageReport, salvage};
pub use season::SeasonFault;
pub use take_in::{FileReport, take_in};

use crate::edge::random::NoRandom;
use crate::security::hosts::OpenToOthers;
use crate::store::StoreError;
use clap::{Args, Parser, Subcommand};
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;
use tongue::Tongue;

/// Exit codes, as `--help` gives them.
const EXIT_CODES: &str = "Exit codes:
  0  done, and nothing is wrong
  1  something is wrong with the data: the output says what and where, the rest was kept
  2  the command line is not understood
  3  it could not be done: the message says why (disk, network, permissions, another version)";

const EXAMPLES: &str = "A first evening:
  leafturn coordinator add Ada        print a one-time sign-in link for Ada
  leafturn serve                      answer on http://127.0.0.1:8787 until ctrl-c
  leafturn invite --name 'North gang' print a join code for one phone
  leafturn take-in monday.leafturn    take in a file that a phone exported
  leafturn report --all               what the counts say so far
  leafturn check                      verify every chain, verdict and file
  leafturn back-up /media/stick/field copy everything to another disk, while it serves

Telling stages apart:
  leafturn key                        ask what can be seen, say what it is or may be
  leafturn practice                   show drawings, ask, and say what to look at next
  leafturn draw --all                 draw a plate of all stages

Making sense of counts:
  leafturn season --list              what there is to ask, from degree-days to trends
  leafturn season density counts.csv  animals per plant, with interval";

/// Receives what phones counted, checks it, and shows it to coordinators.
#[derive(Debug, Parser)]
#[command(name = "leafturn", version, about, after_help = format!("{EXAMPLES}\n\n{EXIT_CODES}"))]
pub struct Leafturn {
    #[command(subcommand)]
    act: Act,
}

/// Where the station keeps its data.
#[derive(Debug, Clone, Args)]
pub struct Data {
    /// Folder of the station: database, key, photos. Made if it is missing.
    #[arg(long = "data", value_name = "DIR", default_value = "leafturn-data")]
    pub folder: PathBuf,
}

#[derive(Debug, Subcommand)]
enum Act {
    /// Answer phones and browsers until ctrl-c or SIGTERM.
    Serve(serve::Serve),
    /// Certificates for a station at home: made here, renewed without inviting every phone again.
    #[command(subcommand)]
    Certificate(certificate::Act),
    /// Print a join code for one phone.
    Invite(invite::Invite),
    /// Coordinators: who may see pages and review.
    #[command(subcommand)]
    Coordinator(coordinator::Act),
    /// Phones and their streams: link, revoke, confirm.
    #[command(subcommand)]
    Device(device::Act),
    /// Take in files that phones exported.
    TakeIn(take_in::TakeIn),
    /// What the counts say: a table, and files to read and to keep.
    Report(report::Report),
    /// Verify every chain, feed and file, fold again and compare.
    Check(check::Check),
    /// Copy the station into a folder, also while it serves.
    BackUp(back_up::BackUp),
    /// Put a back-up in the place of a station.
    Restore(restore::Restore),
    /// Read what can be read of a damaged station into a new folder.
    Salvage(salvage::Salvage),
    /// Erase words, a photo or a name on request.
    #[command(subcommand)]
    Erase(erase::Act),
    /// Tell stages apart: asks what can be seen, and says how well each outcome fits.
    Key(key::KeyCommand),
    /// Practise telling stages apart on drawn specimens.
    Practice(practice::Practice),
    /// Draw a stage, a look-alike, a plate of all stages, or what the key asks.
    Draw(draw::Draw),
    /// From counts to densities, dates, survival, and how far to trust them.
    Season(season::Season),
}

/// What a command came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing is wrong.
    Fine,
    /// Something is wrong with the data; the output said what.
    DataWrong,
}

/// Why a command could not be done.
#[derive(Debug, thiserror::Error)]
pub enum CommandError {
    /// The folder cannot be opened.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The store cannot.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The station's own stream.
    #[error(transparent)]
    Review(#[from] crate::review::ReviewError),
    /// No randomness.
    #[error(transparent)]
    Random(#[from] NoRandom),
    /// The address is open to others.
    #[error(transparent)]
    Open(#[from] OpenToOthers),
    /// The certificate cannot be used.
    #[error(transparent)]
    Tls(#[from] crate::security::tls::TlsError),
    /// A certificate cannot be made.
    #[error(transparent)]
    Certificate(#[from] certificate::NotMade),
    /// No report.
    #[error(transparent)]
    Report(#[from] crate::report::ReportError),
    /// No picture.
    #[error(transparent)]
    Picture(#[from] crate::drawing::PngError),
    /// The stage key takes no such guess or session.
    #[error(transparent)]
    Key(#[from] stagekey::AnswerError),
    /// A season question has no answer.
    #[error(transparent)]
    Season(#[from] SeasonFault),
    /// A file of answers cannot be read.
    #[error("these answers cannot be read: {0}")]
    Answers(String),
    /// A file or the network.
    #[error("{what}: {error}")]
    Io {
        /// What was tried.
        what: String,
        /// What the system says.
        error: io::Error,
    },
}

impl CommandError {
    /// Names what was tried.
    pub fn io(what: impl Into<String>) -> impl FnOnce(io::Error) -> Self {
        let what = what.into();
        move |error| Self::Io { what, error }
    }

    const fn exit_code(&self) -> u8 {
        match self {
            Self::Season(fault) => fault.exit_code(),
            other if other.blames_data() => 1,
            _ => 3,
        }
    }

    /// Whether the data are at fault rather than the surroundings.
    const fn blames_data(&self) -> bool {
        matches!(
            self,
            Self::Store(StoreError::Damaged { .. })
                | Self::Folder(FolderError::Store { error: StoreError::Damaged { .. }, .. })
                | Self::Answers(_)
                | Self::Key(_)
        )
    }
}

/// Runs the command of this process and gives its exit code.
pub fn run() -> ExitCode {
    let done = match Leafturn::parse().act {
        Act::Serve(serve) => serve.run(),
        Act::Certificate(act) => act.run(),
        Act::Invite(invite) => invite.run(),
        Act::Coordinator(act) => act.run(),
        Act::Device(act) => act.run(),
        Act::TakeIn(take_in) => take_in.run(),
        Act::Report(report) => report.run(),
        Act::Check(check) => check.run(),
        Act::BackUp(back_up) => back_up.run(),
        Act::Restore(restore) => restore.run(),
        Act::Salvage(salvage) => salvage.run(),
        Act::Erase(act) => act.run(),
        Act::Key(key) => key.run(),
        Act::Practice(practice) => practice.run(),
        Act::Draw(draw) => draw.run(),
        Act::Season(season) => season.run(),
    };
    match done {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::DataWrong) => ExitCode::from(1),
        Err(error) => {
            eprintln!("leafturn: {error}");
            ExitCode::from(error.exit_code())
        }
    }
}

/// Prints a value as one line of JSON.
fn print_json(value: &impl serde::Serialize) -> Result<(), CommandError> {
    let text = serde_json::to_string(value).map_err(|error| CommandError::io("output")(error.into()))?;
    print_line(&text)
}

/// Prints a line; a reader that went away is an error, not a panic.
fn print_line(line: &str) -> Result<(), CommandError> {
    use io::Write as _;
    let mut out = io::stdout().lock();
    writeln!(out, "{line}").and_then(|()| out.flush()).map_err(CommandError::io("output"))
}
