//! What estimates are made from: the samples of one site's season, as plain data.

use crate::{MessageId, Refusal, id};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use survey::date::Date;
use survey::protocol::{GoalGroup, PlantChoice, Unit};
use survey::stage::{Outcome, Stage, Undecided, What};

/// Living animals counted at one visit.
///
/// Only whole checks and living animals belong in here. A stage in scope without a count is a zero; a stage out of
/// scope has no value at all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VisitSample {
    /// Local date of the visit.
    pub date: Date,
    /// Unit of its checks; `None` only where the effort is unknown.
    pub unit: Option<Unit>,
    /// How the units were chosen.
    pub choice: Choice,
    /// Units at the whole site, where somebody counted them.
    pub units_at_site: Option<u32>,
    /// The stages that were looked for.
    pub scope: BTreeSet<Stage>,
    /// The counts.
    pub counted: Counted,
}

/// Counts unit by unit, or as totals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Counted {
    /// One for each unit checked, the empty ones too.
    Units(Vec<Counts>),
    /// Totals of pooled checks.
    Pooled {
        /// The totals.
        counts: Counts,
        /// Units checked, where known.
        checked: Option<u32>,
    },
}

/// Living animals by what they are; what is absent is zero.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Counts(BTreeMap<What, u32>);

/// How units were chosen, as far as estimates care.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// By chance, each for itself.
    ByChance,
    /// By chance in clusters.
    Clusters,
    /// Tagged plants, the same ones at each visit.
    Tagged,
    /// All of the site.
    All,
    /// The observer's choice.
    ObserversChoice,
    /// Nobody wrote it down.
    NotStated,
}

/// Stages that are taken together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// One stage.
    Stage(Stage),
    /// Larvae of any instar, judged or not.
    Larvae,
    /// Eggs and larvae.
    Immatures,
}

/// The samples of one site in one season, in order of date, all in one unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteSeason {
    visits: Vec<VisitSample>,
    unit: Option<Unit>,
}

const INSTARS: [Stage; 5] = [Stage::Larva1, Stage::Larva2, Stage::Larva3, Stage::Larva4, Stage::Larva5];

impl SiteSeason {
    /// The season of these samples, in any order.
    ///
    /// # Errors
    /// [`Refusal::MixedUnits`] if stems and clumps meet; [`Refusal::UnknownUnit`] if an effort is known and its unit
    /// is not; [`Refusal::CountedOutOfScope`] if something was counted that was not looked for.
    pub fn new(mut visits: Vec<VisitSample>) -> Result<Self, Refusal> {
        let units: BTreeSet<_> = visits.iter().filter_map(|visit| visit.unit).collect();
        if units.len() > 1 {
            return Err(Refusal::MixedUnits);
        }
        for visit in &visits {
            visit.check()?;
        }
        visits.sort_by_key(|visit| visit.date);
        Ok(Self { visits, unit: units.first().copied() })
    }

    /// The samples in order of date.
    pub fn visits(&self) -> &[VisitSample] {
        &self.visits
    }

    /// The unit of all checks; `None` where no visit states one.
    pub const fn unit(&self) -> Option<Unit> {
        self.unit
    }

    /// Whether every visit says how many units were checked.
    pub fn effort_is_known(&self) -> bool {
        self.visits.iter().all(|visit| visit.checked().is_some())
    }

    /// Days from the first visit to this date.
    pub fn day(&self, date: Date) -> f64 {
        let first = self.visits.first().map_or(date, |visit| visit.date);
        (date.naive() - first.naive()).num_days() as f64
    }
}

impl VisitSample {
    /// Units checked, where known.
    pub fn checked(&self) -> Option<u64> {
        match &self.counted {
            Counted::Units(units) => Some(units.len() as u64),
            Counted::Pooled { checked, .. } => checked.map(u64::from),
        }
    }

    /// Whether all of the group was looked for. The unjudged larva was where all five instars were.
    pub fn has_in_scope(&self, group: Group) -> bool {
        let larvae = || self.scope.contains(&Stage::Larva) || INSTARS.iter().all(|stage| self.scope.contains(stage));
        match group {
            Group::Stage(Stage::Larva) | Group::Larvae => larvae(),
            Group::Stage(stage) => self.scope.contains(&stage),
            Group::Immatures => self.scope.contains(&Stage::Egg) && larvae(),
        }
    }

    /// Animals certainly of the group; `None` where it was not all looked for.
    pub fn total(&self, group: Group) -> Option<u64> {
        self.has_in_scope(group).then(|| self.sum(|counts| counts.certain(group)))
    }

    /// Undecided things that may be of the group; `None` where it was not all looked for.
    ///
    /// A larva whose instar was not judged is one for each single instar.
    pub fn undecided(&self, group: Group) -> Option<u64> {
        self.has_in_scope(group).then(|| self.sum(|counts| counts.possible(group) - counts.certain(group)))
    }

    pub(crate) fn sum(&self, of: impl Fn(&Counts) -> u64) -> u64 {
        match &self.counted {
            Counted::Units(units) => units.iter().map(of).sum(),
            Counted::Pooled { counts, .. } => of(counts),
        }
    }

    /// What its choice of units makes one assume.
    pub(crate) fn choice_assumes(&self) -> &'static [MessageId] {
        match self.choice {
            Choice::ByChance => &[id::ASSUMED_RANDOM_UNITS],
            Choice::Clusters => &[id::ASSUMED_RANDOM_UNITS, id::ASSUMED_CLUSTERS_IGNORED],
            Choice::Tagged => &[id::ASSUMED_TAGGED_STAND_FOR_SITE],
            Choice::All => &[],
            Choice::ObserversChoice => &[id::ASSUMED_OBSERVERS_CHOICE],
            Choice::NotStated => &[id::ASSUMED_CHOICE_NOT_STATED],
        }
    }

    fn check(&self) -> Result<(), Refusal> {
        if self.checked().is_some() && self.unit.is_none() {
            return Err(Refusal::UnknownUnit);
        }
        let all = match &self.counted {
            Counted::Units(units) => units.as_slice(),
            Counted::Pooled { counts, .. } => std::slice::from_ref(counts),
        };
        let stranger =
            all.iter().flat_map(|counts| counts.0.iter().filter(|(_, number)| **number > 0)).find_map(|(what, _)| {
                match what {
                    What::Stage(stage) if !self.has_in_scope(Group::Stage(*stage)) => Some(*stage),
                    What::Stage(_) | What::Undecided(_) => None,
                }
            });
        stranger.map_or(Ok(()), |stage| Err(Refusal::CountedOutOfScope(stage)))
    }
}

impl Counts {
    /// How many of exactly this.
    pub fn of(&self, what: &What) -> u32 {
        self.0.get(what).copied().unwrap_or(0)
    }

    /// Everything counted, in order.
    pub fn iter(&self) -> impl Iterator<Item = (&What, u32)> {
        self.0.iter().map(|(what, number)| (what, *number))
    }

    /// Animals certainly of the group.
    pub fn certain(&self, group: Group) -> u64 {
        self.sum(|what| group.surely_holds(what))
    }

    /// Things that are or may be of the group.
    pub fn possible(&self, group: Group) -> u64 {
        self.sum(|what| group.may_hold(what))
    }

    pub(crate) fn sum(&self, wanted: impl Fn(&What) -> bool) -> u64 {
        self.0.iter().filter(|(what, _)| wanted(what)).map(|(_, number)| u64::from(*number)).sum()
    }
}

impl FromIterator<(What, u32)> for Counts {
    fn from_iter<I: IntoIterator<Item = (What, u32)>>(counts: I) -> Self {
        let mut sums = BTreeMap::new();
        for (what, number) in counts {
            let sum: &mut u32 = sums.entry(what).or_default();
            *sum = sum.saturating_add(number);
        }
        Self(sums)
    }
}

impl Group {
    /// Whether a monarch of this stage belongs to it.
    pub fn holds(self, stage: Stage) -> bool {
        let larva = INSTARS.contains(&stage) || stage == Stage::Larva;
        match self {
            Self::Stage(own) => own == stage,
            Self::Larvae => larva,
            Self::Immatures => larva || stage == Stage::Egg,
        }
    }

    fn surely_holds(self, what: &What) -> bool {
        match what {
            What::Stage(stage) => self.holds(*stage),
            What::Undecided(set) => outcomes_all(set, |stage| self.holds(stage)),
        }
    }

    /// Whether the thing is or may be of the group.
    pub fn may_hold(self, what: &What) -> bool {
        what.stages().into_iter().any(|stage| self.holds(stage) || self.is_instar_of(stage))
    }

    /// An unjudged larva may be of any instar.
    fn is_instar_of(self, stage: Stage) -> bool {
        stage == Stage::Larva && matches!(self, Self::Stage(own) if INSTARS.contains(&own))
    }
}

impl From<GoalGroup> for Group {
    fn from(goal: GoalGroup) -> Self {
        match goal {
            GoalGroup::Eggs => Self::Stage(Stage::Egg),
            GoalGroup::Larvae => Self::Larvae,
            GoalGroup::Immatures => Self::Immatures,
        }
    }
}

impl From<PlantChoice> for Choice {
    fn from(choice: PlantChoice) -> Self {
        match choice {
            PlantChoice::EveryKth { .. } => Self::ByChance,
            PlantChoice::Clusters { .. } => Self::Clusters,
            PlantChoice::Tagged => Self::Tagged,
            PlantChoice::All => Self::All,
            PlantChoice::ObserversChoice => Self::ObserversChoice,
        }
    }
}

fn outcomes_all(set: &Undecided, holds: impl Fn(Stage) -> bool) -> bool {
    set.outcomes().all(|outcome| match outcome {
        Outcome::Stage(stage) => holds(stage),
        Outcome::NotThis => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(scope: &[Stage], counts: &[(&str, u32)]) -> VisitSample {
        VisitSample {
            date: Date::try_from("2026-06-01".to_owned()).unwrap(),
            unit: Some(Unit::Stem),
            choice: Choice::ByChance,
            units_at_site: None,
            scope: scope.iter().copied().collect(),
            counted: Counted::Units(vec![
                counts.iter().map(|(what, number)| (what.parse().unwrap(), *number)).collect(),
            ]),
        }
    }

    #[test]
    fn out_of_scope_is_not_zero() {
        let visit = sample(&[Stage::Egg], &[]);
        assert_eq!(visit.total(Group::Stage(Stage::Egg)), Some(0));
        assert_eq!(visit.total(Group::Stage(Stage::Larva5)), None);
        assert_eq!(visit.total(Group::Immatures), None);
    }

    #[test]
    fn doubt_counts_where_it_may_belong_and_nowhere_for_certain() {
        let visit = sample(
            &Stage::EGG_TO_LARVA5,
            &[("egg", 4), ("egg+none", 3), ("larva2+larva3", 2), ("larva", 1), ("larva4", 1)],
        );
        let pair = |group| (visit.total(group).unwrap(), visit.undecided(group).unwrap());
        assert_eq!(pair(Group::Stage(Stage::Egg)), (4, 3));
        assert_eq!(pair(Group::Stage(Stage::Larva3)), (0, 3));
        assert_eq!(pair(Group::Stage(Stage::Larva4)), (1, 1));
        assert_eq!(pair(Group::Larvae), (4, 0));
        assert_eq!(pair(Group::Immatures), (8, 3));
    }

    #[test]
    fn a_season_has_one_unit_and_nothing_out_of_scope() {
        let stems = sample(&[Stage::Egg], &[("egg", 1)]);
        let clumps = VisitSample { unit: Some(Unit::Clump), ..stems.clone() };
        assert_eq!(SiteSeason::new(vec![stems.clone(), clumps]), Err(Refusal::MixedUnits));
        let nameless = VisitSample { unit: None, ..stems };
        assert_eq!(SiteSeason::new(vec![nameless]), Err(Refusal::UnknownUnit));
        let strange = sample(&[Stage::Egg], &[("pupa", 1)]);
        assert_eq!(SiteSeason::new(vec![strange]), Err(Refusal::CountedOutOfScope(Stage::Pupa)));
    }
}
