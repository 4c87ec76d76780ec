//! What was answered, how often it was right, and what to look at next.

use crate::deck::{Choice, Item, Topic};
use figure::specimen::Kind;
use serde::{Deserialize, Serialize};
use stagekey::{CharacterId, Key, Means, StateId};
use std::collections::BTreeMap;

/// An answered item.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answered {
    /// The item, by its name.
    pub item: String,
    /// What it was about.
    pub topic: Topic,
    /// The truth.
    pub truth: Choice,
    /// What was answered.
    pub answered: Choice,
    /// Milliseconds taken.
    pub took_ms: u32,
}

/// What an observer is told after an answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Marks {
    /// Right or not.
    pub right: bool,
    /// The truth.
    pub truth: Choice,
    /// The character that tells the truth from what was answered best, by eye or lens, and its state in the truth; for
    /// a right answer, that which tells the two subjects of the topic apart.
    pub deciding: Option<(CharacterId, Option<StateId>)>,
    /// Which two it tells apart, the truth first; nothing where both animals are of one instar.
    pub apart: Option<(Kind, Kind)>,
}

/// The result of a practice.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Score {
    /// Items answered.
    pub asked: u32,
    /// Of these right.
    pub right: u32,
    /// How often each truth was answered as what.
    pub matrix: Vec<Cell>,
    /// Share of right answers; nothing where nothing was asked.
    pub agreement: Option<f64>,
    /// Cohen's kappa (Cohen 1960, Educational and Psychological Measurement 20: 37-46); nothing where chance alone would
    /// agree always.
    pub kappa: Option<f64>,
    /// What to look at next, the most needed first, at most three; only topics with a wrong answer.
    pub look_at: Vec<Topic>,
}

/// One cell of the matrix.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Cell {
    /// The truth.
    pub truth: Choice,
    /// What was answered.
    pub answered: Choice,
    /// How often.
    pub number: u32,
}

impl Item {
    /// What was right, and what decides.
    pub fn marks(&self, key: &Key, answered: Choice) -> Marks {
        let right = answered == self.truth;
        let kind = |choice| match choice {
            Choice::Is(kind) => Some(kind),
            Choice::SameInstar | Choice::OtherInstar => None,
        };
        let apart = match (kind(self.truth), kind(answered), self.topic) {
            (Some(truth), Some(other), _) if truth != other => Some((truth, other)),
            (Some(truth), _, Topic::Between(one, other)) => Some((truth, if truth == one { other } else { one })),
            (..) => {
                let kinds: Vec<_> = self.specimens().iter().map(|specimen| specimen.kind).collect();
                let different = kinds.first().zip(kinds.last()).filter(|(one, other)| one != other);
                different.map(|(one, other)| (*one, *other))
            }
        };
        let by_hand = |means| matches!(means, Means::Eye | Means::Lens);
        let deciding = apart.and_then(|(truth, other)| key.deciding(truth.name(), other.name(), by_hand));
        Marks { right, truth: self.truth, deciding, apart }
    }

    /// The answer as it is kept.
    pub fn answered(&self, answered: Choice, took_ms: u32) -> Answered {
        Answered { item: self.name.clone(), topic: self.topic, truth: self.truth, answered, took_ms }
    }
}

impl Score {
    /// The score of these answers.
    pub fn of(answered: &[Answered]) -> Self {
        let mut cells: BTreeMap<(Choice, Choice), u32> = BTreeMap::new();
        for one in answered {
            *cells.entry((one.truth, one.answered)).or_default() += 1;
        }
        let asked: u32 = cells.values().sum();
        let right: u32 =
            cells.iter().filter(|((truth, answered), _)| truth == answered).map(|(_, number)| number).sum();
        let agreement = (asked > 0).then(|| f64::from(right) / f64::from(asked));
        let wrong_topic = |topic: &Topic| answered.iter().any(|one| one.topic == *topic && one.truth != one.answered);
        let mut topics: Vec<Topic> = Topic::ALL.into_iter().filter(wrong_topic).collect();
        topics.sort_by(|a, b| wrong_share(*b, answered).total_cmp(&wrong_share(*a, answered)));
        topics.truncate(3);
        Self {
            asked,
            right,
            agreement,
            kappa: agreement.and_then(|agreement| kappa(&cells, asked, agreement)),
            matrix: cells.into_iter().map(|((truth, answered), number)| Cell { truth, answered, number }).collect(),
            look_at: topics,
        }
    }
}

fn wrong_share(topic: Topic, answered: &[Answered]) -> f64 {
    let of_topic = answered.iter().filter(|one| one.topic == topic);
    let wrong = of_topic.clone().filter(|one| one.truth != one.answered).count() as f64;
    (wrong + 1.0) / (of_topic.count() as f64 + 2.0)
}

fn kappa(cells: &BTreeMap<(Choice, Choice), u32>, asked: u32, agreement: f64) -> Option<f64> {
    let (mut truths, mut answers): (BTreeMap<Choice, u32>, BTreeMap<Choice, u32>) = Default::default();
    for ((truth, answered), number) in cells {
        *truths.entry(*truth).or_default() += number;
        *answers.entry(*answered).or_default() += number;
    }
    let total = f64::from(asked);
    let share = |of: &BTreeMap<Choice, u32>, choice: &Choice| f64::from(of.get(choice).copied().unwrap_or(0)) / total;
    let by_chance: f64 = truths.keys().map(|choice| share(&truths, choice) * share(&answers, choice)).sum();
    (by_chance < 1.0).then(|| (agreement - by_chance) / (1.0 - by_chance))
}
