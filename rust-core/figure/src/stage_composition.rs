//! Stage composition: one stacked bar for each visit, parts told apart by pattern.

use crate::backend::FigureError;
use crate::hatch::{fill_box, hatch_of};
use crate::ink::Ink;
use crate::page::{
    BODY, Box2, MARGIN, PLAIN, SMALL, TICK, Type, heading, legend, line, paragraph, sheet, wide, width_of, write,
    write_level,
};
use crate::season_curve::write_dates;
use crate::shape::{Anchor, Figure, Stroke, TextAlternative};
use crate::words::{Words, fill};
use plotters::chart::ChartBuilder;
use season::{Composition, ShareOf};
use std::collections::BTreeSet;

/// Height of the bars, and the greatest width of one.
const HEIGHT: i32 = 220;
const WIDEST: i32 = 44;

/// What was counted at each visit of a season, in shares that add up to 100 %. Visits stand side by side in order of
/// date, evenly spaced; the number of things counted stands above each bar. `place` is the site's name, `width` in
/// figure units.
///
/// # Errors
/// [`FigureError::Nothing`] without a visit; [`FigureError::TooNarrow`] below [`crate::NARROWEST`].
pub fn stage_composition(
    visits: &[Composition],
    place: &str,
    width: u32,
    words: &Words,
) -> Result<Figure, FigureError> {
    if visits.is_empty() {
        return Err(FigureError::Nothing);
    }
    let title = fill(&words.title_composition, &[("place", place)]);
    let text_alternative = TextAlternative { title: title.clone(), description: describe(visits, words) };
    sheet(width, text_alternative, |area| {
        let y = heading(area, &title, &[&words.note_composition])?;
        write(area, &words.axis_share, (MARGIN, y + 8), PLAIN)?;
        let top = y + 8 + BODY + 4 + TICK + 6;
        let left = MARGIN + 8 + wide("100", TICK);
        let right = width_of(area) - MARGIN;
        let size = (u32::try_from(right - left).unwrap_or(1), u32::try_from(HEIGHT).unwrap_or(1));
        let plot = area.clone().shrink((left, top), size);
        let chart = ChartBuilder::on(&plot).build_cartesian_2d(0.0..visits.len() as f64, 0.0..1.0)?;
        let axis = Stroke::solid(Ink::Rule, 1.0);
        let floor = chart.backend_coord(&(0.0, 0.0)).1;
        line(area, (left, chart.backend_coord(&(0.0, 1.0)).1), (left, floor), axis)?;
        line(area, (left, floor), (right, floor), axis)?;
        for percent in [0_u8, 25, 50, 75, 100] {
            let level = chart.backend_coord(&(0.0, f64::from(percent) / 100.0)).1;
            line(area, (left - 4, level), (left, level), axis)?;
            write_level(area, &percent.to_string(), (left - 7, level), Type { anchor: Anchor::End, ..SMALL })?;
        }
        let slot = (right - left) / i32::try_from(visits.len()).unwrap_or(i32::MAX).max(1);
        let half = (slot * 2 / 5).clamp(1, WIDEST / 2);
        let mut middles = Vec::new();
        for (index, visit) in visits.iter().enumerate() {
            let x = chart.backend_coord(&(index as f64 + 0.5, 0.0)).0;
            middles.push(x);
            let mut below = 0.0;
            for share in &visit.shares {
                let bottom = chart.backend_coord(&(0.0, below)).1;
                below += share.share;
                let top = chart.backend_coord(&(0.0, below)).1;
                fill_box(area, Box2 { left: x - half, top, right: x + half, bottom }, hatch_of(share.of))?;
            }
        }
        let numbers: Vec<String> = visits.iter().map(|visit| visit.things.to_string()).collect();
        let widths: Vec<f64> = numbers.iter().map(|number| f64::from(wide(number, TICK))).collect();
        for index in crate::axis::fitting(&middles, &widths, 4.0) {
            let centred = Type { anchor: Anchor::Middle, ..SMALL };
            write(area, &numbers[index], (middles[index], top - TICK - 5), centred)?;
        }
        let labels: Vec<String> = visits.iter().map(|visit| words.day(visit.date)).collect();
        write_dates(area, &middles, &labels, floor)?;
        let middle = Type { anchor: Anchor::Middle, ..PLAIN };
        let y = floor + 10 + TICK + 4;
        write(area, &words.axis_date, (i32::midpoint(left, right), y), middle)?;
        let y =
            legend(area, &keys(visits, words), y + BODY + 10, |area, swatch, of| fill_box(area, swatch, hatch_of(of)))?;
        paragraph(area, &words.legend_numbers, y + 4, SMALL)
    })
}

fn keys(visits: &[Composition], words: &Words) -> Vec<(ShareOf, String)> {
    let parts: BTreeSet<ShareOf> = visits.iter().flat_map(|visit| &visit.shares).map(|share| share.of).collect();
    parts.into_iter().map(|of| (of, words.share_of(of).to_owned())).collect()
}

fn describe(visits: &[Composition], words: &Words) -> String {
    let said = visits.iter().map(|visit| {
        let date = words.day(visit.date);
        if visit.things == 0 {
            return fill(&words.says_nothing, &[("date", &date)]);
        }
        let parts: Vec<String> = visit
            .shares
            .iter()
            .map(|share| format!("{} {}\u{a0}%", words.share_of(share.of), words.number(share.share * 100.0, 0)))
            .collect();
        let things = visit.things.to_string();
        fill(&words.says_composition, &[("date", &date), ("things", &things), ("parts", &parts.join(", "))])
    });
    let span = visits.first().zip(visits.last()).map(|(first, last)| {
        let (first, last) = (words.day_and_year(first.date), words.day_and_year(last.date));
        let number = visits.len().to_string();
        fill(&words.says_span, &[("visits", &number), ("first", &first), ("last", &last)])
    });
    span.into_iter().chain(said).chain([words.note_composition.clone()]).collect::<Vec<_>>().join(" ")
}
