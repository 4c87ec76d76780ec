//! Photos on the disk: `photos/DEVICE/PHOTO/N.part` while they come, `photos/DEVICE/PHOTO/whole.jpg` once verified.
//! Names are made from ids alone. A file is written beside its place, synced, then renamed.

use super::problem::Fault;
use crate::store::Store;
use crate::store::blobs::{PartKept, PhotoRow, PhotoState};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use survey::chain::blob_hash;
use survey::ids::{DeviceId, PhotoId};
use survey::time::UnixMs;

/// The longest photo that is taken: 64 MiB. Phones hand over at most 2560 pixels a side, some 2 MiB.
pub const LONGEST: u64 = 64 * 1024 * 1024;

/// The most pixels of a side that are served.
pub const MOST_PIXELS: u16 = 8192;

/// A part that came, checked against its own hash.
#[derive(Debug, Clone, Copy)]
pub struct Part<'p> {
    /// Its number, from 0.
    pub n: u32,
    /// Its octets.
    pub octets: &'p [u8],
    /// The salt of the whole's hash.
    pub salt: [u8; 16],
}

/// What became of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Taken {
    /// It is on the disk; with the last part the whole is verified.
    Kept(PhotoRow),
    /// The whole is not what was declared: every part is gone.
    SendAgain,
    /// No room for this phone.
    OverQuota,
}

/// Keeps a part and, with the last one, verifies the whole. May block.
///
/// # Errors
/// Where the store or the disk cannot.
pub fn take_part(store: &dyn Store, folder: &Path, row: &PhotoRow, part: Part<'_>, at: UnixMs) -> Result<Taken, Fault> {
    if row.length > LONGEST {
        return Ok(Taken::OverQuota);
    }
    let place = place(folder, row);
    fs::create_dir_all(&place)?;
    write(&place, &format!("{}.part", part.n), part.octets)?;
    if store.part_kept(row.device, row.photo, part.n)? == PartKept::OverQuota {
        remove(&place.join(format!("{}.part", part.n)))?;
        return Ok(Taken::OverQuota);
    }
    let row = again(store, row)?;
    let PhotoState::Partial(parts) = &row.state else {
        return Ok(Taken::Kept(row));
    };
    if parts.len() < usize::try_from(row.parts()).unwrap_or(usize::MAX) {
        return Ok(Taken::Kept(row));
    }
    let whole = assemble(&place, &row);
    let fits =
        whole.as_ref().is_ok_and(|whole| whole.len() as u64 == row.length && blob_hash(part.salt, whole) == row.hash);
    match whole {
        Ok(whole) if fits => {
            write(&place, "whole.jpg", &whole)?;
            store.photo_verified(row.device, row.photo, part.salt, at)?;
            drop_files(&place, &row)?;
            Ok(Taken::Kept(again(store, &row)?))
        }
        // A part that is noted and not on the disk (a restored folder) is sent again like one that does not fit.
        Ok(_) | Err(_) => {
            store.drop_parts(row.device, row.photo)?;
            drop_files(&place, &row)?;
            Ok(Taken::SendAgain)
        }
    }
}

/// A verified photo as it may be served: a JPEG of sane size whose octets still fit their hash. `None` otherwise. May block.
///
/// # Errors
/// Where the disk cannot.
pub fn servable(folder: &Path, row: &PhotoRow) -> io::Result<Option<Vec<u8>>> {
    let PhotoState::Verified { salt, .. } = row.state else {
        return Ok(None);
    };
    let whole = match fs::read(place(folder, row).join("whole.jpg")) {
        Ok(whole) => whole,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    let sane = jpeg_sides(&whole).is_some_and(|sides| sides.into_iter().all(|side| (1..=MOST_PIXELS).contains(&side)));
    Ok((sane && blob_hash(salt, &whole) == row.hash).then_some(whole))
}

/// Removes the files of photos of a device that were erased. May block.
///
/// # Errors
/// Where the disk cannot.
pub fn sweep_erased(store: &dyn Store, folder: &Path) -> Result<usize, Fault> {
    let mut swept = 0;
    for site in store.sites()? {
        for row in store.photos(site.site)?.into_iter().filter(|row| row.state == PhotoState::Erased) {
            let place = place(folder, &row);
            if place.exists() {
                fs::remove_dir_all(&place)?;
                swept += 1;
            }
        }
    }
    Ok(swept)
}

/// Height and width from the frame header of a JPEG (ITU-T T.81, annex B), without decoding it.
fn jpeg_sides(octets: &[u8]) -> Option<[u16; 2]> {
    let mut rest = octets.strip_prefix(&[0xFF, 0xD8])?;
    loop {
        let [0xFF, marker, high, low, ..] = *rest else {
            return None;
        };
        let length = usize::from(u16::from_be_bytes([high, low]));
        // SOF0 to SOF15 without the tables DHT (C4), JPG (C8) and DAC (CC) that lie between.
        if matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC) {
            let sides = rest.get(5..9)?;
            return Some([u16::from_be_bytes([sides[0], sides[1]]), u16::from_be_bytes([sides[2], sides[3]])]);
        }
        if matches!(marker, 0xD8..=0xDA) {
            return None;
        }
        rest = rest.get(2 + length..)?;
    }
}

fn again(store: &dyn Store, row: &PhotoRow) -> Result<PhotoRow, Fault> {
    Ok(store.photo(row.device, row.photo)?.unwrap_or_else(|| row.clone()))
}

/// Name of a whole photo below the folder of photos.
pub fn whole_name(device: DeviceId, photo: PhotoId) -> String {
    format!("{device}/{photo}/whole.jpg")
}

fn place(folder: &Path, row: &PhotoRow) -> PathBuf {
    folder.join(row.device.to_string()).join(row.photo.to_string())
}

fn assemble(place: &Path, row: &PhotoRow) -> io::Result<Vec<u8>> {
    let mut whole = Vec::with_capacity(usize::try_from(row.length.min(LONGEST)).unwrap_or(0));
    for n in 0..row.parts() {
        whole.extend(fs::read(place.join(format!("{n}.part")))?);
    }
    Ok(whole)
}

fn drop_files(place: &Path, row: &PhotoRow) -> io::Result<()> {
    (0..row.parts()).try_for_each(|n| remove(&place.join(format!("{n}.part"))))
}

fn remove(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn write(place: &Path, name: &str, octets: &[u8]) -> io::Result<()> {
    // Two requests with the same part write files of their own; the later rename wins with equal octets.
    let own = crate::edge::random::octets::<8>().map_err(io::Error::other)?;
    let aside = place.join(format!("{name}.{:016x}.tmp", u64::from_be_bytes(own)));
    let mut file = File::create_new(&aside)?;
    let written =
        file.write_all(octets).and_then(|()| file.sync_all()).and_then(|()| fs::rename(&aside, place.join(name)));
    if written.is_err() {
        remove(&aside)?;
    }
    written?;
    File::open(place)?.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sides_of_a_jpeg_are_read_and_nothing_else_is_one() {
        let jpeg = [
            &[0xFF, 0xD8][..],
            &[0xFF, 0xE0, 0, 4, 1, 2],
            &[0xFF, 0xC4, 0, 3, 0],
            &[0xFF, 0xC2, 0, 11, 8, 0x01, 0x00, 0x02, 0x80, 1, 1, 0x11, 0],
        ]
        .concat();
        assert_eq!(jpeg_sides(&jpeg), Some([256, 640]));
        for cut in 0..jpeg.len() - 4 {
            assert_eq!(jpeg_sides(&jpeg[..cut]), None, "{cut}");
        }
        assert_eq!(jpeg_sides(b"<html>"), None);
        assert_eq!(jpeg_sides(&[0xFF, 0xD8, 0xFF, 0xDA, 0, 2]), None);
    }
}
