//! What every request passes before a page is made, and what every answer carries.
//!
//! Must not make pages.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, COOKIE, HeaderName, REFERRER_POLICY,
    SET_COOKIE, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::bench::Bench;
use super::fields::Fields;
use super::frame;
use super::seats::Seats;

/// The other end of the connection.
#[derive(Debug, Clone, Copy)]
pub struct Peer(pub SocketAddr);

/// Who asks, and what the form brought; checked.
#[derive(Debug, Clone)]
pub struct Caller {
    /// The browser.
    pub seat: String,
    /// Where it is.
    pub from: IpAddr,
    /// The form; empty for a page that is only looked at.
    pub form: Fields,
}

/// Nothing but what this server sends itself, and no frame around it.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
                      img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
/// Kind of body a form brings.
const FORM: &str = "application/x-www-form-urlencoded";
/// Where another machine shows the join code.
pub const JOIN: &str = "/join";

/// Refuses what may not be asked, and runs the rest.
pub async fn guard(State(bench): State<Arc<Bench>>, request: Request, next: Next) -> Response {
    let is_post = request.method() == Method::POST;
    let (fresh, seat) = seat(request.headers(), bench.port());
    let mut response = match admit(&bench, request, seat.clone()).await {
        Ok(request) => next.run(request).await,
        Err(refused) => refused,
    };
    let headers = response.headers_mut();
    let mut put = |name: HeaderName, value: &'static str| {
        headers.insert(name, HeaderValue::from_static(value));
    };
    put(CONTENT_SECURITY_POLICY, POLICY);
    put(X_CONTENT_TYPE_OPTIONS, "nosniff");
    put(X_FRAME_OPTIONS, "DENY");
    put(REFERRER_POLICY, "same-origin");
    put(
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    );
    put(
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    );
    headers
        .entry(CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    if fresh && !is_post {
        let cookie = format!(
            "{}={seat}; Path=/; HttpOnly; SameSite=Strict",
            cookie_name(bench.port())
        );
        if let Ok(cookie) = HeaderValue::from_str(&cookie) {
            headers.insert(SET_COOKIE, cookie);
        }
    }
    response
}

/// Browsers keep cookies by machine, not by port.
fn cookie_name(port: u16) -> String {
    format!("hardstart_{port}")
}

/// The seat a request brings, or a fresh one.
fn seat(headers: &HeaderMap, port: u16) -> (bool, String) {
    let name = cookie_name(port);
    let all = headers.get_all(COOKIE).iter();
    let found = all
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(key, value)| *key == name && Seats::is_seat(value));
    match found {
        Some((_, seat)) => (false, seat.to_owned()),
        None => (true, Seats::fresh().unwrap_or_default()),
    }
}

async fn admit(bench: &Bench, request: Request, seat: String) -> Result<Request, Response> {
    if !bench.hosts().is_named(request.headers()) {
        let what = "This server is asked under a name that is not its own.";
        let advice = "Use the address it printed when it was started.";
        return Err(refuse(StatusCode::FORBIDDEN, what, advice));
    }
    let method = request.method().clone();
    if !matches!(method, Method::GET | Method::HEAD | Method::POST) {
        let what = "Pages are looked at, and forms are sent; nothing else.";
        return Err(refuse(StatusCode::METHOD_NOT_ALLOWED, what, ""));
    }
    let from = request
        .extensions()
        .get::<Peer>()
        .map_or(IpAddr::from([0, 0, 0, 0]), |p| p.0.ip());
    let path = request.uri().path();
    let open_to_all = path == JOIN || path.starts_with("/look/");
    if !from.is_loopback() && !open_to_all && !bench.seats().has_joined(&seat) {
        if method == Method::POST {
            let what = "This phone has not joined.";
            let advice = "Open the join page and type the code that the server printed.";
            return Err(refuse(StatusCode::FORBIDDEN, what, advice));
        }
        return Err((StatusCode::SEE_OTHER, [("location", JOIN)]).into_response());
    }
    let (mut parts, body) = request.into_parts();
    let form = if method == Method::POST {
        form(bench, &parts.headers, body, &seat).await?
    } else {
        Fields::default()
    };
    parts.extensions.insert(Caller { seat, from, form });
    Ok(Request::from_parts(parts, Body::empty()))
}

/// The form of a write from an own page, with its token.
async fn form(
    bench: &Bench,
    headers: &HeaderMap,
    body: Body,
    seat: &str,
) -> Result<Fields, Response> {
    if !bench.hosts().is_own_write(headers) {
        let what = "This was sent from somewhere else, so nothing was written.";
        let advice = "Open the page here and send it again.";
        return Err(refuse(StatusCode::FORBIDDEN, what, advice));
    }
    let kind = headers.get(CONTENT_TYPE).and_then(|v| v.to_str().ok());
    let kind = kind.and_then(|k| k.split(';').next()).unwrap_or_default();
    if !kind.trim().eq_ignore_ascii_case(FORM) {
        let what = "What was sent is not a form.";
        return Err(refuse(StatusCode::UNSUPPORTED_MEDIA_TYPE, what, ""));
    }
    let limits = bench.limits();
    let read = to_bytes(body, limits.body_bytes);
    let bytes = match tokio::time::timeout(limits.body, read).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(_)) => {
            let what = "That is too long, or it broke off; nothing was written.";
            let advice = "Shorten the text and send it again.";
            return Err(refuse(StatusCode::PAYLOAD_TOO_LARGE, what, advice));
        }
        Err(_) => {
            let what = "It took too long to arrive; nothing was written.";
            return Err(refuse(StatusCode::REQUEST_TIMEOUT, what, "Send it again."));
        }
    };
    let Some(form) = Fields::parse(&bytes) else {
        let what = "What was sent cannot be read; nothing was written.";
        return Err(refuse(StatusCode::BAD_REQUEST, what, ""));
    };
    if !bench.seats().is_token(seat, form.get("token")) {
        let what = "This page is from before the server was started again, or the browser keeps \
                    no cookies; nothing was written.";
        let advice = "Open the page again, and type it once more.";
        return Err(refuse(StatusCode::FORBIDDEN, what, advice));
    }
    Ok(form)
}

/// A page that says what was refused and what to try.
pub fn refuse(status: StatusCode, what: &str, advice: &str) -> Response {
    (status, frame::refused(what, advice)).into_response()
}
