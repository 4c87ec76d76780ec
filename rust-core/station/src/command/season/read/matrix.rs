//! A matrix: CSV without a header, or a JSON array of rows.

use super::csv::{Cell, records};
use super::source::Source;
use super::table::{cell, count, number};
use crate::command::season::fault::SeasonFault;
use serde_json::value::RawValue;

/// Rows of counts, all of one length.
pub(in crate::command::season) fn whole_matrix(source: &Source) -> Result<Vec<Vec<u32>>, SeasonFault> {
    read(source, count)
}

/// Rows of numbers of 0 or more, all of one length.
pub(in crate::command::season) fn counted(source: &Source) -> Result<Vec<Vec<f64>>, SeasonFault> {
    read(source, |text| match number(text)? {
        below if below < 0.0 => Err(format!("{text} is below 0")),
        fine => Ok(fine),
    })
}

fn read<T>(source: &Source, parse: impl Fn(&str) -> Result<T, String>) -> Result<Vec<Vec<T>>, SeasonFault> {
    let rows = if source.is_json() { from_json(source)? } else { records(source)? };
    let Some(first) = rows.first() else { return Err(source.fault_of_all("the file is empty")) };
    for row in &rows {
        if row.len() != first.len() {
            let at = row.first().map_or(source.at(0), |cell| cell.at);
            return Err(source.fault(at, format!("{} numbers, but the first row has {}", row.len(), first.len())));
        }
    }
    let of = |cell: &Cell| parse(&cell.text).map_err(|problem| source.fault(cell.at, problem));
    rows.iter().map(|row| row.iter().map(of).collect()).collect()
}

fn from_json(source: &Source) -> Result<Vec<Vec<Cell>>, SeasonFault> {
    let rows: Vec<Vec<&RawValue>> = serde_json::from_str(source.text()).map_err(|error| source.no_json(&error))?;
    rows.into_iter().map(|row| row.into_iter().map(|value| cell(source, value)).collect()).collect()
}
