//! Tables with named columns, from CSV or from a JSON array of objects.

use super::csv::{Cell, records};
use super::source::{At, Source};
use crate::command::season::fault::SeasonFault;
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::fmt::{Display, Write as _};
use survey::date::Date;

/// Which columns a form has.
#[derive(Debug, Clone, Copy)]
pub(in crate::command::season) struct Columns<'a> {
    /// Must be there.
    pub(in crate::command::season) needed: &'a [&'a str],
    /// May be there.
    pub(in crate::command::season) allowed: &'a [&'a str],
    /// Columns whose name begins so may be there, as many as there are.
    pub(in crate::command::season) beginning: Option<&'a str>,
}

/// Rows under named columns.
#[derive(Debug)]
pub(in crate::command::season) struct Table<'s> {
    source: &'s Source,
    names: Vec<Cell>,
    rows: Vec<Vec<Cell>>,
}

/// A row.
#[derive(Debug, Clone, Copy)]
pub(in crate::command::season) struct Row<'t> {
    source: &'t Source,
    names: &'t [Cell],
    cells: &'t [Cell],
}

impl<'s> Table<'s> {
    /// The table of a text.
    pub(in crate::command::season) fn read(source: &'s Source, columns: Columns<'_>) -> Result<Self, SeasonFault> {
        let (names, rows) = if source.is_json() { from_json(source)? } else { from_csv(source)? };
        let table = Self { source, names, rows };
        table.check(columns)?;
        Ok(table)
    }

    /// The names in a text's first line or objects, whatever they are.
    pub(in crate::command::season) fn names_of(source: &'s Source) -> Result<Vec<String>, SeasonFault> {
        let (names, _) = if source.is_json() { from_json(source)? } else { from_csv(source)? };
        Ok(names.into_iter().map(|name| name.text).collect())
    }

    /// Whether a column is there.
    pub(in crate::command::season) fn has(&self, name: &str) -> bool {
        self.names.iter().any(|own| own.text == name)
    }

    /// Names of its columns.
    pub(in crate::command::season) fn names(&self) -> impl Iterator<Item = &str> {
        self.names.iter().map(|name| name.text.as_str())
    }

    /// Its rows.
    pub(in crate::command::season) fn rows(&self) -> impl ExactSizeIterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { source: self.source, names: &self.names, cells })
    }

    /// Its text.
    pub(in crate::command::season) const fn source(&self) -> &Source {
        self.source
    }

    fn check(&self, columns: Columns<'_>) -> Result<(), SeasonFault> {
        for (index, name) in self.names.iter().enumerate() {
            let known = columns.needed.iter().chain(columns.allowed).any(|own| *own == name.text)
                || columns.beginning.is_some_and(|start| name.text.starts_with(start));
            if !known {
                return Err(self
                    .source
                    .fault(name.at, format!("there is no column {:?} here; {}", name.text, all(columns))));
            }
            if self.names[..index].iter().any(|other| other.text == name.text) {
                return Err(self.source.fault(name.at, format!("the column {:?} stands there twice", name.text)));
            }
        }
        for name in columns.needed {
            if !self.has(name) {
                return Err(self.source.fault_of_all(format!("the column {name:?} is missing; {}", all(columns))));
            }
        }
        if self.rows.is_empty() {
            return Err(self.source.fault_of_all("there is no row of data"));
        }
        Ok(())
    }
}

fn all(columns: Columns<'_>) -> String {
    let mut text = format!("needed: {}", columns.needed.join(", "));
    if !columns.allowed.is_empty() {
        let _ = write!(text, "; possible: {}", columns.allowed.join(", "));
    }
    if let Some(start) = columns.beginning {
        let _ = write!(text, "; and {start}…");
    }
    text
}

type Rows = (Vec<Cell>, Vec<Vec<Cell>>);

fn from_csv(source: &Source) -> Result<Rows, SeasonFault> {
    let mut records = records(source)?.into_iter();
    let names = records.next().ok_or_else(|| source.fault_of_all("the file is empty"))?;
    if names.len() == 1 && names[0].text.contains(';') {
        return Err(source.fault(names[0].at, "fields are parted by commas here, not by semicolons"));
    }
    let rows: Vec<_> = records.collect();
    for row in &rows {
        if row.len() != names.len() {
            let problem = format!("{} fields, but the first line names {}", row.len(), names.len());
            return Err(source.fault(row[0].at, problem));
        }
    }
    Ok((names, rows))
}

fn from_json(source: &Source) -> Result<Rows, SeasonFault> {
    let objects: Vec<BTreeMap<String, &RawValue>> =
        serde_json::from_str(source.text()).map_err(|error| source.no_json(&error))?;
    let mut names: Vec<Cell> = Vec::new();
    for (name, value) in objects.iter().flatten() {
        if !names.iter().any(|own| &own.text == name) {
            names.push(Cell { text: name.clone(), at: place(source, value) });
        }
    }
    if names.is_empty() {
        return Err(source.fault_of_all("there is no row of data"));
    }
    let mut after = At { line: 1, column: 1 };
    let rows = objects
        .iter()
        .map(|object| {
            if let Some(value) = object.values().next() {
                after = place(source, value);
            }
            names
                .iter()
                .map(|name| match object.get(&name.text) {
                    Some(value) => cell(source, value),
                    None => Ok(Cell { text: String::new(), at: after }),
                })
                .collect()
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok((names, rows))
}

/// A value's place, told by where its text lies in the source it was borrowed from.
pub(super) fn place(source: &Source, value: &RawValue) -> At {
    let (whole, part) = (source.text().as_ptr() as usize, value.get().as_ptr() as usize);
    source.at(part.saturating_sub(whole).min(source.text().len()))
}

/// A number or text as a cell; null is empty.
pub(super) fn cell(source: &Source, value: &RawValue) -> Result<Cell, SeasonFault> {
    let at = place(source, value);
    let text = match value.get().as_bytes().first() {
        Some(b'"') => serde_json::from_str(value.get()).map_err(|error| source.fault(at, error))?,
        Some(b'[' | b'{') => return Err(source.fault(at, "a number or a text stands here, no list and no object")),
        _ if value.get() == "null" => String::new(),
        _ => value.get().to_owned(),
    };
    Ok(Cell { text, at })
}

impl Row<'_> {
    /// What is wrong with a cell of this row.
    pub(in crate::command::season) fn fault(&self, name: &str, problem: impl Display) -> SeasonFault {
        let at = self.cell(name).map_or(self.cells[0].at, |cell| cell.at);
        self.source.fault(at, format!("{name}: {problem}"))
    }

    /// A cell's text; `None` where there is no such column or nothing in it.
    pub(in crate::command::season) fn text(&self, name: &str) -> Option<&str> {
        self.cell(name).map(|cell| cell.text.as_str()).filter(|text| !text.is_empty())
    }

    /// A cell that must hold something.
    pub(in crate::command::season) fn needed(&self, name: &str) -> Result<&str, SeasonFault> {
        self.text(name).ok_or_else(|| self.fault(name, "nothing stands here"))
    }

    /// A finite number.
    pub(in crate::command::season) fn number(&self, name: &str) -> Result<f64, SeasonFault> {
        number(self.needed(name)?).map_err(|problem| self.fault(name, problem))
    }

    /// A finite number, where one stands there.
    pub(in crate::command::season) fn number_if(&self, name: &str) -> Result<Option<f64>, SeasonFault> {
        self.text(name).map(|_| self.number(name)).transpose()
    }

    /// A whole number of 0 or more.
    pub(in crate::command::season) fn count(&self, name: &str) -> Result<u32, SeasonFault> {
        count(self.needed(name)?).map_err(|problem| self.fault(name, problem))
    }

    /// A whole number of 0 or more, where one stands there.
    pub(in crate::command::season) fn count_if(&self, name: &str) -> Result<Option<u32>, SeasonFault> {
        self.text(name).map(|_| self.count(name)).transpose()
    }

    /// A date.
    pub(in crate::command::season) fn date(&self, name: &str) -> Result<Date, SeasonFault> {
        Date::try_from(self.needed(name)?.to_owned()).map_err(|problem| self.fault(name, problem))
    }

    fn cell(&self, name: &str) -> Option<&Cell> {
        let index = self.names.iter().position(|own| own.text == name)?;
        self.cells.get(index)
    }
}

/// A finite number.
pub(super) fn number(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) => Err(format!("{text} is no finite number")),
        Err(_) => Err(format!("{text:?} is no number")),
    }
}

/// A whole number of 0 or more.
pub(super) fn count(text: &str) -> Result<u32, String> {
    if let Ok(count) = text.parse::<u32>() {
        return Ok(count);
    }
    let number = number(text)?;
    Err(if number < 0.0 {
        format!("{text} is below 0, and a count is not")
    } else if number.fract() != 0.0 {
        format!("{text} is not whole, and a count is")
    } else {
        format!("{text} is written like no count, or too large for one")
    })
}
