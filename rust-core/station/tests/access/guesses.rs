//! Guesses at join codes: ten thousand of them, from one address and from many.

use crate::world::{Answer, World, now, phone};
use axum::http::StatusCode;
use station::security::codes::{Code, LETTERS, LIFE_MS, MOST_TRIES};
use station::security::limits::{ADDRESS_BURST, ADDRESS_REFILL_MS, GLOBAL_BURST, GLOBAL_REFILL_MS, Limits};
use station::security::secret::SecretHash;
use station::store::access::{AccessStore, Joining, Redeemed};
use std::collections::BTreeMap;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::str::FromStr;
use std::time::Duration;
use survey::time::UnixMs;

const GUESSES: u32 = 10_000;

/// Every code of the alphabet with this prefix, in order: 19⁵ of them, each with its check letter.
fn with_prefix(prefix: &str) -> impl Iterator<Item = Code> {
    let prefix = prefix.to_owned();
    (0..19_u32.pow(5)).map(move |n| {
        let letter = |at: u32| char::from(LETTERS[(n / 19_u32.pow(at) % 19) as usize]);
        let drawn: String = prefix.chars().chain((0..5).map(letter)).collect();
        let checked = LETTERS.iter().filter_map(|&check| Code::from_str(&format!("{drawn}{}", char::from(check))).ok());
        checked.into_iter().next().expect("one letter of nineteen fits")
    })
}

fn wrong_guesses(code: &Code) -> Vec<Code> {
    let spelled = code.spelled();
    with_prefix(&spelled[..3]).filter(|guess| guess != code).take(GUESSES as usize).collect()
}

fn counted(answers: &[Answer]) -> BTreeMap<String, usize> {
    answers.iter().fold(BTreeMap::new(), |mut counts, answer| {
        *counts.entry(answer.said()).or_default() += 1;
        counts
    })
}

/// Behind the limits: the store alone lets ten thousand guesses do no more than kill the code.
#[tokio::test]
async fn ten_thousand_guesses_at_the_store_kill_one_code_and_open_nothing() {
    let world = World::new().await;
    let (code, bystander) = (world.code(), world.code());
    let try_with = |guess: &Code, n: u8| {
        let phone = phone(n);
        let joining = Joining {
            digest: guess.digest(world.key.octets()),
            prefix: guess.prefix(),
            device: phone.stream.device,
            token: SecretHash::of_token(&phone.token),
            at: now(),
        };
        world.store.redeem(&joining).unwrap()
    };
    let guesses = wrong_guesses(&code);
    let (first, rest) = guesses.split_at(MOST_TRIES as usize - 1);
    assert!(first.iter().all(|guess| try_with(guess, 9) == Redeemed::Unknown));
    assert!(rest.iter().all(|guess| try_with(guess, 9) == Redeemed::Unknown));
    assert_eq!(try_with(&code, 9), Redeemed::Unknown, "the code died with the tenth wrong try");
    assert!(matches!(try_with(&bystander, 9), Redeemed::Joined { .. }), "and no other code with it");
    let devices = world.store.devices().unwrap();
    assert_eq!(devices.len(), 3, "the two of the fixture and the bystander");
}

/// Nine wrong tries, and the right one is still good: a slip of the thumb costs nothing.
#[tokio::test]
async fn nine_slips_are_forgiven() {
    let world = World::new().await;
    let code = world.code();
    for guess in &wrong_guesses(&code)[..MOST_TRIES as usize - 1] {
        assert_eq!(world.enrol(guess, &phone(9), None).await.said(), "403 wrong-code");
    }
    assert_eq!(world.enrol(&code, &phone(9), None).await.status, StatusCode::OK);
}

/// From many addresses each guess is welcome to its own bucket; the bucket of all together and the code's death stop them.
#[tokio::test]
async fn ten_thousand_guesses_from_many_addresses_open_nothing() {
    let world = World::new().await;
    let code = world.code();
    let mut answers = Vec::new();
    for guess in wrong_guesses(&code) {
        answers.push(world.enrol(&guess, &phone(9), None).await);
    }
    let counts = counted(&answers);
    assert_eq!(counts.values().sum::<usize>(), GUESSES as usize);
    assert_eq!(counts.keys().collect::<Vec<_>>(), ["403 wrong-code", "429 slow-down"], "{counts:?}");
    assert!(counts["403 wrong-code"] >= MOST_TRIES as usize && counts["429 slow-down"] > 0, "{counts:?}");
    says_when_to_come_back(&answers);
    the_code_is_dead_and_a_fresh_one_opens(&world, &code).await;
}

#[tokio::test]
async fn ten_thousand_guesses_from_one_address_open_nothing_and_stop_nobody_else() {
    let world = World::new().await;
    let code = world.code();
    let one = Some(IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1)));
    let mut answers = Vec::new();
    for guess in wrong_guesses(&code) {
        answers.push(world.enrol(&guess, &phone(9), one).await);
    }
    let counts = counted(&answers);
    assert_eq!(counts.keys().collect::<Vec<_>>(), ["403 wrong-code", "429 slow-down"], "{counts:?}");
    assert!(counts["403 wrong-code"] >= ADDRESS_BURST as usize, "{counts:?}");
    says_when_to_come_back(&answers);
    // A phone elsewhere needs no patience at all: the greedy address has emptied its own bucket only.
    assert_eq!(world.enrol(&world.code(), &phone(8), None).await.status, StatusCode::OK);
}

/// A forwarded address is a claim; only the named proxy may make it.
#[tokio::test]
async fn an_invented_forwarded_address_buys_no_further_tries() {
    let proxy = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 10));
    let liar = IpAddr::V4(Ipv4Addr::new(203, 0, 113, 9));
    for (behind, peer, believed) in [(None, liar, false), (Some(proxy), liar, false), (Some(proxy), proxy, true)] {
        let world = World::behind(behind).await;
        let guesses = wrong_guesses(&world.code());
        let mut refused = 0;
        for (guess, n) in guesses.iter().zip(1..=3 * ADDRESS_BURST) {
            // The last address of the list is the one that the proxy itself saw (common practice; no standard).
            let claimed = format!("198.51.100.1, 10.1.{}.{}", n / 256, n % 256);
            let answer = world.enrol_forwarded(guess, peer, &claimed).await;
            refused += u32::from(answer.status == StatusCode::TOO_MANY_REQUESTS);
        }
        assert_eq!(refused > 0, !believed, "{behind:?} {peer}: {refused} refused");
    }
}

/// The whole of one subscriber's IPv6 network is one address: 2⁶⁴ of them cost an attacker nothing (RFC 6177).
#[test]
fn a_network_of_ipv6_addresses_has_one_bucket() {
    let limits = Limits::new(UnixMs(0));
    let at = |network: u16, n: u16| IpAddr::V6(Ipv6Addr::new(0x2001, 0xdb8, 0, network, 0, 0, 0, n));
    let admitted = (0..1_000).filter(|&n| limits.take(at(1, n), UnixMs(0)).is_ok()).count();
    assert_eq!(admitted, ADDRESS_BURST as usize);
    assert!(limits.take(at(2, 1), UnixMs(0)).is_ok());
    let mapped = |n: u8| IpAddr::V6(Ipv4Addr::new(198, 51, 100, n).to_ipv6_mapped());
    assert!((0..10).all(|n| limits.take(mapped(n), UnixMs(0)).is_ok()), "mapped IPv4 addresses are addresses each");
}

/// Over any stretch of time no more tries pass than the buckets held and gained, and few addresses are remembered.
#[test]
fn tries_that_pass_are_bounded_and_so_is_the_memory() {
    let limits = Limits::new(UnixMs(0));
    let address = |n: u32| IpAddr::V4(Ipv4Addr::from(n));
    let hour_ms = 3_600_000_i64;
    let mut passed = 0_i64;
    let mut from_one = 0_i64;
    for n in 0..400_000_u32 {
        let at = UnixMs(i64::from(n) * hour_ms / 400_000);
        let many = limits.take(address(0x0A00_0000 + n), at).is_ok();
        let one = n % 10 == 0 && limits.take(address(1), at).is_ok();
        passed += i64::from(many) + i64::from(one);
        from_one += i64::from(one);
    }
    assert!(passed <= i64::from(GLOBAL_BURST) + hour_ms / GLOBAL_REFILL_MS, "{passed}");
    assert!(from_one <= i64::from(ADDRESS_BURST) + hour_ms / ADDRESS_REFILL_MS, "{from_one}");
    assert!(limits.remembered() <= station::security::limits::MOST_ADDRESSES, "{}", limits.remembered());
}

#[tokio::test]
async fn a_code_dies_of_age_and_never_comes_back() {
    let world = World::new().await;
    let old = world.code_made(UnixMs(now().0 - LIFE_MS));
    assert_eq!(world.enrol(&old, &phone(9), None).await.said(), "403 wrong-code");
    let young = world.code_made(UnixMs(now().0 - LIFE_MS + 600_000));
    assert_eq!(world.enrol(&young, &phone(9), None).await.status, StatusCode::OK);
}

fn says_when_to_come_back(answers: &[Answer]) {
    for answer in answers.iter().filter(|answer| answer.status == StatusCode::TOO_MANY_REQUESTS) {
        let seconds: u32 = answer.headers["retry-after"].to_str().unwrap().parse().unwrap();
        assert!((1..=60).contains(&seconds), "{seconds}");
    }
}

/// The phone of an honest volunteer: its code is dead, it asks the coordinator, waits as told, and gets in.
async fn the_code_is_dead_and_a_fresh_one_opens(world: &World, code: &Code) {
    let honest = phone(8);
    assert_eq!(patiently(world, code, &honest).await.said(), "403 wrong-code");
    assert_eq!(patiently(world, &world.code(), &honest).await.status, StatusCode::OK);
}

async fn patiently(world: &World, code: &Code, phone: &crate::world::Phone) -> Answer {
    for _ in 0..50 {
        let answer = world.enrol(code, phone, None).await;
        if answer.status != StatusCode::TOO_MANY_REQUESTS {
            return answer;
        }
        let seconds: u64 = answer.headers["retry-after"].to_str().unwrap().parse().unwrap();
        tokio::time::sleep(Duration::from_secs(seconds)).await;
    }
    panic!("told to come back fifty times");
}
