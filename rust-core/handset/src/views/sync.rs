//! The state of the sync.

use crate::error::{Error, HandsetError};
use crate::object::{Handset, setting};
use crate::sync::{JOINED, LAST_CONTACT, STATION, STATION_AHEAD};
use ::sync::engine::{Life, Parking};
use ::sync::trust::Refusal;
use ::sync::wire::photo::PhotoState;
use serde::Serialize;
use survey::ids::Epoch;
use survey::time::UnixMs;

/// What was sent, what waits, and why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SyncView {
    /// Whether this device has joined a station.
    pub joined: bool,
    /// The station's name for itself.
    pub station: Option<String>,
    /// Why the last code was not taken: the name of a problem.
    pub join_refused: Option<String>,
    /// Why the last certificate was not good: a message that says what to do.
    pub certificate_refused: Option<&'static str>,
    /// Whether the station asks to join again.
    pub needs_joining: bool,
    /// Whether the station asks for an update of the software.
    pub update_needed: bool,
    /// The streams of this device, the current one last.
    pub streams: Vec<StreamSent>,
    /// Photos of this device.
    pub photos: PhotosSent,
    /// Texts of notes that wait.
    pub texts_waiting: u64,
    /// When the station last answered.
    pub last_contact: Option<UnixMs>,
    /// By how many milliseconds the station's clock was ahead then.
    pub station_ahead_ms: Option<i64>,
    /// Time since boot, in milliseconds, before which nothing is tried.
    pub waiting_until_up_ms: Option<u64>,
    /// Names of problems for which something was put off to the next sync.
    pub put_off: Vec<String>,
}

/// One stream.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StreamSent {
    /// Its epoch.
    pub epoch: Epoch,
    /// Whether it is the one being written.
    pub current: bool,
    /// Entries in it.
    pub entries: u64,
    /// Entries that the station holds, those in holes not counted.
    pub sent: u64,
    /// Entries that wait.
    pub waits: u64,
    /// Entries that the station did not take; they stay here.
    pub holes: u64,
    /// Whether the station says that the stream is another phone's.
    pub not_yours: bool,
}

/// Photos.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct PhotosSent {
    /// Not wholly sent.
    pub waiting: u64,
    /// Verified by the station.
    pub verified: u64,
    /// Backed up by it.
    pub backed_up: u64,
}

impl Handset {
    /// The state of the sync.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn sync_status(&self) -> Result<SyncView, HandsetError> {
        Ok(view(self)?)
    }
}

fn view(handset: &Handset) -> Result<SyncView, Error> {
    let db = &handset.db;
    let said = handset.sync.said.clone();
    let streams = crate::sync::streams(handset)?.into_iter().map(|stream| {
        let holes = stream.holes.len() as u64;
        StreamSent {
            epoch: stream.id.epoch,
            current: stream.life == Life::Current,
            entries: stream.head.seq.0,
            sent: stream.acknowledged.seq.0.saturating_sub(holes),
            waits: stream.head.seq.0.saturating_sub(stream.acknowledged.seq.0),
            holes,
            not_yours: stream.parked == Parking::NotYours,
        }
    });
    let texts: i64 =
        db.query_row("SELECT count(*) FROM text WHERE sent = 0 AND entry_seq IS NOT NULL", [], |row| row.get(0))?;
    Ok(SyncView {
        joined: setting::<i64>(db, JOINED)? == Some(1),
        station: setting(db, STATION)?,
        join_refused: said.join_refused,
        certificate_refused: said.refused.map(Refusal::message),
        needs_joining: said.needs_joining,
        update_needed: said.update_needed,
        streams: streams.collect(),
        photos: photos(handset)?,
        texts_waiting: u64::try_from(texts).unwrap_or(0),
        last_contact: setting(db, LAST_CONTACT)?.map(UnixMs),
        station_ahead_ms: setting(db, STATION_AHEAD)?,
        waiting_until_up_ms: said.waiting_until,
        put_off: said.set_aside,
    })
}

fn photos(handset: &Handset) -> Result<PhotosSent, Error> {
    let mut statement = handset.db.prepare_cached("SELECT name IS NOT NULL, state FROM photo")?;
    let rows = statement.query_map([], |row| Ok((row.get::<_, bool>(0)?, row.get::<_, Option<String>>(1)?)))?;
    let mut sent = PhotosSent::default();
    for row in rows {
        let (here, state) = row?;
        let state: PhotoState = state.as_deref().map(serde_json::from_str).transpose()?.unwrap_or_default();
        if state.verified {
            sent.verified += 1;
            sent.backed_up += u64::from(state.backed_up.is_some());
        } else if here {
            sent.waiting += 1;
        }
    }
    Ok(sent)
}
