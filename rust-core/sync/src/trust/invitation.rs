//! What a scanned invitation says: where the station is, the code, and its keys.
//!
//! ```text
//! leafturn:join?v=1&address=https://192.0.2.7:8787&code=BCD-FGH-JKL&key=6E34...&next=9A02...
//! ```
//!
//! Digits of keys are written in capitals, which a QR code holds in fewer modules (ISO/IEC 18004, alphanumeric mode).
//! Fields that this version does not know are passed over.

use super::{KeyHash, Pins};
use std::fmt;
use std::str::FromStr;

/// A text is at most so long.
const MOST_BYTES: usize = 1024;

const START: &str = "leafturn:join?";

/// A scanned invitation. Not shown by `Debug`, for the code is a secret.
#[derive(Clone, PartialEq, Eq)]
pub struct Scanned {
    /// Scheme, name and port of the station.
    pub address: String,
    /// The code, as the coordinator would spell it.
    pub code: String,
    /// The station's keys, where it serves TLS itself.
    pub pins: Option<Pins>,
}

/// Why a text is no invitation. Repeats nothing of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotAnInvitation {
    /// Something else was scanned.
    #[error("this is not an invitation to a station")]
    Other,
    /// Of a later version.
    #[error("this invitation was made by a later version")]
    Newer,
    /// The address is none, or one that would send the code and the token in the clear.
    #[error("the address in the invitation is not https://NAME or https://NAME:PORT")]
    Address,
    /// A key is not 64 hexadecimal digits.
    #[error("a key in the invitation is not 64 hexadecimal digits")]
    Key,
    /// A field stands twice.
    #[error("a field of the invitation stands twice")]
    Twice,
}

impl Scanned {
    /// The text to be put into a QR code.
    pub fn text(&self) -> String {
        let capitals = |key: KeyHash| key.to_string().to_ascii_uppercase();
        let key = self.pins.map(|pins| format!("&key={}", capitals(pins.pin))).unwrap_or_default();
        let next = self.pins.and_then(|pins| pins.next).map(|next| format!("&next={}", capitals(next)));
        format!("{START}v=1&address={}&code={}{key}{}", self.address, self.code, next.unwrap_or_default())
    }
}

impl FromStr for Scanned {
    type Err = NotAnInvitation;

    fn from_str(text: &str) -> Result<Self, NotAnInvitation> {
        let text = text.trim();
        let fields = text.strip_prefix(START).filter(|_| text.len() <= MOST_BYTES).ok_or(NotAnInvitation::Other)?;
        let fields = Fields(fields);
        match fields.one("v")? {
            Some("1") => {}
            Some(_) => return Err(NotAnInvitation::Newer),
            None => return Err(NotAnInvitation::Other),
        }
        let key = |name| match fields.one(name)? {
            Some(text) => text.parse::<KeyHash>().map(Some).map_err(|_| NotAnInvitation::Key),
            None => Ok(None),
        };
        let (pin, next) = (key("key")?, key("next")?);
        let address = fields.one("address")?.and_then(origin).ok_or(NotAnInvitation::Address)?;
        let code = fields.one("code")?.filter(|code| is_code(code)).ok_or(NotAnInvitation::Other)?;
        Ok(Self { address, code: code.to_owned(), pins: pin.map(|pin| Pins { pin, next }) })
    }
}

impl fmt::Debug for Scanned {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Scanned").field("address", &self.address).field("pins", &self.pins).finish_non_exhaustive()
    }
}

/// Scheme, name and port of an address in lower case, without the port that goes without saying; `None` for what carries
/// more than these, and for an address without TLS that leaves this machine.
pub fn origin(address: &str) -> Option<String> {
    let address = address.to_ascii_lowercase();
    let (scheme, rest) = address.split_once("://")?;
    let authority = rest.strip_suffix('/').unwrap_or(rest);
    let (name, port) = match authority.strip_prefix('[') {
        Some(six) => six.split_once(']').map(|(six, after)| (&authority[..six.len() + 2], after))?,
        None => authority.split_at(authority.find(':').unwrap_or(authority.len())),
    };
    let port = match port.strip_prefix(':') {
        Some(digits) => {
            Some(digits.parse::<u16>().ok().filter(|_| digits.bytes().all(|digit| digit.is_ascii_digit()))?)
        }
        None if port.is_empty() => None,
        None => return None,
    };
    let default = match scheme {
        "https" => 443,
        "http" if matches!(name, "127.0.0.1" | "localhost" | "[::1]") => 80,
        _ => return None,
    };
    let port = port.filter(|port| *port != default).map(|port| format!(":{port}")).unwrap_or_default();
    is_name(name).then(|| format!("{scheme}://{name}{port}"))
}

fn is_name(name: &str) -> bool {
    match name.strip_prefix('[').and_then(|six| six.strip_suffix(']')) {
        Some(six) => six.parse::<core::net::Ipv6Addr>().is_ok(),
        None => {
            (1..=253).contains(&name.len())
                && name.bytes().all(|octet| octet.is_ascii_alphanumeric() || matches!(octet, b'.' | b'-'))
        }
    }
}

fn is_code(code: &str) -> bool {
    (1..=32).contains(&code.len()) && code.bytes().all(|octet| octet.is_ascii_alphabetic() || octet == b'-')
}

struct Fields<'a>(&'a str);

impl<'a> Fields<'a> {
    fn one(&self, name: &str) -> Result<Option<&'a str>, NotAnInvitation> {
        let mut found = self.0.split('&').filter_map(|field| field.split_once('=')).filter(|(own, _)| *own == name);
        let first = found.next().map(|(_, value)| value);
        if found.next().is_some() { Err(NotAnInvitation::Twice) } else { Ok(first) }
    }
}
