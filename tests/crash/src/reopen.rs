//! An image reopened by a real handset, and what has to hold then.

use crate::session::{START, data, marker};
use crate::told::{Broken, Held, Steps, Told};
use handset::acts::{Count, OpenPlant};
use handset::surroundings::Surroundings;
use handset::surroundings::disk::Disk;
use handset::surroundings::marker::FileMarker;
use handset::surroundings::scripted::Script;
use handset::{Handset, HandsetError, Kind, Why};
use std::path::Path;
use survey::stage::Stage;
use survey::time::{OffsetMinutes, UnixMs};

/// Opens a handset on the system's own disk, an hour after everything that a session did. What it draws at random
/// follows from `seed`, which is to be another at each opening of a folder.
///
/// # Errors
/// Those of the handset.
pub fn open(root: &Path, seed: u64) -> Result<Handset, HandsetError> {
    let script = Script::new(seed, UnixMs(START.0 + 3_600_000), OffsetMinutes(-300));
    let disk = Disk::default();
    let around = Surroundings {
        marker: Box::new(FileMarker::at(marker(root), disk.files.clone())),
        disk,
        ..script.surroundings()
    };
    Handset::open(data(root), around)
}

/// Reopens the image in this folder. `before` is what was told last, `during` what would have been told next.
///
/// # Errors
/// The first thing that does not hold.
pub fn check(root: &Path, before: Option<&Told>, during: Option<&Told>) -> Result<(), Broken> {
    let mut phone = open(root, u64::MAX).map_err(|error| Broken::Closed(error.to_string()))?;
    let opened = phone.opened().clone();
    if opened.set_aside.is_some() || (before.is_some() && opened.fresh_epoch.is_some()) {
        return Err(Broken::BeganAnew(format!("{opened:?}")));
    }
    while phone.refold_step().map_err(|error| Broken::Closed(error.to_string()))?.left > 0 {}
    let folder = data(root);
    let held = Held::read(&folder)?;
    held.no_stray_files(&folder)?;
    phone.refold().map_err(|error| Broken::Closed(error.to_string()))?;
    if Held::read(&folder)?.state != held.state {
        return Err(Broken::State);
    }
    if let Some(before) = before {
        nothing_is_missing(before, during, &held)?;
        acts_are_whole(before, during, &held)?;
    }
    counting_goes_on(&mut phone)
}

fn nothing_is_missing(before: &Told, during: Option<&Told>, held: &Held) -> Result<(), Broken> {
    let missing = |what: String| Broken::Missing(format!("{what}, told when {}", before.act));
    if let Some((stream, seq)) = before.shown
        && held.streams.get(&stream).is_none_or(|head| head.seq < seq)
    {
        return Err(missing(format!("entries up to {seq}")));
    }
    for (stream, head) in &before.held.streams {
        let there = held.streams.get(stream);
        if there.is_none_or(|there| there.seq < head.seq || (there.seq == head.seq && there.hash != head.hash)) {
            return Err(missing(format!("entry {} of {stream:?}", head.seq)));
        }
    }
    // What the act under way takes away may be there or not.
    let taken = |had: &dyn Fn(&Held) -> bool| during.is_some_and(|during| !had(&during.held));
    for (photo, told) in &before.held.photos {
        if held.photos.get(photo) != Some(told) && !taken(&|held| held.photos.get(photo) == Some(told)) {
            return Err(missing(format!("photo {told:?}")));
        }
    }
    for text in &before.held.texts {
        if !held.texts.contains(text) && !taken(&|held| held.texts.contains(text)) {
            return Err(missing("a text".into()));
        }
    }
    for (job, body) in &before.held.jobs {
        if held.jobs.get(job) != Some(body) && !taken(&|held| held.jobs.get(job) == Some(body)) {
            return Err(missing(format!("job {job} with body {body:?}")));
        }
    }
    Ok(())
}

fn acts_are_whole(before: &Told, during: Option<&Told>, held: &Held) -> Result<(), Broken> {
    let during = match during {
        Some(during) if during.steps == Steps::Several => return Ok(()),
        during => during,
    };
    let same = |told: &Told| {
        let same_state = told.held.unfolded > 0 || told.held.state == held.state;
        told.held.rows == held.rows && told.held.streams == held.streams && same_state
    };
    if same(before) || during.is_some_and(same) {
        return Ok(());
    }
    let acts = (&before.act, during.map(|during| &during.act));
    Err(Broken::InPart(format!("neither as told nor as it would have been told: {acts:?}")))
}

fn counting_goes_on(phone: &mut Handset) -> Result<(), Broken> {
    let before = phone.last_seq();
    let counted = match phone.count(Count::one(Stage::Egg)) {
        Err(HandsetError { kind: Kind::NotAllowed(Why::NoPlantOpen), .. }) => {
            phone.open_plant(OpenPlant::default()).map(drop)
        }
        other => other.map(drop),
    };
    match counted {
        Ok(()) if phone.last_seq() > before => Ok(()),
        // Before the first visit was begun, or after the last one ended.
        Err(HandsetError { kind: Kind::NotAllowed(Why::NoVisit | Why::VisitEnded), .. }) => Ok(()),
        other => Err(Broken::Stuck(format!("{other:?}"))),
    }
}
