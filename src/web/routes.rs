//! Which address shows which page. Pages are made in threads of their own, so that reckoning
//! keeps nobody waiting and a crash in one ends nothing else.
//!
//! Must not make pages.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, get};
use axum::{Extension, middleware};
use maud::Markup;

use super::bench::Bench;
use super::fields::Fields;
use super::frame::Whole;
use super::guard::{self, Caller};
use super::seats::Seats;
use super::{
    book_pages, closing_pages, entries_card, figures_page, forms, plan_page, reading_page,
    slip_page, start_page, why_page,
};
use crate::job::book::BookError;

/// One request, as pages see it.
#[derive(Debug)]
pub struct Ask {
    /// Number of the job, if the address names one.
    pub job: String,
    /// What the address says after the question mark.
    pub query: Fields,
    /// Who asks, and the form.
    pub caller: Caller,
    /// The token for forms.
    pub token: String,
    /// The key for forms.
    pub key: String,
}

/// What comes of it.
#[derive(Debug)]
pub enum Reply {
    /// A page.
    Page(Markup),
    /// A form with what is wrong in it.
    Again(Markup),
    /// Another address.
    See(String),
    /// Another address, after something was written in a job.
    Wrote {
        /// Its number.
        job: String,
        /// The address.
        place: String,
    },
    /// A bare number.
    Count(usize),
}

/// Why there is no page.
#[derive(Debug)]
pub enum Refusal {
    /// The book refuses.
    Book(BookError),
    /// There is no such thing.
    Missing(String),
    /// Too often; wait.
    Wait,
}

impl From<BookError> for Refusal {
    fn from(error: BookError) -> Self {
        Refusal::Book(error)
    }
}

/// A page, made of bench and request.
pub trait PageOf:
    Fn(&Bench, &Ask) -> Result<Reply, Refusal> + Clone + Send + Sync + 'static
{
}

impl<F> PageOf for F where
    F: Fn(&Bench, &Ask) -> Result<Reply, Refusal> + Clone + Send + Sync + 'static
{
}

/// Every address.
pub fn router(bench: Arc<Bench>) -> Router {
    let style = include_str!("look/slip.css");
    let script = include_str!("look/slip.js");
    let pages = Router::new()
        .route("/", get(page(book_pages::list)))
        .route("/new", both(book_pages::new, book_pages::open))
        .route(guard::JOIN, both(book_pages::join_page, book_pages::join))
        .route("/job/{job}", get(page(slip_page::slip)))
        .route(
            "/job/{job}/start",
            get(page(forms::blank(start_page::start))),
        )
        .route("/job/{job}/cold", get(page(forms::blank(start_page::cold))))
        .route("/job/{job}/told", get(page(forms::blank(start_page::told))))
        .route("/job/{job}/reading", get(page(reading_page::reading)))
        .route(
            "/job/{job}/work",
            get(page(forms::blank(closing_pages::work))),
        )
        .route(
            "/job/{job}/close",
            get(page(forms::blank(closing_pages::close))),
        )
        .route(
            "/job/{job}/engine",
            both(book_pages::engine, book_pages::set),
        )
        .route("/job/{job}/why", get(page(why_page::why)))
        .route("/job/{job}/figures", get(page(figures_page::figures)))
        .route("/job/{job}/plan", get(page(plan_page::plan)))
        .route("/job/{job}/sheet", get(page(closing_pages::sheet)))
        .route("/job/{job}/change", get(page(entries_card::change)))
        .route("/job/{job}/count", get(page(slip_page::count)))
        .route("/job/{job}/add", axum::routing::post(page(forms::add)))
        .route("/look/slip.css", look("text/css; charset=utf-8", style))
        .route(
            "/look/sheet.css",
            look("text/css; charset=utf-8", crate::report::sheet_html::STYLE),
        )
        .route(
            "/look/slip.js",
            look("text/javascript; charset=utf-8", script),
        )
        .fallback(nothing_here);
    guarded(pages, bench)
}

fn guarded(pages: Router<Arc<Bench>>, bench: Arc<Bench>) -> Router {
    pages
        .layer(middleware::from_fn_with_state(
            Arc::clone(&bench),
            guard::guard,
        ))
        .with_state(bench)
}

/// Style or script, the same for everybody.
fn look(kind: &'static str, text: &'static str) -> MethodRouter<Arc<Bench>> {
    get(move || async move {
        let head = [
            (header::CONTENT_TYPE, kind),
            (header::CACHE_CONTROL, "max-age=600"),
        ];
        (head, text)
    })
}

async fn nothing_here() -> Response {
    guard::refuse(StatusCode::NOT_FOUND, "There is no such page.", "")
}

fn both(look_at: impl PageOf, send: impl PageOf) -> MethodRouter<Arc<Bench>> {
    get(page(look_at)).post(page(send))
}

type Params = Option<Path<BTreeMap<String, String>>>;
type Made = std::pin::Pin<Box<dyn Future<Output = Response> + Send>>;

/// The page of a function, made where it may take its time.
fn page(
    of: impl PageOf,
) -> impl Fn(State<Arc<Bench>>, Params, RawQuery, Extension<Caller>) -> Made + Clone {
    move |State(bench), params, RawQuery(query), Extension(caller)| {
        let of = of.clone();
        Box::pin(async move {
            let job = params.and_then(|Path(mut p)| p.remove("job"));
            let query = Fields::parse(query.unwrap_or_default().as_bytes());
            let Some(query) = query else {
                let what = "This address cannot be read.";
                return guard::refuse(StatusCode::BAD_REQUEST, what, "");
            };
            let ask = Ask {
                job: job.unwrap_or_default(),
                query,
                token: bench.seats().token(&caller.seat),
                key: Seats::fresh().unwrap_or_default(),
                caller,
            };
            let at = Arc::clone(&bench);
            let made = tokio::task::spawn_blocking(move || of(&at, &ask)).await;
            if let Ok(Ok(Reply::Wrote { job, .. })) = &made {
                // Whoever wrote looks at once: what the slip will show is begun meanwhile.
                let job = job.clone();
                tokio::task::spawn_blocking(move || bench.begin(&job));
            }
            match made {
                Ok(reply) => respond(reply),
                Err(_) => {
                    let what = "This page could not be made: a fault of the program.";
                    let advice = "Nothing that was written is lost. Go back to the list.";
                    guard::refuse(StatusCode::INTERNAL_SERVER_ERROR, what, advice)
                }
            }
        })
    }
}

fn respond(reply: Result<Reply, Refusal>) -> Response {
    match reply {
        Ok(Reply::Page(page)) => Whole(page).into_response(),
        Ok(Reply::Again(page)) => (StatusCode::UNPROCESSABLE_ENTITY, Whole(page)).into_response(),
        Ok(Reply::See(place) | Reply::Wrote { place, .. }) => {
            (StatusCode::SEE_OTHER, [(header::LOCATION, place)]).into_response()
        }
        Ok(Reply::Count(count)) => count.to_string().into_response(),
        Err(Refusal::Missing(what)) => guard::refuse(StatusCode::NOT_FOUND, &what, ""),
        Err(Refusal::Wait) => guard::refuse(
            StatusCode::TOO_MANY_REQUESTS,
            "Too many wrong codes.",
            "Wait a minute and type the code again.",
        ),
        Err(Refusal::Book(error)) => {
            let status = match &error {
                BookError::NoSuchJob { .. } => StatusCode::NOT_FOUND,
                BookError::Full { .. } => StatusCode::INSUFFICIENT_STORAGE,
                BookError::NotUnderstood(_)
                | BookError::JobExists { .. }
                | BookError::NoNumber { .. } => StatusCode::UNPROCESSABLE_ENTITY,
                _ => StatusCode::SERVICE_UNAVAILABLE,
            };
            guard::refuse(status, &error.to_string(), &error.advice())
        }
    }
}

/// A server whose pages crash, but for the list.
#[cfg(test)]
pub fn crashing(bench: Arc<Bench>) -> Router {
    fn crash(_: &Bench, _: &Ask) -> Result<Reply, Refusal> {
        panic!("a page that crashes");
    }
    fn crash_reckoning(bench: &Bench, _: &Ask) -> Result<Reply, Refusal> {
        bench.reckon(|| panic!("a reckoning that crashes"))
    }
    let pages = Router::new()
        .route("/crash", get(page(crash)))
        .route("/crash/reckoning", get(page(crash_reckoning)))
        .route("/", get(page(book_pages::list)));
    guarded(pages, bench)
}
