//! The rule as a table, renewal as a story, and readers that never stumble.

use super::*;
use proptest::prelude::*;

const HOME: &str = "https://station.example:8787";

fn key(n: u8) -> KeyHash {
    KeyHash::of_spki(&[n])
}

fn trust(next: Option<u8>) -> Trust {
    Trust { address: HOME.into(), pins: Pins { pin: key(1), next: next.map(key) } }
}

#[test]
fn a_public_chain_is_good_else_the_pin_else_the_next_key_else_nothing() {
    use Judgement::{Accept, Refuse};
    let (none, pinned, both) = (None, Some(trust(None)), Some(trust(Some(2))));
    for (trust, address, chain, shown, expected) in [
        (&none, HOME, Chain::Public, 9, Accept(By::Chain)),
        (&both, HOME, Chain::Public, 9, Accept(By::Chain)),
        (&none, HOME, Chain::Private, 1, Refuse(Refusal::NotPinned)),
        (&pinned, HOME, Chain::Private, 1, Accept(By::Pin)),
        (&pinned, "HTTPS://Station.Example:8787/", Chain::Private, 1, Accept(By::Pin)),
        (&pinned, HOME, Chain::Private, 2, Refuse(Refusal::OtherKey)),
        (&both, HOME, Chain::Private, 2, Accept(By::NextPin)),
        (&both, HOME, Chain::Private, 3, Refuse(Refusal::OtherKey)),
        // The pins are for that station alone.
        (&both, "https://station.example", Chain::Private, 1, Refuse(Refusal::NotPinned)),
        (&both, "https://station.example:8788", Chain::Private, 1, Refuse(Refusal::NotPinned)),
        (&both, "https://other.example:8787", Chain::Private, 1, Refuse(Refusal::NotPinned)),
        (&both, "http://station.example:8787", Chain::Private, 1, Refuse(Refusal::NotPinned)),
        (&both, "nonsense", Chain::Private, 1, Refuse(Refusal::NotPinned)),
    ] {
        assert_eq!(
            judge(trust.as_ref(), address, chain, key(shown)),
            expected,
            "{trust:?} {address} {chain:?} {shown}"
        );
    }
}

/// Two renewals, each announced over a connection of the key before it.
#[test]
fn the_next_key_becomes_the_pin_and_the_one_after_it_is_learnt() {
    let mut trust = trust(None);
    let mut step = |shown, announced: Option<u8>| {
        let after = trust.seen(key(shown), announced.map(key));
        trust.pins = after.unwrap_or(trust.pins);
        (after.is_some(), trust.pins)
    };
    assert_eq!(step(1, None), (false, Pins { pin: key(1), next: None }));
    assert_eq!(step(1, Some(2)), (true, Pins { pin: key(1), next: Some(key(2)) }));
    assert_eq!(step(1, Some(2)), (false, Pins { pin: key(1), next: Some(key(2)) }));
    // A key of its own under a public chain teaches nothing, whatever it announces.
    assert_eq!(step(9, Some(8)), (false, Pins { pin: key(1), next: Some(key(2)) }));
    assert_eq!(step(2, None), (true, Pins { pin: key(2), next: None }));
    assert_eq!(step(1, Some(7)), (false, Pins { pin: key(2), next: None }), "the old key is gone for good");
    assert_eq!(step(2, Some(2)), (false, Pins { pin: key(2), next: None }), "a key does not follow itself");
    assert_eq!(step(2, Some(3)), (true, Pins { pin: key(2), next: Some(key(3)) }));
    assert_eq!(step(3, Some(4)), (true, Pins { pin: key(3), next: Some(key(4)) }));
}

/// Made with `openssl req -x509` (OpenSSL 3.0.19), hashes by `openssl x509 -pubkey | openssl pkey -pubin -outform der |
/// sha256sum`.
#[test]
fn the_key_of_a_certificate_is_what_openssl_says() {
    for (certificate, hash) in [
        (
            &include_bytes!("../../tests/fixtures/station-ec.der")[..],
            "e75c43b22e31f74e3ef46747e43fae0944235b7120f79ffd8431533d97ec5c77",
        ),
        (
            include_bytes!("../../tests/fixtures/station-rsa.der"),
            "3a485598e07b6973e32172118f01d352858e71f785f9c62c9b4481d897775865",
        ),
        (
            include_bytes!("../../tests/fixtures/station-ed25519.der"),
            "e7a2d56eaacf3373c4c50220fbc8bed8991b3f90e07b07e180c6bb296f5d7faf",
        ),
    ] {
        assert_eq!(KeyHash::of_certificate(certificate).map(|key| key.to_string()).as_deref(), Some(hash));
        for cut in 0..certificate.len() {
            assert_eq!(spki_of(&certificate[..cut]), None, "{cut}");
        }
        assert_eq!(spki_of(&[certificate, &[0]].concat()), None, "octets behind the end");
    }
}

#[test]
fn an_invitation_as_it_is_scanned() {
    let code = "BCD-FGH-JKL".to_owned();
    let pins = Some(trust(Some(2)).pins);
    let scanned = Scanned { address: HOME.into(), code: code.clone(), pins };
    insta::assert_snapshot!(scanned.text());
    assert_eq!(scanned.text().parse(), Ok(scanned.clone()));
    assert!(!format!("{scanned:?}").contains(&code));
    insta::assert_json_snapshot!(trust(Some(2)));
    let bare = Scanned { address: "http://127.0.0.1:8787".into(), code, pins: None };
    assert_eq!(bare.text().parse(), Ok(bare));
}

#[test]
fn what_is_no_invitation_is_told_apart() {
    let hex = "A".repeat(64);
    let good = format!("leafturn:join?v=1&address={HOME}&code=BCD-FGH-JKL&key={hex}");
    assert!(good.parse::<Scanned>().is_ok() && format!(" {good}&colour=blue\n").parse::<Scanned>().is_ok());
    for (text, expected) in [
        ("https://elsewhere.example/".to_owned(), NotAnInvitation::Other),
        (String::new(), NotAnInvitation::Other),
        (good.replace("v=1", "v=2"), NotAnInvitation::Newer),
        (good.replace("v=1&", ""), NotAnInvitation::Other),
        (good.replace("&code=BCD-FGH-JKL", ""), NotAnInvitation::Other),
        (good.replace("BCD", "B%43D"), NotAnInvitation::Other),
        (good.replace("https://", "http://"), NotAnInvitation::Address),
        (good.replace(HOME, "https://user@station.example"), NotAnInvitation::Address),
        (good.replace(HOME, "https://station.example/path"), NotAnInvitation::Address),
        (good.replace(&hex, &hex[1..]), NotAnInvitation::Key),
        (format!("{good}&key={hex}"), NotAnInvitation::Twice),
        (format!("{good}&pad={}", "x".repeat(1024)), NotAnInvitation::Other),
    ] {
        assert_eq!(text.parse::<Scanned>().unwrap_err(), expected, "{text}");
    }
}

#[test]
fn an_origin_is_scheme_name_and_port() {
    for (address, expected) in [
        ("https://Fields.example", Some("https://fields.example")),
        ("https://fields.example:443/", Some("https://fields.example")),
        ("https://192.0.2.7:8787", Some("https://192.0.2.7:8787")),
        ("https://[2001:db8::7]:8787", Some("https://[2001:db8::7]:8787")),
        ("http://localhost:80", Some("http://localhost")),
        ("http://[::1]:8787", Some("http://[::1]:8787")),
        ("http://fields.example", None),
        ("https://", None),
        ("https://:8787", None),
        ("https://a:b", None),
        ("https://a:+1", None),
        ("https://a:70000", None),
        ("https://[::1", None),
        ("https://[nonsense]", None),
        ("https://[::1]8787", None),
        ("https://a b", None),
        ("ftp://a", None),
        ("a", None),
    ] {
        assert_eq!(origin(address).as_deref(), expected, "{address}");
    }
}

proptest! {
    #[test]
    fn no_octets_make_the_readers_stumble(octets in prop::collection::vec(any::<u8>(), 0..600), text in ".{0,200}") {
        if let Some(key) = spki_of(&octets) {
            prop_assert!(key.len() <= octets.len());
        }
        let _ = origin(&text);
        let _ = format!("leafturn:join?v=1&{text}").parse::<Scanned>();
    }

    /// A spoilt certificate gives its key, another key, or none; never more than it holds.
    #[test]
    fn a_spoilt_certificate_is_no_danger(at in 0..434_usize, to in any::<u8>()) {
        let mut octets = include_bytes!("../../tests/fixtures/station-ec.der").to_vec();
        octets[at] = to;
        if let Some(key) = spki_of(&octets) {
            prop_assert!(key.len() < octets.len());
        }
    }
}
