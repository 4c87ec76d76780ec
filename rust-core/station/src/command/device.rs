//! `leafturn device`

use super::{CommandError, Data, Folder, Outcome, print_line};
use crate::edge::clock;
use crate::store::access::AccessStore;
use crate::store::journal::JournalStore;
use clap::{Args, Subcommand};
use survey::chain::StreamId;
use survey::ids::{DeviceId, Epoch};

#[derive(Debug, Subcommand)]
pub(super) enum Act {
    /// This phone replaces that one: NEW may push the streams of OLD.
    Link(Link),
    /// Take a phone's token and memberships; it may join again with a code.
    Revoke(Revoke),
    /// Let a stream that came by file, and no phone has claimed, into estimates.
    Confirm(Confirm),
}

#[derive(Debug, Args)]
pub(super) struct Link {
    #[command(flatten)]
    data: Data,
    /// The phone that is replaced.
    old: DeviceId,
    /// The phone that replaces it; the same id where a phone joined again with another token.
    new: DeviceId,
}

#[derive(Debug, Args)]
pub(super) struct Revoke {
    #[command(flatten)]
    data: Data,
    /// The phone.
    device: DeviceId,
}

#[derive(Debug, Args)]
pub(super) struct Confirm {
    #[command(flatten)]
    data: Data,
    /// The phone whose stream it is.
    device: DeviceId,
    /// Its epoch.
    epoch: Epoch,
}

impl Act {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        match self {
            Self::Link(link) => {
                Folder::open(&link.data.folder)?.store.link(link.old, link.new, clock::now())?;
                Ok(Outcome::Fine)
            }
            Self::Revoke(revoke) => {
                Folder::open(&revoke.data.folder)?.store.revoke(revoke.device)?;
                Ok(Outcome::Fine)
            }
            Self::Confirm(confirm) => {
                let stream = StreamId { device: confirm.device, epoch: confirm.epoch };
                if Folder::open(&confirm.data.folder)?.store.confirm(stream)? {
                    return Ok(Outcome::Fine);
                }
                print_line("no such stream is held")?;
                Ok(Outcome::DataWrong)
            }
        }
    }
}
