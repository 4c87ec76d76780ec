//! Which item comes next.
//!
//! The rule: a topic's need is (wrong + 1) / (asked + 2), the expected share of wrong answers after an even prior
//! (Laplace's rule of succession), times 1 + (items since it was asked) / 10, at most three times. The topic just asked
//! has none. A topic is drawn by need, so that what an observer confuses comes more often and nothing is forgotten.

use crate::chance::Chance;
use crate::score::Answered;
use crate::specimen::{Age, Specimen};
use figure::specimen::{Kind, Scale};
use serde::{Deserialize, Serialize};

/// What an item is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Topic {
    /// Telling these two apart.
    Between(Kind, Kind),
    /// Two larvae side by side: the same instar or not.
    SameInstar(Kind),
}

/// What is shown.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shows {
    /// One specimen: what is it?
    One(Specimen),
    /// Two larvae: are they of the same instar?
    Two(Specimen, Specimen),
}

/// What can be answered to an item, and its truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Choice {
    /// It is this.
    Is(Kind),
    /// The two are of the same instar.
    SameInstar,
    /// The two are of different instars.
    OtherInstar,
}

/// One question of a practice round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Item {
    /// Its name, which begins with that of its topic: the same name is the same item.
    pub name: String,
    /// What it is about.
    pub topic: Topic,
    /// What is shown.
    pub shows: Shows,
    /// Whether a size bar is drawn.
    pub scale: Scale,
    /// The truth.
    pub truth: Choice,
}

/// The practice of one observer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Deck {
    seed: u64,
}

/// A topic long not asked is at most this many times as needed.
const MOST_WAITING: f64 = 3.0;
/// Items after which waiting adds as much again.
const WAITING: f64 = 10.0;

impl Topic {
    /// All topics: neighbours in development, what is taken for an egg, what is taken for a larva.
    pub const ALL: [Self; 16] = [
        Self::Between(Kind::Egg, Kind::Latex),
        Self::Between(Kind::Egg, Kind::OtherEgg),
        Self::Between(Kind::Egg, Kind::SpentEgg),
        Self::Between(Kind::Larva1, Kind::Larva2),
        Self::Between(Kind::Larva2, Kind::Larva3),
        Self::Between(Kind::Larva3, Kind::Larva4),
        Self::Between(Kind::Larva4, Kind::Larva5),
        Self::Between(Kind::Larva5, Kind::OtherDanaus),
        Self::Between(Kind::Larva1, Kind::OtherLarva),
        Self::Between(Kind::Larva3, Kind::Hairy),
        Self::Between(Kind::Larva5, Kind::Pupa),
        Self::SameInstar(Kind::Larva1),
        Self::SameInstar(Kind::Larva2),
        Self::SameInstar(Kind::Larva3),
        Self::SameInstar(Kind::Larva4),
        Self::SameInstar(Kind::Larva5),
    ];

    /// How much an observer with these answers needs this topic.
    pub fn need(self, answered: &[Answered]) -> f64 {
        let of_topic = answered.iter().filter(|one| one.topic == self);
        let asked = of_topic.clone().count() as f64;
        let wrong = of_topic.filter(|one| one.truth != one.answered).count() as f64;
        let since = answered.iter().rev().position(|one| one.topic == self);
        let waiting = match since {
            Some(0) => return 0.0,
            Some(items) => 1.0 + items as f64 / WAITING,
            None => 1.0 + answered.len() as f64 / WAITING,
        };
        (wrong + 1.0) / (asked + 2.0) * waiting.min(MOST_WAITING)
    }
}

impl Deck {
    /// The practice with this seed.
    pub const fn seeded(seed: u64) -> Self {
        Self { seed }
    }

    /// The next item after these answers, in the order they were given. The same answers bring the same item.
    pub fn next(self, answered: &[Answered]) -> Item {
        let nth = answered.len() as u64;
        let mut chance = Chance::seeded(self.seed ^ (nth + 1).wrapping_mul(0xd134_2543_de82_ef95));
        let needs: Vec<f64> = Topic::ALL.iter().map(|topic| topic.need(answered)).collect();
        let topic = chance.weighted(&needs).map_or(Topic::ALL[0], |place| Topic::ALL[place]);
        let scale = if chance.even() < 0.5 { Scale::Bar } else { Scale::Hidden };
        let (shows, truth) = match topic {
            Topic::Between(one, other) => one_of(one, other, &mut chance),
            Topic::SameInstar(kind) => pair(kind, &mut chance),
        };
        Item { name: format!("{}.{:016x}-{nth}", topic.name(), self.seed), topic, shows, scale, truth }
    }
}

fn one_of(one: Kind, other: Kind, chance: &mut Chance) -> (Shows, Choice) {
    let subject = if chance.even() < 0.5 { one } else { other };
    // The hard ages come as often as the plain one: just moulted, between, about to moult.
    let age = chance.pick(&[Age::Fresh, Age::Middle, Age::BeforeMoult]).unwrap_or(Age::Middle);
    (Shows::One(Specimen::draw(subject, age, chance)), Choice::Is(subject))
}

/// A small and a large larva: either of one instar, or a grown one beside a fresh one of the next instar, in which case
/// the two bodies are nearly of one size.
fn pair(subject: Kind, chance: &mut Chance) -> (Shows, Choice) {
    let fresh_of = |subject, chance: &mut Chance| Specimen::draw(subject, Age::Fresh, chance);
    let grown = Specimen::draw(subject, Age::BeforeMoult, chance);
    let (other, truth) = match (next_instar(subject), chance.even() < 0.5) {
        (Some(next), true) => (fresh_of(next, chance), Choice::OtherInstar),
        (Some(_) | None, _) => (fresh_of(subject, chance), Choice::SameInstar),
    };
    if chance.even() < 0.5 { (Shows::Two(grown, other), truth) } else { (Shows::Two(other, grown), truth) }
}

const fn next_instar(subject: Kind) -> Option<Kind> {
    match subject {
        Kind::Larva1 => Some(Kind::Larva2),
        Kind::Larva2 => Some(Kind::Larva3),
        Kind::Larva3 => Some(Kind::Larva4),
        Kind::Larva4 => Some(Kind::Larva5),
        Kind::Larva5
        | Kind::Egg
        | Kind::Pupa
        | Kind::Latex
        | Kind::OtherEgg
        | Kind::SpentEgg
        | Kind::OtherDanaus
        | Kind::Hairy
        | Kind::OtherLarva => None,
    }
}

impl Item {
    /// The answers to choose from: all that can be told for one specimen, same or not for two.
    pub fn choices(&self) -> Vec<Choice> {
        match &self.shows {
            Shows::One(_) => Kind::ALL.into_iter().map(Choice::Is).collect(),
            Shows::Two(..) => vec![Choice::SameInstar, Choice::OtherInstar],
        }
    }

    /// The specimens shown.
    pub fn specimens(&self) -> Vec<&Specimen> {
        match &self.shows {
            Shows::One(specimen) => vec![specimen],
            Shows::Two(one, other) => vec![one, other],
        }
    }
}
