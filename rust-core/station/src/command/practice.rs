//! `leafturn practice`

use super::draw::{Written, write};
use super::{CommandError, Outcome, Tongue};
use crate::drawing::drawing_words;
use crate::edge::{clock, random};
use clap::Args;
use figure::Size;
use figure::specimen::Words;
use messages::{Arg, Language, decimal, say};
use practice::{Answered, Choice, Deck, Item, Kind, Marks, Scale, Score, Shows, Topic};
use serde::Serialize;
use stagekey::Key;
use std::io::{self, BufRead, Write};
use std::path::PathBuf;
use std::time::Duration;

/// Practise telling stages apart on drawn specimens whose truth is known.
///
/// Shows drawings, asks, says what was right and which mark decides, and at the end what to look at next. What was
/// confused comes more often. Practice never changes a count. With --json each line printed is an object, and each line
/// read is the name of a choice.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn practice
  leafturn practice --items 10 --keep mine.jsonl --language fr
  yes egg | leafturn practice --items 3 --seed 1 --json")]
pub(super) struct Practice {
    /// Items of this round.
    #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u32).range(1..=500))]
    items: u32,
    /// The same seed and the same answers bring the same items; drawn by chance if none is given.
    #[arg(long)]
    seed: Option<u64>,
    /// File of earlier answers, to which those of this round are added.
    #[arg(long, value_name = "FILE")]
    keep: Option<PathBuf>,
    /// Folder for the drawings; a folder of its own among the system's temporary ones if none is named.
    #[arg(long, value_name = "DIR")]
    drawings: Option<PathBuf>,
    /// Print JSON, read names.
    #[arg(long)]
    json: bool,
    /// Language of questions and results.
    #[arg(long, value_enum, default_value_t = Tongue::En)]
    language: Tongue,
}

/// A round ends after so many answers to one item that make no sense, so that a stream of them has an end.
const MOST_TRIES: u32 = 20;

/// The size of drawings in practice.
const SIZE: Size = Size { width: 480, height: 320 };

impl Practice {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let seed = match self.seed {
            Some(seed) => seed,
            None => u64::from_le_bytes(random::octets()?),
        };
        let before = self.keep.as_ref().map_or_else(|| Ok(Vec::new()), |path| kept(path))?;
        let language = self.language.into();
        let folder = self.drawings.unwrap_or_else(|| std::env::temp_dir().join("leafturn-practice"));
        let mut round = Round {
            key: Key::monarch(),
            language,
            words: drawing_words(language),
            folder,
            speaks: if self.json { Speaks::Json } else { Speaks::Words },
            input: io::stdin().lock(),
            output: io::stdout().lock(),
        };
        let answered = round.run(Deck::seeded(seed), self.items, before, || {
            let ms = clock::moment().map_or(0, |now| now.since_boot.ms);
            Duration::from_millis(ms)
        })?;
        if let Some(path) = &self.keep {
            let mut file = std::fs::OpenOptions::new()
                .create(true)
                .append(true)
                .open(path)
                .map_err(CommandError::io(path.display().to_string()))?;
            for one in &answered {
                let line = serde_json::to_string(one).map_err(|error| CommandError::io("output")(error.into()))?;
                writeln!(file, "{line}").map_err(CommandError::io(path.display().to_string()))?;
            }
        }
        Ok(Outcome::Fine)
    }
}

fn kept(path: &std::path::Path) -> Result<Vec<Answered>, CommandError> {
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(CommandError::io(path.display().to_string())(error)),
    };
    let lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let read = lines.map(|(place, line)| {
        serde_json::from_str(line)
            .map_err(|error| CommandError::Answers(format!("{}, line {}: {error}", path.display(), place + 1)))
    });
    read.collect()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Speaks {
    Words,
    Json,
}

struct Round<I, O> {
    key: Key,
    language: Language,
    words: Words,
    folder: PathBuf,
    speaks: Speaks,
    input: I,
    output: O,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
enum Told<'r> {
    Item {
        number: u32,
        of: u32,
        asks: &'static str,
        scale: Scale,
        choices: Vec<&'static str>,
        drawing: Written,
        description: String,
    },
    NotUnderstood {
        given: String,
    },
    Marks {
        marks: &'r Marks,
        drawing: Written,
        description: String,
    },
    Score(&'r Score),
}

impl<I: BufRead, O: Write> Round<I, O> {
    /// Asks so many items; the end of the input ends the round. Gives the answers of this round.
    fn run(
        &mut self,
        deck: Deck,
        items: u32,
        before: Vec<Answered>,
        mut now: impl FnMut() -> Duration,
    ) -> Result<Vec<Answered>, CommandError> {
        let (mut all, mut round) = (before, Vec::new());
        for number in 1..=items {
            let item = deck.next(&all);
            self.ask(&item, number, items)?;
            let begun = now();
            let Some(choice) = self.choice(&item)? else { break };
            let took = now().saturating_sub(begun).as_millis();
            let answered = item.answered(choice, u32::try_from(took).unwrap_or(u32::MAX));
            self.mark(&item, choice, number)?;
            all.push(answered.clone());
            round.push(answered);
        }
        self.score(&Score::of(&round))?;
        Ok(round)
    }

    fn ask(&mut self, item: &Item, number: u32, of: u32) -> Result<(), CommandError> {
        let figure = item.figure(SIZE, &self.words);
        let drawing = write(&self.folder, &format!("item-{number:03}"), &figure)?;
        let asks = match item.shows {
            Shows::One(_) => "practice.what-is-it",
            Shows::Two(..) => "practice.same-instar",
        };
        let choices = item.choices();
        if self.speaks == Speaks::Json {
            let choices = choices.iter().map(|choice| choice.name()).collect();
            let description = figure.text_alternative.description;
            return self.json(&Told::Item { number, of, asks, scale: item.scale, choices, drawing, description });
        }
        self.tell("")?;
        self.say("practice.item", &[("number", number.into()), ("total", of.into())])?;
        self.say(asks, &[])?;
        self.say("key.drawing", &[("path", drawing.png.display().to_string().into())])?;
        if item.scale == Scale::Hidden {
            self.say("practice.no-scale", &[])?;
        }
        for (place, choice) in choices.iter().enumerate() {
            self.tell(&format!("  {:>2}  {}", place + 1, self.label(*choice)))?;
        }
        self.say("practice.how", &[])
    }

    /// What is answered; nothing at the end of the input, or where it never makes sense.
    fn choice(&mut self, item: &Item) -> Result<Option<Choice>, CommandError> {
        let choices = item.choices();
        for _ in 0..MOST_TRIES {
            let mut line = String::new();
            let read = self.input.read_line(&mut line).map_err(CommandError::io("input"))?;
            let text = line.trim();
            if read == 0 || text == "q" {
                return Ok(None);
            }
            let place = text.parse::<usize>().ok().and_then(|place| place.checked_sub(1));
            let named = Choice::named(text).filter(|choice| choices.contains(choice));
            if let Some(choice) = place.and_then(|place| choices.get(place).copied()).or(named) {
                return Ok(Some(choice));
            }
            let given: String = text.chars().take(64).collect();
            match self.speaks {
                Speaks::Json => self.json(&Told::NotUnderstood { given })?,
                Speaks::Words => self.say("key.not-understood", &[("given", given.into())])?,
            }
        }
        Ok(None)
    }

    fn mark(&mut self, item: &Item, choice: Choice, number: u32) -> Result<(), CommandError> {
        let marks = item.marks(&self.key, choice);
        let figure = item.explained(&marks, SIZE, &self.words);
        let drawing = write(&self.folder, &format!("item-{number:03}-explained"), &figure)?;
        if self.speaks == Speaks::Json {
            let description = figure.text_alternative.description;
            return self.json(&Told::Marks { marks: &marks, drawing, description });
        }
        let truth = [("truth", self.label(marks.truth).into())];
        match (marks.right, marks.truth) {
            (true, _) => self.say("practice.right", &[])?,
            (false, Choice::Is(_)) => self.say("practice.wrong", &truth)?,
            (false, Choice::SameInstar | Choice::OtherInstar) => self.say("practice.wrong-pair", &truth)?,
        }
        match &marks.deciding {
            Some((character, state)) => {
                let asked = ("character", self.text(&self.key.question_text(character)).into());
                match state {
                    Some(state) => {
                        let state = self.text(&self.key.state_text(character, state));
                        self.say("practice.decides-state", &[asked, ("state", state.into())])?;
                    }
                    None => self.say("practice.decides", &[asked])?,
                }
            }
            None => self.say("practice.only-grown", &[])?,
        }
        self.say("key.drawing", &[("path", drawing.png.display().to_string().into())])
    }

    fn score(&mut self, score: &Score) -> Result<(), CommandError> {
        if self.speaks == Speaks::Json {
            return self.json(&Told::Score(score));
        }
        self.tell("")?;
        self.say("practice.result", &[("right", score.right.into()), ("asked", score.asked.into())])?;
        if let Some(kappa) = score.kappa {
            self.say("practice.kappa", &[("kappa", decimal(self.language, kappa, 2).into())])?;
        }
        for cell in score.matrix.iter().filter(|cell| cell.truth != cell.answered) {
            let (truth, answered) = (self.label(cell.truth), self.label(cell.answered));
            let args = [("truth", truth.into()), ("answered", answered.into()), ("number", cell.number.into())];
            self.say("practice.confused", &args)?;
        }
        if score.look_at.is_empty() && score.asked > 0 {
            self.say("practice.none-wrong", &[])?;
        }
        if !score.look_at.is_empty() {
            self.say("practice.look-at-next", &[])?;
        }
        for topic in &score.look_at {
            let (id, args) = match topic {
                Topic::Between(one, other) => {
                    ("practice.between", vec![("one", self.kind(*one).into()), ("other", self.kind(*other).into())])
                }
                Topic::SameInstar(one) => ("practice.pair-of", vec![("one", self.kind(*one).into())]),
            };
            self.tell(&format!("  {}", say(self.language, id, &args)))?;
        }
        self.say("practice.not-field", &[])
    }

    fn label(&self, choice: Choice) -> String {
        match choice {
            Choice::Is(kind) => self.kind(kind),
            Choice::SameInstar => self.text("practice.same"),
            Choice::OtherInstar => self.text("practice.different"),
        }
    }

    fn kind(&self, kind: Kind) -> String {
        self.text(&format!("key.monarch.outcome.{}", kind.name()))
    }

    fn text(&self, id: &str) -> String {
        say(self.language, id, &[])
    }

    fn say(&mut self, id: &str, args: &[(&str, Arg<'_>)]) -> Result<(), CommandError> {
        self.tell(&say(self.language, id, args))
    }

    fn json(&mut self, told: &Told<'_>) -> Result<(), CommandError> {
        let line = serde_json::to_string(told).map_err(|error| CommandError::io("output")(error.into()))?;
        self.tell(&line)
    }

    fn tell(&mut self, line: &str) -> Result<(), CommandError> {
        writeln!(self.output, "{line}").and_then(|()| self.output.flush()).map_err(CommandError::io("output"))
    }
}
