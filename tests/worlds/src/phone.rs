//! A person's phone: a real handset in a folder, and the little that its shell keeps.

use crate::files;
use crate::ledger::Ledger;
use crate::trouble::{Trouble, hold};
use handset::Handset;
use handset::surroundings::scripted::Script;
use handset::surroundings::{Mark, Marker};
use rusqlite::{Connection, OpenFlags};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use survey::chain::{Hash, Head, Link, Seq, StreamId};
use survey::ids::{DeviceId, Epoch, SiteId};
use survey::time::{OffsetMinutes, UnixMs};

/// A phone.
pub struct Phone {
    /// Its folder.
    pub folder: PathBuf,
    /// Its clock, chance and marker.
    pub script: Script,
    /// The token that the shell keeps.
    pub token: Option<String>,
    /// The copy that was made last.
    pub backup: Option<Backup>,
    /// Ends of its streams as far as the book has them.
    ends: BTreeMap<StreamId, Head>,
    handset: Option<Handset>,
    looker: Option<Connection>,
    device: DeviceId,
    /// Steps until its disk has room again; 0 if it has.
    pub full_for: u32,
    /// Whether the station was put back and has not told this phone what it holds since.
    pub believes_old: bool,
}

/// A copy of a phone's folder.
pub struct Backup {
    /// Where it lies.
    pub folder: PathBuf,
    /// The mark outside the folder when it was made.
    pub mark: Option<Mark>,
    /// The token when it was made.
    pub token: Option<String>,
}

/// 2026-07-04 09:30 UTC.
pub const START: UnixMs = UnixMs(1_783_157_400_000);

impl Phone {
    /// A phone whose script follows from `seed`.
    ///
    /// # Errors
    /// The handset does not open.
    pub fn new(folder: PathBuf, seed: u64) -> Result<Self, Trouble> {
        let script = Script::new(seed, START, OffsetMinutes(-300));
        let handset = Handset::open(&folder, script.surroundings())?;
        let device = handset.device();
        let mut phone = Self {
            folder,
            script,
            token: None,
            backup: None,
            ends: BTreeMap::new(),
            handset: Some(handset),
            looker: None,
            device,
            full_for: 0,
            believes_old: false,
        };
        phone.look()?;
        Ok(phone)
    }

    /// The handset, open.
    ///
    /// # Errors
    /// It is not: a mistake of the harness.
    pub fn handset(&mut self) -> Result<&mut Handset, Trouble> {
        self.handset.as_mut().ok_or_else(|| Trouble::new("the handset is closed"))
    }

    /// The device.
    pub const fn device(&self) -> DeviceId {
        self.device
    }

    /// The process ends, however.
    pub fn close(&mut self) {
        self.looker = None;
        self.handset = None;
    }

    /// The app is started.
    ///
    /// # Errors
    /// The handset does not open, or sets something aside without being told to.
    pub fn open(&mut self) -> Result<(), Trouble> {
        let due = self.fresh_epoch_due()?;
        let handset = Handset::open(&self.folder, self.script.surroundings())?;
        hold!(handset.opened().set_aside.is_none(), "a sound database was set aside");
        let fresh = handset.opened().fresh_epoch.is_some();
        hold!(fresh == due, "a fresh epoch was due: {due}, was begun: {fresh}");
        hold!(handset.device() == self.device, "the phone became another device");
        self.handset = Some(handset);
        self.full_for = 0;
        self.look()
    }

    /// Whether the mark says that this database is not the one that was written last.
    fn fresh_epoch_due(&self) -> Result<bool, Trouble> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let database = Connection::open_with_flags(self.folder.join("journal.sqlite"), flags)?;
        let (epoch, last): ([u8; 16], i64) = database.query_row(
            "SELECT epoch, coalesce((SELECT max(seq) FROM entry WHERE entry.stream = stream.stream), 0) \
             FROM stream WHERE sealed IS NULL ORDER BY stream DESC LIMIT 1",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?;
        Ok(self.mark()?.is_none_or(|mark| mark.epoch.octets() != epoch || mark.seq.0 > last.unsigned_abs()))
    }

    fn look(&mut self) -> Result<(), Trouble> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        self.looker = Some(Connection::open_with_flags(self.folder.join("journal.sqlite"), flags)?);
        Ok(())
    }

    /// The database, to look into.
    ///
    /// # Errors
    /// The phone is closed: a mistake of the harness.
    pub fn database(&self) -> Result<&Connection, Trouble> {
        self.looker.as_ref().ok_or_else(|| Trouble::new("the handset is closed"))
    }

    /// Enters into the book what stands in the journal and not yet in the book; gives the links, in order.
    ///
    /// # Errors
    /// A chain that does not hold.
    pub fn read_on(&mut self, ledger: &mut Ledger) -> Result<Vec<Link>, Trouble> {
        let mut found = Vec::new();
        for stream in self.streams()? {
            let mut end = self.ends.get(&stream).copied().unwrap_or(Head::START);
            for link in self.links_after(stream, end.seq)? {
                link.verify_after(end).map_err(|error| Trouble::new(format!("a phone's journal: {error}")))?;
                end = link.head();
                ledger.note(&link)?;
                found.push(link);
            }
            self.ends.insert(stream, end);
        }
        Ok(found)
    }

    /// After the folder was put back: reads everything again.
    pub fn forget_ends(&mut self) {
        self.ends.clear();
    }

    /// The phone's streams.
    ///
    /// # Errors
    /// Those of the database.
    pub fn streams(&self) -> Result<Vec<StreamId>, Trouble> {
        let mut statement = self.database()?.prepare_cached("SELECT epoch FROM stream ORDER BY stream")?;
        let rows = statement.query_map([], |row| row.get::<_, [u8; 16]>(0))?;
        let epochs = rows.collect::<Result<Vec<_>, _>>()?;
        Ok(epochs.into_iter().map(|epoch| StreamId { device: self.device, epoch: Epoch::from_octets(epoch) }).collect())
    }

    /// Links of one stream behind a number.
    ///
    /// # Errors
    /// Those of the database.
    pub fn links_after(&self, stream: StreamId, after: Seq) -> Result<Vec<Link>, Trouble> {
        let mut statement = self.database()?.prepare_cached(
            "SELECT seq, previous, hash, bytes FROM entry JOIN stream USING (stream) WHERE epoch = ?1 AND seq > ?2 ORDER BY seq",
        )?;
        let after = i64::try_from(after.0).unwrap_or(i64::MAX);
        let rows = statement.query_map(rusqlite::params![stream.epoch.octets(), after], |row| {
            Ok(Link {
                stream,
                seq: Seq(row.get::<_, i64>(0)?.unsigned_abs()),
                previous: Hash(row.get(1)?),
                hash: Hash(row.get(2)?),
                bytes: row.get(3)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Entries that feeds brought.
    ///
    /// # Errors
    /// Those of the database.
    pub fn received(&self) -> Result<Vec<Link>, Trouble> {
        let mut statement =
            self.database()?.prepare_cached("SELECT device, epoch, seq, hash, previous, bytes FROM received")?;
        let rows = statement.query_map([], |row| {
            let stream =
                StreamId { device: DeviceId::from_octets(row.get(0)?), epoch: Epoch::from_octets(row.get(1)?) };
            Ok(Link {
                stream,
                seq: Seq(row.get::<_, i64>(2)?.unsigned_abs()),
                hash: Hash(row.get(3)?),
                previous: Hash(row.get(4)?),
                bytes: row.get(5)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Sites that the phone knows, in order.
    ///
    /// # Errors
    /// Those of the handset.
    pub fn sites(&mut self) -> Result<Vec<SiteId>, Trouble> {
        let sites: BTreeSet<SiteId> = self.handset()?.sites()?.sites.into_iter().map(|row| row.site).collect();
        Ok(sites.into_iter().collect())
    }

    /// The mark outside the database.
    ///
    /// # Errors
    /// Never here.
    pub fn mark(&self) -> Result<Option<Mark>, Trouble> {
        Ok(self.script.marker().clone().read()?)
    }

    /// Sets the mark outside the database.
    ///
    /// # Errors
    /// Never here.
    pub fn set_mark(&self, mark: Option<Mark>) -> Result<(), Trouble> {
        if let Some(mark) = mark {
            return Ok(self.script.marker().clone().write(mark)?);
        }
        self.script.marker().forget();
        Ok(())
    }

    /// Copies the folder as it stands.
    ///
    /// # Errors
    /// Those of the files.
    pub fn copy_to(&self, folder: &Path) -> Result<(), Trouble> {
        if folder.exists() {
            std::fs::remove_dir_all(folder)?;
        }
        Ok(files::copy(&self.folder, folder)?)
    }
}

impl Phone {
    /// A phone from a copy of another's folder.
    ///
    /// # Errors
    /// The handset does not open.
    pub fn from_copy(folder: PathBuf, seed: u64, mark: Option<Mark>, token: Option<String>) -> Result<Self, Trouble> {
        let script = Script::new(seed, START, OffsetMinutes(-300));
        if let Some(mark) = mark {
            script.marker().clone().write(mark)?;
        }
        let handset = Handset::open(&folder, script.surroundings())?;
        let fresh = handset.opened().fresh_epoch.is_some();
        hold!(fresh == mark.is_none(), "a clone began a fresh epoch: {fresh}, with the mark {mark:?}");
        let device = handset.device();
        let mut phone = Self {
            folder,
            script,
            token,
            backup: None,
            ends: BTreeMap::new(),
            handset: Some(handset),
            looker: None,
            device,
            full_for: 0,
            believes_old: false,
        };
        phone.look()?;
        Ok(phone)
    }
}
