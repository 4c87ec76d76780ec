//! `leafturn erase`

use super::{CommandError, Data, Folder, Outcome, print_line};
use crate::edge::{clock, random};
use crate::review::{Actor, Moment, ReviewAct, ReviewError};
use crate::store::{JournalStore, UpkeepStore};
use crate::tidy::leave_nothing;
use clap::{Args, Subcommand};
use std::io;
use survey::chain::Hash;

/// Erase words, a photo or a name on request. Works while the station serves.
#[derive(Debug, Subcommand)]
pub(super) enum Act {
    /// Erase the text of a note, or a photo, by the hash that names it; phones erase it at their next sync.
    Blob(Blob),
    /// Take a name out of the table of people.
    Name(Name),
}

#[derive(Debug, Args)]
pub(super) struct Blob {
    #[command(flatten)]
    data: Data,
    /// The hash, 64 hexadecimal digits.
    hash: Hash,
}

#[derive(Debug, Args)]
pub(super) struct Name {
    #[command(flatten)]
    data: Data,
    /// The name, exactly as it was given. A coordinator keeps what they may do, under a name that says nothing.
    name: String,
}

impl Act {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        match self {
            Self::Blob(blob) => blob.run(),
            Self::Name(name) => name.run(),
        }
    }
}

impl Blob {
    fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let desk = folder.desk()?;
        for site in folder.store.sites()? {
            let moment = Moment { now: clock::moment()?, random: random::octets()? };
            let act = ReviewAct::Erase { blob: self.hash };
            match desk.act(&folder.store, Actor::Console, site.site, &act, &moment) {
                Err(ReviewError::NotHere) => {}
                Ok(_) | Err(ReviewError::NothingToDo) => {
                    crate::judge::bring_up_to_date(&folder.store, clock::now())?;
                    return gone(&folder);
                }
                Err(error) => return Err(error.into()),
            }
        }
        print_line("no entry names this: nothing was erased")?;
        Ok(Outcome::DataWrong)
    }
}

impl Name {
    fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        if folder.store.forget_name(&self.name)? == 0 {
            print_line("nobody has this name: nothing was erased")?;
            return Ok(Outcome::DataWrong);
        }
        gone(&folder)
    }
}

/// Leaves nothing in the folder, and says where it still is.
fn gone(folder: &Folder) -> Result<Outcome, CommandError> {
    leave_nothing(&folder.store, &folder.photos())
        .map_err(|fault| CommandError::io("overwriting")(io::Error::other(fault.problem().title.clone())))?;
    print_line("erased, and overwritten in this folder; phones erase it at their next sync")?;
    let backed_up = folder.store.backed_up()?.and_then(survey::time::UnixMs::rfc3339);
    print_line(&match backed_up {
        Some(at) => format!(
            "Back-ups made before this still hold it, the last of {at}: each until the next `leafturn back-up` into its folder."
        ),
        None => "No back-up of this station is known.".into(),
    })?;
    Ok(Outcome::Fine)
}
