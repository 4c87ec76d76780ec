//! Laws of verdicts.

use super::{NOW, Place, by, chain, held, in_visit, push, site, stream};
use crate::store::judgements::{EntryRuling, Judged, JudgementStore};
use survey::chain::{Hash, Head, Link};
use sync::wire::verdict::Ruling;

fn judged(upto: u64) -> Judged {
    Judged { upto, fold_version: 1, summary: Hash([9; 32]) }
}

fn odd(link: &Link, message: &str) -> EntryRuling {
    let ruling = Ruling::Findings { messages: vec![message.into()] };
    EntryRuling { stream: link.stream, at: link.head(), ruling }
}

pub(crate) fn rulings_become_verdicts_only_where_they_differ(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 3, in_visit(1));
    held(&store, &push(Head::START, &links, by(1)));
    assert_eq!(store.judged(site(1)).unwrap(), None);
    let first = [odd(&links[0], "one"), odd(&links[2], "two")];
    assert_eq!(store.judge(site(1), judged(3), &first, NOW).unwrap(), 2);
    assert_eq!(store.judge(site(1), judged(3), &first, NOW).unwrap(), 0);
    assert_eq!(store.rulings(site(1)).unwrap(), first);
    assert_eq!(store.judged(site(1)).unwrap(), Some(judged(3)));
    let second = [odd(&links[2], "three")];
    assert_eq!(store.judge(site(1), judged(4), &second, NOW).unwrap(), 2);
    assert_eq!(store.rulings(site(1)).unwrap(), second);
    assert_eq!(store.judge(site(1), judged(4), &first, NOW).unwrap(), 2, "an accepted entry may be remarked on again");

    let page = store.verdicts_after(stream(1), 2, 200).unwrap();
    assert_eq!(
        page.verdicts.iter().map(|verdict| (verdict.number, verdict.seq.0)).collect::<Vec<_>>(),
        [(3, 3), (4, 1), (5, 1), (6, 3)]
    );
    assert_eq!(page.verdicts[1].ruling, Ruling::Accepted);
    let page = store.verdicts_after(stream(1), 0, 4).unwrap();
    assert_eq!((page.verdicts.len(), page.more), (4, true));
    assert_eq!(store.last_verdict(stream(1)).unwrap(), 6);
    assert_eq!(store.last_verdict(stream(2)).unwrap(), 0);
    drop(store);
    assert_eq!(place.open().last_verdict(stream(1)).unwrap(), 6);
}

pub(crate) fn a_judge_who_saw_less_changes_nothing(place: &impl Place) {
    let store = place.open();
    let links = chain(stream(1), Head::START, 1, 3, in_visit(1));
    held(&store, &push(Head::START, &links, by(1)));
    store.judge(site(1), judged(3), &[odd(&links[0], "one")], NOW).unwrap();
    assert_eq!(store.judge(site(1), judged(2), &[], NOW).unwrap(), 0);
    assert_eq!(store.rulings(site(1)).unwrap().len(), 1);
    assert_eq!(store.judged(site(1)).unwrap(), Some(judged(3)));
}
