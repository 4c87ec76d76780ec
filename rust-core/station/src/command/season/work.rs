//! Long work: how far it is, and stopping it with ctrl-c.

use clap::ValueEnum;
use messages::{Language, say};
use std::io::{IsTerminal as _, Write as _};
use std::ops::ControlFlow;
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether it is told how far the work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Progress {
    /// Where a person looks on: standard error is a terminal.
    Auto,
    /// Always, a line each time.
    Always,
    /// Never.
    Never,
}

/// Set by ctrl-c, for the whole process.
static STOPPED: AtomicBool = AtomicBool::new(false);
static LISTENING: Once = Once::new();

/// It tells so soon for the first time.
const FIRST: u32 = 100;
/// Times that one piece of work tells how far it is.
const TIMES: u32 = 50;

/// Follows one piece of work after the other.
#[derive(Debug)]
pub(super) struct Work {
    all: u32,
    told: Told,
    language: Language,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    /// On one line that is written over.
    Over,
    /// On a line each.
    Lines,
    No,
}

/// Whether ctrl-c was pressed.
pub(super) fn stopped() -> bool {
    STOPPED.load(Ordering::Relaxed)
}

impl Work {
    /// Work of so many steps. From here on ctrl-c ends the work and not the process; pressed again it ends both.
    pub(super) fn of(all: u32, progress: Progress, language: Language) -> Self {
        LISTENING.call_once(|| {
            // Without a handler ctrl-c ends the process as it always does, which is no reason to refuse the work.
            let _ = listen();
        });
        let told = match progress {
            Progress::Auto if std::io::stderr().is_terminal() => Told::Over,
            Progress::Always => Told::Lines,
            Progress::Auto | Progress::Never => Told::No,
        };
        Self { all, told, language }
    }

    /// Takes in how far the work is, tells it where that is due, and says whether to go on.
    pub(super) fn tell(&mut self, done: u32) -> ControlFlow<()> {
        let each = (self.all / TIMES / 100).max(1) * 100;
        let last = done >= self.all || stopped();
        if self.told != Told::No && (done <= FIRST || done.is_multiple_of(each) || last) {
            let words = say(
                self.language,
                "season-answer.progress",
                &[("done", u64::from(done).into()), ("all", u64::from(self.all).into())],
            );
            let mut out = std::io::stderr().lock();
            // Nobody misses a line that cannot be written.
            let _ = match self.told {
                Told::Over if last => write!(out, "\r\x1b[K"),
                Told::Over => write!(out, "\r{words}\x1b[K"),
                Told::Lines => writeln!(out, "{words}"),
                Told::No => Ok(()),
            };
            let _ = out.flush();
        }
        if stopped() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

/// Exit code of a process that ctrl-c ended, as shells have it.
const ENDED: i32 = 130;

fn listen() -> std::io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().build()?;
    #[cfg(unix)]
    let mut pressed = {
        use tokio::signal::unix::{SignalKind, signal};
        let _within = runtime.enter();
        signal(SignalKind::interrupt())?
    };
    std::thread::Builder::new().name("ctrl-c".to_owned()).spawn(move || {
        runtime.block_on(async {
            loop {
                #[cfg(unix)]
                let heard = pressed.recv().await.is_some();
                #[cfg(not(unix))]
                let heard = tokio::signal::ctrl_c().await.is_ok();
                if !heard {
                    return;
                }
                if STOPPED.swap(true, Ordering::Relaxed) {
                    std::process::exit(ENDED);
                }
            }
        });
    })?;
    Ok(())
}
