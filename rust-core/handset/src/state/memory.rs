//! What the handset keeps in memory: the entries of sites as wholes, and the visit in hand.

use super::group::{Group, InTables};
use super::write;
use crate::error::Error;
use crate::journal::rows;
use crate::object::{IN_HAND, setting};
use rusqlite::Connection;
use std::collections::BTreeSet;
use survey::chain::Link;
use survey::entry::{Act, Entry};
use survey::fold::Fold;
use survey::ids::{DeviceId, EntryId, SiteId, VisitId};

/// Entries in memory, indexed; the tables follow from them.
#[derive(Debug)]
pub(crate) struct Memory {
    device: DeviceId,
    /// Every entry whose scope is a site as a whole.
    pub(crate) sites: Fold,
    /// The visit in hand.
    pub(crate) hand: Option<Group>,
    /// Another visit that was needed last.
    beside: Option<Group>,
}

/// Where entries come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Origin {
    /// This device has just made them.
    Made,
    /// A feed brought them.
    Received,
}

impl Memory {
    /// Reads what concerns sites as wholes from the journal.
    pub(crate) fn load(db: &Connection, device: DeviceId) -> Result<Self, Error> {
        let mut sites = Fold::new();
        for link in rows::links_of_sites(db, device)? {
            // Bytes that are no entry are kept in the journal and have no state.
            let _ = sites.insert(&link);
        }
        Ok(Self { device, sites, hand: None, beside: None })
    }

    /// This device.
    pub(crate) const fn device(&self) -> DeviceId {
        self.device
    }

    /// Takes a visit in hand.
    pub(crate) fn take_in_hand(&mut self, db: &Connection, visit: VisitId) -> Result<(), Error> {
        if self.hand.as_ref().is_some_and(|group| group.members.contains(&visit)) {
            return Ok(());
        }
        let group = Group::load(db, self.device, &self.sites, visit)?;
        self.beside = self.hand.replace(group);
        Ok(())
    }

    /// The group of a visit, loaded where it is not in memory.
    pub(crate) fn group(&mut self, db: &Connection, visit: VisitId) -> Result<&mut Group, Error> {
        if self.hand.as_ref().is_some_and(|group| group.members.contains(&visit)) {
            return Ok(self.hand.as_mut().expect("the hand was just seen to hold it"));
        }
        if !self.beside.as_ref().is_some_and(|group| group.members.contains(&visit)) {
            self.beside = None;
        }
        match &mut self.beside {
            Some(group) => Ok(group),
            empty => Ok(empty.insert(Group::load(db, self.device, &self.sites, visit)?)),
        }
    }

    /// The group of a visit, where it is in memory.
    pub(crate) fn loaded(&self, visit: VisitId) -> Option<&Group> {
        [&self.hand, &self.beside].into_iter().flatten().find(|group| group.members.contains(&visit))
    }

    /// Notes for the visits in memory whether their rows wait to be folded.
    pub(crate) fn look_whether_folded(&mut self, db: &Connection) -> Result<(), Error> {
        for group in self.hand.iter_mut().chain(&mut self.beside) {
            group.look_whether_folded(db)?;
        }
        Ok(())
    }

    /// Puts entries in that all have one scope, and brings the tables after them. Their visit's group has to be
    /// loaded from a journal that does not have them yet: see [`Memory::group`].
    pub(crate) fn fold(&mut self, db: &Connection, entries: Vec<(Link, Entry)>, origin: Origin) -> Result<(), Error> {
        let Some((_, first)) = entries.first() else { return Ok(()) };
        match (first.scope.site(), first.scope.visit()) {
            (_, Some(visit)) => self.fold_visit(db, visit, entries, origin),
            (Some(_), None) => self.fold_sites(db, entries),
            (None, None) => Ok(()),
        }
    }

    fn fold_visit(
        &mut self,
        db: &Connection,
        visit: VisitId,
        entries: Vec<(Link, Entry)>,
        origin: Origin,
    ) -> Result<(), Error> {
        let group = self.group(db, visit)?;
        let ids: Vec<EntryId> = entries.iter().map(|(_, entry)| entry.id).collect();
        for (link, entry) in entries {
            group.insert(&link, entry);
        }
        let mut new = match (&group.state, origin) {
            // Entries that are made stand at the end of their stream.
            (Some(before), Origin::Made) => group.fold.visit_after(before, &ids),
            _ => group.fold.visit(visit),
        };
        match (&mut group.state, &mut new, group.in_tables) {
            (Some(old), Some(new), InTables::Yes) => write::change_visit(db, old, new)?,
            (_, new, _) => write::replace_visit(db, &group.members, new.as_mut())?,
        }
        group.state = new;
        group.in_tables = InTables::Yes;
        Ok(())
    }

    fn fold_sites(&mut self, db: &Connection, entries: Vec<(Link, Entry)>) -> Result<(), Error> {
        let mut touched: BTreeSet<SiteId> = BTreeSet::new();
        let mut joins: Vec<EntryId> = Vec::new();
        for (link, entry) in entries {
            touched.extend(entry.scope.site());
            if matches!(entry.act, Act::VisitsJoined(_) | Act::SitesJoined(_) | Act::TakenBack(_)) {
                joins.push(entry.id);
            }
            for group in self.hand.iter_mut().chain(&mut self.beside) {
                group.fold.insert_entry(link.stream, link.seq, link.hash, entry.clone());
            }
            self.sites.insert_entry(link.stream, link.seq, link.hash, entry);
        }
        let mut visits: BTreeSet<VisitId> = BTreeSet::new();
        let mut sites_changed = Joined::No;
        for join in joins {
            match self.join_behind(join) {
                Some(Act::VisitsJoined(joined)) => visits.extend(&joined.visits),
                Some(Act::SitesJoined(_)) => sites_changed = Joined::Yes,
                _ => {}
            }
        }
        self.regroup(db, &visits)?;
        match sites_changed {
            Joined::Yes => self.write_all_sites(db),
            Joined::No => touched.into_iter().try_for_each(|site| self.write_site(db, site)),
        }
    }

    /// The join that an entry is, or that it takes back, or redoes.
    fn join_behind(&self, mut id: EntryId) -> Option<&Act> {
        // A chain of take-backs is finite where it is in order; a bound holds where somebody wrote a ring.
        for _ in 0..self.sites.len() {
            let act = &self.sites.entry(id)?.entry.act;
            match act {
                Act::TakenBack(taken) => id = taken.target,
                Act::VisitsJoined(_) | Act::SitesJoined(_) => return Some(act),
                _ => return None,
            }
        }
        None
    }

    /// Writes the rows of these visits under the groups that they are in after a join came or went.
    fn regroup(&mut self, db: &Connection, visits: &BTreeSet<VisitId>) -> Result<(), Error> {
        if visits.is_empty() {
            return Ok(());
        }
        let groups: BTreeSet<BTreeSet<VisitId>> = visits.iter().map(|&visit| self.sites.visit_group(visit)).collect();
        let members: BTreeSet<VisitId> = groups.iter().flatten().copied().collect();
        let hand = self.hand.take_if(|group| !group.members.is_disjoint(&members));
        // The visit that was taken in hand, as an opening would find it: the group may have other parts of this device.
        let in_hand = hand.map(|_| setting::<[u8; 16]>(db, IN_HAND)).transpose()?.flatten().map(VisitId::from_octets);
        self.beside = None;
        write::replace_visit(db, &members, None)?;
        for group in groups {
            let Some(&visit) = group.first() else { continue };
            let mut loaded = Group::load(db, self.device, &self.sites, visit)?;
            write::replace_visit(db, &loaded.members, loaded.state.as_mut())?;
            loaded.in_tables = InTables::Yes;
            if in_hand.is_some_and(|visit| loaded.members.contains(&visit)) {
                self.hand = Some(loaded);
            }
        }
        Ok(())
    }

    pub(super) fn write_all_sites(&self, db: &Connection) -> Result<(), Error> {
        let groups: BTreeSet<SiteId> =
            self.sites.sites().into_iter().filter_map(|site| self.sites.site_group(site).first().copied()).collect();
        write::keep_sites(db, &groups)?;
        groups.into_iter().try_for_each(|site| self.write_site(db, site))
    }

    fn write_site(&self, db: &Connection, site: SiteId) -> Result<(), Error> {
        match self.sites.site(site) {
            Some(state) => write::put_site(db, state),
            None => write::keep_sites(
                db,
                &self.sites.sites().into_iter().filter(|&other| self.sites.site(other).is_some()).collect(),
            ),
        }
    }
}

enum Joined {
    Yes,
    No,
}

/// The visit under which this device counts in a group; the group's name where it has no part.
pub(crate) fn own_part(state: &survey::fold::VisitState, device: DeviceId) -> Option<VisitId> {
    let own = state.parts.iter().rev().find(|part| part.device == device).map(|part| part.visit);
    own.or(Some(state.id))
}
