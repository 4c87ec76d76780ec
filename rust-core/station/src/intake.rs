//! From a batch, as a phone or a file brings it, to what the store keeps.

use crate::store::journal::{Content, Named, Offered, Offerer, Push, Reading};
use survey::chain::{Head, Link};
use survey::entry::{Act, Entry};
use survey::time::UnixMs;
use sync::framing::Batch;
use sync::wire::push::{HoleReason, Purpose};

/// What the store keeps of a batch whose chain has been checked.
pub fn push_of(batch: Batch, by: Offerer, received: UnixMs) -> Push {
    let items = match batch.purpose {
        Purpose::Entries | Purpose::Fill => batch.links.into_iter().map(whole).collect(),
        Purpose::Placeholder { reason } => vec![hole(batch.before, batch.after, reason)],
    };
    Push { stream: batch.stream, after: batch.before, items, by, received }
}

/// What this version reads in an entry's bytes.
pub fn read(bytes: &[u8]) -> Reading {
    let entry = match Entry::decode(bytes) {
        Ok(entry) => entry,
        Err(error) => return Reading::Undecodable { reason: error.to_string() },
    };
    let Some(site) = entry.scope.site() else {
        return Reading::Device;
    };
    let names = match entry.act {
        Act::PhotoTaken(photo) => Named::Photo(photo),
        Act::Noted(note) => Named::Text(note.text),
        Act::Erased(erased) => Named::Erased(erased.blob),
        _ => Named::Nothing,
    };
    Reading::Site { site, visit: entry.scope.visit(), names }
}

/// An entry as it is offered to the store.
pub fn whole(link: Link) -> Offered {
    let reading = read(&link.bytes);
    Offered {
        seq: link.seq,
        hash: link.hash,
        previous: link.previous,
        content: Content::Whole { bytes: link.bytes, reading },
    }
}

fn hole(before: Head, after: Head, reason: HoleReason) -> Offered {
    let reason = match reason {
        HoleReason::Refused => "refused",
        HoleReason::TooLarge => "too-large",
        HoleReason::Damaged => "damaged",
    };
    Offered {
        seq: after.seq,
        hash: after.hash,
        previous: before.hash,
        content: Content::Hole { reason: reason.into() },
    }
}
