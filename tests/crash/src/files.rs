//! The handset's own files, noted into the same log as the database.

use crate::log::{Log, Node};
use crate::shim;
use handset::surroundings::disk::{Disk, Files, Slot, SystemFiles};
use std::path::Path;
use std::sync::Arc;

/// Does what the system's files do, and notes it.
#[derive(Debug, Clone)]
pub struct RecordedFiles(Arc<Log>);

#[derive(Debug)]
struct RecordedSlot {
    slot: Box<dyn Slot + Send>,
    log: Arc<Log>,
    node: Option<Node>,
}

/// A disk of which everything is noted: files and database in one order.
pub fn recorded_disk(log: &Arc<Log>) -> Disk {
    Disk { files: Arc::new(RecordedFiles(Arc::clone(log))), vfs: Some(shim::register(log)) }
}

impl Files for RecordedFiles {
    fn make_folder(&self, folder: &Path) -> std::io::Result<()> {
        SystemFiles.make_folder(folder)?;
        self.0.folder(folder);
        Ok(())
    }

    fn write(&self, path: &Path, content: &[u8]) -> std::io::Result<()> {
        SystemFiles.write(path, content)?;
        if let Some(node) = self.0.file(path) {
            self.0.size(node, 0);
            self.0.write(node, 0, content);
            self.0.sync(node);
        }
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> std::io::Result<()> {
        SystemFiles.rename(from, to)?;
        self.0.rename(from, to);
        Ok(())
    }

    fn remove(&self, path: &Path) -> std::io::Result<()> {
        SystemFiles.remove(path)?;
        self.0.remove(path);
        Ok(())
    }

    fn sync_folder(&self, folder: &Path) -> std::io::Result<()> {
        SystemFiles.sync_folder(folder)?;
        self.0.sync_folder(folder);
        Ok(())
    }

    fn slot(&self, path: &Path) -> std::io::Result<Box<dyn Slot + Send>> {
        let slot = SystemFiles.slot(path)?;
        Ok(Box::new(RecordedSlot { slot, node: self.0.file(path), log: Arc::clone(&self.0) }))
    }
}

impl Slot for RecordedSlot {
    fn write(&mut self, record: &[u8]) -> std::io::Result<()> {
        self.slot.write(record)?;
        if let Some(node) = self.node {
            self.log.write(node, 0, record);
        }
        Ok(())
    }

    fn sync(&mut self) -> std::io::Result<()> {
        self.slot.sync()?;
        if let Some(node) = self.node {
            self.log.sync(node);
        }
        Ok(())
    }
}
