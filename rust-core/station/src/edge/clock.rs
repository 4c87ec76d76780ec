//! The station's wall clock.

use survey::time::UnixMs;

/// The wall time. A clock before 1970 reads as 1970.
#[expect(clippy::disallowed_methods, reason = "the one place of the station that reads the wall clock")]
pub fn now() -> UnixMs {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
    UnixMs(i64::try_from(since.as_millis()).unwrap_or(i64::MAX))
}
