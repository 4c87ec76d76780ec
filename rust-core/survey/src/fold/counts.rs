//! Counts one by one: as they were entered, and what stands for them after a review.

use super::index::{Fold, Kept, Subject};
use super::register::{Agreement, Register};
use super::state::{CountState, ReviewState};
use crate::check::{Counted, Reviewed};
use crate::entry::Act;
use crate::ids::{CheckId, EntryId};

impl Fold {
    /// The counts on a plant check that are not taken back, in order.
    pub fn counts(&self, check: CheckId) -> Vec<CountState> {
        let mut on: Vec<&Kept> =
            self.visits_with(check).flat_map(|visit| self.on(Subject::Check(visit, check))).collect();
        on.sort_unstable_by_key(|kept| kept.key);
        on.into_iter().filter_map(|kept| self.count_of(kept)).collect()
    }

    /// One count, `None` where this entry is no count, is not here, or has no effect.
    pub fn count(&self, entry: EntryId) -> Option<CountState> {
        let kept = self.entry(entry)?;
        if self.is_void(entry) || self.no_effect(kept).is_some() {
            return None;
        }
        self.count_of(kept)
    }

    fn count_of(&self, kept: &Kept) -> Option<CountState> {
        let Act::Counted(Counted { check, what, number, state, .. }) = &kept.entry.act else { return None };
        Some(CountState {
            entry: kept.entry.id,
            scope: kept.entry.scope,
            hybrid: kept.entry.hybrid,
            device: kept.key.stream.device,
            at: kept.entry.wall,
            offset: kept.entry.offset,
            check: *check,
            what: what.clone(),
            number: *number,
            state: *state,
            review: self.review_of(kept.entry.id),
        })
    }

    /// The review in force on a count.
    fn review_of(&self, count: EntryId) -> Option<ReviewState> {
        let Register { by, also, agreement, .. } = self.register([Subject::Count(count)], instead)?;
        let kept = self.entry(by)?;
        let Act::Reviewed(Reviewed { instead, reason, by: reviewer, .. }) = &kept.entry.act else { return None };
        Some(ReviewState {
            entry: by,
            hybrid: kept.entry.hybrid,
            device: kept.key.stream.device,
            at: kept.entry.wall,
            by: *reviewer,
            instead: instead.clone(),
            reason: *reason,
            differs: agreement == Agreement::Conflict,
            also,
        })
    }
}

/// What a review says stands for a count. Reviews that say the same for different reasons do not differ.
pub(super) const fn instead(act: &Act) -> Option<&std::collections::BTreeMap<crate::stage::What, u32>> {
    match act {
        Act::Reviewed(review) => Some(&review.instead),
        _ => None,
    }
}
