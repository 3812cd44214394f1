//! Whether what a book said before its repairs came true: chances as they were kept then, held
//! against what the proofs show. No job is reckoned again.
//!
//! What was found is what somebody wrote down as found, proven. Where nobody did, a repair that was
//! the only one before the right cold start speaks: the likeliest cause it mends counts as found, the
//! others it mends are not judged, for nobody knows. What shares a proof is not judged either. All
//! else was not there. Must not reckon a chance.

use serde_json::Value;

use super::interval::{Interval, wilson};
use crate::job::book::{Book, BookError, Said};
use crate::job::{EntryBody, Job, Proof, Work, finding_proof, first_work, mends, work_proofs};
use crate::knowledge::Knowledge;

/// Jobs from which on something is said. Own judgement.
pub const LEAST_JOBS: usize = 20;
/// Causes of one band from which on something is said of it. Own judgement.
pub const LEAST_CAUSES: usize = 10;
/// Newest jobs that are held against what was said of them. Own judgement: older ones were
/// answered by older figures, and a page that meets a full book for the first time reads so many in
/// some thirty milliseconds.
pub const MOST_JOBS: usize = 100;
/// Kind of the answers that count: those a page has shown.
pub const KIND: &str = "shown";
/// Confidence of the ranges.
const CONFIDENCE: f64 = 0.95;
/// Lower ends of the bands, of a hundred, as shown: those of the scale of words.
const FROM: [u8; 7] = [0, 5, 20, 40, 60, 80, 95];

/// A cause as it was said, and whether it came true.
pub type Judged = Vec<(f64, bool)>;

/// Causes of one range of chances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// From so many of a hundred, as shown.
    pub from: u8,
    /// To below so many; `None` for the last band.
    pub to: Option<u8>,
    /// Causes that were said to have such a chance.
    pub causes: usize,
    /// How many of them were found.
    pub found: usize,
    /// Mean of the chances said, 0 to 1; nought without any.
    pub said: f64,
}

impl Band {
    /// Whether there are enough to say something.
    #[must_use]
    pub fn is_enough(&self) -> bool {
        self.causes >= LEAST_CAUSES
    }

    /// Where the share that comes true may be in the long run ([`wilson`], 95 of 100): causes of one
    /// job hang together a little, which is left out.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "counts of causes")]
    pub fn interval(&self) -> Interval {
        wilson(self.found as f64, self.causes as f64, CONFIDENCE)
    }
}

/// What came true in a book.
#[derive(Debug, Clone, PartialEq)]
pub struct CameTrue {
    /// Jobs judged.
    pub jobs: usize,
    /// Bands from low chances to high ones, empty ones too.
    pub bands: Vec<Band>,
}

impl CameTrue {
    /// Sums over jobs.
    pub fn of<'j>(jobs: impl IntoIterator<Item = &'j Judged>) -> Self {
        let band = |at: usize| Band {
            from: FROM[at],
            to: FROM.get(at + 1).copied(),
            causes: 0,
            found: 0,
            said: 0.0,
        };
        let mut bands: Vec<Band> = (0..FROM.len()).map(band).collect();
        let mut judged = 0;
        for job in jobs {
            judged += 1;
            for (chance, there) in job {
                // As a person read it: in whole numbers of a hundred.
                let shown = (100.0 * chance).round();
                let at = FROM.iter().rposition(|from| shown >= f64::from(*from));
                let band = &mut bands[at.unwrap_or(0)];
                band.causes += 1;
                band.found += usize::from(*there);
                band.said += chance;
            }
        }
        for band in bands.iter_mut().filter(|b| b.causes > 0) {
            #[expect(clippy::cast_precision_loss, reason = "counts of causes")]
            let causes = band.causes as f64;
            band.said /= causes;
        }
        Self {
            jobs: judged,
            bands,
        }
    }

    /// Whether there are enough jobs to say something.
    #[must_use]
    pub fn is_enough(&self) -> bool {
        self.jobs >= LEAST_JOBS
    }
}

/// A proven job of a book, judged; `None` where nothing was said before its repair.
///
/// # Errors
/// When the book cannot be read.
pub fn of_job(book: &Book, job: &str, knowledge: &Knowledge) -> Result<Option<Judged>, BookError> {
    let read = book.job(job, knowledge)?.job;
    let Some(entries) = first_work(&read) else {
        return Ok(None);
    };
    let said = book.said_before(job, KIND, entries)?;
    Ok(said.and_then(|said| judge(&read, &said, knowledge)))
}

/// The causes of a proven job as they were said before its repair, judged; `None` where what was said
/// cannot be read.
#[must_use]
pub fn judge(job: &Job, said: &Said, knowledge: &Knowledge) -> Option<Judged> {
    let said = causes(&said.body)?;
    let truth = Truth::of(job, knowledge);
    let mut outcomes: Vec<Option<bool>> = said.iter().map(|c| truth.plainly(c)).collect();
    for work in &truth.cured {
        let mended = |c: &Cause| mends(work, &c.fault, c.cylinder, knowledge);
        let is_named = |(f, c): &(&str, Option<u8>)| mends(work, f, *c, knowledge);
        if truth.found.iter().any(is_named) {
            continue;
        }
        let open = (0..said.len()).filter(|at| mended(&said[*at]));
        let open: Vec<usize> = open.collect();
        let likeliest = open.iter().copied().reduce(|best, at| {
            if said[at].chance > said[best].chance {
                at
            } else {
                best
            }
        });
        for at in open {
            outcomes[at] = (Some(at) == likeliest).then_some(true);
        }
    }
    let judged = said.iter().zip(outcomes);
    Some(
        judged
            .filter_map(|(c, there)| Some((c.chance, there?)))
            .collect(),
    )
}

/// A cause as it was said.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// `part.fault`.
    pub fault: String,
    /// Its cylinder, for a part of one.
    pub cylinder: Option<u8>,
    /// The chance, a fraction.
    pub chance: f64,
}

/// The causes of a kept answer. Cylinders with equal numbers share a row; an answer that does not say
/// which of them did (as once kept) says nothing of causes at cylinders.
#[must_use]
pub fn causes(body: &str) -> Option<Vec<Cause>> {
    let body: Value = serde_json::from_str(body).ok()?;
    let mut causes = Vec::new();
    for row in body.get("causes")?.as_array()? {
        let (id, chance) = (row.get("cause")?.as_str()?, row.get("chance")?.as_f64()?);
        let Some((fault, _)) = id.split_once(':') else {
            let fault = id.to_owned();
            causes.push(Cause {
                fault,
                cylinder: None,
                chance,
            });
            continue;
        };
        let cylinders = row.get("cylinders").and_then(Value::as_array);
        for cylinder in cylinders.into_iter().flatten().filter_map(Value::as_u64) {
            causes.push(Cause {
                fault: fault.to_owned(),
                cylinder: Some(u8::try_from(cylinder).ok()?),
                chance,
            });
        }
    }
    Some(causes)
}

/// What a proven job shows.
struct Truth<'j> {
    found: Vec<(&'j str, Option<u8>)>,
    refuted: Vec<(&'j str, Option<u8>)>,
    /// Written down as found, and not proven.
    guessed: Vec<(&'j str, Option<u8>)>,
    cured: Vec<&'j Work>,
    /// Work that may have done it: proof shared, or none of its own.
    maybe: Vec<&'j Work>,
    knowledge: &'j Knowledge,
}

impl<'j> Truth<'j> {
    fn of(job: &'j Job, knowledge: &'j Knowledge) -> Self {
        let mut truth = Self {
            found: Vec::new(),
            refuted: Vec::new(),
            guessed: Vec::new(),
            cured: Vec::new(),
            maybe: Vec::new(),
            knowledge,
        };
        for entry in job.entries.iter().filter(|e| e.is_used()) {
            if let EntryBody::Finding(finding) = &entry.body {
                match finding_proof(job, finding, knowledge) {
                    Proof::Shown | Proof::Cured | Proof::CuredShared => &mut truth.found,
                    Proof::Refuted => &mut truth.refuted,
                    Proof::Believed | Proof::Guess => &mut truth.guessed,
                }
                .push((finding.fault.as_str(), finding.cylinder));
            }
        }
        for proof in work_proofs(job, knowledge) {
            if let EntryBody::Work(work) = &job.entries[proof.entry].body {
                match proof.proof {
                    Proof::Shown | Proof::Cured => truth.cured.push(work),
                    Proof::CuredShared | Proof::Believed | Proof::Guess => truth.maybe.push(work),
                    Proof::Refuted => {}
                }
            }
        }
        truth
    }

    /// Whether a cause was there, by what is written of it; `None` where nobody knows.
    fn plainly(&self, cause: &Cause) -> Option<bool> {
        let is = |(f, c): &(&str, Option<u8>)| *f == cause.fault && *c == cause.cylinder;
        if self.found.iter().any(is) {
            return Some(true);
        }
        if self.refuted.iter().any(is) {
            return Some(false);
        }
        let may_be = |w: &&Work| mends(w, &cause.fault, cause.cylinder, self.knowledge);
        if self.guessed.iter().any(is) || self.maybe.iter().any(may_be) {
            return None;
        }
        Some(false)
    }
}
