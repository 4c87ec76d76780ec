//! The disk: one narrow door for the handset's own work on files, so that a rehearsal can record what a power cut could
//! leave, in one order with the database's own writes.
//!
//! What only reads has no part in it, for reading leaves nothing behind.

use std::fmt::Debug;
use std::fs::File;
use std::io::{Seek, SeekFrom, Write};
use std::path::Path;
use std::sync::Arc;

/// Where files and the database go.
#[derive(Debug, Clone)]
pub struct Disk {
    /// The handset's own files.
    pub files: Arc<dyn Files>,
    /// The SQLite file layer that the database is opened with, by the name under which it is registered; `None` for
    /// the default one.
    pub vfs: Option<String>,
}

/// Work on files that changes them. After a power cut a file holds what was written before its last sync, and has the
/// name that its folder had at the folder's last sync; of everything later any part may be there or not.
pub trait Files: Debug + Send + Sync {
    /// Makes one folder. Its name lasts after a sync of the folder around it.
    ///
    /// # Errors
    /// Those of the system; `AlreadyExists` where something of that name is there.
    fn make_folder(&self, folder: &Path) -> std::io::Result<()>;

    /// Creates a file, or empties the one that is there, writes it and syncs it. Its name lasts after
    /// [`Files::sync_folder`].
    ///
    /// # Errors
    /// Those of the system.
    fn write(&self, path: &Path, content: &[u8]) -> std::io::Result<()>;

    /// Gives a file another name; a file that has it already is replaced. Lasts after a sync of both folders.
    ///
    /// # Errors
    /// Those of the system.
    fn rename(&self, from: &Path, to: &Path) -> std::io::Result<()>;

    /// Removes a file's name. Lasts after a sync of its folder.
    ///
    /// # Errors
    /// Those of the system.
    fn remove(&self, path: &Path) -> std::io::Result<()>;

    /// Makes the names in a folder last.
    ///
    /// # Errors
    /// Those of the system.
    fn sync_folder(&self, folder: &Path) -> std::io::Result<()>;

    /// Opens a file for one short record that is written over in place; made where there is none.
    ///
    /// # Errors
    /// Those of the system.
    fn slot(&self, path: &Path) -> std::io::Result<Box<dyn Slot + Send>>;
}

/// A file that holds one short record.
pub trait Slot: Debug {
    /// Writes the record over the one before.
    ///
    /// # Errors
    /// Those of the system.
    fn write(&mut self, record: &[u8]) -> std::io::Result<()>;

    /// Makes the record last. The file's name lasts after [`Files::sync_folder`].
    ///
    /// # Errors
    /// Those of the system.
    fn sync(&mut self) -> std::io::Result<()>;
}

/// The system's files.
#[derive(Debug, Clone, Copy)]
pub struct SystemFiles;

#[derive(Debug)]
struct SystemSlot(File);

impl Default for Disk {
    fn default() -> Self {
        Self { files: Arc::new(SystemFiles), vfs: None }
    }
}

impl Files for SystemFiles {
    fn make_folder(&self, folder: &Path) -> std::io::Result<()> {
        std::fs::create_dir(folder)
    }

    fn write(&self, path: &Path, content: &[u8]) -> std::io::Result<()> {
        let mut file = File::create(path)?;
        file.write_all(content)?;
        file.sync_all()
    }

    fn rename(&self, from: &Path, to: &Path) -> std::io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> std::io::Result<()> {
        std::fs::remove_file(path)
    }

    fn sync_folder(&self, folder: &Path) -> std::io::Result<()> {
        File::open(folder)?.sync_all()
    }

    fn slot(&self, path: &Path) -> std::io::Result<Box<dyn Slot + Send>> {
        let file = File::options().write(true).create(true).truncate(false).open(path)?;
        Ok(Box::new(SystemSlot(file)))
    }
}

impl Slot for SystemSlot {
    fn write(&mut self, record: &[u8]) -> std::io::Result<()> {
        self.0.seek(SeekFrom::Start(0))?;
        self.0.write_all(record)
    }

    fn sync(&mut self) -> std::io::Result<()> {
        self.0.sync_all()
    }
}

/// Makes a folder and those around it, where they are missing, so that they last.
///
/// # Errors
/// Those of the system.
pub fn make_folders(files: &dyn Files, folder: &Path) -> std::io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let around = folder.parent().filter(|around| !around.as_os_str().is_empty());
    if let Some(around) = around {
        make_folders(files, around)?;
    }
    match files.make_folder(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists && folder.is_dir() => {}
        made => made?,
    }
    files.sync_folder(around.unwrap_or(Path::new(".")))
}
