//! Whether a request names this server, and whether a write comes from one of its own pages.
//!
//! A page elsewhere that resolves its own name to this machine names itself in `Host`; a form
//! elsewhere names its place in `Origin`. Must not know what is asked for.

use std::net::{IpAddr, SocketAddr};

use axum::http::HeaderMap;
use axum::http::header::{HOST, ORIGIN, REFERER};

/// The names under which this server may be asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hosts(Vec<String>);

impl Hosts {
    /// This machine by its usual names, and its address in the workshop.
    #[must_use]
    pub fn new(address: SocketAddr, lan: Option<IpAddr>) -> Self {
        let port = address.port();
        let mut names: Vec<String> = ["127.0.0.1", "localhost", "[::1]"]
            .iter()
            .map(|name| format!("{name}:{port}"))
            .collect();
        names.extend(lan.map(|ip| SocketAddr::new(ip, port).to_string()));
        Self(names)
    }

    /// Whether the request names this server, once.
    #[must_use]
    pub fn is_named(&self, headers: &HeaderMap) -> bool {
        let mut hosts = headers.get_all(HOST).iter();
        let (Some(host), None) = (hosts.next(), hosts.next()) else {
            return false;
        };
        let host = host.to_str().unwrap_or_default();
        self.0.iter().any(|name| name.eq_ignore_ascii_case(host))
    }

    /// Whether a write comes from a page of this server. A browser says where a form stands in
    /// `Origin`; older ones in `Referer` only; who says nothing is refused.
    #[must_use]
    pub fn is_own_write(&self, headers: &HeaderMap) -> bool {
        let text = |value: Option<&axum::http::HeaderValue>| {
            value.map(|v| v.to_str().unwrap_or("?").to_owned())
        };
        let site = text(headers.get("sec-fetch-site"));
        if site.is_some_and(|s| s != "same-origin") {
            return false;
        }
        let host = text(headers.get(HOST)).unwrap_or_default();
        let own = format!("http://{host}");
        match (text(headers.get(ORIGIN)), text(headers.get(REFERER))) {
            (Some(origin), _) => origin.eq_ignore_ascii_case(&own),
            (None, Some(from)) => from == own || from.starts_with(&format!("{own}/")),
            (None, None) => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(of: &[(&'static str, &str)]) -> HeaderMap {
        of.iter()
            .map(|(k, v)| (k.parse().unwrap(), v.parse().unwrap()))
            .collect()
    }

    #[test]
    fn a_write_comes_from_an_own_page_or_is_refused() {
        let hosts = Hosts::new("127.0.0.1:8017".parse().unwrap(), None);
        let host = ("host", "127.0.0.1:8017");
        let own =
            |more: &[(&'static str, &str)]| hosts.is_own_write(&headers(&[&[host], more].concat()));
        assert!(own(&[("origin", "http://127.0.0.1:8017")]));
        assert!(own(&[("referer", "http://127.0.0.1:8017/new")]));
        assert!(!own(&[]));
        assert!(!own(&[("origin", "null")]));
        assert!(!own(&[("origin", "http://127.0.0.1:80170")]));
        assert!(!own(&[("referer", "http://127.0.0.1:80170/")]));
        let from_elsewhere = [
            ("origin", "http://127.0.0.1:8017"),
            ("sec-fetch-site", "cross-site"),
        ];
        assert!(!own(&from_elsewhere));
    }
}
