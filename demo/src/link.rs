//! The way from a phone to the station: performs the core's jobs over HTTP, well or badly.

use handset::sync::{Body, HttpJob, Method, Outcome, Response, Token};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, Uniform};
use std::io::Read;
use std::path::Path;
use std::time::Duration;
use sync::wire::content::PHOTO_HEADER;

/// What a shell does for the core: one request, one outcome.
pub trait Link {
    /// Performs a job. Files are named relative to `folder`.
    fn perform(&mut self, job: &HttpJob, token: Option<&str>, folder: &Path) -> Outcome;
}

/// A good connection.
#[derive(Debug)]
pub struct Wifi {
    agent: ureq::Agent,
    station: String,
}

/// A connection that loses requests, loses replies, sends twice and cuts short, as a seed says.
#[derive(Debug)]
pub struct BadLink {
    wifi: Wifi,
    chance: ChaCha8Rng,
    /// What it did so far.
    pub mishaps: Mishaps,
}

/// What a bad connection did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Mishaps {
    /// Requests that never arrived.
    pub lost_requests: u32,
    /// Requests that arrived, whose replies did not.
    pub lost_replies: u32,
    /// Requests that arrived twice.
    pub repeated: u32,
    /// Replies that were cut in half.
    pub cut_replies: u32,
}

/// No reply of the station is longer than this: 1 MiB of feed and some room.
const LONGEST_REPLY: u64 = 2 * 1024 * 1024;

impl Wifi {
    /// A connection to the station at this address, such as `http://127.0.0.1:8787`.
    pub fn to(station: &str) -> Self {
        let config = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .timeout_global(Some(Duration::from_secs(30)))
            .build();
        Self { agent: config.into(), station: station.to_owned() }
    }

    fn request(&self, job: &HttpJob, token: Option<&str>, folder: &Path) -> Result<Response, Failure> {
        let body = match &job.body {
            Body::None => Vec::new(),
            Body::Octets(octets) => octets.clone(),
            Body::File(name) => std::fs::read(folder.join(name))?,
        };
        let method = match job.method {
            Method::Get => "GET",
            Method::Head => "HEAD",
            Method::Post => "POST",
            Method::Put => "PUT",
        };
        let mut request = ureq::http::Request::builder().method(method).uri(format!("{}{}", self.station, job.path));
        for (name, value) in &job.headers {
            request = request.header(name, value);
        }
        if let (Token::Send, Some(token)) = (job.token, token) {
            request = request.header("authorization", format!("Bearer {token}"));
        }
        let mut reply = self.agent.run(request.body(body)?)?;
        let header = |name: &str| reply.headers().get(name).and_then(|value| value.to_str().ok()).map(str::to_owned);
        let (status, content_type) = (reply.status().as_u16(), header("content-type").unwrap_or_default());
        let (retry_after, photo) = (header("retry-after"), header(PHOTO_HEADER));
        let mut body = Vec::new();
        reply.body_mut().as_reader().take(LONGEST_REPLY).read_to_end(&mut body)?;
        Ok(Response { status, content_type, retry_after, photo, body })
    }
}

impl Link for Wifi {
    fn perform(&mut self, job: &HttpJob, token: Option<&str>, folder: &Path) -> Outcome {
        self.request(job, token, folder).map_or(Outcome::Failed, Outcome::Answered)
    }
}

impl BadLink {
    /// A bad connection to the station.
    pub fn to(station: &str, seed: u64) -> Self {
        Self { wifi: Wifi::to(station), chance: ChaCha8Rng::seed_from_u64(seed), mishaps: Mishaps::default() }
    }
}

impl Link for BadLink {
    fn perform(&mut self, job: &HttpJob, token: Option<&str>, folder: &Path) -> Outcome {
        let luck = Uniform::new(0_u8, 10).expect("a range").sample(&mut self.chance);
        match luck {
            0 | 1 => {
                self.mishaps.lost_requests += 1;
                Outcome::Failed
            }
            2 | 3 => {
                self.mishaps.lost_replies += 1;
                self.wifi.perform(job, token, folder);
                Outcome::Failed
            }
            4 | 5 => {
                self.mishaps.repeated += 1;
                self.wifi.perform(job, token, folder);
                self.wifi.perform(job, token, folder)
            }
            6 => match self.wifi.perform(job, token, folder) {
                Outcome::Answered(mut response) => {
                    self.mishaps.cut_replies += 1;
                    response.body.truncate(response.body.len() / 2);
                    Outcome::Answered(response)
                }
                Outcome::Failed => Outcome::Failed,
            },
            _ => self.wifi.perform(job, token, folder),
        }
    }
}

/// Why a request has no reply; all of them are the same to the core.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error(transparent)]
    Http(#[from] ureq::Error),
    #[error(transparent)]
    Request(#[from] ureq::http::Error),
    #[error(transparent)]
    File(#[from] std::io::Error),
}
