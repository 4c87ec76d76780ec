//! `leafturn serve`

use super::folder::PinsFile;
use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::clock;
use crate::http::app::{App, Cookies, Setting};
use crate::security::hosts::{Cover, Hosts, check_address};
use crate::security::tls::{Certificates, Files};
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use survey::time::UnixMs;
use tokio::net::TcpListener;
use tracing_subscriber::filter::LevelFilter;

/// Answer phones and browsers until ctrl-c or SIGTERM.
///
/// Prints one line when ready, `listening http://ADDRESS`, and writes its log to standard error, one JSON object a line,
/// without names, tokens, codes or paths. SIGHUP reads certificate and keys again.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn serve
  leafturn serve --data /srv/leafturn --listen 127.0.0.1:0 --json
  leafturn serve --listen 0.0.0.0:8787 --certificate station.pem --key station.pem --next-key next-key.pem
  leafturn serve --listen 0.0.0.0:8787 --behind-proxy 10.0.0.2 --host fields.example.org")]
pub(super) struct Serve {
    #[command(flatten)]
    data: Data,
    /// Where to listen; port 0 takes any free one. Only loopback, unless a certificate is given or a proxy that does TLS
    /// stands in front.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:8787")]
    listen: SocketAddr,
    /// A name the station answers to besides loopback's and those in its certificate; may stand several times.
    #[arg(long = "host", value_name = "NAME")]
    hosts: Vec<String>,
    /// The address of the proxy in front that does TLS; its forwarded addresses are believed.
    #[arg(long, value_name = "ADDR")]
    behind_proxy: Option<IpAddr>,
    /// The certificate in PEM, with those that link it to its issuer behind it.
    #[arg(long, value_name = "FILE", requires = "key")]
    certificate: Option<PathBuf>,
    /// Its private key in PEM; may be the same file.
    #[arg(long, value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
    /// The key of the certificate that will follow, private or public, in PEM: phones that pinned the present key learn
    /// its hash and go on after the change.
    #[arg(long, value_name = "FILE", requires = "certificate")]
    next_key: Option<PathBuf>,
    /// How much to log.
    #[arg(long, value_enum, default_value_t = Log::Info)]
    log: Log,
    /// Print the ready line as JSON: {"listening":"http://..."}.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Log {
    Error,
    Warn,
    Info,
    Debug,
}

#[derive(Serialize)]
struct Ready<'a> {
    listening: &'a str,
}

impl Serve {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let files = self.files();
        let cover = match (&files, self.behind_proxy) {
            (Some(_), _) => Cover::Tls,
            (None, Some(_)) => Cover::Proxy,
            (None, None) => Cover::None,
        };
        check_address(self.listen, cover)?;
        log_to_stderr(self.log);
        let certificates = files.map(|files| Certificates::open(files, clock::now())).transpose()?;
        let folder = Folder::open_to_serve(&self.data.folder)?;
        crate::http::photos::sweep_erased(&folder.store, &folder.photos())
            .map_err(|fault| CommandError::io("photo folder")(io::Error::other(fault.problem().title.clone())))?;
        let runtime =
            tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(CommandError::io("threads"))?;
        runtime.block_on(self.serve(folder, certificates))
    }

    fn files(&self) -> Option<Files> {
        let (certificate, key) = self.certificate.clone().zip(self.key.clone())?;
        Some(Files { certificate, key, next_key: self.next_key.clone() })
    }

    async fn serve(self, folder: Folder, certificates: Option<Arc<Certificates>>) -> Result<Outcome, CommandError> {
        let what = format!("listening on {}", self.listen);
        let listener = TcpListener::bind(self.listen).await.map_err(CommandError::io(what.clone()))?;
        let bound = listener.local_addr().map_err(CommandError::io(what.clone()))?;
        let identity = certificates.as_ref().map(|certificates| certificates.current());
        let names =
            [self.hosts.clone(), identity.as_ref().map_or(Vec::new(), |identity| identity.names.clone())].concat();
        let address = match (self.behind_proxy, &identity, names.first()) {
            (Some(_), _, Some(name)) => format!("https://{name}"),
            (None, Some(_), Some(name)) => format!("https://{name}:{}", bound.port()),
            (_, Some(_), None) => format!("https://{bound}"),
            (_, None, _) => format!("http://{bound}"),
        };
        let note = || -> io::Result<()> {
            folder.note_address(&address)?;
            folder.note_pins(identity.as_ref().map(|identity| identity.pins))
        };
        note().map_err(CommandError::io("noting the address"))?;
        let setting = Setting {
            photos: folder.photos(),
            desk: folder.desk()?,
            key: folder.key.clone(),
            hosts: Hosts::new(&names),
            behind_proxy: self.behind_proxy,
            cookies: if self.behind_proxy.is_some() || identity.is_some() { Cookies::Secure } else { Cookies::Plain },
        };
        let pins = folder.pins_file();
        let app = App::new(Arc::new(folder.store), setting);
        let app = match certificates {
            Some(certificates) => {
                reload_at_hangup(Arc::clone(&certificates), pins).map_err(CommandError::io("signals"))?;
                app.with_certificates(certificates)
            }
            None => app,
        };
        let stop = stop_signal().map_err(CommandError::io("signals"))?;
        tracing::info!(version = env!("CARGO_PKG_VERSION"), "ready");
        let listening = match identity {
            Some(identity) => {
                soon_too_old(identity.until);
                format!("https://{bound}")
            }
            None => format!("http://{bound}"),
        };
        if self.json {
            print_json(&Ready { listening: &listening })?;
        } else {
            print_line(&format!("listening {listening}"))?;
        }
        crate::http::serve::serve(app, listener, stop).await.map_err(CommandError::io("serving"))?;
        Ok(Outcome::Fine)
    }
}

/// How long before its end a certificate is complained of: 30 days.
const SOON_MS: i64 = 30 * 24 * 60 * 60 * 1000;

fn soon_too_old(until: UnixMs) {
    let left_ms = until.0 - clock::now().0;
    if left_ms < SOON_MS {
        tracing::warn!(days = left_ms / (24 * 60 * 60 * 1000), "the certificate ends soon");
    }
}

/// Reads certificate and keys again at every SIGHUP. What cannot be used is complained of, and what was in use stays.
fn reload_at_hangup(certificates: Arc<Certificates>, pins: PinsFile) -> io::Result<()> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let mut hangup = signal(SignalKind::hangup())?;
        tokio::spawn(async move {
            while hangup.recv().await.is_some() {
                let (certificates, pins) = (Arc::clone(&certificates), pins.clone());
                let read = tokio::task::spawn_blocking(move || {
                    let identity = certificates.reload(clock::now())?;
                    soon_too_old(identity.until);
                    pins.note(Some(identity.pins)).map_err(CommandError::io("noting the keys"))
                });
                match read.await {
                    Ok(Ok(())) => tracing::info!("certificate read again"),
                    Ok(Err(error)) => tracing::error!(%error, "the certificate stays as it was"),
                    Err(panicked) => tracing::error!(%panicked, "the certificate stays as it was"),
                }
            }
        });
    }
    #[cfg(not(unix))]
    drop((certificates, pins));
    Ok(())
}

/// Done at ctrl-c or SIGTERM. Handlers are in place when this returns, before the ready line is printed.
fn stop_signal() -> io::Result<impl Future<Output = ()> + Send + 'static> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let (mut terminate, mut interrupt) = (signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?);
        Ok(async move {
            tokio::select! {
                _ = terminate.recv() => {}
                _ = interrupt.recv() => {}
            }
        })
    }
    #[cfg(not(unix))]
    {
        Ok(async move {
            // Without a handler there is no other way to stop than to be ended.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        })
    }
}

fn log_to_stderr(log: Log) {
    let level = match log {
        Log::Error => LevelFilter::ERROR,
        Log::Warn => LevelFilter::WARN,
        Log::Info => LevelFilter::INFO,
        Log::Debug => LevelFilter::DEBUG,
    };
    let subscriber = tracing_subscriber::fmt().json().flatten_event(true).with_writer(io::stderr).with_max_level(level);
    // A second call in one process changes nothing: the first log goes on.
    let _ = subscriber.try_init();
}
