//! Hostile and broken requests against a running bench page: refused or escaped, and nothing
//! of them written.

mod bench_page;

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use bench_page::{Page, Visitor, form};
use hardstart::job::book::{Access, Book};
use hardstart::web::Limits;

/// A page with one job, number 1.
fn with_job() -> Page {
    let page = Page::new(Limits::default());
    let opened = page
        .visitor()
        .post("/new", &[("complaint", "hard cold"), ("cylinders", "4")]);
    assert_eq!(opened.status, 303, "{}", opened.body);
    page
}

fn remark(visitor: &Visitor<'_>, more: &[(&str, &str)]) -> bench_page::Answer {
    let fields = [&[("what", "note"), ("note", "a remark")], more].concat();
    visitor.post("/job/1/add", &fields)
}

#[test]
fn an_honest_form_is_written_once_however_often_it_is_sent() {
    let page = with_job();
    let visitor = page.visitor();
    for _ in 0..3 {
        let sent = remark(&visitor, &[("key", "0123456789abcdef")]);
        assert_eq!(sent.status, 303, "{}", sent.body);
        assert_eq!(sent.header("location"), Some("/job/1?saved=1&seen=0"));
    }
    assert_eq!(page.entries("1"), 1);
}

#[test]
fn what_another_phone_wrote_meanwhile_is_said() {
    let page = with_job();
    let (one, two) = (page.visitor(), page.visitor());
    remark(&one, &[("key", "a"), ("seen", "0"), ("by", "JK")]);
    let sent = remark(&two, &[("key", "b"), ("seen", "0")]);
    assert_eq!(page.entries("1"), 2, "both are kept");
    let shown = two.get(sent.header("location").unwrap());
    assert!(shown.body.contains("Another phone wrote meanwhile"));
    assert!(shown.body.contains("(JK)"));
}

#[test]
fn a_wrong_host_is_refused() {
    let page = with_job();
    for host in [
        "evil.example",
        "evil.example:80",
        "127.0.0.1",
        "127.0.0.1.evil.example",
        "",
    ] {
        let sent = page.send(
            format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").as_bytes(),
        );
        assert_eq!(sent.status, 403, "{host}: {}", sent.head);
    }
    let none = page.send(b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n");
    assert!(matches!(none.status, 400 | 403), "{}", none.head);
}

#[test]
fn a_write_from_elsewhere_is_refused() {
    let page = with_job();
    let visitor = page.visitor();
    let host = page.address();
    let cookie = &visitor.cookie;
    let body = form(&[("token", &visitor.token), ("what", "note"), ("note", "x")]);
    for from in [
        "Origin: http://evil.example\r\n".to_owned(),
        "Origin: null\r\n".to_owned(),
        format!("Origin: http://{host}\r\nSec-Fetch-Site: cross-site\r\n"),
        format!("Origin: http://{host}.evil.example\r\n"),
        "Referer: http://evil.example/\r\n".to_owned(),
        String::new(),
    ] {
        let head = format!("Host: {host}\r\nCookie: {cookie}\r\n{from}");
        let sent = visitor.post_raw("/job/1/add", &head, body.as_bytes());
        assert_eq!(sent.status, 403, "{from}");
    }
    assert_eq!(page.entries("1"), 0);
}

#[test]
fn a_write_without_its_token_is_refused() {
    let page = with_job();
    let visitor = page.visitor();
    let other = page.visitor();
    for token in ["", "0", &other.token] {
        let body = form(&[("token", token), ("what", "note"), ("note", "x")]);
        let sent = visitor.post_raw("/job/1/add", &visitor.honest(), body.as_bytes());
        assert_eq!(sent.status, 403, "{token}");
    }
    assert_eq!(page.entries("1"), 0);
}

#[test]
fn an_oversized_body_or_head_is_refused() {
    let page = with_job();
    let visitor = page.visitor();
    let long = "x".repeat(Limits::default().body_bytes);
    assert_eq!(remark(&visitor, &[("more", &long)]).status, 413);
    let head = format!("X-Long: {long}\r\n");
    assert_eq!(page.get("/", &head).status, 431);
    assert_eq!(page.entries("1"), 0);
}

#[test]
fn what_is_malformed_is_refused() {
    let page = with_job();
    let visitor = page.visitor();
    for body in [&b"a=%zz"[..], b"a=%ff", b"note=%00", b"\xff\xfe", b"%"] {
        let sent = visitor.post_raw("/job/1/add", &visitor.honest(), body);
        assert_eq!(sent.status, 400, "{body:?}");
    }
    let json = format!(
        "POST /job/1/add HTTP/1.1\r\n{}Content-Type: application/json\r\n\
         Content-Length: 2\r\nConnection: close\r\n\r\n{{}}",
        visitor.honest()
    );
    assert_eq!(page.send(json.as_bytes()).status, 415);
    let host = page.address();
    for method in ["PUT", "DELETE", "TRACE", "OPTIONS", "BREW"] {
        let asked = format!("{method} / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        assert_eq!(page.send(asked.as_bytes()).status, 405, "{method}");
    }
    assert_eq!(page.send(b"\x16\x03\x01 nonsense\r\n\r\n").status, 400);
    assert_eq!(page.get("/?state=%ff", "").status, 400);
    for what in ["nothing", "reading", "undo"] {
        let sent = visitor.post("/job/1/add", &[("what", what)]);
        assert!(matches!(sent.status, 404 | 422), "{what}: {}", sent.status);
    }
    assert_eq!(page.entries("1"), 0);
    assert_eq!(page.get("/", "").status, 200, "the server still stands");
}

#[test]
fn tricks_with_paths_find_nothing() {
    let page = with_job();
    for path in [
        "/../../etc/passwd",
        "/look/../../../etc/passwd",
        "/look/%2e%2e/%2e%2e/etc/passwd",
        "/look/slip.css/..",
        "/job/..%2f..%2fetc%2fpasswd",
        "/job/1/../../etc",
        "//etc/passwd",
        "/job/%00",
        "/job/1%27%20OR%201=1",
        "/job/%ff",
    ] {
        let answer = page.get(path, "");
        assert!(
            matches!(answer.status, 400 | 404),
            "{path}: {}",
            answer.status
        );
        assert!(!answer.body.contains("root:"), "{path}");
    }
}

/// Every field a text may be typed in, with a text that would run if it were not escaped.
#[test]
fn html_in_every_text_field_is_shown_as_typed() {
    const EVIL: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    let page = Page::new(Limits::default());
    let visitor = page.visitor();
    let opened = visitor.post(
        "/new",
        &[
            ("complaint", EVIL),
            ("job", EVIL),
            ("use", EVIL),
            ("opinion", EVIL),
        ],
    );
    assert_eq!(opened.status, 303, "{}", opened.body);
    let job = opened.header("location").unwrap().to_owned();
    let add = format!("{job}/add");
    let with = |what: &'static str, more: &[(&'static str, &'static str)]| {
        let fields = [&[("what", what), ("by", EVIL), ("note", EVIL)], more].concat();
        visitor.post(&add, &fields)
    };
    let kept = [
        with("note", &[]),
        with(
            "reading",
            &[
                ("check", "battery_rest_volts"),
                ("value", "12.4 V"),
                ("tool", EVIL),
            ],
        ),
        with(
            "cannot",
            &[("check", "plug_current_total"), ("reason", EVIL)],
        ),
        with("aside", &[("entry", "3"), ("why", EVIL)]),
        with("mark", &[("state", "parked")]),
    ];
    let bounced = [
        with(
            "start",
            &[
                ("engine_temperature", EVIL),
                ("soak", EVIL),
                ("tries", EVIL),
            ],
        ),
        with("start", &[("sign.crank_time", EVIL), ("sign.<b>", EVIL)]),
        with("told", &[("told.since", EVIL)]),
        with(
            "reading",
            &[("check", "plug_ohms"), ("cylinder", EVIL), ("value", EVIL)],
        ),
        with("work", &[("repair", EVIL), ("minutes", EVIL)]),
        with("mark", &[("state", EVIL)]),
    ];
    let pages = [
        "",
        "/sheet",
        "/engine",
        "/close",
        "/work",
        "/cold",
        "/change?entry=3",
    ];
    let shown = pages.map(|p| visitor.get(&format!("{job}{p}")));
    assert!(shown.iter().all(|p| p.status == 200));
    for answer in kept
        .iter()
        .chain(&bounced)
        .chain(&shown)
        .chain([&visitor.get("/")])
    {
        assert!(!answer.body.contains("<script>alert"), "{}", answer.body);
        assert!(!answer.body.contains("<img"), "{}", answer.body);
    }
    assert!(
        kept.iter().all(|a| a.status == 303),
        "{:?}",
        kept.map(|a| (a.status, a.body))
    );
    assert!(bounced.iter().all(|a| a.status == 422));
    assert!(
        shown[0].body.contains("&lt;script&gt;alert(1)"),
        "shown as typed"
    );
    assert!(shown[0].body.len() < 100_000);
    assert!(
        !shown[0].body.contains(" style="),
        "no style within the page"
    );
    assert!(!shown[0].body.contains("<style"));
}

/// A form of a page: where it goes, its hidden fields, and the fields a text may be typed in.
struct Form {
    action: String,
    hidden: Vec<(String, String)>,
    texts: Vec<String>,
}

fn forms(html: &str) -> Vec<Form> {
    let attribute = |tag: &str, name: &str| {
        let from = tag.split_once(&format!("{name}=\""))?.1;
        Some(from.split('"').next().unwrap_or_default().to_owned())
    };
    let pieces = html.split("<form ").skip(1);
    pieces
        .map(|piece| {
            let inside = piece.split("</form>").next().unwrap();
            let mut form = Form {
                action: attribute(inside, "action").unwrap(),
                hidden: Vec::new(),
                texts: Vec::new(),
            };
            for tag in inside.split('<').skip(1) {
                let tag = tag.split('>').next().unwrap();
                let Some(name) = attribute(tag, " name") else {
                    continue;
                };
                let kind = attribute(tag, "type").unwrap_or_default();
                match (tag.split(' ').next().unwrap(), kind.as_str()) {
                    ("input", "hidden") => {
                        form.hidden
                            .push((name, attribute(tag, "value").unwrap_or_default()));
                    }
                    // Whatever is chosen can be typed by who sends no form of ours.
                    _ if !form.texts.contains(&name) => form.texts.push(name),
                    _ => {}
                }
            }
            form
        })
        .collect()
}

/// Every field of every form there is, found on the pages themselves, one after the other.
#[test]
fn html_in_any_field_of_any_form_never_becomes_markup() {
    const EVIL: &str = "\"'><img src=x onerror=alert(1)>";
    let page = with_job();
    let visitor = page.visitor();
    let entry = [
        ("what", "reading"),
        ("check", "plug_glow_time"),
        ("cylinder", "1"),
        ("value", "8,2 s"),
    ];
    assert_eq!(visitor.post("/job/1/add", &entry).status, 303);
    let pages = [
        "/new",
        "/join",
        "/job/1",
        "/job/1/start",
        "/job/1/cold",
        "/job/1/told",
        "/job/1/reading?check=plug_glow_time&cylinder=1",
        "/job/1/reading?check=plug_ohms",
        "/job/1/work",
        "/job/1/close",
        "/job/1/engine",
        "/job/1/change?entry=1",
    ];
    let safe = |body: &str, of: &str| assert!(!body.contains("<img"), "{of}: {body}");
    let mut tried = std::collections::BTreeSet::new();
    for path in pages {
        for form in forms(&visitor.get(path).body) {
            for name in &form.texts {
                let kind = form.hidden.iter().find(|h| h.0 == "what");
                if !tried.insert((form.action.clone(), kind.cloned(), name.clone())) {
                    continue;
                }
                let keep = |h: &&(String, String)| !matches!(h.0.as_str(), "token" | "key");
                let hidden = form.hidden.iter().filter(keep);
                let mut fields: Vec<(&str, &str)> =
                    hidden.map(|(n, v)| (n.as_str(), v.as_str())).collect();
                fields.push((name, EVIL));
                let sent = visitor.post(&form.action, &fields);
                let of = format!("{path} {name}");
                // A guessed join code may have to wait.
                assert!(
                    matches!(sent.status, 303 | 422 | 429),
                    "{of}: {}",
                    sent.status
                );
                safe(&sent.body, &of);
                // The slip is looked at once, at the end; other jobs at once.
                if let Some(next) = sent
                    .header("location")
                    .filter(|l| !l.starts_with("/job/1?"))
                {
                    safe(&visitor.get(next).body, &of);
                }
            }
        }
    }
    assert!(tried.len() > 100, "only {} fields were found", tried.len());
    // What was written in is shown nowhere as markup, and the address is no way in either.
    for path in [
        "/".to_owned(),
        "/job/1".to_owned(),
        "/job/1/sheet".to_owned(),
        "/job/1/plan".to_owned(),
    ] {
        safe(&visitor.get(&path).body, &path);
    }
    let evil = form(&[("", EVIL)]);
    for path in [
        "/?state",
        "/?from",
        "/join?code",
        "/job/1?saved",
        "/job/1/start?soak",
        "/job/1/reading?check=plug_ohms&value",
        "/job/1/reading?check",
        "/job/1/why?cause",
        "/job/1/change?entry",
        "/job/1/work?repair",
    ] {
        safe(&visitor.get(&format!("{path}{evil}")).body, path);
    }
}

#[test]
fn every_answer_carries_the_policy() {
    let page = with_job();
    for path in ["/", "/job/1", "/nothing", "/look/slip.js"] {
        let answer = page.get(path, "");
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.starts_with("default-src 'none'"), "{path}");
        assert!(!policy.contains("unsafe") && policy.contains("frame-ancestors 'none'"));
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
    }
    let cookie = page.get("/", "");
    let cookie = cookie.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"));
}

/// Heads that never end, more of them than connections are borne: others are served after the
/// time a head may take.
#[test]
fn slow_heads_and_bodies_are_cut_and_others_served() {
    let limits = Limits {
        connections: 8,
        head: Duration::from_millis(600),
        body: Duration::from_millis(600),
        ..Limits::default()
    };
    let page = Page::new(limits);
    let visitor = page.visitor();
    let slow: Vec<TcpStream> = (0..24)
        .map(|_| {
            let mut stream = TcpStream::connect(page.address()).unwrap();
            stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
            stream
        })
        .collect();
    let begun = Instant::now();
    assert_eq!(page.get("/", "").status, 200);
    assert!(begun.elapsed() < Duration::from_secs(20));
    drop(slow);
    let mut body = TcpStream::connect(page.address()).unwrap();
    let head = format!(
        "POST /new HTTP/1.1\r\n{}Content-Type: application/x-www-form-urlencoded\r\n\
         Content-Length: 500\r\n\r\ncomplaint=",
        visitor.honest()
    );
    body.write_all(head.as_bytes()).unwrap();
    let mut answer = String::new();
    let _ = body.read_to_string(&mut answer);
    assert!(answer.starts_with("HTTP/1.1 408"), "{answer}");
}

#[test]
fn a_flood_of_connections_is_survived() {
    let page = with_job();
    std::thread::scope(|scope| {
        for _ in 0..20 {
            scope.spawn(|| {
                for _ in 0..20 {
                    assert_eq!(page.get("/", "").status, 200);
                }
            });
        }
    });
    let book = Book::open(&page.book, Access::Read).unwrap();
    assert_eq!(book.names().unwrap(), ["1"]);
    assert!(!page.knowledge.checks.is_empty());
}

/// From another address of the network nothing is shown or written before the code is typed,
/// and the code is not guessed.
#[test]
fn a_phone_in_the_network_joins_with_the_code() {
    // Nothing is sent: the system says which address it would send from (RFC 5737 range).
    let own = std::net::UdpSocket::bind("0.0.0.0:0").unwrap();
    let own = own.connect("192.0.2.1:9").and_then(|()| own.local_addr());
    let Ok(own) = own.map(|a| a.ip()) else {
        let skipped = b"SKIPPED, NOT PASSED: this machine has no address in a network\n";
        let _ = std::io::stderr().write_all(skipped);
        return;
    };
    let page = Page::at(Limits::default(), Some(own));
    let shown = page.get("/", "");
    assert_eq!(
        (shown.status, shown.header("location")),
        (303, Some("/join"))
    );
    let phone = page.visitor();
    assert_eq!(phone.post("/new", &[("complaint", "x")]).status, 403);
    let code = page.running.join_code.to_lowercase();
    assert_eq!(phone.post("/join", &[("code", &code)]).status, 303);
    assert_eq!(phone.get("/").status, 200);
    assert_eq!(phone.post("/new", &[("complaint", "x")]).status, 303);

    let guesser = page.visitor();
    for _ in 0..Limits::default().wrong_codes {
        assert_eq!(guesser.post("/join", &[("code", "AAAAAAAA")]).status, 422);
    }
    assert_eq!(guesser.post("/join", &[("code", &code)]).status, 429);
    assert_eq!(guesser.get("/").status, 303);
    assert_eq!(phone.get("/").status, 200, "who has joined stays in");
}
