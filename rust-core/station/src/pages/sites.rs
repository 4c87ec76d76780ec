//! Overview of the sites.

mod lines;

pub use lines::Lines;

use super::frame::Frame;
use crate::report::load::Loaded;
use maud::{Markup, html};
use messages::{Language, integer, say, words};
use std::collections::BTreeMap;
use survey::finding::observers_in_two_visits;
use survey::fold::Standing;
use survey::ids::SiteId;
use survey::protocol::Unit;
use survey::stage::{Stage, What};

/// One site in the overview.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteLine {
    /// Which.
    pub site: SiteId,
    /// Its name.
    pub name: Option<String>,
    /// Local date of its last visit.
    pub last_visit: Option<survey::date::Date>,
    /// How many visits.
    pub visits: usize,
    /// Units on whole and pooled checks; `None` where a pooled check does not say.
    pub checked: BTreeMap<Unit, Option<u64>>,
    /// Living animals on whole and pooled checks, by stage.
    pub totals: BTreeMap<Stage, u64>,
    /// Undecided things.
    pub undecided: u64,
    /// What looks odd.
    pub findings: usize,
    /// What is left to do.
    pub outstanding: Vec<(&'static str, u64)>,
}

/// What the overview says of a site; of photos only those that are to be judged.
pub fn line(loaded: &Loaded) -> SiteLine {
    let mut line = SiteLine {
        site: loaded.site.id,
        name: loaded.site.name.clone(),
        last_visit: loaded.visits.iter().filter_map(survey::fold::VisitState::date).max(),
        visits: loaded.visits.len(),
        checked: BTreeMap::new(),
        totals: BTreeMap::new(),
        undecided: 0,
        findings: loaded.site.findings.len() + observers_in_two_visits(&loaded.visits).len(),
        outstanding: Vec::new(),
    };
    let (mut open, mut disputed, mut audits) = (0, 0, 0);
    for visit in &loaded.visits {
        line.findings += visit.findings.len();
        for check in visit.entering() {
            add(&mut line.checked, check.unit, Some(1));
        }
        for pooled in &visit.pooled {
            add(&mut line.checked, pooled.check.unit, pooled.check.checked.map(u64::from));
        }
        for (what, number) in visit.living_totals() {
            match what {
                What::Stage(stage) => *line.totals.entry(stage).or_default() += number,
                What::Undecided(_) => line.undecided += number,
            }
        }
        open += u64::from(visit.ended.is_none());
        disputed += visit.checks.iter().filter(|check| check.standing == Standing::Disputed).count() as u64;
        let judged = |photo| visit.photos.iter().any(|own| Some(own.id) == photo && own.judged.is_some());
        audits += visit.audits.iter().filter(|audit| audit.photo.is_some() && !judged(audit.photo)).count() as u64;
    }
    line.outstanding = [
        ("sites.open-visits", open),
        ("sites.disputed", disputed),
        ("sites.unverified", loaded.unverified),
        (AUDITS, audits),
    ]
    .into_iter()
    .filter(|(_, number)| *number > 0)
    .collect();
    line
}

impl SiteLine {
    /// Says as well how many photos are declared and not whole yet.
    #[must_use]
    pub fn with_photos_to_come(mut self, photos: u64) -> Self {
        if photos > 0 {
            let audits = self.outstanding.iter().position(|(id, _)| *id == AUDITS);
            self.outstanding.insert(audits.unwrap_or(self.outstanding.len()), ("sites.photos-to-come", photos));
        }
        self
    }
}

const AUDITS: &str = "sites.audits";

/// The page. Sites with the latest visit come first.
pub fn page(frame: &Frame, mut lines: Vec<SiteLine>) -> Markup {
    lines.sort_by(|one, other| (other.last_visit, &one.name, one.site).cmp(&(one.last_visit, &other.name, other.site)));
    let say = |id: &str| frame.say(id, &[]);
    let content = html! {
        h1 { (say("page.sites")) }
        @if lines.is_empty() { p { (say("sites.none")) } } @else {
            p.lead { (say("sites.lead")) }
            (table(frame, &lines))
        }
    };
    frame.page(&say("page.sites"), &content)
}

fn table(frame: &Frame, lines: &[SiteLine]) -> Markup {
    let language = frame.language;
    let say = |id: &str| frame.say(id, &[]);
    let counted = |stage: &Stage| lines.iter().any(|line| line.totals.contains_key(stage));
    let stages: Vec<Stage> =
        Stage::ALL.into_iter().filter(|stage| Stage::EGG_TO_LARVA5.contains(stage) || counted(stage)).collect();
    let columns = stages.len() + 1;
    html! {
        table.cards role="table" {
            caption { (say("sites.caption")) }
            thead role="rowgroup" {
                tr role="row" {
                    @for id in ["sites.site", "sites.last-visit", "sites.visits", "sites.checked"] {
                        th scope="col" rowspan="2" role="columnheader" { (say(id)) }
                    }
                    th scope="colgroup" colspan=(columns) role="columnheader" { (say("sites.totals")) }
                    @for id in ["sites.findings", "sites.outstanding"] {
                        th scope="col" rowspan="2" role="columnheader" { (say(id)) }
                    }
                }
                tr role="row" {
                    @for &stage in &stages { th scope="col" role="columnheader" { (words::stage(language, stage)) } }
                    th scope="col" role="columnheader" { (say("undecided.any")) }
                }
            }
            tbody role="rowgroup" { @for line in lines { (row(frame, line, &stages)) } }
        }
    }
}

fn row(frame: &Frame, line: &SiteLine, stages: &[Stage]) -> Markup {
    let language = frame.language;
    let say = |id: &str| frame.say(id, &[]);
    let number = |number: u64| integer(language, number);
    html! {
        tr role="row" {
            th scope="row" role="rowheader" {
                a href=(frame.link(&format!("/sites/{}", line.site))) { bdi { (name(language, line.name.as_ref())) } }
            }
            td role="cell" data-label=(say("sites.last-visit")) {
                span.n { @match line.last_visit { Some(date) => (date), None => "–" } }
            }
            td role="cell" data-label=(say("sites.visits")) { span { (number(line.visits as u64)) } }
            td role="cell" data-label=(say("sites.checked")) {
                @if line.checked.is_empty() { span { "–" } }
                @for (&unit, &checked) in &line.checked { span { (units(language, checked, unit)) } }
            }
            @for stage in stages {
                td role="cell" data-label=(words::stage(language, *stage)) {
                    span { (number(line.totals.get(stage).copied().unwrap_or(0))) }
                }
            }
            td role="cell" data-label=(say("undecided.any")) { span { (number(line.undecided)) } }
            td role="cell" data-label=(say("sites.findings")) {
                @if line.findings == 0 { span { "0" } } @else {
                    a href=(frame.link(&format!("/sites/{}#findings", line.site))) { (number(line.findings as u64)) }
                }
            }
            td role="cell" data-label=(say("sites.outstanding")) {
                @if line.outstanding.is_empty() { small { (say("sites.nothing-outstanding")) } } @else {
                    ul { @for (id, number) in &line.outstanding { li { (frame.say(id, &[("number", (*number).into())])) } } }
                }
            }
        }
    }
}

fn units(language: Language, checked: Option<u64>, unit: Unit) -> String {
    match checked {
        Some(number) => words::units(language, number, unit),
        None => say(language, "sites.checked-not-known", &[("unit", words::unit(language, unit).into())]),
    }
}

/// What is unknown in part is unknown as a sum.
fn add(checked: &mut BTreeMap<Unit, Option<u64>>, unit: Unit, more: Option<u64>) {
    let sum = checked.entry(unit).or_insert(Some(0));
    *sum = sum.zip(more).map(|(sum, more)| sum + more);
}

/// A site's name, or that it has none.
pub fn name(language: Language, name: Option<&String>) -> String {
    name.cloned().unwrap_or_else(|| say(language, "sites.unnamed", &[]))
}
