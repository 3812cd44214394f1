//! How fast a table comes in: `import_speed [ROWS]`, a million if not said.
//!
//! Writes a table as a shop might keep one (dates, temperatures, readings in cells and headings
//! with units, free text, a cell too many now and then) into a temporary file and imports it
//! without keeping the jobs, once with a tenth of the rows and once whole. Printed: megabytes a
//! second, and the most memory held so far, which must not grow with the rows but for a few bytes a
//! record to find repeats.

#![expect(clippy::print_stdout, reason = "an example that prints a table")]

use std::error::Error;
use std::io::{BufWriter, Write};
use std::time::Instant;

use hardstart::exchange::import::{Known, Nothing, Wishes, run};
use hardstart::knowledge::{KnowledgeFiles, load};

const FOUND: [&str; 8] = [
    "plug 1 dead",
    "battery flat",
    "air in fuel",
    "plug 3 + plug 4 dead",
    "not plugs; battery tired",
    "?",
    "worn starter",
    "injector dribbling 2",
];
const DONE: [&str; 8] = [
    "renewed plug 1",
    "charged battery",
    "new fuel line",
    "renewed plugs",
    "cleaned earth",
    "nothing",
    "starter overhauled",
    "new nozzle",
];

fn main() -> Result<(), Box<dyn Error>> {
    let rows = std::env::args().nth(1);
    let rows = rows.map_or(Ok(1_000_000), |n| n.parse::<usize>())?;
    let knowledge = load(&KnowledgeFiles::built_in())?;
    for rows in [rows / 10, rows] {
        let mut file = tempfile::NamedTempFile::new()?;
        table(&mut file, rows)?;
        let size = file.as_file().metadata()?.len();
        let wishes = Wishes {
            file: "table.csv".to_owned(),
            ..Wishes::default()
        };
        let begun = Instant::now();
        let report = run(
            file.path(),
            &wishes,
            &Known::default(),
            &knowledge,
            &mut Nothing,
        )?;
        let seconds = begun.elapsed().as_secs_f64();
        println!(
            "{rows} rows, {:.1} MB in {seconds:.2} s: {:.1} MB/s; {} accepted, {} quarantined; most memory {}",
            size as f64 / 1e6,
            size as f64 / 1e6 / seconds,
            report.balance.accepted,
            report.balance.quarantined,
            most_memory()
        );
    }
    Ok(())
}

fn table(file: &mut tempfile::NamedTempFile, rows: usize) -> std::io::Result<()> {
    let mut out = BufWriter::new(file.as_file_mut());
    writeln!(
        out,
        "Job No,Date,Ambient C,Plug s 1,Plug s 2,Plug s 3,Plug s 4,Comp 1,Comp 2,Comp 3,Comp 4,Found,Done,Parts EUR,Notes"
    )?;
    for n in 0..rows {
        // Every ninetieth record has a cell too many.
        let odd = if n % 90 == 0 { ",x" } else { "" };
        writeln!(
            out,
            "K-{n},2024-{:02}-{:02},-{},8.{},8.{},{}.2,8.{},{} bar,{} bar,{} bar,{} bar,{},{},{},came in on a trailer no {}{odd}",
            n % 12 + 1,
            n % 28 + 1,
            n % 17,
            n % 10,
            n * 3 % 10,
            8 + n % 8,
            n * 7 % 10,
            20 + n % 9,
            21 + n % 8,
            22 + n % 7,
            23 + n % 6,
            FOUND[n % 8],
            DONE[n / 3 % 8],
            n % 300,
            n % 97,
        )?;
    }
    out.flush()
}

/// The most memory this process held, as the system tells it.
fn most_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.map_or_else(|| "not told".to_owned(), |l| l.trim().to_owned())
}
