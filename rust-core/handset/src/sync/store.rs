//! What the engine says, stored: all of it in one transaction with the end of the job, but for the entries of a feed
//! page, which go before in small ones, since storing one twice changes nothing.

use super::{ENROL_CODE, JOINED, LAST_CONTACT, LAST_JOB, MEMBERSHIPS, STATION, STATION_AHEAD, STATION_DEVICE, known};
use crate::acts::{append_and_fold, keep_merged};
use crate::error::Error;
use crate::journal::erased::{Gone, cut_log, take_away};
use crate::journal::rows::{self, Stored};
use crate::journal::streams::{self, Sealed};
use crate::object::{Handset, set, setting};
use crate::state::memory::Origin;
use crate::sync::{Body, HttpJob};
use ::sync::engine::{Asker, Event, Input, Job, JobId, Metered};
use ::sync::framing::FeedItem;
use ::sync::wire::enrol::Enrolled;
use ::sync::wire::push::HoleReason;
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use survey::chain::{Hash, Head, Link, Seq, StreamId};
use survey::entry::{Act, Entry, Erased, Scope};
use survey::ids::SiteId;
use survey::time::{Merged, Now};

/// The most received entries in one transaction, so that an act never waits long for the writer.
const MOST_AT_ONCE: usize = 25;

/// Stores a job before it is handed out; without its body, which is made anew if it comes to that: the body of an
/// enrolment holds the code.
pub(crate) fn job(db: &Connection, job: &Job, http: &HttpJob) -> Result<(), Error> {
    let file = match &http.body {
        Body::File(name) => Some(name),
        Body::None | Body::Octets(_) => None,
    };
    let id = i64::try_from(job.id.0).unwrap_or(i64::MAX);
    let transaction = db.unchecked_transaction()?;
    transaction.prepare_cached("INSERT INTO job (job, record, file) VALUES (?1, ?2, ?3)")?.execute(params![
        id,
        serde_json::to_string(&Job { inline: None, ..job.clone() })?,
        file
    ])?;
    set(&transaction, LAST_JOB, id)?;
    Ok(transaction.commit()?)
}

/// Stores events, and says what the engine is to be told next.
pub(crate) fn events(
    handset: &mut Handset,
    events: &[Event],
    done: Option<JobId>,
    now: Now,
) -> Result<Vec<Input>, Error> {
    if events.is_empty() && done.is_none() {
        return Ok(Vec::new());
    }
    for event in events {
        if let Event::FeedPage(page) = event {
            for items in page.items.chunks(MOST_AT_ONCE) {
                receive(handset, page.before.site, items, now)?;
            }
        }
    }
    let mut files = Vec::new();
    let mut more = Vec::new();
    let mut seal = None;
    let transaction = handset.db.unchecked_transaction()?;
    for job in done.into_iter().chain(events.iter().filter_map(forgotten)) {
        files.extend(drop_job(&transaction, job)?);
    }
    for event in events {
        match event {
            Event::SealAndStartEpoch { stream, .. } => seal = Some(*stream),
            Event::Enrolled(enrolled) => {
                enrol(&transaction, enrolled, now)?;
                let (by, metered) = handset.sync.wanted.unwrap_or((Asker::Network, Metered::Yes));
                more.push(Input::SyncWanted { by, metered });
            }
            Event::TextsWanted(hashes) => {
                for hash in hashes {
                    transaction.execute("UPDATE text SET sent = 0 WHERE hash = ?1", [hash.0])?;
                    more.extend(known::known_text(&transaction, handset.device, *hash)?.map(Input::TextAdded));
                }
            }
            other => store(&transaction, other, now)?,
        }
    }
    transaction.commit()?;
    for name in files {
        crate::photo::files::remove(&*handset.around.disk.files, &handset.folder, &name);
    }
    for event in events {
        show(handset, event);
    }
    if let Some(stream) = seal.filter(|stream| *stream == handset.stream.id) {
        let before = (handset.stream, Sealed::StationAhead);
        handset.stream = streams::begin(&mut handset.db, stream.device, &mut handset.around, Some(before))?;
        more.push(Input::EpochStarted { stream: handset.stream.id });
    } else if seal.is_some() {
        more.push(Input::EpochStarted { stream: handset.stream.id });
    }
    Ok(more)
}

const fn forgotten(event: &Event) -> Option<JobId> {
    match event {
        Event::JobForgotten(job) => Some(*job),
        _ => None,
    }
}

fn drop_job(db: &Connection, job: JobId) -> Result<Option<String>, Error> {
    let id = i64::try_from(job.0).unwrap_or(i64::MAX);
    let file =
        db.prepare_cached("SELECT file FROM job WHERE job = ?1")?.query_row([id], |row| row.get(0)).optional()?;
    db.prepare_cached("DELETE FROM job WHERE job = ?1")?.execute([id])?;
    Ok(file.flatten())
}

/// Stores entries of a feed. Own entries that are here are passed over; those of a stream that this database does not
/// have are the phone's own from before, and come back.
fn receive(handset: &mut Handset, site: SiteId, items: &[FeedItem], now: Now) -> Result<(), Error> {
    let transaction = handset.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let own = known::Lookup { db: &transaction, device: handset.device };
    let mut clock = handset.clock;
    let mut merged = None;
    let mut fresh: Vec<(Link, Entry)> = Vec::new();
    let station: Option<[u8; 16]> = setting(&transaction, STATION_DEVICE)?;
    let mut erased: Vec<Hash> = Vec::new();
    for FeedItem { link, .. } in items {
        use ::sync::engine::Journal;
        if own.hash_at(link.stream, link.seq) == Some(link.hash) {
            continue;
        }
        match Entry::decode(&link.bytes) {
            Ok(entry) => {
                if !rows::is_received(&transaction, link)? {
                    let own = link.stream.device == handset.device;
                    if own {
                        clock.follow(entry.hybrid);
                    }
                    if own || clock.merge(entry.hybrid, now.wall) == Merged::Yes {
                        merged = merged.max(Some(entry.hybrid));
                    }
                    // The station erases for anybody; what another phone says is gone is that phone's own.
                    if let Act::Erased(Erased { blob }) = &entry.act
                        && (own || station == Some(link.stream.device.octets()))
                    {
                        erased.push(*blob);
                    }
                    fresh.push((link.clone(), entry));
                }
            }
            Err(_) => {
                rows::receive(&transaction, link, Scope::Site(site))?;
            }
        }
    }
    let mut gone = Vec::new();
    let folded = append_and_fold(&transaction, &mut handset.memory, fresh, Origin::Received, |db, link, entry| {
        match rows::receive(db, link, entry.scope)? {
            Stored::Fresh | Stored::Already => Ok(()),
        }
    })
    .and_then(|()| {
        for blob in erased {
            gone.extend(take_away(&transaction, blob)?);
        }
        Ok(())
    })
    .and_then(|()| match merged.filter(|_| clock != handset.clock) {
        Some(merged) => keep_merged(&transaction, merged),
        None => Ok(()),
    })
    .and_then(|()| Ok(transaction.commit()?));
    match folded {
        Ok(()) => {
            handset.clock = clock;
            leave_nothing(handset, gone)
        }
        Err(error) => {
            handset.reload()?;
            Err(error)
        }
    }
}

/// Tells the engine what is gone, removes files, and cuts the log.
fn leave_nothing(handset: &mut Handset, gone: Vec<Gone>) -> Result<(), Error> {
    if gone.is_empty() {
        return Ok(());
    }
    for gone in gone {
        match gone {
            Gone::Text(hash) => handset.text_gone(hash),
            Gone::Photo(photo, name) => {
                handset.photo_gone(photo);
                if let Some(name) = name {
                    crate::photo::files::remove(&*handset.around.disk.files, &handset.folder, &name);
                }
            }
        }
    }
    cut_log(&handset.db)
}

fn store(db: &Connection, event: &Event, now: Now) -> Result<(), Error> {
    match event {
        Event::EnrolRefused(_) => {
            db.execute("DELETE FROM setting WHERE name = ?1", [ENROL_CODE])?;
        }
        Event::NeedsJoining => set(db, JOINED, 0)?,
        Event::Acknowledged { stream, head } => acknowledge(db, *stream, *head)?,
        Event::AcknowledgedMovedBack { stream, head } => {
            acknowledge(db, *stream, *head)?;
            if let Some(row) = streams::row_of(db, *stream)? {
                db.execute("DELETE FROM hole WHERE stream = ?1 AND seq > ?2", params![row, rows::number(head.seq)])?;
                db.execute("DELETE FROM verdict WHERE stream = ?1 AND seq > ?2", params![row, rows::number(head.seq)])?;
            }
        }
        Event::HoleMade { stream, seq, reason } => hole(db, *stream, (*seq, *reason), super::APP)?,
        Event::HoleFound { stream, seq, reason } => hole(db, *stream, (*seq, *reason), "")?,
        Event::HoleFilled { stream, seq } => {
            if let Some(row) = streams::row_of(db, *stream)? {
                db.execute("DELETE FROM hole WHERE stream = ?1 AND seq = ?2", params![row, rows::number(*seq)])?;
            }
        }
        Event::HoleOffered { stream, seq } => {
            if let Some(row) = streams::row_of(db, *stream)? {
                db.execute(
                    "UPDATE hole SET offered_by = ?3 WHERE stream = ?1 AND seq = ?2",
                    params![row, rows::number(*seq), super::APP],
                )?;
            }
        }
        Event::Parked { stream } => park(db, *stream, 1)?,
        Event::Unparked { stream } => park(db, *stream, 0)?,
        Event::FeedPage(page) => cursor(db, page.after.site, page.after.number, page.after.feed_hash.0)?,
        Event::FeedRestarted { site } => cursor(db, *site, 0, [0; 32])?,
        Event::Memberships(sites) => set(db, MEMBERSHIPS, serde_json::to_string(sites)?)?,
        Event::Verdicts { stream, verdicts } => {
            let Some(row) = streams::row_of(db, *stream)? else { return Ok(()) };
            for verdict in verdicts {
                db.prepare_cached(
                    "INSERT INTO verdict (stream, number, seq, hash, ruling) VALUES (?1, ?2, ?3, ?4, ?5) \
                     ON CONFLICT DO NOTHING",
                )?
                .execute(params![
                    row,
                    i64::try_from(verdict.number).unwrap_or(i64::MAX),
                    rows::number(verdict.seq),
                    verdict.hash.0,
                    serde_json::to_string(&verdict.ruling)?,
                ])?;
            }
        }
        Event::PhotoState { photo, state } => {
            db.execute(
                "UPDATE photo SET state = ?2 WHERE photo = ?1",
                params![photo.octets(), serde_json::to_string(state)?],
            )?;
        }
        Event::SendPhotoAgain { photo } => {
            db.execute("UPDATE photo SET state = NULL WHERE photo = ?1", [photo.octets()])?;
        }
        Event::TextStored { hash } => {
            db.execute("UPDATE text SET sent = 1 WHERE hash = ?1", [hash.0])?;
        }
        Event::StationIs(device) => set(db, STATION_DEVICE, device.octets())?,
        Event::StationClock { ahead_ms } => {
            set(db, STATION_AHEAD, *ahead_ms)?;
            set(db, LAST_CONTACT, now.wall.0)?;
        }
        Event::Enrolled(_)
        | Event::SealAndStartEpoch { .. }
        | Event::TextsWanted(_)
        | Event::UpdateNeeded
        | Event::SetAside { .. }
        | Event::JobForgotten(_)
        | Event::WaitingUntil { .. }
        | Event::AllSent
        | Event::Rested(_) => {}
    }
    Ok(())
}

fn enrol(db: &Connection, enrolled: &Enrolled, now: Now) -> Result<(), Error> {
    set(db, JOINED, 1)?;
    if let Some(station) = &enrolled.station {
        set(db, STATION, station)?;
    }
    set(db, MEMBERSHIPS, serde_json::to_string(&enrolled.sites)?)?;
    set(db, LAST_CONTACT, now.wall.0)?;
    db.execute("DELETE FROM setting WHERE name = ?1", [ENROL_CODE])?;
    Ok(())
}

fn show(handset: &mut Handset, event: &Event) {
    let said = &mut handset.sync.said;
    match event {
        Event::NeedsJoining => said.needs_joining = true,
        Event::Enrolled(_) => said.needs_joining = false,
        Event::EnrolRefused(kind) => said.join_refused = Some(kind.name().into()),
        Event::UpdateNeeded => said.update_needed = true,
        Event::SetAside { kind, .. } => said.set_aside.push(kind.name().into()),
        Event::WaitingUntil { up_ms, .. } => said.waiting_until = Some(*up_ms),
        Event::Acknowledged { .. } | Event::AllSent => said.waiting_until = None,
        _ => {}
    }
}

fn acknowledge(db: &Connection, stream: StreamId, head: Head) -> Result<(), Error> {
    db.prepare_cached(
        "INSERT INTO acknowledged (stream, seq, hash) SELECT stream, ?2, ?3 FROM stream WHERE epoch = ?1 \
         ON CONFLICT (stream) DO UPDATE SET seq = excluded.seq, hash = excluded.hash",
    )?
    .execute(params![stream.epoch.octets(), rows::number(head.seq), head.hash.0])?;
    Ok(())
}

fn hole(db: &Connection, stream: StreamId, (seq, reason): (Seq, HoleReason), offered_by: &str) -> Result<(), Error> {
    db.execute(
        "INSERT INTO hole (stream, seq, reason, offered_by) \
         SELECT stream, ?2, ?3, ?4 FROM stream WHERE epoch = ?1 ON CONFLICT DO NOTHING",
        params![stream.epoch.octets(), rows::number(seq), serde_json::to_string(&reason)?, offered_by],
    )?;
    Ok(())
}

fn park(db: &Connection, stream: StreamId, parked: i64) -> Result<(), Error> {
    db.execute(
        "INSERT INTO acknowledged (stream, seq, hash, parked) SELECT stream, 0, ?2, ?3 FROM stream WHERE epoch = ?1 \
         ON CONFLICT (stream) DO UPDATE SET parked = excluded.parked",
        params![stream.epoch.octets(), Head::START.hash.0, parked],
    )?;
    Ok(())
}

fn cursor(db: &Connection, site: SiteId, number: u64, hash: [u8; 32]) -> Result<(), Error> {
    db.prepare_cached(
        "INSERT INTO feed_cursor (site, number, hash) VALUES (?1, ?2, ?3) \
         ON CONFLICT (site) DO UPDATE SET number = excluded.number, hash = excluded.hash",
    )?
    .execute(params![site.octets(), i64::try_from(number).unwrap_or(i64::MAX), hash])?;
    Ok(())
}
