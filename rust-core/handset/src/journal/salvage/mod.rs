//! What can be read of a damaged database. Every row of the journal carries its own hash, so each is judged by itself:
//! what follows a gap is taken over as well as what stands before it. Streams that come out of it are sealed; texts,
//! names, photos, received entries and a few settings come along. The files set aside are left as they are: reading is
//! done on a copy.

mod copy;
mod raw;
mod read;
mod report;

pub use report::Salvage;

use super::files::{PHOTOS, folder_of, names_in};
use super::{aside, rows};
use crate::acts::HYBRID;
use crate::error::Error;
use crate::object::{DEVICE, IN_HAND, set, setting};
use crate::surroundings::Mark;
use crate::surroundings::disk::{Files, make_folders};
use crate::sync::{JOINED, LAST_CONTACT, LAST_JOB, MEMBERSHIPS, STATION, TRUST};
use copy::Copy;
use read::Limit;
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use survey::chain::{Link, StreamId};
use survey::entry::{Entry, Scope};
use survey::ids::{DeviceId, Epoch, PhotoId};

/// The device that a database says it belongs to, where it can be asked.
pub(crate) fn device(database: &Path) -> Option<DeviceId> {
    Copy::of(database).ok()?.device()
}

/// Takes over what can be read of every database set aside that was not read yet: usually none, or the one that was
/// set aside a moment ago; where a power cut came between the two, that of the time before.
pub(crate) fn take_over_all(
    files: &dyn Files,
    folder: &Path,
    name: &str,
    fresh: &mut Connection,
    device: DeviceId,
    mark: Option<Mark>,
) -> Result<Option<Salvage>, Error> {
    let mut whole: Option<Salvage> = None;
    for place in aside::places(folder, name)? {
        let done = format!("salvaged:{place}");
        if setting::<i64>(fresh, &done)?.is_some() {
            continue;
        }
        let place = aside::path(folder, &place);
        let database = place.join(name);
        let copy = Copy::of(&database).map_err(Error::file(&database))?;
        let transaction = fresh.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let salvage = take_over(&copy, &transaction, device, mark)?;
        let salvage = Salvage { files: put_aside(files, &transaction, folder, &place)?, ..salvage };
        set(&transaction, &done, 1)?;
        transaction.commit()?;
        whole = Some(whole.unwrap_or_default().and(salvage));
    }
    Ok(whole)
}

fn take_over(copy: &Copy, fresh: &Connection, device: DeviceId, mark: Option<Mark>) -> Result<Salvage, Error> {
    let mut salvage = Salvage { end_known: false, ..Salvage::default() };
    let mut streams = BTreeMap::new();
    let mut known = copy.streams();
    if let Some(mark) = mark
        && known.iter().all(|(_, epoch, _)| *epoch != mark.epoch)
    {
        // The row of the stream in use may be damaged; its epoch stands in the mark too, and the hashes decide.
        let row = (1..).take(known.len() + 1).max_by_key(|&row| copy.links(row, mark.stream(device)).len());
        known.extend(row.map(|row| (row, mark.epoch, 0)));
    }
    for (row, epoch, begun) in known {
        let id = StreamId { device, epoch };
        let links = copy.links(row, id);
        let marked = mark.filter(|mark| mark.epoch == epoch).map(|mark| mark.seq.0);
        let last = links.last().map(|link| link.seq.0).max(marked).unwrap_or(0);
        salvage.end_known |= marked.is_some();
        salvage.lost += last - links.len() as u64;
        if links.is_empty() {
            continue;
        }
        let stream = stream_row(fresh, epoch, begun)?;
        streams.insert(row, stream);
        for link in links {
            if !is_own(fresh, stream, &link)? {
                let scope = Entry::decode(&link.bytes).map_or(Scope::Device, |entry| entry.scope);
                rows::append(fresh, stream, &link, scope)?;
                salvage.entries += 1;
            }
        }
    }
    salvage.received = received(copy, fresh)?;
    beside(copy, fresh, &streams, &mut salvage)?;
    settings(copy, fresh)?;
    Ok(salvage)
}

fn stream_row(fresh: &Connection, epoch: Epoch, begun: i64) -> Result<i64, Error> {
    let there =
        fresh.query_row("SELECT stream FROM stream WHERE epoch = ?1", [epoch.octets()], |row| row.get(0)).optional()?;
    if let Some(row) = there {
        return Ok(row);
    }
    fresh.execute(
        "INSERT INTO stream (epoch, begun_ms, sealed) VALUES (?1, ?2, 'salvaged')",
        params![epoch.octets(), begun],
    )?;
    Ok(fresh.last_insert_rowid())
}

fn is_own(fresh: &Connection, stream: i64, link: &Link) -> Result<bool, Error> {
    let mut statement = fresh.prepare_cached("SELECT EXISTS (SELECT 1 FROM entry WHERE stream = ?1 AND seq = ?2)")?;
    Ok(statement.query_row(params![stream, rows::number(link.seq)], |row| row.get(0))?)
}

/// Other devices' entries come with the feed as well; here they are at hand at once.
fn received(copy: &Copy, fresh: &Connection) -> Result<u64, Error> {
    let mut taken = 0;
    for link in copy.received() {
        let scope = Entry::decode(&link.bytes).map_or(Scope::Device, |entry| entry.scope);
        taken += u64::from(rows::receive(fresh, &link, scope)? == rows::Stored::Fresh);
    }
    Ok(taken)
}

/// Texts, names, photos and the spans of acts.
fn beside(copy: &Copy, fresh: &Connection, streams: &BTreeMap<i64, i64>, salvage: &mut Salvage) -> Result<(), Error> {
    let mapped = |value: &Value| match value {
        Value::Integer(row) => streams.get(row).map_or(Value::Null, |row| Value::Integer(*row)),
        _ => Value::Null,
    };
    let insert = |sql: &str, row: &[Value]| -> Result<u64, Error> {
        // A row with a value that cannot be stands in a damaged page and is left.
        Ok(fresh.prepare_cached(sql)?.execute(rusqlite::params_from_iter(row)).unwrap_or(0) as u64)
    };
    for mut row in copy.rows("text", "hash, salt, text, entry_seq, stream, sent") {
        let whole = matches!((&row[0], &row[1], &row[2]), (Value::Blob(hash), Value::Blob(salt), Value::Text(text))
            if salt.clone().try_into().is_ok_and(|salt| survey::chain::blob_hash(salt, text.as_bytes()).0[..] == hash[..]));
        row[4] = mapped(&row[4]);
        if whole {
            salvage.texts += insert(
                "INSERT INTO text (hash, salt, text, entry_seq, stream, sent) VALUES (?1, ?2, ?3, ?4, ?5, ?6) \
                 ON CONFLICT DO NOTHING",
                &row,
            )?;
        }
    }
    let named = |row: &[Value]| match (&row[0], &row[6]) {
        (Value::Blob(photo), Value::Text(name)) => {
            photo.clone().try_into().is_ok_and(|photo| *name == format!("{PHOTOS}/{}.jpg", PhotoId::from_octets(photo)))
        }
        (Value::Blob(_), Value::Null) => true,
        _ => false,
    };
    for row in copy.rows("observer", "observer, name") {
        salvage.names += insert("INSERT INTO observer (observer, name) VALUES (?1, ?2) ON CONFLICT DO NOTHING", &row)?;
    }
    for mut row in copy.rows("photo", "photo, stream, seq, hash, salt, length, name, taken_ms, state") {
        row[1] = mapped(&row[1]);
        if named(&row) {
            salvage.photos += insert(
                "INSERT INTO photo (photo, stream, seq, hash, salt, length, name, taken_ms, state) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) ON CONFLICT DO NOTHING",
                &row,
            )?;
        }
    }
    for mut row in copy.rows("act_span", "stream, last, first") {
        row[0] = mapped(&row[0]);
        insert("INSERT INTO act_span (stream, last, first) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING", &row)?;
    }
    Ok(())
}

/// Settings that go on: who the station is, what is in hand, which numbers of jobs are taken.
fn settings(copy: &Copy, fresh: &Connection) -> Result<(), Error> {
    for row in copy.rows("setting", "name, value") {
        let [Value::Text(name), value] = &row[..] else { continue };
        let json = |text: &str| serde_json::from_str::<serde_json::Value>(text).is_ok();
        let whole = match (name.as_str(), value) {
            (IN_HAND, Value::Blob(octets)) => octets.len() == 16,
            (JOINED | LAST_JOB | LAST_CONTACT, Value::Integer(_)) | (STATION, Value::Text(_)) => true,
            (MEMBERSHIPS | HYBRID | TRUST, Value::Text(text)) => json(text),
            (other, Value::Integer(_)) => other.starts_with("salvaged:"),
            _ => false,
        };
        if whole && setting::<Value>(fresh, name)?.is_none() {
            set(fresh, name, value)?;
        }
    }
    Ok(())
}

/// Files of photos that no row names any longer lie beside the database set aside from now on: the row may be among
/// what could not be read.
fn put_aside(files: &dyn Files, fresh: &Connection, folder: &Path, place: &Path) -> Result<u64, Error> {
    let mut statement = fresh.prepare("SELECT name FROM photo WHERE name IS NOT NULL")?;
    let named = statement.query_map([], |row| row.get::<_, String>(0))?.collect::<Result<BTreeSet<_>, _>>()?;
    let stray: Vec<_> = names_in(&folder.join(PHOTOS))?
        .into_iter()
        .filter(|name| !named.contains(&format!("{PHOTOS}/{name}")))
        .collect();
    if stray.is_empty() {
        return Ok(0);
    }
    let to = place.join(PHOTOS);
    make_folders(files, &to).map_err(Error::file(&to))?;
    for name in &stray {
        let from = folder.join(PHOTOS).join(name);
        files.rename(&from, &to.join(name)).map_err(Error::file(&from))?;
    }
    files.sync_folder(&to).map_err(Error::file(&to))?;
    let from = folder.join(PHOTOS);
    files.sync_folder(&from).map_err(Error::file(&from))?;
    Ok(stray.len() as u64)
}
