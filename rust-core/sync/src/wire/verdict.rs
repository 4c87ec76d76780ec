//! Verdicts: what the station or a coordinator says of an entry after accepting it.

use serde::{Deserialize, Serialize};
use survey::chain::{Hash, Seq};

/// One verdict. The latest on an entry holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Verdict {
    /// Number among the stream's verdicts, from 1.
    pub number: u64,
    /// Which entry.
    #[cfg_attr(feature = "openapi", schema(value_type = u64))]
    pub seq: Seq,
    /// Its hash.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub hash: Hash,
    /// What is said.
    #[serde(flatten)]
    pub ruling: Ruling,
}

/// What is said of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Ruling {
    /// Nothing to remark.
    Accepted,
    /// It counts, and looks odd.
    Findings {
        /// Message ids.
        messages: Vec<String>,
    },
    /// It is kept and does not count.
    Refused {
        /// Message id of the reason.
        reason: String,
    },
}

/// A page of verdicts, ascending by number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct VerdictPage {
    /// The verdicts, 200 at most.
    pub verdicts: Vec<Verdict>,
    /// Whether there are more behind them.
    pub more: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::samples::head;

    #[test]
    fn verdicts_as_they_are_sent() {
        let rulings = [
            Ruling::Accepted,
            Ruling::Findings { messages: vec!["implausible-count".into()] },
            Ruling::Refused { reason: "not-decodable".into() },
        ];
        let verdicts = (1..).zip(rulings).map(|(number, ruling)| Verdict {
            number,
            seq: head(number).seq,
            hash: head(number).hash,
            ruling,
        });
        let page = VerdictPage { verdicts: verdicts.collect(), more: true };
        insta::assert_json_snapshot!(page);
        let again: VerdictPage = serde_json::from_str(&serde_json::to_string(&page).unwrap()).unwrap();
        assert_eq!(again, page);
    }
}
