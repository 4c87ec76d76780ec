//! A batch: what is pushed.

use super::stream::{Block, Unpacked, parse_header};
use super::{Encoding, FrameError, MOST_BATCH_BYTES, MOST_ENTRIES, MOST_ENTRY_BYTES};
use crate::wire::VERSION;
use crate::wire::push::{HoleReason, Purpose, PushHeader};
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::{Read, Write};
use survey::chain::{Head, Link, Seq, StreamId, entry_hash};

/// A batch whose octets have been checked against its hashes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batch {
    /// Whose.
    pub stream: StreamId,
    /// The end of the stream before the batch.
    pub before: Head,
    /// The end behind it.
    pub after: Head,
    /// What it is.
    pub purpose: Purpose,
    /// The entries, in order; none with a placeholder.
    pub links: Vec<Link>,
}

/// A batch to push: as many of the links, from the first on, as the limits allow, packed. Returns the body and how
/// many links are in it; `None` without links, or if the first is too large.
/// The links are those of one stream, without gaps; [`Purpose::Fill`] takes the first only.
pub fn encode_batch(links: &[Link], purpose: Purpose, encoding: Encoding) -> Option<(Vec<u8>, usize)> {
    let most = if purpose == Purpose::Entries { MOST_ENTRIES } else { 1 };
    let links = &links[..fitting(links).min(most)];
    let header = header_of(links, purpose)?;
    Some((packed(encoding, |out| write_block(out, &header, links)), links.len()))
}

/// A placeholder to push for the entry at `after`, which stays on the phone.
pub fn encode_hole(before: Head, after: Head, reason: HoleReason, encoding: Encoding) -> Vec<u8> {
    let header = PushHeader {
        v: VERSION,
        device: None,
        epoch: None,
        first: after.seq,
        count: 1,
        previous: before.hash,
        last: after.hash,
        purpose: Purpose::Placeholder { reason },
        hashes: Vec::new(),
    };
    packed(encoding, |out| write_block(out, &header, &[]))
}

/// Reads a pushed batch of this stream, and refuses whatever stands behind it.
///
/// # Errors
/// The first thing that does not hold; nothing of the batch is then to be stored.
pub fn decode_batch(stream: StreamId, body: impl Read, encoding: Encoding) -> Result<Batch, FrameError> {
    let mut octets = Unpacked::new(body, encoding);
    let mut block = octets.block();
    let header = read_header(&mut block)?;
    if header.stream().is_some_and(|named| named != stream) {
        return Err(FrameError::Misplaced { what: "another stream than the path" });
    }
    let mut links = Vec::new();
    read_links(&mut block, stream, &header, &mut links)?;
    if !octets.at_end()? {
        return Err(FrameError::Trailing);
    }
    Ok(batch(stream, &header, links))
}

pub(super) fn batch(stream: StreamId, header: &PushHeader, links: Vec<Link>) -> Batch {
    let (before, count) = (before(header), u64::from(header.count));
    let after = Head { seq: Seq(before.seq.0 + count), hash: header.last };
    Batch { stream, before, after, purpose: header.purpose, links }
}

/// How many of the links fit into one batch.
pub(super) fn fitting(links: &[Link]) -> usize {
    /// Room for a header line that names `MOST_ENTRIES` hashes, each with quotes and comma.
    const HEADER_ROOM: usize = 1024 + MOST_ENTRIES * 67;
    links
        .iter()
        .take(MOST_ENTRIES)
        .scan(HEADER_ROOM, |octets, link| {
            *octets += 4 + link.bytes.len();
            let fits = *octets <= MOST_BATCH_BYTES && (1..=MOST_ENTRY_BYTES).contains(&link.bytes.len());
            fits.then_some(())
        })
        .count()
}

pub(super) fn header_of(links: &[Link], purpose: Purpose) -> Option<PushHeader> {
    let (first, last) = (links.first()?, links.last()?);
    Some(PushHeader {
        v: VERSION,
        device: None,
        epoch: None,
        first: first.seq,
        count: u32::try_from(links.len()).ok()?,
        previous: first.previous,
        last: last.hash,
        purpose,
        hashes: Vec::new(),
    })
}

pub(super) fn write_block(out: &mut (impl Write + ?Sized), header: &PushHeader, links: &[Link]) -> std::io::Result<()> {
    write_frames(out, header, links.iter().map(|link| link.bytes.as_slice()))
}

/// The header line, then each frame with its length before it.
pub(super) fn write_frames<'a>(
    out: &mut (impl Write + ?Sized),
    header: &impl serde::Serialize,
    frames: impl Iterator<Item = &'a [u8]>,
) -> std::io::Result<()> {
    serde_json::to_writer(&mut *out, header)?;
    out.write_all(b"\n")?;
    for frame in frames {
        let length = u32::try_from(frame.len()).map_err(std::io::Error::other)?;
        out.write_all(&length.to_be_bytes())?;
        out.write_all(frame)?;
    }
    Ok(())
}

pub(super) fn packed(encoding: Encoding, write: impl FnOnce(&mut dyn Write) -> std::io::Result<()>) -> Vec<u8> {
    let in_memory = "writing to memory does not fail, and headers and frames are within their limits";
    match encoding {
        Encoding::Identity => {
            let mut body = Vec::new();
            write(&mut body).expect(in_memory);
            body
        }
        Encoding::Gzip => {
            let mut packing = GzEncoder::new(Vec::new(), Compression::best());
            write(&mut packing).expect(in_memory);
            packing.finish().expect(in_memory)
        }
    }
}

pub(super) fn read_header<R: Read>(block: &mut Block<'_, R>) -> Result<PushHeader, FrameError> {
    let header: PushHeader = parse_header(&block.header()?)?;
    if header.v != VERSION {
        return Err(FrameError::Version { found: header.v });
    }
    let count = usize::try_from(header.count).unwrap_or(usize::MAX);
    let most = if header.purpose == Purpose::Entries { MOST_ENTRIES } else { 1 };
    if count == 0 || count > most {
        return Err(FrameError::Count { count: header.count });
    }
    if header.first == Seq(0) || header.end().is_none() {
        return Err(FrameError::Numbers { first: header.first.0 });
    }
    if !header.hashes.is_empty() && header.hashes.len() != count {
        return Err(FrameError::Misplaced { what: "another number of hashes than of entries" });
    }
    Ok(header)
}

/// Reads the frames behind a header into `links`. After an error these hold the entries before it: each of them
/// checked where the header has all hashes, otherwise none is.
pub(super) fn read_links<R: Read>(
    block: &mut Block<'_, R>,
    stream: StreamId,
    header: &PushHeader,
    links: &mut Vec<Link>,
) -> Result<(), FrameError> {
    if matches!(header.purpose, Purpose::Placeholder { .. }) {
        return Ok(());
    }
    let mut head = before(header);
    for at in 0..usize::try_from(header.count).unwrap_or(usize::MAX) {
        let bytes = block.frame(0)?;
        let seq = Seq(head.seq.0 + 1);
        let hash = entry_hash(stream, seq, head.hash, &bytes);
        if let Some(&announced) = header.hashes.get(at)
            && hash != announced
        {
            return Err(FrameError::HashMismatch { entry: at + 1, found: hash, announced });
        }
        links.push(Link { stream, seq, previous: head.hash, hash, bytes });
        head = Head { seq, hash };
    }
    if head.hash == header.last {
        Ok(())
    } else {
        Err(FrameError::HashMismatch { entry: links.len(), found: head.hash, announced: header.last })
    }
}

fn before(header: &PushHeader) -> Head {
    Head { seq: Seq(header.first.0 - 1), hash: header.previous }
}
