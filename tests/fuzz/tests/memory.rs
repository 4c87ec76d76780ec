//! Small inputs that would like to become large: each is refused for the right reason, and the memory that it takes until
//! then is measured and stays below a stated bound.
//!
//! What is measured is the highest number of octets allocated at once while the input is read, above what was allocated
//! before, the input itself included there. The tests take turns, for the measure is that of the whole process.

use exchange::{FileError, Lines, MOST_BYTES, read_gpx, read_sites};
use flate2::Compression;
use flate2::write::GzEncoder;
use handset::photo::jpeg::{MOST_OCTETS, NotUsable, strip};
use peak_alloc::PeakAlloc;
use std::io::Read;
use std::sync::{Mutex, PoisonError};
use survey::chain::{Hash, Head, Link, StreamId};
use survey::entry::{Entry, EntryError, MOST_LEVELS};
use survey::ids::{DeviceId, Epoch, SiteId};
use sync::framing::{
    Encoding, FileReader, FileWriter, FrameError, MOST_ENTRY_BYTES, MoreBehind, decode_batch, decode_feed,
    encode_batch, encode_feed,
};
use sync::wire::hello::{FeedCursor, Hello};
use sync::wire::push::Purpose;

#[global_allocator]
static ALLOCATOR: PeakAlloc = PeakAlloc;

static TURN: Mutex<()> = Mutex::new(());

const KIB: usize = 1024;
const MIB: usize = 1024 * KIB;

/// Does it, prints what it took, and holds that against the bound.
fn within<T>(bound: usize, what: &str, act: impl FnOnce() -> T) -> T {
    let before = ALLOCATOR.current_usage();
    ALLOCATOR.reset_peak_usage();
    let done = act();
    let peak = ALLOCATOR.peak_usage().saturating_sub(before);
    println!("{what}: {} KiB at most, bound {} KiB", peak.div_ceil(KIB), bound / KIB);
    assert!(peak <= bound, "{what} took {peak} octets, {bound} are the most");
    done
}

fn turn() -> std::sync::MutexGuard<'static, ()> {
    TURN.lock().unwrap_or_else(PoisonError::into_inner)
}

fn stream() -> StreamId {
    StreamId { device: DeviceId::from_octets([1; 16]), epoch: Epoch::from_octets([2; 16]) }
}

fn cursor() -> FeedCursor {
    FeedCursor::start(SiteId::from_octets([3; 16]))
}

fn gzip(mut octets: impl Read) -> Vec<u8> {
    let mut packing = GzEncoder::new(Vec::new(), Compression::best());
    std::io::copy(&mut octets, &mut packing).unwrap();
    packing.finish().unwrap()
}

fn links(count: usize, octets: usize) -> Vec<Link> {
    let mut head = Head::START;
    let mut link = |_| {
        let link = head.extend(stream(), vec![b'0'; octets]);
        head = link.head();
        link
    };
    (0..count).map(&mut link).collect()
}

/// A batch whose header counts more frames than there may be octets; every frame is within its own limit.
fn overfull() -> Vec<u8> {
    let one = &links(1, MOST_ENTRY_BYTES);
    let (body, _) = encode_batch(one, Purpose::Entries, Encoding::Identity).unwrap();
    let end = body.iter().position(|octet| *octet == b'\n').unwrap() + 1;
    let header = String::from_utf8(body[..end].to_vec()).unwrap().replace("\"count\":1", "\"count\":200");
    std::iter::once(header.as_bytes()).chain(std::iter::repeat_n(&body[end..], 200)).collect::<Vec<_>>().concat()
}

fn header(from: &str, to: &str) -> Vec<u8> {
    let (body, _) = encode_batch(&links(1, 2), Purpose::Entries, Encoding::Identity).unwrap();
    let end = body.iter().position(|octet| *octet == b'\n').unwrap();
    let line = std::str::from_utf8(&body[..end]).unwrap();
    assert!(line.contains(from), "{line}");
    [line.replacen(from, to, 1).as_bytes(), &body[end..]].concat()
}

#[test]
fn batches() {
    let _turn = turn();
    let zeros = || std::io::repeat(0).take(256 * MIB as u64);
    let right = encode_batch(&links(2, 30), Purpose::Entries, Encoding::Identity).unwrap().0;
    let small = gzip(&right[..]);
    let many_members: Vec<u8> = small.iter().copied().cycle().take(small.len() * 10_000).collect();
    let empty_members: Vec<u8> = gzip(&b""[..]).into_iter().cycle().take(200_000).collect();
    let (zeros_packed, twice) = (gzip(zeros()), gzip(&gzip(zeros())[..]));
    let behind = gzip(right.chain(zeros()));
    let overfull = gzip(&overfull()[..]);
    let deep_header = format!("{{\"v\":{}", "[".repeat(30_000)).into_bytes();
    let deeper = format!("{{\"v\":{}", "[".repeat(100_000)).into_bytes();
    let hashes = format!("\"hashes\":[{}],\"v\":1", vec![format!("\"{}\"", Hash::ZERO); 100_000].join(","));
    for (what, body, encoding, bound) in [
        ("256 MiB of zeros, packed", &zeros_packed, Encoding::Gzip, 256 * KIB),
        ("256 MiB of zeros, packed twice", &twice, Encoding::Gzip, 256 * KIB),
        ("256 MiB of zeros behind a right batch", &behind, Encoding::Gzip, 256 * KIB),
        ("10,000 gzip members", &many_members, Encoding::Gzip, 256 * KIB),
        ("10,000 empty gzip members", &empty_members, Encoding::Gzip, 256 * KIB),
        ("200 entries of 64 KiB", &overfull, Encoding::Gzip, 2 * MIB),
        ("a header 30,000 levels deep", &deep_header, Encoding::Identity, 256 * KIB),
        ("a header 100,000 levels deep", &deeper, Encoding::Identity, 256 * KIB),
        ("a header line of 6 MiB of hashes", &header("\"v\":1", &hashes), Encoding::Identity, 256 * KIB),
        (
            "4,294,967,295 entries counted",
            &header("\"count\":1", "\"count\":4294967295"),
            Encoding::Identity,
            256 * KIB,
        ),
        ("an entry of 4 GiB declared", &declared(u32::MAX), Encoding::Identity, 256 * KIB),
        ("an entry of 64 KiB declared and none there", &declared(65_536), Encoding::Identity, 256 * KIB),
    ] {
        let error = within(bound, what, || decode_batch(stream(), &body[..], encoding)).unwrap_err();
        let right = match what {
            "256 MiB of zeros, packed" | "a header 100,000 levels deep" | "a header line of 6 MiB of hashes" => {
                error == FrameError::HeaderTooLong
            }
            "256 MiB of zeros behind a right batch" | "10,000 gzip members" => error == FrameError::Trailing,
            "10,000 empty gzip members" | "an entry of 64 KiB declared and none there" => {
                error == FrameError::Cut { whole: 0 }
            }
            "200 entries of 64 KiB" => error == FrameError::TooLarge { entry: 16 },
            // Unpacked once, it is octets that happen to hold an end of line.
            "256 MiB of zeros, packed twice" => matches!(error, FrameError::Header { .. } | FrameError::HeaderTooLong),
            "a header 30,000 levels deep" => matches!(error, FrameError::Header { .. } | FrameError::Cut { .. }),
            "4,294,967,295 entries counted" => error == FrameError::Count { count: u32::MAX },
            _ => error == FrameError::EntryLength { entry: 1, bytes: 0xFFFF_FFFF },
        };
        assert!(right, "{what}: {error}");
    }
}

/// A right header before a frame that declares a length of its own.
fn declared(length: u32) -> Vec<u8> {
    let mut body = header("\"v\":1", "\"v\":1");
    let end = body.iter().position(|octet| *octet == b'\n').unwrap() + 1;
    body.truncate(end);
    body.extend(length.to_be_bytes());
    body
}

#[test]
fn entries() {
    let _turn = turn();
    let deep = "[".repeat(60_000);
    let error = within(64 * KIB, "an entry 60,000 levels deep", || Entry::decode(deep.as_bytes())).unwrap_err();
    assert_eq!(error, EntryError::TooDeep { at: MOST_LEVELS });
    let deeper = "[".repeat(100_000);
    let error = within(64 * KIB, "an entry 100,000 levels deep", || Entry::decode(deeper.as_bytes())).unwrap_err();
    assert_eq!(error, EntryError::TooLarge { bytes: 100_000 });
    let hello = format!("{{\"app\":{}", "[".repeat(100_000));
    let error = within(64 * KIB, "a hello 100,000 levels deep", || serde_json::from_str::<Hello>(&hello));
    assert!(error.is_err());
}

/// A phone reads what a station sends that lies.
#[test]
fn pages_of_a_lying_station() {
    let _turn = turn();
    let zeros = gzip(std::io::repeat(0).take(256 * MIB as u64));
    let right = encode_feed(cursor(), &links(2, 30), MoreBehind::No, Encoding::Identity).0;
    let behind = gzip(right.chain(std::io::repeat(0).take(256 * MIB as u64)));
    let lying = |from: &str, to: &str| String::from_utf8_lossy(&right).replacen(from, to, 1).into_bytes();
    let none = encode_feed(cursor(), &[], MoreBehind::No, Encoding::Identity).0;
    let promising = String::from_utf8(none).unwrap().replace("\"more\":false", "\"more\":true").into_bytes();
    let (fulls, taken) = encode_feed(cursor(), &links(1, MOST_ENTRY_BYTES), MoreBehind::No, Encoding::Identity);
    assert_eq!(taken, 1);
    let end = fulls.iter().position(|octet| *octet == b'\n').unwrap() + 1;
    let line = String::from_utf8(fulls[..end].to_vec()).unwrap().replace("\"count\":1", "\"count\":200");
    let overfull: Vec<u8> =
        std::iter::once(line.as_bytes()).chain(std::iter::repeat_n(&fulls[end..], 200)).collect::<Vec<_>>().concat();
    for (what, body, encoding, bound, wanted) in [
        ("a page of zeros", zeros, Encoding::Gzip, 256 * KIB, FrameError::HeaderTooLong),
        ("zeros behind a page", behind, Encoding::Gzip, 256 * KIB, FrameError::Trailing),
        ("200 items of 64 KiB", gzip(&overfull[..]), Encoding::Gzip, 4 * MIB, FrameError::TooLarge { entry: 16 }),
        (
            "a page that counts 4,000,000,000 items",
            lying("\"count\":2", "\"count\":4000000000"),
            Encoding::Identity,
            256 * KIB,
            FrameError::Count { count: 4_000_000_000 },
        ),
        (
            "a page that promises more and has nothing",
            promising,
            Encoding::Identity,
            256 * KIB,
            FrameError::Count { count: 0 },
        ),
    ] {
        let error = within(bound, what, || decode_feed(cursor(), &body[..], encoding)).unwrap_err();
        assert_eq!(error, wanted, "{what}");
    }
}

#[test]
fn files_to_hand_over() {
    let _turn = turn();
    let zeros = || std::io::repeat(0).take(256 * MIB as u64);
    let mut file = FileWriter::new(Vec::new());
    assert_eq!(file.write(&links(3, 30)).unwrap(), 3);
    let right = file.finish().unwrap();
    let mut unpacked = Vec::new();
    flate2::read::GzDecoder::new(&right[..]).read_to_end(&mut unpacked).unwrap();
    let end = unpacked.iter().position(|octet| *octet == b'\n').unwrap() + 1;
    let absurd = [&unpacked[..end], &[0xFF; 4], &unpacked[end + 4..]].concat();
    let endless = std::iter::repeat_n(&unpacked[..end - 1], 100_000).collect::<Vec<_>>().concat();
    for (what, file, kept, wanted) in [
        ("a file of zeros", gzip(zeros()), 0, FrameError::HeaderTooLong),
        ("zeros behind a right block", gzip(unpacked.chain(zeros())), 3, FrameError::HeaderTooLong),
        ("an absurd length", gzip(&absurd[..]), 0, FrameError::EntryLength { entry: 1, bytes: 0xFFFF_FFFF }),
        ("a header line without end", gzip(&endless[..]), 0, FrameError::HeaderTooLong),
        ("a file behind a file", [&right[..], &right].concat(), 3, FrameError::Trailing),
    ] {
        let (links, cut) = within(256 * KIB, what, || {
            let mut links = 0;
            for batch in FileReader::new(&file[..]) {
                match batch {
                    Ok(batch) => links += batch.links.len(),
                    Err(cut) => return (links, Some(cut.cause)),
                }
            }
            (links, None)
        });
        assert_eq!((links, cut), (kept, Some(wanted)), "{what}");
    }
}

#[test]
fn places_of_others() {
    let _turn = turn();
    let deep = format!("{{\"type\":\"Feature\",\"geometry\":{}", "[".repeat(100_000));
    let error = within(64 * KIB, "GeoJSON 100,000 levels deep", || read_sites(deep.as_bytes())).unwrap_err();
    assert!(matches!(error, FileError::TooDeep { .. }));
    let full = |item: &str, before: &str, after: &str| {
        let mut text = before.to_owned();
        while text.len() + item.len() + after.len() < MOST_BYTES {
            text.push_str(item);
        }
        text.pop();
        text + after
    };
    let features = full("[],", "{\"type\":\"FeatureCollection\",\"features\":[", "]}");
    let error = within(64 * KIB, "GeoJSON of 1,600,000 features", || read_sites(features.as_bytes())).unwrap_err();
    assert!(matches!(error, FileError::TooManyValues { .. }));
    let positions = full("[1.000001,2.000001],", "{\"type\":\"Polygon\",\"coordinates\":[[", "]]}");
    let read = within(96 * MIB, "GeoJSON of one outline of 5 MB", || read_sites(positions.as_bytes())).unwrap();
    assert_eq!((read.sites.len(), read.refused.len()), (0, 1));
    let points = full("<wpt lat='1' lon='1'/>\n", "<gpx>", "</gpx>");
    let error = within(8 * MIB, "GPX of 220,000 points", || read_gpx(points.as_bytes(), Lines::Refuse)).unwrap_err();
    assert!(matches!(
        error,
        FileError::TooManyPoints { .. } | FileError::TooManyFeatures { .. } | FileError::NotXml { .. }
    ));
    let deep = "<gpx>".repeat(100_000);
    let error = within(64 * KIB, "GPX 100,000 levels deep", || read_gpx(deep.as_bytes(), Lines::Refuse)).unwrap_err();
    assert!(matches!(error, FileError::TooDeep { .. }));
    let name = format!("<gpx><wpt lat='1' lon='1'><name>{}</name></wpt></gpx>", "x".repeat(4_900_000));
    let read = within(16 * MIB, "GPX with a name of 5 MB", || read_gpx(name.as_bytes(), Lines::Refuse)).unwrap();
    assert_eq!(read.refused.len(), 1);
}

#[test]
fn pictures() {
    let _turn = turn();
    let mut fill = vec![0xFF; MOST_OCTETS];
    fill[1] = 0xD8;
    let error = within(64 * KIB, "16 MiB of fill octets", || strip(&fill)).unwrap_err();
    assert!(matches!(error, NotUsable::Broken { .. }));
    let large = vec![0xFF; MOST_OCTETS + 1];
    let error = within(64 * KIB, "a picture over 16 MiB", || strip(&large)).unwrap_err();
    assert_eq!(error, NotUsable::TooLarge { octets: MOST_OCTETS + 1 });
    let small = include_bytes!("../../../rust-core/handset/tests/fixtures/small.jpg");
    let comment = [&[0xFF, 0xFE, 0xFF, 0xFF][..], &vec![b'x'; 65_533]].concat();
    let padded = [&small[..2], &comment.repeat(250), &small[2..]].concat();
    let kept = within(64 * KIB, "a small picture with 16 MB of comments", || strip(&padded)).unwrap();
    assert!(kept.len() < small.len());
}
