//! A visit, from the entries of its parts.

use super::check::{Fields, between};
use super::index::{Fold, Kept, Subject};
use super::state::{
    AdultsState, AuditState, CheckState, MatchedState, PhotoState, PooledState, Standing, Told, VisitPart, VisitState,
};
use crate::chain::Hash;
use crate::check::{OtherNoted, PhotoOf};
use crate::entry::Act;
use crate::finding::{self, Finding};
use crate::ids::{CheckId, VisitId};
use crate::time::{OffsetMinutes, UnixMs};
use crate::visit::{Comparison, VisitBegun, VisitDescription, Weather};
use std::collections::{BTreeMap, BTreeSet};

impl Fold {
    /// State of the visit that this id belongs to. `None` where no entry names it.
    pub fn visit(&self, id: VisitId) -> Option<VisitState> {
        let members = self.visit_group(id);
        let site = members.iter().filter_map(|&member| self.site_of(member)).min()?;
        let whole: Vec<&Kept> = members.iter().flat_map(|&member| self.on(Subject::Visit(member))).collect();
        let (mut checks, mut findings) = self.checks(&members);
        settle_equal_numbers(&mut checks, &comparisons(&whole), &mut findings);

        let parts = self.parts(&members, &mut findings);
        let described = self.described(&members, &mut findings);
        let begun = self.first_begun(&members);
        let state = VisitState {
            id: *members.first()?,
            site,
            protocol: begun.map(|(_, begun)| begun.protocol.clone()),
            observers: described.observers,
            started: described.description.started.or_else(|| parts.iter().map(|part| part.begun).min()),
            ended: described.description.ended.or_else(|| last_end(&parts)),
            offset: begun.map_or(OffsetMinutes(0), |(kept, _)| kept.entry.offset),
            duration_ms: parts.iter().map(|part| part.duration_ms).max().flatten(),
            person_minutes: described.description.person_minutes,
            hosts_up: described.description.hosts_up,
            weather: described.weather,
            described_by: described.by,
            weather_by: described.weather_by,
            pooled: pooled(&whole),
            adults: adults(&whole),
            others: others(&whole),
            matched: matched(&whole),
            notes: notes(&whole),
            photos: self.photos(&whole),
            audits: self.audits(&whole),
            from_newer_version: newer(&whole),
            members,
            parts,
            checks,
            findings: Vec::new(),
        };
        findings.extend(finding::of_visit(&state));
        findings.extend(self.findings_of_entries(&state.members));
        findings.sort_unstable();
        findings.dedup();
        Some(VisitState { findings, ..state })
    }

    fn checks(&self, members: &BTreeSet<VisitId>) -> (Vec<CheckState>, Vec<Finding>) {
        let ids: BTreeSet<CheckId> = members.iter().flat_map(|&member| self.checks_in(member)).collect();
        let mut findings = Vec::new();
        let mut checks = Vec::new();
        for id in ids {
            let Some((check, odd)) = self.check_and_findings(id, members) else { continue };
            checks.push(check);
            findings.extend(odd);
        }
        checks.sort_unstable_by_key(|check| (check.number, check.device, check.id));
        (checks, findings)
    }

    fn first_begun(&self, members: &BTreeSet<VisitId>) -> Option<(&Kept, &VisitBegun)> {
        self.begun(members).min_by_key(|(kept, _)| kept.key)
    }

    fn begun(&self, members: &BTreeSet<VisitId>) -> impl Iterator<Item = (&Kept, &VisitBegun)> {
        members
            .iter()
            .flat_map(|&member| self.on(Subject::Visit(member)))
            .filter_map(|kept| match &kept.entry.act {
                Act::VisitBegun(begun) => Some((kept, begun)),
                _ => None,
            })
            .collect::<Vec<_>>()
            .into_iter()
    }

    fn parts(&self, members: &BTreeSet<VisitId>, findings: &mut Vec<Finding>) -> Vec<VisitPart> {
        let mut parts = Vec::new();
        for (kept, begun) in self.begun(members) {
            let Some(visit) = kept.entry.scope.visit() else { continue };
            let end = self.on(Subject::Visit(visit)).into_iter().rev().find(|end| {
                matches!(end.entry.act, Act::VisitEnded(_)) && end.key.stream.device == kept.key.stream.device
            });
            let by_boot = end.and_then(|end| between(kept, end));
            let by_wall = end.and_then(|end| u64::try_from(end.entry.wall.0.saturating_sub(kept.entry.wall.0)).ok());
            if end.is_some() && by_boot.is_none() {
                findings.push(Finding::DurationByWallClock { visit, device: kept.key.stream.device });
            }
            parts.push(VisitPart {
                visit,
                device: kept.key.stream.device,
                begun: kept.entry.wall,
                ended: end.map(|end| end.entry.wall),
                duration_ms: by_boot.or(by_wall),
                share: begun.share,
            });
        }
        parts.sort_unstable_by_key(|part| (part.begun, part.device, part.visit));
        parts
    }

    fn described(&self, members: &BTreeSet<VisitId>, findings: &mut Vec<Finding>) -> Described {
        let mut found = Described::default();
        let mut by = BTreeSet::new();
        let mut weather_by = BTreeSet::new();
        for &member in members {
            let subject = Subject::Visit(member);
            let mut fields = Fields { fold: self, subjects: vec![subject], by: BTreeSet::new(), conflict: None };
            found.observers.extend(
                fields
                    .take(|act| match act {
                        Act::VisitBegun(begun) => Some(&begun.observers),
                        _ => description(act)?.observers.as_ref(),
                    })
                    .unwrap_or_default(),
            );
            let own = &mut found.description;
            own.started = least(own.started, fields.take(|act| description(act)?.started.as_ref()));
            own.ended = own.ended.max(fields.take(|act| description(act)?.ended.as_ref()));
            let minutes = fields.take(|act| description(act)?.person_minutes.as_ref());
            own.person_minutes = match (own.person_minutes, minutes) {
                (Some(one), Some(other)) => Some(one.saturating_add(other)),
                (one, other) => one.or(other),
            };
            own.hosts_up = own.hosts_up.or(fields.take(|act| description(act)?.hosts_up.as_ref()));
            by.append(&mut fields.by);
            let weather = &mut found.weather;
            weather.air_decicelsius =
                weather.air_decicelsius.or(fields.take(|act| noted(act)?.air_decicelsius.as_ref()));
            weather.beaufort = weather.beaufort.or(fields.take(|act| noted(act)?.beaufort.as_ref()));
            weather.cloud = weather.cloud.or(fields.take(|act| noted(act)?.cloud.as_ref()));
            weather.rain = weather.rain.or(fields.take(|act| noted(act)?.rain.as_ref()));
            weather_by.append(&mut fields.by);
            if fields.conflict.is_some() {
                findings.push(Finding::ConflictingValues { check: None });
            }
        }
        found.by = by.into_iter().collect();
        found.weather_by = weather_by.into_iter().collect();
        found
    }

    pub(super) fn photos(&self, whole: &[&Kept]) -> Vec<PhotoState> {
        whole
            .iter()
            .filter_map(|kept| match &kept.entry.act {
                Act::PhotoTaken(photo) => Some((kept, photo)),
                _ => None,
            })
            .map(|(kept, photo)| {
                let about = self.on(Subject::Photo(photo.photo));
                PhotoState {
                    id: photo.photo,
                    device: kept.key.stream.device,
                    length: photo.length,
                    hash: photo.hash,
                    of: photo.of.clone(),
                    lost: about
                        .iter()
                        .find(|kept| matches!(kept.entry.act, Act::PhotoLost(_)))
                        .map(|kept| kept.entry.id),
                    judged: self
                        .register([Subject::Photo(photo.photo)], |act| match act {
                            Act::AuditJudged(judged) => Some(&judged.judged),
                            _ => None,
                        })
                        .map(|register| register.cloned()),
                }
            })
            .collect()
    }

    pub(super) fn audits(&self, whole: &[&Kept]) -> Vec<AuditState> {
        whole
            .iter()
            .filter_map(|kept| match &kept.entry.act {
                Act::AuditRequested(audit) => Some(audit),
                _ => None,
            })
            .map(|audit| AuditState {
                count: audit.count,
                weight_milli: audit.weight_milli,
                photo: self.on(Subject::Count(audit.count)).into_iter().find_map(|kept| match &kept.entry.act {
                    Act::PhotoTaken(photo) if photo.of == PhotoOf::Count(audit.count) => Some(photo.photo),
                    _ => None,
                }),
            })
            .collect()
    }
}

#[derive(Default)]
struct Described {
    description: VisitDescription,
    observers: BTreeSet<crate::ids::ObserverId>,
    weather: Weather,
    by: Vec<crate::ids::EntryId>,
    weather_by: Vec<crate::ids::EntryId>,
}

/// Notes among these entries, by the hash that names their text.
pub(super) fn notes(whole: &[&Kept]) -> Vec<Told<Hash>> {
    told(whole, |act| match act {
        Act::Noted(note) => Some(note.text),
        _ => None,
    })
}

/// What these entries tell, each with its entry and time.
pub(super) fn told<T>(whole: &[&Kept], pick: impl Fn(&Act) -> Option<T>) -> Vec<Told<T>> {
    whole
        .iter()
        .filter_map(|kept| {
            let entry = &kept.entry;
            Some(Told { entry: entry.id, at: entry.wall, offset: entry.offset, what: pick(&entry.act)? })
        })
        .collect()
}

fn pooled(whole: &[&Kept]) -> Vec<PooledState> {
    whole
        .iter()
        .filter_map(|kept| match &kept.entry.act {
            Act::PooledCheck(check) => {
                Some(PooledState { entry: kept.entry.id, device: kept.key.stream.device, check: check.clone() })
            }
            _ => None,
        })
        .collect()
}

fn adults(whole: &[&Kept]) -> Vec<AdultsState> {
    told(whole, |act| match act {
        Act::AdultsCounted(counted) => Some(counted.clone()),
        _ => None,
    })
    .into_iter()
    .map(|told| AdultsState { entry: told.entry, counted: told.what })
    .collect()
}

fn others(whole: &[&Kept]) -> Vec<Told<OtherNoted>> {
    told(whole, |act| match act {
        Act::OtherNoted(other) => Some(other.clone()),
        _ => None,
    })
}

fn matched(whole: &[&Kept]) -> Vec<MatchedState> {
    told(whole, |act| match act {
        Act::Matched(matched) => Some(matched.clone()),
        _ => None,
    })
    .into_iter()
    .map(|told| MatchedState { entry: told.entry, matched: told.what })
    .collect()
}

fn newer(whole: &[&Kept]) -> u32 {
    let count = whole.iter().filter(|kept| matches!(kept.entry.act, Act::Newer { .. })).count();
    u32::try_from(count).unwrap_or(u32::MAX)
}

pub(super) fn comparisons<'a>(whole: &[&'a Kept]) -> Vec<(&'a BTreeSet<CheckId>, Comparison)> {
    let mut found: Vec<_> = whole
        .iter()
        .filter_map(|kept| match &kept.entry.act {
            Act::ChecksCompared(compared) => Some((kept.key, (&compared.checks, compared.verdict))),
            _ => None,
        })
        .collect();
    found.sort_unstable_by_key(|(key, _)| *key);
    found.into_iter().map(|(_, compared)| compared).collect()
}

/// Equal numbers of several devices are disputed until somebody compared them; the latest comparison holds.
pub(super) fn settle_equal_numbers(
    checks: &mut [CheckState],
    comparisons: &[(&BTreeSet<CheckId>, Comparison)],
    findings: &mut Vec<Finding>,
) {
    let mut by_number: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (at, check) in checks.iter().enumerate() {
        if check.standing != Standing::NotOpened && check.plant.is_none() {
            by_number.entry(check.number).or_default().push(at);
        }
    }
    for (number, same) in by_number {
        let devices: BTreeSet<_> = same.iter().map(|&at| checks[at].device).collect();
        if devices.len() < 2 {
            continue;
        }
        let ids: BTreeSet<CheckId> = same.iter().map(|&at| checks[at].id).collect();
        let entering = same.iter().copied().filter(|&at| checks[at].standing == Standing::Enters);
        match comparisons.iter().rev().find(|(compared, _)| compared.is_superset(&ids)).map(|(_, verdict)| *verdict) {
            Some(Comparison::DifferentPlants) => {}
            Some(Comparison::SamePlantIndependent) => {
                let entering: Vec<usize> = entering.collect();
                let first = entering.iter().copied().min_by_key(|&at| checks[at].id);
                for at in entering.into_iter().filter(|&at| Some(at) != first) {
                    checks[at].standing = Standing::SecondLook;
                }
            }
            None => {
                findings.push(Finding::EqualNumbers { number, checks: ids });
                for at in entering.collect::<Vec<_>>() {
                    checks[at].standing = Standing::Disputed;
                }
            }
        }
    }
}

fn last_end(parts: &[VisitPart]) -> Option<UnixMs> {
    parts.iter().map(|part| part.ended).collect::<Option<Vec<_>>>()?.into_iter().max()
}

fn least(one: Option<UnixMs>, other: Option<UnixMs>) -> Option<UnixMs> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

const fn description(act: &Act) -> Option<&VisitDescription> {
    match act {
        Act::VisitDescribed(description) => Some(description),
        _ => None,
    }
}

const fn noted(act: &Act) -> Option<&Weather> {
    match act {
        Act::WeatherNoted(weather) => Some(weather),
        _ => None,
    }
}
