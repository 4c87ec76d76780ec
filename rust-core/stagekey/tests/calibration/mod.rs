//! Calibration of a key on simulated things: how often what it supports by so much is true.

pub(crate) mod chance;
pub(crate) mod observer;
pub(crate) mod specimen;

use chance::Chance;
use observer::Care;
use specimen::{OUTCOMES, Specimen};
use stagekey::{Key, KeySession, Means, Next, OutcomeId};
use std::collections::{BTreeMap, BTreeSet};

/// What came out of many sessions.
#[derive(Default)]
pub(crate) struct Result {
    pub(crate) animals: u32,
    pub(crate) questions: u32,
    pub(crate) clear: u32,
    pub(crate) clear_questions: u32,
    pub(crate) seconds: f64,
    /// One outcome was proposed, and it was right.
    pub(crate) decided: u32,
    pub(crate) decided_right: u32,
    /// The truth stood in the proposal, whatever its size.
    pub(crate) held: u32,
    pub(crate) best_right: u32,
    /// Sum of squared differences between support and truth, over outcomes.
    pub(crate) brier: f64,
    /// By tenth of support: number of outcomes, sum of support, number true.
    pub(crate) bins: [(u32, f64, u32); 10],
    /// The same for the best supported outcome of each animal.
    pub(crate) best_bins: [(u32, f64, u32); 10],
    pub(crate) by_truth: BTreeMap<&'static str, Row>,
}

/// What came out for one true outcome.
#[derive(Default)]
pub(crate) struct Row {
    pub(crate) animals: u32,
    pub(crate) questions: u32,
    pub(crate) decided: u32,
    pub(crate) decided_right: u32,
    pub(crate) held: u32,
    pub(crate) proposed: BTreeMap<String, u32>,
}

/// How a session is led.
#[derive(Clone, Copy)]
pub(crate) enum Leading<'a> {
    /// By the next best question, until the key is done.
    Next,
    /// One question alone.
    Only(&'a str, Means),
}

/// Sessions on this many things of each outcome.
pub(crate) fn run(
    key: &Key,
    care: &Care,
    means: &BTreeSet<Means>,
    leading: Leading<'_>,
    each: u32,
    seed: u64,
) -> Result {
    let mut result = Result::default();
    for (place, truth) in OUTCOMES.into_iter().enumerate() {
        for nth in 0..each {
            // The same animals for every way of leading: one stream of chance an animal.
            let own = seed ^ (place as u64) << 40 ^ u64::from(nth) << 8;
            let specimen = Specimen::of(truth, &mut Chance::seeded(own));
            let mut chance = Chance::seeded(own ^ 0x5bd1);
            let (session, asked, seconds) = match leading {
                Leading::Next => lead(key, care, means, &specimen, &mut chance),
                Leading::Only(character, by) => only(key, care, &specimen, character, by, &mut chance),
            };
            result.add(key, &specimen, &session, asked, seconds);
        }
    }
    result
}

fn lead(
    key: &Key,
    care: &Care,
    means: &BTreeSet<Means>,
    specimen: &Specimen,
    chance: &mut Chance,
) -> (KeySession, u32, f64) {
    let mut session = KeySession::begin(key, means.clone());
    let (mut asked, mut seconds) = (0, 0.0);
    while let Next::Ask(question) = session.next(key).unwrap() {
        asked += 1;
        seconds += question.seconds;
        session = ask(key, care, specimen, &session, question.character.as_str(), question.by, chance);
    }
    (session, asked, seconds)
}

fn only(
    key: &Key,
    care: &Care,
    specimen: &Specimen,
    character: &str,
    by: Means,
    chance: &mut Chance,
) -> (KeySession, u32, f64) {
    let session = KeySession::begin(key, BTreeSet::from([by]));
    (ask(key, care, specimen, &session, character, by, chance), 1, 0.0)
}

fn ask(
    key: &Key,
    care: &Care,
    specimen: &Specimen,
    session: &KeySession,
    character: &str,
    by: Means,
    chance: &mut Chance,
) -> KeySession {
    let asked = key.character(character).unwrap();
    let states: Vec<String> = asked.states().iter().map(|state| state.id.to_string()).collect();
    match care.says(specimen, character, by.name(), &states, chance) {
        Some(said) => {
            session.typed(key, character, &said).unwrap_or_else(|error| panic!("{character} {said}: {error}"))
        }
        None => session.skipped(key, character).unwrap(),
    }
}

impl Result {
    fn add(&mut self, key: &Key, specimen: &Specimen, session: &KeySession, asked: u32, seconds: f64) {
        let support = session.support(key).unwrap();
        let proposal = session.proposal(key).unwrap();
        let truth = specimen.truth;
        let held = proposal.among.iter().any(|one| one.as_str() == truth);
        let decided = proposal.among.len() == 1;
        let row = self.by_truth.entry(truth).or_default();
        row.animals += 1;
        row.questions += asked;
        row.held += u32::from(held);
        row.decided += u32::from(decided);
        row.decided_right += u32::from(decided && held);
        let name = proposal.among.iter().map(OutcomeId::as_str).collect::<Vec<_>>().join("+");
        *row.proposed.entry(name).or_default() += 1;
        self.animals += 1;
        self.questions += asked;
        self.seconds += seconds;
        self.held += u32::from(held);
        self.decided += u32::from(decided);
        self.decided_right += u32::from(decided && held);
        if specimen.is_clear() {
            self.clear += 1;
            self.clear_questions += asked;
        }
        for (nth, (outcome, chance)) in support.iter().enumerate() {
            let is = outcome.as_str() == truth;
            self.brier += (chance - f64::from(u8::from(is))).powi(2);
            count(&mut self.bins, *chance, is);
            if nth == 0 {
                count(&mut self.best_bins, *chance, is);
                self.best_right += u32::from(is);
            }
        }
    }

    /// The Brier score over outcomes (Brier 1950): 0 is perfect, 2 the worst.
    pub(crate) fn brier_score(&self) -> f64 {
        self.brier / f64::from(self.animals)
    }

    /// The mean distance between support and share true over the tenths of the best supported, weighted by animals.
    pub(crate) fn calibration_error(&self) -> f64 {
        let distance = |(_, sum, hits): &(u32, f64, u32)| (sum - f64::from(*hits)).abs();
        self.best_bins.iter().map(distance).sum::<f64>() / f64::from(self.animals)
    }

    /// Mean support of the best supported less the share of them that is true: above zero it claims too much.
    pub(crate) fn overconfidence(&self) -> f64 {
        self.best_bins.iter().map(|(_, sum, hits)| sum - f64::from(*hits)).sum::<f64>() / f64::from(self.animals)
    }
}

fn count(bins: &mut [(u32, f64, u32); 10], chance: f64, is: bool) {
    let tenth = (1..10).take_while(|tenth| f64::from(*tenth) / 10.0 <= chance).count();
    let bin = &mut bins[tenth];
    bin.0 += 1;
    bin.1 += chance;
    bin.2 += u32::from(is);
}

/// The share of the whole, in percent.
pub(crate) fn percent(part: u32, whole: u32) -> f64 {
    100.0 * f64::from(part) / f64::from(whole.max(1))
}

/// The means that an observer of this care uses.
pub(crate) fn means_of(care: &Care) -> BTreeSet<Means> {
    match care.name {
        "hurried" => BTreeSet::from([Means::Eye]),
        _ => BTreeSet::from([Means::Eye, Means::Lens]),
    }
}

/// The lowest Brier score of any single character by any means, with its name.
pub(crate) fn best_single(key: &Key, care: &Care, each: u32, seed: u64) -> (String, f64) {
    let mut best = (String::new(), f64::INFINITY);
    for character in key.characters() {
        for look in &character.looks {
            let result = run(key, care, &means_of(care), Leading::Only(character.id.as_str(), look.means), each, seed);
            if result.brier_score() < best.1 {
                best = (format!("{} by {}", character.id, look.means), result.brier_score());
            }
        }
    }
    best
}

/// The same key with every likelihood between a fifth too low and a fifth too high, at random.
pub(crate) fn wrong_by_a_fifth(key: &Key, seed: u64) -> Key {
    let mut chance = Chance::seeded(seed);
    key.with_likelihoods_times(|_, _, _| 0.8 + 0.4 * chance.even())
}
