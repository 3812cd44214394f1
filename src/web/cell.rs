//! The place of one answer: whether it is there, in the queue or under way, and who waits for it.
//!
//! Must not know what is reckoned, nor by whom.

use std::sync::{Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};

/// The lock, whoever died while holding it.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// How long a page waits.
#[derive(Debug, Clone, Copy)]
pub struct Patience {
    /// While it stands in the queue.
    pub queued: Duration,
    /// In all.
    pub in_all: Duration,
}

impl Patience {
    /// As long as it takes.
    pub const ENDLESS: Self = Self {
        queued: Duration::MAX,
        in_all: Duration::MAX,
    };
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Stage {
    /// Nobody has asked, or it was given up.
    #[default]
    Idle,
    /// In the queue; whether for a page.
    Queued { asked: bool },
    /// Somebody is at it.
    Begun,
}

#[derive(Debug, Default)]
struct Progress {
    stage: Stage,
    /// Pages that wait for it.
    waiting: usize,
    /// Times it broke off.
    broken: usize,
}

/// Where an answer will be: reckoned once, whoever asks and however often.
#[derive(Debug)]
pub struct Cell<T> {
    value: OnceLock<T>,
    progress: Mutex<Progress>,
    changed: Condvar,
}

impl<T> Default for Cell<T> {
    fn default() -> Self {
        Self {
            value: OnceLock::new(),
            progress: Mutex::default(),
            changed: Condvar::new(),
        }
    }
}

impl<T> Cell<T> {
    /// The answer, if it is there.
    pub fn get(&self) -> Option<&T> {
        self.value.get()
    }

    /// Counts one more page that waits; gives how often the reckoning broke off so far.
    pub fn is_waited_for(&self) -> usize {
        let mut progress = lock(&self.progress);
        progress.waiting += 1;
        progress.broken
    }

    /// Takes note that it stands in the queue; whether it has to be put there.
    pub fn queue(&self, asked: bool) -> bool {
        let mut progress = lock(&self.progress);
        let is_new = match progress.stage {
            Stage::Idle => true,
            Stage::Queued { asked: already } => asked && !already,
            Stage::Begun => false,
        };
        let is_new = is_new && self.value.get().is_none();
        if is_new {
            progress.stage = Stage::Queued { asked };
        }
        is_new
    }

    /// Fills it, or says that the reckoning broke off.
    pub fn fill(&self, made: Option<T>) {
        let mut progress = lock(&self.progress);
        match made {
            Some(value) => drop(self.value.set(value)),
            None => progress.broken += 1,
        }
        progress.stage = Stage::Idle;
        drop(progress);
        self.changed.notify_all();
    }

    /// Waits for what was handed over; the page is counted among those that wait already.
    ///
    /// # Panics
    /// When the reckoning does: that ends the request, and nothing else.
    pub fn wait(&self, broken: usize, patience: Patience) -> Option<&T> {
        let begun = Instant::now();
        let mut progress = lock(&self.progress);
        while self.value.get().is_none() && progress.broken == broken {
            let most = match progress.stage {
                Stage::Begun => patience.in_all,
                _ => patience.queued,
            };
            let left = most.saturating_sub(begun.elapsed());
            if left.is_zero() {
                break;
            }
            let woken = self.changed.wait_timeout(progress, left);
            progress = woken.unwrap_or_else(PoisonError::into_inner).0;
        }
        progress.waiting -= 1;
        let broke_off = self.value.get().is_none() && progress.broken != broken;
        drop(progress);
        assert!(!broke_off, "the reckoning broke off");
        self.value.get()
    }
}

/// A cell, as the queue sees it.
pub trait Place: Send + Sync {
    /// Takes it on, unless that was done already.
    fn begin(&self) -> bool;
    /// Gives it up, unless a page waits for it.
    fn give_up(&self) -> bool;
}

impl<T: Send + Sync> Place for Cell<T> {
    fn begin(&self) -> bool {
        let mut progress = lock(&self.progress);
        let is_due = matches!(progress.stage, Stage::Queued { .. }) && self.value.get().is_none();
        if is_due {
            progress.stage = Stage::Begun;
            self.changed.notify_all();
        }
        is_due
    }

    fn give_up(&self) -> bool {
        let mut progress = lock(&self.progress);
        let given_up = progress.waiting == 0;
        if given_up && matches!(progress.stage, Stage::Queued { .. }) {
            progress.stage = Stage::Idle;
        }
        given_up
    }
}
