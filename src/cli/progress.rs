//! Somebody waits at the terminal: a bar for work that takes long, and Ctrl-C.

use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::process;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use thawline::progress::{Progress, Stage};

/// Work that is done sooner shows no bar.
const SHOWN_AFTER: Duration = Duration::from_millis(500);

/// How often the bar's clock moves on.
const TICK: Duration = Duration::from_millis(200);

/// What a shell gives for a program that an interrupt ended.
const INTERRUPTED: i32 = 130;

/// Set by the first Ctrl-C.
static STOP: AtomicBool = AtomicBool::new(false);

/// Temporary files that are not in their place yet: who ends the program takes them away. Held
/// while files are replaced, so that no end comes in between.
static NOT_READY: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn not_ready_list() -> MutexGuard<'static, Vec<PathBuf>> {
    NOT_READY.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes note of a temporary file.
pub(super) fn not_ready(path: &Path) {
    not_ready_list().push(path.to_owned());
}

/// While this is held, no Ctrl-C ends the program.
pub(super) fn replacing() -> MutexGuard<'static, Vec<PathBuf>> {
    let mut list = not_ready_list();
    list.clear();
    list
}

/// The first Ctrl-C asks to end with what there is; the second ends at once, and what an earlier
/// plan left stays as it is.
fn interrupted() {
    if STOP.swap(true, Ordering::Relaxed) {
        for path in not_ready_list().iter() {
            let _ = std::fs::remove_file(path);
        }
        process::exit(INTERRUPTED);
    }
    eprintln!(
        "\nStopping: what is left is planned by simple rules. Ctrl-C again ends at once\nand writes nothing."
    );
}

/// Looks on at one long piece of work. Dropped, it takes its bar away.
pub(super) struct Shown {
    bar: ProgressBar,
    stage: Mutex<Option<Stage>>,
    /// Dropped or sent to when the work is done.
    done: Option<Sender<()>>,
    shows: Option<JoinHandle<()>>,
}

impl Shown {
    pub(super) fn new() -> Self {
        static ONCE: Once = Once::new();
        // Without a handler Ctrl-C ends the program as ever: no reason not to plan.
        ONCE.call_once(|| drop(ctrlc::set_handler(interrupted)));
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        let (done, ended) = channel();
        let shows = std::io::stderr().is_terminal().then(|| {
            let bar = bar.clone();
            let show = move || show(&bar, &ended);
            // Where the system refuses threads, nothing is shown.
            thread::Builder::new().spawn(show).ok()
        });
        Self {
            bar,
            stage: Mutex::new(None),
            done: Some(done),
            shows: shows.flatten(),
        }
    }
}

fn show(bar: &ProgressBar, ended: &Receiver<()>) {
    use std::sync::mpsc::RecvTimeoutError::Timeout;
    if ended.recv_timeout(SHOWN_AFTER) != Err(Timeout) {
        return;
    }
    bar.set_draw_target(ProgressDrawTarget::stderr());
    // 36 letters at the most, so that all fits 80 columns.
    if let Ok(style) = ProgressStyle::with_template("{msg} [{bar:16}] {pos}/{len} {elapsed}") {
        bar.set_style(style.progress_chars("=> "));
    }
    // The bar's own ticking would want a thread more.
    while ended.recv_timeout(TICK) == Err(Timeout) {
        bar.tick();
    }
}

impl Progress for Shown {
    fn reached(&self, stage: Stage, done: usize, of: usize) {
        let mut now = self.stage.lock().unwrap_or_else(PoisonError::into_inner);
        let (done, of) = (done as u64, of as u64);
        // Several threads tell of the same stage, not always in order.
        if *now != Some(stage) || done == 0 {
            *now = Some(stage);
            self.bar.set_message(stage.words());
            self.bar.set_length(of);
            self.bar.set_position(done);
        } else if done > self.bar.position() {
            self.bar.set_position(done);
        }
    }

    fn stop(&self) -> bool {
        STOP.load(Ordering::Relaxed)
    }
}

impl Drop for Shown {
    fn drop(&mut self) {
        drop(self.done.take());
        if let Some(shows) = self.shows.take() {
            let _ = shows.join();
        }
        self.bar.finish_and_clear();
    }
}
