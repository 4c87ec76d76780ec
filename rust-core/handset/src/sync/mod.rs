//! Sync on the phone: the engine with the database behind it, jobs for the shell's HTTP stack, and the export.

mod bodies;
mod export;
mod known;
mod store;
mod trust;

pub use ::sync::engine::{Asker, Class, JobId, Metered, Method, Outcome, Response};
pub use ::sync::trust::{By, Chain, Judgement, KeyHash, Pins, Refusal, Trust, judge};
pub use bodies::{Body, HttpJob, Token};
pub use export::Exported;
pub use trust::Joining;
pub(crate) use trust::TRUST;

use crate::error::{Error, HandsetError};
use crate::object::{Handset, set, setting};
use crate::views::SyncView;
use ::sync::engine::{Engine, Event, Input, KnownPhoto, KnownText, NotMade};
use survey::chain::{Hash, Head};

/// The version that is sent in hello.
pub(crate) const APP: &str = env!("CARGO_PKG_VERSION");

/// What the engine was not told yet, and what it said last.
#[derive(Default)]
pub(crate) struct Sync {
    engine: Option<Engine>,
    told: Option<Head>,
    news: Vec<Input>,
    /// How a sync was wanted last; joining goes on with it.
    pub(crate) wanted: Option<(Asker, Metered)>,
    pub(crate) said: Said,
}

/// What the engine said that is shown and not stored.
#[derive(Debug, Clone, Default)]
pub(crate) struct Said {
    pub(crate) needs_joining: bool,
    pub(crate) update_needed: bool,
    pub(crate) join_refused: Option<String>,
    pub(crate) waiting_until: Option<u64>,
    pub(crate) refused: Option<Refusal>,
    pub(crate) set_aside: Vec<String>,
}

impl std::fmt::Debug for Sync {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sync").field("said", &self.said).finish_non_exhaustive()
    }
}

/// Settings of the sync.
pub(crate) const JOINED: &str = "joined";
pub(crate) const STATION: &str = "station";
pub(crate) const STATION_DEVICE: &str = "station-device";
pub(crate) const LAST_CONTACT: &str = "last-contact";
pub(crate) const STATION_AHEAD: &str = "station-ahead-ms";
pub(crate) const LAST_JOB: &str = "last-job";
pub(crate) const MEMBERSHIPS: &str = "memberships";
const ENROL_CODE: &str = "enrol-code";
const TOKEN_HASH: &str = "token-hash";

impl Handset {
    /// Begins to join a station by the code of an invitation. Returns the token: the shell keeps it in its key store
    /// and sends it as `authorization: Bearer`; the handset keeps only its hash. The job to send comes from
    /// [`Handset::next_job`] and is repeated until the station has said yes or no.
    ///
    /// # Errors
    /// `text-not-usable` for a code that is no text; storage.
    pub fn join(&mut self, code: &str) -> Result<String, HandsetError> {
        let code = crate::acts::code(code)?;
        let octets = [self.around.random.octets(), self.around.random.octets()].concat();
        let token = crate::acts::hex(&octets);
        let hash = Hash::plain(token.as_bytes());
        let stored = || -> Result<(), Error> {
            let transaction = self.db.unchecked_transaction()?;
            set(&transaction, ENROL_CODE, &code)?;
            set(&transaction, TOKEN_HASH, hash.0)?;
            Ok(transaction.commit()?)
        };
        stored()?;
        self.sync.said.join_refused = None;
        self.tell(Input::Enrol { code, token_hash: hash })?;
        Ok(token)
    }

    /// A sync is wanted: a person asked for it, or there is a network.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn sync_wanted(&mut self, by: Asker, metered: Metered) -> Result<SyncView, HandsetError> {
        self.sync.said = Said::default();
        self.sync.wanted = Some((by, metered));
        self.tell(Input::SyncWanted { by, metered })?;
        self.sync_status()
    }

    /// There is no network.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn network_lost(&mut self) -> Result<(), HandsetError> {
        Ok(self.tell(Input::NetworkLost)?)
    }

    /// The next request to perform; `None` where there is none at the moment. It was stored before it is returned.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn next_job(&mut self) -> Result<Option<HttpJob>, HandsetError> {
        self.tell_news()?;
        while let Some(job) = self.sync.engine.as_mut().and_then(Engine::next_job) {
            match bodies::make(self, &job)? {
                Ok(http) => {
                    let stored = store::job(&self.db, &job, &http);
                    self.or_forget_engine(stored)?;
                    return Ok(Some(http));
                }
                Err(why) => self.tell(Input::NotMade { job: job.id, why })?,
            }
        }
        Ok(None)
    }

    /// A request ended. An outcome of an unknown job is passed over.
    ///
    /// # Errors
    /// Those of the storage; the job then counts as not done and is done again.
    pub fn job_done(&mut self, job: JobId, outcome: Outcome) -> Result<SyncView, HandsetError> {
        self.tell(Input::Outcome { job, outcome })?;
        self.sync_status()
    }

    /// The time since boot in milliseconds at which [`Handset::timer`] is next due.
    pub fn next_wake(&self) -> Option<u64> {
        self.sync.engine.as_ref().and_then(Engine::next_wake)
    }

    /// In how many milliseconds [`Handset::timer`] is next due: for shells, whose clock since boot may be another one.
    pub fn next_wake_in(&self) -> Option<u64> {
        let now = self.around.clock.now().since_boot.ms;
        self.next_wake().map(|at| at.saturating_sub(now))
    }

    /// Time has passed.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn timer(&mut self) -> Result<(), HandsetError> {
        Ok(self.tell(Input::Timer)?)
    }

    pub(crate) fn photo_added(&mut self, photo: KnownPhoto) {
        self.sync.news.push(Input::PhotoAdded(photo));
    }

    pub(crate) fn photo_gone(&mut self, photo: survey::ids::PhotoId) {
        self.sync.news.push(Input::PhotoGone(photo));
    }

    pub(crate) fn text_added(&mut self, text: KnownText) {
        self.sync.news.push(Input::TextAdded(text));
    }

    pub(crate) fn text_gone(&mut self, hash: Hash) {
        self.sync.news.push(Input::TextGone(hash));
    }

    /// Tells the engine of acts since it was last asked.
    fn tell_news(&mut self) -> Result<(), Error> {
        if self.sync.engine.is_none() {
            return Ok(());
        }
        if self.sync.told != Some(self.stream.head) {
            self.sync.told = Some(self.stream.head);
            self.sync.news.insert(0, Input::LocalCommit { stream: self.stream.id, head: self.stream.head });
        }
        for input in std::mem::take(&mut self.sync.news) {
            self.tell_engine(input)?;
        }
        Ok(())
    }

    fn tell(&mut self, input: Input) -> Result<(), Error> {
        if self.sync.engine.is_none() {
            let seed = u64::from_be_bytes(self.around.random.octets()[..8].try_into().unwrap_or_default());
            self.sync.engine = Some(Engine::new(known::known(self)?, seed));
            self.sync.told = Some(self.stream.head);
            self.sync.news.clear();
            let enrolling = setting::<String>(&self.db, ENROL_CODE)?.zip(setting::<[u8; 32]>(&self.db, TOKEN_HASH)?);
            if let Some((code, hash)) = enrolling
                && !matches!(input, Input::Enrol { .. })
            {
                self.tell_engine(Input::Enrol { code, token_hash: Hash(hash) })?;
            }
        }
        self.tell_news()?;
        self.tell_engine(input)
    }

    fn tell_engine(&mut self, input: Input) -> Result<(), Error> {
        let now = self.around.clock.now();
        let done = match &input {
            Input::Outcome { job, .. } | Input::NotMade { job, .. } => Some(*job),
            _ => None,
        };
        let journal = known::Lookup { db: &self.db, device: self.device };
        let Some(engine) = &mut self.sync.engine else { return Ok(()) };
        engine.handle(input, now, &journal);
        let events: Vec<Event> = std::iter::from_fn(|| engine.next_event()).collect();
        let stored = store::events(self, &events, done, now);
        let more = self.or_forget_engine(stored)?;
        more.into_iter().try_for_each(|input| self.tell_engine(input))
    }

    /// After a failed write the engine is ahead of the database: it is made again from it.
    fn or_forget_engine<T>(&mut self, stored: Result<T, Error>) -> Result<T, Error> {
        if stored.is_err() {
            self.sync.engine = None;
        }
        stored
    }
}

/// Why a body cannot be made.
pub(crate) type Made = Result<HttpJob, NotMade>;

pub(crate) use known::known_streams as streams;
