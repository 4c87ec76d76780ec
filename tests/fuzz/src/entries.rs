//! Entries: read, written, and put into the fold.

use crate::damage::described;
use crate::story::{Story, site, stream, visit};
use serde_json::Value;
use survey::chain::{Head, Link};
use survey::entry::{Act, Entry, EntryError, KINDS, MOST_BYTES, MOST_LEVELS};
use survey::fold::{Fold, Inserted};

/// Octets that begin like JSON are read as one entry, others as a story of several phones.
pub fn hold(octets: &[u8]) {
    if matches!(octets.first(), Some(b'{' | b'[')) {
        one(octets);
    } else if let Some(story) = described::<Story>(octets) {
        many(&story);
    }
}

/// Whatever is read as an entry lies within the limits, is JSON, and says the same after writing and reading it again.
/// Whatever is not is refused for the right reason.
fn one(octets: &[u8]) {
    let link = Head::START.extend(stream(0), octets.to_vec());
    assert_eq!(link.bytes, octets, "the bytes are kept");
    link.verify_after(Head::START).expect("a fresh link verifies");
    let decoded = Entry::decode(octets);
    match &decoded {
        Ok(entry) => {
            assert!(octets.len() <= MOST_BYTES);
            let value: Value = serde_json::from_slice(octets).expect("an entry is JSON");
            assert!(levels(&value) <= MOST_LEVELS);
            written_again(entry);
        }
        Err(EntryError::TooLarge { bytes }) => assert!(*bytes == octets.len() && *bytes > MOST_BYTES),
        Err(EntryError::TooDeep { at }) => assert!(matches!(octets[*at], b'{' | b'[')),
        Err(EntryError::NotAnEntry { reason, .. }) => assert!(!reason.is_empty()),
        Err(EntryError::WrongPayload { kind, .. }) => assert!(KINDS.contains(&kind.as_str())),
    }
    let mut fold = Fold::new();
    match fold.insert(&link) {
        Ok(done) => {
            assert_eq!(done, Inserted::Added);
            assert_eq!(fold.insert(&link), Ok(Inserted::Repeated));
            states(&fold);
        }
        Err(error) => assert_eq!(Err(error), decoded),
    }
}

fn written_again(entry: &Entry) {
    let bytes = match (&entry.act, entry.encode()) {
        (Act::Newer { kind, version }, written) => {
            assert!(matches!(written, Err(EntryError::WrongPayload { .. })), "what is newer is never made here");
            assert!(*version != 1 || !KINDS.contains(&kind.as_str()));
            return;
        }
        // A number or a text may take more octets in our spelling than in theirs.
        (_, Err(EntryError::TooLarge { .. })) => return,
        (_, written) => written.expect("what was read can be written"),
    };
    let again = Entry::decode(&bytes).expect("what was written can be read");
    assert_eq!(&again, entry);
    assert_eq!(again.encode().as_ref(), Ok(&bytes));
}

/// The chain of each phone verifies; what was meant is what is read; and the state is that of the set.
fn many(story: &Story) {
    let told = story.told();
    for entry in &told {
        entry.link.verify().expect("a fresh link verifies");
        if let Some(meant) = &entry.meant {
            assert_eq!(Entry::decode(&entry.link.bytes).as_ref(), Ok(meant));
        } else {
            one(&entry.link.bytes);
        }
    }
    let links: Vec<&Link> = told.iter().map(|entry| &entry.link).collect();
    let forwards = folded(links.iter().copied());
    let backwards = folded(links.iter().rev().copied());
    let half = links.len() / 2;
    let turned = folded(links[half..].iter().chain(&links).chain(&links[..half]).copied());
    assert_eq!(forwards.len(), backwards.len());
    assert_eq!(forwards.len(), turned.len());
    let state = states(&forwards);
    assert_eq!(state, states(&backwards), "the order does not matter");
    assert_eq!(state, states(&turned), "repetition does not matter");
}

fn folded<'l>(links: impl Iterator<Item = &'l Link>) -> Fold {
    let mut fold = Fold::new();
    for link in links {
        // What cannot be read is kept by whoever stores it, and has no part in the state.
        let _ = fold.insert(link);
    }
    fold
}

/// Everything that can be asked of a fold, as text.
fn states(fold: &Fold) -> Vec<String> {
    let mut sites = fold.sites();
    sites.extend((0..3).map(site));
    let mut rows: Vec<String> = Vec::new();
    let mut visits = Vec::new();
    for id in sites {
        rows.push(text(&fold.site(id)));
        visits.extend(fold.visits_at(id));
    }
    visits.extend((0..4).map(visit));
    visits.sort_unstable();
    visits.dedup();
    let states: Vec<_> = visits.into_iter().filter_map(|id| fold.visit(id)).collect();
    for state in &states {
        for check in &state.checks {
            assert!(check.tally.rows().all(|row| row.number > 0), "a tally names no zero");
        }
        rows.push(text(state));
        rows.push(text(&state.living_totals().into_iter().map(|(what, n)| (what.to_string(), n)).collect::<Vec<_>>()));
    }
    rows.push(text(&survey::finding::observers_in_two_visits(&states)));
    let mut kept: Vec<String> = fold
        .entries()
        .map(|kept| format!("{:?} {} {:?}", kept.key, fold.is_void(kept.entry.id), fold.no_effect(kept)))
        .collect();
    kept.sort_unstable();
    rows.extend(kept);
    rows
}

fn text(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).expect("state can be written")
}

fn levels(value: &Value) -> usize {
    match value {
        Value::Array(items) => 1 + items.iter().map(levels).max().unwrap_or(0),
        Value::Object(fields) => 1 + fields.values().map(levels).max().unwrap_or(0),
        _ => 0,
    }
}
