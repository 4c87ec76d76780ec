//! The station's own stream: which it is, and how a restored database is noticed.
//!
//! A mark outside the database holds the stream and the number of its last entry. At start it is compared with the
//! database. A mark that is absent, different or ahead means that the database is an older or another one: the station
//! goes on in a fresh epoch, and what phones have of the former one stays as it was.

use super::ReviewError;
use crate::edge::random::NoRandom;
use crate::store::Store;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use survey::chain::{Seq, StreamId};
use survey::ids::{DeviceId, Epoch, RandomOctets};

/// How far the station has written, kept outside the database.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// In which stream.
    pub stream: StreamId,
    /// The number of the last entry, 0 before the first.
    pub seq: Seq,
}

/// Where the mark is kept.
pub trait Marker: Send + Sync {
    /// The mark; `None` where there is none or it cannot be understood.
    ///
    /// # Errors
    /// The place cannot be read.
    fn read(&self) -> io::Result<Option<Mark>>;

    /// Replaces the mark, durably.
    ///
    /// # Errors
    /// The place cannot be written.
    fn write(&self, mark: &Mark) -> io::Result<()>;
}

/// The mark as a file.
#[derive(Debug, Clone)]
pub struct FileMarker(PathBuf);

impl FileMarker {
    /// Name of the file in the station's folder.
    pub const NAME: &'static str = "station.stream";

    /// The mark of the station in this folder.
    pub fn of(folder: &Path) -> Self {
        Self(folder.join(Self::NAME))
    }
}

impl Marker for FileMarker {
    fn read(&self) -> io::Result<Option<Mark>> {
        match fs::read(&self.0) {
            Ok(octets) => Ok(serde_json::from_slice(&octets).ok()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn write(&self, mark: &Mark) -> io::Result<()> {
        let aside = self.0.with_extension("stream-new");
        let mut file = File::create(&aside)?;
        file.write_all(&serde_json::to_vec(mark)?)?;
        file.sync_all()?;
        fs::rename(&aside, &self.0)?;
        let folder = self.0.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        File::open(folder)?.sync_all()
    }
}

/// The stream that the station goes on in. `draw` gives random octets where a device or an epoch has to be made.
pub(super) fn settle(
    store: &dyn Store,
    marker: &dyn Marker,
    draw: &mut dyn FnMut() -> Result<RandomOctets, NoRandom>,
) -> Result<StreamId, ReviewError> {
    let (noted, mark) = (store.own_stream()?, marker.read()?);
    if let (Some(noted), Some(mark)) = (noted, mark)
        && mark.stream == noted
        && mark.seq <= store.held(noted, &[])?.head.seq
    {
        return Ok(noted);
    }
    let device = match noted.or(mark.map(|mark| mark.stream)) {
        Some(stream) => stream.device,
        None => DeviceId::random(draw()?),
    };
    let stream = StreamId { device, epoch: Epoch::random(draw()?) };
    // Stopped between the two, the next start finds them different and begins one epoch more.
    store.begin_own_stream(stream)?;
    marker.write(&Mark { stream, seq: Seq(0) })?;
    Ok(stream)
}
