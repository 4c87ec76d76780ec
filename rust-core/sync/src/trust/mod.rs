//! Whom a phone believes to be its station.
//!
//! A publicly trusted certificate is always good. A private one, such as a station at somebody's home has, is good only
//! for the key that a scanned invitation named (the pin), for that station alone; and for the one next key that the
//! station announced over such a connection, so that a certificate can be renewed without inviting everybody again.
//!
//! The rule stands in place of the check of names, dates and issuers, and of nothing else: that the peer holds the
//! private key is proved by the handshake's signature, which the shell's TLS always verifies. What is pinned is the
//! SHA-256 of the certificate's `SubjectPublicKeyInfo` in DER, as in RFC 7469 section 2.4.

mod certificate;
mod invitation;

pub use certificate::spki_of;
pub use invitation::{NotAnInvitation, Scanned, origin};

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use survey::chain::{Hash, NotAHash};

/// SHA-256 of a public key as it stands in a certificate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct KeyHash(Hash);

/// The keys that a phone believes of one station with a private certificate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pins {
    /// The key in use.
    pub pin: KeyHash,
    /// The key that comes after it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<KeyHash>,
}

/// What a shell needs to judge a certificate: goes out with every job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trust {
    /// The station for which the pins hold: scheme, name and port.
    pub address: String,
    /// Its keys.
    pub pins: Pins,
}

/// What the system's own check of the certificate said: issuer, name and dates together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chain {
    /// Good for this name.
    Public,
    /// Not good, for whatever reason.
    Private,
}

/// Whether to go on with a connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judgement {
    /// Go on.
    Accept(By),
    /// Break it off, send nothing, and say so.
    Refuse(Refusal),
}

/// Why a certificate is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The system trusts it.
    Chain,
    /// Its key is the pin.
    Pin,
    /// Its key is the announced next one: [`Trust::seen`] makes it the pin.
    NextPin,
}

/// Why a certificate is not good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// A private certificate, and no invitation of this station was scanned.
    NotPinned,
    /// A private certificate with another key than the invitation said. Somebody may be between, or the station was set
    /// up anew.
    OtherKey,
}

impl KeyHash {
    /// Of a `SubjectPublicKeyInfo` in DER.
    pub fn of_spki(spki: &[u8]) -> Self {
        Self(Hash::plain(spki))
    }

    /// Of a certificate in DER; `None` for what is no certificate.
    pub fn of_certificate(certificate: &[u8]) -> Option<Self> {
        spki_of(certificate).map(Self::of_spki)
    }

    /// The hash.
    pub const fn hash(self) -> Hash {
        self.0
    }
}

impl fmt::Display for KeyHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for KeyHash {
    type Err = NotAHash;

    /// Reads 64 hexadecimal digits in either case.
    fn from_str(text: &str) -> Result<Self, NotAHash> {
        text.to_ascii_lowercase().parse().map(Self)
    }
}

impl Refusal {
    /// The message that tells a person what to do.
    pub const fn message(self) -> &'static str {
        match self {
            Self::NotPinned => "trust.not-pinned",
            Self::OtherKey => "trust.other-key",
        }
    }
}

/// Judges a certificate that whoever answers at `address` presented. `trust` is what the handset keeps, if anything.
///
/// A public chain is good; else the key must be the pin or the next key of this very station.
pub fn judge(trust: Option<&Trust>, address: &str, chain: Chain, key: KeyHash) -> Judgement {
    if chain == Chain::Public {
        return Judgement::Accept(By::Chain);
    }
    let Some(trust) = trust.filter(|trust| trust.holds_for(address)) else {
        return Judgement::Refuse(Refusal::NotPinned);
    };
    if key == trust.pins.pin {
        Judgement::Accept(By::Pin)
    } else if Some(key) == trust.pins.next {
        Judgement::Accept(By::NextPin)
    } else {
        Judgement::Refuse(Refusal::OtherKey)
    }
}

impl Trust {
    /// Whether the pins are those of the station at this address.
    pub fn holds_for(&self, address: &str) -> bool {
        origin(address).is_some_and(|origin| origin == self.address)
    }

    /// The pins after an accepted connection to this station that presented `key` and announced `next`; `None` where
    /// nothing changes. A connection that was accepted for its public chain with a key of its own teaches nothing:
    /// whoever gets a certificate issued for the station's name could otherwise choose the next pin.
    pub fn seen(&self, key: KeyHash, next: Option<KeyHash>) -> Option<Pins> {
        let current = if key == self.pins.pin {
            self.pins
        } else if Some(key) == self.pins.next {
            Pins { pin: key, next: None }
        } else {
            return None;
        };
        let announced = next.filter(|next| *next != current.pin).or(current.next);
        let after = Pins { next: announced, ..current };
        (after != self.pins).then_some(after)
    }
}

#[cfg(test)]
mod tests;
