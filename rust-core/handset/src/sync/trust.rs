//! The keys of the station that were scanned, kept for the shells' TLS. The rule itself is [`::sync::trust`].

use crate::error::{Error, HandsetError, Why};
use crate::object::{Handset, set, setting};
use crate::views::SyncView;
use ::sync::trust::{Chain, Judgement, KeyHash, Refusal, Scanned, Trust, judge};
use serde::Serialize;

/// The station's keys, as [`Trust`] in JSON.
/// The setting of whom to trust.
pub(crate) const TRUST: &str = "station-trust";

/// What the shell keeps after a scan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Joining {
    /// Where the station is: what stands before the path of every job.
    pub address: String,
    /// The token, for the shell's key store.
    pub token: String,
}

impl Handset {
    /// Begins to join a station by a scanned invitation. The keys in it are kept for that station alone; those of another
    /// station are forgotten.
    ///
    /// # Errors
    /// `text-not-usable` for what is no invitation; storage.
    pub fn join_scanned(&mut self, text: &str) -> Result<Joining, HandsetError> {
        let scanned: Scanned = text.parse().map_err(|why: ::sync::trust::NotAnInvitation| Error::Refused {
            why: Why::TextNotUsable,
            about: why.to_string(),
        })?;
        let kept = kept(self)?.filter(|kept| kept.address == scanned.address);
        let fresh = scanned.pins.map(|pins| Trust { address: scanned.address.clone(), pins });
        keep(self, fresh.or(kept).as_ref())?;
        let token = self.join(&scanned.code)?;
        Ok(Joining { address: scanned.address, token })
    }

    /// By which keys a certificate of the station is judged, as it stands in every job.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn trust(&self) -> Result<Option<Trust>, HandsetError> {
        Ok(kept(self)?)
    }

    /// Whether a certificate that whoever answers at `address` presented is good, and the hash of its key for
    /// [`Handset::connection_accepted`]. `chain` is what the system's own check said.
    ///
    /// # Errors
    /// `not-here` for octets that are no certificate; storage.
    pub fn judge_certificate(
        &self,
        address: &str,
        certificate: &[u8],
        chain: Chain,
    ) -> Result<(Judgement, KeyHash), HandsetError> {
        let key = KeyHash::of_certificate(certificate).ok_or_else(|| Error::refused(Why::NotHere, "no certificate"))?;
        Ok((judge(kept(self)?.as_ref(), address, chain, key), key))
    }

    /// A connection to the station was accepted: with this key, and with this
    /// [`::sync::wire::content::NEXT_KEY_HEADER`] in the answer, if any. To be said after each answer that came over a
    /// certificate; this is how the next key is learnt and becomes the pin.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn connection_accepted(&mut self, key: KeyHash, next: Option<&str>) -> Result<(), HandsetError> {
        let Some(trust) = kept(self)? else { return Ok(()) };
        // A header that says something else is passed over: the present pin still holds.
        let next = next.and_then(|next| next.parse().ok());
        let Some(pins) = trust.seen(key, next) else { return Ok(()) };
        Ok(keep(self, Some(&Trust { pins, ..trust }))?)
    }

    /// A connection was broken off, since its certificate is not good. Report the job as failed besides.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn connection_refused(&mut self, why: Refusal) -> Result<SyncView, HandsetError> {
        self.sync.said.refused = Some(why);
        self.sync_status()
    }
}

/// The keys that were scanned.
pub(crate) fn kept(handset: &Handset) -> Result<Option<Trust>, Error> {
    let text: Option<String> = setting(&handset.db, TRUST)?;
    Ok(text.map(|text| serde_json::from_str(&text)).transpose()?)
}

fn keep(handset: &Handset, trust: Option<&Trust>) -> Result<(), Error> {
    if let Some(trust) = trust {
        return set(&handset.db, TRUST, serde_json::to_string(trust)?);
    }
    handset.db.execute("DELETE FROM setting WHERE name = ?1", [TRUST])?;
    Ok(())
}
