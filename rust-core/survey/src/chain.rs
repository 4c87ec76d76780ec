//! Streams and their hash chains: what makes a journal verifiable.

use crate::ids::{DeviceId, Epoch};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// The journal of one device since one database was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct StreamId {
    /// Whose journal.
    pub device: DeviceId,
    /// Since which database.
    pub epoch: Epoch,
}

/// The place of an entry in its stream, from 1 without gaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Seq(pub u64);

/// A SHA-256 hash; 64 lower-case hexadecimal digits in JSON.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash(pub [u8; 32]);

/// The position of a stream's end, or of any entry within it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// Sequence number, 0 before the first entry.
    pub seq: Seq,
    /// Hash of the entry there, [`Hash::ZERO`] before the first.
    pub hash: Hash,
}

/// An entry as it is stored, hashed and sent: its exact bytes in their envelope.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// The stream.
    pub stream: StreamId,
    /// The place in it.
    pub seq: Seq,
    /// Hash of the entry before.
    pub previous: Hash,
    /// This entry's own hash.
    pub hash: Hash,
    /// The exact bytes, never re-serialised.
    pub bytes: Vec<u8>,
}

/// Where a chain does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ChainError {
    /// An entry is missing, or stands twice.
    #[error("entry {expected} of the stream was expected, {found} stood there")]
    Gap {
        /// The sequence number that should have come.
        expected: u64,
        /// The one that came.
        found: u64,
    },
    /// The entry does not name the hash of the one before.
    #[error("entry {seq} does not continue the entry before it")]
    Broken {
        /// Where.
        seq: u64,
    },
    /// The bytes are not those that were hashed.
    #[error("the bytes of entry {seq} do not match its hash")]
    Altered {
        /// Where.
        seq: u64,
    },
}

/// Stands in front of everything hashed for an entry, so that no other hash of ours can be mistaken for it.
const ENTRY_TAG: &[u8] = b"leafturn entry 1\0";
/// The same for blobs of text and photos.
const BLOB_TAG: &[u8] = b"leafturn blob 1\0";
/// The same for a site's feed.
const FEED_TAG: &[u8] = b"leafturn feed 1\0";

impl Hash {
    /// The hash before the first entry of a stream.
    pub const ZERO: Self = Self([0; 32]);

    /// SHA-256 of these octets, with no tag.
    pub fn plain(octets: &[u8]) -> Self {
        Self(Sha256::digest(octets).into())
    }
}

impl Head {
    /// Before the first entry.
    pub const START: Self = Self { seq: Seq(0), hash: Hash::ZERO };

    /// The entry with these bytes, put behind this head of the stream.
    pub fn extend(self, stream: StreamId, bytes: Vec<u8>) -> Link {
        let seq = Seq(self.seq.0 + 1);
        let hash = entry_hash(stream, seq, self.hash, &bytes);
        Link { stream, seq, previous: self.hash, hash, bytes }
    }
}

impl Link {
    /// The head after this entry.
    pub const fn head(&self) -> Head {
        Head { seq: self.seq, hash: self.hash }
    }

    /// Checks that the bytes are those that were hashed.
    ///
    /// # Errors
    /// [`ChainError::Altered`].
    pub fn verify(&self) -> Result<(), ChainError> {
        if entry_hash(self.stream, self.seq, self.previous, &self.bytes) == self.hash {
            Ok(())
        } else {
            Err(ChainError::Altered { seq: self.seq.0 })
        }
    }

    /// Checks that this entry follows `head` and is unaltered.
    ///
    /// # Errors
    /// The first thing that does not hold.
    pub fn verify_after(&self, head: Head) -> Result<(), ChainError> {
        if self.seq.0 != head.seq.0 + 1 {
            return Err(ChainError::Gap { expected: head.seq.0 + 1, found: self.seq.0 });
        }
        if self.previous != head.hash {
            return Err(ChainError::Broken { seq: self.seq.0 });
        }
        self.verify()
    }
}

/// The hash of an entry: SHA-256 of tag, device, epoch, sequence number (8 octets, big endian),
/// hash of the entry before, length (8 octets, big endian) and bytes.
pub fn entry_hash(stream: StreamId, seq: Seq, previous: Hash, bytes: &[u8]) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update(ENTRY_TAG);
    hasher.update(stream.device.octets());
    hasher.update(stream.epoch.octets());
    hasher.update(seq.0.to_be_bytes());
    hasher.update(previous.0);
    hasher.update((bytes.len() as u64).to_be_bytes());
    hasher.update(bytes);
    Hash(hasher.finalize().into())
}

/// The hash that names a blob: SHA-256 of tag, the 16 octets of salt, and the blob.
/// The salt lies with the blob, so that erasing both leaves a hash which tells nothing.
pub fn blob_hash(salt: [u8; 16], blob: &[u8]) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update(BLOB_TAG);
    hasher.update(salt);
    hasher.update(blob);
    Hash(hasher.finalize().into())
}

/// The hash of item `number` of a site's feed, which carries the entry with hash `entry`.
pub fn feed_hash(site: crate::ids::SiteId, number: u64, previous: Hash, entry: Hash) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update(FEED_TAG);
    hasher.update(site.octets());
    hasher.update(number.to_be_bytes());
    hasher.update(previous.0);
    hasher.update(entry.0);
    Hash(hasher.finalize().into())
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|octet| write!(f, "{octet:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Hash({self})")
    }
}

impl fmt::Display for Seq {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The text is not 64 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a hash is 64 hexadecimal digits")]
pub struct NotAHash;

impl FromStr for Hash {
    type Err = NotAHash;

    fn from_str(text: &str) -> Result<Self, NotAHash> {
        let digits = text.as_bytes();
        let mut octets = [0; 32];
        if digits.len() != 64 {
            return Err(NotAHash);
        }
        for (octet, pair) in octets.iter_mut().zip(digits.chunks_exact(2)) {
            *octet = nibble(pair[0]).ok_or(NotAHash)? << 4 | nibble(pair[1]).ok_or(NotAHash)?;
        }
        Ok(Self(octets))
    }
}

impl Serialize for Hash {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Hash {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

fn nibble(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn stream() -> StreamId {
        StreamId { device: DeviceId::from_octets([1; 16]), epoch: Epoch::from_octets([2; 16]) }
    }

    /// FIPS 180-4 examples as published by NIST ("abc" and the 448-bit message).
    #[test]
    fn sha256_gives_the_published_digests() {
        for (message, digest) in [
            ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
        ] {
            assert_eq!(Hash::plain(message.as_bytes()).to_string(), digest);
        }
    }

    /// The layout of what is hashed can never change: this digest was computed with Python's hashlib
    /// over the same octets.
    #[test]
    fn the_hash_of_an_entry_is_fixed_for_ever() {
        let link = Head::START.extend(stream(), b"{}".to_vec());
        assert_eq!(link.hash.to_string(), include_str!("chain_vector.txt").trim());
    }

    proptest! {
        #[test]
        fn any_change_to_a_chain_is_seen(bodies in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..40), 2..12), pick in any::<prop::sample::Index>(), bit in 0_u8..8) {
            let mut head = Head::START;
            let mut links = Vec::new();
            for body in bodies {
                let link = head.extend(stream(), body);
                head = link.head();
                links.push(link);
            }
            let verify = |links: &[Link]| links.iter().try_fold(Head::START, |head, link| link.verify_after(head).map(|()| link.head()));
            prop_assert_eq!(verify(&links), Ok(head));

            let at = pick.index(links.len() - 1);
            let mut swapped = links.clone();
            swapped.swap(at, at + 1);
            prop_assert!(verify(&swapped).is_err());
            let mut altered = links.clone();
            match altered[at].bytes.first_mut() {
                Some(octet) => *octet ^= 1 << bit,
                None => altered[at].bytes.push(bit),
            }
            prop_assert!(verify(&altered).is_err());
            let mut dropped = links;
            dropped.remove(at);
            prop_assert!(verify(&dropped).is_err());
        }
    }
}
