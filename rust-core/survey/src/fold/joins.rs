//! Sites and visits that turned out to be one.

use super::index::{Fold, Subject};
use crate::entry::Act;
use crate::ids::{SiteId, VisitId};
use std::collections::BTreeSet;

impl Fold {
    /// All sites joined with this one, itself among them. The smallest names the group.
    pub fn site_group(&self, site: SiteId) -> BTreeSet<SiteId> {
        group(
            site,
            &self.joined(|act| match act {
                Act::SitesJoined(join) => Some(&join.sites),
                _ => None,
            }),
        )
    }

    /// All visits joined with this one, itself among them. The smallest names the group.
    pub fn visit_group(&self, visit: VisitId) -> BTreeSet<VisitId> {
        group(
            visit,
            &self.joined(|act| match act {
                Act::VisitsJoined(join) => Some(&join.visits),
                _ => None,
            }),
        )
    }

    /// The names of the groups of visits at a site and those joined with it, in order.
    pub fn visits(&self, site: SiteId) -> BTreeSet<VisitId> {
        self.site_group(site)
            .into_iter()
            .flat_map(|member| self.visits_at(member))
            .filter_map(|visit| self.visit_group(visit).first().copied())
            .collect()
    }

    fn joined<'a, T>(&'a self, pick: impl Fn(&'a Act) -> Option<&'a BTreeSet<T>>) -> Vec<&'a BTreeSet<T>> {
        self.on(Subject::Joins).into_iter().filter_map(|kept| pick(&kept.entry.act)).collect()
    }
}

/// Everything reachable from `start` through the joins.
fn group<T: Copy + Ord>(start: T, joins: &[&BTreeSet<T>]) -> BTreeSet<T> {
    let mut group = BTreeSet::from([start]);
    let mut open: Vec<&BTreeSet<T>> = joins.to_vec();
    loop {
        let (touching, apart): (Vec<_>, Vec<_>) = open.into_iter().partition(|join| !join.is_disjoint(&group));
        if touching.is_empty() {
            return group;
        }
        group.extend(touching.into_iter().flatten());
        open = apart;
    }
}
