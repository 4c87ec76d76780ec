//! Handsets with long journals, made without tapping each entry.

use crate::Failure;
use crate::season::{Season, season};
use handset::Handset;
use handset::surroundings::system::{LocalOffset, surroundings};
use rusqlite::{Connection, params};
use std::path::Path;
use survey::chain::{Link, Seq};
use survey::entry::Entry;

/// The database of the handset in a folder.
pub const DATABASE: &str = "journal.sqlite";

/// Opens the handset of a folder with the system's clock, chance and a marker file beside it.
///
/// # Errors
/// Those of the handset.
pub fn open(folder: &Path) -> Result<Handset, Failure> {
    Ok(Handset::open(folder.join("data"), surroundings(&folder.join("no-backup"), LocalOffset::default()))?)
}

/// A handset whose journal holds at least so many entries of weekly visits to one site, folded, the last visit in hand.
///
/// # Errors
/// Those of the handset.
pub fn long(folder: &Path, seed: u64, entries: usize) -> Result<Season, Failure> {
    let stream = open(folder)?.stream();
    let season = season(seed, Some(stream), |_, written| written >= entries)?;
    let mut db = Connection::open(folder.join("data").join(DATABASE))?;
    let transaction = db.transaction()?;
    for link in &season.links {
        insert(&transaction, 1, link)?;
    }
    // Another fold version has everything folded at the next opening.
    transaction.execute("UPDATE setting SET value = 0 WHERE name = 'fold-version'", [])?;
    transaction.commit()?;
    db.close().map_err(|(_, error)| error)?;
    let mut phone = open(folder)?;
    while phone.refold_step()?.left > 0 {}
    let last = season.links.last().ok_or("an empty season")?;
    let visit = Entry::decode(&last.bytes)?.scope.visit().ok_or("the last entry is of no visit")?;
    phone.take_in_hand(visit)?;
    Ok(season)
}

/// Puts an entry into a handset's journal table and nowhere else.
///
/// # Errors
/// Those of the database.
pub fn insert(db: &Connection, stream: i64, link: &Link) -> Result<(), Failure> {
    let scope = Entry::decode(&link.bytes)?.scope;
    insert_scoped(db, stream, link, scope.site().map(|id| id.octets()), scope.visit().map(|id| id.octets()))
}

/// The same with the scope known: the bare statement.
///
/// # Errors
/// Those of the database.
pub fn insert_scoped(
    db: &Connection,
    stream: i64,
    link: &Link,
    site: Option<[u8; 16]>,
    visit: Option<[u8; 16]>,
) -> Result<(), Failure> {
    db.prepare_cached(
        "INSERT INTO entry (stream, seq, previous, hash, site, visit, bytes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?
    .execute(params![
        stream,
        i64::try_from(link.seq.0)?,
        link.previous.0,
        link.hash.0,
        site,
        visit,
        link.bytes
    ])?;
    Ok(())
}

/// Reads every entry of a journal, parses it into the typed entry and hashes it again: the least that a fold has to do.
/// Says how many there were.
///
/// # Errors
/// Those of the database, or an entry that does not hold.
pub fn read_parse_hash(db: &Connection, season: &Season) -> Result<usize, Failure> {
    let mut statement = db.prepare("SELECT seq, previous, hash, bytes FROM entry ORDER BY stream, seq")?;
    let mut rows = statement.query([])?;
    let mut read = 0;
    while let Some(row) = rows.next()? {
        let link = Link {
            stream: season.stream,
            seq: Seq(u64::try_from(row.get::<_, i64>(0)?)?),
            previous: survey::chain::Hash(row.get(1)?),
            hash: survey::chain::Hash(row.get(2)?),
            bytes: row.get(3)?,
        };
        link.verify()?;
        std::hint::black_box(Entry::decode(&link.bytes)?);
        read += 1;
    }
    Ok(read)
}

/// Asks the system to forget what it has cached of a handset's files, so that the next opening reads the disk.
pub fn forget_cached(folder: &Path) {
    // A handset that was closed well leaves no log beside its database.
    let read = format!("if={}", folder.join("data").join(DATABASE).display());
    // Where it cannot be done the opening is a warm one, for either size alike.
    let _ = std::process::Command::new("dd").args([&read, "iflag=nocache", "count=0", "status=none"]).status();
}
