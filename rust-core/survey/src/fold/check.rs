//! A plant check, from the entries on it.

use super::index::{Fold, Kept, Subject};
use super::register::{Agreement, Register};
use super::state::{CheckState, Standing, Tally};
use crate::check::{CheckDescription, Counted, Extent, PlantOpened};
use crate::defect::{Defect, planted};
use crate::entry::Act;
use crate::finding::Finding;
use crate::ids::{CheckId, EntryId, VisitId};
use crate::protocol::{Host, Unit};
use std::collections::BTreeSet;

impl Fold {
    /// State of one check, its standing beside other checks left to [`Fold::visit`]. `None` where no entry with
    /// effect is on it. Where joins that were taken back left entries on it in several visits, that of the visit in
    /// which it was begun.
    pub fn check(&self, id: CheckId) -> Option<CheckState> {
        let within = self.visits_with(id).filter_map(|visit| self.check_and_findings(id, &self.visit_group(visit)));
        within.map(|(check, _)| check).max_by_key(|check| (check.opened.is_some(), std::cmp::Reverse(check.visit)))
    }

    /// State of one check within a group of joined visits, and what looks odd about it. Entries on it in other visits,
    /// as a join that was taken back may leave them, are not of this group: a phone need not have them.
    pub(super) fn check_and_findings(
        &self,
        id: CheckId,
        members: &BTreeSet<VisitId>,
    ) -> Option<(CheckState, Vec<Finding>)> {
        let subjects: Vec<Subject> = members.iter().map(|&member| Subject::Check(member, id)).collect();
        let mut on: Vec<&Kept> = subjects.iter().flat_map(|&subject| self.on(subject)).collect();
        on.sort_unstable_by_key(|kept| kept.key);
        let first = on.first()?;
        let visit = on.iter().find_map(|kept| opened(kept).and(kept.entry.scope.visit()));
        let visit: VisitId = visit.or_else(|| on.iter().find_map(|kept| kept.entry.scope.visit()))?;
        let beginning = on.iter().find(|kept| opened(kept).is_some());
        let end = on.iter().rev().find(|kept| matches!(kept.entry.act, Act::PlantClosed(_)));
        let closed = end.and_then(|kept| match &kept.entry.act {
            Act::PlantClosed(closed) => Some(closed),
            _ => None,
        });
        let mut findings = Vec::new();
        let mut fields = Fields { fold: self, subjects, by: BTreeSet::new(), conflict: None };
        let mut check = CheckState {
            id,
            visit,
            device: on.iter().map(|kept| kept.key.stream.device).min().unwrap_or(first.key.stream.device),
            number: beginning.and_then(|kept| opened(kept)).map_or(0, |opened| opened.number),
            unit: beginning.and_then(|kept| opened(kept)).map_or(Unit::Stem, |opened| opened.unit),
            plant: beginning.and_then(|kept| opened(kept)).and_then(|opened| opened.plant),
            opened: beginning.map(|kept| kept.entry.wall),
            took_ms: beginning.zip(end).and_then(|(beginning, end)| between(beginning, end)),
            host: fields.take(|act| match act {
                Act::PlantOpened(opened) => opened.host.as_ref(),
                _ => described(act)?.host.as_ref(),
            }),
            stems: fields.take(|act| described(act)?.stems.as_ref()),
            height_cm: fields.take(|act| described(act)?.height_cm.as_ref()),
            bbch: fields.take(|act| described(act)?.bbch.as_ref()),
            condition: fields.take(|act| described(act)?.condition.as_ref()),
            fate: fields.take(|act| described(act)?.fate.as_ref()),
            open_flowers: fields.take(|act| described(act)?.open_flowers.as_ref()),
            company: fields.take(|act| described(act)?.company.as_ref()).unwrap_or_default(),
            described_by: Vec::new(),
            extent: closed.map(|closed| closed.extent),
            seen_empty: closed.and_then(|closed| closed.empty),
            tally: Tally::default(),
            standing: Standing::NotOpened,
        };
        check.described_by = fields.by.into_iter().collect();
        if fields.conflict.is_some() {
            findings.push(Finding::ConflictingValues { check: Some(id) });
        }
        for kept in &on {
            if let Act::Counted(counted) = &kept.entry.act {
                self.add_count(kept, counted, &mut check.tally, &mut findings);
            }
        }
        if planted(Defect::TakeBackTwice) {
            self.subtract_again(id, members, &mut check.tally);
        }
        check.standing = standing(&check, beginning.is_some());
        Some((check, findings))
    }

    /// The mistake of a fold that subtracts for each take-back instead of asking whether there is one.
    fn subtract_again(&self, id: CheckId, members: &BTreeSet<VisitId>, tally: &mut Tally) {
        for kept in self.entries() {
            if let Act::Counted(counted) = &kept.entry.act
                && counted.check == id
                && kept.entry.scope.visit().is_some_and(|visit| members.contains(&visit))
            {
                for _ in self.on(Subject::Takers(kept.entry.id)).iter().skip(1) {
                    tally.subtract(&counted.what, counted.state, u64::from(counted.number));
                }
            }
        }
    }

    /// Adds what a count stands for: itself, or what the review in force says.
    fn add_count(&self, kept: &Kept, counted: &Counted, tally: &mut Tally, findings: &mut Vec<Finding>) {
        let review = self.register([Subject::Count(kept.entry.id)], super::counts::instead);
        match review {
            None => tally.add(counted.what.clone(), counted.state, u64::from(counted.number)),
            Some(Register { value, agreement, .. }) => {
                for (what, &number) in value.iter().filter(|(_, number)| **number > 0) {
                    tally.add(what.clone(), counted.state, u64::from(number));
                }
                if agreement == Agreement::Conflict {
                    findings.push(Finding::ReviewsDiffer { check: counted.check, count: kept.entry.id });
                }
            }
        }
    }
}

/// Milliseconds from one entry to a later one by the time since boot; `None` across a restart.
pub(super) fn between(from: &Kept, to: &Kept) -> Option<u64> {
    let (from, to) = (from.entry.since_boot, to.entry.since_boot);
    (from.boot == to.boot).then(|| to.ms.checked_sub(from.ms)).flatten()
}

/// Reads fields of one subject and remembers who holds them.
pub(super) struct Fields<'a> {
    pub(super) fold: &'a Fold,
    pub(super) subjects: Vec<Subject>,
    pub(super) by: BTreeSet<EntryId>,
    pub(super) conflict: Option<EntryId>,
}

impl<'a> Fields<'a> {
    pub(super) fn take<T: Clone + PartialEq + 'a>(&mut self, pick: impl Fn(&'a Act) -> Option<&'a T>) -> Option<T> {
        let register = self.fold.register(self.subjects.iter().copied(), pick)?;
        self.by.insert(register.by);
        self.by.extend(register.also.iter().copied());
        if register.agreement == Agreement::Conflict {
            self.conflict = Some(register.by);
        }
        Some(register.cloned())
    }
}

const fn opened(kept: &Kept) -> Option<&PlantOpened> {
    match &kept.entry.act {
        Act::PlantOpened(opened) => Some(opened),
        _ => None,
    }
}

const fn described(act: &Act) -> Option<&CheckDescription> {
    match act {
        Act::PlantDescribed(described) => Some(&described.description),
        _ => None,
    }
}

fn standing(check: &CheckState, has_beginning: bool) -> Standing {
    match (check.extent, &check.host) {
        _ if !has_beginning => Standing::NotOpened,
        (_, Some(Host::NotMilkweed)) => Standing::NotMilkweed,
        (None, _) => Standing::Open,
        (Some(Extent::Part), _) => Standing::Part,
        (Some(Extent::Refused(_)), _) => Standing::Refused,
        (Some(Extent::Whole), _) => Standing::Enters,
    }
}
