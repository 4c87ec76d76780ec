//! Joining a station, and sending to it.

use super::sending;
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{
    CertificateJudged, CertificateSeen, HttpRequest, JoinScreen, Joined, JoinedAt, RequestOutcome, SendingScreen,
    StationTrust, Wanted, read, read_refusal,
};
use handset::acts::Switch;
use handset::sync::JobId;

#[uniffi::export]
impl Leafturn {
    /// What was sent, and what waits.
    pub fn sending(&self) -> Result<SendingScreen, Failure> {
        self.held.act(sending)
    }

    /// Begins to join a station by the code of an invitation.
    pub fn join(&self, code: String) -> Result<Joined, Failure> {
        self.held.act(|handset, voice| {
            let token = handset.join(&code)?;
            Ok(Joined { token, screen: sending(handset, voice)? })
        })
    }

    /// Whether to offer joining, and its words.
    pub fn join_screen(&self) -> Result<JoinScreen, Failure> {
        self.held.act(|handset, voice| {
            let asks = handset.settings()?.on.contains(&Switch::AskToJoin);
            Ok(JoinScreen::of(handset.sync_status()?.joined, asks, voice))
        })
    }

    /// Joining is skipped: it is not offered at the start any more, and can be done at any time.
    pub fn skip_join(&self) -> Result<JoinScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.switch_off(Switch::AskToJoin)?;
            Ok(JoinScreen::of(handset.sync_status()?.joined, false, voice))
        })
    }

    /// Begins to join a station by the text of a scanned invitation. Its keys are kept for that station alone.
    pub fn join_scanned(&self, text: String) -> Result<JoinedAt, Failure> {
        self.held.act(|handset, voice| {
            let joining = handset.join_scanned(&text)?;
            Ok(JoinedAt::of(joining, sending(handset, voice)?))
        })
    }

    /// The keys by which the station's certificate is judged; `None` where none were scanned.
    pub fn trust(&self) -> Result<Option<StationTrust>, Failure> {
        self.held.act(|handset, _| Ok(handset.trust()?.map(StationTrust::from)))
    }

    /// Judges a certificate. The shell's TLS verifies the signature of the handshake in any case.
    pub fn judge_certificate(&self, seen: CertificateSeen) -> Result<CertificateJudged, Failure> {
        self.held.act(|handset, voice| {
            let judged = handset.judge_certificate(&seen.address, &seen.certificate, seen.chain())?;
            Ok(CertificateJudged::of(judged, voice))
        })
    }

    /// A connection was accepted with a certificate of this key; `next` is the header `leafturn-next-key` of the answer.
    pub fn connection_accepted(&self, key: String, next: Option<String>) -> Result<(), Failure> {
        self.held.act(|handset, _| handset.connection_accepted(read(&key)?, next.as_deref()))
    }

    /// A connection was broken off, since its certificate is not good. The request is reported as failed besides.
    pub fn connection_refused(&self, refusal: String) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.connection_refused(read_refusal(&refusal)?)?;
            sending(handset, voice)
        })
    }

    /// A sync is wanted.
    pub fn sync_wanted(&self, wanted: Wanted) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.sync_wanted(wanted.asker(), wanted.cost())?;
            sending(handset, voice)
        })
    }

    /// The next request to perform; `None` where there is none at the moment. It was stored before it is returned.
    pub fn next_request(&self) -> Result<Option<HttpRequest>, Failure> {
        self.held.act(|handset, _| Ok(handset.next_job()?.map(HttpRequest::from)))
    }

    /// A request ended. That of an unknown request is passed over.
    pub fn request_done(&self, id: u64, outcome: RequestOutcome) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.job_done(JobId(id), outcome.into())?;
            sending(handset, voice)
        })
    }

    /// There is no network.
    pub fn network_lost(&self) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.network_lost()?;
            sending(handset, voice)
        })
    }

    /// The time that the last screen named has passed.
    pub fn timer(&self) -> Result<SendingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.timer()?;
            sending(handset, voice)
        })
    }

    /// Writes all of this phone's journals into a file to hand over; returns what to say of it.
    pub fn export_to(&self, path: String) -> Result<String, Failure> {
        self.held.act(|handset, voice| Ok(voice.counted("phone.exported", handset.export_to(path)?.entries)))
    }
}
