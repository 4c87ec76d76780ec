//! Laws of the frames: what comes back is what was sent, and whatever happens to the octets on the way is seen.

use super::*;
use crate::wire::hello::FeedCursor;
use crate::wire::push::{HoleReason, Purpose};
use crate::wire::samples::{site, stream};
use flate2::Compression;
use flate2::write::GzEncoder;
use proptest::prelude::*;
use std::io::{Read, Write};
use survey::chain::{Head, Link};

fn chain(bodies: impl IntoIterator<Item = Vec<u8>>) -> Vec<Link> {
    let link = |head: &mut Head, bytes| {
        let link = head.extend(stream(), bytes);
        *head = link.head();
        Some(link)
    };
    bodies.into_iter().scan(Head::START, link).collect()
}

fn bodies() -> impl Strategy<Value = Vec<Vec<u8>>> {
    prop::collection::vec(prop::collection::vec(any::<u8>(), 1..60), 1..30)
}

fn encoding() -> impl Strategy<Value = Encoding> {
    prop::sample::select(vec![Encoding::Identity, Encoding::Gzip])
}

fn file_of(links: &[Link], per_block: usize) -> Vec<u8> {
    let mut file = FileWriter::new(Vec::new());
    for block in links.chunks(per_block) {
        assert_eq!(file.write(block).unwrap(), block.len());
    }
    file.finish().unwrap()
}

fn read_file(file: &[u8]) -> (Vec<Link>, Option<Cut>) {
    let mut links = Vec::new();
    for batch in FileReader::new(file) {
        match batch {
            Ok(batch) => links.extend(batch.links),
            Err(cut) => return (links, Some(cut)),
        }
    }
    (links, None)
}

fn gzip(octets: impl Read) -> Vec<u8> {
    let mut octets = octets;
    let mut packing = GzEncoder::new(Vec::new(), Compression::fast());
    std::io::copy(&mut octets, &mut packing).unwrap();
    packing.finish().unwrap()
}

proptest! {
    #[test]
    fn a_batch_comes_back_as_it_was(bodies in bodies(), encoding in encoding()) {
        let links = chain(bodies);
        let (body, count) = encode_batch(&links, Purpose::Entries, encoding).unwrap();
        prop_assert_eq!(count, links.len());
        prop_assert_eq!(Encoding::sniff(&body), encoding);
        let batch = decode_batch(stream(), &body[..], encoding).unwrap();
        prop_assert_eq!(batch.before, Head::START);
        prop_assert_eq!(batch.after, links[links.len() - 1].head());
        prop_assert_eq!(batch.links, links);
    }

    #[test]
    fn a_cut_batch_is_refused_wherever_it_is_cut(bodies in bodies(), encoding in encoding(), at in any::<prop::sample::Index>()) {
        let (body, _) = encode_batch(&chain(bodies), Purpose::Entries, encoding).unwrap();
        let error = decode_batch(stream(), &body[..at.index(body.len())], encoding).unwrap_err();
        prop_assert!(matches!(error, FrameError::Cut { .. }), "{error}");
    }

    #[test]
    fn an_altered_bit_never_passes_for_an_entry(bodies in bodies(), encoding in encoding(), at in any::<prop::sample::Index>(), bit in 0_u8..8) {
        let links = chain(bodies);
        let (mut body, _) = encode_batch(&links, Purpose::Entries, encoding).unwrap();
        let at = at.index(body.len());
        body[at] ^= 1 << bit;
        // A bit of the gzip header (RFC 1952: time, system, level) may change nothing of what is packed.
        // A bit of a key in the header line may make it an unknown, optional one.
        if let Ok(batch) = decode_batch(stream(), &body[..], encoding) {
            prop_assert_eq!(batch.links, links);
        }
    }

    #[test]
    fn anything_behind_a_batch_is_refused(bodies in bodies(), encoding in encoding(), tail in prop::collection::vec(any::<u8>(), 1..40)) {
        let (mut body, _) = encode_batch(&chain(bodies), Purpose::Entries, encoding).unwrap();
        body.extend(&tail);
        prop_assert_eq!(decode_batch(stream(), &body[..], encoding), Err(FrameError::Trailing));
    }

    #[test]
    fn a_feed_comes_back_as_it_was_and_no_changed_bit_passes(bodies in bodies(), encoding in encoding(), at in any::<prop::sample::Index>(), bit in 0_u8..8) {
        let links = chain(bodies);
        let before = FeedCursor { number: 7, ..FeedCursor::start(site()) };
        let (mut body, count) = encode_feed(before, &links, MoreBehind::No, encoding);
        prop_assert_eq!(count, links.len());
        let page = decode_feed(before, &body[..], encoding).unwrap();
        prop_assert_eq!(page.after.number, 7 + links.len() as u64);
        prop_assert_eq!(page.items.iter().map(|item| item.link.clone()).collect::<Vec<_>>(), links.clone());
        prop_assert!(!page.more);
        let at = at.index(body.len());
        prop_assert!(decode_feed(before, &body[..at], encoding).is_err());
        body[at] ^= 1 << bit;
        if let Ok(page) = decode_feed(before, &body[..], encoding) {
            prop_assert_eq!(page.items.into_iter().map(|item| item.link).collect::<Vec<_>>(), links);
        }
    }

    #[test]
    fn a_cut_file_keeps_its_whole_entries(bodies in bodies(), per_block in 1_usize..9, at in any::<prop::sample::Index>()) {
        let links = chain(bodies);
        let file = file_of(&links, per_block);
        prop_assert_eq!(read_file(&file), (links.clone(), None));
        let (kept, cut) = read_file(&file[..at.index(file.len())]);
        let cut = cut.expect("a cut is seen");
        prop_assert!(matches!(cut.cause, FrameError::Cut { .. }), "{cut}");
        prop_assert_eq!(cut.kept, kept.len() as u64);
        prop_assert_eq!(&links[..kept.len()], &kept[..]);
    }

    #[test]
    fn an_altered_file_keeps_what_stands_before_and_nothing_altered(bodies in bodies(), per_block in 1_usize..9, at in any::<prop::sample::Index>(), bit in 0_u8..8) {
        let links = chain(bodies);
        let mut file = file_of(&links, per_block);
        let at = at.index(file.len());
        file[at] ^= 1 << bit;
        let (kept, cut) = read_file(&file);
        prop_assert_eq!(&links[..kept.len()], &kept[..]);
        prop_assert!(cut.is_some() || kept.len() == links.len());
    }

    #[test]
    fn no_octets_make_it_panic(octets in prop::collection::vec(any::<u8>(), 0..400)) {
        for encoding in [Encoding::Identity, Encoding::Gzip] {
            prop_assert!(decode_batch(stream(), &octets[..], encoding).is_err());
            prop_assert!(decode_feed(FeedCursor::start(site()), &octets[..], encoding).is_err());
        }
        prop_assert!(FileReader::new(&octets[..]).all(|batch| batch.is_err()));
    }
}

/// Cutting is tried at every octet once, so that the number kept is known to grow with the file.
#[test]
fn the_longer_the_rest_of_a_file_the_more_is_kept() {
    let links = chain((0_u8..40).map(|n| vec![n; 20]));
    let file = file_of(&links, 25);
    let kept: Vec<usize> = (0..file.len()).map(|end| read_file(&file[..end]).0.len()).collect();
    assert!(kept.is_sorted());
    assert_eq!(kept[0], 0);
    assert_eq!(kept[file.len() - 1], 40, "only the end of the packing is missing");
    assert!(kept.iter().any(|kept| (1..25).contains(kept)), "part of a block is kept");
}

#[test]
fn batches_are_filled_up_to_the_limits_and_no_further() {
    let many = chain((0..250).map(|_| b"{}".to_vec()));
    let (body, count) = encode_batch(&many, Purpose::Entries, Encoding::Gzip).unwrap();
    assert_eq!(count, MOST_ENTRIES);
    assert_eq!(decode_batch(stream(), &body[..], Encoding::Gzip).unwrap().links.len(), MOST_ENTRIES);

    let large = chain((0..20).map(|_| vec![b'x'; MOST_ENTRY_BYTES]));
    let (body, count) = encode_batch(&large, Purpose::Entries, Encoding::Identity).unwrap();
    assert_eq!(count, 15, "the sixteenth entry of 64 KiB does not fit beside a header");
    assert!(body.len() <= MOST_BATCH_BYTES);
    assert!(decode_batch(stream(), &body[..], Encoding::Identity).is_ok());
    let (body, count) = encode_feed(FeedCursor::start(site()), &large, MoreBehind::No, Encoding::Identity);
    assert!(body.len() <= MOST_BATCH_BYTES);
    let page = decode_feed(FeedCursor::start(site()), &body[..], Encoding::Identity).unwrap();
    assert_eq!((page.items.len(), page.more), (count, true));

    assert_eq!(encode_batch(&[], Purpose::Entries, Encoding::Gzip), None);
    let (_, count) = encode_batch(&many, Purpose::Fill, Encoding::Gzip).unwrap();
    assert_eq!(count, 1);
}

#[test]
fn a_hole_has_a_place_and_no_octets() {
    let links = chain([b"a".to_vec(), b"b".to_vec()]);
    let body = encode_hole(links[0].head(), links[1].head(), HoleReason::Refused, Encoding::Gzip);
    let batch = decode_batch(stream(), &body[..], Encoding::Gzip).unwrap();
    assert_eq!((batch.before, batch.after), (links[0].head(), links[1].head()));
    assert_eq!(batch.purpose, Purpose::Placeholder { reason: HoleReason::Refused });
    assert!(batch.links.is_empty());

    let mut file = FileWriter::new(Vec::new());
    file.write(&links[..1]).unwrap();
    file.write_hole(stream(), links[0].head(), links[1].head(), HoleReason::Damaged).unwrap();
    let file = file.finish().unwrap();
    let batches: Vec<_> = FileReader::new(&file[..]).collect::<Result<_, _>>().unwrap();
    assert_eq!(batches[1].after, links[1].head());
}

#[test]
fn wrong_headers_are_named() {
    let links = chain([b"{}".to_vec()]);
    let (body, _) = encode_batch(&links, Purpose::Entries, Encoding::Identity).unwrap();
    let line = String::from_utf8(body.split(|octet| *octet == b'\n').next().unwrap().to_vec()).unwrap();
    let frames = &body[line.len() + 1..];
    let decode =
        |line: &str| decode_batch(stream(), &[line.as_bytes(), b"\n", frames].concat()[..], Encoding::Identity);
    assert!(decode(&line).is_ok());
    let other = format!("{{\"device\":\"{0}\",\"epoch\":\"{0}\",", "00000000-0000-4000-8000-000000000000");
    for (from, to, error) in [
        ("\"v\":1", "\"v\":2", FrameError::Version { found: 2 }),
        ("\"count\":1", "\"count\":0", FrameError::Count { count: 0 }),
        ("\"count\":1", "\"count\":201", FrameError::Count { count: 201 }),
        ("\"count\":1", "\"count\":2", FrameError::Cut { whole: 1 }),
        ("\"first\":1", "\"first\":0", FrameError::Numbers { first: 0 }),
        ("{", &other, FrameError::Misplaced { what: "another stream than the path" }),
    ] {
        assert_eq!(decode(&line.replacen(from, to, 1)), Err(error), "{to}");
    }
    assert!(matches!(decode(&line.replacen("\"first\":1", "\"first\":2", 1)), Err(FrameError::HashMismatch { .. })));
    assert!(matches!(decode("[]"), Err(FrameError::Header { .. })));
    assert!(matches!(decode(&"[".repeat(1000)), Err(FrameError::Header { .. })));
    assert_eq!(decode(&" ".repeat(MOST_HEADER_BYTES)), Err(FrameError::HeaderTooLong));
    let long = [line.as_bytes(), b"\n\xFF\xFF\xFF\xFF"].concat();
    assert_eq!(
        decode_batch(stream(), &long[..], Encoding::Identity),
        Err(FrameError::EntryLength { entry: 1, bytes: 0xFFFF_FFFF })
    );
    let (file, _) = encode_batch(&links, Purpose::Entries, Encoding::Gzip).unwrap();
    let (kept, cut) = read_file(&file);
    assert!(kept.is_empty() && matches!(cut.unwrap().cause, FrameError::Misplaced { .. }), "a file says whose it is");
}

/// Counts what is taken from it.
struct Counted<R>(R, usize);

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let octets = self.0.read(into)?;
        self.1 += octets;
        Ok(octets)
    }
}

/// 100 MiB of zeros pack to about 100 KB; reading stops long before they are unpacked.
#[test]
fn a_small_body_that_unpacks_to_a_huge_one_costs_no_more_than_a_batch() {
    let zeros = || std::io::repeat(0).take(100 * 1024 * 1024);
    let links = chain([b"{}".to_vec()]);
    let (body, _) = encode_batch(&links, Purpose::Entries, Encoding::Identity).unwrap();
    let spaces = gzip(std::io::repeat(b' ').take(100 * 1024 * 1024));
    for (bomb, error) in [
        (gzip(zeros()), FrameError::HeaderTooLong),
        (spaces, FrameError::HeaderTooLong),
        (gzip(body[..].chain(zeros())), FrameError::Trailing),
    ] {
        let mut counted = Counted(&bomb[..], 0);
        assert_eq!(decode_batch(stream(), &mut counted, Encoding::Gzip), Err(error));
        assert!(counted.1 < 17 * 1024, "{} octets were taken", counted.1);
        assert!(FileReader::new(&bomb[..]).any(|batch| batch.is_err()));
    }

    // Frames that are each within their limit, and more of them than a batch may hold.
    let large = chain((0..20).map(|_| vec![0; MOST_ENTRY_BYTES]));
    let (one, _) = encode_batch(&large[..1], Purpose::Entries, Encoding::Identity).unwrap();
    let line_end = one.iter().position(|octet| *octet == b'\n').unwrap();
    let line = String::from_utf8_lossy(&one[..line_end]).replace("\"count\":1", "\"count\":20");
    let mut over = line.into_bytes();
    over.write_all(b"\n").unwrap();
    (0..20).for_each(|_| over.extend(&one[line_end + 1..]));
    let error = decode_batch(stream(), &gzip(&over[..])[..], Encoding::Gzip).unwrap_err();
    assert_eq!(error, FrameError::TooLarge { entry: 16 });
}
