//! Every k-th stem along a walk.

use crate::Refusal;
use crate::numeric::Dice;
use serde::Serialize;
use survey::protocol::PlantChoice;

/// Every k-th stem along a walk that passes all stems of the site once, from a random start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct EveryKth {
    k: u32,
    start: u32,
}

impl EveryKth {
    /// The plan that yields no fewer than the plants wanted if there are as many stems as expected.
    ///
    /// k = stems expected ÷ plants wanted, rounded down, at least 1; the start, evenly from 0 to k − 1, is how many stems
    /// are passed over before the first. Every stem has the same chance 1 ÷ k.
    ///
    /// Source: Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, chapter 8.
    ///
    /// # Errors
    /// [`Refusal::Nothing`] where no stem is expected or no plant wanted.
    pub fn plan(stems_expected: u32, plants_wanted: u32, seed: u64) -> Result<Self, Refusal> {
        if stems_expected == 0 || plants_wanted == 0 {
            return Err(Refusal::Nothing);
        }
        let k = (stems_expected / plants_wanted).max(1);
        let start = Dice::new(seed).below(k as usize);
        Ok(Self { k, start: u32::try_from(start).unwrap_or(0) })
    }

    /// One stem in this many is checked.
    pub const fn k(self) -> u32 {
        self.k
    }

    /// Stems passed over before the first.
    pub const fn start(self) -> u32 {
        self.start
    }

    /// Stems passed over between two checked ones: "skip 6, take the next".
    pub const fn skip(self) -> u32 {
        self.k - 1
    }

    /// The stems checked among the first so many passed, numbered from 1.
    pub fn picks(self, stems: u32) -> impl Iterator<Item = u32> {
        (self.start..stems).step_by(self.k as usize).map(|passed| passed + 1)
    }

    /// The picks of one of several people who walk together and split by turns: person 0 takes the first, person 1 the
    /// second, and so on. Empty where there is no such person.
    pub fn picks_of(self, stems: u32, person: usize, people: usize) -> impl Iterator<Item = u32> {
        let take = if person < people { usize::MAX } else { 0 };
        self.picks(stems).skip(person).step_by(people.max(1)).take(take)
    }
}

impl From<EveryKth> for PlantChoice {
    fn from(plan: EveryKth) -> Self {
        Self::EveryKth { k: plan.k, start: plan.start }
    }
}
