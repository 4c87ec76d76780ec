//! Waiting between tries: exponential with full jitter, so that phones which come home at the same hour spread out
//! (Brooker 2015, "Exponential Backoff And Jitter", AWS Architecture Blog).

/// The first back-off is at most this long, in milliseconds.
pub const FIRST_MS: u64 = 2_000;
/// No back-off is longer than this: 5 minutes.
pub const MOST_MS: u64 = 5 * 60 * 1000;
/// No wish of the station is honoured for longer than this: 6 hours.
pub const MOST_ASKED_MS: u64 = 6 * 60 * 60 * 1000;

/// A source of numbers for jitter only: `SplitMix64` (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number
/// generators", OOPSLA). Anybody can predict it, and nothing secret comes from it.
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// Begins with this seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next number.
    pub const fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// How long to wait after so many failures in a row, in milliseconds: from 1 to [`ceiling`].
    pub const fn back_off(&mut self, failures: u32) -> u64 {
        1 + self.roll() % ceiling(failures)
    }
}

/// The longest wait after so many failures in a row, in milliseconds.
pub const fn ceiling(failures: u32) -> u64 {
    let doublings = failures.saturating_sub(1);
    if doublings >= 16 {
        return MOST_MS;
    }
    let wait = FIRST_MS << doublings;
    if wait > MOST_MS { MOST_MS } else { wait }
}

/// What a `Retry-After` field asks for, in milliseconds. Seconds only (RFC 9110 section 10.2.3): a date is passed over,
/// for the phone's clock may be wrong.
pub fn asked_ms(retry_after: &str) -> Option<u64> {
    let seconds: u64 = retry_after.trim().parse().ok()?;
    Some(seconds.saturating_mul(1000).min(MOST_ASKED_MS))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The first numbers of the reference implementation by Vigna (`splitmix64.c`, public domain) with seed 1234567.
    #[test]
    fn the_dice_are_splitmix64() {
        let mut dice = Dice::new(1_234_567);
        for number in [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423_u64] {
            assert_eq!(dice.roll(), number);
        }
    }

    #[test]
    fn ceilings_double_up_to_five_minutes() {
        let ceilings: Vec<u64> = (0..11).map(ceiling).collect();
        let seconds = [2, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300];
        assert_eq!(ceilings, seconds.map(|seconds| seconds * 1000));
        assert_eq!(ceiling(u32::MAX), MOST_MS);
    }

    #[test]
    fn only_seconds_are_honoured() {
        for (field, asked) in [
            ("120", Some(120_000)),
            (" 0 ", Some(0)),
            ("99999999999999999999", None),
            ("9999999999", Some(MOST_ASKED_MS)),
            ("-1", None),
            ("Fri, 31 Dec 1999 23:59:59 GMT", None),
        ] {
            assert_eq!(asked_ms(field), asked, "{field}");
        }
    }

    proptest! {
        #[test]
        fn a_wait_is_never_nothing_nor_over_its_ceiling(seed: u64, failures: u32) {
            let wait = Dice::new(seed).back_off(failures);
            prop_assert!((1..=ceiling(failures)).contains(&wait));
        }

        #[test]
        fn waits_spread_over_the_whole_range(seed: u64) {
            let mut dice = Dice::new(seed);
            let waits: Vec<u64> = (0..200).map(|_| dice.back_off(20)).collect();
            prop_assert!(waits.iter().any(|wait| *wait < MOST_MS / 4));
            prop_assert!(waits.iter().any(|wait| *wait > MOST_MS / 4 * 3));
        }
    }
}
