//! A site folded as far as its feed went.

use super::rulings::rulings;
use super::{Opinion, PAGE, RULES_VERSION};
use crate::store::journal::{Fed, FeedCursor};
use crate::store::judgements::Judged;
use crate::store::{Store, StoreError};
use std::collections::BTreeMap;
use survey::chain::{Hash, feed_hash};
use survey::entry::Entry;
use survey::fold::{Fold, Inserted, Touched, VisitState};
use survey::ids::{EntryId, SiteId, VisitId};

/// A site folded as far as its feed went, with the states of its visits.
#[derive(Debug)]
pub(super) struct Folded {
    site: SiteId,
    fold: Fold,
    end: FeedCursor,
    visits: BTreeMap<VisitId, Seen>,
}

/// A visit's state, and the hash of what it is in JSON.
#[derive(Debug)]
struct Seen {
    state: VisitState,
    hash: Hash,
}

impl Folded {
    /// Folds the whole feed.
    pub(super) fn from_nothing(store: &dyn Store, site: SiteId) -> Result<Self, StoreError> {
        let end = FeedCursor { number: 0, hash: Hash::ZERO };
        let mut folded = Self { site, fold: Fold::new(), end, visits: BTreeMap::new() };
        while let Some(page) = folded.page(store)? {
            folded.read(&page)?;
        }
        folded.see(&Touched::Any)?;
        Ok(folded)
    }

    /// Goes on with what the feed holds more. `None` if it holds no more, or is not the feed that was folded.
    pub(super) fn grown(mut self, store: &dyn Store) -> Result<Option<Self>, StoreError> {
        let mut fresh = Vec::new();
        while let Some(page) = self.page(store)? {
            let Some(first) = page.first() else { break };
            if feed_hash(self.site, self.end.number + 1, self.end.hash, first.link.hash) != first.feed_hash {
                return Ok(None);
            }
            fresh.extend(self.read(&page)?);
        }
        if fresh.is_empty() {
            return Ok(None);
        }
        let touched = self.fold.touched(&fresh);
        self.see(&touched)?;
        Ok(Some(self))
    }

    pub(super) fn entries(&self) -> usize {
        self.fold.len()
    }

    /// What it comes to.
    pub(super) fn opinion(&self) -> Result<Opinion, StoreError> {
        let mut summary = json(self.site, &self.fold.site(self.site))?.0.to_vec();
        for (visit, seen) in &self.visits {
            summary.extend(visit.octets());
            summary.extend(seen.hash.0);
        }
        let judged = Judged { upto: self.end.number, fold_version: RULES_VERSION, summary: Hash::plain(&summary) };
        let visits: Vec<&VisitState> = self.visits.values().map(|seen| &seen.state).collect();
        Ok(Opinion { judged, rulings: rulings(&self.fold, &visits) })
    }

    fn page(&self, store: &dyn Store) -> Result<Option<Vec<Fed>>, StoreError> {
        let page = store.feed_from(self.site, self.end.number, PAGE)?;
        Ok(Some(page).filter(|page| !page.is_empty()))
    }

    fn read(&mut self, page: &[Fed]) -> Result<Vec<EntryId>, StoreError> {
        let mut fresh = Vec::with_capacity(page.len());
        for item in page {
            let entry = decode(item)?;
            let id = entry.id;
            let link = &item.link;
            match self.fold.insert_entry(link.stream, link.seq, link.hash, entry) {
                Inserted::Added => fresh.push(id),
                Inserted::Repeated => {}
            }
            self.end = FeedCursor { number: item.number, hash: item.feed_hash };
        }
        Ok(fresh)
    }

    /// Computes the states of the visits that were touched.
    fn see(&mut self, touched: &Touched) -> Result<(), StoreError> {
        let touched = match touched {
            Touched::Visits(visits) => visits.clone(),
            Touched::Any => {
                self.visits.clear();
                self.fold.visits(self.site)
            }
        };
        for visit in touched {
            match self.fold.visit(visit) {
                Some(state) => {
                    let hash = json(self.site, &state)?;
                    self.visits.insert(visit, Seen { state, hash });
                }
                None => drop(self.visits.remove(&visit)),
            }
        }
        Ok(())
    }
}

/// Puts an item of a feed into a fold.
pub(super) fn put(fold: &mut Fold, item: &Fed) -> Result<(), StoreError> {
    let entry = decode(item)?;
    fold.insert_entry(item.link.stream, item.link.seq, item.link.hash, entry);
    Ok(())
}

fn decode(item: &Fed) -> Result<Entry, StoreError> {
    Entry::decode(&item.link.bytes).map_err(|error| {
        let stream = item.link.stream;
        let place = format!("entry {} of stream {}/{}", item.link.seq, stream.device, stream.epoch);
        StoreError::Damaged { reason: format!("{place} was fed and does not decode: {error}") }
    })
}

fn json(site: SiteId, state: &impl serde::Serialize) -> Result<Hash, StoreError> {
    let text = serde_json::to_vec(state)
        .map_err(|error| StoreError::Damaged { reason: format!("the state of site {site}: {error}") })?;
    Ok(Hash::plain(&text))
}
