//! Keeping a push: entries, holes, branches, feeds, and what entries name.

use super::value::{int, one, run};
use super::{StoreError, feed, journal, judgements};
use crate::store::journal::{Appended, Content, FeedCursor, Held, Named, Offered, Offerer, Push, Reading};
use rusqlite::{Connection, params};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry as Slot;
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::defect::{Defect, planted};
use survey::ids::SiteId;

/// Keeps a push within the transaction.
pub(super) fn append(t: &Connection, push: &Push) -> Result<Appended, StoreError> {
    if let Offerer::Token { device, token } = push.by
        && !journal::may_push(t, push.stream, device, token)?
    {
        return Ok(Appended::NotYours);
    }
    // Streams of the station's own device are written by the station alone, whatever a file brings.
    if push.by == Offerer::File && journal::is_own(t, push.stream)? {
        return Ok(Appended::NotYours);
    }
    if !journal::is_held(t, push.stream, push.after)? || forks_own(t, push)? {
        return Ok(Appended::Gap(journal::held(t, push.stream, &[push.after])?));
    }
    let last = push.items.last().map_or(push.after, |item| Head { seq: item.seq, hash: item.hash });
    let dropped = planted(Defect::LastOfBatchDropped).then(|| without_last(push));
    let push = dropped.as_ref().unwrap_or(push);
    note_stream(t, push)?;
    let mut keeping = Keeping { t, push, feeds: BTreeMap::new() };
    let added = if goes_on(t, push)? { keeping.all_fresh()? } else { keeping.each()? };
    let held = journal::held(t, push.stream, &[last])?;
    let held = if dropped.is_some() { Held { head: last, ..held } } else { held };
    Ok(Appended::Held { held, added })
}

/// The mistake of [`Defect::LastOfBatchDropped`].
fn without_last(push: &Push) -> Push {
    let mut push = push.clone();
    push.items.pop();
    push
}

/// Whether the station would fork its own stream: two of its processes wrote at once.
fn forks_own(t: &Connection, push: &Push) -> Result<bool, StoreError> {
    match push.by {
        Offerer::Token { .. } | Offerer::File => Ok(false),
        Offerer::Station => {
            let heads = journal::heads(t, push.stream)?;
            Ok(!heads.contains(&push.after) && !heads.is_empty())
        }
    }
}

/// Makes the stream's row and its claim; the first token that pushes it claims it, also where a file brought it before.
fn note_stream(t: &Connection, push: &Push) -> Result<(), StoreError> {
    let (claimed_by, claim_device, confirmed) = match push.by {
        Offerer::Token { device, token } => (Some(token.0), Some(device.octets()), false),
        Offerer::File => (None, None, false),
        Offerer::Station => (None, None, true),
    };
    let announced = push.after.seq.0.saturating_add(push.items.len() as u64);
    run(
        t,
        "INSERT INTO streams (device, epoch, claimed_by, claim_device, confirmed, announced, first_ms, seen_ms)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?7)
         ON CONFLICT (device, epoch) DO UPDATE SET
           claim_device = CASE WHEN claimed_by IS NULL THEN excluded.claim_device ELSE claim_device END,
           claimed_by = coalesce(claimed_by, excluded.claimed_by),
           announced = max(announced, excluded.announced),
           seen_ms = max(seen_ms, excluded.seen_ms)",
        params![
            push.stream.device.octets(),
            push.stream.epoch.octets(),
            claimed_by,
            claim_device,
            confirmed,
            int(announced),
            push.received.0
        ],
    )?;
    Ok(())
}

/// Whether the push goes on where the stream, or a branch of it, ends. What follows an end is not held yet, for whoever
/// is followed is no end: the items need not be looked for one by one.
fn goes_on(t: &Connection, push: &Push) -> Result<bool, StoreError> {
    let heads = journal::heads(t, push.stream)?;
    Ok(heads.contains(&push.after) || (heads.is_empty() && push.after == Head::START))
}

/// A push on its way into the tables, with what its items would otherwise look up again and again.
struct Keeping<'a> {
    t: &'a Connection,
    push: &'a Push,
    /// Where the feeds end that the push has come to.
    feeds: BTreeMap<SiteId, FeedCursor>,
}

impl Keeping<'_> {
    /// Keeps items none of which is held, and says how many.
    fn all_fresh(&mut self) -> Result<usize, StoreError> {
        let push = self.push;
        for item in &push.items {
            self.insert(item)?;
        }
        if let Some(last) = push.items.last() {
            let end = Place { stream: push.stream, at: Head { seq: last.seq, hash: last.hash } };
            end.takes_over(self.t, push.after)?;
        }
        Ok(push.items.len())
    }

    /// Looks for each item, keeps it where it is not held, and says how many were not.
    fn each(&mut self) -> Result<usize, StoreError> {
        let push = self.push;
        let mut added = 0;
        for item in &push.items {
            let place = Place { stream: push.stream, at: Head { seq: item.seq, hash: item.hash } };
            match (&item.content, place.known(self.t)?) {
                (_, Known::Entry) | (Content::Hole { .. }, Known::Hole) => continue,
                (Content::Whole { .. }, Known::Hole) => {
                    self.insert(item)?;
                    let sql = "DELETE FROM holes WHERE device = ?1 AND epoch = ?2 AND seq = ?3 AND hash = ?4";
                    place.run(self.t, sql)?;
                }
                (Content::Whole { .. } | Content::Hole { .. }, Known::Nothing) => {
                    self.insert(item)?;
                    let before = Head { seq: Seq(item.seq.0 - 1), hash: item.previous };
                    place.takes_over(self.t, before)?;
                }
            }
            added += 1;
        }
        Ok(added)
    }

    fn insert(&mut self, item: &Offered) -> Result<(), StoreError> {
        let (t, push) = (self.t, self.push);
        match &item.content {
            Content::Whole { bytes, reading } => {
                insert_entry(t, push, item, bytes, reading)?;
                self.follow(Head { seq: item.seq, hash: item.hash }, reading)
            }
            Content::Hole { reason } => insert_hole(t, push, item, reason),
        }
    }

    /// What follows from an entry that was just kept: its site, its feed, and what it names.
    fn follow(&mut self, at: Head, reading: &Reading) -> Result<(), StoreError> {
        let (t, push) = (self.t, self.push);
        let (site, names) = match reading {
            Reading::Undecodable { .. } => return judgements::refuse_unread(t, push.stream, at, push.received),
            Reading::Device => return Ok(()),
            Reading::Site { site, names, .. } => (site, names),
        };
        let end = match self.feeds.entry(*site) {
            Slot::Occupied(known) => known.into_mut(),
            Slot::Vacant(unknown) => {
                meet_site(t, *site, push)?;
                unknown.insert(feed::end(t, *site)?)
            }
        };
        *end = feed::add(t, *site, *end, push.stream, at)?;
        name(t, push, *site, names)
    }
}

fn insert_hole(t: &Connection, push: &Push, item: &Offered, reason: &str) -> Result<(), StoreError> {
    run(
        t,
        "INSERT INTO holes (device, epoch, seq, hash, previous, reason, received_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![
            push.stream.device.octets(),
            push.stream.epoch.octets(),
            int(item.seq.0),
            item.hash.0,
            item.previous.0,
            reason,
            push.received.0
        ],
    )?;
    Ok(())
}

fn insert_entry(
    t: &Connection,
    push: &Push,
    item: &Offered,
    bytes: &[u8],
    reading: &Reading,
) -> Result<(), StoreError> {
    let (word, site, visit, remark) = match reading {
        Reading::Undecodable { reason } => ("undecodable", None, None, Some(reason)),
        Reading::Device => ("device", None, None, None),
        Reading::Site { site, visit, .. } => ("site", Some(site.octets()), visit.map(|visit| visit.octets()), None),
    };
    run(
        t,
        "INSERT INTO entries (device, epoch, seq, hash, previous, bytes, reading, site, visit, remark, received_ms)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        params![
            push.stream.device.octets(),
            push.stream.epoch.octets(),
            int(item.seq.0),
            item.hash.0,
            item.previous.0,
            bytes,
            word,
            site,
            visit,
            remark,
            push.received.0
        ],
    )?;
    Ok(())
}

/// Notes what an entry names outside the journal.
fn name(t: &Connection, push: &Push, site: SiteId, names: &Named) -> Result<(), StoreError> {
    match names {
        Named::Nothing => Ok(()),
        Named::Photo(photo) => {
            run(
                t,
                "INSERT OR IGNORE INTO photos (device, photo, site, length, hash) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![
                    push.stream.device.octets(),
                    photo.photo.octets(),
                    site.octets(),
                    int(photo.length),
                    photo.hash.0
                ],
            )?;
            Ok(())
        }
        Named::Text(hash) => {
            let key = params![site.octets(), hash.0, push.stream.device.octets()];
            run(t, "INSERT OR IGNORE INTO text_names (site, hash, device) VALUES (?1, ?2, ?3)", key)?;
            Ok(())
        }
        Named::Erased(blob) => erase(t, push, *blob),
    }
}

/// A site first heard of makes who brought it a member; to a known one nothing is opened.
fn meet_site(t: &Connection, site: SiteId, push: &Push) -> Result<(), StoreError> {
    let reader = match push.by {
        Offerer::Token { device, .. } => device,
        Offerer::File | Offerer::Station => push.stream.device,
    };
    let author = push.stream.device.octets();
    let met =
        run(t, "INSERT OR IGNORE INTO sites VALUES (?1, ?2, ?3)", params![site.octets(), author, push.received.0])?;
    if met > 0 {
        let key = params![reader.octets(), site.octets(), push.received.0];
        run(t, "INSERT OR IGNORE INTO memberships VALUES (?1, ?2, ?3)", key)?;
    }
    Ok(())
}

/// Removes words and salt of a text, or the salt of a photo, that this device wrote (the station may erase anybody's).
/// The row stays, so that the blob cannot come back.
fn erase(t: &Connection, push: &Push, blob: Hash) -> Result<(), StoreError> {
    let owner = match push.by {
        Offerer::Station => None,
        Offerer::Token { .. } | Offerer::File => Some(push.stream.device.octets()),
    };
    run(
        t,
        "UPDATE texts SET salt = NULL, text = NULL WHERE hash = ?1 AND (?2 IS NULL OR device = ?2)",
        params![blob.0, owner],
    )?;
    // A text named but not yet here must not come later: its row is made as an erased one.
    run(
        t,
        "INSERT OR IGNORE INTO texts (hash, device, salt, text, since_ms)
         SELECT hash, device, NULL, NULL, ?3 FROM text_names WHERE hash = ?1 AND (?2 IS NULL OR device = ?2) LIMIT 1",
        params![blob.0, owner, push.received.0],
    )?;
    run(
        t,
        "UPDATE photos SET salt = NULL, erased = 1 WHERE hash = ?1 AND (?2 IS NULL OR device = ?2)",
        params![blob.0, owner],
    )?;
    Ok(())
}

/// What is known of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Known {
    Entry,
    Hole,
    Nothing,
}

#[derive(Clone, Copy)]
struct Place {
    stream: StreamId,
    at: Head,
}

impl Place {
    fn known(self, t: &Connection) -> Result<Known, StoreError> {
        let find = |table: &str| {
            let sql = format!("SELECT 1 FROM {table} WHERE device = ?1 AND epoch = ?2 AND seq = ?3 AND hash = ?4");
            let (stream, at) = (self.stream, self.at);
            one(t, &sql, params![stream.device.octets(), stream.epoch.octets(), int(at.seq.0), at.hash.0], |_| Ok(()))
        };
        Ok(match (find("entries")?, find("holes")?) {
            (Some(()), _) => Known::Entry,
            (None, Some(())) => Known::Hole,
            (None, None) => Known::Nothing,
        })
    }

    fn run(self, t: &Connection, sql: &str) -> Result<usize, StoreError> {
        let (stream, at) = (self.stream, self.at);
        run(t, sql, params![stream.device.octets(), stream.epoch.octets(), int(at.seq.0), at.hash.0])
    }

    /// The place becomes the end of a branch: of the one that ended at `before`, or of another one.
    fn takes_over(self, t: &Connection, before: Head) -> Result<(), StoreError> {
        let before = Self { at: before, ..self };
        before.run(t, "DELETE FROM heads WHERE device = ?1 AND epoch = ?2 AND seq = ?3 AND hash = ?4")?;
        self.run(t, "INSERT INTO heads (device, epoch, seq, hash) VALUES (?1, ?2, ?3, ?4)")?;
        Ok(())
    }
}
