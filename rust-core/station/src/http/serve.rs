//! Running the station until it is told to stop.

use super::app::App;
use super::router::router;
use std::io;
use std::net::SocketAddr;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// How long requests have to finish once the station is told to stop.
const GRACE: Duration = Duration::from_secs(10);

/// Answers on this listener until `stop` is done; then finishes what is in hand and settles the store.
///
/// # Errors
/// Where the network or the store cannot.
pub async fn serve(app: App, listener: TcpListener, stop: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
    let (stopping, mut stopped) = watch::channel(false);
    let judge = tokio::spawn(judge(app.clone(), stopped.clone()));
    let service = router(app.clone()).into_make_service_with_connect_info::<SocketAddr>();
    let mut told = stopped.clone();
    let serving = axum::serve(listener, service).with_graceful_shutdown(async move {
        stop.await;
        tracing::info!("stopping");
        // The receivers live as long as this function.
        let _ = stopping.send(true);
    });
    let late = async {
        let _ = told.wait_for(|stopping| *stopping).await;
        tokio::time::sleep(GRACE).await;
    };
    tokio::select! {
        done = serving.into_future() => done?,
        () = late => tracing::warn!(grace_s = GRACE.as_secs(), "requests cut off"),
    }
    let _ = stopped.wait_for(|stopping| *stopping).await;
    // The judge ends by itself between two sites; a panic in it was logged where it happened.
    let _ = judge.await;
    app.store(crate::store::Store::settle).await.map_err(|fault| io::Error::other(fault.problem().title.clone()))?;
    tracing::info!("stopped");
    Ok(())
}

/// Gives verdicts whenever entries have come.
async fn judge(app: App, mut stopped: watch::Receiver<bool>) {
    loop {
        let judging = app.clone();
        match tokio::task::spawn_blocking(move || judging.judge()).await {
            Ok(Ok(0)) => {}
            Ok(Ok(added)) => tracing::info!(added, "verdicts"),
            Ok(Err(error)) => tracing::error!(%error, "verdicts are late"),
            Err(panicked) => tracing::error!(%panicked, "the judge failed"),
        }
        tokio::select! {
            () = app.entries_came() => {}
            _ = stopped.wait_for(|stopping| *stopping) => return,
        }
    }
}
