//! What is judged bit by bit is what is judged at once.

use super::*;
use crate::intake::whole;
use crate::pages::sites::{Lines, line};
use crate::report::invented::{self, site_id};
use crate::report::load::load_all;
use crate::store::journal::{Appended, JournalStore, Offerer, Push};
use crate::store::judgements::JudgementStore;
use crate::store::sqlite::SqliteStore;
use survey::chain::{Head, Link};

const NOW: UnixMs = UnixMs(1_784_000_000_000);

/// The journals of several phones, cut into batches and interleaved: the first of each, the second of each, and so on.
fn batches(links: &[Link], most: usize) -> Vec<Vec<Link>> {
    let mut streams: BTreeMap<StreamId, Vec<Link>> = BTreeMap::new();
    for link in links {
        streams.entry(link.stream).or_default().push(link.clone());
    }
    let longest = streams.values().map(Vec::len).max().unwrap_or(0);
    (0..longest.div_ceil(most))
        .flat_map(|at| streams.values().filter_map(move |stream| stream.chunks(most).nth(at).map(<[Link]>::to_vec)))
        .collect()
}

fn push(store: &SqliteStore, batch: &[Link]) {
    let after = match batch[0].seq.0 {
        1 => Head::START,
        seq => Head { seq: survey::chain::Seq(seq - 1), hash: batch[0].previous },
    };
    let items = batch.iter().cloned().map(whole).collect();
    let push = Push { stream: batch[0].stream, after, items, by: Offerer::File, received: NOW };
    assert!(matches!(store.append(&push).unwrap(), Appended::Held { added, .. } if added == batch.len()));
}

fn stands(store: &SqliteStore, site: SiteId) {
    let stored = Opinion { judged: store.judged(site).unwrap().unwrap(), rulings: store.rulings(site).unwrap() };
    assert_eq!(stored, opinion(store, site).unwrap());
}

#[test]
fn judging_batch_by_batch_comes_to_what_a_fold_from_nothing_says() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open(&folder.path().join("s.sqlite")).unwrap();
    let (judge, links) = (Judge::default(), invented::full());
    for (at, batch) in batches(&links, 17).iter().enumerate() {
        push(&store, batch);
        judge.bring_up_to_date(&store, None, NOW).unwrap();
        assert_eq!(store.due(RULES_VERSION, None).unwrap(), []);
        if at % 5 == 0 {
            store.sites().unwrap().iter().for_each(|row| stands(&store, row.site));
        }
    }
    store.sites().unwrap().iter().for_each(|row| stands(&store, row.site));
    assert!(!store.rulings(site_id(1)).unwrap().is_empty(), "the invented season has something odd");
    assert_eq!(judge.kept(), links.len(), "all of it is kept, for it is little");
}

#[test]
fn a_site_is_due_when_its_feed_has_grown_or_the_rules_have_changed() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open(&folder.path().join("s.sqlite")).unwrap();
    let batches = batches(&invented::full(), 60);
    push(&store, &batches[0]);
    let due = store.due(RULES_VERSION, None).unwrap();
    assert!(!due.is_empty());
    let stranger = StreamId { epoch: survey::ids::Epoch::from_octets([0; 16]), ..batches[0][0].stream };
    assert_eq!(store.due(RULES_VERSION, Some(stranger)).unwrap(), []);
    let judge = Judge::default();
    judge.bring_up_to_date(&store, Some(batches[0][0].stream), NOW).unwrap();
    assert_eq!(store.due(RULES_VERSION, None).unwrap(), []);
    assert_eq!(store.due(RULES_VERSION + 1, None).unwrap(), due);
    for batch in &batches[1..] {
        push(&store, batch);
    }
    assert!(!store.due(RULES_VERSION, None).unwrap().is_empty());
    // Another process has judged meanwhile, from nothing.
    bring_up_to_date(&store, NOW).unwrap();
    assert_eq!(judge.bring_up_to_date(&store, None, NOW).unwrap(), 0);
    for row in store.sites().unwrap() {
        assert_eq!(judge.judge(&store, row.site, NOW).unwrap(), 0, "nothing is left to say");
        stands(&store, row.site);
    }
}

#[test]
fn lines_of_the_overview_follow_the_feeds_and_what_may_enter_estimates() {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::open(&folder.path().join("s.sqlite")).unwrap();
    let (overview, links) = (Lines::default(), invented::full());
    let fresh = |store: &SqliteStore| -> Vec<_> { load_all(store).unwrap().iter().map(line).collect() };
    for batch in batches(&links, 120) {
        push(&store, &batch);
        let kept = overview.bring_up_to_date(&store, |_| true).unwrap();
        assert!(kept.iter().any(|line| line.outstanding.iter().any(|(id, _)| *id == "sites.unverified")));
        assert_eq!(without_photos(kept), fresh(&store));
    }
    for stream in store.unverified_streams().unwrap() {
        assert!(store.confirm(stream).unwrap());
        assert_eq!(without_photos(overview.bring_up_to_date(&store, |_| true).unwrap()), fresh(&store));
    }
    assert_eq!(store.unverified_streams().unwrap(), []);
    assert_eq!(overview.bring_up_to_date(&store, |_| false).unwrap(), [], "what may not be read is not told");
}

fn without_photos(mut lines: Vec<crate::pages::sites::SiteLine>) -> Vec<crate::pages::sites::SiteLine> {
    for line in &mut lines {
        line.outstanding.retain(|(id, _)| *id != "sites.photos-to-come");
    }
    lines
}
