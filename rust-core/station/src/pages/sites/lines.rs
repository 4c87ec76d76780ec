//! The lines of the overview, kept until the feeds that they come from have grown.

use super::{SiteLine, line};
use crate::report::load::load;
use crate::store::journal::FeedCursor;
use crate::store::{Store, StoreError};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};
use survey::chain::StreamId;
use survey::ids::SiteId;

/// Lines of the overview from one request to the next: one for each site or group of joined sites.
#[derive(Debug, Default)]
pub struct Lines {
    kept: Mutex<BTreeMap<SiteId, Kept>>,
}

#[derive(Debug, Clone)]
struct Kept {
    line: SiteLine,
    /// The sites that it comes from, and where their feeds ended.
    ends: BTreeMap<SiteId, Option<FeedCursor>>,
    /// The streams that could not enter estimates then, where the line says that it has entries of such.
    unverified: Option<Vec<StreamId>>,
}

impl Lines {
    /// The lines of all sites of which every one may be read, joined sites once, in order of id. Only sites whose feeds
    /// have grown since are folded.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn bring_up_to_date(
        &self,
        store: &dyn Store,
        may_read: impl Fn(SiteId) -> bool,
    ) -> Result<Vec<SiteLine>, StoreError> {
        let ends: BTreeMap<SiteId, FeedCursor> = store.sites()?.into_iter().map(|row| (row.site, row.end)).collect();
        let unverified = store.unverified_streams()?;
        let mut seen: BTreeSet<SiteId> = BTreeSet::new();
        let mut lines = Vec::new();
        for &site in ends.keys() {
            if seen.contains(&site) {
                continue;
            }
            let kept = match self.known(site).filter(|kept| kept.holds(&ends, &unverified)) {
                Some(kept) => kept,
                None => match Kept::load(store, site, &ends, &unverified)? {
                    Some(kept) => kept,
                    None => continue,
                },
            };
            self.kept.lock().unwrap_or_else(PoisonError::into_inner).insert(site, kept.clone());
            seen.extend(kept.ends.keys());
            if !kept.ends.keys().all(|&member| may_read(member)) {
                continue;
            }
            let to_come = kept.ends.keys().map(|&member| store.photos_to_come(member)).sum::<Result<u64, _>>()?;
            lines.push(kept.line.with_photos_to_come(to_come));
        }
        Ok(lines)
    }

    fn known(&self, site: SiteId) -> Option<Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner).get(&site).cloned()
    }
}

impl Kept {
    fn load(
        store: &dyn Store,
        site: SiteId,
        ends: &BTreeMap<SiteId, FeedCursor>,
        unverified: &[StreamId],
    ) -> Result<Option<Self>, StoreError> {
        // What comes while it is read is read again the next time: the ends are those from before.
        let Some(loaded) = load(store, site)? else { return Ok(None) };
        Ok(Some(Self {
            line: line(&loaded),
            ends: loaded.site.members.iter().map(|&member| (member, ends.get(&member).copied())).collect(),
            unverified: (loaded.unverified > 0).then(|| unverified.to_vec()),
        }))
    }

    fn holds(&self, ends: &BTreeMap<SiteId, FeedCursor>, unverified: &[StreamId]) -> bool {
        self.ends.iter().all(|(member, end)| ends.get(member) == end.as_ref())
            && self.unverified.as_ref().is_none_or(|then| then == unverified)
    }
}
