//! One import, held to what every import promises; for tests that draw bytes and for those that are
//! guided to them. Must not write anywhere but a temporary file.

use std::sync::LazyLock;

use hardstart::exchange::import::{Known, Sink, Table, Wishes, run};
use hardstart::exchange::quarantine::Aside;
use hardstart::exchange::{ExchangeError, Issue, peek};
use hardstart::job::read_json;
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};

static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(&KnowledgeFiles::built_in()).expect("the built-in figures load"));

#[derive(Default)]
struct Jobs(Vec<String>, u64);

impl Sink for Jobs {
    fn job(&mut self, line: &str) -> Result<(), ExchangeError> {
        self.0.push(line.to_owned());
        Ok(())
    }
    fn issue(&mut self, _: &Issue) -> Result<(), ExchangeError> {
        Ok(())
    }
    fn aside(&mut self, _: &Aside) -> Result<(), ExchangeError> {
        self.1 += 1;
        Ok(())
    }
    fn begin(&mut self, _: &Table) -> Result<(), ExchangeError> {
        Ok(())
    }
}

/// Imports `bytes` under `map`; an import that is refused as a whole is an answer too.
///
/// # Panics
/// When the balance does not add up or a job comes out that our reader refuses.
pub fn import(bytes: &[u8], map: Option<&str>, strict: bool) {
    let file = tempfile::NamedTempFile::new().expect("a temporary file");
    std::fs::write(file.path(), bytes).expect("a temporary file");
    let _ = peek::look(file.path(), "soup", None);
    let wishes = Wishes {
        file: "soup".to_owned(),
        map: map.map(str::to_owned),
        strict,
        ..Wishes::default()
    };
    let mut jobs = Jobs::default();
    let known = Known::default();
    let Ok(report) = run(file.path(), &wishes, &known, &KNOWLEDGE, &mut jobs) else {
        return;
    };
    assert!(report.balance.holds(), "{:?}", report.balance);
    assert_eq!(report.balance.accepted, jobs.0.len() as u64);
    assert_eq!(report.balance.quarantined, jobs.1);
    for line in &jobs.0 {
        if let Err(errors) = read_json(line, "line", &KNOWLEDGE) {
            panic!("{}\n{line}", errors.summary());
        }
    }
}
