//! Whom a phone believes to be its station.

use super::SendingScreen;
use crate::voice::Voice;
use handset::HandsetError;
use handset::sync::{By, Chain, Joining, Judgement, KeyHash, Refusal, Trust};

/// What the shell keeps after a scan.
#[derive(Debug, Clone, uniffi::Record)]
pub struct JoinedAt {
    /// Where the station is: what stands before the path of every request.
    pub address: String,
    /// The token, for the shell's key store.
    pub token: String,
    /// The screen.
    pub screen: SendingScreen,
}

/// Joining a station: may be skipped, and repeated.
#[derive(Debug, Clone, uniffi::Record)]
pub struct JoinScreen {
    /// Title.
    pub title: String,
    /// That counting needs no station.
    pub lead: String,
    /// Label of the field for the address.
    pub address_label: String,
    /// Label of the field for the code of eight letters.
    pub code_label: String,
    /// Whether to ask at the start: not where it was skipped, or this phone has joined.
    pub ask: bool,
}

/// The keys that a private station's certificate is judged by.
#[derive(Debug, Clone, uniffi::Record)]
pub struct StationTrust {
    /// The station for which they hold: scheme, name and port.
    pub address: String,
    /// SHA-256 of the public key in use, 64 hexadecimal digits.
    pub pin: String,
    /// That of the next key.
    pub next: Option<String>,
}

/// A certificate that was presented.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CertificateSeen {
    /// The address that was connected to.
    pub address: String,
    /// The certificate in DER.
    pub certificate: Vec<u8>,
    /// Whether the system's own check found issuer, name and dates good.
    pub system_trusts: bool,
}

/// Whether to go on with a connection.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CertificateJudged {
    /// Go on; else break it off and send nothing.
    pub accept: bool,
    /// SHA-256 of its public key, for `connection_accepted`.
    pub key: String,
    /// What to say, where it is refused.
    pub why: Option<String>,
    /// For `connection_refused`, where it is refused: `not-pinned` or `other-key`.
    pub refusal: Option<String>,
}

const REFUSALS: [(&str, Refusal); 2] = [("not-pinned", Refusal::NotPinned), ("other-key", Refusal::OtherKey)];

impl JoinedAt {
    pub(crate) fn of(joining: Joining, screen: SendingScreen) -> Self {
        Self { address: joining.address, token: joining.token, screen }
    }
}

impl JoinScreen {
    pub(crate) fn of(joined: bool, asks: bool, voice: Voice) -> Self {
        Self {
            title: voice.plain("phone.join"),
            lead: voice.plain("phone.not-joined"),
            address_label: voice.plain("phone.address"),
            code_label: voice.plain("phone.code"),
            ask: asks && !joined,
        }
    }
}

impl From<Trust> for StationTrust {
    fn from(trust: Trust) -> Self {
        Self {
            address: trust.address,
            pin: trust.pins.pin.to_string(),
            next: trust.pins.next.map(|next| next.to_string()),
        }
    }
}

impl CertificateSeen {
    pub(crate) const fn chain(&self) -> Chain {
        if self.system_trusts { Chain::Public } else { Chain::Private }
    }
}

impl CertificateJudged {
    pub(crate) fn of((judgement, key): (Judgement, KeyHash), voice: Voice) -> Self {
        let refused = match judgement {
            Judgement::Accept(By::Chain | By::Pin | By::NextPin) => None,
            Judgement::Refuse(refusal) => Some(refusal),
        };
        let name = |refusal| REFUSALS.iter().find(|(_, own)| *own == refusal).map(|(name, _)| (*name).to_owned());
        Self {
            accept: refused.is_none(),
            key: key.to_string(),
            why: refused.map(|refusal| voice.plain(refusal.message())),
            refusal: refused.and_then(name),
        }
    }
}

/// The refusal of this name.
pub(crate) fn read_refusal(name: &str) -> Result<Refusal, HandsetError> {
    super::plant::named(&REFUSALS, name)
}
