//! Any bytes as a table or a map: an answer or a clear error, a balance that adds up, jobs our
//! reader takes, and never a panic.

use hardstart::exchange::map;
use proptest::prelude::*;

mod soup;

use soup::import;

const MAP: &str = r##"
[file]
header_line = 1
[key]
job = "n"
[engine]
cylinders = 4
[date."d"]
serial = "1900"
[col."cyl"]
to = "engine.cylinders"
[col."temp"]
to = "start.air_temperature"
unit = "Cel"
[col."p{cyl}"]
to = "plug_glow_time"
unit = "s"
repeat = "/"
[col."comp{cyl}"]
to = "compression"
unit = "bar"
[col."smoke"]
to = "smoke_cranking"
[col."crank"]
to = "crank_time"
unit = "s"
[col."lamp"]
to = "lamp_at_strip"
[col."since"]
to = "told.since"
[text."found"]
role = "cause"
[text."done"]
role = "action"
[col."h"]
to = "work_hours"
unit = "h"
[col."cost"]
to = "parts_cost"
"##;
const HEADING: &str =
    "n,d,cyl,temp,p1,p2,comp1,comp4,smoke,crank,lamp,since,found,done,h,cost,odd\n";

/// Cells as shops and spreadsheets write them, and some that nobody should.
fn cell() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "",
        "-",
        "n/a",
        "nt",
        "OL",
        "no glow",
        "8,2",
        "8.2",
        "1,234",
        "1.234,5",
        "45359",
        "08. Mrz",
        "8/9/8",
        "8.2/8.4/-",
        "28 bar",
        "400psi",
        "-18C",
        "0R6",
        "8\"4",
        "1:30",
        "2'30",
        "> 60",
        "white",
        "none",
        "bright",
        "first_frost",
        "plug 3 dead",
        "not plugs",
        "air leak and plug 2 weak",
        "?",
        "renewed plug 9",
        "new battery",
        "03.12.2023",
        "01/02/2024",
        "31.02.2023",
        "2",
        "4",
        "12",
        "99999999999999999999999999",
        "1e999",
        "=1+1",
        "####",
        "-500 C",
        "\u{221e}",
        "K\u{e4}lte",
    ]);
    prop_oneof![6 => known.prop_map(str::to_owned), 1 => "[ -~\u{e4}\u{b0}]{0,12}", 1 => any::<String>()]
}

fn quoted(cell: &str) -> String {
    format!("\"{}\"", cell.replace('"', "\"\""))
}

/// Ninety-six unless `PROPTEST_CASES` says more.
fn cases() -> u32 {
    let said = std::env::var("PROPTEST_CASES")
        .ok()
        .and_then(|c| c.parse().ok());
    said.unwrap_or(96)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..600), strict in any::<bool>()) {
        import(&bytes, None, strict);
        import(&bytes, Some(MAP), strict);
        let _ = map::read(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn tables_of_odd_cells_give_jobs_our_reader_takes(
        rows in prop::collection::vec(prop::collection::vec(cell(), 16), 1..6),
        strict in any::<bool>(),
    ) {
        let mut text = HEADING.to_owned();
        for (at, row) in rows.iter().enumerate() {
            let cells: Vec<String> = row.iter().map(|c| quoted(c)).collect();
            text.push_str(&format!("A{at},{}\n", cells.join(",")));
        }
        import(text.as_bytes(), Some(MAP), strict);
        import(text.as_bytes(), None, strict);
    }

    #[test]
    fn a_map_of_any_text_is_read_or_refused(text in "[\\[\\]\"={}a-z.,\n# ]{0,200}") {
        if let Err(problems) = map::read(&text) {
            prop_assert!(!problems.is_empty());
        }
    }
}
