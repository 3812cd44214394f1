//! A bench page on a port of its own, and a bare client that may send what no browser would.

#![allow(dead_code, reason = "each test uses a part of it")]

use std::io::{Read, Write};
use std::net::{IpAddr, SocketAddr, TcpStream};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use hardstart::job::book::{Access, Book};
use hardstart::knowledge::{self, Knowledge, KnowledgeFiles};
use hardstart::web::{self, Limits, Running, Settings};

/// A busy machine makes a page of a long job slowly.
const PATIENCE: Duration = Duration::from_secs(300);

pub struct Page {
    pub running: Running,
    lan: Option<IpAddr>,
    pub knowledge: Arc<Knowledge>,
    pub book: PathBuf,
    _place: tempfile::TempDir,
}

pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        let line = |l: &&str| l.to_lowercase().starts_with(&format!("{name}:"));
        let found = self.head.lines().find(line)?;
        Some(found.split_once(':').unwrap().1.trim())
    }

    /// Value of a hidden field.
    pub fn hidden(&self, name: &str) -> String {
        let mark = format!("name=\"{name}\" value=\"");
        let from = self.body.find(&mark).expect("no such field") + mark.len();
        self.body[from..].split('"').next().unwrap().to_owned()
    }
}

impl Page {
    pub fn new(limits: Limits) -> Self {
        Self::at(limits, None)
    }

    /// Also to be reached from the network, at this address.
    /// A page with one job, number 1, opened with these fields.
    pub fn with_job(more: &[(&str, &str)]) -> Self {
        let page = Self::new(Limits::default());
        let fields = [&[("complaint", "hard to start cold")], more].concat();
        let opened = page.visitor().post("/new", &fields);
        assert_eq!(opened.status, 303, "{}", opened.body);
        page
    }

    pub fn at(limits: Limits, lan: Option<IpAddr>) -> Self {
        let place = tempfile::tempdir().unwrap();
        let book = place.path().join("book");
        let knowledge = Arc::new(knowledge::load(&KnowledgeFiles::built_in()).unwrap());
        let running = web::start(Settings {
            book: book.clone(),
            knowledge: Arc::clone(&knowledge),
            port: 0,
            lan,
            limits,
        });
        Self {
            running: running.unwrap(),
            lan,
            knowledge,
            book,
            _place: place,
        }
    }

    pub fn address(&self) -> SocketAddr {
        let address = self.running.address;
        SocketAddr::new(self.lan.unwrap_or(address.ip()), address.port())
    }

    pub fn entries(&self, job: &str) -> usize {
        let book = Book::open(&self.book, Access::Read).unwrap();
        book.entries(job).unwrap_or(0)
    }

    pub fn send(&self, bytes: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(self.address()).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(300)))
            .unwrap();
        // A server that has seen enough may close before everything is sent.
        let _ = stream.write_all(bytes);
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        let text = String::from_utf8_lossy(&all).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok());
        Answer {
            status: status.unwrap_or(0),
            head: head.to_owned(),
            body: body.to_owned(),
        }
    }

    pub fn get(&self, path: &str, more: &str) -> Answer {
        let host = self.address();
        self.send(
            format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{more}\r\n")
                .as_bytes(),
        )
    }

    /// A browser that has looked at a page: its cookie and the token of its forms.
    pub fn visitor(&self) -> Visitor<'_> {
        let first = if self.lan.is_some() { "/join" } else { "/new" };
        let page = self.get(first, "");
        assert_eq!(page.status, 200, "{}", page.body);
        let cookie = page.header("set-cookie").unwrap();
        Visitor {
            page: self,
            cookie: cookie.split(';').next().unwrap().to_owned(),
            token: page.hidden("token"),
        }
    }
}

pub struct Visitor<'p> {
    pub page: &'p Page,
    pub cookie: String,
    pub token: String,
}

impl Visitor<'_> {
    /// The head lines of an honest write.
    pub fn honest(&self) -> String {
        let host = self.page.address();
        format!(
            "Host: {host}\r\nOrigin: http://{host}\r\nCookie: {}\r\n",
            self.cookie
        )
    }

    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut all = vec![("token", self.token.as_str())];
        all.extend(fields);
        self.post_raw(path, &self.honest(), form(&all).as_bytes())
    }

    /// Sends a form of job 1 that is taken, and gives the page that follows.
    pub fn added(&self, what: &str, more: &[(&str, &str)]) -> Answer {
        let sent = self.post("/job/1/add", &[&[("what", what)], more].concat());
        assert_eq!(sent.status, 303, "{}", sent.body);
        self.get(sent.header("location").unwrap())
    }

    pub fn post_raw(&self, path: &str, head: &str, body: &[u8]) -> Answer {
        let kind = "Content-Type: application/x-www-form-urlencoded";
        let length = body.len();
        let mut bytes = format!(
            "POST {path} HTTP/1.1\r\n{head}{kind}\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n"
        )
        .into_bytes();
        bytes.extend(body);
        self.page.send(&bytes)
    }

    /// A page; one that is being reckoned is looked at again until it is whole.
    pub fn get(&self, path: &str) -> Answer {
        let begun = std::time::Instant::now();
        loop {
            let answer = self.page.get(path, &format!("Cookie: {}\r\n", self.cookie));
            if !answer.body.contains("data-again") {
                return answer;
            }
            assert!(begun.elapsed() < PATIENCE, "{path} is never whole");
            std::thread::sleep(Duration::from_millis(100));
        }
    }
}

pub fn form(fields: &[(&str, &str)]) -> String {
    let coded = |text: &str| -> String { text.bytes().map(|b| format!("%{b:02X}")).collect() };
    let pairs = fields
        .iter()
        .map(|(n, v)| format!("{}={}", coded(n), coded(v)));
    pairs.collect::<Vec<_>>().join("&")
}
