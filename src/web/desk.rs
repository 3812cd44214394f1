//! The threads that reckon, and the queue before them: first what a page waits for, then what will
//! be asked for because something was written.
//!
//! Reckoning takes much memory for a moment, and more threads would only take more of it and make
//! all wait longer. Must not know what is reckoned.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::sync_channel;
use std::sync::{Arc, Condvar, Mutex, PoisonError};

use super::cell::{Cell, Patience, Place, lock};

/// Answers reckoned at once; own judgement, for two cores.
const AT_ONCE: usize = 2;
/// Reckonings nobody waits for yet; beyond, the oldest is given up. Own judgement.
const AHEAD: usize = 64;
/// Reckonings a page has asked for; beyond, the oldest nobody waits for is given up. Own judgement.
const ASKED: usize = 128;

/// Whose reckoning it is: a job, and which state of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    /// Number of the job.
    pub job: String,
    /// One number for each state.
    pub state: u64,
}

/// Something to be reckoned.
struct Task {
    of: State,
    place: Arc<dyn Place>,
    /// Whether the job was written in since.
    is_old: bool,
    reckon: Box<dyn FnOnce() + Send>,
}

#[derive(Default)]
struct Queue {
    asked: VecDeque<Task>,
    ahead: VecDeque<Task>,
    closed: bool,
}

impl Queue {
    /// The next one to be reckoned.
    fn take(&mut self) -> Option<Task> {
        loop {
            let task = self.asked.pop_front().or_else(|| self.ahead.pop_front())?;
            let given_up = task.is_old && task.place.give_up();
            if !given_up && task.place.begin() {
                return Some(task);
            }
        }
    }

    /// A job was written in: what it stood for before is wanted only by who waits for it.
    fn is_written(&mut self, now: &State) {
        let is_old = |t: &Task| t.of.job == now.job && t.of.state != now.state;
        for task in self.asked.iter_mut().filter(|t| is_old(t)) {
            task.is_old = true;
        }
        self.ahead.retain(|t| !(is_old(t) && t.place.give_up()));
    }
}

#[derive(Default)]
struct Table {
    queue: Mutex<Queue>,
    more: Condvar,
}

/// The threads that reckon; they end when it is dropped.
pub struct Desk(Arc<Table>);

impl std::fmt::Debug for Desk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Desk")
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        lock(&self.0.queue).closed = true;
        self.0.more.notify_all();
    }
}

impl Desk {
    /// Opens it.
    ///
    /// # Errors
    /// When the system has no thread to give.
    pub fn new() -> std::io::Result<Self> {
        let desk = Self(Arc::default());
        for _ in 0..AT_ONCE {
            let table = Arc::clone(&desk.0);
            let thread = std::thread::Builder::new().name("desk".to_owned());
            thread.spawn(move || work(&table))?;
        }
        Ok(desk)
    }

    /// Has something reckoned that will be asked for, when nothing else is to be done.
    pub fn ahead<T: Send + Sync + 'static>(
        &self,
        of: &State,
        cell: &Arc<Cell<T>>,
        reckon: impl FnOnce() -> T + Send + 'static,
    ) {
        if !cell.queue(false) {
            return;
        }
        let task = task(of, cell, reckon);
        let mut queue = lock(&self.0.queue);
        if queue.ahead.len() >= AHEAD
            && let Some(oldest) = queue.ahead.pop_front()
        {
            oldest.place.give_up();
        }
        queue.ahead.push_back(task);
        self.0.more.notify_one();
    }

    /// A job was written in and now stands so.
    pub fn is_written(&self, now: &State) {
        lock(&self.0.queue).is_written(now);
    }

    /// Has something reckoned, unless that is under way, and waits for it. Nothing when that takes
    /// longer than the page is patient; it is reckoned on, for whoever asks again.
    ///
    /// # Panics
    /// When the reckoning does: that ends the request, and nothing else.
    pub fn ask<'c, T: Send + Sync + 'static>(
        &self,
        of: &State,
        cell: &'c Arc<Cell<T>>,
        patience: Patience,
        reckon: impl FnOnce() -> T + Send + 'static,
    ) -> Option<&'c T> {
        if let Some(there) = cell.get() {
            return Some(there);
        }
        let broken = cell.is_waited_for();
        self.want(of, cell, reckon);
        cell.wait(broken, patience)
    }

    /// Has something reckoned for a page that will wait for it, unless that is under way.
    pub fn want<T: Send + Sync + 'static>(
        &self,
        of: &State,
        cell: &Arc<Cell<T>>,
        reckon: impl FnOnce() -> T + Send + 'static,
    ) {
        // If it stands among what is done ahead, it is begun there or here, whichever is sooner.
        if !cell.queue(true) {
            return;
        }
        let task = task(of, cell, reckon);
        let mut queue = lock(&self.0.queue);
        if queue.asked.len() >= ASKED {
            let unwanted = queue.asked.iter().position(|t| t.place.give_up());
            unwanted.and_then(|at| queue.asked.remove(at));
        }
        queue.asked.push_back(task);
        self.0.more.notify_one();
    }

    /// Has something reckoned that belongs to no state of a job, and waits for it.
    ///
    /// # Panics
    /// When the reckoning does: that ends the request, and nothing else.
    pub fn reckon<T: Send + 'static>(&self, task: impl FnOnce() -> T + Send + 'static) -> T {
        let (reply, answer) = sync_channel(1);
        let cell: Arc<Cell<()>> = Arc::default();
        let of = State {
            job: String::new(),
            state: 0,
        };
        self.ask(&of, &cell, Patience::ENDLESS, move || {
            drop(reply.send(task()));
        });
        answer
            .recv()
            .unwrap_or_else(|_| panic!("the reckoning broke off"))
    }
}

fn task<T: Send + Sync + 'static>(
    of: &State,
    cell: &Arc<Cell<T>>,
    reckon: impl FnOnce() -> T + Send + 'static,
) -> Task {
    let filled = Arc::clone(cell);
    let reckon = move || filled.fill(catch_unwind(AssertUnwindSafe(reckon)).ok());
    let place: Arc<dyn Place> = Arc::clone(cell) as Arc<dyn Place>;
    Task {
        of: of.clone(),
        place,
        is_old: false,
        reckon: Box::new(reckon),
    }
}

fn work(table: &Table) {
    loop {
        let mut queue = lock(&table.queue);
        let task = loop {
            if queue.closed {
                return;
            }
            if let Some(task) = queue.take() {
                break task;
            }
            queue = table
                .more
                .wait(queue)
                .unwrap_or_else(PoisonError::into_inner);
        };
        drop(queue);
        (task.reckon)();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;
    use std::time::Duration;

    use super::*;

    fn of(job: &str, state: u64) -> State {
        let job = job.to_owned();
        State { job, state }
    }

    const SHORT: Patience = Patience {
        queued: Duration::from_millis(20),
        in_all: Duration::from_secs(60),
    };

    /// A desk whose threads are all busy until the sender is dropped.
    fn busy() -> (Desk, std::sync::mpsc::Sender<()>) {
        let desk = Desk::new().unwrap();
        let (hold, held) = channel::<()>();
        let (begun, begins) = channel();
        let held = Arc::new(Mutex::new(held));
        for n in 0..AT_ONCE {
            let (held, begun) = (Arc::clone(&held), begun.clone());
            let cell: Arc<Cell<()>> = Arc::default();
            desk.want(&of("busy", n as u64), &cell, move || {
                begun.send(()).unwrap();
                // Ends when nobody can send any more; what comes of it is nothing.
                let _ = lock(&held).recv();
            });
        }
        (0..AT_ONCE).for_each(|_| begins.recv().unwrap());
        (desk, hold)
    }

    #[test]
    fn a_reckoning_that_breaks_off_ends_for_who_asked_and_the_desk_goes_on() {
        let desk = Desk::new().unwrap();
        for _ in 0..2 * AT_ONCE {
            let broken = || desk.reckon(|| -> u8 { panic!("a fault of the program") });
            assert!(catch_unwind(AssertUnwindSafe(broken)).is_err());
        }
        assert_eq!(desk.reckon(|| 7), 7);
        // Whoever asks again has it tried again.
        let cell: Arc<Cell<u8>> = Arc::default();
        let ask = |fails: bool| {
            let reckon = move || if fails { panic!("a fault") } else { 7 };
            desk.ask(&of("1", 1), &cell, Patience::ENDLESS, reckon)
                .copied()
        };
        assert!(catch_unwind(AssertUnwindSafe(|| ask(true))).is_err());
        assert_eq!(ask(false), Some(7));
    }

    /// The slip after a write waited for a reckoning that only its own look began; begun with the
    /// write it must not be made a second time for the look.
    #[test]
    fn what_was_begun_ahead_is_reckoned_once_for_all_who_ask() {
        let (desk, hold) = busy();
        let cell: Arc<Cell<usize>> = Arc::default();
        let times = Arc::new(Mutex::new(0));
        let reckon = || {
            let times = Arc::clone(&times);
            move || {
                *lock(&times) += 1;
                *lock(&times)
            }
        };
        desk.ahead(&of("1", 1), &cell, reckon());
        desk.ahead(&of("1", 1), &cell, reckon());
        assert_eq!(desk.ask(&of("1", 1), &cell, SHORT, reckon()), None);
        drop(hold);
        std::thread::scope(|scope| {
            for _ in 0..8 {
                let ask = || desk.ask(&of("1", 1), &cell, Patience::ENDLESS, reckon());
                scope.spawn(move || assert_eq!(ask(), Some(&1)));
            }
        });
        desk.reckon(|| ());
        assert_eq!(*lock(&times), 1);
    }

    #[test]
    fn old_states_of_a_job_are_given_up_but_for_who_waits() {
        let (desk, hold) = busy();
        let done = Arc::new(Mutex::new(Vec::new()));
        let note = |name: &'static str| {
            let done = Arc::clone(&done);
            move || lock(&done).push(name)
        };
        let cells: Vec<Arc<Cell<()>>> = (0..4).map(|_| Arc::default()).collect();
        desk.ahead(&of("1", 1), &cells[0], note("job 1, old, ahead"));
        desk.want(&of("1", 1), &cells[1], note("job 1, old, left"));
        desk.ahead(&of("2", 1), &cells[2], note("job 2, ahead"));
        std::thread::scope(|scope| {
            let (desk, cell, waited) = (&desk, &cells[3], note("job 1, old, waited for"));
            scope.spawn(move || desk.ask(&of("1", 1), cell, Patience::ENDLESS, waited));
            while lock(&desk.0.queue).asked.len() < 2 {
                std::thread::yield_now();
            }
            desk.is_written(&of("1", 2));
            drop(hold);
        });
        // Everything that was in the queue is done or given up when a later one is.
        let last: Arc<Cell<()>> = Arc::default();
        desk.ahead(&of("2", 1), &last, note("last"));
        while last.get().is_none() {
            std::thread::yield_now();
        }
        desk.reckon(|| ());
        let mut done = lock(&done).clone();
        // Two threads may end in either order.
        done.sort_unstable();
        let left = ["job 1, old, waited for", "job 2, ahead", "last"];
        assert_eq!(done, left);
    }

    #[test]
    fn what_a_page_waits_for_goes_before_what_nobody_asked_for() {
        let (desk, hold) = busy();
        let cells: Vec<Arc<Cell<()>>> = (0..2).map(|_| Arc::default()).collect();
        desk.ahead(&of("1", 1), &cells[0], || ());
        desk.want(&of("2", 1), &cells[1], || ());
        let first = lock(&desk.0.queue).take().unwrap();
        assert_eq!(first.of.job, "2");
        drop(hold);
    }

    #[test]
    fn the_queue_is_bounded_and_what_was_dropped_can_be_asked_for() {
        let (desk, hold) = busy();
        let cells: Vec<Arc<Cell<u64>>> = (0..2 * AHEAD).map(|_| Arc::default()).collect();
        for (n, cell) in (0..).zip(&cells) {
            desk.ahead(&of("1", n), cell, move || n);
        }
        assert_eq!(lock(&desk.0.queue).ahead.len(), AHEAD);
        drop(hold);
        let first = desk.ask(&of("1", 0), &cells[0], Patience::ENDLESS, || 0);
        assert_eq!(first, Some(&0));
    }
}
