//! Listening: connections in, bounded in number, time and size.
//!
//! Must not know pages.

use std::collections::BTreeMap;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service as _, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use super::bench::Bench;
use super::guard::Peer;
use super::routes;
use super::settings::{Limits, Settings};

/// Largest head of a request, bytes; own judgement.
const HEAD_BYTES: usize = 16 * 1024;
/// Most lines in a head; own judgement.
const HEAD_LINES: usize = 64;
/// Pages made at once; most of them wait for an answer. Own judgement.
const PAGES: usize = 64;
/// Wait after the system has no connection to give.
const PAUSE: Duration = Duration::from_millis(50);

/// A server that runs until this is dropped.
#[derive(Debug)]
pub struct Running {
    /// Where it listens.
    pub address: SocketAddr,
    /// What lets another machine in.
    pub join_code: String,
    runtime: Option<tokio::runtime::Runtime>,
}

impl Drop for Running {
    fn drop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}

/// Starts the server in threads of its own.
///
/// # Errors
/// When the port is taken or the system gives no threads, and what the book refuses, in words.
pub fn start(settings: Settings) -> std::io::Result<Running> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(PAGES)
        .enable_all()
        .build()?;
    let at = match settings.lan {
        Some(_) => IpAddr::V4(Ipv4Addr::UNSPECIFIED),
        None => IpAddr::V4(Ipv4Addr::LOCALHOST),
    };
    let listener = runtime.block_on(TcpListener::bind((at, settings.port)))?;
    let address = listener.local_addr()?;
    let limits = settings.limits;
    let bench = Arc::new(Bench::new(settings, address)?);
    let join_code = bench.seats().code().to_owned();
    runtime.spawn(accept(listener, routes::router(bench), limits));
    Ok(Running {
        address,
        join_code,
        runtime: Some(runtime),
    })
}

/// Connections of each machine.
type Each = Arc<Mutex<BTreeMap<IpAddr, usize>>>;

/// One connection in the count of its machine, until dropped.
struct Counted {
    each: Each,
    ip: IpAddr,
}

impl Counted {
    /// Nothing when the machine has as many as it may have. This machine may have all.
    fn new(each: &Each, ip: IpAddr, most: usize) -> Option<Self> {
        let mut counts = each.lock().unwrap_or_else(PoisonError::into_inner);
        let count = counts.entry(ip).or_insert(0);
        if *count >= most && !ip.is_loopback() {
            return None;
        }
        *count += 1;
        let each = Arc::clone(each);
        Some(Self { each, ip })
    }
}

impl Drop for Counted {
    fn drop(&mut self) {
        let mut counts = self.each.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = counts.get_mut(&self.ip) {
            *count -= 1;
            if *count == 0 {
                counts.remove(&self.ip);
            }
        }
    }
}

async fn accept(listener: TcpListener, router: axum::Router, limits: Limits) {
    let seats = Arc::new(Semaphore::new(limits.connections));
    let each = Each::default();
    loop {
        let Ok(seat) = Arc::clone(&seats).acquire_owned().await else {
            return;
        };
        match listener.accept().await {
            Ok((stream, peer)) => {
                let Some(counted) = Counted::new(&each, peer.ip(), limits.connections_each) else {
                    continue;
                };
                let router = router.clone();
                tokio::spawn(async move {
                    one(stream, peer, router, limits).await;
                    drop((seat, counted));
                });
            }
            // Out of files, or the client is gone already: others may still be served.
            Err(_) => tokio::time::sleep(PAUSE).await,
        }
    }
}

/// One connection, from its first request to its end.
async fn one(stream: TcpStream, peer: SocketAddr, router: axum::Router, limits: Limits) {
    let _ = stream.set_nodelay(true);
    let pages = TowerToHyperService::new(router);
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        request.extensions_mut().insert(Peer(peer));
        pages.call(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(limits.head)
        .max_buf_size(HEAD_BYTES)
        .max_headers(HEAD_LINES)
        .serve_connection(TokioIo::new(stream), service);
    tokio::pin!(connection);
    // What a client does wrong ends its own connection and nothing else.
    tokio::select! {
        _ = connection.as_mut() => return,
        () = tokio::time::sleep(limits.connection) => connection.as_mut().graceful_shutdown(),
    }
    let _ = tokio::time::timeout(limits.body, connection).await;
}

#[cfg(test)]
mod tests {
    use std::io::{Read as _, Write as _};

    use super::*;
    use crate::knowledge::{KnowledgeFiles, load};

    /// Crashes, many at once, in pages and in what they have reckoned: each ends its request, and
    /// the next one is answered over the same guard and the same threads.
    #[test]
    fn crashes_of_pages_do_not_take_the_server_down() {
        const AT_ONCE: usize = 8;
        const ROUNDS: usize = 5;
        let place = tempfile::tempdir().unwrap();
        let settings = Settings {
            book: place.path().join("book"),
            knowledge: Arc::new(load(&KnowledgeFiles::built_in()).unwrap()),
            port: 0,
            lan: None,
            limits: Limits::default(),
        };
        let limits = settings.limits;
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .max_blocking_threads(PAGES)
            .enable_all()
            .build()
            .unwrap();
        let listening = TcpListener::bind((Ipv4Addr::LOCALHOST, 0));
        let listener = runtime.block_on(listening).unwrap();
        let address = listener.local_addr().unwrap();
        let bench = Arc::new(Bench::new(settings, address).unwrap());
        runtime.spawn(accept(listener, routes::crashing(bench), limits));
        let ask = move |path: &str| {
            let mut stream = std::net::TcpStream::connect(address).unwrap();
            let head =
                format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
            stream.write_all(head.as_bytes()).unwrap();
            let mut answer = String::new();
            stream.read_to_string(&mut answer).unwrap();
            answer
        };
        for _ in 0..ROUNDS {
            std::thread::scope(|scope| {
                for path in ["/crash", "/crash/reckoning"] {
                    for _ in 0..AT_ONCE {
                        scope.spawn(move || {
                            let answer = ask(path);
                            assert!(answer.starts_with("HTTP/1.1 500"), "{path}: {answer}");
                            assert!(answer.contains("a fault of the program"), "{answer}");
                        });
                    }
                }
            });
            assert!(ask("/").starts_with("HTTP/1.1 200"));
        }
    }
}
