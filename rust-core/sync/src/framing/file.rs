//! Files to hand over: batches one behind the other in one gzip stream, each header with its stream and the hash
//! of every entry.

use super::batch::{Batch, batch, fitting, header_of, read_header, read_links, write_block};
use super::stream::Unpacked;
use super::{Encoding, FrameError};
use crate::wire::VERSION;
use crate::wire::push::{HoleReason, Purpose, PushHeader};
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::{Read, Write};
use survey::chain::{Head, Link, Seq, StreamId};

/// Writes a file. Dropped without [`FileWriter::finish`], the file counts as cut.
#[derive(Debug)]
pub struct FileWriter<W: Write> {
    packing: GzEncoder<W>,
}

/// Reads a file, batch by batch.
pub struct FileReader<R: Read> {
    octets: Unpacked<R>,
    kept: u64,
    then: Then,
}

/// What comes next from a file.
enum Then {
    Batch,
    Error(FrameError),
    Nothing,
}

/// Why reading a file ended before its end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{kept} whole entries kept, then: {cause}")]
pub struct Cut {
    /// How many whole entries were read, each checked against its hash.
    pub kept: u64,
    /// What stood in the way.
    pub cause: FrameError,
}

impl<W: Write> FileWriter<W> {
    /// Begins a file.
    pub fn new(into: W) -> Self {
        Self { packing: GzEncoder::new(into, Compression::default()) }
    }

    /// Writes as many of the links, from the first on, as fit into one batch, and says how many:
    /// 0 without links or if the first is too large. The links are those of one stream, without gaps.
    ///
    /// # Errors
    /// What the target says.
    pub fn write(&mut self, links: &[Link]) -> std::io::Result<usize> {
        let links = &links[..fitting(links)];
        let (Some(first), Some(header)) = (links.first(), header_of(links, Purpose::Entries)) else { return Ok(0) };
        let header = PushHeader {
            device: Some(first.stream.device),
            epoch: Some(first.stream.epoch),
            hashes: links.iter().map(|link| link.hash).collect(),
            ..header
        };
        write_block(&mut self.packing, &header, links)?;
        Ok(links.len())
    }

    /// Writes a placeholder for the entry at `after`.
    ///
    /// # Errors
    /// What the target says.
    pub fn write_hole(
        &mut self,
        stream: StreamId,
        before: Head,
        after: Head,
        reason: HoleReason,
    ) -> std::io::Result<()> {
        let header = PushHeader {
            v: VERSION,
            device: Some(stream.device),
            epoch: Some(stream.epoch),
            first: after.seq,
            count: 1,
            previous: before.hash,
            last: after.hash,
            purpose: Purpose::Placeholder { reason },
            hashes: Vec::new(),
        };
        write_block(&mut self.packing, &header, &[])
    }

    /// Ends the file and gives back where it went.
    ///
    /// # Errors
    /// What the target says.
    pub fn finish(self) -> std::io::Result<W> {
        self.packing.finish()
    }
}

impl<R: Read> FileReader<R> {
    /// Reads a file from here.
    pub fn new(from: R) -> Self {
        Self { octets: Unpacked::new(from, Encoding::Gzip), kept: 0, then: Then::Batch }
    }

    /// How many whole entries have been read.
    pub const fn kept(&self) -> u64 {
        self.kept
    }

    /// The next batch and what comes behind it; no batch at the end, or where nothing of it could be kept.
    fn step(&mut self) -> (Option<Batch>, Then) {
        match self.octets.at_end() {
            Ok(true) => return (None, Then::Nothing),
            Ok(false) => {}
            Err(error) => return (None, Then::Error(error)),
        }
        let mut block = self.octets.block();
        let header = match read_header(&mut block) {
            Ok(header) => header,
            Err(error) => return (None, Then::Error(error)),
        };
        let Some(stream) = header.stream() else {
            return (None, Then::Error(FrameError::Misplaced { what: "nothing of whose entries these are" }));
        };
        let mut links = Vec::new();
        match read_links(&mut block, stream, &header, &mut links) {
            Ok(()) => (Some(batch(stream, &header, links)), Then::Batch),
            Err(error) => (checked_part(stream, &header, links), Then::Error(error)),
        }
    }
}

impl<R: Read> Iterator for FileReader<R> {
    type Item = Result<Batch, Cut>;

    /// The next batch. Where the file is cut or altered, the whole entries before that come as a last batch,
    /// then one error, then nothing.
    fn next(&mut self) -> Option<Self::Item> {
        if matches!(self.then, Then::Batch) {
            let (batch, then) = self.step();
            self.then = then;
            if let Some(batch) = batch {
                self.kept += batch.links.len() as u64;
                return Some(Ok(batch));
            }
        }
        match std::mem::replace(&mut self.then, Then::Nothing) {
            Then::Error(cause) => Some(Err(Cut { kept: self.kept, cause })),
            Then::Batch | Then::Nothing => None,
        }
    }
}

/// The entries before the place where a block ends early. Without a hash for each, none is known to be unaltered.
fn checked_part(stream: StreamId, header: &PushHeader, links: Vec<Link>) -> Option<Batch> {
    let checked = links.len().min(header.hashes.len());
    let links: Vec<Link> = links.into_iter().take(checked).collect();
    let (first, last) = (links.first()?, links.last()?);
    let before = Head { seq: Seq(first.seq.0 - 1), hash: first.previous };
    Some(Batch { stream, before, after: last.head(), purpose: header.purpose, links })
}
