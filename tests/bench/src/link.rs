//! One connection of a phone to the station, kept alive.

use crate::Failure;
use std::time::Duration;
use sync::engine::{Job, Method, Response};
use sync::wire::content::PHOTO_HEADER;

/// No reply of the station is longer than this: 1 MiB of feed and some room.
const LONGEST_REPLY: u64 = 2 * 1024 * 1024;

/// One connection, kept alive.
#[derive(Debug)]
pub struct Link {
    agent: ureq::Agent,
    station: String,
    token: String,
}

impl Link {
    /// A connection to `http://ADDRESS` that shows this token.
    pub fn to(station: &str, token: String) -> Self {
        let config = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .max_idle_connections_per_host(1)
            .max_idle_age(Duration::from_mins(2))
            .timeout_global(Some(Duration::from_mins(2)))
            .build();
        Self { agent: config.into(), station: station.to_owned(), token }
    }

    /// Performs a job.
    ///
    /// # Errors
    /// Those of the network.
    pub fn perform(&self, job: &Job, body: Vec<u8>) -> Result<Response, Failure> {
        let headers: Vec<_> = job.headers.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        self.send(job.method, &job.path, &headers, body)
    }

    /// Sends a request.
    ///
    /// # Errors
    /// Those of the network.
    pub fn send(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: Vec<u8>,
    ) -> Result<Response, Failure> {
        let method = match method {
            Method::Get => "GET",
            Method::Head => "HEAD",
            Method::Post => "POST",
            Method::Put => "PUT",
        };
        let mut request = ureq::http::Request::builder()
            .method(method)
            .uri(format!("{}{path}", self.station))
            .header("authorization", format!("Bearer {}", self.token))
            .header("accept-encoding", "gzip");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        // A request that carries nothing says nothing of a length.
        let mut reply = match method {
            "GET" | "HEAD" => self.agent.run(request.body(())?)?,
            _ => self.agent.run(request.body(body)?)?,
        };
        let header = |name: &str| reply.headers().get(name).and_then(|value| value.to_str().ok()).map(str::to_owned);
        let (status, content_type) = (reply.status().as_u16(), header("content-type").unwrap_or_default());
        let (retry_after, photo) = (header("retry-after"), header(PHOTO_HEADER));
        let body = reply.body_mut().with_config().limit(LONGEST_REPLY).read_to_vec()?;
        Ok(Response { status, content_type, retry_after, photo, body })
    }
}
