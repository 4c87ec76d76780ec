//! How many plants: before the visit, and while it goes on.

use crate::views::message::{Argument, Message};
use season::sampling::{Advice, Goal, MoreFor, OutOfReach, Precision, Scatter, SoFar, advice, what_effort_tells};
use season::{Group, Level};
use serde::Serialize;
use survey::check::Extent;
use survey::fold::CheckState;
use survey::protocol::{GoalGroup, PlantChoice, Protocol, StopRule};
use survey::visit::Share;

/// How precise a mean is to be: half its interval a quarter of it (choice of this project).
const PRECISION: Precision = Precision::HalfWidth { share: 0.25, level: Level::P95 };
/// Clumping of counts where the site has not shown its own; eggs on single stems are about so clumped (from memory).
const K: f64 = 0.5;
/// Animals per plant that are expected where the site has shown none: about a fifth of an egg (from memory).
const EXPECTED: f64 = 0.2;
/// Efforts that are compared before a visit.
const EFFORTS: [u32; 4] = [20, 40, 80, 150];

/// How many plants more.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HowManyView {
    /// Whole plants so far.
    pub checked: u32,
    /// Animals of the goal's stages on them.
    pub animals: u64,
    /// How many more are advised; `None` where counting may stop.
    pub more: Option<u32>,
    /// The advice in words, a line each.
    pub lines: Vec<Message>,
}

/// What an effort can tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EffortView {
    /// Animals of the goal's stages per plant that are expected.
    pub expected: f64,
    /// Where that comes from.
    pub expected_from: Message,
    /// By number of plants.
    pub rows: Vec<EffortRow>,
}

/// What so many plants can tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EffortRow {
    /// Plants.
    pub plants: u32,
    /// Half the interval as a share of the mean.
    pub half_width: f64,
    /// The chance of finding nothing at all.
    pub none_found: f64,
    /// The same in words.
    pub text: Message,
}

/// The stages that a goal is about.
pub(super) const fn group(goal: GoalGroup) -> Group {
    match goal {
        GoalGroup::Eggs => Group::Stage(survey::stage::Stage::Egg),
        GoalGroup::Larvae => Group::Larvae,
        GoalGroup::Immatures => Group::Immatures,
    }
}

pub(super) fn how_many<'a>(
    checks: impl Iterator<Item = &'a CheckState>,
    rule: StopRule,
    minutes: f64,
    units_at_site: Option<u32>,
) -> HowManyView {
    let group = group(rule.goal);
    let whole = checks.filter(|check| check.extent == Some(Extent::Whole));
    let counts: Vec<u32> = whole.map(|check| animals(check, group)).collect();
    let checked = u32::try_from(counts.len()).unwrap_or(u32::MAX);
    let found = counts.iter().copied().map(u64::from).sum();
    // More plants than were expected at the site: then its number is not known.
    let units_at_site = units_at_site.filter(|units| *units >= checked);
    let so_far = SoFar { counts: &counts, minutes, units_at_site };
    let (more, lines) = match advice(&Goal::of(rule, PRECISION), &so_far, Level::P95) {
        Ok(advice) => worded(&advice),
        Err(_) => (None, vec![Message::new("phone.season.no-advice")]),
    };
    HowManyView { checked, animals: found, more, lines }
}

fn worded(advice: &Advice) -> (Option<u32>, Vec<Message>) {
    let occupied = |share: f64| Message::new("phone.season.occupied").with("share", Argument::Percent(share));
    match advice {
        Advice::More { units, why } => {
            let id = match why {
                MoreFor::Least => "phone.season.more-least",
                MoreFor::Animals => "phone.season.more-animals",
                MoreFor::Precision => "phone.season.more-precision",
            };
            (Some(*units), vec![Message::new(id).with("number", Argument::Number(u64::from(*units)))])
        }
        Advice::Enough { reached, assumed } => {
            let enough = Message::new("phone.season.enough").with("share", Argument::Percent(*reached));
            (None, std::iter::once(enough).chain(assumed.iter().map(|id| Message::new(id.name()))).collect())
        }
        Advice::Most { occupied: share } => (None, vec![Message::new("phone.season.most"), occupied(share.value)]),
        Advice::OutOfReach { why, needed, occupied: share } => {
            let id = match why {
                OutOfReach::Site => "phone.season.out-of-site",
                OutOfReach::Most => "phone.season.out-of-most",
                OutOfReach::Minutes => "phone.season.out-of-minutes",
            };
            let needed = Message::new(id).with("number", Argument::Number(u64::from(*needed)));
            (None, vec![needed, occupied(share.value)])
        }
    }
}

/// Animals of a group that are certain and living on a check.
fn animals(check: &CheckState, group: Group) -> u32 {
    let certain = check.tally.living_rows().into_iter().filter(|(what, _)| match what {
        survey::stage::What::Stage(stage) => group.holds(*stage),
        survey::stage::What::Undecided(_) => false,
    });
    let sum: u64 = certain.map(|(_, number)| number).sum();
    u32::try_from(sum).unwrap_or(u32::MAX)
}

/// What efforts can tell, where the site's last visit had this mean of the goal's stages.
pub(super) fn effort(last: Option<f64>) -> EffortView {
    let expected = last.filter(|mean| *mean > 0.0).unwrap_or(EXPECTED);
    let from =
        if last.is_some_and(|mean| mean > 0.0) { "phone.season.expected-last" } else { "phone.season.expected-usual" };
    let told = what_effort_tells(&EFFORTS, expected, Scatter::NegativeBinomial { k: K }, Level::P95);
    let row = |told: season::sampling::EffortTells| EffortRow {
        plants: told.units,
        half_width: told.half_width,
        none_found: told.none_found,
        text: Message::new("phone.season.effort")
            .with("number", Argument::Number(u64::from(told.units)))
            .with("share", Argument::Percent(told.half_width))
            .with("none", Argument::Percent(told.none_found)),
    };
    EffortView {
        expected,
        expected_from: Message::new(from).with("mean", Argument::Decimal(expected, 2)),
        rows: told.unwrap_or_default().into_iter().map(row).collect(),
    }
}

/// Which plants to take, a line each.
pub(super) fn which_plants(protocol: &Protocol, share: Share) -> Vec<Message> {
    let choice = match protocol.choice {
        PlantChoice::EveryKth { k: 0 | 1, .. } => vec![Message::new("phone.every-stem")],
        PlantChoice::EveryKth { k, start } => vec![
            Message::new("phone.season.pass-first").with("number", Argument::Number(u64::from(start))),
            Message::new("phone.every-kth").with("number", Argument::Number(u64::from(k - 1))),
        ],
        PlantChoice::Clusters { radius_m, .. } => {
            vec![Message::new("phone.season.clusters").with("metres", Argument::Decimal(radius_m, 1))]
        }
        PlantChoice::Tagged => vec![Message::new("phone.season.tagged")],
        PlantChoice::All => vec![Message::new("phone.all-plants")],
        PlantChoice::ObserversChoice => vec![Message::new("phone.own-choice")],
    };
    let share = match share {
        Share::All => None,
        Share::Odd => Some(Message::new("phone.share.odd")),
        Share::Even => Some(Message::new("phone.share.even")),
    };
    choice.into_iter().chain(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At a mean of 0.1 and k 0.5, 50 stems give ±96 %; z·√((1/m + 1/k)/n) by hand: 1.96·√(12/50) = 0.960.
    #[test]
    fn what_an_effort_tells_is_the_known_formula() {
        let view = effort(Some(0.1));
        let forty = &view.rows[1];
        assert!((forty.half_width - 1.96 * (12.0_f64 / 40.0).sqrt()).abs() < 1e-3, "{forty:?}");
        assert_eq!(effort(None).expected_from.id, "phone.season.expected-usual");
        assert!((effort(Some(0.0)).expected - EXPECTED).abs() < 1e-12);
    }
}
