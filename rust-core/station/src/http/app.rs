//! What every handler shares.

use super::problem::Fault;
use crate::judge::Judge;
use crate::pages::sites::Lines;
use crate::review::Desk;
use crate::security::hosts::Hosts;
use crate::security::key::StationKey;
use crate::security::limits::Limits;
use crate::security::tls::Certificates;
use crate::store::Store;
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};
use tokio::sync::Notify;

/// What every handler shares.
#[derive(Clone)]
pub struct App {
    inner: Arc<Inner>,
}

struct Inner {
    store: Arc<dyn Store>,
    setting: Setting,
    joining: Limits,
    signing_in: Limits,
    certificates: OnceLock<Arc<Certificates>>,
    to_judge: Notify,
    judge: Arc<Judge>,
    lines: Arc<Lines>,
}

/// How the station is set up.
#[derive(Debug)]
pub struct Setting {
    /// Folder of the photos.
    pub photos: PathBuf,
    /// The station's key.
    pub key: StationKey,
    /// Names it answers to.
    pub hosts: Hosts,
    /// The proxy whose forwarded addresses are believed.
    pub behind_proxy: Option<IpAddr>,
    /// Whether cookies go over TLS only.
    pub cookies: Cookies,
    /// Where coordinators' acts are written.
    pub desk: Desk,
}

/// Whether cookies go over TLS only.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cookies {
    /// They do: the station or a proxy in front speaks TLS.
    Secure,
    /// Loopback without TLS.
    Plain,
}

impl App {
    /// An app on this store.
    pub fn new(store: Arc<dyn Store>, setting: Setting) -> Self {
        let now = crate::edge::clock::now();
        Self {
            inner: Arc::new(Inner {
                store,
                setting,
                joining: Limits::new(now),
                signing_in: Limits::new(now),
                certificates: OnceLock::new(),
                to_judge: Notify::new(),
                judge: Arc::default(),
                lines: Arc::default(),
            }),
        }
    }

    /// Runs an act on the store, on a thread that may block.
    ///
    /// # Errors
    /// What the act says, or that the store failed.
    pub async fn store<T, E>(&self, act: impl FnOnce(&dyn Store) -> Result<T, E> + Send + 'static) -> Result<T, Fault>
    where
        T: Send + 'static,
        E: Into<Fault> + Send + 'static,
    {
        let store = Arc::clone(&self.inner.store);
        match tokio::task::spawn_blocking(move || act(store.as_ref())).await {
            Ok(done) => done.map_err(Into::into),
            Err(panicked) => Err(Fault::internal(&panicked)),
        }
    }

    /// The store itself, for threads that may block.
    pub fn blocking_store(&self) -> &dyn Store {
        self.inner.store.as_ref()
    }

    /// How the station is set up.
    pub fn setting(&self) -> &Setting {
        &self.inner.setting
    }

    /// The app, speaking TLS by this certificate. The first one given stays.
    #[must_use]
    pub fn with_certificates(self, certificates: Arc<Certificates>) -> Self {
        let _ = self.inner.certificates.set(certificates);
        self
    }

    /// The certificate by which the station speaks TLS itself.
    pub fn certificates(&self) -> Option<&Arc<Certificates>> {
        self.inner.certificates.get()
    }

    /// The limits on enrolment.
    pub fn joining(&self) -> &Limits {
        &self.inner.joining
    }

    /// The limits on signing in: apart, so that nobody who guesses at codes keeps coordinators out.
    pub fn signing_in(&self) -> &Limits {
        &self.inner.signing_in
    }

    /// Says that entries have come which want verdicts.
    pub fn wake_judge(&self) {
        self.inner.to_judge.notify_one();
    }

    /// Waits for [`App::wake_judge`].
    pub async fn entries_came(&self) {
        self.inner.to_judge.notified().await;
    }

    /// Who gives verdicts.
    pub fn judge(&self) -> Arc<Judge> {
        Arc::clone(&self.inner.judge)
    }

    /// What the overview of sites showed last.
    pub fn lines(&self) -> Arc<Lines> {
        Arc::clone(&self.inner.lines)
    }
}
