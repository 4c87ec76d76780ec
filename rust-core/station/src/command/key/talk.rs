//! The key in a terminal: one question at a time.

use super::super::CommandError;
use super::super::draw::write;
use super::labels::Labels;
use messages::percent;
use stagekey::{Answer, AnswerError, Character, CharacterId, KeySession, Kind, Means, Next};
use std::io::{BufRead, Write};
use std::path::PathBuf;

/// A talk with one observer about one thing on a leaf.
pub(super) struct Talk<'t, 'k, I, O> {
    labels: &'t Labels<'k>,
    session: KeySession,
    folder: PathBuf,
    input: I,
    output: &'t mut O,
}

/// What was typed.
enum Typed {
    Answer(String),
    Nothing,
    Skip,
    Back,
    Why,
    GoOn,
    Stop,
}

/// Cells of a bar.
const BAR: usize = 20;
/// Outcomes with less support than this stand in no bar.
const LEAST_SHOWN: f64 = 0.005;
/// Reasons weaker than this (nats) are not told.
const LEAST_WEIGHT: f64 = 0.1;

impl<'t, 'k, I: BufRead, O: Write> Talk<'t, 'k, I, O> {
    pub(super) const fn new(
        labels: &'t Labels<'k>,
        session: KeySession,
        folder: PathBuf,
        input: I,
        output: &'t mut O,
    ) -> Self {
        Self { labels, session, folder, input, output }
    }

    /// Asks until nothing is left or the observer stops. The end of the input is a stop.
    pub(super) fn run(mut self) -> Result<KeySession, CommandError> {
        self.tell(&self.labels.say("key.title", &[]))?;
        if self.labels.key.invented().is_some() {
            self.tell(&self.labels.say("key.invented", &[]))?;
        }
        let mut again: Option<(CharacterId, Means)> = None;
        loop {
            let (asked, by) = match again.take() {
                Some(asked) => asked,
                None => match self.session.next(self.labels.key)? {
                    Next::Ask(question) => (question.character, question.by),
                    end => match self.at_the_end(&end)? {
                        Typed::Back => {
                            again = self.which_again()?;
                            continue;
                        }
                        Typed::GoOn => {
                            self.session = self.session.going_on();
                            continue;
                        }
                        _ => return Ok(self.session),
                    },
                },
            };
            let Some(character) = self.labels.key.character(asked.as_str()) else { return Ok(self.session) };
            match self.ask(character, by)? {
                Typed::Answer(text) => match self.taken(character, by, &text) {
                    Ok(session) => {
                        self.session = session;
                        self.tell_support()?;
                    }
                    Err(refusal) => {
                        self.tell(&refusal)?;
                        again = Some((asked, by));
                    }
                },
                Typed::Nothing => again = Some((asked, by)),
                Typed::Skip => self.session = self.session.skipped(self.labels.key, asked.as_str())?,
                Typed::Back => again = self.which_again()?,
                Typed::Why => {
                    self.tell_all(&reasons(self.labels, &self.session)?)?;
                    again = Some((asked, by));
                }
                Typed::GoOn | Typed::Stop => {
                    self.tell_all(&summary(self.labels, &self.session)?)?;
                    return Ok(self.session);
                }
            }
        }
    }

    fn ask(&mut self, character: &Character, by: Means) -> Result<Typed, CommandError> {
        let labels = self.labels;
        let means = labels.say(&format!("key.means.{by}"), &[]);
        let question = [("question", labels.question(&character.id).into()), ("means", means.into())];
        self.tell("")?;
        self.tell(&labels.say("key.question", &question))?;
        for (place, state) in character.states().iter().enumerate() {
            self.tell(&format!("  {}  {}", place + 1, labels.state(&character.id, &state.id)))?;
        }
        if let Some(figure) = labels.drawing(&character.id) {
            let written = write(&self.folder, &format!("character-{}", character.id), &figure)?;
            self.tell(&labels.say("key.drawing", &[("path", written.png.display().to_string().into())]))?;
        }
        let how = match &character.kind {
            Kind::States(_) => "key.how",
            Kind::Number { .. } => "key.how-number",
        };
        self.tell(&labels.say(how, &[]))?;
        self.typed()
    }

    /// The session with what was typed as an answer: places in the list, or a number. Or why not.
    fn taken(&self, character: &Character, by: Means, text: &str) -> Result<KeySession, String> {
        let key = self.labels.key;
        let answered = |answer: Result<Answer, AnswerError>| {
            answer.and_then(|answer| self.session.answered(key, character.id.as_str(), answer))
        };
        let result = match &character.kind {
            Kind::Number { .. } => {
                answered(Answer::parse(key, character.id.as_str(), &format!("{by}:{text}"), &[by].into()))
            }
            Kind::States(states) => {
                let parts = text.split([',', ' ', '|']).filter(|part| !part.is_empty());
                let places: Option<Vec<usize>> =
                    parts.map(|part| part.parse().ok().filter(|place| (1..=states.len()).contains(place))).collect();
                let Some(places) = places.filter(|places| !places.is_empty()) else {
                    let given: String = text.chars().take(64).collect();
                    return Err(self.labels.say("key.not-understood", &[("given", given.into())]));
                };
                let chosen = places.iter().map(|place| states[place - 1].id.clone());
                answered(Ok(match chosen.collect::<Vec<_>>().as_slice() {
                    [one] => Answer::Is { state: one.clone(), by },
                    several => Answer::Between { states: several.iter().cloned().collect(), by },
                }))
            }
        };
        result.map_err(|error| self.labels.refusal(&error))
    }

    /// Lets the observer choose an answer to give again.
    fn which_again(&mut self) -> Result<Option<(CharacterId, Means)>, CommandError> {
        let given: Vec<(CharacterId, Answer)> =
            self.session.answers().iter().map(|(id, answer)| (id.clone(), answer.clone())).collect();
        if given.is_empty() {
            self.tell(&self.labels.say("key.no-answers", &[]))?;
            return Ok(None);
        }
        self.tell(&self.labels.say("key.which-answer", &[]))?;
        for (place, (character, answer)) in given.iter().enumerate() {
            let line = reason(self.labels, character, answer);
            self.tell(&format!("  {}  {line}", place + 1))?;
        }
        let place = match self.typed()? {
            Typed::Answer(text) => text.parse::<usize>().ok().and_then(|place| place.checked_sub(1)),
            _ => None,
        };
        Ok(place.and_then(|place| given.get(place)).map(|(id, answer)| (id.clone(), answer.by())))
    }

    fn at_the_end(&mut self, end: &Next) -> Result<Typed, CommandError> {
        let told = match end {
            Next::GuessChecked => "key.guess-checked",
            Next::NothingLeft => "key.nothing-left",
            Next::Settled | Next::Ask(_) => "key.settled",
        };
        self.tell("")?;
        self.tell(&self.labels.say(told, &[]))?;
        self.tell_all(&summary(self.labels, &self.session)?)?;
        let how = if *end == Next::GuessChecked { "key.how-guess" } else { "key.how-end" };
        self.tell(&self.labels.say(how, &[]))?;
        self.typed()
    }

    fn tell_support(&mut self) -> Result<(), CommandError> {
        let lines = bars(self.labels, &self.session)?;
        self.tell_all(&lines)
    }

    fn typed(&mut self) -> Result<Typed, CommandError> {
        let mut line = String::new();
        let read = self.input.read_line(&mut line).map_err(CommandError::io("input"))?;
        Ok(match line.trim() {
            "" if read == 0 => Typed::Stop,
            "" => Typed::Nothing,
            "q" => Typed::Stop,
            "s" => Typed::Skip,
            "b" => Typed::Back,
            "w" => Typed::Why,
            "g" => Typed::GoOn,
            text => Typed::Answer(text.to_owned()),
        })
    }

    fn tell_all(&mut self, lines: &[String]) -> Result<(), CommandError> {
        lines.iter().try_for_each(|line| self.tell(line))
    }

    fn tell(&mut self, line: &str) -> Result<(), CommandError> {
        writeln!(self.output, "{line}").and_then(|()| self.output.flush()).map_err(CommandError::io("output"))
    }
}

/// Bars, proposal, reasons and what disagrees.
pub(super) fn summary(labels: &Labels<'_>, session: &KeySession) -> Result<Vec<String>, AnswerError> {
    let mut lines = bars(labels, session)?;
    lines.extend(labels.proposal(&session.proposal(labels.key)?));
    lines.extend(reasons(labels, session)?);
    lines.push(labels.say("key.support-note", &[]));
    Ok(lines)
}

fn bars(labels: &Labels<'_>, session: &KeySession) -> Result<Vec<String>, AnswerError> {
    let support = session.support(labels.key)?;
    let shown = support.iter().filter(|(_, support)| *support >= LEAST_SHOWN);
    let bar = |(outcome, support): &(stagekey::OutcomeId, f64)| {
        // A support of 0 to 1 gives 0 to BAR cells.
        let full = (0..BAR).filter(|cell| (*cell as f64 + 0.5) / (BAR as f64) < *support).count();
        let cells: String = std::iter::repeat_n('█', full).chain(std::iter::repeat_n('░', BAR - full)).collect();
        format!("  {cells} {:>5}  {}", percent(labels.language, *support, 0), labels.outcome(outcome))
    };
    let heading = labels.say("key.support", &[]);
    Ok(std::iter::once(heading).chain(shown.map(bar)).collect())
}

/// What speaks for and against the best supported outcome, and which answers disagree.
fn reasons(labels: &Labels<'_>, session: &KeySession) -> Result<Vec<String>, AnswerError> {
    let support = session.support(labels.key)?;
    let mut lines = Vec::new();
    for one in session.reasons(labels.key, support[0].0.as_str())? {
        let side = match one.weight {
            weight if weight >= LEAST_WEIGHT => "key.for",
            weight if weight <= -LEAST_WEIGHT => "key.against",
            _ => continue,
        };
        if let Some(answer) = session.answers().get(&one.character) {
            let (side, line) = (labels.say(side, &[]), reason(labels, &one.character, answer));
            let args =
                [("side", side.into()), ("outcome", labels.outcome(&support[0].0).into()), ("answer", line.into())];
            lines.push(format!("  {}", labels.say("key.speaks", &args)));
        }
    }
    lines.extend(labels.disagreement(session)?);
    Ok(lines)
}

fn reason(labels: &Labels<'_>, character: &CharacterId, answer: &Answer) -> String {
    let args = [("question", labels.question(character).into()), ("answer", labels.answer(character, answer).into())];
    labels.say("key.reason", &args)
}
