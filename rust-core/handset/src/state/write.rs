//! State into rows; only rows that differ are written.

use crate::error::Error;
use rusqlite::{Connection, params};
use std::collections::{BTreeMap, BTreeSet};
use survey::finding::Finding;
use survey::fold::{CheckState, SiteState, Tally, TallyRow, VisitState};
use survey::ids::{CheckId, SiteId, VisitId};

/// Every state table with its key, for comparing and for dropping.
pub(crate) const TABLES: &[(&str, &str)] = &[
    ("site", "site"),
    ("visit", "visit"),
    ("plant_check", "visit, plant_check"),
    ("tally", "visit, plant_check, what, animal"),
    ("finding", "visit, message, arguments"),
];

/// Brings the rows of a visit from one state to another. Both are left as they were.
pub(crate) fn change_visit(db: &Connection, old: &mut VisitState, new: &mut VisitState) -> Result<(), Error> {
    if old.id != new.id {
        let members = old.members.union(&new.members).copied().collect();
        return replace_visit(db, &members, Some(new));
    }
    change_checks(db, new.id, &old.checks, &new.checks)?;
    change_findings(db, new.id, &old.findings, &new.findings)?;
    // The head of a visit is compared without what has rows of its own.
    let heads = (take_rows(old), take_rows(new));
    let written = if old == new { Ok(()) } else { put_head(db, new) };
    ((old.checks, old.findings), (new.checks, new.findings)) = heads;
    written
}

/// Drops the rows of these visits and writes those of the state.
pub(crate) fn replace_visit(
    db: &Connection,
    members: &BTreeSet<VisitId>,
    new: Option<&mut VisitState>,
) -> Result<(), Error> {
    for member in members {
        for sql in [
            "DELETE FROM visit WHERE visit = ?1",
            "DELETE FROM plant_check WHERE visit = ?1",
            "DELETE FROM tally WHERE visit = ?1",
            "DELETE FROM finding WHERE visit = ?1",
            "DELETE FROM unfolded WHERE visit = ?1",
        ] {
            db.prepare_cached(sql)?.execute([member.octets()])?;
        }
    }
    let Some(new) = new else { return Ok(()) };
    change_checks(db, new.id, &[], &new.checks)?;
    change_findings(db, new.id, &[], &new.findings)?;
    let rows = take_rows(new);
    let written = put_head(db, new);
    (new.checks, new.findings) = rows;
    written
}

/// Writes a site's row. Its visits have rows of their own and are left out.
pub(crate) fn put_site(db: &Connection, state: SiteState) -> Result<(), Error> {
    let state = SiteState { visits: BTreeSet::new(), ..state };
    let json = serde_json::to_string(&state)?;
    let mut statement = db.prepare_cached(
        "INSERT INTO site (site, name, state) VALUES (?1, ?2, ?3) \
         ON CONFLICT (site) DO UPDATE SET name = excluded.name, state = excluded.state WHERE state <> excluded.state",
    )?;
    statement.execute(params![state.id.octets(), state.name, json])?;
    Ok(())
}

/// Drops the rows of sites other than these.
pub(crate) fn keep_sites(db: &Connection, keep: &BTreeSet<SiteId>) -> Result<(), Error> {
    let mut statement = db.prepare_cached("SELECT site FROM site")?;
    let there = statement.query_map([], |row| Ok(SiteId::from_octets(row.get(0)?)))?;
    let there = there.collect::<Result<BTreeSet<_>, _>>()?;
    for gone in there.difference(keep) {
        db.prepare_cached("DELETE FROM site WHERE site = ?1")?.execute([gone.octets()])?;
    }
    Ok(())
}

fn take_rows(state: &mut VisitState) -> (Vec<CheckState>, Vec<Finding>) {
    (std::mem::take(&mut state.checks), std::mem::take(&mut state.findings))
}

fn put_head(db: &Connection, head: &VisitState) -> Result<(), Error> {
    let mut statement = db.prepare_cached(
        "INSERT INTO visit (visit, site, started_ms, ended_ms, state) VALUES (?1, ?2, ?3, ?4, ?5) \
         ON CONFLICT (visit) DO UPDATE SET site = excluded.site, started_ms = excluded.started_ms, \
         ended_ms = excluded.ended_ms, state = excluded.state",
    )?;
    statement.execute(params![
        head.id.octets(),
        head.site.octets(),
        head.started.map(|at| at.0),
        head.ended.map(|at| at.0),
        serde_json::to_string(head)?,
    ])?;
    Ok(())
}

fn change_checks(db: &Connection, visit: VisitId, old: &[CheckState], new: &[CheckState]) -> Result<(), Error> {
    let (old, new) = without_common_ends(old, new);
    let old: BTreeMap<CheckId, &CheckState> = old.iter().map(|check| (check.id, check)).collect();
    let kept: BTreeSet<CheckId> = new.iter().map(|check| check.id).collect();
    for (gone, check) in old.iter().filter(|(id, _)| !kept.contains(id)) {
        db.prepare_cached("DELETE FROM plant_check WHERE visit = ?1 AND plant_check = ?2")?
            .execute(params![visit.octets(), gone.octets()])?;
        change_tally(db, visit, *gone, &check.tally, &Tally::default())?;
    }
    for check in new {
        let before = old.get(&check.id).copied();
        let none = Tally::default();
        change_tally(db, visit, check.id, before.map_or(&none, |before| &before.tally), &check.tally)?;
        let head = CheckState { tally: Tally::default(), ..check.clone() };
        let same = before.is_some_and(|before| CheckState { tally: Tally::default(), ..before.clone() } == head);
        if !same {
            put_check(db, visit, &head)?;
        }
    }
    Ok(())
}

fn put_check(db: &Connection, visit: VisitId, head: &CheckState) -> Result<(), Error> {
    let mut statement = db.prepare_cached(
        "INSERT INTO plant_check (visit, plant_check, number, standing, state) VALUES (?1, ?2, ?3, ?4, ?5) \
         ON CONFLICT (visit, plant_check) DO UPDATE SET number = excluded.number, standing = excluded.standing, \
         state = excluded.state",
    )?;
    let standing = serde_json::to_value(head.standing)?;
    statement.execute(params![
        visit.octets(),
        head.id.octets(),
        head.number,
        standing.as_str().unwrap_or_default(),
        serde_json::to_string(head)?,
    ])?;
    Ok(())
}

fn change_tally(db: &Connection, visit: VisitId, check: CheckId, old: &Tally, new: &Tally) -> Result<(), Error> {
    if old == new {
        return Ok(());
    }
    let keyed = |tally: &Tally| -> BTreeMap<(String, &'static str), u64> {
        tally.rows().map(|TallyRow { what, state, number }| ((what.to_string(), state.name()), number)).collect()
    };
    let (old, new) = (keyed(old), keyed(new));
    for (what, animal) in old.keys().filter(|key| !new.contains_key(*key)) {
        db.prepare_cached("DELETE FROM tally WHERE visit = ?1 AND plant_check = ?2 AND what = ?3 AND animal = ?4")?
            .execute(params![visit.octets(), check.octets(), what, animal])?;
    }
    for (key, number) in new.iter().filter(|(key, number)| old.get(*key) != Some(number)) {
        db.prepare_cached(
            "INSERT INTO tally (visit, plant_check, what, animal, number) VALUES (?1, ?2, ?3, ?4, ?5) \
             ON CONFLICT (visit, plant_check, what, animal) DO UPDATE SET number = excluded.number",
        )?
        .execute(params![
            visit.octets(),
            check.octets(),
            key.0,
            key.1,
            i64::try_from(*number).unwrap_or(i64::MAX)
        ])?;
    }
    Ok(())
}

fn change_findings(db: &Connection, visit: VisitId, old: &[Finding], new: &[Finding]) -> Result<(), Error> {
    if old == new {
        return Ok(());
    }
    let (old, new): (BTreeSet<&Finding>, BTreeSet<&Finding>) = (old.iter().collect(), new.iter().collect());
    for gone in old.difference(&new) {
        db.prepare_cached("DELETE FROM finding WHERE visit = ?1 AND message = ?2 AND arguments = ?3")?
            .execute(params![visit.octets(), gone.message_id(), serde_json::to_string(gone)?])?;
    }
    for found in new.difference(&old) {
        db.prepare_cached(
            "INSERT INTO finding (visit, message, arguments) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
        )?
        .execute(params![visit.octets(), found.message_id(), serde_json::to_string(found)?])?;
    }
    Ok(())
}

/// The parts of two lists between their common beginning and their common end.
fn without_common_ends<'a, T: PartialEq>(one: &'a [T], other: &'a [T]) -> (&'a [T], &'a [T]) {
    let first = one.iter().zip(other).take_while(|(a, b)| a == b).count();
    let (one, other) = (&one[first..], &other[first..]);
    let last = one.iter().rev().zip(other.iter().rev()).take_while(|(a, b)| a == b).count();
    (&one[..one.len() - last], &other[..other.len() - last])
}
