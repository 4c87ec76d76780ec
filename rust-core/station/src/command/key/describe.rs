//! Everything that a key knows, with its sources.

use super::super::{CommandError, Outcome, print_json, print_line};
use super::labels::Labels;
use serde::Serialize;
use stagekey::{Character, Key, Kind, Spread};
use std::collections::BTreeMap;

#[derive(Debug, Serialize)]
struct Described<'k> {
    key: &'k str,
    hash: String,
    species: &'k str,
    #[serde(skip_serializing_if = "Option::is_none")]
    invented: Option<&'k str>,
    threshold: f64,
    sources: &'k BTreeMap<String, String>,
    outcomes: Vec<OutcomeRow<'k>>,
    characters: Vec<CharacterRow<'k>>,
}

#[derive(Debug, Serialize)]
struct OutcomeRow<'k> {
    outcome: &'k str,
    label: String,
    counts_as: String,
    confused_with: Vec<&'k str>,
    looks_like: Vec<LikenessRow<'k>>,
}

#[derive(Debug, Serialize)]
struct LikenessRow<'k> {
    of: &'k str,
    deciding: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    none_deciding: Option<String>,
}

#[derive(Debug, Serialize)]
struct CharacterRow<'k> {
    character: &'k str,
    question: String,
    /// The group of characters that say nearly the same, and never say more than one together.
    group: &'k str,
    with: Vec<&'k str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    states: Vec<StateRow<'k>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<NumberRow<'k>>,
    looks: Vec<LookRow<'k>>,
}

#[derive(Debug, Serialize)]
struct StateRow<'k> {
    state: &'k str,
    label: String,
}

#[derive(Debug, Serialize)]
struct NumberRow<'k> {
    unit: &'static str,
    least: f64,
    most: f64,
    sizes: Vec<SizeRow<'k>>,
}

#[derive(Debug, Serialize)]
struct SizeRow<'k> {
    outcome: &'k str,
    size: SizeText,
    source: &'k str,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
enum SizeText {
    FromTo(f64, f64),
    About { middle: f64, spread: f64 },
    Broad,
}

#[derive(Debug, Serialize)]
struct LookRow<'k> {
    by: &'static str,
    seconds: f64,
    source: &'k str,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    slip: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    likelihoods: Vec<LikelihoodRow<'k>>,
}

#[derive(Debug, Serialize)]
struct LikelihoodRow<'k> {
    outcome: &'k str,
    /// In the order of the states.
    p: Vec<f64>,
    source: &'k str,
}

/// Prints what a key knows.
pub(super) fn describe(labels: &Labels<'_>, json: bool) -> Result<Outcome, CommandError> {
    let described = described(labels);
    if json {
        print_json(&described)?;
    } else {
        print_line(&lines(&described).join("\n"))?;
    }
    Ok(Outcome::Fine)
}

fn described<'k>(labels: &Labels<'k>) -> Described<'k> {
    let key = labels.key;
    Described {
        key: key.id(),
        hash: key.hash().to_string(),
        species: key.species(),
        invented: key.invented(),
        threshold: key.threshold(),
        sources: key.sources(),
        outcomes: key
            .outcomes()
            .iter()
            .map(|outcome| OutcomeRow {
                outcome: outcome.id.as_str(),
                label: labels.outcome(&outcome.id),
                counts_as: labels.counts_as(outcome.counts_as),
                confused_with: outcome.neighbours.iter().map(stagekey::OutcomeId::as_str).collect(),
                looks_like: outcome
                    .looks_like
                    .iter()
                    .map(|likeness| LikenessRow {
                        of: likeness.of.as_str(),
                        deciding: likeness.deciding.iter().map(|(own, state)| format!("{own}/{state}")).collect(),
                        none_deciding: likeness.none_deciding.as_ref().map(|(why, _)| labels.say(why, &[])),
                    })
                    .collect(),
            })
            .collect(),
        characters: key.characters().iter().map(|character| row(labels, key, character)).collect(),
    }
}

fn row<'k>(labels: &Labels<'k>, key: &'k Key, character: &'k Character) -> CharacterRow<'k> {
    let (group, members) = key.group_of(character);
    let others = members.into_iter().filter(|member| **member != character.id);
    CharacterRow {
        character: character.id.as_str(),
        question: labels.question(&character.id),
        group,
        with: others.map(stagekey::CharacterId::as_str).collect(),
        states: character
            .states()
            .iter()
            .map(|state| StateRow { state: state.id.as_str(), label: labels.state(&character.id, &state.id) })
            .collect(),
        number: number(key, character),
        looks: character
            .looks
            .iter()
            .map(|look| LookRow {
                by: look.means.name(),
                seconds: look.seconds,
                source: &look.source,
                error: look.reading().map(|reading| reading.error),
                slip: look.reading().map(|reading| reading.slip),
                likelihoods: key
                    .outcomes()
                    .iter()
                    .enumerate()
                    .filter_map(|(place, outcome)| {
                        let states = 0..character.states().len();
                        let cells: Option<Vec<_>> =
                            states.map(|state| character.likelihood(look.means, state, place)).collect();
                        let cells = cells.filter(|cells| !cells.is_empty())?;
                        let source = cells[0].1;
                        Some(LikelihoodRow {
                            outcome: outcome.id.as_str(),
                            p: cells.iter().map(|cell| cell.0).collect(),
                            source,
                        })
                    })
                    .collect(),
            })
            .collect(),
    }
}

fn number<'k>(key: &'k Key, character: &'k Character) -> Option<NumberRow<'k>> {
    let Kind::Number { unit, least, most, spreads } = &character.kind else { return None };
    let sizes = key.outcomes().iter().zip(spreads).map(|(outcome, (spread, source))| SizeRow {
        outcome: outcome.id.as_str(),
        size: match *spread {
            Spread::Growing { from, to } => SizeText::FromTo(from, to),
            Spread::About { middle, spread } => SizeText::About { middle, spread },
            Spread::Broad => SizeText::Broad,
        },
        source,
    });
    Some(NumberRow { unit: unit.symbol(), least: *least, most: *most, sizes: sizes.collect() })
}

/// The same to be read.
fn lines(described: &Described<'_>) -> Vec<String> {
    let mut lines = vec![format!("{} ({}), {}", described.species, described.key, described.hash)];
    lines.extend(described.invented.map(str::to_owned));
    for outcome in &described.outcomes {
        lines.push(format!("{}: {} [{}]", outcome.outcome, outcome.label, outcome.counts_as));
    }
    for character in &described.characters {
        lines.push(format!("\n{}  {}", character.character, character.question));
        if !character.with.is_empty() {
            lines.push(format!("  {}: {}", character.group, character.with.join(", ")));
        }
        for state in &character.states {
            lines.push(format!("  {}: {}", state.state, state.label));
        }
        if let Some(number) = &character.number {
            for size in &number.sizes {
                let text = match &size.size {
                    SizeText::FromTo(from, to) => format!("{from}..{to} {}", number.unit),
                    SizeText::About { middle, spread } => format!("~{middle} {} (×÷ e^{spread})", number.unit),
                    SizeText::Broad => "-".to_owned(),
                };
                lines.push(format!("    {}: {text}  [{}]", size.outcome, size.source));
            }
        }
        for look in &character.looks {
            lines.push(format!("  {}, {} s", look.by, look.seconds));
            for row in &look.likelihoods {
                let p: Vec<String> = row.p.iter().map(|p| format!("{p:.3}")).collect();
                lines.push(format!("    {}: {}  [{}]", row.outcome, p.join(" "), row.source));
            }
        }
    }
    lines.push(String::new());
    lines.extend(described.sources.iter().map(|(name, source)| format!("[{name}] {source}")));
    lines
}
