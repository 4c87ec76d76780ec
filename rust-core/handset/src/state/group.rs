//! The entries of one visit and those joined with it, folded.

use crate::error::Error;
use crate::journal::rows;
use rusqlite::{Connection, OptionalExtension};
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Link, StreamId};
use survey::entry::{Act, Entry, Scope};
use survey::fold::{CheckState, Fold, Inserted, Kept, OrderKey, VisitState};
use survey::ids::{CheckId, DeviceId, EntryId, SiteId, VisitId};

/// One group of joined visits in memory.
///
/// Its fold holds exactly the entries of every site as a whole and those of the group's visits, so that its state is
/// the same however it came to be.
#[derive(Debug)]
pub(crate) struct Group {
    /// The ids of the group.
    pub(crate) members: BTreeSet<VisitId>,
    /// The entries.
    pub(crate) fold: Fold,
    /// Their state.
    pub(crate) state: Option<VisitState>,
    /// Whether the tables hold this state.
    pub(crate) in_tables: InTables,
    /// This device's acts that one press can take back, and its take-backs, in order.
    own: Vec<(OrderKey, EntryId)>,
    sites: BTreeMap<VisitId, SiteId>,
    device: DeviceId,
}

/// Whether the state tables hold what the group's state is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum InTables {
    /// They do.
    Yes,
    /// They hold nothing of it, or something older.
    No,
}

impl Group {
    /// Loads the group of a visit from the journal.
    pub(crate) fn load(db: &Connection, device: DeviceId, sites: &Fold, visit: VisitId) -> Result<Self, Error> {
        let members = sites.visit_group(visit);
        let mut group = Self {
            fold: sites.clone(),
            state: None,
            in_tables: InTables::Yes,
            own: Vec::new(),
            sites: BTreeMap::new(),
            device,
            members,
        };
        for member in group.members.clone() {
            for link in rows::links_of_visit(db, device, member)? {
                // Bytes that are no entry are kept in the journal and have no state.
                if let Ok(entry) = Entry::decode(&link.bytes) {
                    group.insert(&link, entry);
                }
            }
        }
        group.look_whether_folded(db)?;
        group.own.sort_unstable();
        group.state = group.fold.visit(visit);
        Ok(group)
    }

    /// Notes whether the rows of any of its visits wait to be folded.
    pub(crate) fn look_whether_folded(&mut self, db: &Connection) -> Result<(), Error> {
        self.in_tables = InTables::Yes;
        for &member in &self.members {
            if is_unfolded(db, member)? {
                self.in_tables = InTables::No;
            }
        }
        Ok(())
    }

    /// Puts an entry of one of the group's visits in; the state is left as it was.
    pub(crate) fn insert(&mut self, link: &Link, entry: Entry) {
        // A join stands in the scope of a site; within a visit it cannot be found before the visit is known.
        if matches!(entry.act, Act::VisitsJoined(_) | Act::SitesJoined(_)) {
            return;
        }
        if let Scope::Visit(site, visit) = entry.scope {
            self.sites.entry(visit).or_insert(site);
        }
        let key = OrderKey { hybrid: entry.hybrid, stream: link.stream, seq: link.seq, hash: link.hash };
        let own = (link.stream.device == self.device && can_be_taken_back(&entry.act)).then_some((key, entry.id));
        if self.fold.insert_entry(link.stream, link.seq, link.hash, entry) == Inserted::Added
            && let Some(own) = own
        {
            self.own.push(own);
            if self.own.len() > 1 && self.own[self.own.len() - 2] > own {
                self.own.sort_unstable();
            }
        }
    }

    /// The plant of this device that is open: of several the one with the highest number.
    pub(crate) fn open_check(&self) -> Option<&CheckState> {
        self.own_checks().filter(|check| check.extent.is_none()).max_by_key(|check| (check.number, check.id))
    }

    /// The site that the entries of a visit name.
    pub(crate) fn site_of(&self, visit: VisitId) -> Option<SiteId> {
        self.sites.get(&visit).copied()
    }

    /// This device's checks.
    pub(crate) fn own_checks(&self) -> impl Iterator<Item = &CheckState> {
        let device = self.device;
        self.checks().iter().filter(move |check| check.device == device && check.opened.is_some())
    }

    /// All checks.
    pub(crate) fn checks(&self) -> &[CheckState] {
        self.state.as_ref().map_or(&[], |state| &state.checks)
    }

    /// One check.
    pub(crate) fn check(&self, id: CheckId) -> Option<&CheckState> {
        self.checks().iter().find(|check| check.id == id)
    }

    /// The latest act of this device that has effect and can be taken back.
    pub(crate) fn last_act(&self) -> Option<&Kept> {
        self.own_with_effect().find(|kept| !matches!(kept.entry.act, Act::TakenBack(_)))
    }

    /// The entry that names the latest act: where a plant was opened in the act that closed the one before, the closing.
    pub(crate) fn last_act_named(&self) -> Option<&Kept> {
        let last = self.last_act()?;
        self.named(last).or(Some(last))
    }

    /// The entry that names an act better than its last one does: the closing of a plant made just before the opening
    /// of the next, the count for which a photo is asked.
    pub(crate) fn named(&self, opening: &Kept) -> Option<&Kept> {
        match &opening.entry.act {
            Act::PlantOpened(_) => {}
            Act::AuditRequested(audit) => return self.fold.entry(audit.count),
            _ => return None,
        }
        let at = self.own.iter().rposition(|(key, _)| *key == opening.key)?;
        let (key, id) = self.own.get(at.checked_sub(1)?)?;
        let before = self.fold.entry(*id)?;
        let one_act = key.stream == opening.key.stream
            && key.seq.0 + 1 == opening.key.seq.0
            && before.entry.since_boot == opening.entry.since_boot;
        (one_act && matches!(before.entry.act, Act::PlantClosed(_))).then_some(before)
    }

    /// The latest take-back that can be taken back itself: no act came after it, and it is no redo.
    pub(crate) fn last_take_back(&self) -> Option<&Kept> {
        for kept in self.own_with_effect() {
            let Act::TakenBack(taken) = &kept.entry.act else { return None };
            let target = self.fold.entry(taken.target).map(|target| &target.entry.act);
            if !matches!(target, Some(Act::TakenBack(_))) {
                return Some(kept);
            }
        }
        None
    }

    /// The entries of one act of this device, by their places in its stream, that have effect.
    pub(crate) fn span(&self, stream: StreamId, first: u64, last: u64) -> Vec<&Kept> {
        self.own_with_effect()
            .filter(|kept| kept.key.stream == stream && (first..=last).contains(&kept.key.seq.0))
            .collect()
    }

    fn own_with_effect(&self) -> impl Iterator<Item = &Kept> {
        self.own
            .iter()
            .rev()
            .filter(|(_, id)| !self.fold.is_void(*id))
            .filter_map(|(key, id)| self.fold.entry(*id).filter(|kept| kept.key == *key))
            .filter(|kept| self.fold.no_effect(kept).is_none())
    }
}

/// Whether a visit's rows wait to be folded.
pub(crate) fn is_unfolded(db: &Connection, visit: VisitId) -> Result<bool, Error> {
    let mut statement = db.prepare_cached("SELECT 1 FROM unfolded WHERE visit = ?1")?;
    let found = statement.query_row([visit.octets()], |_| Ok(())).optional()?;
    Ok(found.is_some())
}

const fn can_be_taken_back(act: &Act) -> bool {
    matches!(
        act,
        Act::PlantOpened(_)
            | Act::Counted(_)
            | Act::OtherNoted(_)
            | Act::PlantDescribed(_)
            | Act::PlantClosed(_)
            | Act::PooledCheck(_)
            | Act::AdultsCounted(_)
            | Act::VisitEnded(_)
            | Act::AuditRequested(_)
            | Act::Matched(_)
            | Act::ChecksCompared(_)
            | Act::TakenBack(_)
    )
}
