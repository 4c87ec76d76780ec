//! A page of a site's feed: entries of many streams in the order in which the station took them in.

use super::batch::{packed, write_frames};
use super::stream::{Unpacked, parse_header};
use super::{Encoding, FrameError, MOST_BATCH_BYTES, MOST_ENTRIES};
use crate::wire::VERSION;
use crate::wire::hello::FeedCursor;
use serde::{Deserialize, Serialize};
use std::io::Read;
use survey::chain::{Hash, Link, Seq, StreamId, entry_hash, feed_hash};
use survey::defect::{Defect, planted};
use survey::ids::{DeviceId, Epoch, SiteId};

/// Device, epoch, number and hash of the entry before stand in front of an entry's bytes.
const ENVELOPE: usize = 16 + 16 + 8 + 32;

/// The first line of a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct FeedPageHeader {
    /// The version of the page, [`VERSION`].
    pub v: u32,
    /// The site.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub site: SiteId,
    /// Number of the item before the first.
    pub after: u64,
    /// Its feed hash.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub after_hash: Hash,
    /// How many items, 0 to 200.
    pub count: u32,
    /// Feed hash of the last item; of the one before the first where there are none.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub feed_hash: Hash,
    /// Whether there are more behind them.
    pub more: bool,
}

/// An item of a feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedItem {
    /// Its number, from 1 without gaps.
    pub number: u64,
    /// Its feed hash.
    pub feed_hash: Hash,
    /// The entry.
    pub link: Link,
}

/// A page whose octets have been checked against the hashes of the feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedPage {
    /// The cursor before it.
    pub before: FeedCursor,
    /// The cursor behind it.
    pub after: FeedCursor,
    /// The items, in order.
    pub items: Vec<FeedItem>,
    /// Whether there are more behind them.
    pub more: bool,
}

/// A page behind `before`: as many of the links, from the first on, as the limits allow, packed.
/// Returns the body and how many links are in it; `more` says whether the feed goes on behind `links`.
pub fn encode_feed(before: FeedCursor, links: &[Link], more: MoreBehind, encoding: Encoding) -> (Vec<u8>, usize) {
    let fitting = fitting(links);
    let page = &links[..fitting];
    let last = (before.number + 1..)
        .zip(page)
        .fold(before.feed_hash, |hash, (number, link)| feed_hash(before.site, number, hash, link.hash));
    let header = FeedPageHeader {
        v: VERSION,
        site: before.site,
        after: before.number,
        after_hash: before.feed_hash,
        count: u32::try_from(fitting).unwrap_or(u32::MAX),
        feed_hash: last,
        more: more == MoreBehind::Yes || fitting < links.len(),
    };
    let frames: Vec<Vec<u8>> = page.iter().map(frame).collect();
    (packed(encoding, |out| write_frames(out, &header, frames.iter().map(Vec::as_slice))), fitting)
}

/// Whether a feed goes on behind the links at hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoreBehind {
    /// It does.
    Yes,
    /// It ends there.
    No,
}

/// Reads the page behind `before`, and refuses whatever stands behind it.
///
/// # Errors
/// The first thing that does not hold; nothing of the page is then to be stored.
pub fn decode_feed(before: FeedCursor, body: impl Read, encoding: Encoding) -> Result<FeedPage, FrameError> {
    let mut octets = Unpacked::new(body, encoding);
    let mut block = octets.block();
    let header: FeedPageHeader = parse_header(&block.header()?)?;
    let before = if planted(Defect::FeedCursorUnchecked) {
        FeedCursor { number: header.after, feed_hash: header.after_hash, ..before }
    } else {
        before
    };
    check(before, &header)?;
    let (mut items, mut last) = (Vec::new(), before.feed_hash);
    for number in before.number + 1..=before.number + u64::from(header.count) {
        let link = link(&block.frame(ENVELOPE)?).ok_or(FrameError::Numbers { first: 0 })?;
        last = feed_hash(before.site, number, last, link.hash);
        items.push(FeedItem { number, feed_hash: last, link });
    }
    if last != header.feed_hash {
        return Err(FrameError::HashMismatch { entry: items.len(), found: last, announced: header.feed_hash });
    }
    if !octets.at_end()? {
        return Err(FrameError::Trailing);
    }
    let after = FeedCursor { number: before.number + u64::from(header.count), feed_hash: last, ..before };
    Ok(FeedPage { before, after, items, more: header.more })
}

fn check(before: FeedCursor, header: &FeedPageHeader) -> Result<(), FrameError> {
    if header.v != VERSION {
        return Err(FrameError::Version { found: header.v });
    }
    if header.site != before.site {
        return Err(FrameError::Misplaced { what: "another site" });
    }
    if header.after != before.number || header.after_hash != before.feed_hash {
        return Err(FrameError::Misplaced { what: "another cursor" });
    }
    if usize::try_from(header.count).unwrap_or(usize::MAX) > MOST_ENTRIES || (header.count == 0 && header.more) {
        return Err(FrameError::Count { count: header.count });
    }
    if before.number.checked_add(u64::from(header.count)).is_none() {
        return Err(FrameError::Numbers { first: before.number });
    }
    Ok(())
}

fn fitting(links: &[Link]) -> usize {
    /// Room for the header line.
    const HEADER_ROOM: usize = 1024;
    links
        .iter()
        .take(MOST_ENTRIES)
        .scan(HEADER_ROOM, |octets, link| {
            *octets += 4 + ENVELOPE + link.bytes.len();
            (*octets <= MOST_BATCH_BYTES).then_some(())
        })
        .count()
}

fn frame(link: &Link) -> Vec<u8> {
    [
        &link.stream.device.octets()[..],
        &link.stream.epoch.octets(),
        &link.seq.0.to_be_bytes(),
        &link.previous.0,
        &link.bytes,
    ]
    .concat()
}

fn link(frame: &[u8]) -> Option<Link> {
    let (device, rest) = frame.split_first_chunk::<16>()?;
    let (epoch, rest) = rest.split_first_chunk::<16>()?;
    let (seq, rest) = rest.split_first_chunk::<8>()?;
    let (previous, bytes) = rest.split_first_chunk::<32>()?;
    let stream = StreamId { device: DeviceId::from_octets(*device), epoch: Epoch::from_octets(*epoch) };
    let (seq, previous) = (Seq(u64::from_be_bytes(*seq)), Hash(*previous));
    if seq == Seq(0) {
        return None;
    }
    Some(Link { stream, seq, previous, hash: entry_hash(stream, seq, previous, bytes), bytes: bytes.to_vec() })
}
