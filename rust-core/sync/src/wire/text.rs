//! The text of a note. It is a blob of its own so that it can be erased: 16 octets of salt, then UTF-8.

use serde::{Deserialize, Serialize};
use survey::chain::{Hash, blob_hash};

/// Length of the salt.
pub const SALT_BYTES: usize = 16;
/// The most octets of a text with its salt: 64 KiB.
pub const MOST_BYTES: usize = 64 * 1024;

/// The text is stored.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct TextStored {
    /// The hash that names it.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub hash: Hash,
}

/// Why a body is not the text that was named.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TextError {
    /// Shorter than its salt.
    #[error("a text of {bytes} bytes has no room for its salt of {SALT_BYTES}")]
    NoSalt {
        /// How many there were.
        bytes: usize,
    },
    /// Longer than [`MOST_BYTES`].
    #[error("a text of {bytes} bytes is too large, {MOST_BYTES} are the most")]
    TooLarge {
        /// How many there were.
        bytes: usize,
    },
    /// Not UTF-8.
    #[error("the text is not UTF-8 from byte {at} on")]
    NotUtf8 {
        /// Where, counted behind the salt.
        at: usize,
    },
    /// Salt and text do not give the hash that named them.
    #[error("the text does not match the hash that names it")]
    OtherHash,
}

/// The body of a text.
pub fn encode(salt: [u8; SALT_BYTES], text: &str) -> Vec<u8> {
    [&salt, text.as_bytes()].concat()
}

/// Reads the body of the text that `hash` names.
///
/// # Errors
/// Anything that is not that text.
pub fn decode(hash: Hash, body: &[u8]) -> Result<([u8; SALT_BYTES], &str), TextError> {
    if body.len() > MOST_BYTES {
        return Err(TextError::TooLarge { bytes: body.len() });
    }
    let (salt, text) = body.split_first_chunk::<SALT_BYTES>().ok_or(TextError::NoSalt { bytes: body.len() })?;
    if blob_hash(*salt, text) != hash {
        return Err(TextError::OtherHash);
    }
    let text = std::str::from_utf8(text).map_err(|error| TextError::NotUtf8 { at: error.valid_up_to() })?;
    Ok((*salt, text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_answer_as_it_is_sent() {
        insta::assert_json_snapshot!(TextStored { hash: Hash([7; 32]) });
    }

    #[test]
    fn only_the_named_text_is_taken() {
        let salt = [9; SALT_BYTES];
        let hash = blob_hash(salt, "gate locked".as_bytes());
        let mut body = encode(salt, "gate locked");
        assert_eq!(decode(hash, &body), Ok((salt, "gate locked")));
        assert_eq!(decode(hash, &body[..15]), Err(TextError::NoSalt { bytes: 15 }));
        assert_eq!(decode(hash, &vec![0; MOST_BYTES + 1]), Err(TextError::TooLarge { bytes: MOST_BYTES + 1 }));
        body[3] ^= 1;
        assert_eq!(decode(hash, &body), Err(TextError::OtherHash));
        let odd = [&salt[..], b"ab\xFF"].concat();
        assert_eq!(decode(blob_hash(salt, b"ab\xFF"), &odd), Err(TextError::NotUtf8 { at: 2 }));
    }
}
