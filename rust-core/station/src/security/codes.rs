//! Join codes: eight letters without vowels and a check letter.
//!
//! The alphabet has 19 letters, a prime number: no vowels, so that no code spells a word; no `Q`, which is the
//! consonant most easily taken for an `O`; no `Y`. Letters stand for 0 to 18, and a code is good if
//! 1·a₁ + 2·a₂ + … + 9·a₉ is divisible by 19. As 19 is prime and the weights 1 to 9 differ and are not divisible by it, a
//! single wrong letter changes the sum by w·(a − b) ≠ 0 and a swap of any two letters by (v − w)·(a − b) ≠ 0: both are
//! always caught (the principle of weighted check sums over a prime, as in ISO/IEC 7064 and the ten-digit ISBN).

use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use std::fmt;
use std::str::FromStr;

/// The letters of a code, in the order of their values.
pub const LETTERS: &[u8; 19] = b"BCDFGHJKLMNPRSTVWXZ";

/// Letters that carry the code, without the check letter.
pub const DRAWN: usize = 8;

/// Letters of the public prefix, by which wrong tries are counted.
pub const PREFIX: usize = 3;

/// How long a code lives: 24 h, in milliseconds.
pub const LIFE_MS: i64 = 24 * 60 * 60 * 1000;

/// How many wrong tries against its prefix kill a code.
pub const MOST_TRIES: u32 = 10;

/// A join code. Never shown by `Debug`; [`Code::spelled`] gives the text for the person who hands it over.
#[derive(Clone, PartialEq, Eq)]
pub struct Code([u8; DRAWN + 1]);

/// The keyed digest of a code, which is all that is stored of it besides the prefix.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct CodeDigest(pub [u8; 32]);

/// The first letters of a code, which are not secret.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Prefix(pub [u8; PREFIX]);

/// Why a text is no code. Says nothing about which codes exist.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotACode {
    /// Not nine letters of the alphabet.
    #[error("a code is nine letters without vowels, Q and Y")]
    Letters,
    /// The check letter does not fit: a letter is wrong, or two are swapped.
    #[error("the code has a wrong letter or two letters swapped")]
    Check,
}

impl Code {
    /// The code drawn from random octets: of each octet below 247 = 13·19 the rest by 19 is a letter, others are
    /// passed over so that all letters are equally likely. `None` if too few octets are left, which 64 octets make
    /// less likely than 10⁻⁵⁰.
    pub fn draw(random: &[u8; 64]) -> Option<Self> {
        let mut values = [0_u8; DRAWN];
        let mut usable = random.iter().filter(|&&octet| octet < 247);
        for value in &mut values {
            *value = usable.next()? % 19;
        }
        let mut code = [0; DRAWN + 1];
        for (letter, value) in code.iter_mut().zip(values) {
            *letter = LETTERS[usize::from(value)];
        }
        code[DRAWN] = LETTERS[usize::from(check_value(values))];
        Some(Self(code))
    }

    /// The public prefix.
    pub const fn prefix(&self) -> Prefix {
        Prefix([self.0[0], self.0[1], self.0[2]])
    }

    /// The keyed digest: HMAC-SHA-256 of the nine letters (FIPS 198-1).
    pub fn digest(&self, key: &[u8; 32]) -> CodeDigest {
        let mut mac = Hmac::<Sha256>::new_from_slice(key).expect("HMAC takes keys of any length");
        mac.update(b"leafturn code 1\0");
        mac.update(&self.0);
        CodeDigest(mac.finalize().into_bytes().into())
    }

    /// The code as one writes it down: three groups of three letters.
    pub fn spelled(&self) -> String {
        let letters = std::str::from_utf8(&self.0).expect("letters are ASCII");
        format!("{}-{}-{}", &letters[..3], &letters[3..6], &letters[6..])
    }
}

impl FromStr for Code {
    type Err = NotACode;

    /// Reads a code in either case; spaces and hyphens are passed over.
    fn from_str(text: &str) -> Result<Self, NotACode> {
        let mut code = [0; DRAWN + 1];
        let mut sum = 0;
        let mut length = 0;
        for letter in text.bytes().filter(|octet| !matches!(octet, b' ' | b'-')).map(|octet| octet.to_ascii_uppercase())
        {
            let value = LETTERS.iter().position(|&known| known == letter).ok_or(NotACode::Letters)?;
            *code.get_mut(length).ok_or(NotACode::Letters)? = letter;
            length += 1;
            sum += length * value;
        }
        match (length, sum % 19) {
            (9, 0) => Ok(Self(code)),
            (9, _) => Err(NotACode::Check),
            _ => Err(NotACode::Letters),
        }
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Code(not shown)")
    }
}

impl fmt::Debug for CodeDigest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("CodeDigest(not shown)")
    }
}

/// The value c with 1·a₁ + … + 8·a₈ + 9·c divisible by 19; as 9·2 = 18 = −1, that is twice the sum of the rest.
fn check_value(values: [u8; DRAWN]) -> u8 {
    let sum: u32 = values.iter().zip(1..).map(|(&value, weight)| u32::from(value) * weight).sum();
    u8::try_from(sum * 2 % 19).expect("a rest by 19 fits")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_drawn_code_reads_back_and_every_slip_is_caught(random in prop::array::uniform32(any::<u8>())) {
            let mut octets = [7; 64];
            octets[..32].copy_from_slice(&random);
            let code = Code::draw(&octets).unwrap();
            let spelled = code.spelled();
            prop_assert_eq!(spelled.parse::<Code>(), Ok(code.clone()));
            prop_assert_eq!(spelled.to_lowercase().replace('-', " ").parse::<Code>(), Ok(code.clone()));
            for at in 0..9 {
                for &letter in LETTERS.iter().filter(|&&letter| letter != code.0[at]) {
                    let mut wrong = code.0;
                    wrong[at] = letter;
                    prop_assert_eq!(std::str::from_utf8(&wrong).unwrap().parse::<Code>(), Err(NotACode::Check));
                }
                if at < 8 && code.0[at] != code.0[at + 1] {
                    let mut swapped = code.0;
                    swapped.swap(at, at + 1);
                    prop_assert_eq!(std::str::from_utf8(&swapped).unwrap().parse::<Code>(), Err(NotACode::Check));
                }
            }
        }
    }

    #[test]
    fn what_is_no_code_is_named_without_showing_it() {
        for text in ["", "BCD", "BCDFGHJKLM", "BCD-FGH-JKA", "BCDFGHJ\0L"] {
            assert_eq!(text.parse::<Code>(), Err(NotACode::Letters), "{text:?}");
        }
        let code = Code::draw(&[3; 64]).unwrap();
        assert_eq!(format!("{code:?}"), "Code(not shown)");
    }

    #[test]
    fn the_digest_depends_on_the_key() {
        let code = Code::draw(&[3; 64]).unwrap();
        assert!(code.digest(&[1; 32]) == code.digest(&[1; 32]));
        assert!(code.digest(&[1; 32]) != code.digest(&[2; 32]));
    }
}
