//! Joining a station, and sending to it.

use super::sending;
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{HttpRequest, Joined, RequestOutcome, SendingScreen, Wanted};
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
