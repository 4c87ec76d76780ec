//! Laws of feeds.

use super::{Place, by, chain, held, in_visit, push, site, stream};
use crate::store::journal::{FeedCursor, FeedPage, JournalStore};
use survey::chain::{Hash, Head, feed_hash};

const START: FeedCursor = FeedCursor { number: 0, hash: Hash::ZERO };

pub(crate) fn a_feed_is_chained_in_the_order_of_commits(place: &impl Place) {
    let store = place.open();
    let (a, b) = (chain(stream(1), Head::START, 1, 4, in_visit(1)), chain(stream(2), Head::START, 50, 2, in_visit(1)));
    let elsewhere = chain(stream(2), b[1].head(), 60, 2, in_visit(2));
    held(&store, &push(Head::START, &a[..2], by(1)));
    held(&store, &push(Head::START, &b, by(2)));
    held(&store, &push(b[1].head(), &elsewhere, by(2)));
    held(&store, &push(a[1].head(), &a[2..], by(1)));
    let FeedPage::Items { items, end } = store.feed_after(site(1), START, 100, usize::MAX).unwrap() else { panic!() };
    let expected: Vec<_> = a[..2].iter().chain(&b).chain(&a[2..]).collect();
    assert_eq!(items.iter().map(|item| &item.link).collect::<Vec<_>>(), expected);
    let mut hash = Hash::ZERO;
    for (item, number) in items.iter().zip(1..) {
        hash = feed_hash(site(1), number, hash, item.link.hash);
        assert_eq!((item.number, item.feed_hash), (number, hash));
    }
    assert_eq!(end, FeedCursor { number: 6, hash });
    assert_eq!(store.sites().unwrap().iter().map(|site| site.end.number).collect::<Vec<_>>(), [6, 2]);
    let rest = FeedPage::Items { items: items[4..].to_vec(), end };
    let cursor = FeedCursor { number: 4, hash: items[3].feed_hash };
    assert_eq!(store.feed_after(site(1), cursor, 100, usize::MAX).unwrap(), rest);
    assert_eq!(store.feed_after(site(1), end, 100, usize::MAX).unwrap(), FeedPage::Items { items: vec![], end });
    assert_eq!(
        store.feed_after(site(9), START, 100, usize::MAX).unwrap(),
        FeedPage::Items { items: vec![], end: START }
    );
}

pub(crate) fn a_cursor_of_another_feed_restarts(place: &impl Place) {
    let store = place.open();
    held(&store, &push(Head::START, &chain(stream(1), Head::START, 1, 3, in_visit(1)), by(1)));
    for (number, hash) in [(2, Hash([7; 32])), (4, Hash([7; 32])), (u64::MAX, Hash::ZERO)] {
        let page = store.feed_after(site(1), FeedCursor { number, hash }, 100, usize::MAX).unwrap();
        assert_eq!(page, FeedPage::Restarted, "{number}");
    }
}

pub(crate) fn pages_keep_to_their_limits(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 9, in_visit(1));
    held(&store, &push(Head::START, &links, by(1)));
    let size = links[0].bytes.len();
    for (most, most_bytes, expected) in [(4, usize::MAX, 4), (100, 3 * size, 3), (100, 1, 1), (100, usize::MAX, 9)] {
        let FeedPage::Items { items, end } = store.feed_after(site(1), START, most, most_bytes).unwrap() else {
            panic!()
        };
        assert_eq!((items.len(), end.number), (expected, 9), "{most} {most_bytes}");
    }
}
