//! `leafturn season`: from counts to densities, dates, survival, and how far to trust them.
//!
//! Each topic is a type of options with one function that gives an [`Answer`]; [`read`] knows the forms that files have,
//! [`answer`] writes tables, JSON and figures, and `topics.toml` describes fields in and out with an example that the
//! tests run.

mod answer;
mod common;
mod describe;
mod draw;
mod fault;
mod read;
mod shown;
mod sound;
#[cfg(test)]
mod tests;
mod topics;
mod work;

pub use fault::SeasonFault;

use super::{CommandError, Outcome, print_line};
use clap::{Args, Subcommand};
use common::Common;
use topics::{effort, observers, passage, plants, sky, tell, warmth, years};

/// From counts to densities, dates, survival, and how far to trust them.
///
/// Each topic reads a small file (CSV or JSON; - is standard input) or options, and prints a table, or with --json all
/// numbers in full. Every estimate names its method and what it takes for granted; where the data do not carry one it is
/// refused with the reason.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    arg_required_else_help = true,
    after_help = "Examples:
  leafturn season --list
  leafturn season density --describe
  leafturn season degree-days weather.csv --figure heat.svg
  leafturn season density counts.csv --plants-at-site 400 --json
  leafturn season next-visit --at 25 --on 2026-07-01"
)]
pub(super) struct Season {
    /// What there is to ask.
    #[arg(long)]
    list: bool,
    #[command(subcommand)]
    topic: Option<Topic>,
}

/// A topic with its options.
#[derive(Debug, Subcommand)]
enum Topic {
    /// Heat above a threshold, summed over days.
    DegreeDays(warmth::DegreeDays),
    /// Days that each stage lasts at a temperature; or threshold and heat needed, from animals that were reared.
    Durations(warmth::Durations),
    /// Dates of all stages of an egg that was laid on a date.
    StageDates(warmth::StageDates),
    /// When an egg was laid, from a stage that was seen.
    LayingDates(warmth::LayingDates),
    /// How many of the young a next visit would still see young.
    NextVisit(warmth::NextVisit),
    /// Every k-th stem with a random start; or plants shared out over strata.
    Choose(plants::Choose),
    /// Random points, clusters or belts in a patch.
    Points(plants::Points),
    /// A short way past points.
    Walk(plants::Walk),
    /// Plants needed for a precision, or what a number of plants can tell.
    HowMany(effort::HowMany),
    /// When to stop counting.
    StopLine(effort::StopLine),
    /// Animals per plant and per hectare, with intervals.
    Density(tell::Density),
    /// How animals crowd on plants.
    Aggregation(tell::Aggregation),
    /// Share of plants with animals, and what it says of their number.
    Presence(tell::Presence),
    /// Animals passing through the stages: areas, mean dates, numbers present.
    Passage(passage::Passage),
    /// Survival through the stages, by stage clock; older methods beside it.
    Survival(passage::SurvivalOf),
    /// Daily survival of eggs that were followed one by one.
    EggFate(passage::EggFate),
    /// How well observers agree.
    Agreement(observers::Agreement),
    /// Stage counts corrected by audits, and undecided counts shared out.
    Correction(observers::Correction),
    /// Animals that one of two observers missed.
    DoubleCount(observers::DoubleCount),
    /// Numbers and detection from repeated counts, with its warning.
    NMixture(observers::NMixture),
    /// Ratio of densities between years, sites or treatments.
    Compare(years::Compare),
    /// Change over years.
    Trend(years::Trend),
    /// Days for mowing, ranked by what they would cost.
    Mow(years::Mow),
    /// Sunrise, noon, sunset, and where the sun stands.
    Sun(sky::Sun),
    /// Heat index and what it means for a visit.
    Heat(sky::Heat),
    /// Lengths, directions and areas on the ground.
    Ground(sky::Ground),
}

/// What a topic's options can do.
trait Ask {
    /// The topic's name.
    fn topic(&self) -> &'static str;
    /// Options that all topics have.
    fn common(&self) -> &Common;
    /// The answer.
    fn answer(&self) -> Result<answer::Answer, CommandError>;
}

impl Season {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let Some(topic) = &self.topic else {
            return print_line(describe::list().trim_end()).map(|()| Outcome::Fine);
        };
        let asked = topic.asked();
        let common = asked.common();
        if common.describe {
            return print_line(describe::describe(asked.topic()).trim_end()).map(|()| Outcome::Fine);
        }
        let language = common.tongue();
        let answer = match asked.answer() {
            Err(_) if work::stopped() => return Err(SeasonFault::stopped_with_nothing(language).into()),
            answered => answered?.sound(asked.topic(), language)?,
        };
        if work::stopped() {
            print_line(answer.text(asked.topic(), common).trim_end())?;
            return Err(SeasonFault::stopped(language).into());
        }
        if let Some(path) = &common.figure {
            answer.draw(path)?;
        }
        print_line(answer.text(asked.topic(), common).trim_end())?;
        Ok(Outcome::Fine)
    }
}

impl Topic {
    fn asked(&self) -> &dyn Ask {
        match self {
            Self::DegreeDays(topic) => topic,
            Self::Durations(topic) => topic,
            Self::StageDates(topic) => topic,
            Self::LayingDates(topic) => topic,
            Self::NextVisit(topic) => topic,
            Self::Choose(topic) => topic,
            Self::Points(topic) => topic,
            Self::Walk(topic) => topic,
            Self::HowMany(topic) => topic,
            Self::StopLine(topic) => topic,
            Self::Density(topic) => topic,
            Self::Aggregation(topic) => topic,
            Self::Presence(topic) => topic,
            Self::Passage(topic) => topic,
            Self::Survival(topic) => topic,
            Self::EggFate(topic) => topic,
            Self::Agreement(topic) => topic,
            Self::Correction(topic) => topic,
            Self::DoubleCount(topic) => topic,
            Self::NMixture(topic) => topic,
            Self::Compare(topic) => topic,
            Self::Trend(topic) => topic,
            Self::Mow(topic) => topic,
            Self::Sun(topic) => topic,
            Self::Heat(topic) => topic,
            Self::Ground(topic) => topic,
        }
    }
}
