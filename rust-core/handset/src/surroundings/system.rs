//! The real clock, the real random source, a marker file and the real disk.

use super::disk::Disk;
use super::marker::FileMarker;
use super::{Clock, Random, Surroundings};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI16, Ordering};
use std::time::Instant;
use survey::chain::Hash;
use survey::ids::{BootId, RandomOctets};
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};

/// The offset of local time, which the shell knows and sets again when it changes. Copies share one value.
#[derive(Debug, Clone, Default)]
pub struct LocalOffset(Arc<AtomicI16>);

/// The system's clocks.
///
/// Time since boot is the kernel's where it lets itself be read; elsewhere it counts from the start of this process,
/// under a boot id of its own, which is as true and only joins fewer times to each other.
#[derive(Debug)]
pub struct SystemClock {
    offset: LocalOffset,
    kernel_boot: Option<BootId>,
    process_boot: BootId,
    process_start: Instant,
}

/// The system's random source.
#[derive(Debug, Clone, Copy)]
pub struct SystemRandom;

/// The system's clock and random source, and a marker file in this folder, which must be one that no backup carries.
pub fn surroundings(no_backup: &Path, offset: LocalOffset) -> Surroundings {
    let mut random = SystemRandom;
    let disk = Disk::default();
    Surroundings {
        clock: Box::new(SystemClock::new(offset, random.octets())),
        random: Box::new(random),
        marker: Box::new(FileMarker::at(no_backup.join("marker"), disk.files.clone())),
        disk,
    }
}

impl LocalOffset {
    /// Local time is this many minutes ahead of UTC.
    pub fn set(&self, offset: OffsetMinutes) {
        self.0.store(offset.0, Ordering::Relaxed);
    }
}

impl SystemClock {
    /// The clocks, with random octets for the boot id that serves where the kernel's cannot be read.
    #[expect(clippy::disallowed_methods, reason = "the edge: the start of this process on the monotonic clock")]
    pub fn new(offset: LocalOffset, random: RandomOctets) -> Self {
        Self { offset, kernel_boot: kernel_boot(), process_boot: BootId::random(random), process_start: Instant::now() }
    }
}

impl Clock for SystemClock {
    #[expect(clippy::disallowed_methods, reason = "the edge: here the system's clocks are read")]
    fn now(&self) -> Now {
        let wall = std::time::SystemTime::now();
        let wall = match wall.duration_since(std::time::UNIX_EPOCH) {
            Ok(since) => i64::try_from(since.as_millis()).unwrap_or(i64::MAX),
            Err(before) => i64::try_from(before.duration().as_millis()).map_or(i64::MIN, |ms| -ms),
        };
        let since_boot = match self.kernel_boot.zip(kernel_uptime_ms()) {
            Some((boot, ms)) => SinceBoot { boot, ms },
            None => SinceBoot {
                boot: self.process_boot,
                ms: u64::try_from(self.process_start.elapsed().as_millis()).unwrap_or(u64::MAX),
            },
        };
        Now { wall: UnixMs(wall), offset: OffsetMinutes(self.offset.0.load(Ordering::Relaxed)), since_boot }
    }
}

impl Random for SystemRandom {
    fn octets(&mut self) -> RandomOctets {
        let mut octets = [0; 16];
        // The systems that this runs on give random octets to every process at any time; without them no id is safe.
        getrandom::fill(&mut octets).expect("the system gives random octets");
        octets
    }
}

/// The kernel's boot id, hashed, so that other software's records of it cannot be joined with ours.
fn kernel_boot() -> Option<BootId> {
    let text = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok()?;
    kernel_uptime_ms()?;
    let hash = Hash::plain(format!("leafturn boot {}", text.trim()).as_bytes());
    let mut octets = [0; 16];
    octets.copy_from_slice(&hash.0[..16]);
    Some(BootId::random(octets))
}

/// Milliseconds since boot, sleep included, to the hundredth of a second that the kernel states.
fn kernel_uptime_ms() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/uptime").ok()?;
    let (seconds, hundredths) = text.split_whitespace().next()?.split_once('.')?;
    let hundredths: u64 = format!("{hundredths:0<2}").get(..2)?.parse().ok()?;
    Some(seconds.parse::<u64>().ok()? * 1000 + hundredths * 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_goes_forward_and_keeps_its_boot_id() {
        let clock = SystemClock::new(LocalOffset::default(), [1; 16]);
        let (first, second) = (clock.now(), clock.now());
        assert_eq!(first.since_boot.boot, second.since_boot.boot);
        assert!(first.since_boot.ms <= second.since_boot.ms);
        assert!(first.wall > UnixMs(1_700_000_000_000));
    }
}
