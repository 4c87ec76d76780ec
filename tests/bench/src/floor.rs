//! The barest way to the same durability: rows into the same tables, synced in the same places, and nothing else.

use crate::Failure;
use rusqlite::{Connection, TransactionBehavior, params};
use station::store::sqlite::SqliteStore;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpListener;
use std::path::Path;
use survey::chain::{Hash, Link, feed_hash};
use survey::entry::Entry;
use survey::ids::SiteId;

/// Settings of every floor: a log, and a sync at each commit.
const SETTINGS: &str = "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; \
     PRAGMA recursive_triggers = ON; PRAGMA trusted_schema = OFF;";

/// Opens a database with these settings.
///
/// # Errors
/// Those of the database.
pub fn open(path: &Path) -> Result<Connection, Failure> {
    let db = Connection::open(path)?;
    db.execute_batch(SETTINGS)?;
    db.set_prepared_statement_cache_capacity(64);
    Ok(db)
}

/// Bulk inserts into the station's own tables of entries and feeds.
pub struct Bulk {
    db: Connection,
    site: SiteId,
    end: (u64, Hash),
}

/// An entry as its rows need it: everything is known before the clock runs.
#[derive(Debug, Clone)]
pub struct Row {
    link: Link,
    visit: Option<[u8; 16]>,
    number: u64,
    feed_hash: Hash,
}

impl Bulk {
    /// A station's database with one stream and one site in it.
    ///
    /// # Errors
    /// Those of the database.
    pub fn at(path: &Path, first: &Link, site: SiteId) -> Result<Self, Failure> {
        drop(SqliteStore::open(path)?);
        let db = open(path)?;
        let (device, epoch) = (first.stream.device.octets(), first.stream.epoch.octets());
        db.execute("INSERT INTO streams (device, epoch, first_ms, seen_ms) VALUES (?1, ?2, 0, 0)", [device, epoch])?;
        db.execute("INSERT INTO sites (site, author, since_ms) VALUES (?1, ?2, 0)", [site.octets(), device])?;
        Ok(Self { db, site, end: (0, Hash::ZERO) })
    }

    /// The rows of entries that come next.
    ///
    /// # Errors
    /// Bytes that are no entry.
    pub fn rows(&mut self, links: &[Link]) -> Result<Vec<Row>, Failure> {
        let mut rows = Vec::with_capacity(links.len());
        for link in links {
            let number = self.end.0 + 1;
            self.end = (number, feed_hash(self.site, number, self.end.1, link.hash));
            let visit = Entry::decode(&link.bytes)?.scope.visit().map(|visit| visit.octets());
            rows.push(Row { link: link.clone(), visit, number, feed_hash: self.end.1 });
        }
        Ok(rows)
    }

    /// One transaction.
    ///
    /// # Errors
    /// Those of the database.
    pub fn insert(&mut self, rows: &[Row]) -> Result<(), Failure> {
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        for Row { link, visit, number, feed_hash } in rows {
            let (device, epoch) = (link.stream.device.octets(), link.stream.epoch.octets());
            let seq = i64::try_from(link.seq.0)?;
            transaction
                .prepare_cached(
                    "INSERT INTO entries (device, epoch, seq, hash, previous, bytes, reading, site, visit, received_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, 'site', ?7, ?8, 0)",
                )?
                .execute(params![
                    device,
                    epoch,
                    seq,
                    link.hash.0,
                    link.previous.0,
                    link.bytes,
                    self.site.octets(),
                    visit
                ])?;
            transaction
                .prepare_cached(
                    "INSERT INTO feed (site, number, feed_hash, device, epoch, seq, hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                )?
                .execute(params![
                    self.site.octets(),
                    i64::try_from(*number)?,
                    feed_hash.0,
                    device,
                    epoch,
                    seq,
                    link.hash.0
                ])?;
        }
        Ok(transaction.commit()?)
    }
}

/// Answers one kept connection: for each request one bulk insert, until there are no more. Says where it listens through
/// `ready`.
///
/// # Errors
/// Those of the network and the database.
pub fn serve(mut bulk: Bulk, batches: &[Vec<Row>], ready: impl FnOnce(String)) -> Result<(), Failure> {
    let listener = TcpListener::bind("127.0.0.1:0")?;
    ready(format!("http://{}", listener.local_addr()?));
    let (mut socket, _) = listener.accept()?;
    socket.set_nodelay(true)?;
    let mut reader = BufReader::new(socket.try_clone()?);
    for batch in batches {
        let mut length = 0;
        loop {
            let mut line = String::new();
            if reader.read_line(&mut line)? == 0 {
                return Err("the client left".into());
            }
            if line == "\r\n" {
                break;
            }
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse()?;
            }
        }
        let mut body = vec![0; length];
        reader.read_exact(&mut body)?;
        bulk.insert(batch)?;
        socket.write_all(b"HTTP/1.1 200 OK\r\ncontent-type: application/json\r\ncontent-length: 2\r\n\r\n{}")?;
    }
    Ok(())
}

/// What a client has to make durable for each request: that it is under way, and what came of it.
pub struct Client {
    db: Connection,
}

impl Client {
    /// A database of its own.
    ///
    /// # Errors
    /// Those of the database.
    pub fn at(path: &Path) -> Result<Self, Failure> {
        let db = open(path)?;
        db.execute_batch(
            "CREATE TABLE job (job INTEGER PRIMARY KEY, record TEXT); CREATE TABLE done (one INTEGER PRIMARY KEY, upto INTEGER)",
        )?;
        Ok(Self { db })
    }

    /// Before the request.
    ///
    /// # Errors
    /// Those of the database.
    pub fn begin(&self, job: i64) -> Result<(), Failure> {
        self.db.prepare_cached("INSERT INTO job VALUES (?1, ?2)")?.execute(params![job, "a record of a request"])?;
        Ok(())
    }

    /// After it.
    ///
    /// # Errors
    /// Those of the database.
    pub fn end(&self, job: i64) -> Result<(), Failure> {
        let transaction = self.db.unchecked_transaction()?;
        transaction.prepare_cached("DELETE FROM job WHERE job = ?1")?.execute([job])?;
        transaction.prepare_cached("INSERT OR REPLACE INTO done VALUES (1, ?1)")?.execute([job])?;
        Ok(transaction.commit()?)
    }
}
