//! A site's seasons estimated: one record that the terminal, the pages and the JSON all show.

use super::note::Note;
use super::season::{Converted, Season, seasons};
use season::{
    AreaOf, Choice, Composition, Counted, Curve, Density, Estimate, Group, Level, MessageId, Refusal, StageTotal,
    VisitSample, area_under_curve, composition, curve, density, id, share_undecided, totals_by_stage,
};
use serde::Serialize;
use std::collections::BTreeMap;
use survey::date::Date;
use survey::finding::{Finding, observers_in_two_visits};
use survey::fold::{SiteState, VisitState};
use survey::ids::{SiteId, VisitId};
use survey::protocol::Unit;
use survey::stage::Stage;

/// Everything computed of one site.
#[derive(Debug, Clone, Serialize)]
pub struct SiteReport {
    /// The site.
    pub site: SiteId,
    /// Its name.
    pub name: Option<String>,
    /// Its place as it may be published.
    pub place: Option<PublicPoint>,
    /// Confidence level of every interval.
    pub level: Level,
    /// The seasons, by year and unit.
    pub seasons: Vec<SeasonReport>,
    /// What was left out and why.
    pub notes: Vec<Note>,
    /// What looks odd, by message id, with how often.
    pub findings: BTreeMap<&'static str, u64>,
}

/// A point that may be published.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PublicPoint {
    /// Latitude in decimal degrees, WGS 84.
    pub latitude: f64,
    /// Longitude in decimal degrees, WGS 84.
    pub longitude: f64,
    /// Radius in metres that holds the whole site.
    pub uncertainty_metres: u32,
}

/// One season in one unit.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonReport {
    /// The year.
    pub year: i32,
    /// The unit of check.
    pub unit: Unit,
    /// Stands over every figure: "counted", or that the effort is unknown.
    pub heading: MessageId,
    /// The stages that any visit looked for.
    pub stages: Vec<Stage>,
    /// Each visit.
    pub visits: Vec<VisitReport>,
    /// Sums by stage.
    pub totals: Vec<StageTotal>,
    /// Areas under the curve of means, in animal-days per unit of check.
    pub areas_of_means: Vec<StageFigure>,
    /// Areas under the curve of sample totals, in animal-days in the sample.
    pub areas_of_totals: Vec<StageFigure>,
    /// Shares of undecided things, by stage.
    pub undecided: Vec<StageFigure>,
    /// For the season chart.
    #[serde(skip)]
    pub curve: Curve,
    /// For the composition chart.
    #[serde(skip)]
    pub composition: Vec<Composition>,
}

/// One visit of a season.
#[derive(Debug, Clone, Serialize)]
pub struct VisitReport {
    /// Local date.
    pub date: Date,
    /// Which visit.
    pub visit: VisitId,
    /// Units checked; `None` where nobody wrote it down.
    pub checked: Option<u64>,
    /// Whether plants are known one by one.
    pub kept: Kept,
    /// How plants were chosen, where that weakens the figures.
    pub label: Option<MessageId>,
    /// Each stage; one that was not looked for has no entry.
    pub cells: Vec<Cell>,
}

/// How a visit's plants are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kept {
    /// One by one.
    Singly,
    /// As totals.
    Pooled,
}

/// One stage at one visit.
#[derive(Debug, Clone, Serialize)]
pub struct Cell {
    /// The stage.
    pub stage: Stage,
    /// Animals decided to be of it.
    pub animals: u64,
    /// Undecided things that may be of it.
    pub undecided: u64,
    /// The density, or why there is none.
    #[serde(flatten)]
    pub figure: Figure<Density>,
}

/// A number for one stage.
#[derive(Debug, Clone, Serialize)]
pub struct StageFigure {
    /// The stage.
    pub stage: Stage,
    /// The number, or why there is none.
    #[serde(flatten)]
    pub figure: Figure<Estimate>,
}

/// A figure, or why there is none.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Figure<T> {
    /// The figure.
    Value(T),
    /// Names why there is none.
    Refused(MessageId),
}

/// Everything computed of one site from its state and its visits' states. `level` is that of every interval.
///
/// # Errors
/// [`Refusal`] as [`seasons`] has it.
pub fn report(site: &SiteState, visits: &[VisitState], level: Level) -> Result<SiteReport, Refusal> {
    let Converted { seasons, notes } = seasons(site, visits)?;
    let public = site.place.as_ref().and_then(|place| place.public(site.public_precision));
    Ok(SiteReport {
        site: site.id,
        name: site.name.clone(),
        place: public.map(|place| PublicPoint {
            latitude: place.at.lat(),
            longitude: place.at.lon(),
            uncertainty_metres: place.uncertainty_m,
        }),
        level,
        seasons: seasons.iter().map(|season| season_report(season, level)).collect::<Result<_, _>>()?,
        notes,
        findings: finding_counts(site, visits),
    })
}

/// All findings of a site and its visits.
pub fn findings<'a>(site: &'a SiteState, visits: &'a [VisitState]) -> Vec<Finding> {
    let own = site.findings.iter().chain(visits.iter().flat_map(|visit| &visit.findings)).cloned();
    own.chain(observers_in_two_visits(visits)).collect()
}

impl SiteReport {
    /// The same with a note on acts that may not enter estimates yet.
    #[must_use]
    pub fn with_unverified(mut self, acts: u64) -> Self {
        if acts > 0 {
            self.notes.push(Note::counting("left-out.unverified", acts));
        }
        self
    }
}

impl SeasonReport {
    /// Whether every visit says how many units were checked.
    pub fn effort_is_known(&self) -> bool {
        self.visits.iter().all(|visit| visit.checked.is_some())
    }

    /// The areas that stand beside the other figures: of means where the effort is known, else of totals.
    pub fn areas(&self) -> &[StageFigure] {
        if self.effort_is_known() { &self.areas_of_means } else { &self.areas_of_totals }
    }

    /// Every estimate in it.
    pub fn estimates(&self) -> impl Iterator<Item = &Estimate> {
        let cells = self.visits.iter().flat_map(|visit| &visit.cells).filter_map(|cell| match &cell.figure {
            Figure::Value(density) => Some(density.shown.estimate()),
            Figure::Refused(_) => None,
        });
        let figures = self.areas().iter().chain(&self.undecided).filter_map(|figure| match &figure.figure {
            Figure::Value(estimate) => Some(estimate),
            Figure::Refused(_) => None,
        });
        cells.chain(self.totals.iter().map(|total| &total.total)).chain(figures)
    }
}

fn season_report(season: &Season, level: Level) -> Result<SeasonReport, Refusal> {
    let samples = season.samples.visits();
    let curve = curve(&season.samples, level)?;
    // The unjudged larva and the pupa have a column only where one was counted or may have been.
    let stages: Vec<Stage> = curve
        .stages
        .iter()
        .filter(|own| {
            let seen = || own.points.iter().any(|point| point.animals > 0 || point.undecided > 0);
            own.stage != Stage::Larva || samples.iter().any(has_unjudged) && seen()
        })
        .map(|own| own.stage)
        .collect();
    let area = |of| {
        let figure = |stage: Stage| area_under_curve(&season.samples, Group::Stage(stage), of, level);
        stages.iter().map(|&stage| StageFigure { stage, figure: figure(stage).into() }).collect()
    };
    let undecided = |stage: Stage| share_undecided(samples, Group::Stage(stage), level);
    Ok(SeasonReport {
        year: season.year,
        unit: season.unit,
        heading: curve.heading,
        visits: samples
            .iter()
            .zip(&season.visits)
            .map(|(sample, &visit)| visit_report(sample, visit, &stages, level))
            .collect(),
        totals: totals_by_stage(&season.samples)?.into_iter().filter(|total| stages.contains(&total.stage)).collect(),
        areas_of_means: area(AreaOf::Means),
        areas_of_totals: area(AreaOf::Totals),
        undecided: stages.iter().map(|&stage| StageFigure { stage, figure: undecided(stage).into() }).collect(),
        composition: composition(&season.samples)?,
        stages,
        curve,
    })
}

fn has_unjudged(sample: &VisitSample) -> bool {
    let unjudged = Stage::Larva.into();
    match &sample.counted {
        Counted::Units(units) => units.iter().any(|unit| unit.of(&unjudged) > 0),
        Counted::Pooled { counts, .. } => counts.of(&unjudged) > 0,
    }
}

fn visit_report(sample: &VisitSample, visit: VisitId, stages: &[Stage], level: Level) -> VisitReport {
    let cell = |&stage: &Stage| {
        let group = Group::Stage(stage);
        let (animals, undecided) = (sample.total(group)?, sample.undecided(group)?);
        Some(Cell { stage, animals, undecided, figure: density(sample, group, level).into() })
    };
    VisitReport {
        date: sample.date,
        visit,
        checked: sample.checked(),
        kept: match sample.counted {
            Counted::Units(_) => Kept::Singly,
            Counted::Pooled { .. } => Kept::Pooled,
        },
        label: match sample.choice {
            Choice::ObserversChoice => Some(id::ASSUMED_OBSERVERS_CHOICE),
            Choice::NotStated => Some(id::ASSUMED_CHOICE_NOT_STATED),
            Choice::ByChance | Choice::Clusters | Choice::Tagged | Choice::All => None,
        },
        cells: stages.iter().filter_map(cell).collect(),
    }
}

fn finding_counts(site: &SiteState, visits: &[VisitState]) -> BTreeMap<&'static str, u64> {
    let mut counts = BTreeMap::new();
    for finding in findings(site, visits) {
        *counts.entry(finding.message_id()).or_default() += 1;
    }
    counts
}

impl<T> From<Result<T, Refusal>> for Figure<T> {
    fn from(result: Result<T, Refusal>) -> Self {
        match result {
            Ok(value) => Self::Value(value),
            Err(refusal) => Self::Refused(refusal.message()),
        }
    }
}
