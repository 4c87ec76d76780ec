//! `leafturn report`

use super::{CommandError, Data, Folder, Outcome, Tongue};
use crate::edge::clock;
use crate::report::{Printed, Wanted, Which, run};
use clap::Args;
use std::io::{self, Write as _};
use std::path::PathBuf;

/// What the counts say: a table, and files to read and to keep.
///
/// Estimates come from whole plant checks and living animals, and are "counted": not corrected for animals nobody saw. The
/// report names its methods, what they assume, and everything that was left out. With --out it writes index.html and one
/// page for each site with its figures (they open from a disk), report.json with full numbers, and sites.geojson with
/// places no finer than each site allows.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn report --all
  leafturn report 'Long Meadow' --out meadow --language es
  leafturn report --all --json | python3 -m json.tool")]
pub(super) struct Report {
    #[command(flatten)]
    data: Data,
    /// The site: its name, or the beginning of its id (4 characters or more).
    #[arg(value_name = "SITE", required_unless_present = "all", conflicts_with = "all")]
    site: Option<String>,
    /// All sites.
    #[arg(long)]
    all: bool,
    /// Folder for HTML, JSON and GeoJSON. Made if it is missing; files of the same names are replaced.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print JSON instead of tables.
    #[arg(long)]
    json: bool,
    /// Language of tables and pages.
    #[arg(long, value_enum, default_value_t = Tongue::En)]
    language: Tongue,
}

impl Report {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let wanted = Wanted {
            sites: self.site.map_or(Which::All, Which::Named),
            out: self.out,
            printed: if self.json { Printed::Json } else { Printed::Table },
            language: self.language.into(),
        };
        let text = run(&folder.store, &wanted, clock::now())?;
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(CommandError::io("output"))?;
        Ok(Outcome::Fine)
    }
}
