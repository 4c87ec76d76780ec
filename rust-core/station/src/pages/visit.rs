//! One visit, plant by plant.

use super::frame::Frame;
use super::review::token;
use super::{sites, time};
use crate::store::coordinators::Role;
use maud::{Markup, html};
use messages::{Arg, integer, words};
use std::collections::BTreeMap;
use survey::chain::Hash;
use survey::check::Extent;
use survey::finding::Finding;
use survey::fold::{AdultsState, CheckState, CountState, PooledState, SiteState, TallyRow, VisitState};
use survey::ids::{CheckId, SiteId, VisitId};
use survey::stage::{AnimalState, What};
use survey::visit::AdultEffort;

/// Milliseconds in a minute.
const MINUTE_MS: u64 = 60_000;

/// What stands beside a visit's own state.
#[derive(Debug)]
pub struct Beside<'a> {
    /// Findings about this visit and another.
    pub between: &'a [Finding],
    /// The counts of each check, one by one.
    pub counts: &'a BTreeMap<CheckId, Vec<CountState>>,
    /// The notes, by the hash that names their text.
    pub notes: &'a [(Hash, NoteText)],
    /// What the reader may do here.
    pub role: Role,
}

/// The text of a note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoteText {
    /// These words.
    Words(String),
    /// It was erased.
    Erased,
    /// It has not come yet.
    NotHere,
}

/// The page.
pub fn page(frame: &Frame, site: &SiteState, visit: &VisitState, beside: &Beside<'_>) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let date = time::day(frame.language, visit);
    let title = frame.say("visit.title", &[("date", (&date).into())]);
    let name = sites::name(frame.language, site.name.as_ref());
    let findings: Vec<&Finding> = visit.findings.iter().chain(beside.between).collect();
    let content = html! {
        p { a href=(frame.link(&format!("/sites/{}", site.id))) { (frame.say("visit.back", &[("site", (&name).into())])) } }
        h1 { (title) }
        p.lead { bdi { (frame.say("visit.lead", &[("site", (&name).into())])) } }
        (facts(frame, visit))
        section aria-labelledby="totals" {
            h2 #totals { (say("visit.totals")) }
            p.counted { (say("heading.counted")) }
            (totals(frame, visit))
        }
        section aria-labelledby="findings" {
            h2 #findings { (say("visit.findings")) }
            @if findings.is_empty() { p { (say("season.no-findings")) } } @else {
                ul { @for finding in findings { li.odd { (found_odd(frame, visit, finding)) } } }
            }
        }
        section aria-labelledby="plants" {
            h2 #plants { (say("visit.plants")) }
            @if visit.checks.is_empty() { p { (say("visit.no-plants")) } } @else { (plants(frame, site, visit, beside)) }
        }
        @if !beside.notes.is_empty() { (notes(frame, visit, beside)) }
        @if !visit.pooled.is_empty() {
            section aria-labelledby="pooled" {
                h2 #pooled { (say("visit.pooled")) }
                @for pooled in &visit.pooled { (pool(frame, pooled)) }
            }
        }
        @if !visit.adults.is_empty() {
            section aria-labelledby="adults" {
                h2 #adults { (say("visit.adults")) }
                @for adults in &visit.adults { (adults_seen(frame, adults)) }
            }
        }
    };
    frame.page(&title, &content)
}

fn facts(frame: &Frame, visit: &VisitState) -> Markup {
    let language = frame.language;
    let say = |id: &str| frame.say(id, &[]);
    let minutes = |number: u64| frame.say("count.minutes", &[("number", number.into())]);
    let not_known = || say("visit.not-known");
    let mut facts: Vec<(&str, String)> = vec![
        ("visit.started", visit.started.map_or_else(not_known, |at| time::local(at, visit.offset))),
        ("visit.ended", visit.ended.map_or_else(|| say("visit.not-ended"), |at| time::local(at, visit.offset))),
        ("visit.duration", visit.duration_ms.map_or_else(not_known, |ms| minutes(ms / MINUTE_MS))),
        ("visit.search-time", visit.person_minutes.map_or_else(not_known, |own| minutes(own.into()))),
        ("visit.people", frame.say("count.people", &[("number", visit.observers.len().into())])),
        ("visit.phones", integer(language, phones(visit))),
        ("visit.weather", words::weather(language, &visit.weather)),
        ("visit.hosts", visit.hosts_up.map_or_else(not_known, |hosts| words::hosts_up(language, hosts))),
    ];
    if let Some(protocol) = &visit.protocol {
        let stages = protocol.stages.iter().map(|&stage| words::stage(language, stage)).collect::<Vec<_>>().join(", ");
        facts.extend([
            ("visit.protocol", protocol.name.clone()),
            ("visit.choice", words::choice(language, protocol.choice)),
            ("visit.search", words::search(language, protocol.search)),
            ("visit.stages", stages),
        ]);
    }
    html! {
        dl.facts { @for (id, value) in facts { dt { (say(id)) } dd { bdi { (value) } } } }
        @if visit.from_newer_version > 0 {
            p { (frame.say("visit.newer", &[("number", visit.from_newer_version.into())])) }
        }
    }
}

fn phones(visit: &VisitState) -> u64 {
    let devices: std::collections::BTreeSet<_> = visit.parts.iter().map(|part| part.device).collect();
    devices.len() as u64
}

/// Numbers of what the visit looked for, zeros too, then what is undecided.
fn totals(frame: &Frame, visit: &VisitState) -> Markup {
    let language = frame.language;
    let living = visit.living_totals();
    let scope = visit.protocol.iter().flat_map(|protocol| protocol.stages.iter().copied().map(What::Stage));
    let mut rows: Vec<(What, u64)> =
        scope.map(|what| (what.clone(), living.get(&what).copied().unwrap_or(0))).collect();
    let others: Vec<_> = living.into_iter().filter(|(what, _)| rows.iter().all(|(own, _)| own != what)).collect();
    rows.extend(others);
    html! {
        dl.facts { @for (what, number) in rows { dt { (words::what(language, &what)) } dd { (integer(language, number)) } } }
    }
}

fn found_odd(frame: &Frame, visit: &VisitState, finding: &Finding) -> Markup {
    let checks = finding.checks();
    let numbered = checks.iter().filter_map(|id| visit.checks.iter().find(|check| check.id == *id));
    html! {
        (words::finding(frame.language, finding))
        @for check in numbered {
            " – " a href={ "#" (anchor(check.id)) } {
                (frame.say("visit.go-to-plant", &[("number", check.number.into())]))
            }
        }
    }
}

fn notes(frame: &Frame, visit: &VisitState, beside: &Beside<'_>) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    html! {
        section aria-labelledby="written" {
            h2 #written { (say("visit.written")) }
            @for (hash, text) in beside.notes {
                @match text {
                    NoteText::Words(words) => {
                        blockquote { p { bdi { (words) } } }
                        @if beside.role >= Role::Administer {
                            details {
                                summary { (say("visit.erase")) }
                                p { (say("visit.erase-lead")) }
                                form method="post" action=(frame.link(&format!("/sites/{}/erase", visit.site))) {
                                    input type="hidden" name="form_token" value=(token(frame));
                                    input type="hidden" name="blob" value=(hash);
                                    input type="hidden" name="visit" value=(visit.id);
                                    p { button type="submit" { (say("visit.erase-do")) } }
                                }
                            }
                        }
                    }
                    NoteText::Erased => { p { (say("visit.note-erased")) } }
                    NoteText::NotHere => { p { (say("visit.note-not-here")) } }
                }
            }
        }
    }
}

fn plants(frame: &Frame, site: &SiteState, visit: &VisitState, beside: &Beside<'_>) -> Markup {
    let say = |id: &str| frame.say(id, &[]);
    let heads = ["visit.plant", "visit.host", "visit.found", "visit.standing", "visit.notes"];
    html! {
        table.cards.plants role="table" {
            caption { (say("visit.caption")) }
            thead role="rowgroup" {
                tr role="row" { @for id in heads { th scope="col" role="columnheader" { (say(id)) } } }
            }
            tbody role="rowgroup" { @for check in &visit.checks { (plant(frame, site, visit, check, beside)) } }
        }
    }
}

fn plant(frame: &Frame, site: &SiteState, visit: &VisitState, check: &CheckState, beside: &Beside<'_>) -> Markup {
    let counts = beside.counts.get(&check.id).map_or(&[][..], Vec::as_slice);
    let language = frame.language;
    let say = |id: &str| frame.say(id, &[]);
    let odd: Vec<&Finding> = visit.findings.iter().filter(|finding| finding.checks().contains(&check.id)).collect();
    let clump = check.stems.map(|stems| frame.say("visit.clump-of", &[("number", stems.into())]));
    html! {
        tr role="row" id=(anchor(check.id)) {
            th scope="row" role="rowheader" { (check.number) " " small { (words::unit(language, check.unit)) } }
            td role="cell" data-label=(say("visit.host")) {
                span { bdi { (words::host(language, check.host.as_ref())) } }
                @if let Some(clump) = clump { small { (clump) } }
                @if let Some(condition) = check.condition { small { (words::condition(language, condition)) } }
            }
            td role="cell" data-label=(say("visit.found")) {
                @if check.tally.is_empty() {
                    span { (nothing(frame, check)) }
                } @else {
                    ul { @for row in check.tally.rows() { li { (counted(frame, &row)) } } }
                }
                @for count in counts.iter().filter(|count| count.review.is_some()) {
                    small { (frame.say("visit.reviewed", &[("what", (&as_counted(frame, count)).into())])) }
                }
                @if !counts.is_empty() {
                    small { a href=(frame.link(&plant_path(site.id, visit.id, check.id))) {
                        (frame.say(if beside.role >= Role::Review { "visit.review" } else { "visit.one-by-one" }, &[("number", check.number.into())]))
                    } }
                }
            }
            td role="cell" data-label=(say("visit.standing")) {
                span { (words::standing(language, check.standing)) }
                @if let Some(extent) = check.extent.filter(|extent| *extent != Extent::Whole) { small { (words::extent(language, extent)) } }
            }
            td.none[odd.is_empty()] role="cell" data-label=(say("visit.notes")) {
                @if !odd.is_empty() { ul { @for finding in odd { li.odd { (words::finding(language, finding)) } } } }
            }
        }
    }
}

fn as_counted(frame: &Frame, count: &CountState) -> String {
    counted(frame, &TallyRow { what: count.what.clone(), state: count.state, number: count.number.into() })
}

/// What a review puts in place of a count.
pub(super) fn split(frame: &Frame, state: AnimalState, instead: &BTreeMap<What, u32>) -> String {
    let rows = instead.iter().map(|(what, &number)| TallyRow { what: what.clone(), state, number: number.into() });
    let rows: Vec<String> = rows.map(|row| counted(frame, &row)).collect();
    if rows.is_empty() { frame.say("review.nothing", &[]) } else { rows.join(", ") }
}

/// Where a plant's counts stand one by one.
pub(super) fn plant_path(site: SiteId, visit: VisitId, check: CheckId) -> String {
    format!("/sites/{site}/visits/{visit}/plants/{check}")
}

pub(super) fn counted(frame: &Frame, row: &TallyRow) -> String {
    let what = words::what(frame.language, &row.what);
    match row.state {
        AnimalState::Alive => frame.say("visit.count", &[("number", row.number.into()), ("what", what.into())]),
        state => {
            let state = words::state(frame.language, state);
            let args = [("number", row.number.into()), ("what", what.into()), ("state", state.into())];
            frame.say("visit.count-in-state", &args)
        }
    }
}

/// What stands where nothing was counted: that it was searched and empty, a zero, or a dash where nobody looked.
fn nothing(frame: &Frame, check: &CheckState) -> String {
    match (check.seen_empty, check.extent) {
        (Some(_), _) => frame.say("extent.seen-empty", &[]),
        (None, Some(Extent::Whole | Extent::Part)) => "0".into(),
        (None, Some(Extent::Refused(_)) | None) => "–".into(),
    }
}

fn pool(frame: &Frame, pooled: &PooledState) -> Markup {
    let language = frame.language;
    let effort = match pooled.check.checked {
        Some(checked) => {
            let units = words::units(language, checked.into(), pooled.check.unit);
            frame.say("visit.pooled-known", &[("units", units.into())])
        }
        None => frame.say("visit.pooled-unknown", &[]),
    };
    html! {
        p { (effort) }
        dl.facts {
            @for (what, &number) in &pooled.check.totals {
                dt { (words::what(language, what)) } dd { (integer(language, number.into())) }
            }
        }
    }
}

fn adults_seen(frame: &Frame, adults: &AdultsState) -> Markup {
    let language = frame.language;
    let effort = match adults.counted.effort {
        AdultEffort::Noted => frame.say("visit.adults-noted", &[]),
        AdultEffort::TimedWalk { minutes, metres, width_m } => {
            let minutes = frame.say("count.minutes", &[("number", minutes.into())]);
            let length = |metres| Arg::from(messages::decimal(language, metres, 0));
            frame.say(
                "visit.adults-walk",
                &[("minutes", minutes.into()), ("metres", length(metres)), ("width", length(width_m))],
            )
        }
    };
    html! {
        p { (effort) }
        dl.facts {
            @for (&act, &number) in &adults.counted.seen {
                dt { (words::adult(language, act)) } dd { (integer(language, number.into())) }
            }
        }
    }
}

fn anchor(check: CheckId) -> String {
    format!("plant-{check}")
}
