//! What the server is started with.
//!
//! Must not read the environment.

use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use crate::knowledge::Knowledge;

/// Which book, for whom, and how much is borne.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The job book; made if it is not there.
    pub book: PathBuf,
    /// The figures.
    pub knowledge: Arc<Knowledge>,
    /// Port; 0 for any free one.
    pub port: u16,
    /// Address of this machine in the workshop's network; `None` serves this machine only.
    pub lan: Option<IpAddr>,
    /// How much is borne.
    pub limits: Limits,
}

/// Bounds that keep one client from stopping the others. All own judgement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Connections at once; more wait.
    pub connections: usize,
    /// Connections at once from one other machine; more are closed.
    pub connections_each: usize,
    /// Time for the head of a request, and for a connection without one.
    pub head: Duration,
    /// Time for the body of a request.
    pub body: Duration,
    /// Longest a connection lives.
    pub connection: Duration,
    /// Largest body, bytes.
    pub body_bytes: usize,
    /// Bytes of programs kept for jobs that are alike.
    pub program_bytes: usize,
    /// Answers kept.
    pub answers: usize,
    /// Wrong join codes a minute from one machine.
    pub wrong_codes: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            connections: 256,
            connections_each: 64,
            head: Duration::from_secs(5),
            body: Duration::from_secs(10),
            connection: Duration::from_secs(120),
            body_bytes: 64 * 1024,
            program_bytes: 8 * 1024 * 1024,
            answers: 64,
            wrong_codes: 5,
        }
    }
}
