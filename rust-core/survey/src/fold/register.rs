//! Values that replace one another.

use super::index::{Fold, Kept, Subject};
use crate::entry::Act;
use crate::ids::EntryId;
use std::collections::BTreeSet;

/// A current value and the entries that hold it.
///
/// A value is current if no entry with effect that carries the same field names its entry in `replaces`. Of several
/// current ones the latest in the order wins, and where they differ that is a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Register<T> {
    /// The value.
    pub value: T,
    /// The entry whose value it is.
    pub by: EntryId,
    /// Other current entries, whose values lost.
    pub also: Vec<EntryId>,
    /// Whether all current entries say the same.
    pub agreement: Agreement,
}

/// Whether current values are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// One value.
    One,
    /// Several that differ.
    Conflict,
}

impl Fold {
    /// The current value of the field that `pick` finds, among the entries on `subjects`.
    pub(super) fn register<'a, T: PartialEq + 'a>(
        &'a self,
        subjects: impl IntoIterator<Item = Subject>,
        pick: impl Fn(&'a Act) -> Option<&'a T>,
    ) -> Option<Register<&'a T>> {
        let holders: Vec<(&Kept, &T)> = subjects
            .into_iter()
            .flat_map(|subject| self.on(subject))
            .filter_map(|kept| pick(&kept.entry.act).map(|value| (kept, value)))
            .collect();
        let replaced: BTreeSet<EntryId> = holders
            .iter()
            .flat_map(|(kept, _)| {
                let earlier = |id: &&EntryId| self.entry(**id).is_some_and(|seen| seen.key < kept.key);
                kept.entry.replaces.iter().filter(earlier).copied()
            })
            .collect();
        let mut current: Vec<_> = holders.into_iter().filter(|(kept, _)| !replaced.contains(&kept.entry.id)).collect();
        current.sort_unstable_by_key(|(kept, _)| kept.key);
        let (winner, value) = current.pop()?;
        let agreement =
            if current.iter().all(|(_, other)| *other == value) { Agreement::One } else { Agreement::Conflict };
        let also = current.iter().map(|(kept, _)| kept.entry.id).collect();
        Some(Register { value, by: winner.entry.id, also, agreement })
    }
}

impl<T: Clone> Register<&T> {
    /// The value, owned.
    pub fn cloned(&self) -> T {
        self.value.clone()
    }
}
