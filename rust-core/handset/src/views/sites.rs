//! The list of sites, and one site.

use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use crate::state::refold::{self, Progress};
use rusqlite::Connection;
use serde::Serialize;
use std::collections::BTreeMap;
use survey::fold::{SiteState, VisitState};
use survey::ids::{ObserverId, SiteId, VisitId};
use survey::place::Pin;
use survey::stage::What;
use survey::time::{OffsetMinutes, UnixMs};

/// The first screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SitesView {
    /// Sites by name, those without one last.
    pub sites: Vec<SiteRow>,
    /// The visit in hand, where this device's part goes on.
    pub going_on: Option<VisitId>,
    /// Visits whose numbers are still being folded.
    pub folding: Progress,
}

/// A site in the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteRow {
    /// The site.
    pub site: SiteId,
    /// Its name.
    pub name: Option<String>,
    /// How many visits are here.
    pub visits: u64,
    /// Start of the latest.
    pub latest: Option<UnixMs>,
    /// Whether a week has passed since then, or nobody was there yet.
    pub due: Due,
    /// Metres from where the phone is, in a list by nearness.
    pub metres: Option<f64>,
}

/// Whether a site is to be visited.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Due {
    /// It is.
    Due,
    /// It was visited less than a week ago.
    NotYet,
}

/// One site.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteView {
    /// The site, all but the list of its visits.
    pub site: SiteState,
    /// Its visits, the latest first.
    pub visits: Vec<VisitRow>,
}

/// A visit in the list of a site.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VisitRow {
    /// The name of the group of joined visits.
    pub visit: VisitId,
    /// When it started.
    pub started: Option<UnixMs>,
    /// When it ended.
    pub ended: Option<UnixMs>,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// Whole checks that enter estimates.
    pub checked: u64,
    /// Living animals on them.
    pub living: BTreeMap<What, u64>,
    /// What looks odd.
    pub findings: u64,
}

impl Handset {
    /// The list of sites.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn sites(&self) -> Result<SitesView, HandsetError> {
        let going_on = self.in_hand().ok().filter(|hand| hand.going_on).map(|hand| hand.visit);
        Ok(SitesView {
            sites: rows(&self.reader, self.around.clock.now().wall)?,
            going_on,
            folding: refold::left(&self.reader)?,
        })
    }

    /// The list of sites, the nearest first; those without a place last, by name.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn sites_near(&self, here: Pin) -> Result<SitesView, HandsetError> {
        let mut view = self.sites()?;
        for row in &mut view.sites {
            let place = self.memory.sites.site(row.site).and_then(|site| site.place);
            row.metres = place.map(|place| place.middle().distance_m(here));
        }
        view.sites.sort_by(|one, other| {
            let far = |row: &SiteRow| row.metres.unwrap_or(f64::INFINITY);
            far(one).total_cmp(&far(other))
        });
        Ok(view)
    }

    /// One site with its visits.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn site(&self, site: SiteId) -> Result<SiteView, HandsetError> {
        let state = self.memory.sites.site(site).ok_or_else(|| Error::refused(Why::NotHere, site))?;
        let mut visits = Vec::new();
        for member in &state.members {
            visits.extend(visits_of(&self.reader, *member)?);
        }
        visits.sort_unstable_by_key(|row: &VisitRow| std::cmp::Reverse((row.started, row.visit)));
        Ok(SiteView { site: state, visits })
    }
}

/// Names of observers by id.
pub(super) fn names(handset: &Handset) -> Result<BTreeMap<ObserverId, String>, Error> {
    let mut statement = handset.db.prepare_cached("SELECT observer, name FROM observer")?;
    let rows = statement.query_map([], |row| Ok((ObserverId::from_octets(row.get(0)?), row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Milliseconds of a week, after which a site is due: counts are weekly. A few hours less, for nobody comes at the same
/// hour.
const WEEK_MS: i64 = 7 * 86_400_000 - 12 * 3_600_000;

fn rows(db: &Connection, now: UnixMs) -> Result<Vec<SiteRow>, Error> {
    let mut statement = db.prepare_cached(
        "SELECT site, name, state FROM site \
         UNION ALL SELECT site, NULL, NULL FROM visit WHERE site NOT IN (SELECT site FROM site) GROUP BY site",
    )?;
    let sites = statement.query_map([], |row| {
        Ok((SiteId::from_octets(row.get(0)?), row.get::<_, Option<String>>(1)?, row.get::<_, Option<String>>(2)?))
    })?;
    let sites = sites.collect::<Result<Vec<_>, _>>()?;
    let mut found = Vec::new();
    let mut joined: std::collections::BTreeSet<SiteId> = std::collections::BTreeSet::new();
    for (site, name, state) in sites {
        let members = match state {
            Some(state) => serde_json::from_str::<SiteState>(&state)?.members,
            None => [site].into(),
        };
        joined.extend(members.iter().filter(|member| **member != site));
        let (mut visits, mut latest) = (0_u64, None);
        for member in members {
            let mut statement = db.prepare_cached("SELECT count(*), max(started_ms) FROM visit WHERE site = ?1")?;
            let (number, started): (i64, Option<i64>) =
                statement.query_row([member.octets()], |row| Ok((row.get(0)?, row.get(1)?)))?;
            visits += u64::try_from(number).unwrap_or(0);
            latest = latest.max(started.map(UnixMs));
        }
        let recent = latest.is_some_and(|latest| now.0.saturating_sub(latest.0) < WEEK_MS);
        let due = if recent { Due::NotYet } else { Due::Due };
        found.push(SiteRow { site, name, visits, latest, due, metres: None });
    }
    found.retain(|row| !joined.contains(&row.site));
    found.sort_by_key(|row| (row.name.is_none(), row.name.clone(), row.site));
    Ok(found)
}

fn visits_of(db: &Connection, site: SiteId) -> Result<Vec<VisitRow>, Error> {
    let mut statement = db.prepare_cached("SELECT visit, state FROM visit WHERE site = ?1")?;
    let visits = statement
        .query_map([site.octets()], |row| Ok((row.get::<_, [u8; 16]>(0)?, row.get::<_, String>(1)?)))?
        .collect::<Result<Vec<_>, _>>()?;
    let mut sums = db.prepare_cached(
        "SELECT tally.what, tally.animal, sum(tally.number) FROM tally JOIN plant_check USING (visit, plant_check) \
         WHERE visit = ?1 AND standing = 'enters' GROUP BY tally.what, tally.animal",
    )?;
    let count = |sql: &str, visit: &[u8; 16]| -> Result<u64, Error> {
        let number: i64 = db.prepare_cached(sql)?.query_row([visit], |row| row.get(0))?;
        Ok(u64::try_from(number).unwrap_or(0))
    };
    let mut found = Vec::new();
    for (id, state) in visits {
        let state: VisitState = serde_json::from_str(&state)?;
        let mut living = state.living_totals();
        let rows = sums
            .query_map([id], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, i64>(2)?)))?;
        for row in rows {
            let (what, animal, number) = row?;
            let animal: survey::stage::AnimalState = serde_json::from_value(animal.into())?;
            if let (true, Ok(what)) = (animal.is_living(), what.parse::<What>()) {
                let sum = living.entry(what).or_default();
                *sum = sum.saturating_add(u64::try_from(number).unwrap_or(0));
            }
        }
        found.push(VisitRow {
            visit: VisitId::from_octets(id),
            started: state.started,
            ended: state.ended,
            offset: state.offset,
            checked: count("SELECT count(*) FROM plant_check WHERE visit = ?1 AND standing = 'enters'", &id)?,
            findings: count("SELECT count(*) FROM finding WHERE visit = ?1", &id)?,
            living,
        });
    }
    Ok(found)
}
