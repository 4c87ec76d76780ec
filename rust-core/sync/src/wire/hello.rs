//! Hello: what both sides hold, compared before anything is sent.

use super::push::HoleReason;
use serde::{Deserialize, Serialize};
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{DeviceId, Epoch, SiteId};
use survey::time::UnixMs;

/// The most streams, marks of one stream, and cursors in one hello.
pub const MOST_STREAMS: usize = 256;
/// The most texts that one answer asks for.
pub const MOST_WANTED: usize = 200;
/// The most placeholders of one stream that one answer names.
pub const MOST_HOLES: usize = 200;
/// The most marks of one stream: enough for 2^60 entries.
pub const MOST_MARKS: usize = 64;

/// What the phone holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Hello {
    /// Version of the app, for the coordinator to see.
    pub app: String,
    /// Every stream of which the phone has entries.
    pub streams: Vec<StreamEnd>,
    /// How far each site's feed has been pulled.
    pub cursors: Vec<FeedCursor>,
}

/// The end of a stream on the phone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct StreamEnd {
    /// Whose journal.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub device: DeviceId,
    /// Since which database.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub epoch: Epoch,
    /// The last entry.
    #[cfg_attr(feature = "openapi", schema(value_type = u64))]
    pub seq: Seq,
    /// Its hash.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub hash: Hash,
    /// Earlier entries, latest first, at distances that double: by them the station finds the last entry
    /// that both hold, also where the stream forked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<super::HeadSchema>))]
    pub marks: Vec<Head>,
}

/// How far a feed has been pulled, or reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct FeedCursor {
    /// The site.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub site: SiteId,
    /// Number of the last item, 0 before the first.
    pub number: u64,
    /// Feed hash of that item, [`Hash::ZERO`] before the first.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub feed_hash: Hash,
}

/// What the station holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct HelloAnswer {
    /// The station's clock.
    #[cfg_attr(feature = "openapi", schema(value_type = i64))]
    pub station_ms: UnixMs,
    /// One for each stream asked for, in any order.
    pub streams: Vec<StreamHeld>,
    /// The sites that this phone is a member of, and the end of each one's feed.
    pub sites: Vec<FeedCursor>,
    /// Texts that accepted entries of this phone name and the station lacks, erased ones left out; at most
    /// [`MOST_WANTED`]. A station that was restored from a back-up may have an entry and not its text.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<String>))]
    pub wanted: Vec<Hash>,
    /// The device of the station's own stream. What it erases is erased on phones too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(value_type = Option<String>))]
    pub station: Option<DeviceId>,
}

/// What the station holds of a stream.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct StreamHeld {
    /// Whose journal.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub device: DeviceId,
    /// Since which database.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub epoch: Epoch,
    /// The last entry held without a gap on the branch of `common`; of several such branches the longest, 0 for none.
    #[cfg_attr(feature = "openapi", schema(value_type = u64))]
    pub seq: Seq,
    /// Its hash.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub hash: Hash,
    /// The latest of the phone's end and marks that the station holds; the start if none.
    #[cfg_attr(feature = "openapi", schema(value_type = super::HeadSchema))]
    pub common: Head,
    /// Ends of other branches, where the stream forked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<super::HeadSchema>))]
    pub branches: Vec<Head>,
    /// Number of the last verdict on this stream, 0 for none.
    #[serde(default)]
    pub verdicts: u64,
    /// Places of which the station has a placeholder only, the first [`MOST_HOLES`]. A phone that did not hear the
    /// answer to a placeholder, or was restored since, would otherwise take the entry for sent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<HoleHeld>,
}

/// A placeholder that the station holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct HoleHeld {
    /// Its place.
    #[cfg_attr(feature = "openapi", schema(value_type = u64))]
    pub seq: Seq,
    /// Hash of the entry that belongs there.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub hash: Hash,
    /// Why the entry did not come.
    pub reason: HoleReason,
}

impl StreamEnd {
    /// The stream.
    pub const fn stream(&self) -> StreamId {
        StreamId { device: self.device, epoch: self.epoch }
    }

    /// Its end.
    pub const fn head(&self) -> Head {
        Head { seq: self.seq, hash: self.hash }
    }
}

impl StreamHeld {
    /// The stream.
    pub const fn stream(&self) -> StreamId {
        StreamId { device: self.device, epoch: self.epoch }
    }

    /// What is held of it.
    pub const fn head(&self) -> Head {
        Head { seq: self.seq, hash: self.hash }
    }
}

impl FeedCursor {
    /// Before the first item.
    pub const fn start(site: SiteId) -> Self {
        Self { site, number: 0, feed_hash: Hash::ZERO }
    }
}

/// The sequence numbers to mark below `last`: distances 1, 2, 4, 8 ... from it, latest first, down to 1.
pub fn mark_seqs(last: Seq) -> impl Iterator<Item = Seq> {
    (0..64).map_while(move |power| last.0.checked_sub(1_u64 << power).filter(|seq| *seq > 0).map(Seq))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::samples::{head, site, stream};

    #[test]
    fn hello_as_it_is_sent() {
        let (StreamId { device, epoch }, Head { seq, hash }) = (stream(), head(5));
        let cursor = FeedCursor { site: site(), number: 9, feed_hash: head(9).hash };
        let marks = mark_seqs(seq).map(|seq| head(seq.0)).collect();
        insta::assert_json_snapshot!(Hello {
            app: "0.1.0".into(),
            streams: vec![StreamEnd { device, epoch, seq, hash, marks }],
            cursors: vec![cursor],
        });
        insta::assert_json_snapshot!(HelloAnswer {
            station_ms: UnixMs(1_700_000_000_000),
            streams: vec![StreamHeld {
                device,
                epoch,
                seq,
                hash,
                common: head(4),
                branches: vec![head(7)],
                verdicts: 2,
                holes: Vec::new(),
            }],
            sites: vec![cursor],
            wanted: vec![head(3).hash],
            station: Some(device),
        });
    }

    #[test]
    fn marks_double_their_distance_and_stop_at_the_first_entry() {
        let marks = |last| mark_seqs(Seq(last)).map(|seq| seq.0).collect::<Vec<_>>();
        assert!(marks(0).is_empty());
        assert!(marks(1).is_empty());
        assert_eq!(marks(10), [9, 8, 6, 2]);
        assert!(marks(u64::MAX).len() <= MOST_MARKS);
    }
}
