//! A browser without a window, by the WebDriver protocol (W3C): JSON over plain HTTP to a
//! driver of its own.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// Where Debian puts the driver.
pub const DRIVER: &str = "/usr/bin/chromedriver";
/// Key of an element in answers (W3C WebDriver, 12.1).
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// A busy machine makes a page of a long job slowly.
const PATIENCE: Duration = Duration::from_secs(300);

/// What the browser is like.
#[derive(Debug, Clone, Copy)]
pub struct View {
    pub width: u32,
    pub height: u32,
    pub dark: bool,
    pub script: bool,
}

/// A phone of the smaller kind, in daylight.
pub const PHONE: View = View {
    width: 360,
    height: 640,
    dark: false,
    script: true,
};

pub struct Browser {
    driver: Child,
    address: SocketAddr,
    session: String,
}

impl Browser {
    pub fn new(view: View) -> Self {
        let free = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = free.local_addr().unwrap();
        drop(free);
        let driver = Command::new(DRIVER)
            .arg(format!("--port={}", address.port()))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut browser = Self {
            driver,
            address,
            session: String::new(),
        };
        let begun = Instant::now();
        while TcpStream::connect(address).is_err() {
            assert!(begun.elapsed() < PATIENCE, "the driver does not listen");
            std::thread::sleep(Duration::from_millis(50));
        }
        let javascript = if view.script { 1 } else { 2 };
        let (width, height) = (view.width, view.height);
        let options = json!({
            "args": ["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                     "--hide-scrollbars", format!("--window-size={width},{height}")],
            "prefs": { "profile.managed_default_content_settings.javascript": javascript },
            "mobileEmulation": { "deviceMetrics": { "width": width, "height": height, "pixelRatio": 2.0 } }
        });
        let wanted =
            json!({ "capabilities": { "alwaysMatch": { "goog:chromeOptions": options } } });
        let made = browser.call("POST", "/session", &wanted);
        browser.session = made["sessionId"].as_str().unwrap().to_owned();
        // Nothing slides, so that what is seen does not depend on the moment.
        let scheme = if view.dark { "dark" } else { "light" };
        let features = json!([
            { "name": "prefers-color-scheme", "value": scheme },
            { "name": "prefers-reduced-motion", "value": "reduce" }
        ]);
        let media =
            json!({ "cmd": "Emulation.setEmulatedMedia", "params": { "features": features } });
        browser.ask("goog/cdp/execute", &media);
        browser
    }

    fn call(&self, method: &str, path: &str, body: &Value) -> Value {
        let value = self.try_call(method, path, body);
        assert!(value.get("error").is_none(), "{path}: {value:#}");
        value
    }

    fn try_call(&self, method: &str, path: &str, body: &Value) -> Value {
        let body = if method == "POST" {
            body.to_string()
        } else {
            String::new()
        };
        let mut stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n",
            self.address,
            body.len()
        );
        stream.write_all(head.as_bytes()).unwrap();
        stream.write_all(body.as_bytes()).unwrap();
        let mut answer = BufReader::new(stream);
        let mut length = 0;
        loop {
            let mut line = String::new();
            answer.read_line(&mut line).unwrap();
            if line.trim().is_empty() {
                break;
            }
            if let Some(count) = line.to_lowercase().strip_prefix("content-length:") {
                length = count.trim().parse().unwrap();
            }
        }
        let mut body = vec![0; length];
        answer.read_exact(&mut body).unwrap();
        let answer: Value = serde_json::from_slice(&body).unwrap();
        answer["value"].clone()
    }

    fn ask(&self, what: &str, body: &Value) -> Value {
        self.call("POST", &format!("/session/{}/{what}", self.session), body)
    }

    fn get(&self, what: &str) -> Value {
        self.call(
            "GET",
            &format!("/session/{}/{what}", self.session),
            &Value::Null,
        )
    }

    pub fn go(&self, url: &str) {
        self.ask("url", &json!({ "url": url }));
        self.whole();
    }

    /// Looks again, as a person would, until nothing of the page is being reckoned.
    fn whole(&self) {
        const LOOK: &str = "return document.readyState === 'complete' \
                            && !document.querySelector('[data-again]')";
        let begun = Instant::now();
        let look = json!({ "script": LOOK, "args": [] });
        let path = format!("/session/{}/execute/sync", self.session);
        // While the script of the page looks again by itself there may be no page to ask.
        while self.try_call("POST", &path, &look) != true {
            assert!(begun.elapsed() < PATIENCE, "the page is never whole");
            std::thread::sleep(Duration::from_millis(200));
            let reckoned =
                json!({ "script": "return !!document.querySelector('[data-again]')", "args": [] });
            if self.try_call("POST", &path, &reckoned) == true {
                self.ask("refresh", &json!({}));
            }
        }
    }

    pub fn find(&self, css: &str) -> String {
        let found = self.ask("element", &json!({ "using": "css selector", "value": css }));
        found[ELEMENT].as_str().unwrap().to_owned()
    }

    pub fn click(&self, css: &str) {
        let one = self.find(css);
        // By the keyboard, so that the bar at the foot is never in the way.
        let tag = self.get(&format!("element/{one}/name"));
        let key = if tag == "input" { " " } else { "\u{e007}" };
        self.ask(&format!("element/{one}/value"), &json!({ "text": key }));
    }

    /// Presses what leads to another page, and waits until the old one is gone.
    pub fn follow(&self, css: &str) {
        self.follow_by(css, || self.click(css));
    }

    /// Does what leads to another page, and waits until the old one is gone.
    pub fn follow_by(&self, css: &str, press: impl FnOnce()) {
        let old = self.find("html");
        press();
        let path = format!("/session/{}/element/{old}/name", self.session);
        let begun = Instant::now();
        while self
            .try_call("GET", &path, &Value::Null)
            .get("error")
            .is_none()
        {
            assert!(begun.elapsed() < PATIENCE, "{css} leads nowhere");
            std::thread::sleep(Duration::from_millis(20));
        }
        self.whole();
    }

    pub fn fill(&self, css: &str, text: &str) {
        let one = self.find(css);
        self.ask(&format!("element/{one}/clear"), &json!({}));
        self.ask(&format!("element/{one}/value"), &json!({ "text": text }));
    }

    pub fn pick(&self, css: &str, value: &str) {
        let one = self.find(&format!("{css} option[value='{value}']"));
        self.ask(&format!("element/{one}/click"), &json!({}));
    }

    pub fn text(&self, css: &str) -> String {
        let one = self.find(css);
        let text = self.get(&format!("element/{one}/text"));
        text.as_str().unwrap().to_owned()
    }

    /// Value of an attribute of the first that fits; nothing where none does.
    pub fn attribute(&self, css: &str, name: &str) -> Option<String> {
        let of = "const e = document.querySelector(arguments[0]); \
                  return e && e.getAttribute(arguments[1])";
        let value = self.script(of, &json!([css, name]));
        value.as_str().map(str::to_owned)
    }

    pub fn is_shown(&self, css: &str) -> bool {
        let one = self.find(css);
        self.get(&format!("element/{one}/displayed")) == true
    }

    /// What a script of the test says; it runs whatever the page's policy is.
    pub fn script(&self, script: &str, args: &Value) -> Value {
        self.ask("execute/sync", &json!({ "script": script, "args": args }))
    }

    /// The same for one that calls its last argument when it is done.
    pub fn script_later(&self, script: &str, args: &Value) -> Value {
        self.ask("execute/async", &json!({ "script": script, "args": args }))
    }

    /// Presses keys one after the other, wherever the focus is.
    pub fn keys(&self, text: &str) {
        let key = |c: char| {
            let value = c.to_string();
            [
                json!({ "type": "keyDown", "value": value }),
                json!({ "type": "keyUp", "value": value }),
            ]
        };
        let presses: Vec<Value> = text.chars().flat_map(key).collect();
        let keyboard = json!({ "type": "key", "id": "keyboard", "actions": presses });
        self.ask("actions", &json!({ "actions": [keyboard] }));
    }

    pub fn pdf(&self, options: &Value) -> Vec<u8> {
        base64(self.ask("print", options).as_str().unwrap())
    }

    pub fn screenshot(&self, file: &Path) {
        let picture = self.get("screenshot");
        std::fs::write(file, base64(picture.as_str().unwrap())).unwrap();
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() && !std::thread::panicking() {
            self.call(
                "DELETE",
                &format!("/session/{}", self.session),
                &Value::Null,
            );
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// Base 64 (RFC 4648, 4).
fn base64(text: &str) -> Vec<u8> {
    const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let six = text
        .bytes()
        .filter_map(|b| LETTERS.iter().position(|l| *l == b));
    let (mut bits, mut count, mut bytes) = (0_usize, 0, Vec::new());
    for value in six {
        bits = (bits << 6) | value;
        count += 6;
        if count >= 8 {
            count -= 8;
            bytes.push((bits >> count) as u8);
            bits &= (1 << count) - 1;
        }
    }
    bytes
}
