//! What is taken for what, as squares filled by their share of the row.

use super::frame::short;
use super::plot::whole;
use super::words::ChartWords;
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{
    BODY, Box2, MARGIN, PLAIN, SMALL, TICK, Type, fill_rect, heading, outline_rect, sheet, wide, width_of, write,
    write_level,
};
use crate::shape::{Anchor, Figure, Stroke, TextAlternative, Weight};
use crate::words::fill;

/// A matrix with the names of its classes; rows need not be as many as columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Confusion {
    /// Names of rows, and of columns as far as they go; what has no name is numbered.
    pub classes: Vec<String>,
    /// Shares, or numbers of things.
    pub rows: Vec<Vec<f64>>,
    /// Whether the rows are one observer's and the columns another's.
    pub two_observers: bool,
}

/// Largest and smallest side of a cell.
const SIDE: (i32, i32) = (64, 26);

/// A confusion matrix. In each cell stands its number, and a square whose area is the cell's share of its row; squares on
/// the diagonal, where both agree, are filled lighter and edged twice, so that mistakes stand out dark.
///
/// # Errors
/// [`FigureError::Nothing`] without a cell above 0 or with rows of different length; [`FigureError::TooNarrow`].
pub fn confusion_matrix(of: &Confusion, width: u32, own: &ChartWords) -> Result<Figure, FigureError> {
    let columns = of.rows.first().map_or(0, Vec::len);
    let total: f64 = of.rows.iter().flatten().sum();
    if columns == 0 || of.rows.iter().any(|row| row.len() != columns) || total <= 0.0 {
        return Err(FigureError::Nothing);
    }
    let name = |index: usize| {
        let number = (index + 1).to_string();
        of.classes.get(index).cloned().unwrap_or_else(|| fill(&own.class, &[("number", &number)]))
    };
    let title = if of.two_observers { &own.confusion_title_two } else { &own.confusion_title };
    let (rows_are, columns_are) = if of.two_observers {
        (&own.confusion_first, &own.confusion_second)
    } else {
        (&own.confusion_rows, &own.confusion_columns)
    };
    let alternative = TextAlternative { title: title.clone(), description: says(of, total, own, &name) };
    sheet(width, alternative, |area| {
        let y = heading(area, title, &[rows_are, columns_are, &own.confusion_note])? + 10;
        let names: Vec<String> = (0..of.rows.len()).map(name).collect();
        let left = MARGIN + names.iter().map(|name| wide(name, BODY)).max().unwrap_or(0) + 10;
        let room = (width_of(area) - MARGIN - left) / i32::try_from(columns).unwrap_or(i32::MAX).max(1);
        let side = room.clamp(SIDE.1, SIDE.0);
        let heads: Vec<String> = (0..columns).map(name).collect();
        let top = y + BODY + 6;
        for (x, head) in (left..).step_by(usize::try_from(side).unwrap_or(1)).zip(&heads) {
            // A head wider than its column is cut to its beginning.
            let fits = |text: &str| wide(text, TICK) <= side - 2;
            let shown: String = (1..=head.chars().count())
                .rev()
                .map(|letters| head.chars().take(letters).collect::<String>())
                .find(|text| fits(text))
                .unwrap_or_default();
            write(area, &shown, (x + side / 2, y), Type { anchor: Anchor::Middle, ..SMALL })?;
        }
        for (index, row) in of.rows.iter().enumerate() {
            let y = top + i32::try_from(index).unwrap_or(0) * side;
            write_level(area, &names[index], (left - 8, y + side / 2), Type { anchor: Anchor::End, ..PLAIN })?;
            let sum: f64 = row.iter().sum();
            for (column, value) in row.iter().enumerate() {
                let x = left + i32::try_from(column).unwrap_or(0) * side;
                let cell = Box2 { left: x, top: y, right: x + side, bottom: y + side };
                cell_of(area, cell, (*value, if sum > 0.0 { value / sum } else { 0.0 }), column == index, own)?;
            }
        }
        Ok(top + i32::try_from(of.rows.len()).unwrap_or(0) * side + 6)
    })
}

fn cell_of(
    area: &crate::page::Area<'_>,
    cell: Box2,
    (value, share): (f64, f64),
    agrees: bool,
    own: &ChartWords,
) -> Result<(), FigureError> {
    let side = cell.right - cell.left - 4;
    // The number has the upper part for itself where there is room for both.
    let square = whole(share.clamp(0.0, 1.0).sqrt() * f64::from(side - 2));
    let (middle_x, middle_y) = (i32::midpoint(cell.left, cell.right), i32::midpoint(cell.top, cell.bottom));
    if square > 0 {
        let left = middle_x - square / 2;
        let top = middle_y - square / 2;
        let inner = Box2 { left, top, right: left + square, bottom: top + square };
        fill_rect(area, inner, if agrees { Ink::Shade } else { Ink::Slate })?;
        outline_rect(area, inner, Stroke::solid(Ink::Black, 1.0))?;
    }
    outline_rect(area, cell, Stroke::solid(Ink::Rule, if agrees { 2.0 } else { 1.0 }))?;
    if value > 0.0 {
        let text = short(&own.words, value);
        // Dark squares that the text would lie on carry it in the colour of paper.
        let on_dark = !agrees && square > wide(&text, TICK) + 2;
        let beside = !agrees && !on_dark;
        let ink = if on_dark { Ink::Paper } else { Ink::Black };
        let weight = if agrees { Weight::Bold } else { Weight::Regular };
        let level =
            if beside { (middle_y + square / 2 + TICK / 2 + 2).min(cell.bottom - TICK / 2 - 1) } else { middle_y };
        write_level(area, &text, (middle_x, level), Type { size: TICK, ink, weight, anchor: Anchor::Middle })?;
    }
    Ok(())
}

fn says(of: &Confusion, total: f64, own: &ChartWords, name: &impl Fn(usize) -> String) -> String {
    let agreed: f64 = of.rows.iter().enumerate().filter_map(|(index, row)| row.get(index)).sum();
    let mut said =
        vec![fill(&own.confusion_says, &[("share", &own.words.percent((agreed / total * 1000.0).round() / 1000.0))])];
    let share =
        |row: usize, column: usize| of.rows[row][column] / of.rows[row].iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let worst = (0..of.rows.len())
        .flat_map(|row| (0..of.rows[row].len()).map(move |column| (row, column)))
        .filter(|(row, column)| row != column && of.rows[*row][*column] > 0.0)
        .max_by(|one, other| share(one.0, one.1).total_cmp(&share(other.0, other.1)));
    if let Some((row, column)) = worst {
        let value = format!("{} %", own.words.percent((share(row, column) * 1000.0).round() / 1000.0));
        let values = [("from", name(row)), ("to", name(column)), ("value", value)];
        let values: Vec<(&str, &str)> = values.iter().map(|(place, text)| (*place, text.as_str())).collect();
        said.push(fill(&own.confusion_worst, &values));
    }
    said.join(" ")
}
