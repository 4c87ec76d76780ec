//! A clock, a random source and a marker that do as they are told: for demonstrations and tests.

use super::disk::Disk;
use super::marker::SharedMarker;
use super::{Clock, Random, Surroundings};
use std::sync::{Arc, Mutex, PoisonError};
use survey::chain::Hash;
use survey::ids::{BootId, RandomOctets};
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};

/// The hand on a scripted phone: moves its time, and makes surroundings as often as the phone is opened.
/// Copies move the same phone.
#[derive(Debug, Clone)]
pub struct Script {
    time: Arc<Mutex<Time>>,
    random: Arc<Mutex<Stream>>,
    marker: SharedMarker,
}

#[derive(Debug)]
struct Time {
    wall: i64,
    offset: OffsetMinutes,
    since_boot: SinceBoot,
    step: u64,
}

#[derive(Debug)]
struct Stream {
    seed: u64,
    drawn: u64,
}

impl Script {
    /// A phone whose random octets follow from `seed` and whose clock shows `wall`; each reading of the clock moves
    /// it by one millisecond, until [`Script::step`] says otherwise.
    pub fn new(seed: u64, wall: UnixMs, offset: OffsetMinutes) -> Self {
        let mut random = Stream { seed, drawn: 0 };
        let boot = BootId::random(random.next());
        Self {
            time: Arc::new(Mutex::new(Time {
                wall: wall.0,
                offset,
                since_boot: SinceBoot { boot, ms: 3_600_000 },
                step: 1,
            })),
            random: Arc::new(Mutex::new(random)),
            marker: SharedMarker::default(),
        }
    }

    /// Surroundings for opening the handset.
    pub fn surroundings(&self) -> Surroundings {
        Surroundings {
            clock: Box::new(self.clone()),
            random: Box::new(self.clone()),
            marker: Box::new(self.marker.clone()),
            disk: Disk::default(),
        }
    }

    /// Each reading of the clock moves it by this many milliseconds.
    pub fn step(&self, ms: u64) {
        self.with(|time| time.step = ms);
    }

    /// Time passes.
    pub fn pass(&self, ms: u64) {
        self.with(|time| time.pass(ms));
    }

    /// Lets time pass until the wall clock shows this; an earlier time is passed over.
    pub fn pass_until(&self, wall: UnixMs) {
        self.with(|time| time.pass(u64::try_from(wall.0.saturating_sub(time.wall)).unwrap_or(0)));
    }

    /// Somebody sets the wall clock by this many milliseconds; the time since boot does not move.
    pub fn set_wall_by(&self, ms: i64) {
        self.with(|time| time.wall += ms);
    }

    /// The phone is started again.
    pub fn reboot(&self) {
        let boot = BootId::random(self.random.lock().unwrap_or_else(PoisonError::into_inner).next());
        self.with(|time| time.since_boot = SinceBoot { boot, ms: 10_000 });
    }

    /// The time as it stands, without moving it.
    pub fn peek(&self) -> Now {
        self.with(|time| time.now())
    }

    /// The marker.
    pub const fn marker(&self) -> &SharedMarker {
        &self.marker
    }

    fn with<T>(&self, change: impl FnOnce(&mut Time) -> T) -> T {
        change(&mut self.time.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Clock for Script {
    fn now(&self) -> Now {
        self.with(|time| {
            time.pass(time.step);
            time.now()
        })
    }
}

impl Random for Script {
    fn octets(&mut self) -> RandomOctets {
        self.random.lock().unwrap_or_else(PoisonError::into_inner).next()
    }
}

impl Time {
    const fn now(&self) -> Now {
        Now { wall: UnixMs(self.wall), offset: self.offset, since_boot: self.since_boot }
    }

    fn pass(&mut self, ms: u64) {
        self.wall = self.wall.saturating_add_unsigned(ms);
        self.since_boot.ms = self.since_boot.ms.saturating_add(ms);
    }
}

impl Stream {
    fn next(&mut self) -> RandomOctets {
        self.drawn += 1;
        let hash = Hash::plain(format!("scripted {} {}", self.seed, self.drawn).as_bytes());
        let mut octets = [0; 16];
        octets.copy_from_slice(&hash.0[..16]);
        octets
    }
}
