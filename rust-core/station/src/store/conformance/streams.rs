//! Laws of streams.

use super::{Place, by, bytes, chain, device, held, in_visit, push, site, stream, token};
use crate::store::journal::{Appended, Content, Held, JournalStore, Kept, Offered, Offerer, Push, Standing};
use survey::chain::{Head, Seq};
use survey::entry::Scope;

pub(crate) fn a_push_is_held_and_repeats_are_harmless(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 5, in_visit(1));
    let offered = push(Head::START, &links, by(1));
    let end = links[4].head();
    for added in [5, 0, 0] {
        let (now, count) = held(&store, &offered);
        assert_eq!((now.head, now.common, count), (end, end, added));
        assert_eq!(now.branches(), []);
    }
    assert_eq!(store.held(stream(1), &[end]).unwrap().head, end);
    assert_eq!(store.held(stream(2), &[end]).unwrap(), Held::nothing());
    let kept: Vec<_> = store.kept(stream(1), Head::START, 100).unwrap();
    assert_eq!(kept, links.into_iter().map(Kept::Entry).collect::<Vec<_>>());
}

pub(crate) fn overlapping_pushes_add_the_rest(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 10, in_visit(1));
    assert_eq!(held(&store, &push(Head::START, &links[..6], by(1))).1, 6);
    let (now, added) = held(&store, &push(links[2].head(), &links[3..], by(1)));
    assert_eq!((now.head, added), (links[9].head(), 4));
    // An early batch repeated is acknowledged with the end of its branch.
    let (now, added) = held(&store, &push(Head::START, &links[..2], by(1)));
    assert_eq!((now.head, now.common, added), (links[9].head(), links[1].head(), 0));
}

pub(crate) fn a_gap_is_told_with_what_is_held(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 6, in_visit(1));
    let beyond = push(links[1].head(), &links[2..], by(1));
    assert_eq!(store.append(&beyond).unwrap(), Appended::Gap(Held::nothing()));
    assert_eq!(store.streams().unwrap(), []);
    held(&store, &push(Head::START, &links[..1], by(1)));
    let Appended::Gap(now) = store.append(&beyond).unwrap() else { panic!("no gap") };
    assert_eq!(now.head, links[0].head());
    held(&store, &push(links[0].head(), &links[1..2], by(1)));
    assert_eq!(held(&store, &beyond).0.head, links[5].head());
}

pub(crate) fn forks_keep_both_branches(place: &impl Place) {
    let store = place.open();
    let trunk = chain(stream(1), Head::START, 1, 3, in_visit(1));
    let left = chain(stream(1), trunk[2].head(), 10, 4, in_visit(1));
    let right = chain(stream(1), trunk[2].head(), 20, 2, in_visit(1));
    held(&store, &push(Head::START, &trunk, by(1)));
    held(&store, &push(trunk[2].head(), &left, by(1)));
    let (now, added) = held(&store, &push(trunk[2].head(), &right, by(1)));
    assert_eq!((now.head, added), (right[1].head(), 2), "the branch in question is acknowledged, not the longer one");
    assert_eq!(now.branches(), [left[3].head()]);
    assert_eq!(held(&store, &push(trunk[2].head(), &left[..1], by(1))).0.head, left[3].head());
    // Seen from a mark, its own branch; from the trunk, the longest.
    let unknown = chain(stream(1), right[1].head(), 30, 1, in_visit(1))[0].head();
    let seen = store.held(stream(1), &[unknown, right[0].head()]).unwrap();
    assert_eq!((seen.head, seen.common), (right[1].head(), right[0].head()));
    let seen = store.held(stream(1), &[unknown, trunk[0].head()]).unwrap();
    assert_eq!((seen.head, seen.common), (left[3].head(), trunk[0].head()));
    let seen = store.held(stream(1), &[unknown]).unwrap();
    assert_eq!((seen.head, seen.common), (left[3].head(), Head::START));
    let row = &store.streams().unwrap()[0];
    assert_eq!((row.entries, row.heads.len()), (9, 2));
    assert_eq!(store.sites().unwrap()[0].end.number, 9, "both branches are fed");
}

pub(crate) fn holes_hold_the_place_and_are_filled(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 4, in_visit(1));
    held(&store, &push(Head::START, &links[..1], by(1)));
    let hole = Push {
        items: vec![Offered {
            seq: Seq(2),
            hash: links[1].hash,
            previous: links[0].hash,
            content: Content::Hole { reason: "too-large".into() },
        }],
        ..push(links[0].head(), &links[1..2], by(1))
    };
    for added in [1, 0] {
        let (now, count) = held(&store, &hole);
        assert_eq!((now.head, count), (links[1].head(), added));
    }
    assert_eq!(held(&store, &push(links[1].head(), &links[2..], by(1))).0.head, links[3].head());
    let row = &store.streams().unwrap()[0];
    assert_eq!((row.entries, row.holes), (3, 1));
    assert_eq!(store.sites().unwrap()[0].end.number, 3);
    assert!(matches!(&store.kept(stream(1), links[0].head(), 1).unwrap()[..], [Kept::Hole { seq: Seq(2), .. }]));

    // The entry itself fills its hole, enters the feed after the others, and a placeholder does not push it out again.
    let (now, added) = held(&store, &push(links[0].head(), &links[1..2], by(1)));
    assert_eq!((now.head, now.branches(), added), (links[3].head(), vec![], 1));
    assert_eq!(held(&store, &hole).1, 0);
    let row = &store.streams().unwrap()[0];
    assert_eq!((row.entries, row.holes), (4, 0));
    let feed = store.feed_from(site(1), 0, 10).unwrap();
    assert_eq!(feed.iter().map(|item| item.link.seq.0).collect::<Vec<_>>(), [1, 3, 4, 2]);
}

pub(crate) fn a_claim_keeps_others_out(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 2, in_visit(1));
    held(&store, &push(Head::START, &links[..1], by(1)));
    let by_other = push(links[0].head(), &links[1..], by(2));
    assert_eq!(store.append(&by_other).unwrap(), Appended::NotYours);
    let other_token = Offerer::Token { device: device(1), token: token(9) };
    assert_eq!(store.append(&push(links[0].head(), &links[1..], other_token)).unwrap(), Appended::NotYours);
    assert!(!store.may_push(stream(1), device(2), token(2)).unwrap());
    assert!(store.may_push(stream(1), device(1), token(1)).unwrap());
    assert!(store.may_push(stream(2), device(2), token(2)).unwrap(), "nobody has claimed it");
    assert_eq!(store.streams().unwrap()[0].entries, 1);
}

pub(crate) fn linked_phones_may_push(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 2, in_visit(1));
    held(&store, &push(Head::START, &links[..1], by(1)));
    store.link(device(1), device(2), super::NOW).unwrap();
    assert_eq!(held(&store, &push(links[0].head(), &links[1..], by(2))).1, 1);
    assert!(!store.may_push(stream(1), device(3), token(3)).unwrap());
    // The link goes one way.
    let theirs = chain(stream(2), Head::START, 50, 1, in_visit(1));
    held(&store, &push(Head::START, &theirs, by(2)));
    assert!(!store.may_push(stream(2), device(1), token(1)).unwrap());
}

pub(crate) fn undecodable_entries_are_kept_and_never_fed(place: &impl Place) {
    let store = place.open();
    let one = Head::START.extend(stream(1), b"{\"from\":\"the future\"".to_vec());
    let two = one.head().extend(stream(1), vec![0, 0xD8, 0xFF]);
    let three = two.head().extend(stream(1), bytes(3, Scope::Device, super::ended()));
    let four = three.head().extend(stream(1), bytes(4, in_visit(1), super::ended()));
    let links = [one, two, three, four];
    assert_eq!(held(&store, &push(Head::START, &links, by(1))).0.head, links[3].head());
    let row = &store.streams().unwrap()[0];
    assert_eq!((row.entries, row.undecodable), (4, 2));
    let feed = store.feed_from(site(1), 0, 10).unwrap();
    assert_eq!(feed.iter().map(|item| &item.link).collect::<Vec<_>>(), [&links[3]]);
    let Kept::Entry(kept) = &store.kept(stream(1), Head::START, 1).unwrap()[0] else { panic!("a hole") };
    assert_eq!(kept.bytes, b"{\"from\":\"the future\"");
}

pub(crate) fn everything_survives_a_restart(place: &impl Place) {
    let links = chain(stream(1), Head::START, 1, 5, in_visit(1));
    let store = place.open();
    held(&store, &push(Head::START, &links[..3], by(1)));
    store.announce(stream(1), links[4].head(), by(1), super::NOW).unwrap();
    let (streams, sites, feed) =
        (store.streams().unwrap(), store.sites().unwrap(), store.feed_from(site(1), 0, 10).unwrap());
    drop(store);
    let store = place.open();
    assert_eq!(
        (store.streams().unwrap(), store.sites().unwrap(), store.feed_from(site(1), 0, 10).unwrap()),
        (streams, sites, feed)
    );
    assert_eq!(store.streams().unwrap()[0].announced, 5);
    assert_eq!(held(&store, &push(links[2].head(), &links[3..], by(1))).0.head, links[4].head());
}

pub(crate) fn a_file_claims_nothing(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 3, in_visit(1));
    held(&store, &push(Head::START, &links[..2], Offerer::File));
    assert_eq!(store.streams().unwrap()[0].standing, Standing::Unverified);
    assert_eq!(store.feed_from(site(1), 0, 1).unwrap()[0].standing, Standing::Unverified);
    // The first token claims it, and a later file does not take the claim away.
    held(&store, &push(links[1].head(), &links[2..], by(1)));
    held(&store, &push(Head::START, &links, Offerer::File));
    assert_eq!(store.streams().unwrap()[0].standing, Standing::Verified);
    assert!(!store.may_push(stream(1), device(2), token(2)).unwrap());
    // Or a coordinator confirms it.
    let other = chain(stream(2), Head::START, 9, 1, in_visit(1));
    held(&store, &push(Head::START, &other, Offerer::File));
    assert!(store.confirm(stream(2)).unwrap());
    assert_eq!(store.streams().unwrap()[1].standing, Standing::Verified);
    assert!(!store.confirm(stream(3)).unwrap());
}
