//! What every page has around it: head, one column, the bar at the foot.
//!
//! No style and no script stands in a page. Must not know what a page says.

use axum::body::Body;
use axum::http::header;
use axum::response::Response;
use maud::{DOCTYPE, Markup, html};

use super::fields::coded;

impl axum::response::IntoResponse for Whole {
    fn into_response(self) -> Response {
        Response::builder()
            .header(header::CONTENT_TYPE, "text/html; charset=utf-8")
            .body(Body::from(self.0.into_string()))
            .unwrap_or_default()
    }
}

/// A page that is whole.
#[derive(Debug)]
pub struct Whole(pub Markup);

/// A page of the bench.
#[must_use]
pub fn page(title: &str, bar: &Markup, content: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                link rel="stylesheet" href="/look/slip.css";
                script src="/look/slip.js" defer {}
            }
            body {
                a.skip href="#slip" { "To the slip" }
                main #slip { (content) }
                p #says .says role="status" aria-live="polite" {}
                (bar)
            }
        }
    }
}

/// The bar at the foot of a page outside any job.
#[must_use]
pub fn bar_of_book() -> Markup {
    html! { nav.bar aria-label="Book" { a.key href="/" { "Jobs" } a.key href="/new" { "New job" } } }
}

/// The bar at the foot of a job's pages.
#[must_use]
pub fn bar_of_job(job: &str) -> Markup {
    let own = of_job(job, "");
    html! {
        nav.bar aria-label="Job" {
            a.key href=(of_job(job, "reading")) { "Add reading" }
            a.key href=(format!("{own}#next")) { "Next check" }
        }
    }
}

/// Address of a page of a job.
#[must_use]
pub fn of_job(job: &str, page: &str) -> String {
    let job = coded(job);
    if page.is_empty() {
        format!("/job/{job}")
    } else {
        format!("/job/{job}/{page}")
    }
}

/// What was refused and what to try.
#[must_use]
pub fn refused(what: &str, advice: &str) -> Whole {
    let content = html! {
        section.card {
            h1 { "Not done" }
            p { (what) }
            @if !advice.is_empty() { p { (advice) } }
        }
    };
    Whole(page("Not done", &bar_of_book(), &content))
}
