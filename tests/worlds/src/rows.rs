//! State as rows, written down a second time, and as plain numbers.

use crate::ledger::Tally;
use crate::trouble::Trouble;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use survey::entry::Act;
use survey::fold::{CheckState, Fold, SiteState, VisitState};
use survey::ids::{SiteId, VisitId};

/// Every row that the tables of a phone with these entries have to hold.
///
/// # Errors
/// A state that has no JSON.
pub fn of(fold: &Fold) -> Result<BTreeSet<String>, Trouble> {
    let mut rows = BTreeSet::new();
    let sites: Vec<SiteId> = fold.sites().into_iter().collect();
    // A site's own row follows from what is said of sites as wholes; one that only visits name has none.
    let mut wholes = Fold::new();
    for kept in fold.entries().filter(|kept| kept.entry.scope.visit().is_none()) {
        wholes.insert_entry(kept.key.stream, kept.key.seq, kept.key.hash, kept.entry.clone());
    }
    for state in sites.iter().filter_map(|&site| wholes.site(site)) {
        let name = state.name.clone().unwrap_or_else(|| "NULL".into());
        let head = json(&SiteState { visits: BTreeSet::new(), ..state.clone() })?;
        rows.insert(format!("site|{}|{name}|{head}", hex(&state.id.octets())));
    }
    let visits: BTreeSet<VisitId> = sites.iter().flat_map(|&site| fold.visits(site)).collect();
    for state in visits.into_iter().filter_map(|visit| fold.visit(visit)) {
        visit_rows(&state, &mut rows)?;
    }
    Ok(rows)
}

fn visit_rows(state: &VisitState, rows: &mut BTreeSet<String>) -> Result<(), Trouble> {
    let id = hex(&state.id.octets());
    let time = |at: Option<survey::time::UnixMs>| at.map_or_else(|| "NULL".into(), |at| at.0.to_string());
    let head = json(&VisitState { checks: Vec::new(), findings: Vec::new(), ..state.clone() })?;
    let (started, ended) = (time(state.started), time(state.ended));
    rows.insert(format!("visit|{id}|{}|{started}|{ended}|{head}", hex(&state.site.octets())));
    for check in &state.checks {
        let of = hex(&check.id.octets());
        let head = json(&CheckState { tally: survey::fold::Tally::default(), ..check.clone() })?;
        let standing = json(&check.standing)?.replace('"', "");
        rows.insert(format!("plant_check|{id}|{of}|{}|{standing}|{head}", check.number));
        for row in check.tally.rows() {
            rows.insert(format!("tally|{id}|{of}|{}|{}|{}", row.what, row.state.name(), row.number));
        }
    }
    for finding in &state.findings {
        rows.insert(format!("finding|{id}|{}|{}", finding.message_id(), json(finding)?));
    }
    Ok(())
}

/// Tallies of the plants of a group of visits.
pub fn tallies(state: &VisitState, into: &mut BTreeMap<(String, String), Tally>) {
    for check in &state.checks {
        let rows = check.tally.rows().map(|row| ((row.what.to_string(), row.state.name().to_owned()), row.number));
        into.insert((state.id.to_string(), check.id.to_string()), rows.collect());
    }
}

/// Acts that stand for themselves, by the visit that their scope names and their kind.
pub fn wholes(fold: &Fold, state: &VisitState, into: &mut BTreeMap<(String, String), u64>) {
    let mut add = |visit: Option<VisitId>, kind: &str| {
        let visit = visit.unwrap_or(state.id).to_string();
        *into.entry((visit, kind.to_owned())).or_default() += 1;
    };
    let scope = |id| fold.entry(id).and_then(|kept| kept.entry.scope.visit());
    state.adults.iter().for_each(|adults| add(scope(adults.entry), "adults-counted"));
    state.pooled.iter().for_each(|pooled| add(scope(pooled.entry), "pooled-check"));
    state.matched.iter().for_each(|matched| add(scope(matched.entry), "matched"));
    state.notes.iter().for_each(|note| add(scope(note.entry), "noted"));
    for photo in &state.photos {
        let taken = fold.entries().find(|kept| match &kept.entry.act {
            Act::PhotoTaken(taken) => taken.photo == photo.id,
            _ => false,
        });
        add(taken.and_then(|kept| kept.entry.scope.visit()), "photo-taken");
    }
    let newer = fold.entries().filter(|kept| matches!(kept.entry.act, Act::Newer { .. }));
    let newer = newer.filter(|kept| kept.entry.scope.visit().is_some_and(|visit| state.members.contains(&visit)));
    newer.for_each(|kept| add(kept.entry.scope.visit(), "newer"));
}

fn json(value: &impl serde::Serialize) -> Result<String, Trouble> {
    serde_json::to_string(value).map_err(|error| Trouble::new(error.to_string()))
}

fn hex(octets: &[u8]) -> String {
    octets.iter().fold(String::new(), |mut text, octet| {
        // Writing into a text cannot fail.
        let _ = write!(text, "{octet:02x}");
        text
    })
}
