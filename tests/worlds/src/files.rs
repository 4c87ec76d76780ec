//! Copies of folders, as backups and clones are made.

use std::path::Path;

/// Copies a folder with everything in it but locks and what SQLite shares in memory, over nothing that is there.
///
/// # Errors
/// Those of the files.
pub fn copy(from: &Path, to: &Path) -> std::io::Result<()> {
    std::fs::create_dir_all(to)?;
    for found in std::fs::read_dir(from)? {
        let found = found?;
        let name = found.file_name();
        let text = name.to_string_lossy();
        if text == "lock" || text.ends_with("-shm") {
            continue;
        }
        let target = to.join(&name);
        if found.file_type()?.is_dir() {
            copy(&found.path(), &target)?;
        } else {
            std::fs::copy(found.path(), target)?;
        }
    }
    Ok(())
}

/// Puts a copy in the place of a folder.
///
/// # Errors
/// Those of the files.
pub fn put_back(copied: &Path, folder: &Path) -> std::io::Result<()> {
    if folder.exists() {
        std::fs::remove_dir_all(folder)?;
    }
    copy(copied, folder)
}
