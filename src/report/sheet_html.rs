//! The job sheet as one HTML page: black, one column, made to be printed on A4 or Letter.
//!
//! No script, nothing from elsewhere; whatever was typed is escaped. Must not choose what is on
//! it.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::page::{Layout, Symbols, typeset};
use super::sheet::{Content, READING, Sheet, in_words};
use super::{ranking_svg, trials_strip, trials_svg};

/// Styles of the sheet: 10 pt at least, 7 mm where a pen writes, nothing filled.
pub const STYLE: &str = "\
@page{size:auto;margin:10mm 12mm}
.sheet{font:10pt/1.25 system-ui,sans-serif;color:#000;background:#fff;max-width:186mm;margin:0 auto}
.sheet h1{font-size:14pt;margin:0 0 1mm;border-bottom:1.5pt solid #000}
.sheet h2{font-size:10pt;margin:1.2mm 0 .3mm;break-after:avoid}
.sheet section{break-inside:avoid}
.sheet dl{display:grid;grid-template-columns:max-content 1fr;gap:0 3mm;margin:0}
.sheet dt{font-weight:600}.sheet dd{margin:0;overflow-wrap:anywhere}
.sheet dd.pen,.sheet td.pen{border-bottom:.5pt solid #000;height:7mm}
.sheet table{border-collapse:collapse;width:100%}
.sheet th{text-align:left;white-space:nowrap;font-weight:600;border-bottom:.75pt solid #000}
.sheet td{vertical-align:top;border-bottom:.25pt solid #000;overflow-wrap:anywhere}
.sheet th,.sheet td{padding:0 1.5mm 0 0}
.sheet th:first-child{width:42%}
.sheet svg{display:block;width:100%;max-height:28mm}
.sheet p{margin:.5mm 0}
.sheet ol.causes{list-style:none;margin:0;padding:0}
.sheet .causes li{display:flex;flex-wrap:wrap;gap:0 3mm;align-items:center}
.sheet .causes svg{width:148px;height:8px;flex:none}
.sheet .twin{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.sheet .twin pre{white-space:pre}
.sheet footer{margin-top:1mm;border-top:.5pt solid #000;font-size:10pt}
@media print{.sheet{max-width:none}.sheet .causes li{flex-wrap:nowrap}a{color:#000;text-decoration:none}}";

/// Width of the text twin of a drawing, in columns.
const TWIN: Layout = Layout {
    width: 80,
    symbols: Symbols::Ascii,
};

/// A whole page.
#[must_use]
pub fn page(sheet: &Sheet) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Job " (sheet.job) }
                style { (PreEscaped(STYLE)) }
            }
            body { (body(sheet)) }
        }
    };
    page.into_string()
}

/// The sheet without the page around it.
#[must_use]
pub fn body(sheet: &Sheet) -> Markup {
    html! {
        main.sheet {
            h1 { "Job sheet " (sheet.job) }
            @for part in &sheet.parts {
                section {
                    h2 { (part.heading) }
                    (content(&part.content))
                }
            }
            footer { (sheet.foot) }
        }
    }
}

fn content(content: &Content) -> Markup {
    match content {
        Content::Fields(fields) => html! {
            dl {
                @for (name, value) in fields {
                    dt { (name) }
                    @if value.is_empty() { dd.pen {} } @else { dd { (typeset(value)) } }
                }
            }
        },
        Content::Table { head, rows, .. } if rows.is_empty() => html! {
            p { @if head[0] == READING[0] { "No single readings." } @else { "Nothing yet." } }
        },
        Content::Table {
            head,
            rows,
            left_out,
        } => html! {
            table {
                thead { tr { @for h in head { th scope="col" { (h) } } } }
                tbody {
                    @for row in rows {
                        @let pen = row.iter().all(String::is_empty);
                        tr { @for cell in row { td.pen[pen] { (typeset(cell)) } } }
                    }
                }
            }
            @if *left_out > 0 { p { "and " (left_out) " more in the job" } }
        },
        Content::Strip(judgement) => html! {
            (trials_svg::wide_strip(judgement))
            div.twin { pre { (trials_strip::strip(judgement, TWIN.width).join("\n")) } }
        },
        Content::Causes(causes) => html! {
            ol.causes {
                @for c in causes {
                    li { (ranking_svg::dots(c.chance)) span { (c.name) ": " (in_words(c)) } }
                }
            }
        },
    }
}
