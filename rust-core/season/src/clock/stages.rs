//! How much heat each stage takes.

use super::refusal::ClockRefusal;
use crate::degree_days::Counting;
use survey::stage::Stage;

/// Heat that one stage takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageHeat {
    /// The stage.
    pub stage: Stage,
    /// Degree-days from its beginning to its end, °C × day, above 0.
    pub degree_days: f64,
    /// Coefficient of variation between individuals: standard deviation ÷ mean, 0 or more; `None` where not known.
    pub variation: Option<f64>,
}

/// The stages in order of development with the heat they take, and how heat is counted.
#[derive(Debug, Clone, PartialEq)]
pub struct StageClock {
    counting: Counting,
    stages: Vec<StageHeat>,
}

/// What of the heat since laying bounds a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bounds {
    pub(super) start: f64,
    pub(super) end: f64,
    /// Standard deviation of the start and the end between individuals.
    pub(super) spread: (f64, f64),
}

impl StageClock {
    /// The monarch's clock, egg to pupa.
    ///
    /// Ends at 45.0, 77.3, 105.1, 129.6, 165.3 and 231.9 °C × day above 11.5 °C: Zalucki MP (1982) J. Aust. Entomol.
    /// Soc. 21:241-246, as quoted by the code of Grant TJ et al. (2020) Ecosphere 11:e03082, with the standard
    /// deviations of its field means (44.5 ± 4.32, 30.9 ± 3.97, 27.2 ± 3.71, 25.6 ± 2.88, 33.8 ± 4.09, 58.5 ± 3.89),
    /// whose meaning is not verified. Pupa 120.0 from memory, its variation not known. Reared on *Gomphocarpus
    /// fruticosus*: other hosts may differ.
    pub fn monarch() -> Self {
        let heat = |stage, degree_days, mean: f64, deviation: f64| StageHeat {
            stage,
            degree_days,
            variation: Some(deviation / mean),
        };
        let stages = vec![
            heat(Stage::Egg, 45.0, 44.5, 4.32),
            heat(Stage::Larva1, 32.3, 30.9, 3.97),
            heat(Stage::Larva2, 27.8, 27.2, 3.71),
            heat(Stage::Larva3, 24.5, 25.6, 2.88),
            heat(Stage::Larva4, 35.7, 33.8, 4.09),
            heat(Stage::Larva5, 66.6, 58.5, 3.89),
            StageHeat { stage: Stage::Pupa, degree_days: 120.0, variation: None },
        ];
        Self { counting: Counting::MONARCH, stages }
    }

    /// A clock of these stages.
    ///
    /// # Errors
    /// [`ClockRefusal::NoClock`] without a stage, with stages out of order or twice, with the unjudged larva, with heat
    /// not above 0 or variation below 0.
    pub fn new(counting: Counting, stages: Vec<StageHeat>) -> Result<Self, ClockRefusal> {
        let in_order = stages.windows(2).all(|pair| pair[0].stage < pair[1].stage);
        let sound = stages.iter().all(|heat| {
            heat.stage != Stage::Larva
                && heat.degree_days > 0.0
                && heat.degree_days <= 1e6
                && heat.variation.is_none_or(|variation| (0.0..=1e3).contains(&variation))
        });
        if stages.is_empty() || !in_order || !sound {
            Err(ClockRefusal::NoClock)
        } else {
            Ok(Self { counting, stages })
        }
    }

    /// The same stages with heat counted in another way. The table holds for its own thresholds: changing them makes
    /// another clock.
    #[must_use]
    pub fn counting_by(self, counting: Counting) -> Self {
        Self { counting, ..self }
    }

    /// How heat is counted.
    pub const fn counting(&self) -> &Counting {
        &self.counting
    }

    /// The stages in order of development.
    pub fn stages(&self) -> &[StageHeat] {
        &self.stages
    }

    /// Degree-days from laying to the end of the stage, °C × day; the unjudged larva ends with the last instar held.
    ///
    /// # Errors
    /// [`ClockRefusal::NotInClock`].
    pub fn end_of(&self, stage: Stage) -> Result<f64, ClockRefusal> {
        self.bounds(stage).map(|bounds| bounds.end)
    }

    pub(super) fn bounds(&self, stage: Stage) -> Result<Bounds, ClockRefusal> {
        let is_in = |held: Stage| match stage {
            Stage::Larva => (Stage::Larva1..=Stage::Larva5).contains(&held),
            _ => held == stage,
        };
        let index = |found: Option<usize>| found.ok_or(ClockRefusal::NotInClock(stage));
        let first = index(self.stages.iter().position(|heat| is_in(heat.stage)))?;
        let last = index(self.stages.iter().rposition(|heat| is_in(heat.stage)))?;
        let (before, until) = (&self.stages[..first], &self.stages[..=last]);
        Ok(Bounds {
            start: before.iter().map(|heat| heat.degree_days).sum(),
            end: until.iter().map(|heat| heat.degree_days).sum(),
            spread: (spread(before), spread(until)),
        })
    }
}

impl StageHeat {
    /// Standard deviation between individuals in °C × day; `None` where not known.
    pub fn deviation(&self) -> Option<f64> {
        self.variation.map(|variation| variation * self.degree_days)
    }
}

/// Standard deviation of the sum of stages that vary independently: a lower bound, for stages of one animal go
/// together. A stage whose variation is not known adds none, which keeps it a lower bound.
fn spread(stages: &[StageHeat]) -> f64 {
    stages.iter().filter_map(StageHeat::deviation).map(|deviation| deviation * deviation).sum::<f64>().sqrt()
}
