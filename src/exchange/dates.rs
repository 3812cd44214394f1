//! Dates as cells write them. ISO first, then what the map states, then what the column settles.
//!
//! `01/02/2024` is not guessed. Without a zone a time is local, and is written so.

use jiff::civil::{Date, Time};

/// Which of day and month comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Day, then month.
    DayFirst,
    /// Month, then day.
    MonthFirst,
}

/// From which day a spreadsheet counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Serial {
    /// Days from 1899-12-30.
    Y1900,
    /// 1462 days later.
    Y1904,
}

/// What is known about the dates of a column.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DateSpec {
    /// Stated patterns, as separator and order (`%d.%m.%Y` is a dot, day first).
    pub orders: Vec<(char, Order)>,
    /// How day numbers are counted, if they may be read.
    pub serial: Option<Serial>,
    /// Two-digit years below this are of 2000 and later, the others of 1900 and later.
    pub pivot: Option<i16>,
    /// What the column itself settles.
    pub settled: Option<Order>,
}

/// What was seen in the cells of a column.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct SeenDates {
    /// Cells that can only be day first, only month first, either, or something else.
    pub day_first: u64,
    /// See above.
    pub month_first: u64,
    /// See above.
    pub either: u64,
    /// See above.
    pub other: u64,
}

/// What a cell is as a date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Dated {
    /// A date, ISO 8601, with the time if there is one.
    Is(String),
    /// A day number of a spreadsheet.
    Serial(String),
    /// Day and month cannot be told apart.
    Ambiguous,
    /// No such day.
    Impossible,
    /// No date.
    Not,
    /// The map must say this.
    MustBeStated(&'static str),
}

/// Day numbers that are read as dates: five figures.
const SERIALS: std::ops::RangeInclusive<i64> = 10_000..=99_999;
/// Day numbers of 1990-01-01 and 2040-12-31.
pub const PLAUSIBLE_SERIALS: std::ops::RangeInclusive<i64> = 32_874..=51_501;

/// Names of months in the languages shops write, by their first three letters (four where
/// three are not enough).
const MONTHS: &[(&str, i8)] = &[
    ("jan", 1),
    ("feb", 2),
    ("fév", 2),
    ("fev", 2),
    ("mar", 3),
    ("mär", 3),
    ("mrz", 3),
    ("apr", 4),
    ("avr", 4),
    ("may", 5),
    ("mai", 5),
    ("maj", 5),
    ("jun", 6),
    ("juin", 6),
    ("jul", 7),
    ("juil", 7),
    ("aug", 8),
    ("aoû", 8),
    ("sep", 9),
    ("oct", 10),
    ("okt", 10),
    ("nov", 11),
    ("dec", 12),
    ("dez", 12),
    ("déc", 12),
];

/// The month a word names.
#[must_use]
pub fn month(word: &str) -> Option<i8> {
    let word = word.trim_matches('.').to_lowercase();
    let letters = word.chars().count();
    if !(3..=9).contains(&letters) || !word.chars().all(char::is_alphabetic) {
        return None;
    }
    let named = MONTHS.iter().filter(|(start, _)| word.starts_with(start));
    named
        .max_by_key(|(start, _)| start.len())
        .map(|(_, month)| *month)
}

impl DateSpec {
    /// Adds a stated pattern (`%d.%m.%Y`, `%m/%d/%y`, `%Y-%m-%d`); false if it is none.
    pub fn state(&mut self, pattern: &str) -> bool {
        let day = pattern.find("%d").or_else(|| pattern.find("%e"));
        let (Some(day), Some(month)) = (day, pattern.find("%m")) else {
            // With a name of a month nothing can be confused.
            return pattern.contains("%b") || pattern.contains("%B") || pattern.contains("%F");
        };
        let order = if day < month {
            Order::DayFirst
        } else {
            Order::MonthFirst
        };
        let between = pattern
            .get(day.min(month) + 2..)
            .and_then(|p| p.chars().next());
        match between {
            Some(separator) => {
                self.orders.push((separator, order));
                true
            }
            None => false,
        }
    }

    /// What a cell is.
    #[must_use]
    pub fn read(&self, text: &str) -> Dated {
        let (day, clock) = halves(text);
        let dated = self.day(day);
        let Dated::Is(date) = dated else { return dated };
        match clock {
            "" => Dated::Is(date),
            _ if text.parse::<jiff::Timestamp>().is_ok() => Dated::Is(text.replace(' ', "T")),
            clock => match time(clock) {
                Some(time) => Dated::Is(format!("{date}T{time}")),
                None => Dated::Not,
            },
        }
    }

    fn day(&self, text: &str) -> Dated {
        if let Ok(number) = text.parse::<i64>() {
            return self.serial(number);
        }
        let Some(groups) = groups(text) else {
            return named(text).map_or(Dated::Not, |(y, m, d)| self.date(y, m, d));
        };
        let ([first, second, third], separator) = groups;
        if first.len() == 4 {
            return self.date(first, second, third);
        }
        let stated = self
            .orders
            .iter()
            .find(|(s, _)| *s == separator)
            .map(|(_, order)| *order);
        // Nobody writes the month first with dots (common practice, no source).
        let order = stated
            .or((separator == '.').then_some(Order::DayFirst))
            .or(self.settled)
            .or_else(|| alone(first, second));
        match order {
            Some(Order::DayFirst) => self.date(third, second, first),
            Some(Order::MonthFirst) => self.date(third, first, second),
            None => Dated::Ambiguous,
        }
    }

    fn date(&self, year: &str, month: &str, day: &str) -> Dated {
        let (Ok(mut y), Ok(m), Ok(d)) =
            (year.parse::<i16>(), month.parse::<i8>(), day.parse::<i8>())
        else {
            return Dated::Not;
        };
        if year.len() <= 2 {
            let Some(pivot) = self.pivot else {
                return Dated::MustBeStated("a pivot for years of two digits");
            };
            y += if y < pivot { 2000 } else { 1900 };
        }
        Date::new(y, m, d).map_or(Dated::Impossible, |date| Dated::Is(date.to_string()))
    }

    fn serial(&self, number: i64) -> Dated {
        if !SERIALS.contains(&number) {
            return Dated::Not;
        }
        let shift = match self.serial {
            None => return Dated::MustBeStated("serial = \"1900\" or \"1904\" for day numbers"),
            Some(Serial::Y1900) => 0,
            Some(Serial::Y1904) => 1462,
        };
        serial_date(number + shift).map_or(Dated::Impossible, |d| Dated::Serial(d.to_string()))
    }
}

/// The day a spreadsheet's number stands for, counted from 1899-12-30.
fn serial_date(number: i64) -> Option<Date> {
    let span = jiff::Span::new().try_days(number).ok()?;
    jiff::civil::date(1899, 12, 30).checked_add(span).ok()
}

impl SeenDates {
    /// Adds what was seen in other cells.
    pub fn add(&mut self, other: &Self) {
        self.day_first += other.day_first;
        self.month_first += other.month_first;
        self.either += other.either;
        self.other += other.other;
    }

    /// Looks at one cell.
    pub fn look(&mut self, text: &str) {
        match groups(halves(text).0) {
            Some(([first, ..], _)) if first.len() == 4 => self.other += 1,
            Some(([first, second, _], separator)) if separator != '.' => {
                let over = |group: &str| group.parse::<u8>().is_ok_and(|n| n > 12);
                match (over(first), over(second)) {
                    (true, false) => self.day_first += 1,
                    (false, true) => self.month_first += 1,
                    (false, false) => self.either += 1,
                    (true, true) => self.other += 1,
                }
            }
            _ => self.other += 1,
        }
    }

    /// The order, if every cell fits one and at least one cannot be the other.
    #[must_use]
    pub fn settled(&self) -> Option<Order> {
        match (self.day_first, self.month_first, self.other) {
            (d, 0, 0) if d > 0 => Some(Order::DayFirst),
            (0, m, 0) if m > 0 => Some(Order::MonthFirst),
            _ => None,
        }
    }
}

/// A single cell whose numbers leave only one order, or in which the order does not matter.
fn alone(first: &str, second: &str) -> Option<Order> {
    let (a, b) = (first.parse::<u8>().ok()?, second.parse::<u8>().ok()?);
    if a > 12 || a == b {
        return Some(Order::DayFirst);
    }
    (b > 12).then_some(Order::MonthFirst)
}

/// Date and time of a cell.
fn halves(text: &str) -> (&str, &str) {
    let text = text.trim();
    let digits_after = |rest: &str| rest.trim_start().starts_with(|c: char| c.is_ascii_digit());
    for cut in ['T', ' '] {
        if let Some((day, clock)) = text.split_once(cut)
            && clock.contains(':')
            && digits_after(clock)
            && day.ends_with(|c: char| c.is_ascii_digit())
        {
            return (day, clock.trim());
        }
    }
    (text, "")
}

/// Three groups of digits with one separator.
fn groups(text: &str) -> Option<([&str; 3], char)> {
    let separator = text.chars().find(|c| !c.is_ascii_digit())?;
    if !matches!(separator, '.' | '/' | '-') {
        return None;
    }
    let mut parts = text.split(separator);
    let mut next = || parts.next().map(str::trim);
    let found = [next()?, next()?, next()?];
    let digits = |p: &&str| (1..=4).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_digit());
    (parts.next().is_none() && found.iter().all(digits)).then_some((found, separator))
}

/// Year, month number and day of a date with a month's name (`3 Dec 2023`, `03. Dez 2023`).
fn named(text: &str) -> Option<(&str, &'static str, &str)> {
    const NUMBERS: [&str; 12] = [
        "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12",
    ];
    let mut parts = text
        .split([' ', '-', '.', '/', ','])
        .filter(|p| !p.is_empty());
    let (a, b, year) = (parts.next()?, parts.next()?, parts.next()?);
    if parts.next().is_some() || !(year.len() == 4 || year.len() == 2) {
        return None;
    }
    let (day, month) = match (month(a), month(b)) {
        (None, Some(m)) => (a, m),
        (Some(m), None) => (b, m),
        _ => return None,
    };
    let number = NUMBERS.get(usize::try_from(month).ok()?.checked_sub(1)?)?;
    Some((year, number, day))
}

/// A time of day as `07:40:00`.
#[must_use]
pub fn time(text: &str) -> Option<String> {
    let lower = text.trim().to_ascii_lowercase();
    let (clock, shift) = match (lower.strip_suffix("am"), lower.strip_suffix("pm")) {
        (Some(clock), _) => (clock.trim(), Some(0)),
        (_, Some(clock)) => (clock.trim(), Some(12)),
        _ => (lower.as_str(), None),
    };
    let mut parts = clock.split(':');
    let mut number = |least: bool| match parts.next() {
        Some(part) => part.split(['.', '+', 'z']).next()?.parse::<i8>().ok(),
        None => (!least).then_some(0),
    };
    let (hour, minute, second) = (number(true)?, number(true)?, number(false)?);
    let hour = match shift {
        None => hour,
        Some(shift) if (1..=12).contains(&hour) => hour % 12 + shift,
        Some(_) => return None,
    };
    Some(Time::new(hour, minute, second, 0).ok()?.to_string())
}

/// What a number probably was before a spreadsheet made a date of it, if the text looks like
/// one (`08. Mrz` was 8.3).
#[must_use]
pub fn damaged(text: &str) -> Option<String> {
    let text = text.trim();
    let mut parts = text.split([' ', '-', '.', '/']).filter(|p| !p.is_empty());
    let (first, second) = (parts.next()?, parts.next()?);
    let number = |p: &str| p.parse::<u8>().ok();
    match (number(first), month(second), month(first), number(second)) {
        (Some(day), Some(month), _, _) => return Some(format!("{day}.{month}")),
        (_, _, Some(month), Some(day)) => return Some(format!("{day}.{month}")),
        _ => {}
    }
    if let Some(([a, b, c], separator)) = groups(text) {
        let year = |g: &str| matches!(g.len(), 2 | 4);
        let is = separator == '/' || a.len() == 4 || year(c);
        let (day, month) = if a.len() == 4 { (c, b) } else { (a, b) };
        return is.then(|| {
            format!(
                "{}.{}",
                day.trim_start_matches('0'),
                month.trim_start_matches('0')
            )
        });
    }
    // `8/9` and `08.03.`
    let two = text
        .split_once('/')
        .or_else(|| text.strip_suffix('.')?.split_once('.'));
    let (a, b) = two?;
    Some(format!("{}.{}", number(a)?, number(b)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is(text: &str) -> Dated {
        Dated::Is(text.to_owned())
    }

    #[test]
    fn iso_and_stated_dates_are_read() {
        let mut spec = DateSpec::default();
        assert!(spec.state("%d.%m.%Y"));
        assert_eq!(spec.read("2023-12-05"), is("2023-12-05"));
        assert_eq!(spec.read("03.12.2023"), is("2023-12-03"));
        assert_eq!(spec.read("12/06/2023"), Dated::Ambiguous);
        assert_eq!(spec.read("25/12/2023"), is("2023-12-25"));
        assert_eq!(spec.read("31.02.2023"), Dated::Impossible);
        assert_eq!(spec.read("3 Dez 2023"), is("2023-12-03"));
        assert_eq!(spec.read("2023-12-05 7:40 pm"), is("2023-12-05T19:40:00"));
        assert_eq!(
            spec.read("2023-12-05T07:40:00+01:00"),
            is("2023-12-05T07:40:00+01:00")
        );
        assert_eq!(spec.read("soon"), Dated::Not);
        let mut american = DateSpec::default();
        assert!(american.state("%m/%d/%Y"));
        assert_eq!(american.read("12/06/2023"), is("2023-12-06"));
    }

    #[test]
    fn serials_and_short_years_are_only_read_when_stated() {
        let spec = DateSpec::default();
        assert!(matches!(spec.read("45265"), Dated::MustBeStated(_)));
        assert!(matches!(spec.read("03.12.23"), Dated::MustBeStated(_)));
        let stated = DateSpec {
            serial: Some(Serial::Y1900),
            pivot: Some(50),
            ..DateSpec::default()
        };
        // The published example of the rule: 45265 is 2023-12-05.
        assert_eq!(stated.read("45265"), Dated::Serial("2023-12-05".to_owned()));
        assert_eq!(stated.read("03.12.23"), is("2023-12-03"));
        assert_eq!(stated.read("03.12.87"), is("1987-12-03"));
        let mac = DateSpec {
            serial: Some(Serial::Y1904),
            ..DateSpec::default()
        };
        assert_eq!(mac.read("43803"), Dated::Serial("2023-12-05".to_owned()));
    }

    #[test]
    fn a_column_settles_the_order_only_if_every_cell_fits() {
        let settled = |cells: &[&str]| {
            let mut seen = SeenDates::default();
            cells.iter().for_each(|c| seen.look(c));
            seen.settled()
        };
        assert_eq!(
            settled(&["01/02/2024", "25/02/2024"]),
            Some(Order::DayFirst)
        );
        assert_eq!(
            settled(&["01/02/2024", "02/25/2024"]),
            Some(Order::MonthFirst)
        );
        assert_eq!(settled(&["01/02/2024"]), None);
        assert_eq!(settled(&["25/02/2024", "02/25/2024"]), None);
        assert_eq!(settled(&["25/02/2024", "soon"]), None);
    }

    #[test]
    fn numbers_that_became_dates_are_recognised() {
        for (text, was) in [
            ("08. Mrz", "8.3"),
            ("8-Mar", "8.3"),
            ("Mar-08", "8.3"),
            ("8/9/8", "8.9"),
            ("2023-03-08", "8.3"),
            ("08.03.", "8.3"),
        ] {
            assert_eq!(damaged(text).as_deref(), Some(was), "{text}");
        }
        for text in ["8.3", "1.234.567", "no glow", "28 bar", "8,4", "2 min"] {
            assert_eq!(damaged(text), None, "{text}");
        }
    }

    #[test]
    fn the_plausible_serials_are_1990_to_2040() {
        let day = |n| serial_date(n).unwrap().to_string();
        assert_eq!(day(*PLAUSIBLE_SERIALS.start()), "1990-01-01");
        assert_eq!(day(*PLAUSIBLE_SERIALS.end()), "2040-12-31");
    }
}
