//! Laws of codes, tokens and memberships.

use super::{NOW, Place, by, chain, device, held, in_visit, push, site, stream, token};
use crate::security::codes::{CodeDigest, LIFE_MS, MOST_TRIES, Prefix};
use crate::security::secret::SecretHash;
use crate::store::access::{AccessStore, Invitation, Invited, Joining, Redeemed, TokenState};
use survey::chain::Head;
use survey::time::UnixMs;

const BCD: Prefix = Prefix(*b"BCD");

fn invitation(code: u8, prefix: Prefix) -> Invitation {
    Invitation {
        digest: CodeDigest([code; 32]),
        prefix,
        sites: vec![site(1), site(2)],
        name: Some("An invented phone".into()),
        made: NOW,
        expires: UnixMs(NOW.0 + LIFE_MS),
    }
}

fn joining(code: u8, phone: u8) -> Joining {
    Joining { digest: CodeDigest([code; 32]), prefix: BCD, device: device(phone), token: token(phone), at: NOW }
}

fn joined() -> Redeemed {
    Redeemed::Joined { sites: vec![site(1), site(2)] }
}

pub(crate) fn codes_work_once_and_the_same_triple_again(place: &impl Place) {
    let store = place.open();
    assert_eq!(store.invite(&invitation(1, BCD)).unwrap(), Invited::Kept);
    assert_eq!(store.token(token(1)).unwrap(), None);
    for _ in 0..3 {
        assert_eq!(store.redeem(&joining(1, 1)).unwrap(), joined());
    }
    assert_eq!(store.redeem(&joining(1, 2)).unwrap(), Redeemed::Spent);
    assert_eq!(store.redeem(&Joining { token: token(9), ..joining(1, 1) }).unwrap(), Redeemed::Spent);
    assert_eq!(store.redeem(&Joining { device: device(9), ..joining(1, 1) }).unwrap(), Redeemed::Spent);
    let row = store.token(token(1)).unwrap().unwrap();
    assert_eq!((row.device, row.state), (device(1), TokenState::Living));
    assert_eq!(store.token(token(2)).unwrap(), None);
    let rows = store.devices().unwrap();
    assert_eq!(rows.len(), 1);
    assert_eq!((rows[0].name.as_deref(), &rows[0].sites[..]), (Some("An invented phone"), &[site(1), site(2)][..]));
    drop(store);
    assert_eq!(place.open().redeem(&joining(1, 1)).unwrap(), joined());
}

pub(crate) fn ten_wrong_tries_kill_a_code(place: &impl Place) {
    let store = place.open();
    store.invite(&invitation(1, BCD)).unwrap();
    let other = Invitation { prefix: Prefix(*b"ZZZ"), ..invitation(2, BCD) };
    store.invite(&other).unwrap();
    for _ in 0..MOST_TRIES - 1 {
        assert_eq!(store.redeem(&joining(66, 1)).unwrap(), Redeemed::Unknown);
    }
    assert_eq!(store.redeem(&joining(1, 1)).unwrap(), joined(), "nine wrong tries are borne");
    assert_eq!(store.redeem(&joining(66, 1)).unwrap(), Redeemed::Unknown);
    assert_eq!(store.redeem(&joining(1, 1)).unwrap(), Redeemed::Unknown, "the tenth kills it for everybody");
    let elsewhere = Joining { prefix: Prefix(*b"ZZZ"), ..joining(2, 2) };
    assert_eq!(store.redeem(&elsewhere).unwrap(), joined(), "another prefix is not touched");
}

pub(crate) fn codes_die_of_age(place: &impl Place) {
    let store = place.open();
    store.invite(&invitation(1, BCD)).unwrap();
    let late = |ms| Joining { at: UnixMs(NOW.0 + ms), ..joining(1, 1) };
    assert_eq!(store.redeem(&late(LIFE_MS - 1)).unwrap(), joined());
    assert_eq!(store.redeem(&late(LIFE_MS)).unwrap(), Redeemed::Unknown);
}

pub(crate) fn living_prefixes_are_not_drawn_twice(place: &impl Place) {
    let store = place.open();
    assert_eq!(store.invite(&invitation(1, BCD)).unwrap(), Invited::Kept);
    assert_eq!(store.invite(&invitation(2, BCD)).unwrap(), Invited::PrefixTaken);
    let later = Invitation { made: UnixMs(NOW.0 + LIFE_MS), ..invitation(2, BCD) };
    assert_eq!(store.invite(&later).unwrap(), Invited::Kept);
}

pub(crate) fn one_device_has_one_living_token(place: &impl Place) {
    let store = place.open();
    store.invite(&invitation(1, BCD)).unwrap();
    store.redeem(&joining(1, 1)).unwrap();
    let again = |code: u8, prefix: &[u8; 3], hash: SecretHash| {
        store.invite(&Invitation { sites: vec![site(3)], ..invitation(code, Prefix(*prefix)) }).unwrap();
        store.redeem(&Joining { prefix: Prefix(*prefix), token: hash, ..joining(code, 1) }).unwrap()
    };
    assert_eq!(again(2, b"BBB", token(8)), Redeemed::DeviceTaken, "nobody joins as somebody else");
    let all = Redeemed::Joined { sites: vec![site(1), site(2), site(3)] };
    assert_eq!(again(3, b"CCC", token(1)), all, "a second invitation opens more sites to the same token");
    store.revoke(device(1)).unwrap();
    assert_eq!(store.token(token(1)).unwrap().unwrap().state, TokenState::Revoked);
    assert_eq!(store.memberships(device(1)).unwrap(), []);
    assert_eq!(again(4, b"DDD", token(1)), Redeemed::DeviceTaken, "a revoked token does not come back");
    assert_eq!(again(5, b"FFF", token(8)), Redeemed::Joined { sites: vec![site(3)] });
}

pub(crate) fn authors_read_their_sites_and_nobody_elses(place: &impl Place) {
    let store = place.open();
    held(&store, &push(Head::START, &chain(stream(1), Head::START, 1, 1, in_visit(1)), by(1)));
    held(&store, &push(Head::START, &chain(stream(2), Head::START, 2, 1, in_visit(1)), by(2)));
    assert_eq!(store.memberships(device(1)).unwrap(), [site(1)]);
    assert_eq!(store.memberships(device(2)).unwrap(), [], "what it pushed is kept, and opens nothing");
    store.grant(device(2), site(1), NOW).unwrap();
    store.grant(device(2), site(1), NOW).unwrap();
    assert_eq!(store.memberships(device(2)).unwrap(), [site(1)]);
}
