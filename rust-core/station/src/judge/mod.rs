//! Verdicts: folds a site's entries and says of each what looks odd, or why it has no effect.
//!
//! Pushes are accepted first and judged later. What was folded stays in memory up to a bound, so that the next judging
//! costs what has come since; nothing of it is kept over a restart, and `leafturn check` compares the outcome with a
//! fold from nothing.

mod folded;
mod rulings;

use crate::store::journal::Standing;
use crate::store::judgements::{EntryRuling, Judged};
use crate::store::{Store, StoreError};
use folded::Folded;
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};
use survey::chain::StreamId;
use survey::fold::Fold;
use survey::ids::SiteId;
use survey::time::UnixMs;

/// Version of the fold, of the rules by which findings become rulings, and of the summary; another version judges every
/// site again.
pub const RULES_VERSION: u32 = 2;

/// The reason in the verdict on an entry that this version cannot read.
pub const NOT_DECODABLE: &str = "not-decodable";

/// Entries kept folded in memory at most; one takes about 1 KiB.
pub const MOST_KEPT: usize = 50_000;

/// Items read from a feed at once.
const PAGE: usize = 1000;

/// Which entries of a site are folded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// All, for showing and judging.
    All,
    /// Those of streams that may enter estimates.
    Verified,
}

/// A site folded and ruled on.
#[derive(Debug, PartialEq, Eq)]
pub struct Opinion {
    /// How far, and what the state came to.
    pub judged: Judged,
    /// Rulings other than `Accepted`, in the order of (device, epoch, seq, hash).
    pub rulings: Vec<EntryRuling>,
}

/// Gives verdicts, and remembers what it folded last. It judges one site at a time: two threads would fold the same.
#[derive(Debug, Default)]
pub struct Judge {
    memory: Mutex<Memory>,
}

#[derive(Debug, Default)]
struct Memory {
    sites: BTreeMap<SiteId, (u64, Folded)>,
    /// How often something was judged: the age of what is in memory.
    turn: u64,
}

impl Judge {
    /// Gives verdicts on a site, if its feed has grown since it was judged, and says how many were added.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn judge(&self, store: &dyn Store, site: SiteId, now: UnixMs) -> Result<usize, StoreError> {
        let mut memory = self.memory.lock().unwrap_or_else(PoisonError::into_inner);
        // It comes back only when all has gone well.
        let known = memory.sites.remove(&site).map(|(_, folded)| folded);
        let grown = known.map(|folded| folded.grown(store)).transpose()?.flatten();
        let folded = match grown {
            Some(folded) => folded,
            None => Folded::from_nothing(store, site)?,
        };
        let opinion = folded.opinion()?;
        let added = store.judge(site, opinion.judged, &opinion.rulings, now)?;
        memory.keep(site, folded);
        Ok(added)
    }

    /// Gives verdicts on every site that lacks them, or on those alone in which a stream has entries.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn bring_up_to_date(
        &self,
        store: &dyn Store,
        stream: Option<StreamId>,
        now: UnixMs,
    ) -> Result<usize, StoreError> {
        let due = store.due(RULES_VERSION, stream)?;
        due.into_iter().map(|site| self.judge(store, site, now)).sum()
    }

    /// How many entries are folded in memory.
    pub fn kept(&self) -> usize {
        self.memory.lock().unwrap_or_else(PoisonError::into_inner).entries()
    }
}

impl Memory {
    fn keep(&mut self, site: SiteId, folded: Folded) {
        self.turn += 1;
        self.sites.insert(site, (self.turn, folded));
        while self.entries() > MOST_KEPT {
            let oldest = self.sites.iter().min_by_key(|(_, (turn, _))| *turn).map(|(site, _)| *site);
            let Some(oldest) = oldest else { return };
            self.sites.remove(&oldest);
        }
    }

    fn entries(&self) -> usize {
        self.sites.values().map(|(_, folded)| folded.entries()).sum()
    }
}

/// Gives verdicts on every site whose feed has grown since it was judged, and says how many were added.
///
/// # Errors
/// Where the store cannot.
pub fn bring_up_to_date(store: &dyn Store, now: UnixMs) -> Result<usize, StoreError> {
    Judge::default().bring_up_to_date(store, None, now)
}

/// What a site's entries come to, from nothing.
///
/// # Errors
/// Where the store cannot.
pub fn opinion(store: &dyn Store, site: SiteId) -> Result<Opinion, StoreError> {
    Folded::from_nothing(store, site)?.opinion()
}

/// Folds the entries of a site's feed. Entries whose bytes this version cannot read are never fed.
///
/// # Errors
/// Where the store cannot, or a fed entry does not decode, which means damage.
pub fn fold_site(store: &dyn Store, site: SiteId, which: Which) -> Result<Fold, StoreError> {
    let mut fold = Fold::new();
    fold_into(&mut fold, store, site, which)?;
    Ok(fold)
}

/// Puts the entries of a site's feed into a fold, and says how many of the feed are of streams that may not enter
/// estimates.
///
/// # Errors
/// As [`fold_site`].
pub fn fold_into(fold: &mut Fold, store: &dyn Store, site: SiteId, which: Which) -> Result<u64, StoreError> {
    let (mut upto, mut unverified) = (0, 0);
    loop {
        let page = store.feed_from(site, upto, PAGE)?;
        let Some(last) = page.last() else { return Ok(unverified) };
        upto = last.number;
        for item in &page {
            unverified += u64::from(item.standing == Standing::Unverified);
            match (which, item.standing) {
                (Which::Verified, Standing::Unverified) => {}
                (Which::All, _) | (Which::Verified, Standing::Verified) => folded::put(fold, item)?,
            }
        }
    }
}

#[cfg(test)]
mod tests;
