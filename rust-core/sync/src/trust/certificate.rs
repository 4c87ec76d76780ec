//! The one thing that pinning needs of a certificate. The phone's library carries no parser of certificates for it: this
//! walks past six fields of DER (ITU-T X.690) in the order of RFC 5280 section 4.1 and interprets none of them.

/// The `SubjectPublicKeyInfo` of a certificate in DER, as it stands there with its tag and length; `None` for what is no
/// certificate. Whether the certificate is any good is not said.
pub fn spki_of(certificate: &[u8]) -> Option<&[u8]> {
    let whole = element(certificate, SEQUENCE)?;
    if !whole.rest.is_empty() {
        return None;
    }
    let to_be_signed = element(whole.content, SEQUENCE)?.content;
    // The version stands only in certificates of version 2 and 3.
    let after_version = element(to_be_signed, VERSION).map_or(to_be_signed, |version| version.rest);
    let after_serial = element(after_version, INTEGER)?.rest;
    // Signature algorithm, issuer, validity, subject.
    let before_key = (0..4).try_fold(after_serial, |rest, _| element(rest, SEQUENCE).map(|field| field.rest))?;
    element(before_key, SEQUENCE).map(|key| key.all)
}

const SEQUENCE: u8 = 0x30;
const INTEGER: u8 = 0x02;
/// Context-specific, constructed, number 0.
const VERSION: u8 = 0xA0;

struct Element<'a> {
    all: &'a [u8],
    content: &'a [u8],
    rest: &'a [u8],
}

/// The element at the beginning, if it has this tag and a definite length in its shortest form.
fn element(octets: &[u8], tag: u8) -> Option<Element<'_>> {
    let (&found, after_tag) = octets.split_first()?;
    let (&first, after_first) = after_tag.split_first()?;
    if found != tag {
        return None;
    }
    let (length, header) = match first {
        0..=0x7F => (usize::from(first), 2),
        // No certificate is longer than three octets of length can say.
        0x81..=0x83 => {
            let digits = after_first.get(..usize::from(first & 0x0F))?;
            let length = digits.iter().fold(0_usize, |length, &digit| length << 8 | usize::from(digit));
            let shortest = digits[0] != 0 && length >= 0x80;
            (shortest.then_some(length)?, 2 + digits.len())
        }
        _ => return None,
    };
    let end = header.checked_add(length)?;
    Some(Element { all: octets.get(..end)?, content: octets.get(header..end)?, rest: octets.get(end..)? })
}
