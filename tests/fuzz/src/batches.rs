//! Batches: the header line, the lengths before the entries, and the packing.

use crate::damage::{Damage, damaged, described};
use crate::story::stream;
use arbitrary::Arbitrary;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde_json::json;
use std::io::Write;
use survey::chain::{Hash, Head, Link, Seq};
use sync::framing::{
    Batch, Encoding, FrameError, MOST_BATCH_BYTES, MOST_ENTRIES, MOST_ENTRY_BYTES, decode_batch, encode_batch,
    encode_hole,
};
use sync::wire::push::{HoleReason, Purpose};

/// What is pushed, and what happens to it.
#[derive(Debug, Arbitrary)]
enum Input {
    /// A right batch that comes to harm.
    Harmed { start: Start, bodies: Vec<Body>, fill: bool, packed: bool, damages: Vec<Damage> },
    /// A placeholder that comes to harm.
    Hole { start: Start, reason: u8, packed: bool, damages: Vec<Damage> },
    /// A header line of its own, before frames of their own.
    Forged { header: Header, frames: Vec<Frame>, packed: bool, members: u8 },
}

#[derive(Debug, Arbitrary)]
struct Start {
    seq: u64,
    hash: u8,
}

#[derive(Debug, Arbitrary)]
enum Body {
    Octets(Vec<u8>),
    Long { octet: u8, octets: u32 },
}

#[derive(Debug, Arbitrary)]
struct Header {
    v: Option<u32>,
    first: u64,
    count: Option<u32>,
    previous: u8,
    last: Option<u8>,
    purpose: u8,
    hashes: Option<Vec<u8>>,
    other_stream: bool,
    more: Option<String>,
}

#[derive(Debug, Arbitrary)]
struct Frame {
    length: Option<u32>,
    octets: Vec<u8>,
}

/// Octets that begin like a header line or like gzip are read as a body, others as a description of one.
pub fn hold(octets: &[u8]) {
    if matches!(octets, [b'{', ..] | [0x1F, 0x8B, ..]) {
        read(octets, Encoding::sniff(octets));
        return;
    }
    match described::<Input>(octets) {
        Some(Input::Harmed { start, bodies, fill, packed, damages }) => {
            harmed(&start, &bodies, if fill { Purpose::Fill } else { Purpose::Entries }, encoding(packed), &damages);
        }
        Some(Input::Hole { start, reason, packed, damages }) => hole(&start, reason, encoding(packed), &damages),
        Some(Input::Forged { header, frames, packed, members }) => {
            let body = forged(&header, &frames);
            let body = if packed { packed_in(&body, members) } else { body };
            read(&body, encoding(packed));
        }
        None => {}
    }
}

/// What is right comes back as it was; what was harmed comes back as it was or not at all.
fn harmed(start: &Start, bodies: &[Body], purpose: Purpose, encoding: Encoding, damages: &[Damage]) {
    let links = chain(start, bodies);
    let Some((body, count)) = encode_batch(&links, purpose, encoding) else {
        assert!(links.first().is_none_or(|link| !(1..=MOST_ENTRY_BYTES).contains(&link.bytes.len())));
        return;
    };
    assert!((1..=MOST_ENTRIES).contains(&count));
    let batch = decode_batch(stream(0), &body[..], encoding).expect("what was written is read");
    sound(&batch);
    assert_eq!(batch.links, links[..count]);
    let body = damaged(&body, damages);
    if let Some(harmed) = read(&body, encoding) {
        assert!(harmed.links.is_empty() || harmed.links == batch.links, "nothing altered passes for an entry");
    }
}

fn hole(start: &Start, reason: u8, encoding: Encoding, damages: &[Damage]) {
    let before = start.head();
    let after = before.extend(stream(0), vec![reason]).head();
    let reason = [HoleReason::Refused, HoleReason::TooLarge, HoleReason::Damaged][usize::from(reason % 3)];
    let body = encode_hole(before, after, reason, encoding);
    let batch = decode_batch(stream(0), &body[..], encoding).expect("what was written is read");
    assert_eq!((batch.before, batch.after, batch.purpose), (before, after, Purpose::Placeholder { reason }));
    read(&damaged(&body, damages), encoding);
}

/// Reads a body; what comes out is sound and can be written and read again.
fn read(body: &[u8], encoding: Encoding) -> Option<Batch> {
    let batch = match decode_batch(stream(0), body, encoding) {
        Ok(batch) => batch,
        Err(error) => {
            named(&error);
            return None;
        }
    };
    sound(&batch);
    if let Some((again, count)) = encode_batch(&batch.links, batch.purpose, Encoding::Gzip) {
        let again = decode_batch(stream(0), &again[..], Encoding::Gzip).expect("what was written is read");
        assert_eq!(again.links, batch.links[..count]);
    }
    Some(batch)
}

/// What holds for every batch that is taken, wherever it came from.
pub(crate) fn sound(batch: &Batch) {
    assert!(batch.links.len() <= MOST_ENTRIES);
    let octets: usize = batch.links.iter().map(|link| link.bytes.len() + 4).sum();
    assert!(octets <= MOST_BATCH_BYTES);
    let end = batch.links.iter().fold(batch.before, |head, link| {
        assert!((1..=MOST_ENTRY_BYTES).contains(&link.bytes.len()));
        assert_eq!(link.stream, batch.stream);
        link.verify_after(head).expect("the chain holds");
        link.head()
    });
    match batch.purpose {
        Purpose::Placeholder { .. } => {
            assert!(batch.links.is_empty());
            assert_eq!(batch.after.seq.0, batch.before.seq.0 + 1);
        }
        Purpose::Entries | Purpose::Fill => assert_eq!(end, batch.after),
    }
}

/// An error says something, and does not repeat whole bodies.
pub(crate) fn named(error: &FrameError) {
    let said = error.to_string();
    assert!((10..2_000).contains(&said.len()), "{} octets of error", said.len());
}

fn chain(start: &Start, bodies: &[Body]) -> Vec<Link> {
    let mut head = start.head();
    let mut link = |body: &Body| {
        let octets = match body {
            Body::Octets(octets) => octets.clone(),
            // A little beyond what is taken.
            Body::Long { octet, octets } => vec![*octet; *octets as usize % (MOST_ENTRY_BYTES + 64)],
        };
        let link = head.extend(stream(0), octets);
        head = link.head();
        link
    };
    bodies.iter().take(MOST_ENTRIES + 20).map(&mut link).collect()
}

fn forged(header: &Header, frames: &[Frame]) -> Vec<u8> {
    let purpose = ["entries", "fill", "placeholder", "tea"][usize::from(header.purpose % 4)];
    let previous = Hash([header.previous; 32]);
    let (mut hash, mut seq, mut hashes) = (previous, header.first, Vec::new());
    for frame in frames {
        hash = survey::chain::entry_hash(stream(0), Seq(seq), hash, &frame.octets);
        hashes.push(hash);
        seq = seq.wrapping_add(1);
    }
    let count = header.count.unwrap_or(u32::try_from(frames.len()).unwrap_or(u32::MAX));
    let mut line = json!({
        "v": header.v.unwrap_or(sync::wire::VERSION), "first": header.first, "count": count, "previous": previous,
        "last": header.last.map_or(hash, |octet| Hash([octet; 32])), "purpose": purpose,
    });
    if purpose == "placeholder" {
        line["reason"] = json!("refused");
    }
    if let Some(forged) = &header.hashes {
        let forged = forged.iter().map(|octet| Hash([*octet; 32]));
        line["hashes"] = if forged.len() == 0 { json!(hashes) } else { json!(forged.collect::<Vec<_>>()) };
    }
    if header.other_stream {
        line["device"] = json!(stream(1).device);
        line["epoch"] = json!(stream(1).epoch);
    }
    if let Some(more) = &header.more {
        line["more"] = json!(more);
    }
    let mut body = line.to_string().into_bytes();
    body.push(b'\n');
    for frame in frames {
        let length = frame.length.unwrap_or(u32::try_from(frame.octets.len()).unwrap_or(u32::MAX));
        body.extend(length.to_be_bytes());
        body.extend(&frame.octets);
    }
    body
}

/// Packed as one gzip member, as several, or once within another.
fn packed_in(body: &[u8], members: u8) -> Vec<u8> {
    match members % 4 {
        0 | 1 => gzip(body),
        2 => {
            let (one, other) = body.split_at(body.len() / 2);
            [gzip(one), gzip(other)].concat()
        }
        _ => gzip(&gzip(body)),
    }
}

pub(crate) fn gzip(octets: &[u8]) -> Vec<u8> {
    let mut packing = GzEncoder::new(Vec::new(), Compression::fast());
    packing.write_all(octets).and_then(|()| packing.finish()).expect("memory takes octets")
}

pub(crate) const fn encoding(packed: bool) -> Encoding {
    if packed { Encoding::Gzip } else { Encoding::Identity }
}

impl Start {
    /// Somewhere in a stream; not so near to the end of numbers that a batch would run over it.
    const fn head(&self) -> Head {
        Head { seq: Seq(self.seq & (u64::MAX >> 1)), hash: Hash([self.hash; 32]) }
    }
}
