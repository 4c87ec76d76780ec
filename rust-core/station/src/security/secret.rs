//! Secrets of 256 bits (tokens of phones, sessions, sign-in links) and the hashes that are stored of them.

use crate::edge::random::{self, NoRandom};
use hmac::{Hmac, KeyInit, Mac};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;
use subtle::ConstantTimeEq;

/// 256 secret bits; 64 lower-case hexadecimal digits in text. Never shown by `Debug`.
#[derive(Clone)]
pub struct Secret([u8; 32]);

/// SHA-256 of a secret's 32 octets: all that is stored of it. Compared in constant time.
#[derive(Clone, Copy)]
pub struct SecretHash(pub [u8; 32]);

/// The text is not a secret. Does not repeat it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("64 lower-case hexadecimal digits are due here")]
pub struct NotASecret;

impl Secret {
    /// A secret drawn from the operating system.
    ///
    /// # Errors
    /// Where it gives no randomness.
    pub fn draw() -> Result<Self, NoRandom> {
        random::octets().map(Self)
    }

    /// A secret given as octets.
    pub const fn from_octets(octets: [u8; 32]) -> Self {
        Self(octets)
    }

    /// What is stored of it.
    pub fn hash(&self) -> SecretHash {
        SecretHash(Sha256::digest(self.0).into())
    }

    /// The text that its holder keeps.
    pub fn reveal(&self) -> String {
        hex(&self.0)
    }
}

impl SecretHash {
    /// What is stored of a phone's token: SHA-256 of its octets as they stand in the `Authorization: Bearer` field.
    pub fn of_token(token: &str) -> Self {
        Self(Sha256::digest(token.as_bytes()).into())
    }

    /// The token that forms of this session carry: an HMAC of the session's hash under the station's key.
    pub fn form_token(&self, key: &[u8; 32]) -> String {
        let mut mac = Hmac::<Sha256>::new_from_slice(key).expect("HMAC takes keys of any length");
        mac.update(b"leafturn form 1\0");
        mac.update(&self.0);
        hex(&mac.finalize().into_bytes())
    }
}

/// Whether two texts are equal, in time that depends on their lengths alone.
pub fn same_text(one: &str, other: &str) -> bool {
    one.as_bytes().ct_eq(other.as_bytes()).into()
}

impl FromStr for Secret {
    type Err = NotASecret;

    fn from_str(text: &str) -> Result<Self, NotASecret> {
        text.parse::<survey::chain::Hash>().map(|octets| Self(octets.0)).map_err(|_| NotASecret)
    }
}

impl PartialEq for SecretHash {
    fn eq(&self, other: &Self) -> bool {
        self.0.ct_eq(&other.0).into()
    }
}

impl Eq for SecretHash {}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(not shown)")
    }
}

impl fmt::Debug for SecretHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("SecretHash(not shown)")
    }
}

fn hex(octets: &[u8]) -> String {
    use fmt::Write as _;
    octets.iter().fold(String::with_capacity(octets.len() * 2), |mut text, octet| {
        // Writing to a text cannot fail.
        let _ = write!(text, "{octet:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4: SHA-256 of 32 zero octets, computed with Python's hashlib.
    #[test]
    fn the_hash_is_plain_sha256_of_the_octets() {
        let hash = Secret::from_octets([0; 32]).hash();
        assert_eq!(hex(&hash.0), "66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925");
    }

    #[test]
    fn secrets_read_back_and_are_never_shown() {
        let secret = Secret::draw().unwrap();
        assert!(secret.reveal().parse::<Secret>().unwrap().hash() == secret.hash());
        assert!(Secret::draw().unwrap().hash() != secret.hash());
        assert_eq!(format!("{secret:?} {:?}", secret.hash()), "Secret(not shown) SecretHash(not shown)");
        assert_eq!("xyz".parse::<Secret>().unwrap_err(), NotASecret);
        assert!(secret.hash().form_token(&[1; 32]) != secret.hash().form_token(&[2; 32]));
        assert!(same_text("a", "a") && !same_text("a", "b") && !same_text("a", "aa"));
    }
}
