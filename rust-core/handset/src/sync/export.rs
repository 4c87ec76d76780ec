//! The file to hand over, where there is no station to be reached.

use crate::error::{Error, HandsetError};
use crate::journal::{files, rows, streams};
use crate::object::Handset;
use ::sync::framing::FileWriter;
use ::sync::wire::push::HoleReason;
use serde::Serialize;
use std::fs::File;
use std::path::Path;
use survey::chain::{Head, Seq};

/// What an export holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Exported {
    /// Streams with entries.
    pub streams: u64,
    /// Entries.
    pub entries: u64,
    /// Places of entries that are damaged here.
    pub holes: u64,
}

/// Links read at once; a batch takes no more.
const AT_ONCE: u64 = 200;

impl Handset {
    /// Writes every stream of this device into a file, whole or not at all. The station takes it in with the same
    /// result as a sync. It reads on the second connection, so counting can go on in the meantime.
    ///
    /// # Errors
    /// `full`; storage.
    pub fn export_to(&self, path: impl AsRef<Path>) -> Result<Exported, HandsetError> {
        let path = path.as_ref();
        let part = path.with_extension("part");
        let exported = self.export(&part).and_then(|exported| {
            self.around.disk.files.rename(&part, path).map_err(Error::file(path))?;
            self.around.disk.files.sync_folder(files::folder_of(path)).map_err(Error::file(path))?;
            Ok(exported)
        });
        if exported.is_err() {
            let _ = std::fs::remove_file(&part);
        }
        Ok(exported?)
    }

    fn export(&self, path: &Path) -> Result<Exported, Error> {
        let written = |result: std::io::Result<()>| result.map_err(Error::file(path));
        let mut writer = FileWriter::new(File::create(path).map_err(Error::file(path))?);
        let mut exported = Exported::default();
        let snapshot = self.reader.unchecked_transaction()?;
        for stream in streams::all(&snapshot, self.device)? {
            exported.streams += u64::from(stream.head.seq > Seq(0));
            let (mut first, mut before) = (Seq(1), Head::START);
            loop {
                let links = rows::own_links(&snapshot, stream.row, stream.id, first, AT_ONCE)?;
                let Some(next) = links.first() else { break };
                if let Some(after) = rows::head_of_lost(&snapshot, stream.row, stream.id, first)? {
                    written(writer.write_hole(stream.id, before, after, HoleReason::Damaged))?;
                    exported.holes += 1;
                    (first, before) = (Seq(first.0 + 1), after);
                    continue;
                }
                let (next, links) = (next.clone(), rows::without_gap(links, first));
                let whole = links.iter().take_while(|link| link.verify().is_ok()).count();
                let count = if whole > 0 { writer.write(&links[..whole]).map_err(Error::file(path))? } else { 0 };
                if count > 0 {
                    exported.entries += count as u64;
                    first = Seq(first.0 + count as u64);
                    before = links[count - 1].head();
                } else {
                    let damaged = Head { seq: Seq(next.seq.0 - 1), hash: next.previous };
                    written(writer.write_hole(stream.id, damaged, next.head(), HoleReason::Damaged))?;
                    exported.holes += 1;
                    first = Seq(first.0 + 1);
                    before = next.head();
                }
            }
        }
        let file = writer.finish().map_err(Error::file(path))?;
        written(file.sync_all())?;
        Ok(exported)
    }
}
