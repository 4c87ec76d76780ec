//! One animal before one observer: what was answered, what it says, and what to ask next.

use crate::answer::{Answer, AnswerError};
use crate::infer::{Belief, Given, divide, entropy};
use crate::key::Key;
use crate::names::{CharacterId, Means, OutcomeId};
use crate::proposal::{Proposal, proposal};
use crate::question::{Ahead, Question};
use crate::reasons::{Contradiction, Reason, contradiction, ranked, reasons};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::Hash;
use survey::check::KeyEvidence;
use survey::stage::Outcome;

/// The answers about one animal. Each act gives a further session and leaves this one as it is; written down and read
/// again it goes on where it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeySession {
    key: Hash,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    guess: Option<OutcomeId>,
    asks: Asks,
    means: BTreeSet<Means>,
    answers: BTreeMap<CharacterId, Answer>,
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    skipped: BTreeSet<CharacterId>,
}

/// What a session asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Asks {
    /// Whatever helps most.
    Anything,
    /// Only the one or two characters that split the guess from its neighbours.
    AboutTheGuess,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// Ask this.
    Ask(Question),
    /// No question that is left is likely to change the proposal.
    Settled,
    /// The characters that split the guess from its neighbours were answered or skipped.
    GuessChecked,
    /// Everything that can be looked at by the means allowed was answered or skipped.
    NothingLeft,
}

/// A chance for every outcome before anything was seen.
pub type Prior = BTreeMap<OutcomeId, f64>;

/// Questions about a guess, at most.
const ABOUT_A_GUESS: usize = 2;

/// Entropy (nats) among a guess and its neighbours below which no second question is asked about it: the other
/// outcomes together are then below about one in a hundred (our own choice, no source).
const GUESS_SPLIT: f64 = 0.06;

impl KeySession {
    /// A session with no answers.
    pub fn begin(key: &Key, means: BTreeSet<Means>) -> Self {
        let (answers, skipped) = (BTreeMap::new(), BTreeSet::new());
        Self { key: key.hash, guess: None, asks: Asks::Anything, means, answers, skipped }
    }

    /// A session that begins with the observer's own guess and asks only what splits it from its neighbours. The guess
    /// is kept and is no evidence.
    ///
    /// # Errors
    /// The key has no such outcome.
    pub fn begin_with_guess(key: &Key, means: BTreeSet<Means>, guess: &str) -> Result<Self, AnswerError> {
        let outcome =
            key.outcome(guess).ok_or_else(|| AnswerError::UnknownOutcome(guess.chars().take(64).collect()))?;
        Ok(Self { guess: Some(outcome.id.clone()), asks: Asks::AboutTheGuess, ..Self::begin(key, means) })
    }

    /// This session with one character answered, or answered otherwise; all other answers stay.
    ///
    /// # Errors
    /// Why the answer cannot be taken.
    pub fn answered(&self, key: &Key, character: &str, answer: Answer) -> Result<Self, AnswerError> {
        self.belongs(key)?;
        let id = known(key, character)?;
        answer.placed(key, &id)?;
        let mut session = self.clone();
        session.skipped.remove(&id);
        session.answers.insert(id, answer);
        Ok(session)
    }

    /// This session with one character answered as it is typed, see [`Answer::parse`].
    ///
    /// # Errors
    /// Why the answer cannot be taken.
    pub fn typed(&self, key: &Key, character: &str, text: &str) -> Result<Self, AnswerError> {
        self.answered(key, character, Answer::parse(key, character, text, &self.means)?)
    }

    /// This session with a character that could not be looked at: it is not asked again, and says nothing. An answer
    /// given to it before is taken back.
    ///
    /// # Errors
    /// The key has no such character, or the session belongs to another key.
    pub fn skipped(&self, key: &Key, character: &str) -> Result<Self, AnswerError> {
        self.belongs(key)?;
        let id = known(key, character)?;
        let mut session = self.clone();
        session.answers.remove(&id);
        session.skipped.insert(id);
        Ok(session)
    }

    /// This session with one answer or skip taken back, so that it can be asked again.
    #[must_use]
    pub fn withdrawn(&self, character: &str) -> Self {
        let mut session = self.clone();
        session.answers.remove(character);
        session.skipped.remove(character);
        session
    }

    /// This session with other means allowed for what is asked from here on; answers stay.
    #[must_use]
    pub fn with_means(&self, means: BTreeSet<Means>) -> Self {
        Self { means, ..self.clone() }
    }

    /// This session asking on beyond the guess.
    #[must_use]
    pub fn going_on(&self) -> Self {
        Self { asks: Asks::Anything, ..self.clone() }
    }

    /// This session, if it belongs to this key and every answer in it can be read: what to do after reading it back.
    ///
    /// # Errors
    /// It belongs to another key, or an answer does not fit.
    pub fn checked(self, key: &Key) -> Result<Self, AnswerError> {
        self.belongs(key)?;
        for (character, answer) in &self.answers {
            answer.placed(key, character)?;
        }
        for character in &self.skipped {
            known(key, character.as_str())?;
        }
        Ok(self)
    }

    /// The answers so far.
    pub const fn answers(&self) -> &BTreeMap<CharacterId, Answer> {
        &self.answers
    }

    /// The characters that could not be looked at.
    pub const fn skips(&self) -> &BTreeSet<CharacterId> {
        &self.skipped
    }

    /// By what the observer can look.
    pub const fn means(&self) -> &BTreeSet<Means> {
        &self.means
    }

    /// The observer's own guess.
    pub const fn guess(&self) -> Option<&OutcomeId> {
        self.guess.as_ref()
    }

    /// Support by outcome under a uniform prior, the best first.
    ///
    /// # Errors
    /// The session belongs to another key.
    pub fn support(&self, key: &Key) -> Result<Vec<(OutcomeId, f64)>, AnswerError> {
        Ok(ranked(key, Belief::of(key, &self.given(key)?).support()))
    }

    /// The proposal.
    ///
    /// # Errors
    /// The session belongs to another key.
    pub fn proposal(&self, key: &Key) -> Result<Proposal, AnswerError> {
        let given = self.given(key)?;
        Ok(proposal(key, &Belief::of(key, &given), &given))
    }

    /// What speaks for and against an outcome, the weightiest first.
    ///
    /// # Errors
    /// The key has no such outcome, or the session belongs to another key.
    pub fn reasons(&self, key: &Key, outcome: &str) -> Result<Vec<Reason>, AnswerError> {
        let place = key.outcome_place(outcome);
        let place = place.ok_or_else(|| AnswerError::UnknownOutcome(outcome.chars().take(64).collect()))?;
        let answers: Vec<String> = self.answers.values().map(ToString::to_string).collect();
        Ok(reasons(key, &self.given(key)?, &answers, place))
    }

    /// The two answers that disagree most, if any do.
    ///
    /// # Errors
    /// The session belongs to another key.
    pub fn contradiction(&self, key: &Key) -> Result<Option<Contradiction>, AnswerError> {
        Ok(contradiction(key, &self.given(key)?))
    }

    /// Every question that is left by the means allowed, in the order of the key file.
    ///
    /// # Errors
    /// The session belongs to another key.
    pub fn questions(&self, key: &Key) -> Result<Vec<Question>, AnswerError> {
        let given = self.given(key)?;
        let ahead = Ahead::new(key, &given, &Belief::of(key, &given));
        Ok(self.left(key).map(|(character, look)| ahead.question(character, look)).collect())
    }

    /// What to do next.
    ///
    /// # Errors
    /// The session belongs to another key.
    pub fn next(&self, key: &Key) -> Result<Next, AnswerError> {
        let given = self.given(key)?;
        match (self.asks, &self.guess) {
            (Asks::AboutTheGuess, Some(guess)) => Ok(self.next_about(key, &given, guess)),
            (Asks::Anything, _) | (Asks::AboutTheGuess, None) => {
                let ahead = Ahead::new(key, &given, &Belief::of(key, &given));
                let mut left = self.left(key).map(|(character, look)| ahead.question(character, look)).peekable();
                if left.peek().is_none() {
                    return Ok(Next::NothingLeft);
                }
                Ok(best(left.filter(|question| ahead.is_worth(question))).map_or(Next::Settled, Next::Ask))
            }
        }
    }

    /// What a count keeps of this session. Several outcomes of the key may be counted as one; its support is that of
    /// the best supported among them, scaled to sum to one over what can be counted, so that two outcomes that are in
    /// question keep the proportion that the observer was shown.
    ///
    /// # Errors
    /// The session belongs to another key; a prior without a guess, or one that is no set of chances.
    pub fn evidence(&self, key: &Key, prior: Option<&Prior>) -> Result<KeyEvidence, AnswerError> {
        let belief = Belief::of(key, &self.given(key)?);
        if let Some(prior) = prior {
            self.may_use(key, prior)?;
        }
        let guess = self.guess.as_ref().and_then(|guess| key.outcome(guess.as_str())).map(|outcome| outcome.counts_as);
        Ok(KeyEvidence {
            key: key.hash,
            answers: self.answers.iter().map(|(id, answer)| (id.to_string(), answer.to_string())).collect(),
            support: counted_support(key, belief.support()),
            guess,
            prior: prior.map(|prior| counted_prior(key, prior)),
        })
    }

    /// Chances by outcome with a prior, the best first: only for show, and only after the observer's own guess.
    ///
    /// # Errors
    /// No guess was made, or the prior is no set of chances for the outcomes of the key.
    pub fn with_prior(&self, key: &Key, prior: &Prior) -> Result<Vec<(OutcomeId, f64)>, AnswerError> {
        let belief = Belief::of(key, &self.given(key)?);
        self.may_use(key, prior)?;
        let products: Vec<f64> =
            key.outcomes.iter().zip(belief.support()).map(|(outcome, support)| prior[&outcome.id] * support).collect();
        let sum: f64 = products.iter().sum();
        Ok(ranked(key, &products.iter().map(|product| product / sum).collect::<Vec<_>>()))
    }

    /// The answers by places in the key, in the order of their names.
    pub(crate) fn given(&self, key: &Key) -> Result<Vec<Given>, AnswerError> {
        self.belongs(key)?;
        self.answers.iter().map(|(character, answer)| answer.placed(key, character)).collect()
    }

    fn belongs(&self, key: &Key) -> Result<(), AnswerError> {
        if self.key == key.hash { Ok(()) } else { Err(AnswerError::OtherKey) }
    }

    fn may_use(&self, key: &Key, prior: &Prior) -> Result<(), AnswerError> {
        if self.guess.is_none() {
            return Err(AnswerError::PriorBeforeChoice);
        }
        let chances = key.outcomes.iter().map(|outcome| prior.get(&outcome.id).copied().unwrap_or(0.0));
        let whole = (chances.clone().sum::<f64>() - 1.0).abs() < 1e-9 && prior.len() == key.outcomes.len();
        if whole && chances.clone().all(|chance| chance > 0.0) { Ok(()) } else { Err(AnswerError::BadPrior) }
    }

    /// Characters left to ask, with each look that is allowed.
    fn left<'k>(&'k self, key: &'k Key) -> impl Iterator<Item = (usize, usize)> + 'k {
        let open = |id: &CharacterId| !self.answers.contains_key(id) && !self.skipped.contains(id);
        key.characters.iter().enumerate().filter(move |(_, character)| open(&character.id)).flat_map(
            move |(place, character)| {
                let looks = character.looks.iter().enumerate();
                looks.filter(|(_, look)| self.means.contains(&look.means)).map(move |(look, _)| (place, look))
            },
        )
    }

    fn next_about(&self, key: &Key, given: &[Given], guess: &OutcomeId) -> Next {
        if self.answers.len() + self.skipped.len() >= ABOUT_A_GUESS {
            return Next::GuessChecked;
        }
        let belief = Belief::of(key, given);
        let among = |id: &OutcomeId| {
            *id == *guess || key.outcome(guess.as_str()).is_some_and(|outcome| outcome.neighbours.contains(id))
        };
        let in_question = key.outcomes.iter().zip(belief.support());
        let mut weights: Vec<f64> =
            in_question.map(|(outcome, support)| if among(&outcome.id) { *support } else { 0.0 }).collect();
        let sum: f64 = weights.iter().sum();
        divide(&mut weights, sum);
        if entropy(&weights) < GUESS_SPLIT {
            return Next::GuessChecked;
        }
        let ahead = Ahead::among(key, given, &belief, weights);
        best(self.left(key).map(|(character, look)| ahead.question(character, look)))
            .map_or(Next::NothingLeft, Next::Ask)
    }
}

/// The question of most worth; of equal ones the first.
fn best(questions: impl Iterator<Item = Question>) -> Option<Question> {
    questions.reduce(|best, question| if question.worth() > best.worth() { question } else { best })
}

fn known(key: &Key, character: &str) -> Result<CharacterId, AnswerError> {
    let found = key.character(character).map(|character| character.id.clone());
    found.ok_or_else(|| AnswerError::UnknownCharacter(character.chars().take(64).collect()))
}

fn counted_support(key: &Key, support: &[f64]) -> Vec<(Outcome, f64)> {
    let mut best: BTreeMap<Outcome, f64> = BTreeMap::new();
    for (outcome, support) in key.outcomes.iter().zip(support) {
        let most = best.entry(outcome.counts_as).or_insert(0.0);
        *most = most.max(*support);
    }
    let sum: f64 = best.values().sum();
    best.into_iter().map(|(outcome, most)| (outcome, most / sum)).collect()
}

fn counted_prior(key: &Key, prior: &Prior) -> Vec<(Outcome, f64)> {
    let mut sums: BTreeMap<Outcome, f64> = BTreeMap::new();
    for outcome in &key.outcomes {
        *sums.entry(outcome.counts_as).or_insert(0.0) += prior[&outcome.id];
    }
    sums.into_iter().collect()
}
