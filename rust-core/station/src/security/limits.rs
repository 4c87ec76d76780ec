//! Limits on enrolment and sign-in: a bucket for everybody together and one for each address.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::Mutex;
use survey::time::UnixMs;

/// Tries that one address has at once.
pub const ADDRESS_BURST: u32 = 20;
/// Milliseconds in which one address gains a try.
pub const ADDRESS_REFILL_MS: i64 = 3_000;
/// Tries that all addresses together have at once.
pub const GLOBAL_BURST: u32 = 200;
/// Milliseconds in which all together gain a try.
pub const GLOBAL_REFILL_MS: i64 = 200;
/// Addresses remembered at most. An address is remembered once a try of it has passed, and forgotten when its bucket is
/// full again, after 60 s at the latest: 200 + 60 000 / 200 = 500 addresses can be in use at any time.
pub const MOST_ADDRESSES: usize = 1_000;

/// Buckets that fill with time.
#[derive(Debug)]
pub struct Limits {
    buckets: Mutex<Buckets>,
}

/// A try too many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("too many tries, the next is welcome in {retry_after_s} s")]
pub struct TooMany {
    /// Whole seconds to wait, at least 1.
    pub retry_after_s: u32,
}

#[derive(Debug)]
struct Buckets {
    global: Bucket,
    addresses: HashMap<IpAddr, Bucket>,
}

#[derive(Debug, Clone, Copy)]
struct Bucket {
    /// Milliseconds' worth of tries in it.
    level_ms: i64,
    seen: UnixMs,
}

impl Limits {
    /// Full buckets.
    pub fn new(now: UnixMs) -> Self {
        let global = Bucket { level_ms: i64::from(GLOBAL_BURST) * GLOBAL_REFILL_MS, seen: now };
        Self { buckets: Mutex::new(Buckets { global, addresses: HashMap::new() }) }
    }

    /// Takes one try of this address.
    ///
    /// # Errors
    /// [`TooMany`] when its bucket, or everybody's, is empty.
    pub fn take(&self, address: IpAddr, now: UnixMs) -> Result<(), TooMany> {
        let address = subscriber(address);
        let mut buckets = self.buckets.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let full = i64::from(ADDRESS_BURST) * ADDRESS_REFILL_MS;
        // An empty bucket of one's own costs the others nothing, and an empty bucket of all leaves no trace of addresses.
        let mut own = buckets.addresses.get(&address).copied().unwrap_or(Bucket { level_ms: full, seen: now });
        let taken = own.take(now, ADDRESS_BURST, ADDRESS_REFILL_MS);
        if taken.is_ok() {
            buckets.global.take(now, GLOBAL_BURST, GLOBAL_REFILL_MS)?;
            if buckets.addresses.len() >= MOST_ADDRESSES {
                buckets.addresses.retain(|_, bucket| bucket.level_ms + (now.0 - bucket.seen.0).max(0) < full);
            }
            buckets.addresses.insert(address, own);
        }
        taken
    }

    /// How many addresses are remembered: [`MOST_ADDRESSES`] at most.
    pub fn remembered(&self) -> usize {
        self.buckets.lock().unwrap_or_else(std::sync::PoisonError::into_inner).addresses.len()
    }
}

/// What stands for all addresses that one subscriber can take: the first 64 bits of an IPv6 address, since a network of
/// that size is the least that is handed out (RFC 6177); an IPv4 address itself, mapped into IPv6 or not.
pub fn subscriber(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(six) => IpAddr::V6((u128::from(six) >> 64 << 64).into()),
        four @ IpAddr::V4(_) => four,
    }
}

impl Bucket {
    fn take(&mut self, now: UnixMs, burst: u32, refill_ms: i64) -> Result<(), TooMany> {
        let gained = (now.0 - self.seen.0).max(0);
        self.level_ms = (self.level_ms + gained).min(i64::from(burst) * refill_ms);
        self.seen = now;
        if self.level_ms < refill_ms {
            let wait_ms = refill_ms - self.level_ms;
            return Err(TooMany { retry_after_s: u32::try_from((wait_ms + 999) / 1000).unwrap_or(u32::MAX).max(1) });
        }
        self.level_ms -= refill_ms;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_runs_dry_alone_and_recovers() {
        let limits = Limits::new(UnixMs(0));
        let (greedy, quiet): (IpAddr, IpAddr) = ("192.0.2.1".parse().unwrap(), "192.0.2.2".parse().unwrap());
        for _ in 0..ADDRESS_BURST {
            limits.take(greedy, UnixMs(0)).unwrap();
        }
        assert_eq!(limits.take(greedy, UnixMs(0)), Err(TooMany { retry_after_s: 3 }));
        assert_eq!(limits.take(quiet, UnixMs(0)), Ok(()));
        assert_eq!(limits.take(greedy, UnixMs(3_000)), Ok(()));
        assert!(limits.take(greedy, UnixMs(3_000)).is_err());
    }

    #[test]
    fn all_together_run_dry_too() {
        let limits = Limits::new(UnixMs(0));
        let address = |n: u32| IpAddr::from(n.to_be_bytes());
        for n in 0..GLOBAL_BURST {
            limits.take(address(n), UnixMs(0)).unwrap();
        }
        assert!(limits.take(address(GLOBAL_BURST), UnixMs(0)).is_err());
    }
}
