//! Content types and header names. An answer counts as the station's only with one of these types and the shape
//! that belongs to it: a captive portal says 200 and `text/html`.

/// Messages in JSON: hello, enrolment, verdicts, states.
pub const JSON: &str = "application/vnd.leafturn.v1+json";
/// A batch of entries, a placeholder, and files to hand over.
pub const ENTRIES: &str = "application/vnd.leafturn.entries.v1";
/// A page of a site's feed.
pub const FEED: &str = "application/vnd.leafturn.feed.v1";
/// The text of a note with its salt.
pub const TEXT: &str = "application/vnd.leafturn.text.v1";
/// A part of a photo.
pub const PART: &str = "application/octet-stream";
/// Problem details (RFC 9457 section 3).
pub const PROBLEM: &str = "application/problem+json";

/// The one content encoding that phones use.
pub const GZIP: &str = "gzip";

/// Header with the SHA-256 of a part of a photo, 64 hexadecimal digits.
pub const PART_HASH_HEADER: &str = "leafturn-sha256";
/// Header with the salt of the photo whose part it is, 32 hexadecimal digits. The station checks the whole with it.
pub const PHOTO_SALT_HEADER: &str = "leafturn-salt";
/// Header with the state of a photo: [`super::photo::PhotoState`] as one line of JSON. The answer to HEAD has no body.
pub const PHOTO_HEADER: &str = "leafturn-photo";
/// Header of the answers to hello and enrolment with the key of the station's next certificate, where it has announced
/// one: [`crate::trust::KeyHash`], 64 hexadecimal digits. Believed over a pinned connection alone
/// ([`crate::trust::Trust::seen`]).
pub const NEXT_KEY_HEADER: &str = "leafturn-next-key";

/// Whether a `Content-Type` field names this type, whatever its parameters and the case of its letters
/// (RFC 9110 section 8.3.1).
pub fn is(field: &str, content_type: &str) -> bool {
    field.split(';').next().unwrap_or_default().trim().eq_ignore_ascii_case(content_type)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parameters_and_case_do_not_matter() {
        assert!(is("Application/Problem+JSON; charset=utf-8", PROBLEM));
        assert!(!is("text/html", PROBLEM));
        assert!(!is("", PROBLEM));
        assert!(!is("application/problem+jsonx", PROBLEM));
    }
}
