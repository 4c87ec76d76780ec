//! Several drawings on one sheet.

use super::frame::{self, Bar, caption, cells, font, picture};
use super::sketch::{Frame, POINTER, Sketch, View};
use super::subject::{Kind, Part, Subject, view_of_state};
use super::words::Words;
use super::{Specimen, states};
use crate::shape::{Figure, Shape, Size, TextAlternative, Weight};
use serde::{Deserialize, Serialize};

/// How drawings on one sheet compare in size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scaling {
    /// All at one scale, with one bar if all show their scale.
    One,
    /// Each as large as fits.
    Each,
}

/// The stages of a monarch from egg to pupa.
const STAGES: [Kind; 7] = [Kind::Egg, Kind::Larva1, Kind::Larva2, Kind::Larva3, Kind::Larva4, Kind::Larva5, Kind::Pupa];

/// The least sheet: smaller ones are drawn in this size.
const LEAST: Size = Size { width: 300, height: 420 };

/// All stages: above at one scale with one bar, below each enlarged with its own. Sheets smaller than 300 by 420 units
/// are drawn in that size.
pub fn plate(size: Size, words: &Words) -> Figure {
    let size = at_least(size);
    let sheet = frame::whole(size).inset(6.0);
    let text = font(sheet);
    let (head, sub) = (text * 1.6, text * 1.5);
    let line = |top: f64, height: f64| Frame { top, height, ..sheet };
    let specimens = STAGES.map(Specimen::typical);
    let row = Row::of(&specimens);
    let most = (sheet.height - head - 2.0 * sub) * 0.34;
    let upper = line(sheet.top + head + sub, most.min(sheet.width * row.view.height / row.view.width + 2.0 * text));
    let lower_top = upper.top + upper.height + sub;
    let lower = line(lower_top, (sheet.top + sheet.height - lower_top).max(1.0));
    let mut shapes = caption(words.say("drawing.plate"), line(sheet.top, head), text, Weight::Bold);
    let small = text * 0.9;
    shapes.extend(caption(words.say("drawing.one-scale"), line(sheet.top + head, sub), small, Weight::Regular));
    shapes.extend(picture(&row.sketch, row.view, upper, Bar::Shown, words));
    let below = line(upper.top + upper.height, sub);
    shapes.extend(caption(words.say("drawing.each-enlarged"), below, small, Weight::Regular));
    for (cell, specimen) in cells(lower, specimens.len(), 10.0).into_iter().zip(&specimens) {
        shapes.extend(labelled(cell, specimen.title(words), |frame| {
            let (sketch, view) = specimen.subject.drawn(frame);
            picture(&sketch, view, frame, Bar::Shown, words)
        }));
    }
    Figure { size, shapes, text_alternative: described(words.say("drawing.plate"), &specimens, words) }
}

/// Specimens beside each other, without names in the drawing; the text alternative tells as much of each as
/// [`super::specimen`] does.
pub fn side_by_side(specimens: &[Specimen], scaling: Scaling, size: Size, words: &Words) -> Figure {
    let size = frame::drawable(size);
    let sheet = frame::whole(size);
    let all = specimens.iter().all(|specimen| specimen.bar() == Bar::Shown);
    let shapes = match scaling {
        Scaling::One => {
            let row = Row::of(specimens);
            picture(&row.sketch, row.view, sheet, if all { Bar::Shown } else { Bar::Left }, words)
        }
        Scaling::Each => cells(sheet, specimens.len(), 4.0)
            .into_iter()
            .zip(specimens)
            .flat_map(|(cell, specimen)| {
                let (sketch, view) = specimen.subject.drawn(cell);
                picture(&sketch, view, cell, specimen.bar(), words)
            })
            .collect(),
    };
    Figure { size, shapes, text_alternative: described(words.say("drawing.side-by-side"), specimens, words) }
}

/// The same at one scale, with a ring about the part that decides in each that has it, named in the description.
pub fn side_by_side_pointing(specimens: &[Specimen], part: Part, size: Size, words: &Words) -> Figure {
    let plain = side_by_side(specimens, Scaling::One, size, words);
    let row = Row::pointing(specimens, Some(part));
    let all = specimens.iter().all(|specimen| specimen.bar() == Bar::Shown);
    let shapes =
        picture(&row.sketch, row.view, frame::whole(plain.size), if all { Bar::Shown } else { Bar::Left }, words);
    let TextAlternative { title, description } = plain.text_alternative;
    let description = format!("{description} {}", words.say(part.text_id()));
    Figure { size: plain.size, shapes, text_alternative: TextAlternative { title, description } }
}

/// All states of a character, each with its text; `None` for a character that [`super::ids`] lacks.
pub fn character(character: &str, size: Size, words: &Words) -> Option<Figure> {
    let states: Vec<_> = super::ids().into_iter().filter(|(own, _)| *own == character).collect();
    if states.is_empty() {
        return None;
    }
    let size = at_least(size);
    let sheet = frame::whole(size).inset(6.0);
    let texts: Vec<String> =
        states.iter().map(|(own, state)| words.say(&format!("{own}.{state}")).to_owned()).collect();
    let mut shapes = Vec::new();
    for ((cell, (own, state)), text) in cells(sheet, states.len(), 10.0).into_iter().zip(&states).zip(&texts) {
        shapes.extend(labelled(cell, text, |frame| match states::state(own, state) {
            Some(sketch) => picture(&sketch, view_of_state(own, &sketch), frame, Bar::Left, words),
            None => Kind::named(state).map_or_else(Vec::new, |kind| {
                let (sketch, view) = Subject::typical(kind).drawn(frame);
                picture(&sketch, view, frame, Bar::Shown, words)
            }),
        }));
    }
    let title = words.say("drawing.states").to_owned();
    Some(Figure { size, shapes, text_alternative: TextAlternative { title, description: texts.join(" ") } })
}

/// A picture over up to three lines of text.
fn labelled(cell: Frame, text: &str, draw: impl FnOnce(Frame) -> Vec<Shape>) -> Vec<Shape> {
    let size = (font(cell) * 0.95).max(10.0);
    let rows = crate::text::lines(text, size, Weight::Regular, cell.width).len().clamp(1, 3);
    let room = (size * (0.5 + 1.2 * rows as f64)).min(cell.height / 2.0);
    let upper = Frame { height: cell.height - room, ..cell };
    let mut shapes = draw(upper);
    let lower = Frame { top: upper.top + upper.height + size * 0.2, height: room - size * 0.2, ..cell };
    shapes.extend(caption(text, lower, size, Weight::Regular));
    shapes
}

/// How far caterpillars in a row are bent, in radians: hardly, so that their lengths compare.
const BEND: f64 = 0.02;

/// Specimens in a row at one scale, each on its own, without leaves.
struct Row {
    sketch: Sketch,
    view: View,
}

impl Row {
    fn of(specimens: &[Specimen]) -> Self {
        Self::pointing(specimens, None)
    }

    fn pointing(specimens: &[Specimen], part: Option<Part>) -> Self {
        let drawn: Vec<Sketch> = specimens
            .iter()
            .map(|specimen| {
                let mut sketch = specimen.subject.sketch(BEND).without_ground();
                if let Some((center, radius)) = part.and_then(|part| specimen.subject.spot(part, BEND)) {
                    sketch.disc(center, radius, None, POINTER);
                }
                sketch
            })
            .collect();
        let total: f64 = drawn.iter().map(|sketch| sketch.bounds().width).sum();
        let gap = total * 0.03;
        let mut sketch = Sketch::default();
        let mut left = 0.0;
        for one in &drawn {
            let own = one.bounds();
            sketch.add(one, left - own.left, -own.bottom);
            left += own.width + gap;
        }
        let view = sketch.bounds().padded(0.01);
        Self { sketch, view }
    }
}

fn described(title: &str, specimens: &[Specimen], words: &Words) -> TextAlternative {
    let told = specimens.iter().enumerate().map(|(place, specimen)| {
        let description = specimen.subject.description(specimen.scale, words);
        format!("{}. {}: {description}", place + 1, specimen.title(words))
    });
    TextAlternative { title: title.to_owned(), description: told.collect::<Vec<_>>().join(" ") }
}

fn at_least(size: Size) -> Size {
    let size = frame::drawable(size);
    Size { width: size.width.max(LEAST.width), height: size.height.max(LEAST.height) }
}
