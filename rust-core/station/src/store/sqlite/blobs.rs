//! What is known of photos, and texts.

use super::value::{device, hash, limit, one, rows, run, site, uint};
use super::{SqliteStore, StoreError};
use crate::store::blobs::{
    BlobStore, PHOTO_QUOTA_OCTETS, PartKept, PhotoRow, PhotoState, TEXT_QUOTA_OCTETS, TextKept, TextRow,
};
use rusqlite::{Connection, Row, params};
use survey::chain::Hash;
use survey::ids::{DeviceId, PhotoId, SiteId};
use survey::time::UnixMs;

const PHOTO: &str = "SELECT device, photo, site, length, hash, verified_ms, salt, erased, backed_up_ms FROM photos";

impl BlobStore for SqliteStore {
    fn photo(&self, device: DeviceId, photo: PhotoId) -> Result<Option<PhotoRow>, StoreError> {
        self.read(|t| {
            let sql = format!("{PHOTO} WHERE device = ?1 AND photo = ?2");
            let found = one(t, &sql, params![device.octets(), photo.octets()], read_photo)?;
            found.map(|row| with_parts(t, row)).transpose()
        })
    }

    fn photos(&self, site: SiteId) -> Result<Vec<PhotoRow>, StoreError> {
        self.read(|t| {
            let sql = format!("{PHOTO} WHERE site = ?1 ORDER BY device, photo");
            rows(t, &sql, params![site.octets()], read_photo)?.into_iter().map(|row| with_parts(t, row)).collect()
        })
    }

    fn photos_to_come(&self, site: SiteId) -> Result<u64, StoreError> {
        self.read(|t| {
            let sql =
                "SELECT count(*) FROM photos WHERE site = ?1 AND erased = 0 AND (verified_ms IS NULL OR salt IS NULL)";
            Ok(one(t, sql, params![site.octets()], |row| uint(row, 0))?.unwrap_or(0))
        })
    }

    fn part_kept(&self, device: DeviceId, photo: PhotoId, part: u32) -> Result<PartKept, StoreError> {
        self.write(|t| {
            // A photo counts against the quota from its first part on, with its declared length.
            let sql = "SELECT coalesce(sum(p.length), 0) FROM photos p WHERE p.device = ?1 AND p.erased = 0 AND (p.photo = ?2
                 OR p.verified_ms IS NOT NULL OR EXISTS (SELECT 1 FROM photo_parts q WHERE q.device = p.device AND q.photo = p.photo))";
            let used = one(t, sql, params![device.octets(), photo.octets()], |row| uint(row, 0))?.unwrap_or(0);
            if used > PHOTO_QUOTA_OCTETS {
                return Ok(PartKept::OverQuota);
            }
            let key = params![device.octets(), photo.octets(), part];
            run(t, "INSERT OR IGNORE INTO photo_parts (device, photo, part) VALUES (?1, ?2, ?3)", key)?;
            Ok(PartKept::Kept)
        })
    }

    fn drop_parts(&self, device: DeviceId, photo: PhotoId) -> Result<(), StoreError> {
        self.write(|t| drop_parts(t, device, photo))
    }

    fn photo_verified(&self, device: DeviceId, photo: PhotoId, salt: [u8; 16], at: UnixMs) -> Result<(), StoreError> {
        self.write(|t| {
            let sql = "UPDATE photos SET verified_ms = ?3, salt = ?4 WHERE device = ?1 AND photo = ?2 AND erased = 0";
            run(t, sql, params![device.octets(), photo.octets(), at.0, salt])?;
            drop_parts(t, device, photo)
        })
    }

    fn put_text(
        &self,
        device: DeviceId,
        hash: Hash,
        salt: [u8; 16],
        text: &str,
        at: UnixMs,
    ) -> Result<TextKept, StoreError> {
        self.write(|t| {
            // Named by this device first: what is held or erased is not told to others.
            let sql = "SELECT 1 FROM text_names WHERE hash = ?1 AND device = ?2";
            if one(t, sql, params![hash.0, device.octets()], |_| Ok(()))?.is_none() {
                return Ok(TextKept::NotNamed);
            }
            let known = one(t, "SELECT text IS NULL FROM texts WHERE hash = ?1", params![hash.0], |row| row.get(0))?;
            match known {
                Some(true) => return Ok(TextKept::Erased),
                Some(false) => return Ok(TextKept::Kept),
                None => {}
            }
            let sql =
                "SELECT coalesce(sum(length(CAST(text AS BLOB))), 0) FROM texts WHERE device = ?1 AND text IS NOT NULL";
            let used = one(t, sql, params![device.octets()], |row| uint(row, 0))?.unwrap_or(0);
            if used + text.len() as u64 > TEXT_QUOTA_OCTETS {
                return Ok(TextKept::OverQuota);
            }
            let sql = "INSERT INTO texts (hash, device, salt, text, since_ms) VALUES (?1, ?2, ?3, ?4, ?5)";
            run(t, sql, params![hash.0, device.octets(), salt, text, at.0])?;
            Ok(TextKept::Kept)
        })
    }

    fn text_for(&self, device: DeviceId, hash: Hash) -> Result<Option<TextRow>, StoreError> {
        self.read(|t| {
            let sql = "SELECT salt, text FROM texts WHERE hash = ?1 AND (device = ?2 OR EXISTS
                 (SELECT 1 FROM text_names n JOIN memberships m ON m.site = n.site WHERE n.hash = ?1 AND m.device = ?2))";
            one(t, sql, params![hash.0, device.octets()], read_text)
        })
    }

    fn texts_wanted(&self, device: DeviceId, most: usize) -> Result<Vec<Hash>, StoreError> {
        self.read(|t| {
            let sql = "SELECT DISTINCT n.hash FROM text_names n WHERE n.device = ?1
                 AND NOT EXISTS (SELECT 1 FROM texts t WHERE t.hash = n.hash) ORDER BY n.hash LIMIT ?2";
            rows(t, sql, params![device.octets(), limit(most)], |row| hash(row, 0))
        })
    }

    fn text_at(&self, site: SiteId, hash: Hash) -> Result<Option<TextRow>, StoreError> {
        self.read(|t| {
            let sql = "SELECT salt, text FROM texts WHERE hash = ?1
                 AND EXISTS (SELECT 1 FROM text_names n WHERE n.hash = ?1 AND n.site = ?2)";
            one(t, sql, params![hash.0, site.octets()], read_text)
        })
    }
}

fn drop_parts(t: &Connection, device: DeviceId, photo: PhotoId) -> Result<(), StoreError> {
    run(t, "DELETE FROM photo_parts WHERE device = ?1 AND photo = ?2", params![device.octets(), photo.octets()])?;
    Ok(())
}

fn with_parts(t: &Connection, row: PhotoRow) -> Result<PhotoRow, StoreError> {
    let PhotoState::Partial(_) = row.state else {
        return Ok(row);
    };
    let sql = "SELECT part FROM photo_parts WHERE device = ?1 AND photo = ?2 ORDER BY part";
    let parts = rows(t, sql, params![row.device.octets(), row.photo.octets()], |row| row.get(0))?;
    Ok(PhotoRow { state: PhotoState::Partial(parts), ..row })
}

fn read_photo(row: &Row<'_>) -> rusqlite::Result<PhotoRow> {
    let (verified, salt, erased): (Option<i64>, Option<[u8; 16]>, bool) = (row.get(5)?, row.get(6)?, row.get(7)?);
    let state = match (erased, verified, salt) {
        (true, ..) => PhotoState::Erased,
        (false, Some(at), Some(salt)) => PhotoState::Verified { at: UnixMs(at), salt },
        (false, ..) => PhotoState::Partial(Vec::new()),
    };
    Ok(PhotoRow {
        device: device(row, 0)?,
        photo: PhotoId::from_octets(row.get(1)?),
        site: site(row, 2)?,
        length: uint(row, 3)?,
        hash: hash(row, 4)?,
        state,
        backed_up: row.get::<_, Option<i64>>(8)?.map(UnixMs),
    })
}

fn read_text(row: &Row<'_>) -> rusqlite::Result<TextRow> {
    let (salt, text): (Option<[u8; 16]>, Option<String>) = (row.get(0)?, row.get(1)?);
    Ok(match (salt, text) {
        (Some(salt), Some(text)) => TextRow::Text { salt, text },
        _ => TextRow::Erased,
    })
}
