//! `leafturn serve`

use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::http::app::{App, Cookies, Setting};
use crate::security::hosts::{Hosts, check_address};
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use tokio::net::TcpListener;
use tracing_subscriber::filter::LevelFilter;

/// Answer phones and browsers until ctrl-c or SIGTERM.
///
/// Prints one line when ready, `listening http://ADDRESS`, and writes its log to standard error, one JSON object a line,
/// without names, tokens, codes or paths.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn serve
  leafturn serve --data /srv/leafturn --listen 127.0.0.1:0 --json
  leafturn serve --listen 0.0.0.0:8787 --behind-proxy 10.0.0.2 --host fields.example.org")]
pub(super) struct Serve {
    #[command(flatten)]
    data: Data,
    /// Where to listen; port 0 takes any free one. Only loopback, unless a proxy that does TLS stands in front.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:8787")]
    listen: SocketAddr,
    /// A name the station answers to besides loopback's; may stand several times.
    #[arg(long = "host", value_name = "NAME")]
    hosts: Vec<String>,
    /// The address of the proxy in front that does TLS; its forwarded addresses are believed.
    #[arg(long, value_name = "ADDR")]
    behind_proxy: Option<IpAddr>,
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
        check_address(self.listen, self.behind_proxy)?;
        log_to_stderr(self.log);
        let folder = Folder::open(&self.data.folder)?;
        crate::http::photos::sweep_erased(&folder.store, &folder.photos())
            .map_err(|fault| CommandError::io("photo folder")(io::Error::other(fault.problem().title.clone())))?;
        let runtime =
            tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(CommandError::io("threads"))?;
        runtime.block_on(self.serve(folder))
    }

    async fn serve(self, folder: Folder) -> Result<Outcome, CommandError> {
        let what = format!("listening on {}", self.listen);
        let listener = TcpListener::bind(self.listen).await.map_err(CommandError::io(what.clone()))?;
        let bound = listener.local_addr().map_err(CommandError::io(what.clone()))?;
        let address = match (self.behind_proxy, self.hosts.first()) {
            (Some(_), Some(name)) => format!("https://{name}"),
            (Some(_) | None, _) => format!("http://{bound}"),
        };
        folder.note_address(&address).map_err(CommandError::io("noting the address"))?;
        let setting = Setting {
            photos: folder.photos(),
            key: folder.key.clone(),
            hosts: Hosts::new(&self.hosts),
            behind_proxy: self.behind_proxy,
            cookies: if self.behind_proxy.is_some() { Cookies::Secure } else { Cookies::Plain },
        };
        let app = App::new(Arc::new(folder.store), setting);
        let stop = stop_signal().map_err(CommandError::io("signals"))?;
        tracing::info!(version = env!("CARGO_PKG_VERSION"), "ready");
        let listening = format!("http://{bound}");
        if self.json {
            print_json(&Ready { listening: &listening })?;
        } else {
            print_line(&format!("listening {listening}"))?;
        }
        crate::http::serve::serve(app, listener, stop).await.map_err(CommandError::io("serving"))?;
        Ok(Outcome::Fine)
    }
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
