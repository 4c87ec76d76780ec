//! Counting.

use super::plant::the_check;
use super::{Beside, Plan, input};
use crate::error::HandsetError;
use crate::object::Handset;
use crate::views::PlantView;
use survey::chain::Hash;
use survey::check::{AuditRequested, Counted, KeyEvidence};
use survey::entry::Act;
use survey::ids::{CheckId, EntryId, RandomOctets};
use survey::stage::{AnimalState, Stage, What};

/// One act of counting.
#[derive(Debug, Clone, PartialEq)]
pub struct Count {
    /// A stage, or an undecided set.
    pub what: What,
    /// State of the animals.
    pub state: AnimalState,
    /// How many, 1 to 9999; 1 for a tap.
    pub number: u32,
    /// What a stage key said, where it was asked.
    pub key: Option<KeyEvidence>,
    /// The plant; `None` for the open one.
    pub check: Option<CheckId>,
}

impl Count {
    /// One living animal on the open plant: a tap.
    pub fn one(what: impl Into<What>) -> Self {
        Self { what: what.into(), state: AnimalState::Alive, number: 1, key: None, check: None }
    }
}

impl Handset {
    /// Counts on the open plant, or the one named. About one act in `audit_one_in` asks for a photo: the record says
    /// so. Nothing is asked for by chance alone twice: the draw follows from the count's id and a seed that each
    /// device draws for itself.
    ///
    /// # Errors
    /// `no-visit`, `no-plant-open`, `not-here`, `number-out-of-range`; storage.
    pub fn count(&mut self, count: Count) -> Result<PlantView, HandsetError> {
        self.count_beside(count, None)
    }

    /// The same, with something else written in the same transaction.
    pub(super) fn count_beside(&mut self, count: Count, beside: Option<Beside>) -> Result<PlantView, HandsetError> {
        let number = input::count(count.number)?;
        let id = self.draw(EntryId::timed);
        let hand = self.in_hand()?;
        let check = the_check(&hand, count.check)?.id;
        let one_in = hand
            .group
            .state
            .as_ref()
            .and_then(|state| state.protocol.as_ref())
            .map_or(0, |protocol| rate(protocol.audit_one_in, &count.what));
        let counted = Counted { check, what: count.what, number, state: count.state, key: count.key };
        let scope = hand.scope();
        let mut plan = Plan::one(scope, Act::Counted(counted)).with_id(id);
        if is_drawn(self.audit_seed, id, one_in) {
            let audit = AuditRequested { count: id, weight_milli: u32::from(one_in) * 1000 };
            plan = plan.and(scope, Act::AuditRequested(audit));
        }
        self.commit(&beside.into_iter().fold(plan, Plan::beside))?;
        self.plant(check)
    }
}

/// Eggs, which are most of what is counted, are audited at the protocol's rate, everything else at twice that rate.
fn rate(one_in: u16, what: &What) -> u16 {
    match what {
        What::Stage(Stage::Egg) => one_in,
        What::Stage(_) | What::Undecided(_) => one_in.div_ceil(2),
    }
}

fn is_drawn(seed: RandomOctets, count: EntryId, one_in: u16) -> bool {
    if one_in == 0 {
        return false;
    }
    let draw = Hash::plain(&[seed, count.octets()].concat());
    let mut head = [0; 8];
    head.copy_from_slice(&draw.0[..8]);
    u64::from_be_bytes(head).is_multiple_of(u64::from(one_in))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn about_one_count_in_fifteen_is_drawn_and_larvae_twice_as_often() {
        let ids = (0..30_000_u64).map(|n| EntryId::random(u128::from(n).to_be_bytes()));
        let drawn = ids.filter(|&id| is_drawn([3; 16], id, 15)).count();
        // Expected 2000, standard deviation 43.
        assert!((1800..2200).contains(&drawn), "{drawn}");
        assert_eq!(rate(15, &What::Stage(Stage::Larva4)), 8);
        assert_eq!(rate(0, &What::Stage(Stage::Larva4)), 0);
        assert!(!is_drawn([3; 16], EntryId::random([1; 16]), 0));
        assert!(is_drawn([3; 16], EntryId::random([1; 16]), 1));
    }
}
