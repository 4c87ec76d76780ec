//! A report as plain text for a terminal.

use super::analysis::{Cell, Figure, SeasonReport, SiteReport};
use super::cell;
use messages::{Language, say, words};
use std::collections::BTreeSet;
use survey::stage::Stage;

/// One site's report. Each visit takes two lines: animals (and undecided things with a question mark), then the density.
pub fn text(report: &SiteReport, language: Language) -> String {
    let name = name(report, language);
    let mut lines = Vec::new();
    if report.seasons.is_empty() {
        lines.extend([plain(&name), say(language, "season.none", &[])]);
    }
    for season in &report.seasons {
        lines.extend(season_lines(&name, season, language));
        lines.push(String::new());
    }
    section(&mut lines, say(language, "season.notes", &[]), report.notes.iter().map(|note| note.say(language)));
    let findings = report.findings.iter().map(|(id, number)| format!("{number} × {id}"));
    section(&mut lines, say(language, "season.findings", &[]), findings);
    lines.join("\n") + "\n"
}

/// The site's name, or that it has none.
pub fn name(report: &SiteReport, language: Language) -> String {
    report.name.clone().unwrap_or_else(|| say(language, "sites.unnamed", &[]))
}

fn season_lines(name: &str, season: &SeasonReport, language: Language) -> Vec<String> {
    let unit = words::unit(language, season.unit);
    let mut lines = vec![
        format!(
            "{}, {}",
            plain(name),
            say(language, "season.heading", &[("year", season.year.to_string().into()), ("unit", unit.into())])
        ),
        say(language, season.heading.name(), &[]),
        String::new(),
    ];
    let mut rows = vec![
        [say(language, "season.date", &[]), say(language, "season.checked", &[])]
            .into_iter()
            .chain(season.stages.iter().map(|&stage| words::stage(language, stage)))
            .collect::<Vec<_>>(),
    ];
    for visit in &season.visits {
        let cells: Vec<Option<&Cell>> =
            season.stages.iter().map(|stage| visit.cells.iter().find(|cell| cell.stage == *stage)).collect();
        let counted =
            cells.iter().map(|cell| cell.map_or_else(|| "–".to_owned(), |cell| counts(cell.animals, cell.undecided)));
        rows.push(
            [visit.date.to_string(), cell::checked(language, visit.checked, season.unit)]
                .into_iter()
                .chain(counted)
                .collect(),
        );
        if season.effort_is_known() {
            let shown = cells.iter().map(|cell| cell.map_or_else(String::new, |cell| density(language, cell, season)));
            rows.push([String::new(), String::new()].into_iter().chain(shown).collect());
        }
    }
    let total = |stage: &Stage| {
        let total = season.totals.iter().find(|total| total.stage == *stage);
        total.map_or_else(String::new, |total| format!("{}{}", total.total.value, doubt(total.undecided)))
    };
    rows.push(row(language, "season.total-row", season.stages.iter().map(total)));
    let short =
        |said: cell::Said| [Some(said.value), said.interval].into_iter().flatten().collect::<Vec<_>>().join(" ");
    rows.push(row(
        language,
        "season.area-row",
        season.areas().iter().map(|area| short(cell::area(language, season, area))),
    ));
    rows.push(row(
        language,
        "season.undecided-row",
        season.undecided.iter().map(|figure| short(cell::share(language, figure))),
    ));
    lines.extend(aligned(&rows));
    lines.push(String::new());
    lines.extend(methods(season, language));
    lines
}

fn row(language: Language, id: &str, cells: impl Iterator<Item = String>) -> Vec<String> {
    [say(language, id, &[]), String::new()].into_iter().chain(cells).collect()
}

fn density(language: Language, cell: &Cell, season: &SeasonReport) -> String {
    let said = cell::density(language, cell, season.unit);
    match &cell.figure {
        Figure::Value(_) => [Some(said.value), said.interval].into_iter().flatten().collect::<Vec<_>>().join(" "),
        Figure::Refused(_) => "–".into(),
    }
}

fn counts(animals: u64, undecided: u64) -> String {
    format!("{animals}{}", doubt(undecided))
}

fn doubt(undecided: u64) -> String {
    if undecided == 0 { String::new() } else { format!(" +{undecided}?") }
}

/// Methods and assumptions of every figure shown, each once.
fn methods(season: &SeasonReport, language: Language) -> Vec<String> {
    let (mut methods, mut assumed) = (BTreeSet::new(), BTreeSet::new());
    for estimate in season.estimates() {
        methods.insert(estimate.method);
        assumed.extend(estimate.assumed.iter().copied());
    }
    let mut lines = Vec::new();
    let area =
        if season.effort_is_known() { format!("day-area.{}", season.unit.name()) } else { "day-area.sample".into() };
    let said = [
        format!("{}: {}", say(language, "season.area-row", &[]), say(language, &area, &[])),
        say(language, "season.level-95", &[]),
    ];
    let methods = methods.iter().map(|id| say(language, id.name(), &[]));
    section(&mut lines, say(language, "season.methods", &[]), methods.chain(said));
    section(&mut lines, say(language, "season.assumed", &[]), assumed.iter().map(|id| say(language, id.name(), &[])));
    lines
}

fn section(lines: &mut Vec<String>, heading: String, items: impl Iterator<Item = String>) {
    let items: Vec<String> = items.collect();
    if items.is_empty() {
        return;
    }
    lines.push(heading);
    lines.extend(items.into_iter().map(|item| format!("  - {}", plain(&item))));
}

/// Columns side by side: the first two to the left, numbers to the right.
fn aligned(rows: &[Vec<String>]) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max();
    let widths: Vec<usize> = (0..columns).map(|column| width(column).unwrap_or(0)).collect();
    rows.iter()
        .map(|row| {
            let cells = row.iter().zip(&widths).enumerate().map(|(column, (cell, &width))| {
                if column < 2 { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
            });
            cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
        })
        .collect()
}

/// Text without what would move a terminal's cursor, change its colours or turn its direction.
pub(super) fn plain(text: &str) -> String {
    text.chars()
        .map(|letter| {
            let steers = letter.is_control()
                || matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            if steers { '\u{fffd}' } else { letter }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_steer_the_terminal() {
        assert_eq!(plain("a\u{1b}[2Jb\u{202e}c\nd"), "a\u{fffd}[2Jb\u{fffd}c\u{fffd}d");
    }
}
