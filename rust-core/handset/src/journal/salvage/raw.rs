//! Rows read from the octets of pages, where SQLite finds no way to them: the page above them is gone, or they stand in
//! a log without its database.
//!
//! The layout of pages, cells and records is that of <https://www.sqlite.org/fileformat2.html>, sections 1.6 and 2.1,
//! that of the log section 4.1.

use rusqlite::types::Value;

/// Octets of a page, as every database of ours is made.
pub(super) const PAGE: usize = 4096;
const LOG_HEADER: usize = 32;
const FRAME_HEADER: usize = 24;
/// Kinds of pages that hold rows: of a table with row numbers, and of one without.
const WITH_ROW_NUMBERS: u8 = 0x0D;
const WITHOUT_ROW_NUMBERS: u8 = 0x0A;
/// Of a payload in a table without row numbers so much stands in its page at most, and at least where it goes on.
const MOST_HERE: usize = (PAGE - 12) * 64 / 255 - 23;
const LEAST_HERE: usize = (PAGE - 12) * 32 / 255 - 23;

/// Every row that can be made out: its number where it has one, and its values. Rows of older versions of a page are
/// among them, and chance finds; what is taken over is held against its hash.
pub(super) fn rows(database: &[u8], log: &[u8]) -> Vec<(Option<i64>, Vec<Value>)> {
    let frames = log.get(LOG_HEADER..).unwrap_or_default().chunks_exact(FRAME_HEADER + PAGE);
    let frames = frames.map(|frame| &frame[FRAME_HEADER..]);
    database.chunks_exact(PAGE).chain(frames).flat_map(|page| rows_of(page, database)).collect()
}

fn rows_of(page: &[u8], database: &[u8]) -> Vec<(Option<i64>, Vec<Value>)> {
    let kind = page[0];
    if kind != WITH_ROW_NUMBERS && kind != WITHOUT_ROW_NUMBERS {
        return Vec::new();
    }
    let cells = usize::from(u16::from_be_bytes([page[3], page[4]]));
    let pointers = page[8..].chunks_exact(2).take(cells.min(PAGE / 4));
    pointers
        .filter_map(|pointer| {
            let mut rest = page.get(usize::from(u16::from_be_bytes([pointer[0], pointer[1]]))..)?;
            let size = usize::try_from(varint(&mut rest)?).ok()?;
            let number = if kind == WITH_ROW_NUMBERS { Some(varint(&mut rest)?) } else { None };
            Some((number, record(&payload(rest, size, database)?)?))
        })
        .collect()
}

/// A payload, from its page and those where it goes on.
fn payload(rest: &[u8], size: usize, database: &[u8]) -> Option<Vec<u8>> {
    if size <= MOST_HERE {
        return rest.get(..size).map(<[u8]>::to_vec);
    }
    let here = LEAST_HERE + (size - LEAST_HERE) % (PAGE - 4);
    let here = if here <= MOST_HERE { here } else { LEAST_HERE };
    let mut whole = rest.get(..here)?.to_vec();
    let mut next = number(rest.get(here..here + 4)?);
    while whole.len() < size {
        let page = database.get(next.checked_sub(1)?.checked_mul(PAGE)?..)?.get(..PAGE)?;
        next = number(&page[..4]);
        whole.extend(&page[4..PAGE.min(4 + size - whole.len())]);
    }
    Some(whole)
}

fn number(octets: &[u8]) -> usize {
    octets.iter().fold(0, |number, octet| number << 8 | usize::from(*octet))
}

fn record(octets: &[u8]) -> Option<Vec<Value>> {
    let mut rest = octets;
    let header = usize::try_from(varint(&mut rest)?).ok()?;
    let mut types = octets.get(octets.len() - rest.len()..header)?;
    let mut body = octets.get(header..)?;
    let mut values = Vec::new();
    while !types.is_empty() {
        let kind = varint(&mut types)?;
        let length = match kind {
            0 | 8 | 9 => 0,
            1..=4 => usize::try_from(kind).ok()?,
            5 => 6,
            6 | 7 => 8,
            12.. => usize::try_from((kind - 12) / 2).ok()?,
            _ => return None,
        };
        let (value, behind) = body.split_at_checked(length)?;
        body = behind;
        values.push(match kind {
            0 => Value::Null,
            7 => Value::Real(f64::from_be_bytes(value.try_into().ok()?)),
            8 | 9 => Value::Integer(kind - 8),
            1..=6 => Value::Integer(signed(value)),
            _ if kind % 2 == 0 => Value::Blob(value.to_vec()),
            _ => Value::Text(String::from_utf8(value.to_vec()).ok()?),
        });
    }
    Some(values)
}

fn signed(octets: &[u8]) -> i64 {
    let sign = if octets.first().is_some_and(|first| first & 0x80 != 0) { -1 } else { 0 };
    octets.iter().fold(sign, |number, octet| number << 8 | i64::from(*octet))
}

fn varint(octets: &mut &[u8]) -> Option<i64> {
    let mut number = 0_i64;
    for at in 0..9 {
        let (first, rest) = octets.split_first()?;
        *octets = rest;
        if at == 8 {
            return Some(number << 8 | i64::from(*first));
        }
        number = number << 7 | i64::from(first & 0x7F);
        if first & 0x80 == 0 {
            return Some(number);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::{Connection, params};

    #[test]
    fn rows_are_read_from_pages_as_sqlite_wrote_them() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.sqlite");
        let db = Connection::open(&path).unwrap();
        db.execute_batch(
            "PRAGMA page_size = 4096; PRAGMA journal_mode = WAL;
             CREATE TABLE a (k INTEGER, b BLOB, t TEXT, r REAL, PRIMARY KEY (k)) WITHOUT ROWID;
             CREATE TABLE c (n INTEGER PRIMARY KEY, t TEXT)",
        )
        .unwrap();
        let long = [0, 1, 900, 1100, 5000, 20_000].map(|length| vec![7_u8; length]);
        for (at, octets) in (-2_i64..).zip(&long) {
            let number = at * 70_000;
            db.execute("INSERT INTO a VALUES (?1, ?2, 'leaf', 1.5)", params![number, octets]).unwrap();
        }
        db.execute("INSERT INTO c VALUES (300, NULL)", []).unwrap();
        db.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)").unwrap();
        let found = rows(&std::fs::read(&path).unwrap(), &[]);
        for (at, octets) in (-2_i64..).zip(&long) {
            let values = vec![
                Value::Integer(at * 70_000),
                Value::Blob(octets.clone()),
                Value::Text("leaf".into()),
                Value::Real(1.5),
            ];
            assert!(found.contains(&(None, values)), "{at}");
        }
        assert!(found.contains(&(Some(300), vec![Value::Null, Value::Null])));
        db.execute("INSERT INTO c VALUES (301, 'in the log')", []).unwrap();
        let frames = std::fs::read(folder.path().join("a.sqlite-wal")).unwrap();
        assert!(rows(&[], &frames).contains(&(Some(301), vec![Value::Null, Value::Text("in the log".into())])));
    }
}
