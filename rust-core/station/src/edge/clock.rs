//! The station's clocks.

use super::random::{self, NoRandom};
use std::sync::OnceLock;
use survey::ids::BootId;
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};

/// The wall time. A clock before 1970 reads as 1970.
#[expect(clippy::disallowed_methods, reason = "the one place of the station that reads the wall clock")]
pub fn now() -> UnixMs {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
    UnixMs(i64::try_from(since.as_millis()).unwrap_or(i64::MAX))
}

/// The wall time in UTC, beside the time since this process first asked, which no setting of the clock moves.
///
/// # Errors
/// The operating system gives no randomness for the name of this start.
#[expect(clippy::disallowed_methods, reason = "the one place of the station that reads a clock that is never set")]
pub fn moment() -> Result<Now, NoRandom> {
    static STARTED: OnceLock<(BootId, std::time::Instant)> = OnceLock::new();
    let drawn = BootId::random(random::octets()?);
    let (boot, started) = *STARTED.get_or_init(|| (drawn, std::time::Instant::now()));
    let ms = u64::try_from(started.elapsed().as_millis()).unwrap_or(u64::MAX);
    Ok(Now { wall: now(), offset: OffsetMinutes(0), since_boot: SinceBoot { boot, ms } })
}
