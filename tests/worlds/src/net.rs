//! The network between phones and station, which does to requests and answers whatever networks do.

use crate::coverage::Coverage;
use crate::ledger::Ledger;
use crate::station::{Station, Wire};
use crate::step::below;
use crate::trouble::{Trouble, hold};
use handset::sync::{Outcome, Response};
use std::collections::BTreeMap;
use survey::chain::{Head, StreamId};
use sync::engine::Dice;
use sync::framing::{Encoding, decode_batch};
use sync::wire::content;
use sync::wire::hello::{Hello, HelloAnswer};
use sync::wire::problem::{Problem, ProblemType};
use sync::wire::push::Pushed;
use tokio::runtime::Runtime;

/// What the network does to one exchange.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// Nothing.
    Good,
    /// The request does not arrive.
    RequestLost,
    /// The answer does not arrive.
    AnswerLost,
    /// The request arrives twice.
    Repeated,
    /// The request arrives later, behind others.
    Late,
    /// The request is cut.
    RequestCut,
    /// The answer is cut.
    AnswerCut,
    /// A bit of the request is wrong.
    RequestFlipped,
    /// A bit of the answer is wrong.
    AnswerFlipped,
    /// A sign-in page with status 200.
    PortalPage,
    /// A redirect to one.
    PortalRedirect,
    /// 401 without our problem type.
    Portal401,
    /// 403 without our problem type.
    Portal403,
    /// 511 (RFC 6585 section 6).
    Portal511,
    /// 413 of a proxy.
    Proxy413,
    /// 413 of our own kind.
    Own413,
    /// 429 with `Retry-After`.
    TooMany429,
    /// 503 with `Retry-After`.
    Busy503,
    /// 500 of our own kind.
    Own500,
    /// A cache that does not look at the query answers with what it answered before.
    StaleAnswer,
}

/// All fates but the good one, with their names.
pub const MISHAPS: &[(Fate, &str)] = &[
    (Fate::RequestLost, "net: request lost"),
    (Fate::AnswerLost, "net: answer lost"),
    (Fate::Repeated, "net: request repeated"),
    (Fate::Late, "net: request late, behind others"),
    (Fate::RequestCut, "net: request cut"),
    (Fate::AnswerCut, "net: answer cut"),
    (Fate::RequestFlipped, "net: bit flipped in request"),
    (Fate::AnswerFlipped, "net: bit flipped in answer"),
    (Fate::PortalPage, "net: portal page with 200"),
    (Fate::PortalRedirect, "net: portal redirect 302"),
    (Fate::Portal401, "net: foreign 401"),
    (Fate::Portal403, "net: foreign 403"),
    (Fate::Portal511, "net: 511"),
    (Fate::Proxy413, "net: foreign 413"),
    (Fate::Own413, "net: our 413"),
    (Fate::TooMany429, "net: 429 with Retry-After"),
    (Fate::Busy503, "net: 503 with Retry-After"),
    (Fate::Own500, "net: our 500"),
    (Fate::StaleAnswer, "net: answer out of a cache"),
];

/// How the network is today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sky {
    /// Good.
    Clear,
    /// Of so many exchanges in ten something happens to, each time something else.
    Mixed(u64),
    /// The same happens to every exchange but one in five.
    Only(Fate),
}

/// What the network remembers.
#[derive(Debug, Default)]
pub struct Net {
    late: Vec<Wire>,
    cache: BTreeMap<String, Response>,
}

impl Sky {
    /// Draws one.
    pub fn draw(dice: &mut Dice) -> Self {
        match below(dice, 4) {
            0 => Self::Only(MISHAPS[usize::try_from(below(dice, MISHAPS.len() as u64)).unwrap_or(0)].0),
            _ => Self::Mixed(1 + below(dice, 6)),
        }
    }

    fn fate(self, dice: &mut Dice) -> Fate {
        let any = |dice: &mut Dice| MISHAPS[usize::try_from(below(dice, MISHAPS.len() as u64)).unwrap_or(0)].0;
        match self {
            Self::Mixed(rate) if below(dice, 10) < rate => any(dice),
            Self::Only(fate) if below(dice, 5) > 0 => fate,
            Self::Clear | Self::Mixed(_) | Self::Only(_) => Fate::Good,
        }
    }
}

/// What an exchange needs around it.
pub struct Around<'a> {
    /// The station.
    pub station: &'a mut Station,
    /// The runtime that its handlers run on.
    pub runtime: &'a Runtime,
    /// The book, to check answers against.
    pub ledger: &'a Ledger,
    /// What occurred.
    pub coverage: &'a mut Coverage,
}

impl Net {
    /// Carries one request over.
    ///
    /// # Errors
    /// The station said what it must not say.
    pub fn carry(
        &mut self,
        around: &mut Around<'_>,
        wire: Wire,
        sky: Sky,
        dice: &mut Dice,
    ) -> Result<Outcome, Trouble> {
        if !self.late.is_empty() && below(dice, 3) == 0 {
            let at = usize::try_from(below(dice, self.late.len() as u64)).unwrap_or(0);
            let late = self.late.swap_remove(at);
            ask(around, &late)?;
        }
        // A cache on the way answers for a feed more often than anything else goes wrong: only pages can be mixed up.
        let mixed_up = sky != Sky::Clear && self.cache.contains_key(&key(&wire)) && below(dice, 4) == 0;
        let fate = if mixed_up { Fate::StaleAnswer } else { sky.fate(dice) };
        if let Some((_, name)) = MISHAPS.iter().find(|(one, _)| *one == fate) {
            around.coverage.saw(name);
        }
        Ok(match fate {
            Fate::Good => Outcome::Answered(self.asked(around, &wire)?),
            Fate::RequestLost => Outcome::Failed,
            Fate::AnswerLost => {
                self.asked(around, &wire)?;
                Outcome::Failed
            }
            Fate::Repeated => {
                ask(around, &wire)?;
                Outcome::Answered(self.asked(around, &wire)?)
            }
            Fate::Late => {
                self.late.push(wire);
                Outcome::Failed
            }
            Fate::RequestCut => {
                let left = usize::try_from(below(dice, wire.body.len() as u64 + 1)).unwrap_or(0);
                let body = wire.body[..left].to_vec();
                Outcome::Answered(ask_altered(around, &Wire { body, ..wire })?)
            }
            Fate::RequestFlipped => {
                let mut body = wire.body.clone();
                flip(&mut body, dice);
                Outcome::Answered(ask_altered(around, &Wire { body, ..wire })?)
            }
            Fate::AnswerCut => {
                let mut answer = self.asked(around, &wire)?;
                answer.body.truncate(usize::try_from(below(dice, answer.body.len() as u64 + 1)).unwrap_or(0));
                Outcome::Answered(answer)
            }
            Fate::AnswerFlipped => {
                let mut answer = self.asked(around, &wire)?;
                // Only what carries hashes is safe against a flipped bit; JSON is left to the transport's checks.
                if content::is(&answer.content_type, content::FEED) {
                    flip(&mut answer.body, dice);
                }
                Outcome::Answered(answer)
            }
            Fate::StaleAnswer => match self.cache.get(&key(&wire)).filter(|_| wire.method == "GET") {
                Some(stale) => Outcome::Answered(stale.clone()),
                None => Outcome::Answered(self.asked(around, &wire)?),
            },
            Fate::PortalPage => foreign(200, None),
            Fate::PortalRedirect => foreign(302, None),
            Fate::Portal401 => foreign(401, None),
            Fate::Portal403 => foreign(403, None),
            Fate::Portal511 => foreign(511, None),
            Fate::Proxy413 => foreign(413, None),
            Fate::Own413 => own(&Problem::new(ProblemType::TooLarge)),
            Fate::TooMany429 => own(&Problem::new(ProblemType::SlowDown).retry_after(30)),
            Fate::Busy503 => foreign(503, Some("20")),
            Fate::Own500 => own(&Problem::new(ProblemType::Internal)),
        })
    }

    fn asked(&mut self, around: &mut Around<'_>, wire: &Wire) -> Result<Response, Trouble> {
        let answer = ask(around, wire)?;
        if wire.method == "GET" && (200..300).contains(&answer.status) {
            self.cache.insert(key(wire), answer.clone());
        }
        Ok(answer)
    }
}

fn key(wire: &Wire) -> String {
    wire.path.split('?').next().unwrap_or_default().to_owned()
}

/// Asks the station and checks what it says against the book.
fn ask(around: &mut Around<'_>, wire: &Wire) -> Result<Response, Trouble> {
    let answer = around.station.call(around.runtime, wire)?;
    hold!(answer.status != 500, "the station failed inside at {} {}", wire.method, wire.path);
    if (200..300).contains(&answer.status) {
        check_push(around.ledger, wire, &answer)?;
        check_hello(around.ledger, wire, &answer)?;
    }
    Ok(answer)
}

/// Asks with a request that was altered on its way: it may say anything, but it must not fail inside.
fn ask_altered(around: &mut Around<'_>, wire: &Wire) -> Result<Response, Trouble> {
    let answer = around.station.call(around.runtime, wire)?;
    hold!(answer.status != 500, "the station failed inside at an altered {} {}", wire.method, wire.path);
    Ok(answer)
}

/// A batch is acknowledged on its own branch, whole.
fn check_push(ledger: &Ledger, wire: &Wire, answer: &Response) -> Result<(), Trouble> {
    let Some(stream) = stream_of(&wire.path).filter(|_| wire.method == "POST") else { return Ok(()) };
    let Ok(batch) = decode_batch(stream, &wire.body[..], Encoding::Gzip) else { return Ok(()) };
    let Ok(pushed) = serde_json::from_slice::<Pushed>(&answer.body) else {
        return Err(Trouble::new("an answer to a batch without its shape"));
    };
    let right = ledger.descends(stream, batch.after, pushed.held);
    hold!(right, "a batch up to {:?} of {stream:?} was acknowledged as {:?}", batch.after, pushed.held);
    Ok(())
}

/// What both sides hold is something that the phone named, and the end named with it lies behind it.
fn check_hello(ledger: &Ledger, wire: &Wire, answer: &Response) -> Result<(), Trouble> {
    if wire.path != sync::wire::paths::HELLO {
        return Ok(());
    }
    let (Ok(hello), Ok(said)) =
        (serde_json::from_slice::<Hello>(&wire.body), serde_json::from_slice::<HelloAnswer>(&answer.body))
    else {
        return Err(Trouble::new("a hello or its answer without its shape"));
    };
    for (end, held) in hello.streams.iter().zip(&said.streams) {
        let stream = end.stream();
        let marks = || end.marks.iter().copied().chain([end.head(), Head::START]);
        let common = held.common;
        hold!(held.stream() == stream, "hello about {stream:?} answered about {:?}", held.stream());
        hold!(marks().any(|mark| mark == common), "{common:?} of {stream:?} is none of the phone's marks");
        let behind = common == Head::START || ledger.descends(stream, common, held.head());
        hold!(behind, "{:?} of {stream:?} does not lie behind {common:?}", held.head());
    }
    Ok(())
}

fn stream_of(path: &str) -> Option<StreamId> {
    let mut parts = path.strip_prefix("/v1/streams/")?.split('/');
    let (device, epoch) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    (parts.next() == Some("entries")).then_some(StreamId { device, epoch })
}

fn flip(octets: &mut [u8], dice: &mut Dice) {
    if octets.is_empty() {
        return;
    }
    let at = usize::try_from(below(dice, octets.len() as u64)).unwrap_or(0);
    octets[at] ^= 1 << below(dice, 8);
}

fn foreign(status: u16, retry_after: Option<&str>) -> Outcome {
    Outcome::Answered(Response {
        status,
        content_type: "text/html; charset=utf-8".into(),
        retry_after: retry_after.map(str::to_owned),
        body: b"<html><title>Sign in</title></html>".to_vec(),
        ..Response::default()
    })
}

fn own(problem: &Problem) -> Outcome {
    Outcome::Answered(Response {
        status: problem.status,
        content_type: content::PROBLEM.into(),
        retry_after: problem.retry_after.map(|seconds| seconds.to_string()),
        body: serde_json::to_vec(problem).unwrap_or_default(),
        ..Response::default()
    })
}
