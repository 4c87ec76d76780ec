//! One site's season: figures, table, how the numbers were made, what was left out.

use super::frame::Frame;
use super::outlook::{self, Latest};
use super::time;
use crate::report::analysis::{Cell, SeasonReport, SiteReport, VisitReport};
use crate::report::cell::{self, Said};
use crate::report::figures::{self, Drawn};
use crate::report::load::Loaded;
use crate::report::text::name;
use maud::{Markup, PreEscaped, html};
use messages::{Language, decimal, integer, say, words};
use std::collections::BTreeSet;
use survey::finding::observers_in_two_visits;
use survey::ids::VisitId;

/// Where a visit's own page is; `None` where there is none, as in a file.
pub type VisitLink<'a> = &'a dyn Fn(VisitId) -> Option<String>;

/// The page.
pub fn page(frame: &Frame, report: &SiteReport, loaded: &Loaded) -> Markup {
    let language = frame.language;
    let title = say(language, "season.title", &[("site", name(report, language).into())]);
    let link = |visit: VisitId| Some(frame.link(&format!("/sites/{}/visits/{visit}", loaded.site.id)));
    frame.page(&title, &content(language, report, loaded, &link))
}

/// What the page and the file share.
pub fn content(language: Language, report: &SiteReport, loaded: &Loaded, link: VisitLink<'_>) -> Markup {
    let say = |id: &str| say(language, id, &[]);
    html! {
        h1 { (titled(language, report)) }
        (place(language, report))
        @if report.seasons.is_empty() {
            p { (say(if loaded.visits.is_empty() { "season.none" } else { "refused.nothing" })) }
        }
        @for (index, season) in latest_first(report).into_iter().enumerate() {
            section aria-labelledby={ "season-" (index) } {
                (one(language, report, season, index, link))
                (outlook::sections(language, &loaded.site, season, if index == 0 { Latest::Yes } else { Latest::No }))
                h3 { (say("page.how")) }
                (methods(language, season))
            }
        }
        @if !report.notes.is_empty() {
            section aria-labelledby="notes" {
                h2 #notes { (say("season.notes")) }
                ul {
                    @for note in &report.notes { li { (note.say(language)) } }
                }
            }
        }
        section aria-labelledby="findings" {
            h2 #findings { (say("season.findings")) }
            (findings(language, loaded, link))
        }
        @if !loaded.visits.is_empty() {
            section aria-labelledby="visits" {
                h2 #visits { (say("season.visits")) }
                ul.plain {
                    @for visit in loaded.visits.iter().rev() {
                        li { (visit_link(visit.id, &time::day(language, visit), link)) }
                    }
                }
            }
        }
    }
}

fn latest_first(report: &SiteReport) -> Vec<&SeasonReport> {
    let mut seasons: Vec<&SeasonReport> = report.seasons.iter().collect();
    seasons.sort_by_key(|season| (std::cmp::Reverse(season.year), season.unit));
    seasons
}

fn titled(language: Language, report: &SiteReport) -> Markup {
    // The name may be written in another direction than the page: it is set apart.
    let around = messages::say(language, "season.title", &[("site", "\u{1}".into())]);
    let (before, after) = around.split_once('\u{1}').unwrap_or((&around, ""));
    html! { (before) bdi { (name(report, language)) } (after) }
}

fn place(language: Language, report: &SiteReport) -> Markup {
    let words = match report.place {
        None => say(language, "season.place-withheld", &[]),
        Some(point) => {
            let (lat, lon) = (decimal(language, point.latitude, 4), decimal(language, point.longitude, 4));
            let metres = integer(language, point.uncertainty_metres.into());
            say(language, "season.place-public", &[("metres", metres.into()), ("lat", lat.into()), ("lon", lon.into())])
        }
    };
    html! { p.lead { (say(language, "season.place", &[("place", words.into())])) } }
}

fn one(language: Language, report: &SiteReport, season: &SeasonReport, index: usize, link: VisitLink<'_>) -> Markup {
    let say = |id: &str| say(language, id, &[]);
    let unit = words::unit(language, season.unit);
    html! {
        h2 id={ "season-" (index) } {
            (messages::say(language, "season.heading", &[("year", season.year.to_string().into()), ("unit", unit.into())]))
        }
        p.counted { (say(season.heading.name())) }
        (figure(figures::curve(report, season, language), &say("season.curve-caption")))
        (figure(figures::composition(report, season, language), &say("season.composition-caption")))
        (table(language, season, link))
    }
}

fn figure(drawn: Option<Drawn>, caption: &str) -> Markup {
    let Some(drawn) = drawn else { return html! {} };
    html! {
        figure {
            div.wide { (PreEscaped(drawn.wide)) }
            div.narrow { (PreEscaped(drawn.narrow)) }
            figcaption { (caption) }
        }
    }
}

fn table(language: Language, season: &SeasonReport, link: VisitLink<'_>) -> Markup {
    let say = |id: &str| say(language, id, &[]);
    let per = cell::per(language, season.unit);
    let caption = if season.effort_is_known() {
        messages::say(language, "season.table-caption", &[("unit", per.into())])
    } else {
        say("season.table-caption-totals")
    };
    let stages: Vec<String> = season.stages.iter().map(|&stage| words::stage(language, stage)).collect();
    let totals = season.stages.iter().map(|stage| season.totals.iter().find(|total| total.stage == *stage));
    html! {
        table.cards role="table" {
            caption { (caption) }
            thead role="rowgroup" {
                tr role="row" {
                    th scope="col" role="columnheader" { (say("season.date")) }
                    th scope="col" role="columnheader" { (say("season.checked")) }
                    @for stage in &stages { th scope="col" role="columnheader" { (stage) } }
                }
            }
            tbody role="rowgroup" {
                @for visit in &season.visits { (row(language, season, visit, &stages, link)) }
            }
            tfoot role="rowgroup" {
                tr role="row" {
                    th scope="row" role="rowheader" { (say("season.total-row")) }
                    td.none role="cell" {}
                    @for (total, stage) in totals.zip(&stages) {
                        td role="cell" data-label=(stage) {
                            @if let Some(total) = total {
                                span.n { (decimal(language, total.total.value, 0)) }
                                (undecided(language, total.undecided))
                            }
                        }
                    }
                }
                tr role="row" {
                    th scope="row" role="rowheader" { (say("season.area-row")) }
                    td.none role="cell" {}
                    @for (area, stage) in season.areas().iter().zip(&stages) {
                        td role="cell" data-label=(stage) { (said(&cell::area(language, season, area))) }
                    }
                }
                tr role="row" {
                    th scope="row" role="rowheader" { (say("season.undecided-row")) }
                    td.none role="cell" {}
                    @for (share, stage) in season.undecided.iter().zip(&stages) {
                        td role="cell" data-label=(stage) { (said(&cell::share(language, share))) }
                    }
                }
            }
        }
    }
}

fn row(
    language: Language,
    season: &SeasonReport,
    visit: &VisitReport,
    stages: &[String],
    link: VisitLink<'_>,
) -> Markup {
    let cells = season.stages.iter().map(|stage| visit.cells.iter().find(|cell| cell.stage == *stage));
    html! {
        tr role="row" {
            th scope="row" role="rowheader" {
                (visit_link(visit.visit, &visit.date.to_string(), link))
                @if let Some(label) = visit.label { small { br; (say(language, label.name(), &[])) } }
            }
            td role="cell" data-label=(say(language, "season.checked", &[])) { (cell::checked(language, visit.checked, season.unit)) }
            @for (cell, stage) in cells.zip(stages) {
                td role="cell" data-label=(stage) { (shown(language, season, cell)) }
            }
        }
    }
}

fn shown(language: Language, season: &SeasonReport, cell: Option<&Cell>) -> Markup {
    let Some(cell) = cell else {
        return html! { small { (say(language, "season.not-looked-for", &[])) } };
    };
    let animals = integer(language, cell.animals);
    if !season.effort_is_known() {
        return html! { span.n { (animals) } (undecided(language, cell.undecided)) };
    }
    html! {
        (said(&cell::density(language, cell, season.unit)))
        small { (say(language, "season.animals", &[("animals", animals.into())])) }
        (undecided(language, cell.undecided))
    }
}

fn undecided(language: Language, number: u64) -> Markup {
    html! { @if number > 0 { small { (say(language, "season.with-undecided", &[("number", integer(language, number).into())])) } } }
}

fn said(said: &Said) -> Markup {
    let is_number = said.value.contains(|letter: char| letter.is_ascii_digit());
    html! {
        @if is_number { span.n { (said.value) } } @else { small { (said.value) } }
        @if let Some(unit) = &said.unit { small { (unit) } }
        @if let Some(interval) = &said.interval { span.n { (interval) } }
    }
}

fn methods(language: Language, season: &SeasonReport) -> Markup {
    let (mut methods, mut assumed) = (BTreeSet::new(), BTreeSet::new());
    for estimate in season.estimates() {
        methods.insert(estimate.method);
        assumed.extend(estimate.assumed.iter().copied());
    }
    html! {
        ul {
            @for id in methods { li { (say(language, id.name(), &[])) } }
            li { (say(language, "season.level-95", &[])) }
        }
        @if !assumed.is_empty() {
            h3 { (say(language, "season.assumed", &[])) }
            ul { @for id in assumed { li { (say(language, id.name(), &[])) } } }
        }
    }
}

fn findings(language: Language, loaded: &Loaded, link: VisitLink<'_>) -> Markup {
    let between = observers_in_two_visits(&loaded.visits);
    let quiet = loaded.site.findings.is_empty() && between.is_empty();
    if quiet && loaded.visits.iter().all(|visit| visit.findings.is_empty()) {
        return html! { p { (say(language, "season.no-findings", &[])) } };
    }
    html! {
        ul.plain {
            @for finding in loaded.site.findings.iter().chain(&between) { li.odd { (words::finding(language, finding)) } }
            @for visit in loaded.visits.iter().filter(|visit| !visit.findings.is_empty()) {
                @let number = visit.findings.len();
                li {
                    (visit_link(visit.id, &time::day(language, visit), link)) ": "
                    (say(language, "count.findings", &[("number", number.into())]))
                    ul {
                        @for words in each(language, visit) { li.odd { (words) } }
                    }
                }
            }
        }
    }
}

/// Each finding's words once, with how often where it is more than once.
fn each(language: Language, visit: &survey::fold::VisitState) -> Vec<String> {
    let all: Vec<String> = visit.findings.iter().map(|finding| words::finding(language, finding)).collect();
    let mut kinds = all.clone();
    kinds.sort_unstable();
    kinds.dedup();
    let often = |words: &String| all.iter().filter(|own| *own == words).count();
    kinds
        .iter()
        .map(|words| if often(words) > 1 { format!("{words} (×{})", often(words)) } else { words.clone() })
        .collect()
}

fn visit_link(visit: VisitId, words: &str, link: VisitLink<'_>) -> Markup {
    html! { @match link(visit) { Some(href) => a href=(href) { (words) }, None => (words) } }
}
