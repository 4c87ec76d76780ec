//! Which visits a few more entries can have changed, so that the others need not be folded again.

use super::index::{Fold, Kept, Subject};
use crate::check::PhotoOf;
use crate::entry::{Act, Scope};
use crate::ids::{CheckId, EntryId, PhotoId, VisitId};
use std::collections::BTreeSet;

/// Visits whose state may have changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Touched {
    /// These, each by the name of its group; the state of every other visit is what it was.
    Visits(BTreeSet<VisitId>),
    /// Any: groups of visits may have changed, or an id is used twice.
    Any,
}

impl Fold {
    /// The visits whose state may have changed by these entries, which were put in last, in any order.
    ///
    /// An entry changes the visit that its scope names. It changes another one where both name the same plant check or
    /// photo, which only damaged or foreign data do, or where an entry there names it.
    pub fn touched(&self, fresh: &[EntryId]) -> Touched {
        let mut visits = BTreeSet::new();
        for &id in fresh {
            let Some(kept) = self.entry(id).filter(|_| !self.has_twin(id)) else { return Touched::Any };
            visits.extend(kept.entry.scope.visit());
            // Those that name it were perhaps here before it.
            visits.extend(self.visits_on(Subject::Takers(id)));
            visits.extend(self.visits_on(Subject::Count(id)));
            match self.reach(kept) {
                Reach::Check(check) => visits.extend(self.visits_with(check)),
                Reach::Photo(photo) => visits.extend(self.visits_on(Subject::Photo(photo))),
                Reach::Picture(photo, count) => {
                    visits.extend(self.visits_on(Subject::Photo(photo)));
                    visits.extend(count.into_iter().flat_map(|count| self.visits_on(Subject::Count(count))));
                }
                Reach::Own(scope) => visits.extend(scope.visit()),
                Reach::Groups => return Touched::Any,
            }
        }
        Touched::Visits(visits.into_iter().filter_map(|visit| self.visit_group(visit).first().copied()).collect())
    }

    /// What an entry is about beyond its scope, through whatever it takes back or reviews.
    fn reach<'a>(&'a self, kept: &'a Kept) -> Reach {
        let mut at = kept;
        // A chain of take-backs ends where it is in order; the bound is for one that is not.
        for _ in 0..=self.len() {
            let target = match &at.entry.act {
                Act::TakenBack(taken) => taken.target,
                Act::Reviewed(review) => review.count,
                Act::SitesJoined(_) | Act::VisitsJoined(_) => return Reach::Groups,
                Act::PlantOpened(opened) => return Reach::Check(opened.check),
                Act::Counted(counted) => return Reach::Check(counted.check),
                Act::PlantDescribed(described) => return Reach::Check(described.check),
                Act::PlantClosed(closed) => return Reach::Check(closed.check),
                Act::AuditJudged(judged) => return Reach::Photo(judged.photo),
                Act::PhotoLost(lost) => return Reach::Photo(lost.photo),
                Act::PhotoTaken(photo) => return Reach::Picture(photo.photo, pictured(&photo.of)),
                _ => return Reach::Own(at.entry.scope),
            };
            match self.entry(target) {
                Some(next) => at = next,
                None => return Reach::Own(at.entry.scope),
            }
        }
        Reach::Groups
    }

    fn visits_on(&self, subject: Subject) -> impl Iterator<Item = VisitId> {
        self.all_on(subject).filter_map(|kept| kept.entry.scope.visit())
    }
}

enum Reach {
    Check(CheckId),
    Photo(PhotoId),
    Picture(PhotoId, Option<EntryId>),
    Own(Scope),
    Groups,
}

const fn pictured(of: &PhotoOf) -> Option<EntryId> {
    match of {
        PhotoOf::Count(count) => Some(*count),
        PhotoOf::Check(_) | PhotoOf::OutsideFind(_) | PhotoOf::Site => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::Entry;
    use crate::fold::laws::{SITE, fold, play, script};
    use crate::fold::{Inserted, VisitState};
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    fn states(fold: &Fold) -> BTreeMap<VisitId, VisitState> {
        fold.visits(SITE).into_iter().filter_map(|visit| Some((visit, fold.visit(visit)?))).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(600))]

        #[test]
        fn what_is_not_touched_is_what_it_was(
            links in script().prop_map(|script| play(&script)).prop_flat_map(|links| Just(links).prop_shuffle()),
            at in any::<prop::sample::Index>(),
        ) {
            let (before, after) = links.split_at(at.index(links.len() + 1));
            let mut fold = fold(before);
            let mut known = states(&fold);
            let mut fresh = Vec::new();
            for link in after {
                if fold.insert(link).unwrap() == Inserted::Added {
                    fresh.push(Entry::decode(&link.bytes).unwrap().id);
                }
            }
            if let Touched::Visits(touched) = fold.touched(&fresh) {
                for visit in touched {
                    known.insert(visit, fold.visit(visit).unwrap());
                }
                prop_assert_eq!(known, states(&fold));
            }
        }
    }
}
