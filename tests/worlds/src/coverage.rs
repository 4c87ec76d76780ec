//! What occurred, by name, so that a run can show that it rehearsed everything it claims to.

use std::collections::BTreeMap;

/// How often what occurred.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Coverage(BTreeMap<&'static str, u64>);

impl Coverage {
    /// This occurred.
    pub fn saw(&mut self, what: &'static str) {
        *self.0.entry(what).or_default() += 1;
    }

    /// Adds what another run saw.
    pub fn add(&mut self, other: &Self) {
        for (what, times) in &other.0 {
            *self.0.entry(what).or_default() += times;
        }
    }

    /// How often.
    pub fn times(&self, what: &str) -> u64 {
        self.0.get(what).copied().unwrap_or(0)
    }

    /// Everything, by name.
    pub fn all(&self) -> impl Iterator<Item = (&'static str, u64)> + '_ {
        self.0.iter().map(|(what, times)| (*what, *times))
    }
}
