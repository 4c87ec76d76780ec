//! Identities. All are opaque: nothing reads a time or an order out of them.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// Random octets that the caller drew from a good source; sixteen are enough for any id.
pub type RandomOctets = [u8; 16];

/// The text is not a UUID.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not a UUID")]
pub struct NotAnId {
    /// What stood there, cut to 64 characters.
    pub text: String,
}

macro_rules! id_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(Uuid);

        impl $name {
            /// An id ordered by time (UUIDv7, RFC 9562 section 5.7): `unix_ms` is milliseconds
            /// since 1970-01-01 UTC, of which the lower 48 bits enter; the first ten octets of `random` fill the rest.
            pub fn timed(unix_ms: i64, random: RandomOctets) -> Self {
                Self(timed_uuid(unix_ms, random))
            }

            /// An id that carries no time (UUIDv4, RFC 9562 section 5.4).
            pub fn random(random: RandomOctets) -> Self {
                Self(uuid::Builder::from_random_bytes(random).into_uuid())
            }

            /// The id whose octets are these, whatever their version.
            pub const fn from_octets(octets: [u8; 16]) -> Self {
                Self(Uuid::from_bytes(octets))
            }

            /// The sixteen octets, as they enter hashes and frames.
            pub const fn octets(&self) -> [u8; 16] {
                self.0.into_bytes()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.as_hyphenated().fmt(f)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}({})", stringify!($name), self.0.as_hyphenated())
            }
        }

        impl FromStr for $name {
            type Err = NotAnId;

            fn from_str(text: &str) -> Result<Self, NotAnId> {
                Uuid::parse_str(text)
                    .map(Self)
                    .map_err(|_| NotAnId { text: text.chars().take(64).collect() })
            }
        }
    };
}

id_type! {
    /// A site: a patch of host plants that is visited.
    SiteId
}
id_type! {
    /// A visit: one survey of one site.
    VisitId
}
id_type! {
    /// A plant check: one stem or clump examined in a visit. Never its number.
    CheckId
}
id_type! {
    /// A tagged plant, an entity with checks over several visits.
    PlantId
}
id_type! {
    /// A single egg that is followed from day to day.
    EggId
}
id_type! {
    /// An entry of a journal.
    EntryId
}
id_type! {
    /// A photo.
    PhotoId
}
id_type! {
    /// An observer. Random: no name stands in a journal.
    ObserverId
}
id_type! {
    /// A version of a protocol.
    ProtocolId
}
id_type! {
    /// A phone, or the station where it writes a stream of its own.
    DeviceId
}
id_type! {
    /// The life of one database: made with it, never reused.
    Epoch
}
id_type! {
    /// The time since a device was last started, as an identity.
    BootId
}

fn timed_uuid(unix_ms: i64, random: RandomOctets) -> Uuid {
    let millis = u64::try_from(unix_ms).unwrap_or(0);
    let mut tail = [0_u8; 10];
    tail.copy_from_slice(&random[..10]);
    uuid::Builder::from_unix_timestamp_millis(millis, &tail).into_uuid()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9562, appendix A.6: the worked example of a version 7 UUID.
    #[test]
    fn timed_ids_are_the_published_uuidv7_example() {
        // rand_a is 0xCC3, rand_b is 0x18C4DC0C0C07398F behind the variant bits.
        let random = [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F, 0, 0, 0, 0, 0, 0];
        let id = EntryId::timed(0x017F_22E2_79B0, random);
        assert_eq!(id.to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
    }

    #[test]
    fn what_is_not_an_id_is_named() {
        let error = "kitchen table".parse::<SiteId>().unwrap_err();
        assert_eq!(error.to_string(), "\"kitchen table\" is not a UUID");
    }
}
