//! What a back-up is on the disk: a manifest, one database, the key and other small files, and photos.
//!
//! `manifest.json` names every file with its length and SHA-256; what it does not name does not belong to the back-up. It
//! is written last, under another name, synced, then renamed: until then the back-up before it stays whole.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use survey::chain::Hash;
use survey::ids::DeviceId;
use survey::time::UnixMs;

/// Name of the manifest.
pub const MANIFEST: &str = "manifest.json";
/// Version of the format.
pub(super) const FORMAT: u32 = 1;

/// What a back-up holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of the format.
    pub format: u32,
    /// Version of the software that made it.
    pub made_by: String,
    /// When: everything that the station had committed before is in it.
    pub made_ms: UnixMs,
    /// The station, by the device of its own stream.
    pub station: DeviceId,
    /// Name of the database among the files.
    pub database: String,
    /// How much it holds.
    pub counts: Counts,
    /// Every file by its name, parts divided by `/`.
    pub files: BTreeMap<String, FileLine>,
}

/// How much a back-up holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Streams.
    pub streams: u64,
    /// Entries.
    pub entries: u64,
    /// Sites.
    pub sites: u64,
    /// Photos, whole and verified.
    pub photos: u64,
}

/// A file of a back-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileLine {
    /// Its length.
    pub octets: u64,
    /// SHA-256 of its octets.
    pub sha256: Hash,
}

/// Why there is no manifest to be had.
#[derive(Debug, thiserror::Error)]
pub enum NoManifest {
    /// The folder has none.
    #[error("{0} holds no manifest.json, so it is no back-up")]
    Missing(String),
    /// It is not one that this version understands.
    #[error("{path}: not a manifest that this version understands: {reason}")]
    NotUnderstood {
        /// Which file.
        path: String,
        /// Why.
        reason: String,
    },
    /// It cannot be read.
    #[error("{path}: {error}")]
    Io {
        /// Which file.
        path: String,
        /// What the system says.
        error: io::Error,
    },
}

impl Manifest {
    /// Reads the manifest of a back-up.
    ///
    /// # Errors
    /// See `NoManifest`.
    pub fn read(folder: &Path) -> Result<Self, NoManifest> {
        let path = folder.join(MANIFEST);
        let name = || path.display().to_string();
        let octets = match fs::read(&path) {
            Ok(octets) => octets,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(NoManifest::Missing(folder.display().to_string()));
            }
            Err(error) => return Err(NoManifest::Io { path: name(), error }),
        };
        let not_understood = |reason: String| NoManifest::NotUnderstood { path: name(), reason };
        let manifest: Self = serde_json::from_slice(&octets).map_err(|error| not_understood(error.to_string()))?;
        if manifest.format != FORMAT {
            return Err(not_understood(format!("format {}, {FORMAT} is known", manifest.format)));
        }
        if let Some(name) = manifest.files.keys().find(|name| !is_plain(name)) {
            return Err(not_understood(format!("a file is named {name:?}")));
        }
        if !manifest.files.contains_key(&manifest.database) {
            return Err(not_understood("it names no database".into()));
        }
        Ok(manifest)
    }

    /// Writes the manifest: from here on the back-up is this one.
    ///
    /// # Errors
    /// The disk cannot.
    pub fn write(&self, folder: &Path) -> io::Result<()> {
        write_lasting(folder, MANIFEST, &serde_json::to_vec_pretty(self)?).map(drop)
    }

    /// Reads every file that is named, and says what is missing or not as named.
    pub fn problems(&self, folder: &Path) -> Vec<String> {
        let wrong = |(name, line): (&String, &FileLine)| match line_of(&folder.join(name)) {
            Ok(found) if found == *line => None,
            Ok(found) if found.octets != line.octets => {
                Some(format!("{name}: {} octets, {} were written", found.octets, line.octets))
            }
            Ok(_) => Some(format!("{name}: not the octets that were written")),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Some(format!("{name}: missing")),
            Err(error) => Some(format!("{name}: {error}")),
        };
        self.files.iter().filter_map(wrong).collect()
    }
}

/// Length and SHA-256 of a file, read through to its end.
///
/// # Errors
/// It cannot be read.
pub(super) fn line_of(path: &Path) -> io::Result<FileLine> {
    let mut file = File::open(path)?;
    let (mut hasher, mut octets, mut buffer) = (Sha256::new(), 0, vec![0; 64 * 1024]);
    loop {
        match file.read(&mut buffer)? {
            0 => return Ok(FileLine { octets, sha256: Hash(hasher.finalize().into()) }),
            read => {
                hasher.update(&buffer[..read]);
                octets += read as u64;
            }
        }
    }
}

/// Writes a file, readable by its owner alone, beside its place, syncs it, and renames it into place.
///
/// # Errors
/// The disk cannot; what stood there before stays.
pub(super) fn write_lasting(folder: &Path, name: &str, octets: &[u8]) -> io::Result<FileLine> {
    let place = folder.join(name);
    if let Some(above) = place.parent() {
        super::folder::make_private(above)?;
    }
    let aside = aside(&place);
    let mut options = File::options();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&aside)?;
    file.write_all(octets)?;
    file.sync_all()?;
    move_lasting(&aside, &place)?;
    Ok(FileLine { octets: octets.len() as u64, sha256: Hash::plain(octets) })
}

/// Renames a synced file, and syncs the folder that names it.
///
/// # Errors
/// The disk cannot.
pub(super) fn move_lasting(from: &Path, to: &Path) -> io::Result<()> {
    fs::rename(from, to)?;
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder)?.sync_all()
}

/// The name beside a file's place.
pub(super) fn aside(place: &Path) -> PathBuf {
    let mut name = place.as_os_str().to_owned();
    name.push(".new");
    name.into()
}

/// Names of all files below a folder, parts divided by `/`.
///
/// # Errors
/// It cannot be read.
pub(super) fn files_below(folder: &Path) -> io::Result<Vec<String>> {
    let (mut found, mut open) = (Vec::new(), vec![String::new()]);
    while let Some(below) = open.pop() {
        for entry in fs::read_dir(folder.join(&below))? {
            let entry = entry?;
            let own = entry.file_name().to_string_lossy().into_owned();
            let name = if below.is_empty() { own } else { format!("{below}/{own}") };
            if entry.file_type()?.is_dir() { open.push(name) } else { found.push(name) }
        }
    }
    found.sort_unstable();
    Ok(found)
}

/// A name that stays below its folder on every system.
fn is_plain(name: &str) -> bool {
    let part = |part: &str| {
        !part.is_empty()
            && !part.starts_with('.')
            && part.bytes().all(|octet| octet.is_ascii_alphanumeric() || b"._-".contains(&octet))
    };
    name.split('/').all(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leads_out_of_the_folder() {
        for (name, plain) in [
            ("station.key", true),
            ("photos/0190a5f0-7c1e/whole.jpg", true),
            ("../station.key", false),
            ("/etc/passwd", false),
            ("photos//x", false),
            ("photos/./x", false),
            ("C:\\x", false),
            ("", false),
        ] {
            assert_eq!(is_plain(name), plain, "{name:?}");
        }
    }
}
