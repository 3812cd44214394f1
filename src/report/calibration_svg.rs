//! The calibration diagram as SVG: what was said along the foot, what came true up the side.
//!
//! The rising curve, the rows of the table with their intervals, and how often each was said.
//! Must not compute more than places on the page.

use std::fmt::Write;

use crate::scoring::summary::Summary;

/// Side of the square, and room around it, in points of the page.
const SIDE: f64 = 400.0;
const ROOM: f64 = 56.0;
/// Height of the strip that shows how often.
const STRIP: f64 = 60.0;

fn x(share: f64) -> f64 {
    ROOM + SIDE * share
}

fn y(share: f64) -> f64 {
    ROOM + SIDE * (1.0 - share)
}

/// The diagram.
#[must_use]
pub fn diagram(summary: &Summary) -> String {
    let (width, height) = (SIDE + 2.0 * ROOM, SIDE + 2.0 * ROOM + STRIP);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" \
         font-family=\"sans-serif\" font-size=\"12\" role=\"img\" \
         aria-label=\"Calibration: what was said and what came true\">\n"
    );
    let _ = writeln!(
        svg,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{SIDE}\" height=\"{SIDE}\" fill=\"none\" stroke=\"#444\"/>",
        x(0.0),
        y(1.0)
    );
    let _ = writeln!(
        svg,
        "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#999\" stroke-dasharray=\"4 4\"/>",
        x(0.0),
        y(0.0),
        x(1.0),
        y(1.0)
    );
    for tenth in [0, 2, 4, 6, 8, 10] {
        let share = f64::from(tenth) / 10.0;
        let said = tenth * 10;
        let _ = writeln!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{said}</text>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{said}</text>",
            x(share),
            y(0.0) + 16.0,
            x(0.0) - 6.0,
            y(share) + 4.0
        );
    }
    let curve = summary.curve();
    let points = curve
        .steps
        .iter()
        .map(|(px, py)| format!("{:.1},{:.1}", x(*px), y(*py)));
    let _ = writeln!(
        svg,
        "<polyline fill=\"none\" stroke=\"#0b4f8a\" stroke-width=\"1.5\" points=\"{}\"/>",
        points.collect::<Vec<_>>().join(" ")
    );
    let rows = summary.table();
    #[expect(clippy::cast_precision_loss, reason = "a height on the page")]
    let size = |n: u64| (n as f64 + 1.0).ln();
    let most = rows.iter().map(|r| size(r.n)).fold(1.0, f64::max);
    for row in &rows {
        let (px, py) = (x(row.forecast), y(row.observed));
        let _ = writeln!(
            svg,
            "<line x1=\"{px:.1}\" y1=\"{:.1}\" x2=\"{px:.1}\" y2=\"{:.1}\" stroke=\"#222\"/>\
             <circle cx=\"{px:.1}\" cy=\"{py:.1}\" r=\"3.5\" fill=\"#222\"/>",
            y(row.interval.low),
            y(row.interval.high)
        );
        let tall = STRIP * 0.8 * size(row.n) / most;
        let foot = y(0.0) + ROOM + STRIP;
        let _ = writeln!(
            svg,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{tall:.1}\" fill=\"#bbb\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"9\">{}</text>",
            x(row.from) + 1.0,
            foot - tall,
            SIDE * (row.to - row.from) - 2.0,
            x(f64::midpoint(row.from, row.to)),
            foot + 10.0,
            row.n
        );
    }
    let _ = writeln!(
        svg,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">said, of 100</text>\
         <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">came true, of 100 (line: nearest rising curve; bars: 95 % intervals)</text>",
        x(0.5),
        y(0.0) + 34.0,
        x(0.5),
        y(1.0) - 16.0
    );
    svg.push_str("</svg>\n");
    svg
}
