//! Joining a station with a code.

use serde::{Deserialize, Serialize};
use survey::chain::Hash;
use survey::ids::{DeviceId, SiteId};

/// What a phone asks for. The same three values again, within the code's life, succeed again:
/// a lost answer spends nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Enrol {
    /// The code of the invitation, as typed.
    pub code: String,
    /// The phone.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub device: DeviceId,
    /// SHA-256 of the token that the phone made and keeps ([`Hash::plain`] over its octets as sent in the
    /// `Authorization: Bearer` field).
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub token_hash: Hash,
}

/// The phone has joined.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Enrolled {
    /// The phone.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub device: DeviceId,
    /// The sites whose feed it may pull.
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<String>))]
    pub sites: Vec<SiteId>,
    /// What the station calls itself, where it has a name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::samples::{head, site, stream};

    #[test]
    fn enrolment_as_it_is_sent() {
        insta::assert_json_snapshot!(Enrol {
            code: "BCD-FGHJK".into(),
            device: stream().device,
            token_hash: head(1).hash
        });
        insta::assert_json_snapshot!(Enrolled {
            device: stream().device,
            sites: vec![site()],
            station: Some("Invented County".into())
        });
    }
}
