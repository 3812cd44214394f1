//! The chance of a cause as a drawing: twenty dots filled from the left.
//!
//! Drawn black on nothing, so it prints; the words beside it say the same. Must not choose rows.

use maud::{Markup, html};

use super::chance;

/// Height and width of the drawing, in its own units.
const HEIGHT: usize = 12;
const STEP: usize = 11;
const RADIUS: &str = "4";

/// The drawing.
#[must_use]
pub fn dots(chance: f64) -> Markup {
    let filled = filled(chance);
    let width = STEP * chance::DOTS + 2;
    html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {HEIGHT}"))
            width=(width) height=(HEIGHT) aria-hidden="true" {
            @for dot in 0..chance::DOTS {
                circle cx=(STEP * dot + STEP / 2 + 1) cy=(HEIGHT / 2) r=(RADIUS)
                    fill=(if dot < filled { "#000" } else { "none" }) stroke="#000" {}
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
    fn the_drawing_has_as_many_dots_as_the_text() {
        let svg = dots(0.58).into_string();
        // 58 of 100 is twelve dots of five.
        assert_eq!(svg.matches("fill=\"#000\"").count(), 12, "{svg}");
        assert_eq!(svg.matches("<circle").count(), 20);
    }
}
