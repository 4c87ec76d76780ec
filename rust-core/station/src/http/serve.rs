//! Running the station until it is told to stop.

use super::app::App;
use super::door::{self, GRACE};
use crate::edge::clock;
use crate::judge::RULES_VERSION;
use std::io;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// How long nothing must have come before it is judged: a phone sends its season in several batches.
const QUIET: Duration = Duration::from_millis(300);

/// What has come is judged after this time even while more is coming.
const MOST_WAIT: Duration = Duration::from_secs(10);

/// Answers on this listener until `stop` is done; then finishes what is in hand and settles the store.
///
/// # Errors
/// Where the network or the store cannot.
pub async fn serve(app: App, listener: TcpListener, stop: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
    let (stopping, mut stopped) = watch::channel(false);
    let judge = tokio::spawn(judge(app.clone(), stopped.clone()));
    let told = tokio::spawn(async move {
        stop.await;
        tracing::info!("stopping");
        // The receivers live as long as the station.
        let _ = stopping.send(true);
    });
    let let_in = door::let_in(&app, listener, stopped.clone()).await;
    if let_in.is_err() {
        told.abort();
    }
    let_in?;
    let _ = stopped.wait_for(|stopping| *stopping).await;
    // The judge ends by itself; a panic in it was logged where it happened.
    let _ = judge.await;
    app.store(crate::store::Store::settle).await.map_err(|fault| io::Error::other(fault.problem().title.clone()))?;
    tracing::info!("stopped");
    Ok(())
}

/// Gives verdicts after entries have come: once none came for a moment, and in any case after a while.
async fn judge(app: App, mut stopped: watch::Receiver<bool>) {
    let forever = async {
        loop {
            judge_what_is_due(&app).await;
            app.entries_came().await;
            let quiet = async { while tokio::time::timeout(QUIET, app.entries_came()).await.is_ok() {} };
            // Where it never gets quiet the time is up just the same.
            let _ = tokio::time::timeout(MOST_WAIT, quiet).await;
        }
    };
    tokio::select! {
        () = forever => {}
        _ = stopped.wait_for(|stopping| *stopping) => {}
    }
    // What is left then is judged after the next start.
    let _ = tokio::time::timeout(GRACE, judge_what_is_due(&app)).await;
}

async fn judge_what_is_due(app: &App) {
    let photos = app.setting().photos.clone();
    if let Err(fault) = app.store(move |store| crate::tidy::after_entries(store, &photos)).await {
        tracing::error!(kind = fault.problem().title, "what was erased is still on the disk");
    }
    let due = match app.store(|store| store.due(RULES_VERSION, None)).await {
        Ok(due) => due,
        Err(fault) => return tracing::error!(kind = fault.problem().title, "verdicts are late"),
    };
    for site in due {
        let judge = app.judge();
        match app.store(move |store| judge.judge(store, site, clock::now())).await {
            Ok(0) => {}
            Ok(added) => tracing::info!(added, "verdicts"),
            Err(fault) => tracing::error!(kind = fault.problem().title, "verdicts on a site are late"),
        }
    }
}
