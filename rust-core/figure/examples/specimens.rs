//! Writes every drawn specimen and every state of the key as SVG into a folder, for looking at them.
//!
//! `cargo run -p figure --example specimens -- FOLDER WIDTH HEIGHT`

use figure::specimen::{
    Caption, Kind, Part, Scale, Scaling, Specimen, Subject, character, character_state, english, ids, plate,
    pointing_at, side_by_side, specimen,
};
use figure::{Figure, Size, svg};
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().ok_or("the first argument is a folder")?;
    let mut number = || arguments.next().ok_or("then follow width and height")?.parse().map_err(Box::<dyn Error>::from);
    let size = Size { width: number()?, height: number()? };
    let (folder, words) = (Path::new(&folder), english());
    std::fs::create_dir_all(folder)?;
    let write = |name: String, figure: &Figure| std::fs::write(folder.join(format!("{name}.svg")), svg(figure));
    for kind in Kind::ALL {
        for (place, subject) in Subject::examples(kind).into_iter().enumerate() {
            let drawn = Specimen { subject, scale: Scale::Bar, caption: Caption::Named(kind) };
            write(format!("specimen.{}.{place}", kind.name()), &specimen(&drawn, size, &words))?;
        }
    }
    let sheet = Size { width: 760, height: 900 };
    for (own, state) in ids() {
        if let Some(figure) = character_state(own, state, size, &words) {
            write(format!("state.{own}.{state}"), &figure)?;
        }
        if let Some(figure) = character(own, sheet, &words) {
            write(format!("character.{own}"), &figure)?;
        }
    }
    write("plate".to_owned(), &plate(sheet, &words))?;
    let fourth = Specimen::typical(Kind::Larva4);
    write("pointing".to_owned(), &pointing_at(&fourth, Part::FrontFilaments, size, &words))?;
    let both = [Kind::Egg, Kind::Latex].map(Specimen::typical);
    write("egg-beside-latex".to_owned(), &side_by_side(&both, Scaling::One, sheet, &words))?;
    Ok(())
}
