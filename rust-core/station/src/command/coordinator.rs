//! `leafturn coordinator`

use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::{clock, random};
use crate::security::secret::Secret;
use crate::store::coordinators::{CoordinatorStore, Grant, Role};
use clap::{Args, Subcommand, ValueEnum};
use serde::Serialize;
use survey::ids::{ObserverId, SiteId};

#[derive(Debug, Subcommand)]
pub(super) enum Act {
    /// Add a coordinator, or let one in again, by a one-time sign-in link.
    Add(Add),
    /// End everything that a coordinator may do, at once: grants, links and sessions.
    Revoke(Revoke),
}

/// End everything that a coordinator may do, at once: grants, links and sessions.
#[derive(Debug, Args)]
pub(super) struct Revoke {
    #[command(flatten)]
    data: Data,
    /// The name, as it was added.
    name: String,
}

/// Add a coordinator, or let one in again, by a one-time sign-in link.
///
/// The link works once, within 24 hours; the session that it opens ends after 12 hours without use. Works while the station
/// serves.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn coordinator add Ada
  leafturn coordinator add Ben --role review --site 0190a5f0-7c1e-7000-8000-000000000001")]
pub(super) struct Add {
    #[command(flatten)]
    data: Data,
    /// The name; kept in the one table of people and nowhere else.
    name: String,
    /// What they may do.
    #[arg(long, value_enum, default_value_t = RoleArg::Administer)]
    role: RoleArg,
    /// A site to which the role is confined; may stand several times. Without it, everywhere.
    #[arg(long = "site", value_name = "ID")]
    sites: Vec<SiteId>,
    /// The address in front of the link, where it is not the one that `serve` noted.
    #[arg(long, value_name = "URL")]
    address: Option<String>,
    /// Print JSON: {"link":...}.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum RoleArg {
    /// See pages and figures.
    Read,
    /// Review entries as well.
    Review,
    /// Invite, link, confirm and revoke as well.
    Administer,
}

#[derive(Serialize)]
struct Printed {
    link: String,
}

impl Act {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        match self {
            Self::Add(add) => add.run(),
            Self::Revoke(revoke) => {
                if Folder::open(&revoke.data.folder)?.store.revoke_coordinator(&revoke.name)? {
                    return Ok(Outcome::Fine);
                }
                print_line("no coordinator has this name")?;
                Ok(Outcome::DataWrong)
            }
        }
    }
}

impl Add {
    fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let role = match self.role {
            RoleArg::Read => Role::Read,
            RoleArg::Review => Role::Review,
            RoleArg::Administer => Role::Administer,
        };
        let grants: Vec<_> = if self.sites.is_empty() {
            vec![Grant { role, site: None }]
        } else {
            self.sites.iter().map(|site| Grant { role, site: Some(*site) }).collect()
        };
        let secret = Secret::draw()?;
        let id = ObserverId::random(random::octets()?);
        folder.store.add_coordinator(id, &self.name, &grants, secret.hash(), clock::now())?;
        let address = self.address.or_else(|| folder.address()).unwrap_or_else(|| "http://127.0.0.1:8787".into());
        let link = format!("{}/sign-in/{}", address.trim_end_matches('/'), secret.reveal());
        if self.json {
            print_json(&Printed { link })?;
        } else {
            print_line(&link)?;
        }
        Ok(Outcome::Fine)
    }
}
