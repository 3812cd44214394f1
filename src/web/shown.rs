//! What a page has said of a job, kept in the book: what was said then, not with hindsight.
//!
//! Only what was shown is kept, so that a job of fifty entries stays small. Must not reckon.

use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

use serde_json::{Value, json};

use super::forms::now;
use crate::diagnosis::Ranking;
use crate::job::book::{Access, Book, Said};
use crate::knowledge::Knowledge;
use crate::planning::bench::Next;
use crate::report::round::{chance, number};
use crate::report::rows::rows;
use crate::scoring::came_true::KIND;

/// Schema of what is kept.
const SCHEMA: &str = "hardstart/shown/1";
/// Moves kept: the first one and those offered beside it.
const MOVES: usize = 5;
/// Answers that wait to be written; beyond, they are dropped, for they can be reckoned again.
const WAITING: usize = 256;

/// What the slip of a job shows, for the book.
pub fn said(ranking: &Ranking, next: Option<&Next>, after: usize, knowledge: &Knowledge) -> Said {
    let shown = rows(ranking, false);
    let listed = shown.rows.iter().map(|row| {
        let mut listed = json!({ "cause": row.cause.cause, "chance": chance(row.cause.chance) });
        if !row.cylinders.is_empty() {
            listed["cylinders"] = row.cylinders.as_slice().into();
        }
        listed
    });
    let other = shown
        .other
        .map(|c| json!({ "cause": c.cause, "chance": chance(c.chance) }));
    let causes: Value = listed.chain(other).collect();
    let moves = next.map(|n| {
        let first = n.moves.iter().take(MOVES);
        first
            .map(|m| {
                json!({ "id": m.id, "cylinder": m.cylinder,
                        "expected_total": number(m.expected_total) })
            })
            .collect::<Value>()
    });
    let body = json!({
        "schema": SCHEMA,
        "healthy": chance(ranking.healthy),
        "causes": causes,
        "moves": moves,
    });
    Said {
        after,
        kind: KIND.to_owned(),
        at: now(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        figures: knowledge.sha256.clone(),
        body: body.to_string(),
    }
}

/// Writes what was said in a thread of its own, so that no page waits for the disk.
#[derive(Debug)]
pub struct Keeper(SyncSender<(String, Said)>);

impl Keeper {
    /// A keeper for a book; ends when it is dropped.
    ///
    /// # Errors
    /// When the system has no thread to give.
    pub fn new(book: &Path) -> std::io::Result<Self> {
        let (send, receive) = sync_channel(WAITING);
        let book = book.to_owned();
        let keeper = std::thread::Builder::new().name("keeper".to_owned());
        keeper.spawn(move || keep(&book, &receive))?;
        Ok(Self(send))
    }

    /// Hands something over to be kept.
    pub fn keep(&self, job: String, said: Said) {
        // Full or gone: the page is worth more than the record of it.
        let _ = self.0.try_send((job, said));
    }
}

fn keep(book: &Path, receive: &Receiver<(String, Said)>) {
    for (job, said) in receive {
        // A book that may not be written in is looked at all the same.
        let _ = Book::open(book, Access::Write).and_then(|mut book| book.keep(&job, &said));
    }
}
