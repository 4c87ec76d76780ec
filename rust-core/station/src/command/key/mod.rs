//! `leafturn key`

mod describe;
mod labels;
mod script;
mod talk;

use super::{CommandError, Outcome, Tongue, print_json};
use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser as _};
use labels::Labels;
use stagekey::{Key, KeySession, Means};
use std::collections::BTreeSet;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// Tell stages apart: asks what can be seen, and says how well each outcome fits.
///
/// Asks the question that helps most for the time it takes. Answers can be left out, doubted and changed. The proposal is
/// one outcome, several that cannot be told apart, or nothing to be counted. Support has not been checked on real animals
/// yet. Nothing is stored.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn key
  leafturn key --guess larva3 --means eye
  echo '{\"answers\": {\"pairs\": \"two\", \"filament-reach\": \"reaches|beyond\", \"body-length\": \"measuring:12,5\"}}' \\
    | leafturn key --answers - --json
  leafturn key --describe --json")]
pub(super) struct KeyCommand {
    /// A key file of another insect; where it has faults they are told, and the built-in key of the monarch is used.
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    /// Answers as JSON from this file, or from - for what is piped in: {\"answers\": {CHARACTER: ANSWER}, \"skipped\":
    /// [CHARACTER], \"guess\": OUTCOME, \"means\": [MEANS]}; all but answers may be left out.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["describe", "guess", "means"])]
    answers: Option<PathBuf>,
    /// List every character, its states, likelihoods and sources.
    #[arg(long)]
    describe: bool,
    /// Print JSON.
    #[arg(long)]
    json: bool,
    /// What you think it is: only what splits it from its neighbours is asked, and it is no evidence.
    #[arg(long, value_name = "OUTCOME")]
    guess: Option<String>,
    /// By what you can look.
    #[arg(long, value_delimiter = ',', default_values = ["eye", "lens"], value_name = "MEANS",
        value_parser = PossibleValuesParser::new(Means::ALL.map(Means::name)).try_map(|name| Means::named(&name).ok_or("no such means")))]
    means: Vec<Means>,
    /// Folder for the drawings of what is asked; a folder of its own among the system's temporary ones if none is named.
    #[arg(long, value_name = "DIR")]
    drawings: Option<PathBuf>,
    /// Language of questions and results.
    #[arg(long, value_enum, default_value_t = Tongue::En)]
    language: Tongue,
}

impl KeyCommand {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let (key, wrong) = match &self.key {
            Some(path) => self.load(path)?,
            None => (Key::monarch(), Outcome::Fine),
        };
        let labels = Labels::new(&key, self.language.into());
        let done = if self.describe {
            describe::describe(&labels, self.json)?
        } else if let Some(path) = &self.answers {
            script::answer(&labels, &read(path)?, self.json)?
        } else if self.json {
            print_json(&script::told(&labels, &self.begin(&key)?, Vec::new())?)?;
            Outcome::Fine
        } else {
            let folder = self.drawings.clone().unwrap_or_else(|| std::env::temp_dir().join("leafturn-drawings"));
            let (input, mut output) = (io::stdin().lock(), io::stdout().lock());
            let session = self.begin(&key)?;
            talk::Talk::new(&labels, session, folder, input, &mut output).run()?;
            Outcome::Fine
        };
        Ok(if wrong == Outcome::Fine { done } else { wrong })
    }

    fn begin(&self, key: &Key) -> Result<KeySession, CommandError> {
        let means: BTreeSet<Means> = self.means.iter().copied().collect();
        match &self.guess {
            None => Ok(KeySession::begin(key, means)),
            Some(guess) => Ok(KeySession::begin_with_guess(key, means, guess)?),
        }
    }

    fn load(&self, path: &Path) -> Result<(Key, Outcome), CommandError> {
        let text = std::fs::read_to_string(path).map_err(CommandError::io(path.display().to_string()))?;
        let (key, faults) = Key::load_or_monarch(&text);
        let Some(faults) = faults else { return Ok((key, Outcome::Fine)) };
        let args = [("path", path.display().to_string().into())];
        eprintln!("{}\n{faults}", messages::say(self.language.into(), "key.file-refused", &args));
        Ok((key, Outcome::DataWrong))
    }
}

fn read(path: &Path) -> Result<String, CommandError> {
    if path == Path::new("-") {
        let mut text = String::new();
        io::stdin().lock().read_to_string(&mut text).map_err(CommandError::io("input"))?;
        return Ok(text);
    }
    std::fs::read_to_string(path).map_err(CommandError::io(path.display().to_string()))
}
