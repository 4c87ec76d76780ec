//! Times: wall time, offset, time since boot, and the hybrid clock that orders entries of several devices.

use crate::ids::BootId;
use serde::{Deserialize, Serialize};

/// Milliseconds since 1970-01-01 00:00 UTC by a device's own wall clock, which may be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct UnixMs(pub i64);

/// Minutes that local time is ahead of UTC, −1080 to 1080.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct OffsetMinutes(pub i16);

/// Milliseconds since a device was started, sleep included, and which start that was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct SinceBoot {
    /// Which start.
    pub boot: BootId,
    /// Milliseconds since it.
    pub ms: u64,
}

/// What a device knows of the time at one instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// Wall time.
    pub wall: UnixMs,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// Time since boot.
    pub since_boot: SinceBoot,
}

/// A hybrid time: physical milliseconds, then a counter for acts of the same millisecond.
/// Grows with every entry a device makes or receives, so later acts sort later even beside a wrong clock
/// (Kulkarni et al. 2014, "Logical physical clocks", OPODIS).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct HybridTime(pub i64, pub u32);

/// How far ahead of one's own wall clock a received hybrid time may be and still be merged: 24 hours.
pub const MERGE_LIMIT_MS: i64 = 24 * 60 * 60 * 1000;

/// The hybrid clock of one device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HybridClock {
    last: HybridTime,
}

/// Whether a received time entered the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Merged {
    /// It did, or was already behind.
    Yes,
    /// It lies more than [`MERGE_LIMIT_MS`] ahead: kept for display, not merged.
    TooFarAhead,
}

impl HybridClock {
    /// A clock that continues after `last`, the highest hybrid time of the device's own journal.
    pub fn after(last: Option<HybridTime>) -> Self {
        Self { last: last.unwrap_or(HybridTime(0, 0)) }
    }

    /// The hybrid time of the next own entry, larger than every one before.
    pub fn tick(&mut self, wall: UnixMs) -> HybridTime {
        let HybridTime(ms, counter) = self.last;
        self.last = if wall.0 > ms {
            HybridTime(wall.0, 0)
        } else {
            match counter.checked_add(1) {
                Some(next) => HybridTime(ms, next),
                None => HybridTime(ms.saturating_add(1), 0),
            }
        };
        self.last
    }

    /// Takes note of a time received from elsewhere.
    pub fn merge(&mut self, received: HybridTime, wall: UnixMs) -> Merged {
        if received.0.saturating_sub(wall.0) > MERGE_LIMIT_MS {
            return Merged::TooFarAhead;
        }
        self.last = self.last.max(received);
        Merged::Yes
    }

    /// Takes note of the time of an entry that this very device made and that came from elsewhere, as after a restore.
    /// It is never too far ahead: the device could otherwise not take its own act back, for that has to come later.
    pub fn follow(&mut self, own: HybridTime) {
        self.last = self.last.max(own);
    }
}

impl UnixMs {
    /// RFC 3339 text with milliseconds in UTC, such as `2026-06-01T09:30:00.000Z`; years outside 0000-9999 give `None`.
    pub fn rfc3339(self) -> Option<String> {
        let time = chrono::DateTime::from_timestamp_millis(self.0)?;
        let text = time.to_rfc3339_opts(chrono::SecondsFormat::Millis, true);
        text.starts_with(|first: char| first.is_ascii_digit()).then_some(text)
    }

    /// The calendar date at a place whose local time is `offset` ahead of UTC.
    pub fn local_date(self, offset: OffsetMinutes) -> Option<chrono::NaiveDate> {
        let shifted = self.0.checked_add(i64::from(offset.0) * 60_000)?;
        Some(chrono::DateTime::from_timestamp_millis(shifted)?.date_naive())
    }

    /// Reads an RFC 3339 time, with any offset.
    pub fn from_rfc3339(text: &str) -> Option<Self> {
        chrono::DateTime::parse_from_rfc3339(text).ok().map(|time| Self(time.timestamp_millis()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// RFC 3339 section 5.8: examples, the leap second left out (a chrono time has none in milliseconds).
    #[test]
    fn the_published_examples_of_rfc_3339_are_read() {
        for (text, ms) in [
            ("1985-04-12T23:20:50.52Z", 482_196_050_520),
            ("1996-12-19T16:39:57-08:00", 851_042_397_000),
            ("1937-01-01T12:00:27.87+00:20", -1_041_337_172_130),
        ] {
            assert_eq!(UnixMs::from_rfc3339(text), Some(UnixMs(ms)), "{text}");
        }
        assert_eq!(UnixMs(851_042_397_000).rfc3339().as_deref(), Some("1996-12-20T00:39:57.000Z"));
    }

    #[test]
    fn a_year_past_9999_has_no_text() {
        assert_eq!(UnixMs(253_402_300_800_000).rfc3339(), None);
        assert_eq!(UnixMs(i64::MAX).rfc3339(), None);
        assert_eq!(UnixMs(253_402_300_799_999).rfc3339().as_deref(), Some("9999-12-31T23:59:59.999Z"));
    }

    #[test]
    fn a_clock_far_ahead_is_not_merged() {
        let mut clock = HybridClock::after(None);
        let wall = UnixMs(1_000_000_000_000);
        assert_eq!(clock.merge(HybridTime(wall.0 + MERGE_LIMIT_MS + 1, 0), wall), Merged::TooFarAhead);
        assert_eq!(clock.tick(wall), HybridTime(wall.0, 0));
        assert_eq!(clock.merge(HybridTime(wall.0 + MERGE_LIMIT_MS, 7), wall), Merged::Yes);
        assert_eq!(clock.tick(wall), HybridTime(wall.0 + MERGE_LIMIT_MS, 8));
    }

    proptest! {
        #[test]
        fn ticks_grow_whatever_the_wall_clock_does(walls in prop::collection::vec(any::<i32>(), 1..50)) {
            let mut clock = HybridClock::after(None);
            let times: Vec<_> = walls.iter().map(|&wall| clock.tick(UnixMs(i64::from(wall)))).collect();
            prop_assert!(times.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}
