//! Connections: accepted, with TLS where there is a certificate, and handed to the router.
//!
//! Every connection has a task of its own, so that no handshake and no slow client holds up another; and bounds, so that
//! none stays for ever: places in all and for one address, a time for the handshake, for the head of a request, for its
//! body ([`super::body::read`]), and for the connection as a whole.

use super::app::App;
use super::places::{Place, Places, Share};
use super::router::router;
use crate::security::tls::Certificates;
use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::future::poll_fn;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{mpsc, watch};
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;
use tower::ServiceExt;

/// How long requests have to finish once the station is told to stop.
pub(super) const GRACE: Duration = Duration::from_secs(10);

/// Connections at once. Below the 1 024 open files that systems commonly allow a process.
const MOST_CONNECTIONS: usize = 768;
/// Connections of one address; loopback and the named proxy speak for many and have no bound of their own.
const MOST_OF_ONE: usize = 64;
/// Handshakes at once, in all and of one address.
const MOST_HANDSHAKES: (usize, usize) = (256, 16);
/// How long a handshake may take.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// How long the head of a request may take, and a connection wait for the next one.
const HEAD: Duration = Duration::from_secs(30);
/// How long a connection may last: then it ends behind the request in hand. A client that does not read its answer
/// would stay for ever otherwise.
const LIFE: Duration = Duration::from_mins(10);
/// How much of what nobody will read is taken in at the end of a connection, and for how long.
const MOST_UNREAD: u64 = 16 * 1024 * 1024;
const PARTING: Duration = Duration::from_secs(5);
/// How long to wait when the system gives no connection, such as for want of files.
const BREATH: Duration = Duration::from_millis(200);

/// Lets connections in until `stopped`; then waits until those that are in have their answers, [`GRACE`] at most.
///
/// # Errors
/// Where the certificate's library refuses.
pub(super) async fn let_in(app: &App, listener: TcpListener, mut stopped: watch::Receiver<bool>) -> io::Result<()> {
    let (alive, mut all_gone) = mpsc::channel::<()>(1);
    let door = Door::new(app, stopped.clone(), alive)?;
    loop {
        let accepted = tokio::select! {
            biased;
            _ = stopped.wait_for(|stopping| *stopping) => break,
            accepted = listener.accept() => accepted,
        };
        match accepted {
            Ok((stream, peer)) => door.let_in(stream, peer),
            Err(error) => {
                tracing::warn!(%error, "no connection");
                tokio::time::sleep(BREATH).await;
            }
        }
    }
    drop((listener, door));
    if timeout(GRACE, all_gone.recv()).await.is_err() {
        tracing::warn!(grace_s = GRACE.as_secs(), "requests cut off");
    }
    Ok(())
}

/// What stands between the listener and the router.
struct Door {
    router: Router,
    tls: Option<TlsAcceptor>,
    speaks_for_many: Option<IpAddr>,
    places: Arc<Places>,
    handshakes: Arc<Places>,
    stopped: watch::Receiver<bool>,
    alive: mpsc::Sender<()>,
}

/// One connection's part of it.
struct Guest {
    router: Router,
    peer: SocketAddr,
    stopped: watch::Receiver<bool>,
    _place: Place,
    _alive: mpsc::Sender<()>,
}

impl Door {
    fn new(app: &App, stopped: watch::Receiver<bool>, alive: mpsc::Sender<()>) -> io::Result<Self> {
        let config = app.certificates().map(Certificates::config).transpose();
        Ok(Self {
            router: router(app.clone()),
            tls: config.map_err(io::Error::other)?.map(TlsAcceptor::from),
            speaks_for_many: app.setting().behind_proxy,
            places: Places::new(MOST_CONNECTIONS, MOST_OF_ONE),
            handshakes: Places::new(MOST_HANDSHAKES.0, MOST_HANDSHAKES.1),
            stopped,
            alive,
        })
    }

    /// Gives a connection its task, or closes it where there is no place.
    fn let_in(&self, stream: TcpStream, peer: SocketAddr) {
        let many = peer.ip().is_loopback() || self.speaks_for_many == Some(peer.ip());
        let share = if many { Share::Many } else { Share::One };
        let Some(place) = self.places.take(peer.ip(), share) else {
            return tracing::debug!("no place for a connection");
        };
        // Small answers would wait for acknowledgements otherwise; a socket that cannot is slower, not wrong.
        let _ = stream.set_nodelay(true);
        let guest = Guest {
            router: self.router.clone(),
            peer,
            stopped: self.stopped.clone(),
            _place: place,
            _alive: self.alive.clone(),
        };
        let Some(tls) = self.tls.clone() else {
            return drop(tokio::spawn(guest.answer(stream)));
        };
        if let Some(turn) = self.handshakes.take(peer.ip(), share) {
            drop(tokio::spawn(guest.shake_hands(tls, stream, turn)));
        } else {
            tracing::debug!("no place for a handshake");
        }
    }
}

impl Guest {
    async fn shake_hands(self, tls: TlsAcceptor, stream: TcpStream, turn: Place) {
        let shaken = timeout(HANDSHAKE, tls.accept(stream)).await;
        drop(turn);
        match shaken {
            Ok(Ok(stream)) => self.answer(stream).await,
            // Scanners and wrong protocols; nothing is wrong with the station.
            Ok(Err(error)) => tracing::debug!(%error, "handshake failed"),
            Err(_) => tracing::debug!("handshake too slow"),
        }
    }

    async fn answer(mut self, stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static) {
        let (router, peer) = (self.router.clone(), self.peer);
        let service = hyper::service::service_fn(move |request: Request<Incoming>| {
            let mut request = request.map(Body::new);
            request.extensions_mut().insert(ConnectInfo(peer));
            Box::pin(router.clone().oneshot(request))
        });
        let mut settings = http1::Builder::new();
        settings.timer(TokioTimer::new()).header_read_timeout(HEAD);
        let mut connection = settings.serve_connection(TokioIo::new(stream), service);
        // What goes wrong in here is the network's or the client's doing.
        let ended = tokio::select! {
            _ = poll_fn(|context| connection.poll_without_shutdown(context)) => true,
            _ = self.stopped.wait_for(|stopping| *stopping) => false,
            () = tokio::time::sleep(LIFE) => false,
        };
        if !ended {
            Pin::new(&mut connection).graceful_shutdown();
            let _ = timeout(GRACE, poll_fn(|context| connection.poll_without_shutdown(context))).await;
        }
        part(connection.into_parts().io.into_inner()).await;
    }
}

/// Ends our side, and takes in what a client is still sending: its system would throw our answer away otherwise, when ours
/// resets the connection for octets that nobody read (RFC 9112 section 9.6).
async fn part(mut stream: impl AsyncRead + AsyncWrite + Unpin) {
    let parting = async {
        stream.shutdown().await?;
        let mut unread = stream.take(MOST_UNREAD);
        tokio::io::copy(&mut unread, &mut tokio::io::sink()).await
    };
    let _ = timeout(PARTING, parting).await;
}
