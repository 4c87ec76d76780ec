//! `leafturn invite`

use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::{clock, random};
use crate::security::codes::{Code, LIFE_MS};
use crate::store::access::{AccessStore, Invitation, Invited};
use clap::Args;
use serde::Serialize;
use survey::ids::SiteId;
use survey::time::UnixMs;

/// Print a join code for one phone.
///
/// The code works once, for 24 hours, and dies after 10 wrong tries. Letters of either case, with or without hyphens.
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
    /// Print JSON with `address`, `code` and `expires_ms`.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Printed {
    address: String,
    code: String,
    expires_ms: UnixMs,
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
                return self.print(&Printed { address, code: code.spelled(), expires_ms: expires });
            }
        }
        Err(CommandError::io("drawing a code")(std::io::Error::other("too many codes are waiting to be used")))
    }

    fn print(&self, printed: &Printed) -> Result<Outcome, CommandError> {
        if self.json {
            print_json(printed)?;
        } else {
            print_line(&format!("address  {}", printed.address))?;
            print_line(&format!("code     {}", printed.code))?;
            print_line("works once, within 24 hours")?;
        }
        Ok(Outcome::Fine)
    }
}
