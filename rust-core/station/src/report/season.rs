//! From folded state to what estimates are made from: only living animals on checks that enter, units kept apart, stages
//! in scope alone, and a note on everything that stays behind.

use super::note::Note;
use chrono::Datelike;
use season::{Aside, Refusal, SiteSeason, VisitSample, visit_samples};
use std::collections::BTreeMap;
use survey::date::Date;
use survey::fold::{SiteState, Standing, VisitState};
use survey::ids::VisitId;
use survey::protocol::{PlantChoice, Unit};
use survey::visit::HostsUp;

/// One site's visits of one calendar year in one unit of check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Season {
    /// The year of the visits' local dates.
    pub year: i32,
    /// The unit of its checks.
    pub unit: Unit,
    /// The visits, in the order of `samples.visits()`.
    pub visits: Vec<VisitId>,
    /// Their counts.
    pub samples: SiteSeason,
}

/// All seasons of a site.
#[derive(Debug, Clone, PartialEq)]
pub struct Converted {
    /// By year, then by unit.
    pub seasons: Vec<Season>,
    /// What was left out and why, and what stands beside the figures.
    pub notes: Vec<Note>,
}

/// What a site's visits give to estimate from.
///
/// A visit enters once for each unit in which whole plants were checked, or with the totals of its pooled checks where no
/// plant of that unit was checked by itself. A visit at which no host plant was up, or all were mown, is valid: it has no
/// value per plant and a note of its own. A season that the estimates refuse whole is a contradiction in the data that
/// conversion has already taken out, so its [`Refusal`] never comes.
///
/// # Errors
/// [`Refusal`] as [`SiteSeason::new`] has it.
pub fn seasons(site: &SiteState, visits: &[VisitState]) -> Result<Converted, Refusal> {
    let mut notes = Vec::new();
    let mut samples: BTreeMap<(i32, Unit), Vec<(VisitId, VisitSample)>> = BTreeMap::new();
    let mut left_out = LeftOut::default();
    for visit in visits {
        left_out.look_at(visit);
        let Some(date) = visit.date() else {
            notes.push(Note::plain("left-out.no-date"));
            continue;
        };
        for (unit, sample) in of_visit(site, visit, date, &mut left_out, &mut notes) {
            samples.entry((date.naive().year(), unit)).or_default().push((visit.id, sample));
        }
    }
    notes.extend(left_out.notes());
    notes.extend(site.management.iter().map(|told| Note {
        management: Some(told.what.what),
        share: Some(told.what.share),
        ..Note::on("note.management", told.what.date)
    }));
    let seasons = samples.into_iter().map(|((year, unit), mut found)| {
        found.sort_by_key(|(_, sample)| sample.date);
        let (visits, samples) = found.into_iter().unzip();
        Ok(Season { year, unit, visits, samples: SiteSeason::new(samples)? })
    });
    Ok(Converted { seasons: seasons.collect::<Result<_, Refusal>>()?, notes })
}

fn of_visit(
    site: &SiteState,
    visit: &VisitState,
    date: Date,
    left_out: &mut LeftOut,
    notes: &mut Vec<Note>,
) -> Vec<(Unit, VisitSample)> {
    let hosts = match visit.hosts_up {
        Some(HostsUp::None) => Some("note.hosts-none"),
        Some(HostsUp::AllMown) => Some("note.hosts-all-mown"),
        Some(HostsUp::Yes) | None => None,
    };
    notes.extend(hosts.map(|message| Note::on(message, date)));
    if visit.ended.is_none() {
        notes.push(Note::on("note.still-open", date));
    }
    if visit.protocol.as_ref().is_some_and(|protocol| protocol.choice == PlantChoice::ObserversChoice) {
        notes.push(Note::on("note.observers-choice", date));
    }
    let samples = visit_samples(site, visit, &mut |aside| match aside {
        Aside::NoDate => {}
        Aside::NoProtocol => notes.push(Note::on("left-out.no-protocol", date)),
        Aside::PooledAndSingle => notes.push(Note::on("left-out.pooled-and-single", date)),
        Aside::Pooled => notes.push(Note::on("note.pooled", date)),
        Aside::PooledEffortUnknown => notes.push(Note::on("note.pooled-effort-unknown", date)),
        Aside::OutOfScope(number) => left_out.out_of_scope = left_out.out_of_scope.saturating_add(number),
        Aside::NothingChecked if hosts.is_some() => {}
        Aside::NothingChecked => notes.push(Note::on("left-out.nothing-checked", date)),
    });
    samples.into_iter().filter_map(|sample| Some((sample.unit?, sample))).collect()
}

/// Checks and animals that stay behind, by why.
#[derive(Debug, Default)]
struct LeftOut {
    standings: BTreeMap<Standing, u64>,
    not_living: u64,
    out_of_scope: u64,
}

impl LeftOut {
    fn look_at(&mut self, visit: &VisitState) {
        for check in &visit.checks {
            if check.standing == Standing::Enters {
                let living: u64 = check.tally.living_rows().values().sum();
                self.not_living = self.not_living.saturating_add(check.tally.total().saturating_sub(living));
            } else {
                *self.standings.entry(check.standing).or_default() += 1;
            }
        }
    }

    fn notes(self) -> Vec<Note> {
        let message = |standing| match standing {
            Standing::Enters => None,
            Standing::Open => Some("left-out.open"),
            Standing::Part => Some("left-out.part"),
            Standing::Refused => Some("left-out.refused"),
            Standing::SecondLook => Some("left-out.second-look"),
            Standing::Disputed => Some("left-out.disputed"),
            Standing::NotMilkweed => Some("left-out.not-milkweed"),
            Standing::NotOpened => Some("left-out.not-opened"),
        };
        let checks = self.standings.into_iter().filter_map(|(standing, number)| Some((message(standing)?, number)));
        checks
            .chain([("left-out.not-living", self.not_living), ("left-out.out-of-scope", self.out_of_scope)])
            .filter(|(_, number)| *number > 0)
            .map(|(message, number)| Note::counting(message, number))
            .collect()
    }
}
