//! Double counts: how many did both see?

use super::{Label, read, read_all};
use crate::voice::Voice;
use handset::HandsetError;
use handset::views::MatchingView;
use std::collections::BTreeSet;
use survey::ids::CheckId;
use survey::visit::Matched;

/// Plants that two phones looked at independently.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MatchScreen {
    /// Title.
    pub title: String,
    /// What is asked, and why.
    pub lead: String,
    /// Said where there is no such plant.
    pub none: Option<String>,
    /// A row each.
    pub pairs: Vec<MatchPair>,
}

/// A plant that was looked at twice.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MatchPair {
    /// "Plant 3".
    pub title: String,
    /// The two checks, for `match_checks`, `same_plant` and `different_plants`.
    pub checks: Vec<String>,
    /// One row for each stage that both counted.
    pub rows: Vec<MatchRow>,
    /// What keeps it from being matched.
    pub waits: Option<String>,
    /// "It was one plant".
    pub same: Label,
    /// "These were two plants".
    pub different: Label,
}

/// A stage that both counted.
#[derive(Debug, Clone, uniffi::Record)]
pub struct MatchRow {
    /// The stage.
    pub what: String,
    /// Its words.
    pub label: String,
    /// What each of the two counted, in words.
    pub counted: String,
    /// The most that both can have seen.
    pub most: u64,
    /// The numbers from 0 to the most, as people write them.
    pub numbers: Vec<String>,
    /// What was said so far.
    pub both: Option<u32>,
}

/// How many of a stage both saw.
#[derive(Debug, Clone, uniffi::Record)]
pub struct BothSaw {
    /// The stage.
    pub what: String,
    /// From 0 to the smaller count.
    pub both: u32,
}

impl MatchScreen {
    pub(crate) fn of(view: &MatchingView, voice: Voice) -> Self {
        let pairs = view.pairs.iter().map(|pair| MatchPair {
            title: voice.counted("phone.plant", pair.number.into()),
            checks: pair.checks.map(|check| check.to_string()).into(),
            rows: pair
                .rows
                .iter()
                .map(|row| MatchRow {
                    what: row.what.to_string(),
                    label: voice.what(&row.what),
                    counted: voice.say("phone.match-counted", &[("one", row.one.into()), ("other", row.other.into())]),
                    most: row.one.min(row.other),
                    numbers: (0..=row.one.min(row.other))
                        .map(|number| messages::integer(voice.language, number))
                        .collect(),
                    both: row.both,
                })
                .collect(),
            waits: pair.waits.as_ref().map(|why| voice.message(why)),
            same: Label::plain(voice.plain("phone.match-same")),
            different: Label::plain(voice.plain("phone.match-different")),
        });
        Self {
            title: voice.plain("phone.match"),
            lead: voice.plain("phone.match-lead"),
            none: view.pairs.is_empty().then(|| voice.plain("phone.match-none")),
            pairs: pairs.collect(),
        }
    }
}

impl BothSaw {
    pub(crate) fn read(checks: &[String], both: &[Self]) -> Result<Matched, HandsetError> {
        let ids: BTreeSet<CheckId> = read_all(checks)?;
        let ids: Vec<CheckId> = ids.into_iter().collect();
        let checks = <[CheckId; 2]>::try_from(ids).map_err(|_| HandsetError::not_here(&checks.join(", ")))?;
        let both = both.iter().map(|saw| Ok((read(&saw.what)?, saw.both)));
        Ok(Matched { checks, both: both.collect::<Result<_, HandsetError>>()? })
    }
}
