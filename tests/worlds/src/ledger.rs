//! The oracle's book: every entry that any phone made, read as plain JSON, and what they come to by rules of its own.
//!
//! It shares no code with the fold. Its rules: a count counts unless some take-back of it that is not itself taken back
//! names it; a take-back has to be of the same device, of the same scope and later in the order; of the reviews of a
//! count the latest that no other replaced says what it was instead; joins that were not taken back make groups.

use crate::trouble::Trouble;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Hash, Head, Link, StreamId};

/// Where an entry stands: stream, number, hash.
pub type Place = (StreamId, u64, Hash);

/// An entry as the book has it.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its id, as text.
    pub id: String,
    /// Hash of the entry before.
    pub previous: Hash,
    /// Its order among all.
    pub order: (i64, u64, StreamId, u64, Hash),
    /// Site and visit, as texts.
    pub scope: (Option<String>, Option<String>),
    /// Kind.
    pub kind: String,
    /// Payload.
    pub payload: Value,
    /// What it replaces.
    pub replaces: Vec<String>,
}

/// The book.
#[derive(Debug, Default)]
pub struct Ledger {
    /// Every entry by its place.
    pub lines: BTreeMap<Place, Line>,
}

/// A tally: what was counted, in which state, how many.
pub type Tally = BTreeMap<(String, String), u64>;

/// What the entries come to.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Expected {
    /// By visit (as scoped, joins not followed) and check: the tally; checks on which only other acts have effect too.
    pub checks: BTreeMap<(String, String), Tally>,
    /// By visit: acts with effect that stand for themselves, by kind.
    pub whole: BTreeMap<(String, String), u64>,
    /// Groups of visits of more than one.
    pub visit_groups: BTreeSet<BTreeSet<String>>,
    /// Groups of sites of more than one.
    pub site_groups: BTreeSet<BTreeSet<String>>,
}

impl Ledger {
    /// Writes an entry in.
    ///
    /// # Errors
    /// Bytes that are no JSON object of the known envelope.
    pub fn note(&mut self, link: &Link) -> Result<&Line, Trouble> {
        let place = (link.stream, link.seq.0, link.hash);
        let written = read(link).ok_or_else(|| Trouble::new(format!("an entry without an envelope at {place:?}")))?;
        Ok(self.lines.entry(place).or_insert(written))
    }

    /// Whether `end` lies behind `from` on one branch, or is the same; places that are in no book end the way.
    pub fn descends(&self, stream: StreamId, from: Head, end: Head) -> bool {
        let mut at = end;
        while at.seq > from.seq {
            let Some(line) = self.lines.get(&(stream, at.seq.0, at.hash)) else { return false };
            at = Head { seq: survey::chain::Seq(at.seq.0 - 1), hash: line.previous };
        }
        at == from
    }

    /// What the entries come to of which `there` says that they are there.
    pub fn expected(&self, there: impl Fn(&Place) -> bool) -> Expected {
        let mut lines: Vec<(&Place, &Line)> = self.lines.iter().filter(|(place, _)| there(place)).collect();
        lines.sort_by_key(|(_, line)| line.order);
        let with_effect = with_effect(&lines);
        let lines: Vec<&Line> =
            lines.into_iter().map(|(_, line)| line).filter(|line| with_effect.contains(&line.id)).collect();
        let mut expected = Expected::default();
        let reviews = reviews(&lines);
        for line in &lines {
            let visit = line.scope.1.clone().unwrap_or_default();
            let text = |name: &str| line.payload[name].as_str().unwrap_or_default().to_owned();
            match line.kind.as_str() {
                "counted" => {
                    let tally = expected.checks.entry((visit, text("check"))).or_default();
                    let state = line.payload["state"].as_str().unwrap_or("alive").to_owned();
                    match reviews.get(line.id.as_str()) {
                        None => {
                            let number = line.payload["number"].as_u64().unwrap_or(1);
                            *tally.entry((text("what"), state)).or_default() += number;
                        }
                        Some(instead) => {
                            for (what, number) in instead.as_object().into_iter().flatten() {
                                let number = number.as_u64().unwrap_or(0);
                                if number > 0 {
                                    *tally.entry((what.clone(), state.clone())).or_default() += number;
                                }
                            }
                        }
                    }
                }
                "plant-opened" | "plant-closed" | "plant-described" => {
                    expected.checks.entry((visit, text("check"))).or_default();
                }
                "adults-counted" | "pooled-check" | "matched" | "noted" | "photo-taken" if !visit.is_empty() => {
                    *expected.whole.entry((visit, line.kind.clone())).or_default() += 1;
                }
                "visits-joined" => merge(&mut expected.visit_groups, &line.payload["visits"]),
                "sites-joined" => merge(&mut expected.site_groups, &line.payload["sites"]),
                kind if !survey::entry::KINDS.contains(&kind) && !visit.is_empty() => {
                    *expected.whole.entry((visit, "newer".into())).or_default() += 1;
                }
                _ => {}
            }
        }
        expected
    }
}

/// Ids of the entries with effect. `lines` in order: whatever takes an entry back comes behind it.
fn with_effect(lines: &[(&Place, &Line)]) -> BTreeSet<String> {
    let by_id: BTreeMap<&str, (&Place, &Line)> =
        lines.iter().map(|&(place, line)| (line.id.as_str(), (place, line))).collect();
    let mut void: BTreeSet<&str> = BTreeSet::new();
    let mut out: BTreeSet<String> = BTreeSet::new();
    for &(place, line) in lines.iter().rev() {
        let target = match line.kind.as_str() {
            "taken-back" => line.payload["target"].as_str(),
            "reviewed" => line.payload["count"].as_str(),
            _ => None,
        };
        let taken = void.contains(line.id.as_str());
        let lawful = match target.and_then(|target| by_id.get(target)) {
            None => true,
            Some((other, target)) => {
                let own = line.kind != "taken-back" || other.0.device == place.0.device;
                own && target.order < line.order && target.scope == line.scope
            }
        };
        if taken || !lawful {
            continue;
        }
        out.insert(line.id.clone());
        if line.kind == "taken-back"
            && let Some(target) = target
        {
            void.insert(target);
        }
    }
    out
}

/// The review in force of each reviewed count.
fn reviews<'a>(lines: &[&'a Line]) -> BTreeMap<&'a str, &'a Value> {
    let all: Vec<&&Line> = lines.iter().filter(|line| line.kind == "reviewed").collect();
    let replaced: BTreeSet<&str> = all.iter().flat_map(|line| line.replaces.iter().map(String::as_str)).collect();
    let current = all.iter().filter(|line| !replaced.contains(line.id.as_str()));
    current.filter_map(|line| Some((line.payload["count"].as_str()?, &line.payload["instead"]))).collect()
}

fn merge(groups: &mut BTreeSet<BTreeSet<String>>, joined: &Value) {
    let mut group: BTreeSet<String> =
        joined.as_array().into_iter().flatten().filter_map(|id| id.as_str().map(str::to_owned)).collect();
    let touching: Vec<BTreeSet<String>> = groups.iter().filter(|other| !other.is_disjoint(&group)).cloned().collect();
    for other in touching {
        groups.remove(&other);
        group.extend(other);
    }
    groups.insert(group);
}

fn read(link: &Link) -> Option<Line> {
    let value: Value = serde_json::from_slice(&link.bytes).ok()?;
    let text = |value: &Value| value.as_str().map(str::to_owned);
    Some(Line {
        id: text(&value["id"])?,
        previous: link.previous,
        order: (value["hybrid"][0].as_i64()?, value["hybrid"][1].as_u64()?, link.stream, link.seq.0, link.hash),
        scope: (text(&value["scope"]["site"]), text(&value["scope"]["visit"])),
        kind: text(&value["kind"])?,
        payload: value["payload"].clone(),
        replaces: value["replaces"].as_array().into_iter().flatten().filter_map(text).collect(),
    })
}
