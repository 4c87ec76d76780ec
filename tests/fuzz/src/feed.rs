//! Pages of a feed, as a phone reads them from a station that may lie.

use crate::batches::{encoding, named};
use crate::damage::{Damage, damaged, described};
use crate::story::{site, stream};
use arbitrary::Arbitrary;
use serde_json::json;
use survey::chain::{Hash, Head, Link, Seq, entry_hash, feed_hash};
use sync::framing::{
    Encoding, FeedPage, MOST_BATCH_BYTES, MOST_ENTRIES, MOST_ENTRY_BYTES, MoreBehind, decode_feed, encode_feed,
};
use sync::wire::hello::FeedCursor;

#[derive(Debug, Arbitrary)]
enum Input {
    /// A right page that comes to harm.
    Harmed { at: Cursor, items: Vec<Item>, more: bool, packed: bool, damages: Vec<Damage> },
    /// A page whose header says what it likes.
    Forged { at: Cursor, header: Header, items: Vec<Item>, packed: bool },
}

#[derive(Debug, Arbitrary)]
struct Cursor {
    number: u64,
    hash: u8,
}

#[derive(Debug, Arbitrary)]
struct Item {
    phone: u8,
    seq: u64,
    previous: u8,
    octets: Vec<u8>,
    long: u16,
}

#[derive(Debug, Arbitrary)]
struct Header {
    v: Option<u32>,
    other_site: bool,
    after: Option<u64>,
    after_hash: Option<u8>,
    count: Option<u32>,
    last: Option<u8>,
    more: bool,
}

/// Octets that begin like a header line or like gzip are read as a page, others as a description of one.
pub fn hold(octets: &[u8]) {
    if matches!(octets, [b'{', ..] | [0x1F, 0x8B, ..]) {
        read(FeedCursor::start(site(0)), octets, Encoding::sniff(octets));
        return;
    }
    match described::<Input>(octets) {
        Some(Input::Harmed { at, items, more, packed, damages }) => {
            harmed(at.before(), &links(&items), more, encoding(packed), &damages);
        }
        Some(Input::Forged { at, header, items, packed }) => {
            let body = forged(at.before(), &header, &links(&items));
            let body = if packed { crate::batches::gzip(&body) } else { body };
            read(at.before(), &body, encoding(packed));
        }
        None => {}
    }
}

fn harmed(before: FeedCursor, links: &[Link], more: bool, encoding: Encoding, damages: &[Damage]) {
    let more = if more && !links.is_empty() { MoreBehind::Yes } else { MoreBehind::No };
    let (body, count) = encode_feed(before, links, more, encoding);
    let page = read(before, &body, encoding).expect("what was written is read");
    assert_eq!(page.items.len(), count);
    assert!(page.items.iter().zip(links).all(|(item, link)| item.link == *link));
    assert_eq!(page.more, more == MoreBehind::Yes || count < links.len());
    if let Some(harmed) = read(before, &damaged(&body, damages), encoding) {
        assert!(harmed.items.is_empty() || harmed.items == page.items, "nothing altered passes for an entry");
    }
}

/// Reads a page; what comes out is sound.
fn read(before: FeedCursor, body: &[u8], encoding: Encoding) -> Option<FeedPage> {
    let page = match decode_feed(before, body, encoding) {
        Ok(page) => page,
        Err(error) => {
            named(&error);
            return None;
        }
    };
    assert_eq!(page.before, before);
    assert_eq!(page.after.site, before.site);
    assert_eq!(page.after.number, before.number + page.items.len() as u64);
    assert!(page.items.len() <= MOST_ENTRIES);
    assert!(!(page.more && page.items.is_empty()), "a page that promises more moves the cursor");
    let mut last = before;
    let mut octets = 0;
    for item in &page.items {
        let Link { stream, seq, previous, hash, ref bytes } = item.link;
        assert_eq!(hash, entry_hash(stream, seq, previous, bytes));
        assert!(seq.0 > 0 && (1..=MOST_ENTRY_BYTES).contains(&bytes.len()));
        octets += bytes.len();
        last.number += 1;
        last.feed_hash = feed_hash(before.site, last.number, last.feed_hash, hash);
        assert_eq!((item.number, item.feed_hash), (last.number, last.feed_hash));
    }
    assert!(octets <= MOST_BATCH_BYTES);
    assert_eq!(page.after, last);
    Some(page)
}

fn links(items: &[Item]) -> Vec<Link> {
    let link = |item: &Item| {
        let mut bytes = item.octets.clone();
        bytes.resize(bytes.len().max(1) + usize::from(item.long & 0x7FFF), b' ');
        let before = Head { seq: Seq(item.seq >> 1), hash: Hash([item.previous; 32]) };
        before.extend(stream(item.phone), bytes)
    };
    items.iter().take(MOST_ENTRIES + 20).map(link).filter(|link| link.bytes.len() <= MOST_ENTRY_BYTES).collect()
}

fn forged(before: FeedCursor, header: &Header, links: &[Link]) -> Vec<u8> {
    let last = (0..).zip(links).fold(before.feed_hash, |hash, (n, link)| {
        feed_hash(before.site, before.number.wrapping_add(1 + n), hash, link.hash)
    });
    let line = json!({
        "v": header.v.unwrap_or(sync::wire::VERSION),
        "site": site(u8::from(header.other_site)),
        "after": header.after.unwrap_or(before.number),
        "after_hash": header.after_hash.map_or(before.feed_hash, |octet| Hash([octet; 32])),
        "count": header.count.unwrap_or(u32::try_from(links.len()).unwrap_or(u32::MAX)),
        "feed_hash": header.last.map_or(last, |octet| Hash([octet; 32])),
        "more": header.more,
    });
    let mut body = line.to_string().into_bytes();
    body.push(b'\n');
    for link in links {
        let envelope = [
            &link.stream.device.octets()[..],
            &link.stream.epoch.octets(),
            &link.seq.0.to_be_bytes(),
            &link.previous.0,
            &link.bytes,
        ]
        .concat();
        body.extend(u32::try_from(envelope.len()).unwrap_or(u32::MAX).to_be_bytes());
        body.extend(envelope);
    }
    body
}

impl Cursor {
    /// Anywhere in a feed that can still go on by one page.
    fn before(&self) -> FeedCursor {
        let number = self.number.min(u64::MAX - 1_000);
        FeedCursor { site: site(0), number, feed_hash: Hash([self.hash; 32]) }
    }
}
