//! Answers as tables for a person.

use super::describe::described;
use messages::{Language, decimal, knows, say, words};
use serde_json::{Map, Value};
use std::fmt::Write as _;
use survey::stage::What;

/// Labels are given as many characters as the longest of their neighbours needs, within these.
const NARROWEST: usize = 26;
const WIDEST: usize = 48;

/// Fields whose text a person wrote: it is shown as it is, whatever word it is.
const OWN_WORDS: [&str; 6] = ["reference", "compared", "stratum", "site", "date", "says"];

/// The label of a field in the reader's language; the field's own name where the catalogue has none, which a test
/// over all examples forbids.
pub(super) fn label(name: &str, language: Language) -> String {
    let id = format!("season-field.{}", name.replace('_', "-"));
    if knows(&id) { say(language, &id, &[]) } else { name.replace('_', " ") }
}

/// The answer as text: fields one under the other, lists as tables, then how it was made and what it takes for granted.
pub(super) fn table(value: &Value, topic: &str, language: Language) -> String {
    let order = described(topic).into_iter().flat_map(|own| &own.out).map(|field| field[0].as_str()).collect();
    let mut writer =
        Writer { language, order, text: String::new(), wide: NARROWEST, made: Vec::new(), assumed: Vec::new() };
    match value {
        Value::Object(fields) => writer.fields(fields, ""),
        other => writer.field("answer", other, ""),
    }
    writer.notes();
    writer.text
}

struct Writer<'o> {
    language: Language,
    /// Paths of fields in the order in which they are described, which is the one that reads well.
    order: Vec<&'o str>,
    text: String,
    /// Characters that labels are given.
    wide: usize,
    made: Vec<String>,
    assumed: Vec<String>,
}

impl Writer<'_> {
    fn fields(&mut self, fields: &Map<String, Value>, within: &str) {
        let outer = self.wide;
        let wide = |name: &String| label(name, self.language).chars().count();
        let shown = fields.keys().filter(|name| !matches!(name.as_str(), "assumed" | "method"));
        self.wide = shown.map(wide).max().unwrap_or(NARROWEST).clamp(NARROWEST, WIDEST);
        for name in self.sorted(fields.keys(), within) {
            self.field(name, &fields[name], within);
        }
        self.wide = outer;
    }

    fn sorted<'n>(&self, names: impl Iterator<Item = &'n String>, within: &str) -> Vec<&'n String> {
        let mut names: Vec<&String> = names.collect();
        let place = |name: &&String| {
            let path = format!("{within}{name}");
            self.order.iter().position(|own| *own == path).unwrap_or(usize::MAX)
        };
        names.sort_by_key(place);
        names
    }

    fn field(&mut self, name: &str, value: &Value, within: &str) {
        let depth = within.matches(['.', '[']).count();
        let indent = "  ".repeat(depth);
        let (label, wide) = (label(name, self.language), self.wide);
        match value {
            Value::String(id) if name == "method" => note(&mut self.made, id),
            Value::Array(ids) if name == "assumed" => {
                for id in ids.iter().filter_map(Value::as_str) {
                    note(&mut self.assumed, id);
                }
            }
            Value::Object(_) if self.as_cell(value).is_some() => {
                let text = self.as_cell(value).unwrap_or_default();
                self.keep_notes(value);
                let _ = writeln!(self.text, "{indent}{label:<wide$}  {text}");
            }
            Value::Object(fields) => {
                let _ = writeln!(self.text, "{indent}{label}");
                self.fields(fields, &format!("{within}{name}."));
            }
            Value::Array(values) if !values.is_empty() && values.iter().all(|value| self.as_cell(value).is_some()) => {
                let text: Vec<String> = values.iter().filter_map(|value| self.as_cell(value)).collect();
                self.keep_notes(value);
                let _ = writeln!(self.text, "{indent}{label:<wide$}  {}", text.join("; "));
            }
            Value::Array(rows) if rows.iter().any(Value::is_object) => {
                let _ = writeln!(self.text, "{indent}{label}");
                self.rows(rows, &format!("{within}{name}[]."), depth + 1);
            }
            Value::Array(rows) if rows.iter().any(Value::is_array) => {
                let _ = writeln!(self.text, "{indent}{label}");
                let cells: Vec<Vec<String>> = rows
                    .iter()
                    .map(|row| row.as_array().into_iter().flatten().map(|cell| self.scalar(cell)).collect())
                    .collect();
                self.grid(&cells, depth + 1);
            }
            Value::Array(values) => {
                let text: Vec<String> = values.iter().map(|value| self.inline_of(name, value)).collect();
                let _ = writeln!(self.text, "{indent}{label:<wide$}  {}", text.join("  "));
            }
            Value::Number(degrees) if matches!(name, "lat" | "lon") => {
                let text = self.degrees(degrees.as_f64().unwrap_or_default());
                let _ = writeln!(self.text, "{indent}{label:<wide$}  {text}");
            }
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {
                let text = self.inline_of(name, value);
                let _ = writeln!(self.text, "{indent}{label:<wide$}  {text}");
            }
        }
    }

    /// A field's value in one cell: a word of the program in the reader's language, a person's own as it is.
    fn inline_of(&self, name: &str, value: &Value) -> String {
        match value {
            Value::String(text) if !OWN_WORDS.contains(&name) => self.word(name, text),
            Value::String(text) => text.clone(),
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::Array(_) | Value::Object(_) => self.inline(value),
        }
    }

    fn word(&self, name: &str, text: &str) -> String {
        if knows(text) {
            return say(self.language, text, &[]);
        }
        if matches!(name, "stage" | "outcome" | "class" | "audits_of" | "outcomes") || text.contains('+') {
            if text == "none" {
                return say(self.language, "outcome.none", &[]);
            }
            if let Ok(what) = text.parse::<What>() {
                return words::what(self.language, &what);
            }
        }
        let ids = [format!("season-word.{text}"), format!("unit.{text}")];
        ids.iter().find(|id| knows(id)).map_or_else(|| text.to_owned(), |id| say(self.language, id, &[]))
    }

    /// Degrees of latitude and longitude to a decimetre.
    fn degrees(&self, degrees: f64) -> String {
        decimal(self.language, degrees, 6)
    }

    /// Objects as rows under the names of their fields.
    fn rows(&mut self, rows: &[Value], within: &str, depth: usize) {
        let mut names: Vec<&String> = Vec::new();
        for name in rows.iter().filter_map(Value::as_object).flat_map(Map::keys) {
            if !names.contains(&name) && !matches!(name.as_str(), "assumed" | "method") {
                names.push(name);
            }
        }
        let names = self.sorted(names.into_iter(), within);
        let heads = names.iter().map(|name| label(name, self.language)).collect();
        let cells = rows.iter().map(|row| {
            let cell = |name: &&String| match (name.as_str(), row.get(name.as_str())) {
                ("lat" | "lon", Some(Value::Number(degrees))) => self.degrees(degrees.as_f64().unwrap_or_default()),
                (name, Some(cell)) => self.inline_of(name, cell),
                (_, None) => String::new(),
            };
            names.iter().map(cell).collect()
        });
        let grid: Vec<Vec<String>> = std::iter::once(heads).chain(cells).collect();
        for row in rows {
            self.keep_notes(row);
        }
        self.grid(&grid, depth);
    }

    fn grid(&mut self, rows: &[Vec<String>], depth: usize) {
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let wide = |column: usize| {
            rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..columns).map(wide).collect();
        for row in rows {
            let cells: Vec<String> =
                row.iter().zip(&widths).map(|(cell, wide)| format!("{cell:<width$}", width = *wide)).collect();
            let _ = writeln!(self.text, "{}{}", "  ".repeat(depth), cells.join("  ").trim_end());
        }
    }

    /// Anything in one cell.
    fn inline(&self, value: &Value) -> String {
        if let Some(text) = self.as_cell(value) {
            return text;
        }
        match value {
            Value::Object(fields) => {
                if let (Some(lat), Some(lon)) = (fields.get("lat"), fields.get("lon")) {
                    let degrees = |value: &Value| self.degrees(value.as_f64().unwrap_or_default());
                    return format!("{} {}", degrees(lat), degrees(lon));
                }
                let parts: Vec<String> = fields
                    .iter()
                    .filter(|(name, _)| !matches!(name.as_str(), "assumed" | "method"))
                    .map(|(name, value)| format!("{} {}", label(name, self.language), self.inline_of(name, value)))
                    .collect();
                parts.join(", ")
            }
            Value::Array(values) => values.iter().map(|value| self.inline(value)).collect::<Vec<_>>().join(" "),
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => self.scalar(value),
        }
    }

    /// An estimate, an interval, a refusal, a date reached: what a person reads as one thing.
    fn as_cell(&self, value: &Value) -> Option<String> {
        let fields = value.as_object()?;
        if let Some(says) = fields.get("says") {
            return Some(format!("{}: {}", say(self.language, "season-answer.none", &[]), says.as_str()?));
        }
        if let (Some(number), Some(interval)) = (fields.get("value"), fields.get("interval")) {
            let mut text = self.scalar(number);
            if let Some(interval) = interval.as_object() {
                let _ = write!(text, " ({})", self.interval(interval)?);
            } else if let Some(error) = fields.get("standard_error").filter(|error| error.is_number()) {
                let _ = write!(text, " (± {})", self.scalar(error));
            }
            return Some(text);
        }
        if fields.contains_key("sides") {
            return self.interval(fields);
        }
        if fields.len() == 1 {
            let (name, inner) = fields.iter().next()?;
            let date = inner.get("date").map(|date| self.scalar(date));
            return match name.as_str() {
                "on" => date,
                "not-by" => Some(format!("> {}", date?)),
                "at" | "word" | "values-only" | "not-identified" => Some(self.inline_of(name, inner)),
                "estimated" => self.as_cell(inner),
                _ => None,
            };
        }
        None
    }

    fn interval(&self, interval: &Map<String, Value>) -> Option<String> {
        let level = interval.get("level")?.as_f64()? * 100.0;
        let (low, high) = (self.scalar(interval.get("low")?), self.scalar(interval.get("high")?));
        let level = self.number(level);
        Some(say(
            self.language,
            "season-answer.interval",
            &[("level", (&level).into()), ("low", (&low).into()), ("high", (&high).into())],
        ))
    }

    fn scalar(&self, value: &Value) -> String {
        match value {
            Value::Null => "–".to_owned(),
            Value::Bool(true) => say(self.language, "season-answer.yes", &[]),
            Value::Bool(false) => say(self.language, "season-answer.no", &[]),
            Value::Number(number) => match number.as_f64() {
                Some(number) => self.number(number),
                None => number.to_string(),
            },
            Value::String(id) if knows(id) => say(self.language, id, &[]),
            Value::String(text) => text.clone(),
            Value::Array(_) | Value::Object(_) => self.inline(value),
        }
    }

    /// Five figures, and no more decimals than that takes.
    fn number(&self, number: f64) -> String {
        if number.fract() == 0.0 && number.abs() < 1e12 {
            // Years and other numbers of four figures are not parted.
            return if number.abs() < 1e4 { format!("{number}") } else { decimal(self.language, number, 0) };
        }
        let size = number.abs();
        if (0.0..1e-4).contains(&number) {
            return format!("< {}", decimal(self.language, 1e-4, 4));
        }
        if !(1e-4..1e12).contains(&size) {
            return format!("{number:.4e}");
        }
        let decimals = (0..8).find(|&decimals| size * 10_f64.powi(decimals) >= 1e4).unwrap_or(8);
        let text = decimal(self.language, number, usize::try_from(decimals).unwrap_or(0));
        let mark = text.find([',', '.']);
        match mark {
            Some(mark) => {
                let kept = text.trim_end_matches('0').len().max(mark);
                text[..kept].trim_end_matches([',', '.']).to_owned()
            }
            None => text,
        }
    }

    fn keep_notes(&mut self, value: &Value) {
        match value {
            Value::Object(fields) => {
                for (name, value) in fields {
                    match value {
                        Value::String(id) if name == "method" => note(&mut self.made, id),
                        Value::Array(ids) if name == "assumed" => {
                            for id in ids.iter().filter_map(Value::as_str) {
                                note(&mut self.assumed, id);
                            }
                        }
                        other => self.keep_notes(other),
                    }
                }
            }
            Value::Array(values) => {
                for value in values {
                    self.keep_notes(value);
                }
            }
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
        }
    }

    fn notes(&mut self) {
        let parts = [
            ("season-answer.made", std::mem::take(&mut self.made)),
            ("season-answer.assumes", std::mem::take(&mut self.assumed)),
        ];
        for (head, ids) in parts.into_iter().filter(|(_, ids)| !ids.is_empty()) {
            let _ = writeln!(self.text, "\n{}", say(self.language, head, &[]));
            for id in ids {
                let _ = writeln!(self.text, "  - {}", say(self.language, &id, &[]));
            }
        }
    }
}

fn note(notes: &mut Vec<String>, id: &str) {
    if knows(id) && !notes.iter().any(|own| own == id) {
        notes.push(id.to_owned());
    }
}
