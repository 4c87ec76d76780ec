//! A site's state out of the store: its own feed, and those of the sites joined with it.

use crate::judge::{Which, fold_into};
use crate::store::{Store, StoreError};
use std::collections::BTreeSet;
use survey::fold::{Fold, SiteState, VisitState};
use survey::ids::SiteId;

/// A site folded twice: all of it, to be shown, and what may enter estimates.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// All that is known of the site.
    pub site: SiteState,
    /// All of its visits, by start.
    pub visits: Vec<VisitState>,
    /// The visits as the streams that may enter estimates have them.
    pub verified: Vec<VisitState>,
    /// Entries folded.
    pub entries: u64,
    /// Entries of streams that may not enter estimates yet.
    pub unverified: u64,
}

/// The site with this id, or the group that it is joined with; `None` if nothing is known of it.
///
/// # Errors
/// Where the store cannot.
pub fn load(store: &dyn Store, site: SiteId) -> Result<Option<Loaded>, StoreError> {
    let (all, unverified) = fold_group(store, site, Which::All)?;
    let Some(state) = all.site(site) else {
        return Ok(None);
    };
    let visits_of_all = visits(&all, state.id);
    let verified = match unverified {
        0 => visits_of_all.clone(),
        _ => visits(&fold_group(store, site, Which::Verified)?.0, state.id),
    };
    Ok(Some(Loaded { visits: visits_of_all, verified, site: state, entries: all.len() as u64, unverified }))
}

/// Every site, joined ones once, in order of id.
///
/// # Errors
/// Where the store cannot.
pub fn load_all(store: &dyn Store) -> Result<Vec<Loaded>, StoreError> {
    let mut seen: BTreeSet<SiteId> = BTreeSet::new();
    let mut all = Vec::new();
    for row in store.sites()? {
        if seen.contains(&row.site) {
            continue;
        }
        if let Some(loaded) = load(store, row.site)? {
            seen.extend(&loaded.site.members);
            all.push(loaded);
        }
    }
    Ok(all)
}

/// All entries of a site and of those joined with it, folded.
///
/// # Errors
/// Where the store cannot.
pub fn fold_of_group(store: &dyn Store, site: SiteId) -> Result<Fold, StoreError> {
    Ok(fold_group(store, site, Which::All)?.0)
}

fn visits(fold: &Fold, site: SiteId) -> Vec<VisitState> {
    let mut visits: Vec<VisitState> = fold.visits(site).into_iter().filter_map(|visit| fold.visit(visit)).collect();
    visits.sort_by_key(|visit| (visit.started, visit.id));
    visits
}

/// Folds feed after feed until no joined site is left out, and counts the entries that may not enter estimates.
fn fold_group(store: &dyn Store, site: SiteId, which: Which) -> Result<(Fold, u64), StoreError> {
    let mut fold = Fold::new();
    let mut unverified = fold_into(&mut fold, store, site, which)?;
    let mut folded = BTreeSet::from([site]);
    while let Some(next) = fold.site_group(site).into_iter().find(|member| !folded.contains(member)) {
        folded.insert(next);
        unverified += fold_into(&mut fold, store, next, which)?;
    }
    Ok((fold, unverified))
}
