//! Fills that are told apart without colour.

use crate::ink::Ink;
use crate::page::{Area, Box2, fill_rect, line, outline_rect};
use crate::{FigureError, Stroke};
use season::ShareOf;
use survey::stage::Stage;

/// A fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Hatch {
    Plain(Ink),
    Across { gap: i32 },
    Upright { gap: i32 },
    Rising { gap: i32 },
    Crossed { gap: i32 },
    Dots { gap: i32 },
}

/// The fill of each part of a composition. Each differs from those it can touch without colour.
pub(crate) const fn hatch_of(of: ShareOf) -> Hatch {
    match of {
        ShareOf::Stage(Stage::Egg) => Hatch::Plain(Ink::Paper),
        ShareOf::Stage(Stage::Larva1) => Hatch::Dots { gap: 4 },
        ShareOf::Stage(Stage::Larva2) => Hatch::Across { gap: 4 },
        ShareOf::Stage(Stage::Larva3) => Hatch::Rising { gap: 6 },
        ShareOf::Stage(Stage::Larva4) => Hatch::Crossed { gap: 6 },
        ShareOf::Stage(Stage::Larva5) => Hatch::Plain(Ink::Slate),
        ShareOf::Stage(Stage::Larva) => Hatch::Upright { gap: 4 },
        ShareOf::Stage(Stage::Pupa) => Hatch::Plain(Ink::Rule),
        ShareOf::Undecided => Hatch::Plain(Ink::Shade),
    }
}

/// The box filled and edged.
pub(crate) fn fill_box(area: &Area<'_>, area_box: Box2, hatch: Hatch) -> Result<(), FigureError> {
    let ground = if let Hatch::Plain(ink) = hatch { ink } else { Ink::Paper };
    fill_rect(area, area_box, ground)?;
    let thin = Stroke::solid(Ink::Black, 1.0);
    for (from, to) in strokes(area_box, hatch) {
        line(area, from, to, thin)?;
    }
    outline_rect(area, area_box, thin)
}

type Segment = ((i32, i32), (i32, i32));

fn strokes(area_box: Box2, hatch: Hatch) -> Vec<Segment> {
    match hatch {
        Hatch::Plain(_) => Vec::new(),
        Hatch::Across { gap } => {
            levels(area_box.top, area_box.bottom, gap).map(|y| ((area_box.left, y), (area_box.right, y))).collect()
        }
        Hatch::Upright { gap } => {
            levels(area_box.left, area_box.right, gap).map(|x| ((x, area_box.top), (x, area_box.bottom))).collect()
        }
        Hatch::Rising { gap } => diagonals(area_box, gap).collect(),
        Hatch::Crossed { gap } => {
            let falling = diagonals(area_box, gap).map(|((x1, y1), (x2, y2))| {
                let mirrored = |x| area_box.left + area_box.right - x;
                ((mirrored(x1), y1), (mirrored(x2), y2))
            });
            diagonals(area_box, gap).chain(falling).collect()
        }
        Hatch::Dots { gap } => levels(area_box.top, area_box.bottom, gap)
            .enumerate()
            .flat_map(|(row, y)| {
                let shift = if row % 2 == 0 { 0 } else { gap / 2 };
                levels(area_box.left + shift - 2, area_box.right - 1, gap).map(move |x| ((x, y), (x + 1, y)))
            })
            .collect(),
    }
}

fn levels(from: i32, to: i32, gap: i32) -> impl Iterator<Item = i32> {
    (1..).map(move |step| from + step * gap).take_while(move |&level| level < to)
}

/// Lines at 45°, from lower left to upper right, cut at the box.
fn diagonals(area_box: Box2, gap: i32) -> impl Iterator<Item = Segment> {
    let (width, height) = (area_box.right - area_box.left, area_box.bottom - area_box.top);
    levels(0, width + height, gap).map(move |reach| {
        // Where the line x + y = reach enters on the left or lower edge, and leaves on the upper or right edge.
        let low = (reach - reach.min(height), reach.min(height));
        let high = (reach.min(width), reach - reach.min(width));
        let place = |(x, y): (i32, i32)| (area_box.left + x, area_box.top + y);
        (place(low), place(high))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn parts_differ_without_colour() {
        let parts = Stage::ALL.into_iter().map(ShareOf::Stage).chain([ShareOf::Undecided]);
        let fills: std::collections::BTreeSet<_> = parts.map(hatch_of).collect();
        assert_eq!(fills.len(), Stage::ALL.len() + 1);
    }

    proptest! {
        #[test]
        fn no_stroke_leaves_its_box(left in 0_i32..50, top in 0_i32..50, width in 1_i32..90, height in 0_i32..90) {
            let area_box = Box2 { left, top, right: left + width, bottom: top + height };
            let hatches = [
                Hatch::Across { gap: 4 },
                Hatch::Upright { gap: 4 },
                Hatch::Rising { gap: 6 },
                Hatch::Crossed { gap: 6 },
                Hatch::Dots { gap: 4 },
            ];
            for hatch in hatches {
                for (from, to) in strokes(area_box, hatch) {
                    for (x, y) in [from, to] {
                        prop_assert!((left..=left + width).contains(&x) && (top..=top + height).contains(&y));
                    }
                }
            }
        }
    }
}
