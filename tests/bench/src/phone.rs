//! A phone reduced to what the station sees of it: framing and engine are those that phones carry; the journal lies in
//! memory and nothing is stored.

use crate::Failure;
use crate::figures::{ms, timed};
use crate::link::Link;
use crate::season::Season;
use std::time::Duration;
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::BootId;
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};
use sync::engine::{
    Asker, Engine, Event, Input, Job, JobId, Joined, Journal, Known, KnownStream, Life, Metered, Outcome, Parking, Work,
};
use sync::framing::{Encoding, encode_batch};
use sync::wire::push::Purpose;

/// A request that was made.
#[derive(Debug, Clone, Copy)]
pub struct Request {
    /// What for.
    pub what: &'static str,
    /// The answer's status.
    pub status: u16,
    /// Milliseconds until the answer was there.
    pub took_ms: f64,
    /// Octets of the request's body.
    pub sent: usize,
}

/// How a sync ended.
#[derive(Debug, Default)]
pub struct Synced {
    /// Every request.
    pub requests: Vec<Request>,
    /// What the station has acknowledged.
    pub acknowledged: Option<Head>,
    /// Entries that the station's feed brought.
    pub fed: usize,
    /// Whether the engine says that all is sent.
    pub all_sent: bool,
    /// What went wrong.
    pub errors: Vec<String>,
}

struct InMemory<'a>(&'a Season);

impl Journal for InMemory<'_> {
    fn hash_at(&self, stream: StreamId, seq: Seq) -> Option<Hash> {
        let at = usize::try_from(seq.0.checked_sub(1)?).ok()?;
        self.0.links.get(at).filter(|link| link.stream == stream).map(|link| link.hash)
    }
}

/// Syncs a season until the engine rests.
///
/// # Errors
/// Where a body cannot be made, which means that this program is wrong.
pub fn sync(season: &Season, link: &Link, seed: u64) -> Result<Synced, Failure> {
    let journal = InMemory(season);
    let head = season.links.last().map_or(Head::START, survey::chain::Link::head);
    let mut engine = Engine::new(known(season, head), seed);
    let mut synced = Synced::default();
    let mut up_ms = 0;
    engine.handle(Input::SyncWanted { by: Asker::Person, metered: Metered::No }, now(season, up_ms), &journal);
    loop {
        while let Some(event) = engine.next_event() {
            match event {
                Event::Acknowledged { head, .. } => synced.acknowledged = Some(head),
                Event::FeedPage(page) => synced.fed += page.items.len(),
                Event::AllSent => synced.all_sent = true,
                Event::SealAndStartEpoch { .. }
                | Event::Parked { .. }
                | Event::NeedsJoining
                | Event::AcknowledgedMovedBack { .. }
                | Event::HoleMade { .. }
                | Event::SetAside { .. } => synced.errors.push(format!("{event:?}")),
                _ => {}
            }
        }
        if let Some(job) = engine.next_job() {
            let (answer, took) = timed(|| Ok::<_, Failure>(link.perform(&job, body(season, &job)?)))?;
            up_ms += u64::try_from(took.as_millis())?;
            let outcome = match answer {
                Ok(response) => {
                    if !(200..300).contains(&response.status) {
                        let said = String::from_utf8_lossy(&response.body);
                        synced.errors.push(format!("{} {}: {said}", kind(job.work), response.status));
                    }
                    synced.requests.push(Request {
                        what: kind(job.work),
                        status: response.status,
                        took_ms: ms(took),
                        sent: body(season, &job)?.len(),
                    });
                    Outcome::Answered(response)
                }
                Err(error) => {
                    synced.errors.push(format!("{}: {error}", kind(job.work)));
                    Outcome::Failed
                }
            };
            engine.handle(Input::Outcome { job: job.id, outcome }, now(season, up_ms), &journal);
        } else if let Some(wake) = engine.next_wake().filter(|_| !synced.all_sent && synced.errors.len() < 5) {
            std::thread::sleep(Duration::from_millis(wake.saturating_sub(up_ms)));
            up_ms = up_ms.max(wake);
            engine.handle(Input::Timer, now(season, up_ms), &journal);
        } else {
            return Ok(synced);
        }
    }
}

fn known(season: &Season, head: Head) -> Known {
    let stream = KnownStream {
        id: season.stream,
        head,
        acknowledged: Head::START,
        life: Life::Current,
        parked: Parking::Free,
        holes: Vec::new(),
        verdicts: 0,
    };
    Known {
        app: "bench".into(),
        device: season.stream.device,
        joined: Joined::Yes,
        streams: vec![stream],
        cursors: Vec::new(),
        photos: Vec::new(),
        texts: Vec::new(),
        in_flight: Vec::new(),
        last_job: JobId(0),
    }
}

fn now(season: &Season, up_ms: u64) -> Now {
    let since_boot = SinceBoot { boot: BootId::from_octets(season.stream.device.octets()), ms: up_ms };
    Now { wall: UnixMs(1_790_000_000_000 + i64::try_from(up_ms).unwrap_or(0)), offset: OffsetMinutes(0), since_boot }
}

fn body(season: &Season, job: &Job) -> Result<Vec<u8>, Failure> {
    match job.work {
        Work::Hello => Ok(job.inline.clone().unwrap_or_default().into_bytes()),
        Work::Push { first, most, .. } => {
            let first = usize::try_from(first.0 - 1)?;
            let links = season.links.get(first..).unwrap_or_default();
            let batch = encode_batch(&links[..most.min(links.len())], Purpose::Entries, Encoding::Gzip);
            Ok(batch.ok_or("no batch of these entries")?.0)
        }
        Work::Feed { .. } | Work::Verdicts { .. } => Ok(Vec::new()),
        other => Err(format!("nothing here wants {other:?}").into()),
    }
}

const fn kind(work: Work) -> &'static str {
    match work {
        Work::Hello => "hello",
        Work::Push { .. } => "push",
        Work::Feed { .. } => "feed",
        Work::Verdicts { .. } => "verdicts",
        _ => "other",
    }
}
