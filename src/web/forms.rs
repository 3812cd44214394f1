//! Forms that add an entry to a job: what stands around them, and what happens when one is sent.
//!
//! Sent twice, a form writes once. What is not understood comes back as it was typed, with what
//! is wrong. Must not know single fields.

use maud::{Markup, html};

use super::bench::Bench;
use super::entry::{self, Problems};
use super::fields::{Fields, coded};
use super::form_words::in_form;
use super::frame::{bar_of_job, of_job, page};
use super::inputs::problems;
use super::routes::{Ask, Refusal, Reply};
use super::{closing_pages, reading_page, slip_page, start_page};
use crate::job::book::BookError;
use crate::job::{Job, MOST_CYLINDERS};

/// What stays the same from one cylinder to the next.
const CARRIED: [&str; 4] = ["leads", "leads.unit", "tool", "by"];

/// A form of a job. `what` names the entry, `seen` is how many entries the writer has before
/// their eyes.
#[must_use]
pub fn form(ask: &Ask, job: &str, what: &str, seen: usize, content: &Markup) -> Markup {
    html! {
        form method="post" action=(of_job(job, "add")) data-draft=(format!("{job}/{what}")) {
            (hidden(ask))
            input type="hidden" name="what" value=(what);
            input type="hidden" name="seen" value=(seen);
            (content)
        }
    }
}

/// A page of a job that is one form: what it is called, which entry it writes, what stands before
/// it, its fields, and the word on its button.
#[derive(Debug)]
pub struct OneForm<'f> {
    /// Heading.
    pub title: &'f str,
    /// Name of the entry.
    pub what: &'f str,
    /// What stands before the form.
    pub before: Markup,
    /// Its fields.
    pub fields: Markup,
    /// The word on its button.
    pub save: &'f str,
}

impl OneForm<'_> {
    /// The page, with what is wrong in the form above it. It says which job it is of: it may have
    /// been come to from the list.
    #[must_use]
    pub fn page(&self, ask: &Ask, job: &Job, wrong: &[(String, String)]) -> Markup {
        let seen = job.entries.len();
        let content = html! {
            h1 { (self.title) }
            (of_which(job))
            (problems(wrong))
            section.card {
                (self.before)
                (form(ask, &ask.job, self.what, seen, &html! {
                    (self.fields)
                    button.main type="submit" { (self.save) }
                }))
            }
        };
        page(self.title, &bar_of_job(&ask.job), &content)
    }
}

/// Which job a page is of, and the way back to its slip.
#[must_use]
pub fn of_which(job: &Job) -> Markup {
    html! {
        p.of { a.small href=(of_job(&job.job, "")) { "Job " (job.job) } " " span.complaint { (job.complaint) } }
    }
}

/// A form with what was typed and what is wrong with it.
pub type FormOf = fn(&Bench, &Ask, &Fields, &[(String, String)]) -> Result<Markup, Refusal>;

/// The page of a form that nothing was typed into yet, but for what its address says.
pub fn blank(
    form: FormOf,
) -> impl Fn(&Bench, &Ask) -> Result<Reply, Refusal> + Clone + Send + Sync + 'static {
    move |bench, ask| form(bench, ask, &ask.query, &[]).map(Reply::Page)
}

/// What every form carries: token and key. A form that came back keeps its key.
#[must_use]
pub fn hidden(ask: &Ask) -> Markup {
    html! {
        input type="hidden" name="token" value=(ask.token);
        input type="hidden" name="key" value=(ask.key);
    }
}

/// Who writes, and a remark.
#[must_use]
pub fn who(typed: &Fields) -> Markup {
    html! {
        (super::inputs::text("by", "By", "a short code, if you like", typed))
        details open[typed.some("note").is_some()] {
            summary { "A remark" }
            (super::inputs::words("note", "Remark", "", typed))
        }
    }
}

/// Now, with the zone of this place, to the second.
#[must_use]
pub fn now() -> String {
    jiff::ZonedDateTime::now()
        .strftime("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}

/// What the book did not understand, for people.
#[must_use]
pub fn in_words(error: &BookError) -> Option<Problems> {
    match error {
        BookError::NotUnderstood(errors) => {
            let problems = errors.problems.iter();
            Some(problems.map(in_form).collect())
        }
        _ => None,
    }
}

/// A form was sent.
///
/// # Errors
/// What the book refuses, but for what is not understood.
pub fn add(bench: &Bench, ask: &Ask) -> Result<Reply, Refusal> {
    let form = &ask.caller.form;
    if form.get("what") == "mark" {
        let unanswered = closing_pages::unanswered(bench, &ask.job, form)?;
        if !unanswered.is_empty() {
            return again(bench, ask, &unanswered);
        }
    }
    let written = match entry::entry(form, &now()) {
        Ok(entry) => bench.add(form.get("key"), &ask.job, &[entry]),
        Err(problems) => return again(bench, ask, &problems),
    };
    let first = match written {
        Ok(first) => first,
        Err(error) => match in_words(&error) {
            Some(problems) => return again(bench, ask, &problems),
            None => return Err(error.into()),
        },
    };
    if form.get("what") == "reading" {
        bench.read().is_saved(ask, form.get("check"));
    }
    let seen = form.get("seen").parse::<usize>().unwrap_or(0);
    let mut place = format!("{}?saved={first}&seen={seen}", of_job(&ask.job, ""));
    if form.get("then") == "next_cylinder" {
        let cylinder = form.get("cylinder").parse::<u8>().unwrap_or(0);
        let job = bench.book()?.job(&ask.job, bench.knowledge())?.job;
        // After the last one there is none: back to the slip.
        if cylinder < job.engine.cylinders.unwrap_or(MOST_CYLINDERS) {
            let check = coded(form.get("check"));
            // The same hand, the same meter: nobody types that again.
            let same = CARRIED
                .iter()
                .filter_map(|name| Some((name, form.some(name)?)));
            let same: String = same.map(|(n, v)| format!("&{n}={}", coded(v))).collect();
            place = format!(
                "{}?check={check}&cylinder={}&saved={first}{same}",
                of_job(&ask.job, "reading"),
                cylinder + 1
            );
        }
    }
    let job = ask.job.clone();
    Ok(Reply::Wrote { job, place })
}

/// The page of the form, with what was typed and what is wrong.
fn again(bench: &Bench, ask: &Ask, wrong: &Problems) -> Result<Reply, Refusal> {
    let form = &ask.caller.form;
    let of: FormOf = match form.get("what") {
        "start" => start_page::start,
        "cold" => start_page::cold,
        "told" => start_page::told,
        "reading" => reading_page::one,
        "work" => closing_pages::work,
        "mark" => closing_pages::close,
        _ => |bench, ask, _, wrong| slip_page::slip_with(bench, ask, wrong),
    };
    let page = of(bench, ask, form, wrong);
    page.map(Reply::Again)
}
