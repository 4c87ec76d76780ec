//! What topics take and give.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::LazyLock;

/// A topic as `topics.toml` describes it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Described {
    /// In a line.
    pub(super) says: String,
    /// Fields of its file: name, type, unit, meaning.
    #[serde(default, rename = "in")]
    pub(super) takes: Vec<[String; 4]>,
    /// Fields of its JSON: path, type, unit, meaning.
    pub(super) out: Vec<[String; 4]>,
    /// Where its methods are from.
    pub(super) sources: Vec<String>,
    /// What it is asked in examples.
    pub(super) examples: Vec<Example>,
}

/// An example: options, and the text of the file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Example {
    /// Options, as they are typed; `FILE` and `FILE2` stand for files.
    pub(super) options: String,
    /// The file's text.
    #[serde(default)]
    pub(super) file: Option<String>,
    /// The second file's text.
    #[serde(default)]
    pub(super) second: Option<String>,
}

/// All topics, in the order in which the list gives them.
pub(super) const TOPICS: [&str; 26] = [
    "degree-days",
    "durations",
    "stage-dates",
    "laying-dates",
    "next-visit",
    "choose",
    "points",
    "walk",
    "how-many",
    "stop-line",
    "density",
    "aggregation",
    "presence",
    "passage",
    "survival",
    "egg-fate",
    "agreement",
    "correction",
    "double-count",
    "n-mixture",
    "compare",
    "trend",
    "mow",
    "sun",
    "heat",
    "ground",
];

static DESCRIBED: LazyLock<BTreeMap<String, Described>> = LazyLock::new(|| {
    // A test reads the same text, so a file that cannot be read never leaves the workspace.
    toml::from_str(include_str!("topics.toml")).expect("the topics are well-formed")
});

/// The topic of this name.
pub(super) fn described(topic: &str) -> Option<&'static Described> {
    DESCRIBED.get(topic)
}

/// All topics with a line each.
pub(super) fn list() -> String {
    let line = |topic: &&str| described(topic).map_or_else(String::new, |own| format!("{topic:<14} {}\n", own.says));
    TOPICS.iter().map(line).collect()
}

/// A topic's fields in and out, sources, and an example.
pub(super) fn describe(topic: &str) -> String {
    let Some(own) = described(topic) else { return String::new() };
    let mut text = format!("{topic}: {}\n", own.says);
    if !own.takes.is_empty() {
        text += "\nIn (CSV with these names in its first line, or JSON):\n";
        text += &fields(&own.takes);
    }
    text += "\nOut (--json):\n";
    text += &fields(&own.out);
    if own.out.iter().any(|field| field[1] == "estimate") {
        text += "  An estimate is {value, standard_error, interval {low, high, level, sides}, n, method, assumed};\n  \
                 interval and standard_error are null where the data carry none, and assumed says why.\n";
    }
    text += "\nSources:\n";
    for source in &own.sources {
        let _ = writeln!(text, "  {source}");
    }
    for example in &own.examples {
        let _ = writeln!(text, "\nExample: leafturn season {topic} {}", example.options);
        for (name, file) in [("FILE", &example.file), ("FILE2", &example.second)] {
            if let Some(file) = file {
                let _ = writeln!(text, "{name}:");
                for line in file.lines() {
                    let _ = writeln!(text, "  {line}");
                }
            }
        }
    }
    text
}

fn fields(fields: &[[String; 4]]) -> String {
    let wide = |column: usize| fields.iter().map(|field| field[column].chars().count()).max().unwrap_or(0);
    let (name, kind, unit) = (wide(0), wide(1), wide(2));
    let line = |field: &[String; 4]| {
        format!("  {:<name$}  {:<kind$}  {:<unit$}  {}\n", field[0], field[1], field[2], field[3])
    };
    fields.iter().map(line).collect()
}
