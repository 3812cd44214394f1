//! How a person works a page: by tapping, or by the keyboard alone. The keyboard reaches things
//! by Tab only, in order, and what has the focus must be seen to have it.

use serde_json::{Value, json};

use crate::driver::Browser;

/// Keys of the WebDriver protocol (W3C, 17.4.2).
const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
const RIGHT: &str = "\u{e014}";
const DOWN: &str = "\u{e015}";
/// More stops than any page has.
const STOPS: usize = 500;
/// More choices than any group or list has.
const CHOICES: usize = 200;

/// Where the focus is: whether there, whether hidden by the bar at the foot, and how it shows.
const FOCUS: &str = "
    const e = document.activeElement, box = e.getBoundingClientRect();
    const bar = document.querySelector('.bar');
    const edge = bar && !bar.contains(e) ? bar.getBoundingClientRect().top : innerHeight;
    return { there: e.matches(arguments[0]), value: e.value, page: e === document.body,
             hidden: box.top >= edge || box.bottom <= 0,
             ring: getComputedStyle(e).outlineStyle !== 'none', what: e.outerHTML.slice(0, 90) };";

pub struct Hand<'b> {
    pub browser: &'b Browser,
    keyboard: bool,
}

impl<'b> Hand<'b> {
    pub fn new(browser: &'b Browser, keyboard: bool) -> Self {
        Self { browser, keyboard }
    }

    fn focus(&self, css: &str) -> Value {
        self.browser.script(FOCUS, &json!([css]))
    }

    /// Goes on by Tab until something that fits has the focus.
    fn tab_to(&self, css: &str) {
        for _ in 0..STOPS {
            self.browser.keys(TAB);
            let focus = self.focus(css);
            if focus["page"] == false {
                assert_eq!(focus["hidden"], false, "the bar hides {}", focus["what"]);
                assert_eq!(focus["ring"], true, "no ring at {}", focus["what"]);
            }
            if focus["there"] == true {
                return;
            }
        }
        panic!("the keyboard does not come to {css}");
    }

    /// Presses what leads to another page.
    pub fn follow(&self, css: &str) {
        if self.keyboard {
            self.tab_to(css);
            self.browser.follow_by(css, || self.browser.keys(ENTER));
        } else {
            self.browser.follow(css);
        }
    }

    /// Opens what is folded.
    pub fn unfold(&self, css: &str) {
        if self.keyboard {
            self.tab_to(css);
            self.browser.keys(ENTER);
        } else {
            self.browser.click(css);
        }
    }

    pub fn fill(&self, css: &str, text: &str) {
        if self.keyboard {
            self.tab_to(css);
            self.browser.keys(text);
        } else {
            self.browser.fill(css, text);
        }
    }

    /// Chooses one of a group, or ticks a box.
    pub fn tap(&self, name: &str, value: &str) {
        let one = format!("input[name='{name}'][value='{value}']");
        if !self.keyboard {
            return self.browser.click(&one);
        }
        self.tab_to(&format!("input[name='{name}']"));
        self.browser.keys(" ");
        for _ in 0..CHOICES {
            if self.focus(&one)["there"] == true {
                return;
            }
            self.browser.keys(RIGHT);
        }
        panic!("the keyboard does not come to {one}");
    }

    /// Picks from a list.
    pub fn pick(&self, css: &str, value: &str) {
        if !self.keyboard {
            return self.browser.pick(css, value);
        }
        self.tab_to(css);
        for _ in 0..CHOICES {
            if self.focus(css)["value"] == value {
                return;
            }
            self.browser.keys(DOWN);
        }
        panic!("the keyboard does not come to {value} in {css}");
    }
}
