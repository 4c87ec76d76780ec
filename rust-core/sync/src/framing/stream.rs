//! Octets in, with limits.

use super::{Encoding, FrameError, MOST_BATCH_BYTES, MOST_ENTRY_BYTES, MOST_HEADER_BYTES};
use flate2::bufread::GzDecoder;
use std::io::{BufRead, BufReader, ErrorKind, Read};

/// Unpacks while reading.
pub(super) enum Unpacked<R: Read> {
    Identity(BufReader<R>),
    Gzip(Box<BufReader<GzDecoder<BufReader<R>>>>),
}

/// One block being read: how many octets and entries it has had.
pub(super) struct Block<'a, R: Read> {
    from: &'a mut Unpacked<R>,
    octets: usize,
    pub(super) entries: usize,
}

impl<R: Read> Unpacked<R> {
    pub(super) fn new(from: R, encoding: Encoding) -> Self {
        let buffered = BufReader::new(from);
        match encoding {
            Encoding::Identity => Self::Identity(buffered),
            Encoding::Gzip => Self::Gzip(Box::new(BufReader::new(GzDecoder::new(buffered)))),
        }
    }

    pub(super) fn block(&mut self) -> Block<'_, R> {
        Block { from: self, octets: 0, entries: 0 }
    }

    /// Whether the octets end here, packing included.
    pub(super) fn at_end(&mut self) -> Result<bool, FrameError> {
        if !self.fill(0)?.is_empty() {
            return Ok(false);
        }
        let Self::Gzip(unpacking) = self else { return Ok(true) };
        let behind = unpacking.get_mut().get_mut().fill_buf().map_err(|error| failed(&error, 0))?;
        if behind.is_empty() { Ok(true) } else { Err(FrameError::Trailing) }
    }

    fn fill(&mut self, whole: usize) -> Result<&[u8], FrameError> {
        match self {
            Self::Identity(reader) => retried(reader, whole),
            Self::Gzip(reader) => retried(reader.as_mut(), whole),
        }
    }

    fn consume(&mut self, octets: usize) {
        match self {
            Self::Identity(reader) => reader.consume(octets),
            Self::Gzip(reader) => reader.consume(octets),
        }
    }
}

impl<R: Read> Block<'_, R> {
    /// The header line, without its end.
    pub(super) fn header(&mut self) -> Result<Vec<u8>, FrameError> {
        let mut line = Vec::new();
        loop {
            let chunk = self.from.fill(0)?;
            if chunk.is_empty() {
                return Err(FrameError::Cut { whole: 0 });
            }
            let end = chunk.iter().position(|octet| *octet == b'\n');
            let taken = end.unwrap_or(chunk.len());
            if line.len() + taken >= MOST_HEADER_BYTES {
                return Err(FrameError::HeaderTooLong);
            }
            line.extend_from_slice(&chunk[..taken]);
            self.from.consume(taken + usize::from(end.is_some()));
            if end.is_some() {
                self.octets += line.len() + 1;
                return Ok(line);
            }
        }
    }

    /// The next frame, with an envelope of so many octets before the entry's own bytes.
    pub(super) fn frame(&mut self, envelope: usize) -> Result<Vec<u8>, FrameError> {
        let entry = self.entries + 1;
        let mut length = [0; 4];
        self.exactly(&mut length)?;
        let bytes = usize::try_from(u32::from_be_bytes(length)).unwrap_or(usize::MAX);
        if bytes <= envelope || bytes - envelope > MOST_ENTRY_BYTES {
            return Err(FrameError::EntryLength { entry, bytes });
        }
        let mut frame = vec![0; bytes];
        self.exactly(&mut frame)?;
        self.entries = entry;
        Ok(frame)
    }

    fn exactly(&mut self, into: &mut [u8]) -> Result<(), FrameError> {
        self.octets += into.len();
        if self.octets > MOST_BATCH_BYTES {
            return Err(FrameError::TooLarge { entry: self.entries + 1 });
        }
        let mut filled = 0;
        while filled < into.len() {
            let chunk = self.from.fill(self.entries)?;
            if chunk.is_empty() {
                return Err(FrameError::Cut { whole: self.entries });
            }
            let taken = chunk.len().min(into.len() - filled);
            into[filled..filled + taken].copy_from_slice(&chunk[..taken]);
            self.from.consume(taken);
            filled += taken;
        }
        Ok(())
    }
}

/// Reads a header line's JSON.
pub(super) fn parse_header<T: serde::de::DeserializeOwned>(line: &[u8]) -> Result<T, FrameError> {
    serde_json::from_slice(line)
        .map_err(|error| FrameError::Header { reason: error.to_string(), column: error.column() })
}

fn retried<B: BufRead>(reader: &mut B, whole: usize) -> Result<&[u8], FrameError> {
    loop {
        match reader.fill_buf() {
            Ok(_) => break,
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            Err(error) => return Err(failed(&error, whole)),
        }
    }
    // The buffer is filled or the source is at its end: this asks for no more octets than before.
    reader.fill_buf().map_err(|error| failed(&error, whole))
}

fn failed(error: &std::io::Error, whole: usize) -> FrameError {
    match error.kind() {
        ErrorKind::UnexpectedEof => FrameError::Cut { whole },
        ErrorKind::InvalidInput | ErrorKind::InvalidData => FrameError::Packing { reason: error.to_string() },
        _ => FrameError::Read { reason: error.to_string() },
    }
}
