//! Times as people read them. Dates are written year first, which nobody reads two ways.

use messages::{Language, say};
use survey::fold::VisitState;
use survey::time::{OffsetMinutes, UnixMs};

/// A visit's local date, or that nobody knows.
pub fn day(language: Language, visit: &VisitState) -> String {
    visit.date().map_or_else(|| say(language, "visit.not-known", &[]), |date| date.to_string())
}

/// Local date and time with the offset, such as `2026-06-01 09:30 (UTC−5)`.
pub fn local(at: UnixMs, offset: OffsetMinutes) -> String {
    let shifted = at.0.saturating_add(i64::from(offset.0) * 60_000);
    let Some(time) = chrono::DateTime::from_timestamp_millis(shifted) else {
        return "–".into();
    };
    let (sign, minutes) = if offset.0 < 0 { ('−', offset.0.unsigned_abs()) } else { ('+', offset.0.unsigned_abs()) };
    let rest = if minutes % 60 == 0 { String::new() } else { format!(":{:02}", minutes % 60) };
    format!("{} (UTC{sign}{}{rest})", time.format("%Y-%m-%d %H:%M"), minutes / 60)
}

/// Date and time in UTC.
pub fn utc(at: UnixMs) -> String {
    chrono::DateTime::from_timestamp_millis(at.0)
        .map_or_else(|| "–".into(), |time| time.format("%Y-%m-%d %H:%M UTC").to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn local_times_carry_their_offset() {
        let at = UnixMs::from_rfc3339("2026-06-01T14:30:00Z").unwrap();
        assert_eq!(local(at, OffsetMinutes(-300)), "2026-06-01 09:30 (UTC−5)");
        assert_eq!(local(at, OffsetMinutes(345)), "2026-06-01 20:15 (UTC+5:45)");
        assert_eq!(utc(at), "2026-06-01 14:30 UTC");
        assert_eq!(utc(UnixMs(i64::MAX)), "–");
    }
}
