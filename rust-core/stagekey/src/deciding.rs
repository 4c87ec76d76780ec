//! What tells two outcomes apart best.

use crate::key::{Key, Table};
use crate::names::{CharacterId, Means, StateId};

impl Key {
    /// The character that tells `truth` from `other` best by the means that `by` allows, with the state that does most
    /// for it (none for a number). Best is the largest information for the difference: nats a look, the sum of
    /// p ln(p / q) over the states (Kullback and Leibler 1951, Annals of Mathematical Statistics 22: 79-86). Nothing is
    /// returned for an unknown outcome, or where no look is allowed.
    pub fn deciding(
        &self,
        truth: &str,
        other: &str,
        by: impl Fn(Means) -> bool,
    ) -> Option<(CharacterId, Option<StateId>)> {
        let (truth, other) = (self.outcome_place(truth)?, self.outcome_place(other)?);
        let mut best: Option<(f64, (CharacterId, Option<StateId>))> = None;
        for character in &self.characters {
            for look in character.looks.iter().filter(|look| by(look.means)) {
                let rows = match &look.table {
                    Table::States { p, .. } => p,
                    Table::Number { cells, .. } => cells,
                };
                let part = |row: &Vec<f64>| row[truth] * (row[truth] / row[other]).ln();
                let information: f64 = rows.iter().map(part).sum();
                if best.as_ref().is_none_or(|(most, _)| information > *most) {
                    let state = (0..rows.len()).max_by(|a, b| part(&rows[*a]).total_cmp(&part(&rows[*b])));
                    let state = state.and_then(|state| character.states().get(state)).map(|state| state.id.clone());
                    best = Some((information, (character.id.clone(), state)));
                }
            }
        }
        best.map(|(_, found)| found)
    }
}
