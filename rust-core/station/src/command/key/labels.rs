//! The words of a key in a language.

use crate::drawing::drawing_words;
use figure::specimen::{Words, character};
use figure::{Figure, Size};
use messages::{Arg, Language, decimal, knows, say, words};
use stagekey::{Answer, AnswerError, Character, CharacterId, Counts, Key, KeySession, OutcomeId, Proposal, StateId};
use survey::stage::Outcome;

/// A key, and the language in which it is shown.
pub(super) struct Labels<'k> {
    pub(super) key: &'k Key,
    pub(super) language: Language,
    drawn: Words,
}

impl<'k> Labels<'k> {
    pub(super) fn new(key: &'k Key, language: Language) -> Self {
        Self { key, language, drawn: drawing_words(language) }
    }

    pub(super) fn say(&self, id: &str, args: &[(&str, Arg<'_>)]) -> String {
        say(self.language, id, args)
    }

    pub(super) fn question(&self, character: &CharacterId) -> String {
        self.text(&self.key.question_text(character), character.as_str())
    }

    pub(super) fn state(&self, character: &CharacterId, state: &StateId) -> String {
        self.text(&self.key.state_text(character, state), state.as_str())
    }

    pub(super) fn outcome(&self, outcome: &OutcomeId) -> String {
        self.text(&self.key.outcome_text(outcome), outcome.as_str())
    }

    /// An answer in words: the state, several in doubt, or the number with its unit.
    pub(super) fn answer(&self, character: &CharacterId, answer: &Answer) -> String {
        match answer {
            Answer::Is { state, .. } => self.state(character, state),
            Answer::Between { states, .. } => self.any_of(states.iter().map(|state| self.state(character, state))),
            Answer::Measures { value, .. } => {
                let unit = self.key.character(character.as_str()).and_then(Character::unit);
                let unit = unit.map_or("", stagekey::Unit::symbol);
                format!("{} {unit}", self.number(*value)).trim_end().to_owned()
            }
        }
    }

    pub(super) fn any_of(&self, several: impl Iterator<Item = String>) -> String {
        let mut all: Vec<String> = several.collect();
        let Some(last) = all.pop() else { return String::new() };
        if all.is_empty() {
            return last;
        }
        // Labels hold commas, so that a list of them needs another mark.
        self.say("list.or", &[("first", all.join("; ").into()), ("second", last.into())])
    }

    pub(super) fn number(&self, number: f64) -> String {
        let text = decimal(self.language, number, 2);
        text.trim_end_matches('0').trim_end_matches(['.', ',']).to_owned()
    }

    /// What is proposed, and what a count of it would be.
    pub(super) fn proposal(&self, proposal: &Proposal) -> Vec<String> {
        let what = self.any_of(proposal.among.iter().map(|outcome| self.outcome(outcome)));
        let what = [("what", Arg::from(what))];
        match &proposal.counts {
            Counts::NotThis => vec![self.say("key.proposes-not-this", &what)],
            Counts::This { what: counted, state } => {
                let line = if proposal.among.len() == 1 { "key.proposes" } else { "key.proposes-doubt" };
                let counted = words::what(self.language, counted);
                let state = state.filter(|state| *state != survey::stage::AnimalState::Alive);
                let counted =
                    state.map_or(counted.clone(), |state| format!("{counted}, {}", words::state(self.language, state)));
                vec![self.say(line, &what), self.say("key.counts-as", &[("what", counted.into())])]
            }
        }
    }

    /// The two answers that disagree most, if two do.
    pub(super) fn disagreement(&self, session: &KeySession) -> Result<Option<String>, AnswerError> {
        let Some(found) = session.contradiction(self.key)? else { return Ok(None) };
        let told = |character: &CharacterId| {
            let answer = session.answers().get(character).map(|answer| self.answer(character, answer));
            format!("“{} {}”", self.question(character), answer.unwrap_or_default())
        };
        let (one, other) = (told(&found.between.0), told(&found.between.1));
        Ok(Some(self.say("key.disagree", &[("one", one.into()), ("other", other.into())])))
    }

    /// What is wrong with an answer.
    pub(super) fn refusal(&self, error: &AnswerError) -> String {
        let given = |character: &CharacterId, states: &[String]| {
            self.any_of(states.iter().map(|state| self.state(character, &StateId::from(state.as_str()))))
        };
        let args: Vec<(&str, Arg<'_>)> = match error {
            AnswerError::UnknownCharacter(name) | AnswerError::UnknownOutcome(name) => vec![("name", name.into())],
            AnswerError::UnknownState { character, given: typed, states } => {
                vec![("given", typed.into()), ("states", given(character, states).into())]
            }
            AnswerError::NotANumber { given, .. } => vec![("given", given.into())],
            AnswerError::OutOfRange { value, least, most, .. } => vec![
                ("value", self.number(*value).into()),
                ("least", self.number(*least).into()),
                ("most", self.number(*most).into()),
            ],
            AnswerError::OtherMeans { means, .. } => {
                let means = means.iter().map(|means| self.say(&format!("key.means.{means}"), &[]));
                vec![("means", self.any_of(means).into())]
            }
            AnswerError::TwoStates { .. }
            | AnswerError::TooFewStates { .. }
            | AnswerError::BadError { .. }
            | AnswerError::UnknownMeans(_)
            | AnswerError::OtherKey
            | AnswerError::PriorBeforeChoice
            | AnswerError::BadPrior => Vec::new(),
        };
        self.say(error.text_id(), &args)
    }

    /// The states of a character, drawn; nothing where nobody drew them.
    pub(super) fn drawing(&self, own: &CharacterId) -> Option<Figure> {
        character(own.as_str(), Size { width: 760, height: 560 }, &self.drawn)
    }

    pub(super) fn counts_as(&self, outcome: Outcome) -> String {
        words::outcome(self.language, outcome)
    }

    /// A text of the catalogue; for a key that brings none, the name in the key file, its hyphens read as spaces.
    fn text(&self, id: &str, name: &str) -> String {
        if knows(id) { self.say(id, &[]) } else { name.replace('-', " ") }
    }
}
