//! Places for the marker: a file, and one in memory for scripts.

use super::disk::{Files, Slot, make_folders};
use super::{Mark, Marker};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use survey::chain::{Hash, Seq};
use survey::ids::Epoch;

/// A marker in a file of a folder that no backup carries.
///
/// The file has one short record, far below a disk's sector, written over in place: a kill or a power cut leaves the
/// old one or the next. It is synced when an epoch begins and not at each act: after a power cut it may be behind the
/// journal, which is harmless.
#[derive(Debug)]
pub struct FileMarker {
    path: PathBuf,
    files: Arc<dyn Files>,
    slot: Option<Box<dyn Slot + Send>>,
    lasting: Option<Epoch>,
}

/// A marker in memory. Copies share one mark, as several processes share a file.
#[derive(Debug, Clone, Default)]
pub struct SharedMarker {
    mark: Arc<Mutex<Option<Mark>>>,
}

const EPOCH: usize = 16;
const SEQ: usize = 8;
const CHECK: usize = 8;
const RECORD: usize = EPOCH + SEQ + CHECK;

impl FileMarker {
    /// A marker in this file; its folder is made when it is first written.
    pub const fn at(path: PathBuf, files: Arc<dyn Files>) -> Self {
        Self { path, files, slot: None, lasting: None }
    }

    fn slot(&mut self) -> std::io::Result<&mut (dyn Slot + Send)> {
        let slot = if let Some(slot) = self.slot.take() {
            slot
        } else {
            make_folders(&*self.files, self.folder())?;
            self.files.slot(&self.path)?
        };
        Ok(&mut **self.slot.insert(slot))
    }

    fn folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new("."))
    }
}

impl Marker for FileMarker {
    fn read(&mut self) -> std::io::Result<Option<Mark>> {
        let mut record = Vec::with_capacity(RECORD);
        match File::open(&self.path) {
            Ok(file) => file.take(RECORD as u64 + 1).read_to_end(&mut record)?,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error),
        };
        let mark = decode(&record);
        self.lasting = mark.map(|mark| mark.epoch);
        Ok(mark)
    }

    fn write(&mut self, mark: Mark) -> std::io::Result<()> {
        let record = encode(mark);
        self.slot()?.write(&record)?;
        if self.lasting != Some(mark.epoch) {
            self.slot()?.sync()?;
            self.files.sync_folder(self.folder())?;
            self.lasting = Some(mark.epoch);
        }
        Ok(())
    }
}

impl SharedMarker {
    /// Forgets the mark, as a phone does that was wiped.
    pub fn forget(&self) {
        *self.mark.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }
}

impl Marker for SharedMarker {
    fn read(&mut self) -> std::io::Result<Option<Mark>> {
        Ok(*self.mark.lock().unwrap_or_else(PoisonError::into_inner))
    }

    fn write(&mut self, mark: Mark) -> std::io::Result<()> {
        *self.mark.lock().unwrap_or_else(PoisonError::into_inner) = Some(mark);
        Ok(())
    }
}

fn encode(mark: Mark) -> [u8; RECORD] {
    let mut record = [0; RECORD];
    record[..EPOCH].copy_from_slice(&mark.epoch.octets());
    record[EPOCH..EPOCH + SEQ].copy_from_slice(&mark.seq.0.to_be_bytes());
    let check = Hash::plain(&record[..EPOCH + SEQ]);
    record[EPOCH + SEQ..].copy_from_slice(&check.0[..CHECK]);
    record
}

fn decode(record: &[u8]) -> Option<Mark> {
    let record: &[u8; RECORD] = record.try_into().ok()?;
    let epoch = Epoch::from_octets(record[..EPOCH].try_into().ok()?);
    let seq = Seq(u64::from_be_bytes(record[EPOCH..EPOCH + SEQ].try_into().ok()?));
    let mark = Mark { epoch, seq };
    (encode(mark) == *record).then_some(mark)
}

#[cfg(test)]
mod tests {
    use super::super::disk::SystemFiles;
    use super::*;

    #[test]
    fn a_marker_is_read_back_and_a_torn_one_is_none() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("no-backup").join("marker");
        let mut marker = FileMarker::at(path.clone(), Arc::new(SystemFiles));
        assert_eq!(marker.read().unwrap(), None);
        let mark = Mark { epoch: Epoch::random([7; 16]), seq: Seq(12) };
        marker.write(mark).unwrap();
        marker.write(Mark { seq: Seq(13), ..mark }).unwrap();
        assert_eq!(
            FileMarker::at(path.clone(), Arc::new(SystemFiles)).read().unwrap(),
            Some(Mark { seq: Seq(13), ..mark })
        );
        let mut torn = std::fs::read(&path).unwrap();
        torn[20] ^= 1;
        std::fs::write(&path, torn).unwrap();
        assert_eq!(FileMarker::at(path, Arc::new(SystemFiles)).read().unwrap(), None);
    }
}
