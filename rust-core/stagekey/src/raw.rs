//! A key file as it is written, before it is checked. Spans give the line of a fault.

use crate::names::{CharacterId, Means, OutcomeId, StateId};
use crate::unit::Unit;
use serde::Deserialize;
use std::collections::BTreeMap;
use survey::stage::{AnimalState, Outcome};
use toml::Spanned;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawKey {
    pub(crate) format: Spanned<u32>,
    pub(crate) id: Spanned<String>,
    pub(crate) species: String,
    #[serde(default)]
    pub(crate) invented: Option<String>,
    pub(crate) threshold: Spanned<f64>,
    pub(crate) threshold_source: Spanned<String>,
    pub(crate) sources: BTreeMap<String, String>,
    #[serde(rename = "outcome")]
    pub(crate) outcomes: Vec<Spanned<RawOutcome>>,
    #[serde(default, rename = "group")]
    pub(crate) groups: Vec<Spanned<RawGroup>>,
    #[serde(rename = "character")]
    pub(crate) characters: Vec<Spanned<RawCharacter>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawOutcome {
    pub(crate) id: OutcomeId,
    pub(crate) counts_as: Outcome,
    #[serde(default)]
    pub(crate) animal_state: AnimalState,
    #[serde(default)]
    pub(crate) neighbours: Vec<OutcomeId>,
    #[serde(default)]
    pub(crate) looks_like: Vec<OutcomeId>,
    #[serde(default)]
    pub(crate) deciding: Vec<RawDeciding>,
    #[serde(default)]
    pub(crate) none_deciding: Vec<RawNoneDeciding>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawDeciding {
    pub(crate) character: CharacterId,
    pub(crate) state: StateId,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawNoneDeciding {
    pub(crate) against: OutcomeId,
    pub(crate) why: String,
    pub(crate) source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawGroup {
    pub(crate) id: String,
    #[serde(default)]
    pub(crate) weights: BTreeMap<CharacterId, f64>,
    #[serde(default)]
    pub(crate) joint: Option<RawJoint>,
    #[serde(default)]
    pub(crate) source: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawJoint {
    pub(crate) characters: Vec<CharacterId>,
    pub(crate) means: Means,
    pub(crate) rows: Vec<Spanned<RawRow>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawCharacter {
    pub(crate) id: CharacterId,
    #[serde(default)]
    pub(crate) states: Vec<StateId>,
    #[serde(default)]
    pub(crate) animal_states: BTreeMap<StateId, AnimalState>,
    #[serde(default)]
    pub(crate) number: Option<RawNumber>,
    #[serde(rename = "look")]
    pub(crate) looks: Vec<Spanned<RawLook>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawNumber {
    pub(crate) unit: Unit,
    pub(crate) least: f64,
    pub(crate) most: f64,
    pub(crate) sizes: Vec<Spanned<RawSize>>,
    #[serde(default)]
    pub(crate) dyar: Option<RawDyar>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawDyar {
    pub(crate) first: f64,
    pub(crate) ratio: f64,
    pub(crate) spread: f64,
    pub(crate) source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawSize {
    #[serde(rename = "for")]
    pub(crate) outcomes: Vec<OutcomeId>,
    #[serde(default)]
    pub(crate) from: Option<f64>,
    #[serde(default)]
    pub(crate) to: Option<f64>,
    #[serde(default)]
    pub(crate) about: Option<f64>,
    #[serde(default)]
    pub(crate) spread: Option<f64>,
    #[serde(default)]
    pub(crate) instar: Option<i32>,
    #[serde(default)]
    pub(crate) broad: Option<bool>,
    pub(crate) source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawLook {
    pub(crate) means: Means,
    pub(crate) seconds: f64,
    pub(crate) source: String,
    #[serde(default)]
    pub(crate) rows: Vec<Spanned<RawRow>>,
    #[serde(default)]
    pub(crate) error: Option<f64>,
    #[serde(default)]
    pub(crate) slip: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawRow {
    #[serde(rename = "for")]
    pub(crate) outcomes: Vec<OutcomeId>,
    pub(crate) p: Vec<f64>,
    pub(crate) source: String,
}
