//! Handlers of the pages on which coordinators act: a plant's counts, and erasing.

use super::reader::Reader;
use super::visit::{Beside, NoteText, plant_path};
use super::{not_found, readable, review, shown, visit};
use crate::edge::{clock, random};
use crate::http::{App, Fault, SignedForm};
use crate::report::load::{Loaded, fold_of_group};
use crate::review::{Actor, Moment, ReviewAct, ReviewError};
use crate::store::Store;
use crate::store::StoreError;
use crate::store::blobs::TextRow;
use crate::store::coordinators::{Coordinator, Role};
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::Hash;
use survey::entry::Act;
use survey::finding::{Finding, observers_in_two_visits};
use survey::fold::{CheckState, CountState, Fold, VisitState};
use survey::ids::{CheckId, DeviceId, EntryId, SiteId, VisitId};
use survey::visit::Comparison;

/// A visit, with its counts where they were reviewed, and its notes.
pub(super) async fn one_visit(
    State(app): State<App>,
    reader: Reader,
    Path((site, visit)): Path<(String, String)>,
) -> Result<Html<String>, Fault> {
    let loaded = readable(&app, &reader, &site).await?;
    let state = visit_of(&loaded, &visit)?;
    let between: Vec<Finding> = observers_in_two_visits(&loaded.visits)
        .into_iter()
        .filter(|finding| matches!(finding, Finding::ObserverInTwoVisits { visits, .. } if visits.contains(&state.id)))
        .collect();
    let (group, wanted) = (loaded.site.id, state.clone());
    let (counts, notes) = app
        .store(move |store| {
            let fold = fold_of_group(store, group)?;
            let counts: BTreeMap<CheckId, Vec<CountState>> =
                wanted.checks.iter().map(|check| (check.id, fold.counts(check.id))).collect();
            Ok::<_, StoreError>((counts, notes(store, &wanted)?))
        })
        .await?;
    let role = role(&reader.signed.coordinator, loaded.site.id);
    let beside = Beside { between: &between, counts: &counts, notes: &notes, role };
    Ok(shown(visit::page(&reader.frame, &loaded.site, state, &beside)))
}

/// A plant check, count by count.
pub(super) async fn one_plant(
    State(app): State<App>,
    reader: Reader,
    Path((site, visit, check)): Path<(String, String, String)>,
) -> Result<Html<String>, Fault> {
    let loaded = readable(&app, &reader, &site).await?;
    let state = visit_of(&loaded, &visit)?;
    let check = check_of(state, &check)?;
    let same_number = same_number(state, check);
    let station = app.setting().desk.stream().device;
    let (group, id, compare) = (loaded.site.id, check.id, same_number.clone());
    let (counts, compared) = app
        .store(move |store| {
            let fold = fold_of_group(store, group)?;
            Ok::<_, StoreError>((fold.counts(id), compared(&fold, &compare, station)))
        })
        .await?;
    let role = role(&reader.signed.coordinator, loaded.site.id);
    let plant = review::Plant {
        site: &loaded.site,
        visit: state,
        check,
        counts: &counts,
        same_number: &same_number,
        compared,
        role,
        station,
    };
    Ok(shown(review::page(&reader.frame, &plant)))
}

/// What was sent from that page.
pub(super) async fn review_plant(
    State(app): State<App>,
    Path((site, visit, check)): Path<(String, String, String)>,
    reader: Reader,
    form: SignedForm<Vec<(String, String)>>,
) -> Result<Response, Fault> {
    reader.signed.require(Role::Review, site.parse().map_err(|_| not_found())?)?;
    let loaded = readable(&app, &reader, &site).await?;
    let state = visit_of(&loaded, &visit)?;
    let check = check_of(state, &check)?;
    let act = review::asked(&form.form, &same_number(state, check))
        .ok_or_else(|| Fault::malformed("whole numbers are due, and a reason"))?;
    // What is joined keeps the scope in which it was counted.
    let members = loaded.site.members.clone();
    let (group, id) = (loaded.site.id, check.visit);
    let scope = app
        .store(move |store| {
            let fold = fold_of_group(store, group)?;
            Ok::<_, StoreError>(members.into_iter().find(|&member| fold.visits_at(member).contains(&id)))
        })
        .await?
        .ok_or_else(not_found)?;
    do_it(&app, &reader, scope, act).await?;
    let back = reader.frame.link(&plant_path(loaded.site.id, state.id, check.id));
    Ok((StatusCode::SEE_OTHER, [(header::LOCATION, back)]).into_response())
}

/// A note or photo that is to be erased, and where to go then.
#[derive(Debug, Deserialize)]
pub(super) struct Erasing {
    blob: Hash,
    visit: VisitId,
}

/// Erases a note's text or a photo.
pub(super) async fn erase(
    State(app): State<App>,
    Path(site): Path<String>,
    reader: Reader,
    form: SignedForm<Erasing>,
) -> Result<Response, Fault> {
    let site: SiteId = site.parse().map_err(|_| not_found())?;
    do_it(&app, &reader, site, ReviewAct::Erase { blob: form.form.blob }).await?;
    let photos = app.setting().photos.clone();
    app.store(move |store| crate::tidy::leave_nothing(store, &photos)).await?;
    let back = reader.frame.link(&format!("/sites/{site}/visits/{}", form.form.visit));
    Ok((StatusCode::SEE_OTHER, [(header::LOCATION, back)]).into_response())
}

/// Does an act; what is so already is as good as done, for a form may be sent twice.
async fn do_it(app: &App, reader: &Reader, site: SiteId, act: ReviewAct) -> Result<(), Fault> {
    let (own, coordinator) = (app.clone(), reader.signed.coordinator.clone());
    let moment = Moment { now: clock::moment()?, random: random::octets()? };
    let done = app
        .store(move |store| -> Result<(), Fault> {
            match own.setting().desk.act(store, Actor::Coordinator(&coordinator), site, &act, &moment) {
                Ok(_) | Err(ReviewError::NothingToDo) => Ok(()),
                Err(error) => Err(error.into()),
            }
        })
        .await;
    app.wake_judge();
    done
}

fn visit_of<'l>(loaded: &'l Loaded, visit: &str) -> Result<&'l VisitState, Fault> {
    let visit: VisitId = visit.parse().map_err(|_| not_found())?;
    loaded.visits.iter().find(|own| own.members.contains(&visit)).ok_or_else(not_found)
}

fn check_of<'v>(visit: &'v VisitState, check: &str) -> Result<&'v CheckState, Fault> {
    let check: CheckId = check.parse().map_err(|_| not_found())?;
    visit.checks.iter().find(|own| own.id == check).ok_or_else(not_found)
}

/// The checks of one number in a visit, if they are of several phones; otherwise none.
fn same_number(visit: &VisitState, check: &CheckState) -> BTreeSet<CheckId> {
    let same = || visit.checks.iter().filter(|own| own.number == check.number && own.plant.is_none());
    let phones: BTreeSet<DeviceId> = same().map(|own| own.device).collect();
    if phones.len() < 2 { BTreeSet::new() } else { same().map(|own| own.id).collect() }
}

/// What a coordinator last said of checks of one number.
fn compared(fold: &Fold, checks: &BTreeSet<CheckId>, station: DeviceId) -> Option<(EntryId, Comparison)> {
    let said = fold.entries().filter_map(|kept| match &kept.entry.act {
        Act::ChecksCompared(own) if kept.key.stream.device == station && own.checks.is_superset(checks) => {
            Some((kept.key, kept.entry.id, own.verdict))
        }
        _ => None,
    });
    let last = said.filter(|(_, entry, _)| !checks.is_empty() && !fold.is_void(*entry)).max_by_key(|(key, ..)| *key);
    last.map(|(_, entry, verdict)| (entry, verdict))
}

fn notes(store: &dyn Store, visit: &VisitState) -> Result<Vec<(Hash, NoteText)>, StoreError> {
    let text = |hash| {
        Ok(match store.text_at(visit.site, hash)? {
            Some(TextRow::Text { text, .. }) => NoteText::Words(text),
            Some(TextRow::Erased) => NoteText::Erased,
            None => NoteText::NotHere,
        })
    };
    visit.notes.iter().map(|note| Ok((note.what, text(note.what)?))).collect()
}

/// The most that somebody may do at a site that they may see.
fn role(coordinator: &Coordinator, site: SiteId) -> Role {
    let roles = [Role::Administer, Role::Review];
    roles.into_iter().find(|role| coordinator.may(*role, site)).unwrap_or(Role::Read)
}
