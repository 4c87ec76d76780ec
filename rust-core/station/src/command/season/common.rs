//! What all topics are asked with.

use super::fault::SeasonFault;
use super::read::Source;
use super::work::{Progress, Work};
use crate::command::{CommandError, Tongue};
use clap::Args;
use messages::Language;
use season::Level;
use season::densities::Bootstrap;
use std::path::PathBuf;
use survey::date::Date;
use survey::place::Pin;
use survey::stage::Stage;

/// Options of all topics.
#[derive(Debug, Args)]
pub(super) struct Common {
    /// The file to read; - is standard input.
    #[arg(value_name = "FILE")]
    pub(super) file: Option<PathBuf>,
    /// Print JSON with full numbers instead of a table.
    #[arg(long)]
    pub(super) json: bool,
    /// Draw a picture into this file; its ending, svg or png, says which kind.
    #[arg(long, value_name = "OUT.svg|png")]
    pub(super) figure: Option<PathBuf>,
    /// Print the fields in and out, with units, types, sources and an example, and read nothing.
    #[arg(long)]
    pub(super) describe: bool,
    /// How often intervals are meant to hold the truth, between 0 and 1.
    #[arg(long, value_name = "SHARE", default_value = "0.95", value_parser = level)]
    pub(super) interval: Level,
    /// Seed of whatever is drawn by chance: the same seed draws the same.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// Resamples of a bootstrap, or simulated visits, 100 or more.
    #[arg(long, value_name = "N", default_value_t = 2_000, value_parser = clap::value_parser!(u32).range(100..))]
    pub(super) resamples: u32,
    /// Whether long work tells how far it is, on standard error. Ctrl-c ends it; what was computed is printed.
    #[arg(long, value_enum, default_value_t = Progress::Auto)]
    pub(super) progress: Progress,
    /// Language of words in tables and figures.
    #[arg(long, value_enum, default_value_t = Tongue::En)]
    pub(super) language: Tongue,
}

impl Common {
    /// The reader's language.
    pub(super) fn tongue(&self) -> Language {
        self.language.into()
    }

    /// The file, where one was named.
    pub(super) fn source(&self) -> Result<Option<Source>, CommandError> {
        self.file.as_deref().map(Source::open).transpose()
    }

    /// The file, without which there is no answer.
    pub(super) fn needed(&self) -> Result<Source, CommandError> {
        self.source()?.ok_or_else(|| SeasonFault::usage("a FILE is needed here, or - for standard input").into())
    }

    /// How to resample.
    pub(super) const fn bootstrap(&self) -> Bootstrap {
        Bootstrap { seed: self.seed, resamples: self.resamples }
    }

    /// Follows long work of as many steps as resamples.
    pub(super) fn work(&self) -> Work {
        Work::of(self.resamples, self.progress, self.tongue())
    }
}

/// An option's value, or that it is missing.
pub(super) fn option<T: Clone>(value: Option<&T>, name: &str) -> Result<T, SeasonFault> {
    value.cloned().ok_or_else(|| SeasonFault::usage(format!("{name} is needed here")))
}

fn level(text: &str) -> Result<Level, String> {
    Level::new(finite(text)?).map_err(|_| format!("{text} is not between 0 and 1"))
}

/// A finite number.
pub(super) fn finite(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) | Err(_) => Err(format!("{text:?} is no finite number")),
    }
}

/// A finite number above 0.
pub(super) fn positive(text: &str) -> Result<f64, String> {
    match finite(text)? {
        number if number > 0.0 => Ok(number),
        _ => Err(format!("{text} is not above 0")),
    }
}

/// Two numbers with a comma between them.
pub(super) fn two(text: &str) -> Result<(f64, f64), String> {
    let (one, other) = text.split_once(',').ok_or_else(|| format!("{text:?} is not two numbers with a comma"))?;
    Ok((finite(one.trim())?, finite(other.trim())?))
}

/// `LAT,LON` in decimal degrees.
pub(super) fn place(text: &str) -> Result<Pin, String> {
    let (lat, lon) = two(text)?;
    Pin::new(lat, lon).map_err(|error| error.to_string())
}

/// `YYYY-MM-DD`.
pub(super) fn date(text: &str) -> Result<Date, String> {
    Date::try_from(text.to_owned()).map_err(|error| error.to_string())
}

/// A stage by its name.
pub(super) fn stage(text: &str) -> Result<Stage, String> {
    text.parse::<Stage>().map_err(|_| format!("{text:?} is no stage; use egg, larva1 to larva5, or pupa"))
}
