//! Sending to a station, and the requests that a shell performs for it.

use super::sites::waits;
use crate::voice::Voice;
use handset::sync::{Asker, Body, Class, HttpJob, Metered, Method, Outcome, Response, Token};
use handset::views::SyncView;

/// What was sent, what waits, and why.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SendingScreen {
    /// Title.
    pub title: String,
    /// The state in one line: "All sent", or what waits.
    pub headline: String,
    /// Further lines: the station, photos, notes, the last answer, why something waits.
    pub lines: Vec<String>,
    /// Whether this phone has joined a station.
    pub joined: bool,
    /// Whether everything is at the station, and it was asked.
    pub all_sent: bool,
    /// Milliseconds until `timer` is due; `None` where nothing is.
    pub wait_ms: Option<u64>,
}

/// How a sync is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Record)]
pub struct Wanted {
    /// Whether a person asked, not the system.
    pub by_person: bool,
    /// Whether the network costs by volume.
    pub metered: bool,
}

/// The shell's part of joining.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Joined {
    /// The token: the shell keeps it in its key store and sends it as `authorization: Bearer`.
    pub token: String,
    /// The screen.
    pub screen: SendingScreen,
}

/// A request for the shell's HTTP stack.
#[derive(Debug, Clone, uniffi::Record)]
pub struct HttpRequest {
    /// For `request_done`.
    pub id: u64,
    /// Whether it may be left to the system's background transfers.
    pub background: bool,
    /// GET, HEAD, POST or PUT.
    pub method: String,
    /// Path and query, to be put behind the station's address.
    pub path: String,
    /// Header fields without the token.
    pub headers: Vec<Header>,
    /// Whether `authorization: Bearer` with the token is added.
    pub with_token: bool,
    /// The body.
    pub body: RequestBody,
}

/// A header field.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Header {
    /// In lower case.
    pub name: String,
    /// The value.
    pub value: String,
}

/// The body of a request.
#[derive(Debug, Clone, uniffi::Enum)]
pub enum RequestBody {
    /// None.
    Nothing,
    /// These octets.
    Octets {
        /// All of it.
        octets: Vec<u8>,
    },
    /// A file below the handset's folder.
    File {
        /// Its name there.
        name: String,
    },
}

/// What came of a request.
#[derive(Debug, Clone, uniffi::Enum)]
pub enum RequestOutcome {
    /// An answer, the station's or not.
    Answered {
        /// As it came.
        answer: Answer,
    },
    /// None.
    Failed,
}

/// An answer.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Answer {
    /// Its status.
    pub status: u16,
    /// `Content-Type`, empty where there was none.
    pub content_type: String,
    /// `Retry-After`.
    pub retry_after: Option<String>,
    /// `Leafturn-Photo`.
    pub photo: Option<String>,
    /// The body, at most 2 MiB of it.
    pub body: Vec<u8>,
}

impl SendingScreen {
    pub(crate) fn of(sync: &SyncView, wait_ms: Option<u64>, voice: Voice) -> Self {
        let waiting: u64 = sync.streams.iter().map(|stream| stream.waits).sum();
        let left = waiting + sync.photos.waiting + sync.texts_waiting;
        let all_sent = sync.joined && left == 0 && sync.last_contact.is_some();
        let headline = if all_sent { voice.plain("phone.all-sent") } else { waits(sync, voice) };
        Self {
            title: voice.plain("phone.send"),
            headline,
            lines: lines(sync, voice),
            joined: sync.joined,
            all_sent,
            wait_ms,
        }
    }
}

impl From<HttpJob> for HttpRequest {
    fn from(job: HttpJob) -> Self {
        let method = match job.method {
            Method::Get => "GET",
            Method::Head => "HEAD",
            Method::Post => "POST",
            Method::Put => "PUT",
        };
        Self {
            id: job.id.0,
            background: job.class == Class::Bulk,
            method: method.into(),
            path: job.path,
            headers: job.headers.into_iter().map(|(name, value)| Header { name, value }).collect(),
            with_token: job.token == Token::Send,
            body: match job.body {
                Body::None => RequestBody::Nothing,
                Body::Octets(octets) => RequestBody::Octets { octets },
                Body::File(name) => RequestBody::File { name },
            },
        }
    }
}

impl From<RequestOutcome> for Outcome {
    fn from(outcome: RequestOutcome) -> Self {
        match outcome {
            RequestOutcome::Failed => Self::Failed,
            RequestOutcome::Answered { answer } => Self::Answered(Response {
                status: answer.status,
                content_type: answer.content_type,
                retry_after: answer.retry_after,
                photo: answer.photo,
                body: answer.body,
            }),
        }
    }
}

impl Wanted {
    pub(crate) const fn asker(self) -> Asker {
        if self.by_person { Asker::Person } else { Asker::Network }
    }

    pub(crate) const fn cost(self) -> Metered {
        if self.metered { Metered::Yes } else { Metered::No }
    }
}

fn lines(sync: &SyncView, voice: Voice) -> Vec<String> {
    let some = |number: u64, id: &str| (number > 0).then(|| voice.counted(id, number));
    let says = |yes: bool, id: &str| yes.then(|| voice.plain(id));
    let holes = sync.streams.iter().map(|stream| stream.holes).sum();
    let why = |problem: &String| voice.plain(&format!("problem.{problem}"));
    let refused =
        sync.join_refused.as_ref().map(|problem| voice.say("phone.join-refused", &[("why", why(problem).into())]));
    let answered = sync.last_contact.map(|at| voice.say("phone.last-contact", &[("date", voice.day(at).into())]));
    let never = (sync.joined && answered.is_none()).then(|| voice.plain("phone.never-contact"));
    let put_off = sync.put_off.iter().map(|problem| voice.say("phone.put-off", &[("why", why(problem).into())]));
    let first = [
        says(!sync.joined && refused.is_none(), "phone.not-joined"),
        refused,
        sync.station.as_ref().map(|name| voice.say("phone.station", &[("name", name.into())])),
        sync.certificate_refused.map(|why| voice.plain(why)),
        says(sync.needs_joining, "phone.join-again"),
        says(sync.update_needed, "phone.update-needed"),
        says(sync.streams.iter().any(|stream| stream.not_yours), "phone.not-yours"),
        says(sync.waiting_until_up_ms.is_some(), "phone.no-answer"),
        some(sync.photos.waiting, "phone.photos-wait"),
        some(sync.texts_waiting, "phone.texts-wait"),
        some(holes, "phone.holes"),
        answered,
        never,
    ];
    first.into_iter().flatten().chain(put_off).collect()
}
