//! Two independent looks at one plant: how many did both see?

use super::Message;
use crate::error::HandsetError;
use crate::object::Handset;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use survey::check::Extent;
use survey::fold::CheckState;
use survey::ids::CheckId;
use survey::stage::What;

/// The pairs of checks of a visit that may be two looks at one plant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatchingView {
    /// Pairs, by their number.
    pub pairs: Vec<PairRow>,
}

/// Two checks that bear one number, or are of one tagged plant, by two devices.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairRow {
    /// Number shown to people.
    pub number: u32,
    /// The two checks.
    pub checks: [CheckId; 2],
    /// What both counted, with what each counted and what both are said to have seen.
    pub rows: Vec<MatchRow>,
    /// What keeps it from being matched: both looks have to be closed.
    pub waits: Option<Message>,
}

/// One stage of a pair.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MatchRow {
    /// The stage or set.
    pub what: What,
    /// Living animals of the first look.
    pub one: u64,
    /// Living animals of the second.
    pub other: u64,
    /// Seen by both, where it was said; from 0 to the smaller.
    pub both: Option<u32>,
}

impl Handset {
    /// The double counts of the visit in hand.
    ///
    /// # Errors
    /// `no-visit`; storage.
    pub fn matching(&self) -> Result<MatchingView, HandsetError> {
        let hand = self.in_hand()?;
        let Some(state) = &hand.group.state else { return Ok(MatchingView { pairs: Vec::new() }) };
        let opened = || state.checks.iter().filter(|check| check.opened.is_some());
        let mut pairs = Vec::new();
        for (at, one) in opened().enumerate() {
            for other in opened().skip(at + 1).filter(|other| is_pair(one, other)) {
                let said = state.matched.iter().rev().find(|matched| {
                    matched.matched.checks.contains(&one.id) && matched.matched.checks.contains(&other.id)
                });
                pairs.push(pair(one, other, said.map(|said| &said.matched.both)));
            }
        }
        Ok(MatchingView { pairs })
    }
}

fn is_pair(one: &CheckState, other: &CheckState) -> bool {
    let same = match (one.plant, other.plant) {
        (Some(one), Some(other)) => one == other,
        (None, None) => one.number == other.number,
        (Some(_), None) | (None, Some(_)) => false,
    };
    same && one.device != other.device
}

fn pair(one: &CheckState, other: &CheckState, said: Option<&BTreeMap<What, u32>>) -> PairRow {
    let counted = |check: &CheckState| check.tally.living_rows();
    let (first, second) = (counted(one), counted(other));
    let both: BTreeSet<&What> = first.keys().filter(|what| second.contains_key(what)).collect();
    let closed = |check: &CheckState| check.extent == Some(Extent::Whole);
    PairRow {
        number: one.number,
        checks: [one.id, other.id],
        rows: both
            .into_iter()
            .map(|what| MatchRow {
                what: what.clone(),
                one: first[what],
                other: second[what],
                both: said.and_then(|said| said.get(what)).copied(),
            })
            .collect(),
        waits: (!(closed(one) && closed(other))).then(|| Message::new("phone.match-waits")),
    }
}
