//! `leafturn invite`

use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::{clock, random};
use crate::security::codes::{Code, LIFE_MS};
use crate::store::access::{AccessStore, Invitation, Invited};
use clap::Args;
use qrcode::QrCode;
use qrcode::render::svg;
use qrcode::render::unicode::Dense1x2;
use serde::Serialize;
use std::io;
use std::path::PathBuf;
use survey::ids::SiteId;
use survey::time::UnixMs;
use sync::trust::{Scanned, origin};

/// Print a join code for one phone.
///
/// The code works once, for 24 hours, and dies after 10 wrong tries. Letters of either case, with or without hyphens. The
/// picture holds address and code, and where the station speaks TLS itself the hash of its key, so that a phone that scans
/// it believes this station and no other; a phone whose owner types address and code believes only certificates that
/// everybody believes.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn invite
  leafturn invite --site 0190a5f0-7c1e-7000-8000-000000000001 --name 'Phone of the Tuesday pair'
  leafturn invite --json")]
pub(super) struct Invite {
    #[command(flatten)]
    data: Data,
    /// A site whose entries the phone may read; may stand several times. Sites that it makes itself need none.
    #[arg(long = "site", value_name = "ID")]
    sites: Vec<SiteId>,
    /// What you call the phone; seen on the page of devices, and nowhere else.
    #[arg(long)]
    name: Option<String>,
    /// Write the picture to scan into this file, as SVG.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Print JSON with `address`, `code`, `expires_ms` and, for a picture of one's own, `scan`.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Printed {
    address: String,
    code: String,
    expires_ms: UnixMs,
    /// What a picture to scan holds; not for an address that phones would not go to.
    #[serde(skip_serializing_if = "Option::is_none")]
    scan: Option<String>,
}

/// Draws before giving up; each fails only while a living code has the same of 6 859 prefixes.
const DRAWS: usize = 50;

impl Invite {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let made = clock::now();
        let expires = UnixMs(made.0 + LIFE_MS);
        for _ in 0..DRAWS {
            let Some(code) = Code::draw(&random::octets()?) else { continue };
            let invitation = Invitation {
                digest: code.digest(folder.key.octets()),
                prefix: code.prefix(),
                sites: self.sites.clone(),
                name: self.name.clone(),
                made,
                expires,
            };
            if folder.store.invite(&invitation)? == Invited::Kept {
                let address = folder.address().unwrap_or_else(|| "http://127.0.0.1:8787".into());
                let code = code.spelled();
                let scanned =
                    origin(&address).map(|address| Scanned { address, code: code.clone(), pins: folder.pins() });
                let scan = scanned.map(|scanned| scanned.text());
                return self.print(&Printed { address, code, expires_ms: expires, scan });
            }
        }
        Err(CommandError::io("drawing a code")(io::Error::other("too many codes are waiting to be used")))
    }

    fn print(&self, printed: &Printed) -> Result<Outcome, CommandError> {
        let picture = printed.scan.as_ref().map(QrCode::new).transpose();
        let picture = picture.map_err(|error| CommandError::io("drawing the picture")(io::Error::other(error)))?;
        if let (Some(file), Some(picture)) = (&self.svg, &picture) {
            let drawn = picture.render::<svg::Color<'_>>().min_dimensions(300, 300).build();
            std::fs::write(file, drawn).map_err(CommandError::io(file.display().to_string()))?;
        }
        if self.json {
            print_json(printed)?;
        } else {
            if let Some(picture) = &picture {
                print_line(&picture.render::<Dense1x2>().build())?;
            }
            print_line(&format!("address  {}", printed.address))?;
            print_line(&format!("code     {}", printed.code))?;
            print_line("works once, within 24 hours")?;
        }
        Ok(Outcome::Fine)
    }
}
