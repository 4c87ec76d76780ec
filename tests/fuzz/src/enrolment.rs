//! Joining: the code as it is typed, the request as it comes, and what a store says to any series of tries.

use crate::damage::described;
use arbitrary::Arbitrary;
use station::security::codes::{Code, LETTERS, LIFE_MS, MOST_TRIES, NotACode};
use station::security::secret::SecretHash;
use station::store::AccessStore;
use station::store::access::{Invitation, Invited, Joining, Redeemed, TokenState};
use station::store::sqlite::SqliteStore;
use std::collections::BTreeMap;
use survey::chain::Hash;
use survey::ids::DeviceId;
use survey::time::UnixMs;
use sync::wire::enrol::Enrol;

const KEY: [u8; 32] = [7; 32];

/// The most tries of a series.
const MOST: usize = 64;

#[derive(Debug, Arbitrary)]
enum Input {
    /// Something typed for a code.
    Typed(String),
    /// A series of acts against one store.
    Series { invitations: [u8; 2], acts: Vec<Act> },
}

#[derive(Debug, Arbitrary)]
enum Act {
    /// One of the codes, maybe with a letter that is another, by one of three phones with one of three tokens.
    Try {
        code: bool,
        wrong: Option<(u8, u8)>,
        device: u8,
        token: u8,
    },
    Later(u32),
    Revoke(u8),
}

/// Octets that begin like JSON are read as a request, others as a description.
pub fn hold(octets: &[u8]) {
    if octets.starts_with(b"{") {
        request(octets);
        return;
    }
    match described::<Input>(octets) {
        Some(Input::Typed(text)) => typed(&text),
        Some(Input::Series { invitations, acts }) => series(invitations, &acts),
        None => {}
    }
}

fn request(octets: &[u8]) {
    let Ok(enrol) = serde_json::from_slice::<Enrol>(octets) else { return };
    let text = serde_json::to_vec(&enrol).expect("a request can be written");
    assert_eq!(serde_json::from_slice::<Enrol>(&text).expect("and read again"), enrol);
    typed(&enrol.code);
}

/// A text is a code if and only if it has nine letters of the alphabet whose weighted sum is divisible by 19.
fn typed(text: &str) {
    let letters: Vec<char> = text.chars().filter(|letter| !matches!(letter, ' ' | '-')).collect();
    let value = |letter: &char| LETTERS.iter().position(|known| char::from(*known) == letter.to_ascii_uppercase());
    let values: Option<Vec<usize>> = letters.iter().map(value).collect();
    let right = values
        .filter(|values| values.len() == 9)
        .map(|values| (1..).zip(values).map(|(weight, value): (usize, usize)| weight * value).sum::<usize>() % 19 == 0);
    match text.parse::<Code>() {
        Ok(code) => {
            assert_eq!(right, Some(true));
            let spelled = code.spelled();
            assert!(spelled.parse::<Code>() == Ok(code.clone()));
            assert!(spelled.to_lowercase().parse::<Code>() == Ok(code.clone()));
            assert!(code.digest(&KEY) != code.digest(&[8; 32]));
            assert!(!format!("{code:?}").contains(&spelled));
        }
        Err(NotACode::Check) => assert_eq!(right, Some(false)),
        Err(NotACode::Letters) => assert_eq!(right, None),
    }
}

/// What must hold of a code whatever is tried, told without the store's own rules.
struct Model {
    made: i64,
    wrong: u32,
    joined: Option<(u8, u8)>,
}

fn series(invitations: [u8; 2], acts: &[Act]) {
    let folder = tempfile::tempdir().expect("a folder for one store");
    let store = SqliteStore::open(&folder.path().join("station.sqlite")).expect("a fresh store opens");
    let codes = invitations.map(|seed| Code::draw(&[seed % 247; 64]).expect("enough octets"));
    let mut models: BTreeMap<String, Model> = BTreeMap::new();
    let mut at = 1_000_i64;
    for code in &codes {
        let invitation = Invitation {
            digest: code.digest(&KEY),
            prefix: code.prefix(),
            sites: Vec::new(),
            name: None,
            made: UnixMs(at),
            expires: UnixMs(at + LIFE_MS),
        };
        match store.invite(&invitation).expect("the store writes") {
            Invited::Kept => {
                assert!(models.insert(code.spelled(), Model { made: at, wrong: 0, joined: None }).is_none());
            }
            Invited::PrefixTaken => assert!(models.keys().any(|known| known[..3] == code.spelled()[..3])),
        }
    }
    let mut revoked: Vec<u8> = Vec::new();
    for act in acts.iter().take(MOST) {
        match act {
            Act::Later(ms) => at += i64::from(*ms),
            Act::Revoke(device) => {
                store.revoke(phone(*device)).expect("the store writes");
                revoked.push(device % 3);
            }
            Act::Try { code, wrong, device, token } => {
                let spelled = codes[usize::from(*code)].spelled();
                let Some(given) = given(&spelled, *wrong) else { continue };
                tried(&store, &mut models, &given, (device % 3, token % 3), at, &revoked);
            }
        }
    }
}

fn tried(
    store: &SqliteStore,
    models: &mut BTreeMap<String, Model>,
    given: &Code,
    who: (u8, u8),
    at: i64,
    revoked: &[u8],
) {
    let joining = Joining {
        digest: given.digest(&KEY),
        prefix: given.prefix(),
        device: phone(who.0),
        token: token(who.1),
        at: UnixMs(at),
    };
    let said = store.redeem(&joining).expect("the store answers");
    let model = models.get_mut(&given.spelled());
    let lives = model.as_ref().is_some_and(|model| at < model.made + LIFE_MS && model.wrong < MOST_TRIES);
    match (said, model) {
        (Redeemed::Joined { .. }, Some(model)) => {
            assert!(lives, "a dead code opens nothing");
            assert!(model.joined.is_none_or(|first| first == who), "a code is one phone's and one token's");
            model.joined = Some(who);
            let row = store.token(token(who.1)).expect("the store reads").expect("the token is known");
            assert_eq!((row.device, row.state), (phone(who.0), TokenState::Living));
        }
        (Redeemed::Joined { .. }, None) => panic!("a code that nobody made opened the station"),
        (Redeemed::Spent, Some(model)) => assert!(lives && model.joined.is_some_and(|first| first != who)),
        (Redeemed::DeviceTaken, Some(model)) => {
            let again = model.joined == Some(who) && !revoked.contains(&who.0);
            assert!(lives && !again, "a repeated answer that was lost is given again");
        }
        (Redeemed::Spent | Redeemed::DeviceTaken, None) => panic!("more was told of a code that nobody made"),
        (Redeemed::Unknown, _) => {
            assert!(!lives);
            let prefix = given.spelled()[..3].to_owned();
            for (_, model) in models.iter_mut().filter(|(spelled, _)| spelled[..3] == prefix) {
                model.wrong += 1;
            }
        }
    }
}

/// The code, or one with another letter at a place and the check letter put right.
fn given(spelled: &str, wrong: Option<(u8, u8)>) -> Option<Code> {
    let Some((place, letter)) = wrong else { return spelled.parse().ok() };
    let mut letters: Vec<u8> = spelled.bytes().filter(|octet| *octet != b'-').collect();
    letters[usize::from(place % 8)] = LETTERS[usize::from(letter) % LETTERS.len()];
    LETTERS.iter().find_map(|check| {
        letters[8] = *check;
        std::str::from_utf8(&letters).ok()?.parse().ok()
    })
}

const fn phone(n: u8) -> DeviceId {
    DeviceId::from_octets([0x10 + n % 3; 16])
}

fn token(n: u8) -> SecretHash {
    SecretHash(Hash::plain(&[n % 3]).0)
}
