//! Inputs of forms: big enough for gloves, named, and filled with what was typed before.
//!
//! Must not know jobs.

use maud::{Markup, html};

use super::fields::Fields;

/// A field for a text.
#[must_use]
pub fn text(name: &str, label: &str, hint: &str, typed: &Fields) -> Markup {
    let hint_id = format!("{name}-hint");
    html! {
        div.field {
            label for=(name) { (label) }
            @if !hint.is_empty() { p.hint id=(hint_id) { (hint) } }
            input id=(name) name=(name) type="text" autocomplete="off" value=(typed.get(name))
                aria-describedby=[(!hint.is_empty()).then_some(&hint_id)];
        }
    }
}

/// A field for a longer text.
#[must_use]
pub fn words(name: &str, label: &str, hint: &str, typed: &Fields) -> Markup {
    let hint_id = format!("{name}-hint");
    html! {
        div.field {
            label for=(name) { (label) }
            @if !hint.is_empty() { p.hint id=(hint_id) { (hint) } }
            textarea id=(name) name=(name) rows="3"
                aria-describedby=[(!hint.is_empty()).then_some(&hint_id)] { (typed.get(name)) }
        }
    }
}

/// A number with a unit to tap; a unit typed with the number wins. The first unit is taken when
/// none is tapped. `below` offers a minus for keypads without one.
#[must_use]
pub fn number(name: &str, label: &str, units: &[&str], below: bool, typed: &Fields) -> Markup {
    let unit_name = format!("{name}.unit");
    let chosen = typed
        .some(&unit_name)
        .unwrap_or(units.first().unwrap_or(&""));
    let below_name = format!("{name}.below");
    html! {
        div.field {
            label for=(name) { (label) }
            div.number {
                input id=(name) name=(name) type="text" inputmode="decimal" autocomplete="off"
                    value=(typed.get(name));
                @if units.len() == 1 { span.unit { (units[0]) } }
            }
            @if units.len() < 2 {
                @for unit in units { input type="hidden" name=(unit_name) value=(unit); }
            } @else {
                fieldset.chips data-units=(name) {
                    legend.sr { "Unit" }
                    @for unit in units {
                        label.chip {
                            input type="radio" name=(unit_name) value=(unit)
                                checked[*unit == chosen];
                            span { (unit) }
                        }
                    }
                }
            }
            @if below {
                label.chip.single {
                    input type="checkbox" name=(below_name) value="yes"
                        checked[typed.some(&below_name).is_some()];
                    span { "below zero" }
                }
            }
        }
    }
}

/// One of several, to tap. The first may be `("", "not looked at")`.
#[must_use]
pub fn choice(
    name: &str,
    label: &str,
    hint: &str,
    of: &[(String, String)],
    typed: &Fields,
) -> Markup {
    html! {
        fieldset.chips {
            legend { (label) }
            @if !hint.is_empty() { p.hint { (hint) } }
            @for (value, shown) in of {
                label.chip {
                    input type="radio" name=(name) value=(value) checked[value == typed.get(name)];
                    span { (shown) }
                }
            }
        }
    }
}

/// One of many, in a list.
#[must_use]
pub fn pick(name: &str, label: &str, of: &[(String, String)], typed: &Fields) -> Markup {
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                @for (value, shown) in of {
                    option value=(value) selected[value == typed.get(name)] { (shown) }
                }
            }
        }
    }
}

/// One of many under headings; nothing is chosen at first, which `blank` says.
#[must_use]
pub fn pick_under(
    name: &str,
    label: &str,
    blank: &str,
    groups: &[(String, Vec<(String, String)>)],
    typed: &Fields,
) -> Markup {
    // The same value may stand under two headings; it is chosen under the first.
    let is_typed = |(value, _): &(String, String)| value == typed.get(name);
    let first = groups.iter().position(|(_, of)| of.iter().any(is_typed));
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                option value="" { (blank) }
                @for (at, (heading, of)) in groups.iter().enumerate() {
                    optgroup label=(heading) {
                        @for one in of {
                            option value=(one.0) selected[first == Some(at) && is_typed(one)] { (one.1) }
                        }
                    }
                }
            }
        }
    }
}

/// What is wrong with a form, above it.
#[must_use]
pub fn problems(of: &[(String, String)]) -> Markup {
    html! {
        @if !of.is_empty() {
            div.wrong role="alert" {
                h2 { "Not saved yet" }
                ul { @for (what, advice) in of { li { (what) @if !advice.is_empty() { ": " (advice) } } } }
            }
        }
    }
}

/// A number as typed with the unit tapped, for the book; `None` if nothing was typed.
#[must_use]
pub fn typed_number(name: &str, form: &Fields) -> Option<String> {
    let typed = form.some(name)?;
    let mut text = typed.to_owned();
    if form.some(&format!("{name}.below")).is_some() && !text.starts_with(['-', '−']) {
        text = format!("-{text}");
    }
    let bare = text.ends_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
    match form.some(&format!("{name}.unit")) {
        Some(unit) if bare => Some(format!("{text} {unit}")),
        _ => Some(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_unit_tapped_is_added_unless_one_was_typed() {
        let form = |text: &str| Fields::parse(text.as_bytes()).unwrap();
        let number = |text| typed_number("v", &form(text));
        assert_eq!(number("v=8%2C4&v.unit=s").as_deref(), Some("8,4 s"));
        assert_eq!(number("v=400+psi&v.unit=bar").as_deref(), Some("400 psi"));
        assert_eq!(
            number("v=6&v.unit=degC&v.below=yes").as_deref(),
            Some("-6 degC")
        );
        assert_eq!(
            number("v=-6&v.unit=degC&v.below=yes").as_deref(),
            Some("-6 degC")
        );
        assert_eq!(number("v=no+glow&v.unit=s").as_deref(), Some("no glow"));
        assert_eq!(number("v=&v.unit=s"), None);
    }
}
