//! The ranking as a drawing: name, number, and twenty dots filled from the left.
//!
//! Drawn black on nothing, so it prints; the list beside it says the same. Must not choose rows.

use maud::{Markup, html};

use super::chance;
use super::sheet::{SheetCause, in_words};

/// Height of a row and width of the drawing, in its own units.
const ROW: usize = 16;
const WIDTH: usize = 640;
/// Where dots and names begin.
const DOTS_AT: usize = 8;
const NAME_AT: usize = 232;
const STEP: usize = 11;
const RADIUS: &str = "4";

/// The drawing.
#[must_use]
pub fn bars(causes: &[SheetCause]) -> Markup {
    let height = ROW * causes.len();
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {height}"))
            role="img" aria-label="Causes with their chances; the list says the same" {
            @for (at, cause) in causes.iter().enumerate() {
                @let middle = ROW * at + ROW / 2;
                @let filled = filled(cause.chance);
                @for dot in 0..chance::DOTS {
                    circle cx=(DOTS_AT + STEP * dot) cy=(middle) r=(RADIUS)
                        fill=(if dot < filled { "#000" } else { "none" }) stroke="#000" {}
                }
                text x=(NAME_AT) y=(middle + 4) font-size="12" {
                    (cause.name) ": " (in_words(cause))
                }
            }
        }
    }
}

/// As many dots as the text shows.
fn filled(chance: f64) -> usize {
    let dots = super::chance::dots(chance, super::page::Symbols::Ascii);
    dots.bytes().filter(|b| *b == b'o').count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_drawing_and_the_words_agree_and_names_are_escaped() {
        let causes = [SheetCause {
            name: "<b>plug".to_owned(),
            chance: 0.58,
        }];
        let svg = bars(&causes).into_string();
        // 58 of 100 is twelve dots of five.
        assert_eq!(svg.matches("fill=\"#000\"").count(), 12, "{svg}");
        assert_eq!(svg.matches("<circle").count(), 20);
        assert!(svg.contains("&lt;b&gt;plug: even-ish (58 of 100)"), "{svg}");
    }
}
