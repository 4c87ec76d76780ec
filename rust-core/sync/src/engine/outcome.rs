//! What an answer means. Only the station's own words count: its content type and its shape.

use super::job::Work;
use super::pause::asked_ms;
use super::talk::{Outcome, Response};
use crate::framing::{Encoding, FeedPage, decode_feed};
use crate::wire::content;
use crate::wire::enrol::Enrolled;
use crate::wire::hello::HelloAnswer;
use crate::wire::photo::PhotoState;
use crate::wire::problem::{Problem, ProblemType};
use crate::wire::push::Pushed;
use crate::wire::text::TextStored;
use crate::wire::verdict::VerdictPage;
use serde::de::DeserializeOwned;

/// What an outcome means.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Said {
    /// Done.
    Done(Done),
    /// Not done, and the station says why.
    Problem(Problem),
    /// The station, or something before it, has trouble; it may have asked to wait so many milliseconds.
    Trouble(Option<u64>),
    /// No answer, or none of the station's.
    Nothing,
}

/// The shape of a success.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Done {
    Enrolled(Enrolled),
    Hello(HelloAnswer),
    Pushed(Pushed),
    Feed(FeedPage),
    Verdicts(VerdictPage),
    Text(TextStored),
    Photo(PhotoState),
}

/// What this outcome of this work means.
pub(super) fn said(work: &Work, outcome: &Outcome) -> Said {
    let Outcome::Answered(response) = outcome else { return Said::Nothing };
    match response.status {
        200..=299 if content::is(&response.content_type, work.expects()) => {
            done(work, response).map_or(Said::Nothing, Said::Done)
        }
        // A timeout may be any server's on the way, whoever words it.
        408 => Said::Trouble(None),
        400..=499 => problem(work, response).map_or(Said::Nothing, Said::Problem),
        500..=599 => trouble(work, response),
        _ => Said::Nothing,
    }
}

fn trouble(work: &Work, response: &Response) -> Said {
    let asked = response.retry_after.as_deref().and_then(asked_ms);
    match problem(work, response) {
        // A full quota lasts; it is no trouble of the moment.
        Some(problem) if problem.kind == ProblemType::Quota || problem.kind == ProblemType::Internal => {
            Said::Problem(problem)
        }
        Some(problem) => Said::Trouble(asked.or(problem_wait(&problem))),
        None => Said::Trouble(asked),
    }
}

/// The station's problem, with the longer of its two ways to say how long to wait. `None` where it is not ours.
fn problem(work: &Work, response: &Response) -> Option<Problem> {
    if !content::is(&response.content_type, content::PROBLEM) {
        return None;
    }
    let problem = match work {
        // The answer to HEAD has no body; the status has to do.
        Work::PhotoState { .. } => Problem::new(head_kind(response.status)?),
        _ => serde_json::from_slice::<Problem>(&response.body).ok()?,
    };
    if matches!(&problem.kind, ProblemType::Other(uri) if !uri.starts_with(crate::wire::problem::TYPE_PREFIX)) {
        return None;
    }
    let asked = response.retry_after.as_deref().and_then(asked_ms).and_then(|ms| u32::try_from(ms.div_ceil(1000)).ok());
    Some(Problem { retry_after: asked.max(problem.retry_after), ..problem })
}

/// How long a problem asks to wait, in milliseconds.
pub(super) fn problem_wait(problem: &Problem) -> Option<u64> {
    problem.retry_after.and_then(|seconds| asked_ms(&seconds.to_string()))
}

fn head_kind(status: u16) -> Option<ProblemType> {
    let kind = match status {
        401 => ProblemType::NotJoined,
        403 => ProblemType::StreamNotYours,
        404 | 409 => ProblemType::NotFound,
        426 => ProblemType::UpdateNeeded,
        429 => ProblemType::SlowDown,
        500 => ProblemType::Internal,
        503 => ProblemType::TryLater,
        _ => return None,
    };
    Some(kind)
}

fn done(work: &Work, response: &Response) -> Option<Done> {
    match *work {
        Work::Enrol => shape(response).map(Done::Enrolled),
        Work::Hello => shape(response).map(Done::Hello),
        Work::Push { .. } | Work::Hole { .. } | Work::Fill { .. } => shape(response).map(Done::Pushed),
        Work::Feed { after } => {
            let body = response.body.as_slice();
            decode_feed(after, body, Encoding::sniff(body)).ok().map(Done::Feed)
        }
        Work::Verdicts { after, .. } => shape(response).filter(|page| ascending(after, page)).map(Done::Verdicts),
        Work::Text { hash } => shape(response).filter(|stored: &TextStored| stored.hash == hash).map(Done::Text),
        Work::Part { .. } => shape(response).map(Done::Photo),
        Work::PhotoState { .. } => serde_json::from_str(response.photo.as_deref()?).ok().map(Done::Photo),
    }
}

fn shape<T: DeserializeOwned>(response: &Response) -> Option<T> {
    serde_json::from_slice(&response.body).ok()
}

fn ascending(after: u64, page: &VerdictPage) -> bool {
    std::iter::once(after).chain(page.verdicts.iter().map(|verdict| verdict.number)).is_sorted_by(|a, b| a < b)
}
