//! The station's key: 32 random octets in a file beside the database, readable by its owner alone.
//! A copy of the database without this file lets nobody try codes against it.

use crate::edge::random;
use std::fmt;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::Path;

/// The key of one station.
#[derive(Clone)]
pub struct StationKey([u8; 32]);

/// Why there is no key.
#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    /// The file cannot be read or made.
    #[error("the key file cannot be read or made: {0}")]
    File(#[from] io::Error),
    /// The file is not 32 octets long.
    #[error(
        "the key file holds {octets} octets where 32 are due: put the right file back, or remove it and invite again"
    )]
    Length {
        /// How many it holds.
        octets: usize,
    },
    /// Others may read the file.
    #[error("the key file may be read by others (mode {mode:o}): set it to 600")]
    Open {
        /// Its permission bits.
        mode: u32,
    },
    /// No randomness.
    #[error(transparent)]
    Random(#[from] random::NoRandom),
}

impl StationKey {
    /// Reads the key, or makes one with mode 0600 where the file is missing.
    ///
    /// # Errors
    /// See [`KeyError`].
    pub fn open(path: &Path) -> Result<Self, KeyError> {
        match File::open(path) {
            Ok(file) => read(file),
            Err(error) if error.kind() == io::ErrorKind::NotFound => make(path),
            Err(error) => Err(error.into()),
        }
    }

    /// A key given as octets, for tests.
    pub const fn from_octets(octets: [u8; 32]) -> Self {
        Self(octets)
    }

    /// The octets.
    pub const fn octets(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Debug for StationKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("StationKey(not shown)")
    }
}

fn make(path: &Path) -> Result<StationKey, KeyError> {
    let octets = random::octets()?;
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Ok(mut file) => {
            file.write_all(&octets)?;
            file.sync_all()?;
            Ok(StationKey(octets))
        }
        // Another process made it between the two calls.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => read(File::open(path)?),
        Err(error) => Err(error.into()),
    }
}

fn read(mut file: File) -> Result<StationKey, KeyError> {
    #[cfg(unix)]
    {
        let mode = std::os::unix::fs::PermissionsExt::mode(&file.metadata()?.permissions()) & 0o777;
        if mode & 0o077 != 0 {
            return Err(KeyError::Open { mode });
        }
    }
    let mut octets = Vec::new();
    Read::by_ref(&mut file).take(64).read_to_end(&mut octets)?;
    let octets: [u8; 32] = octets.try_into().map_err(|octets: Vec<u8>| KeyError::Length { octets: octets.len() })?;
    Ok(StationKey(octets))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_made_once_and_kept_private() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("key");
        let made = StationKey::open(&path).unwrap();
        assert_eq!(StationKey::open(&path).unwrap().octets(), made.octets());
        assert_eq!(format!("{made:?}"), "StationKey(not shown)");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
            assert!(matches!(StationKey::open(&path), Err(KeyError::Open { mode: 0o644 })));
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o600)).unwrap();
        }
        std::fs::write(&path, b"short").unwrap();
        assert!(matches!(StationKey::open(&path), Err(KeyError::Length { octets: 5 })));
    }
}
