//! The one object that a shell holds.

use crate::error::{Error, HandsetError, Kind};
use crate::journal::files::{self, DATABASE};
use crate::journal::salvage::{self, Salvage};
use crate::journal::streams::{self, Current};
use crate::journal::{aside, connection, rows, schema};
use crate::state::memory::Memory;
use crate::state::refold::{self, Progress};
use crate::state::{FOLD_VERSION, group::Group};
use crate::surroundings::{Mark, Surroundings};
use rusqlite::{Connection, OptionalExtension, ToSql, params};
use serde::Serialize;
use std::fs::File;
use std::path::{Path, PathBuf};
use survey::chain::Seq;
use survey::entry::Entry;
use survey::ids::{DeviceId, RandomOctets, VisitId};
use survey::time::{HybridClock, HybridTime, Now};

/// The phone side of one observer's device.
#[derive(Debug)]
pub struct Handset {
    pub(crate) folder: PathBuf,
    pub(crate) db: Connection,
    pub(crate) reader: Connection,
    pub(crate) around: Surroundings,
    pub(crate) device: DeviceId,
    pub(crate) stream: Current,
    pub(crate) clock: HybridClock,
    pub(crate) last: Option<Now>,
    pub(crate) memory: Memory,
    pub(crate) audit_seed: RandomOctets,
    pub(crate) sync: crate::sync::Sync,
    /// Answers of practice, once they were read from the journal.
    pub(crate) practised: Option<Vec<practice::Answered>>,
    opened: Opened,
    _lock: File,
}

/// What opening came upon.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Opened {
    /// The folder, below the handset's own, into which a damaged database was moved at this opening.
    pub set_aside: Option<String>,
    /// Entries that were read from it and are in the journal again.
    pub salvaged: u64,
    /// What was and what was not saved of it, to be shown.
    pub salvage: Option<Salvage>,
    /// Why a fresh epoch was begun, where one was: a word of `marker-absent`, `marker-different`, `marker-ahead`.
    pub fresh_epoch: Option<&'static str>,
    /// Whether the time before did not end with a closing, as when the system ended the process: the whole database is
    /// then to be checked by [`Handset::check_step`].
    pub unclean_stop: bool,
    /// Visits whose rows are still to be folded by [`Handset::refold_step`].
    pub unfolded: u64,
}

impl Handset {
    /// Opens the handset in this folder, which is made where there is none. The folder has to be one that no backup
    /// carries.
    ///
    /// # Errors
    /// `already-open` where another holds it; `try-later` where the files cannot be reached; `newer` where a newer
    /// version made the database: see [`Handset::open_beside`]. A damaged database is no error: it is set aside, what
    /// can be read of this device's own entries is taken over, and [`Handset::opened`] tells.
    pub fn open(folder: impl AsRef<Path>, around: Surroundings) -> Result<Self, HandsetError> {
        Ok(open_named(folder.as_ref(), DATABASE, around)?)
    }

    /// Opens a database of its own, in a fresh epoch, beside one that a newer version made. The device stays the
    /// same one where the newer database lets itself be asked.
    ///
    /// # Errors
    /// As [`Handset::open`].
    pub fn open_beside(folder: impl AsRef<Path>, around: Surroundings) -> Result<Self, HandsetError> {
        let name = format!("journal-beside-{}.sqlite", schema::VERSION);
        Ok(open_named(folder.as_ref(), &name, around)?)
    }

    /// What opening came upon.
    pub const fn opened(&self) -> &Opened {
        &self.opened
    }

    /// This device.
    pub const fn device(&self) -> DeviceId {
        self.device
    }

    /// The stream that is being written.
    pub const fn stream(&self) -> survey::chain::StreamId {
        self.stream.id
    }

    /// The sequence number of the last entry.
    pub const fn last_seq(&self) -> Seq {
        self.stream.head.seq
    }

    /// Lets the database grow to no more than so many pages, until the next opening; `None` takes the limit away. An
    /// act that does not fit is refused with `full`, as on a full disk.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn limit_pages(&mut self, most: Option<u32>) -> Result<(), HandsetError> {
        let limited = || -> Result<(), Error> {
            let most = most.unwrap_or(MOST_PAGES);
            Ok(self.db.query_row(&format!("PRAGMA max_page_count = {most}"), [], |_| Ok(()))?)
        };
        Ok(limited()?)
    }

    /// Drops all state and folds the journal again, to the end.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn refold(&mut self) -> Result<(), HandsetError> {
        refold::begin(&mut self.db, &mut self.memory)?;
        self.reload()?;
        while self.refold_some(VISITS_AT_ONCE)?.left > 0 {}
        Ok(())
    }

    /// Folds one more visit where some are still to be folded: the one in hand first.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn refold_step(&mut self) -> Result<Progress, HandsetError> {
        self.refold_some(1)
    }

    fn refold_some(&mut self, visits: usize) -> Result<Progress, HandsetError> {
        let first = self.memory.hand.as_ref().and_then(|group| group.members.first().copied());
        let progress = refold::step(&mut self.db, self.device, &self.memory, first, visits)?;
        self.memory.look_whether_folded(&self.db)?;
        Ok(progress)
    }

    /// Every row of every state table in the order of its key, as text: for comparing two handsets, or one before and
    /// after a refold.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn state_rows(&self) -> Result<Vec<String>, HandsetError> {
        Ok(crate::state::dump::rows(&self.reader)?)
    }

    /// Reads the memory again from the journal: after a failed write it may be ahead of it.
    pub(crate) fn reload(&mut self) -> Result<(), Error> {
        self.memory = Memory::load(&self.db, self.device)?;
        match setting::<[u8; 16]>(&self.db, IN_HAND)? {
            Some(visit) => self.memory.take_in_hand(&self.db, VisitId::from_octets(visit)),
            None => Ok(()),
        }
    }

    pub(crate) const fn hand(&self) -> Option<&Group> {
        self.memory.hand.as_ref()
    }
}

/// Visits folded in one transaction where nobody waits to count meanwhile.
const VISITS_AT_ONCE: usize = 16;

/// The visit in hand.
pub(crate) const IN_HAND: &str = "visit-in-hand";
/// This device.
pub(crate) const DEVICE: &str = "device";
/// The most pages that SQLite takes (sqlite.org/limits.html, "Maximum Number Of Pages In A Database File").
const MOST_PAGES: u32 = 4_294_967_294;
const AUDIT_SEED: &str = "audit-seed";

/// Reads a setting.
pub(crate) fn setting<T: rusqlite::types::FromSql>(db: &Connection, name: &str) -> Result<Option<T>, Error> {
    let mut statement = db.prepare_cached("SELECT value FROM setting WHERE name = ?1")?;
    Ok(statement.query_row([name], |row| row.get(0)).optional()?)
}

/// Writes a setting.
pub(crate) fn set(db: &Connection, name: &str, value: impl ToSql) -> Result<(), Error> {
    let mut statement = db.prepare_cached(
        "INSERT INTO setting (name, value) VALUES (?1, ?2) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
    )?;
    statement.execute(params![name, value])?;
    Ok(())
}

fn open_named(folder: &Path, name: &str, mut around: Surroundings) -> Result<Handset, Error> {
    let disk = around.disk.clone();
    let lock = files::lock(&*disk.files, folder)?;
    let mut opened = Opened { unclean_stop: files::has_log(folder, name), ..Opened::default() };
    let first = if files::looks_damaged(folder, name) {
        Err(Error::Damaged("damage was found before this opening".into()))
    } else {
        open_whole(folder, name, &mut around, None)
    };
    let whole = match first {
        Err(error) if error.kind() == Kind::Damaged => {
            let mark = around.marker.read().map_err(Error::Marker)?;
            let place = aside::set_aside(&*disk.files, folder, name, around.clock.now().wall)?;
            opened.set_aside = place.strip_prefix(folder).ok().map(|place| place.to_string_lossy().into_owned());
            open_whole(folder, name, &mut around, mark)?
        }
        other => other?,
    };
    let Whole { db, reader, device, stream, sealed, salvage, memory, audit_seed, last, hybrid } = whole;
    opened.fresh_epoch = sealed;
    opened.salvaged = salvage.map_or(0, |salvage| salvage.entries);
    opened.salvage = salvage;
    opened.unfolded = refold::left(&db)?.left;
    let mut handset = Handset {
        reader,
        folder: folder.to_path_buf(),
        clock: HybridClock::after(hybrid),
        last: last.map(|entry| Now { wall: entry.wall, offset: entry.offset, since_boot: entry.since_boot }),
        db,
        around,
        device,
        stream,
        memory,
        audit_seed,
        sync: crate::sync::Sync::default(),
        practised: None,
        opened,
        _lock: lock,
    };
    handset.memory.look_whether_folded(&handset.db)?;
    Ok(handset)
}

/// Everything that opening reads: damage in any of it sets the database aside.
struct Whole {
    db: Connection,
    reader: Connection,
    device: DeviceId,
    stream: Current,
    sealed: Option<&'static str>,
    salvage: Option<Salvage>,
    memory: Memory,
    audit_seed: RandomOctets,
    last: Option<Entry>,
    hybrid: Option<HybridTime>,
}

/// Opens or makes the database; `mark` is that of the one that was set aside just before.
fn open_whole(folder: &Path, name: &str, around: &mut Surroundings, mark: Option<Mark>) -> Result<Whole, Error> {
    let disk = around.disk.clone();
    let mut db = connection::writer(&folder.join(name), disk.vfs.as_deref())?;
    schema::migrate(&mut db)?;
    let device = if let Some(octets) = setting(&db, DEVICE)? {
        DeviceId::from_octets(octets)
    } else {
        let device = earlier_device(folder, name)?.unwrap_or_else(|| DeviceId::random(around.random.octets()));
        set(&db, DEVICE, device.octets())?;
        device
    };
    files::note_device(&*disk.files, folder, device)?;
    let (stream, sealed) = streams::settle(&mut db, device, around)?;
    let salvage = salvage::take_over_all(&*disk.files, folder, name, &mut db, device, mark)?;
    let mut memory = Memory::load(&db, device)?;
    if refold::version(&db)? != FOLD_VERSION || salvage.is_some() {
        refold::begin(&mut db, &mut memory)?;
    }
    let audit_seed = if let Some(seed) = setting(&db, AUDIT_SEED)? {
        seed
    } else {
        let seed = around.random.octets();
        set(&db, AUDIT_SEED, seed)?;
        seed
    };
    let last = last_entry(&db, stream)?;
    let hybrid = highest_hybrid(&db, &memory)?;
    let reader = connection::reader(&folder.join(name), disk.vfs.as_deref())?;
    if let Some(visit) = setting::<[u8; 16]>(&db, IN_HAND)? {
        memory.take_in_hand(&db, VisitId::from_octets(visit))?;
    }
    crate::photo::files::sweep(&db, &*disk.files, folder)?;
    refold::left(&db)?;
    let sealed = sealed.map(streams::Sealed::name);
    Ok(Whole { db, reader, device, stream, sealed, salvage, memory, audit_seed, last, hybrid })
}

/// The device that is noted beside the database, or that other databases name: those set aside, the latest first, and a
/// newer one.
fn earlier_device(folder: &Path, name: &str) -> Result<Option<DeviceId>, Error> {
    let aside = aside::places(folder, name)?.into_iter().rev().map(|place| aside::path(folder, &place).join(name));
    let newer = (name != DATABASE).then(|| folder.join(DATABASE));
    let noted = files::noted_device(folder);
    Ok(noted.or_else(|| aside.chain(newer).find_map(|database| salvage::device(&database))))
}

fn last_entry(db: &Connection, stream: Current) -> Result<Option<Entry>, Error> {
    let links = rows::own_links(db, stream.row, stream.id, stream.head.seq, 1)?;
    Ok(links.first().and_then(|link| Entry::decode(&link.bytes).ok()))
}

/// The highest hybrid time of everything that this device made, in sealed streams too, of what was received of it, and
/// of what was merged. Within a stream the times grow, so its last entry has the highest.
fn highest_hybrid(db: &Connection, memory: &Memory) -> Result<Option<HybridTime>, Error> {
    let merged: Option<(i64, u32)> =
        setting::<String>(db, crate::acts::HYBRID)?.and_then(|text| serde_json::from_str(&text).ok());
    let merged = merged.map(|(ms, counter)| HybridTime(ms, counter));
    let sites =
        memory.sites.entries().filter(|kept| kept.key.stream.device == memory.device()).map(|kept| kept.key.hybrid);
    let mut highest = sites.chain(merged).max();
    for stream in streams::all(db, memory.device())? {
        highest = highest.max(last_entry(db, stream)?.map(|entry| entry.hybrid));
    }
    Ok(highest)
}
