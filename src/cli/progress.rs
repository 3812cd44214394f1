//! Progress on the standard error: on a terminal only, after two seconds, every second.
//!
//! Must not touch the answer.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// Shorter work says nothing.
const PATIENCE: Duration = Duration::from_secs(2);
const EVERY: Duration = Duration::from_secs(1);

/// Progress of one run.
#[derive(Debug)]
pub struct Progress {
    what: &'static str,
    total: Option<u64>,
    begun: Instant,
    told: Option<Instant>,
    shown: bool,
}

impl Progress {
    /// Progress of so many pieces of something, if their number is known.
    #[must_use]
    pub fn new(what: &'static str, total: Option<u64>) -> Self {
        Self {
            what,
            total,
            begun: Instant::now(),
            told: None,
            shown: std::io::stderr().is_terminal(),
        }
    }

    /// Says how many are done.
    pub fn done(&mut self, n: u64) {
        let due = self
            .told
            .map_or(PATIENCE <= self.begun.elapsed(), |t| t.elapsed() >= EVERY);
        if !self.shown || !due {
            return;
        }
        self.told = Some(Instant::now());
        #[expect(clippy::cast_precision_loss, reason = "counts")]
        let rate = n as f64 / self.begun.elapsed().as_secs_f64();
        let of = self.total.map_or(String::new(), |t| format!(" of {t}"));
        let _ = write!(
            std::io::stderr(),
            "\r{n}{of} {} ({rate:.0} a second)   ",
            self.what
        );
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.told.is_some() {
            let _ = writeln!(std::io::stderr());
        }
    }
}
