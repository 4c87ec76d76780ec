//! `leafturn draw`

use super::{CommandError, Outcome, Tongue, print_line};
use crate::drawing::{drawing_words, png};
use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser as _};
use figure::specimen::{Kind, Specimen, character, ids, plate, specimen};
use figure::{Figure, Size, svg};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Draw a stage, a look-alike, a plate of all stages, or what the key asks.
///
/// Every drawing is made from shapes, after facts that are told beside them in the code; none is traced from a picture.
/// For each two files are written, NAME.svg with its words for screen readers, and NAME.png.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn draw larva3
  leafturn draw --all --language es --out drawings
  leafturn draw --character filament-reach --scale 3")]
pub(super) struct Draw {
    /// A stage or look-alike.
    #[arg(value_name = "STAGE", required_unless_present_any = ["all", "character"], conflicts_with_all = ["all", "character"],
        value_parser = PossibleValuesParser::new(Kind::ALL.map(Kind::name)).try_map(|name| Kind::named(&name).ok_or("no such stage")))]
    stage: Option<Kind>,
    /// A plate of all stages, at one scale and enlarged, with size bars.
    #[arg(long, conflicts_with = "character")]
    all: bool,
    /// The states of a character of the key, side by side.
    #[arg(long, value_name = "ID", value_parser = PossibleValuesParser::new(characters()))]
    character: Option<String>,
    /// Folder for the files. Made if it is missing; files of the same names are replaced.
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    /// Width in units of the drawing.
    #[arg(long, value_parser = clap::value_parser!(u32).range(24..=4096))]
    width: Option<u32>,
    /// Height in units of the drawing.
    #[arg(long, value_parser = clap::value_parser!(u32).range(24..=4096))]
    height: Option<u32>,
    /// Pixels of the PNG to a unit, 1 to 8.
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=8))]
    scale: u8,
    /// Language of the words.
    #[arg(long, value_enum, default_value_t = Tongue::En)]
    language: Tongue,
}

/// Pixels to a unit where nothing else is asked for.
const SCALE: f32 = 2.0;

impl Draw {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let words = drawing_words(self.language.into());
        let size = |width, height| Size { width: self.width.unwrap_or(width), height: self.height.unwrap_or(height) };
        let (name, figure) = match (self.stage, &self.character) {
            (Some(kind), _) => {
                (kind.name().to_owned(), Some(specimen(&Specimen::typical(kind), size(480, 320), &words)))
            }
            (None, Some(own)) => (format!("character-{own}"), character(own, size(760, 560), &words)),
            (None, None) => ("plate".to_owned(), Some(plate(size(760, 900), &words))),
        };
        if let Some(figure) = figure {
            let written = write_at(&self.out, &name, &figure, f32::from(self.scale))?;
            print_line(&format!("{}\n{}", written.svg.display(), written.png.display()))?;
        }
        Ok(Outcome::Fine)
    }
}

/// Where a drawing was written.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub(super) struct Written {
    pub(super) svg: PathBuf,
    pub(super) png: PathBuf,
}

/// Writes a figure as SVG and PNG into a folder, which is made where it is missing.
pub(super) fn write(folder: &Path, name: &str, figure: &Figure) -> Result<Written, CommandError> {
    write_at(folder, name, figure, SCALE)
}

fn write_at(folder: &Path, name: &str, figure: &Figure, scale: f32) -> Result<Written, CommandError> {
    let shown = |path: &Path| path.display().to_string();
    std::fs::create_dir_all(folder).map_err(CommandError::io(shown(folder)))?;
    let path = |ending: &str| folder.join(format!("{name}.{ending}"));
    let written = Written { svg: path("svg"), png: path("png") };
    std::fs::write(&written.svg, svg(figure)).map_err(CommandError::io(shown(&written.svg)))?;
    std::fs::write(&written.png, png(figure, scale)?).map_err(CommandError::io(shown(&written.png)))?;
    Ok(written)
}

fn characters() -> Vec<&'static str> {
    ids().into_iter().map(|(own, _)| own).collect::<BTreeSet<_>>().into_iter().collect()
}
