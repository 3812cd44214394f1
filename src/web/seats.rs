//! Who sits at the bench: a seat is one browser. Tokens of forms, the join code, and its guard
//! against guessing.
//!
//! Must not know pages.

use std::collections::{BTreeMap, BTreeSet};
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use sha2::{Digest, Sha256};

/// Letters of the join code: none that is mistaken for another.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
/// Length of the join code: 32^8 codes at a few tries a minute are not guessed.
const CODE: usize = 8;
/// Span in which wrong codes are counted.
const SPAN: Duration = Duration::from_secs(60);
/// Wrong codes in a span from all machines together, as a multiple of those from one.
const ALL_TOGETHER: usize = 8;
/// Most seats and machines remembered; beyond, the oldest in order is forgotten.
const MOST: usize = 4096;

/// Seats and the secret they are made from.
#[derive(Debug)]
pub struct Seats {
    secret: [u8; 32],
    code: String,
    joined: Mutex<BTreeSet<String>>,
    wrong: Mutex<BTreeMap<IpAddr, Vec<Instant>>>,
    wrong_each: usize,
}

/// What came of a join code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Join {
    /// Right.
    Joined,
    /// Wrong.
    Wrong,
    /// Too many wrong ones; wait a minute.
    Wait,
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn random<const N: usize>() -> std::io::Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|e| std::io::Error::other(e.to_string()))?;
    Ok(bytes)
}

/// Equal, in a time that does not say where they differ.
fn same(a: &str, b: &str) -> bool {
    let differ = a.bytes().zip(b.bytes()).fold(0, |d, (x, y)| d | (x ^ y));
    a.len() == b.len() && differ == 0
}

impl Seats {
    /// An empty bench with a fresh secret.
    ///
    /// # Errors
    /// When the system has no random numbers.
    pub fn new(wrong_each: usize) -> std::io::Result<Self> {
        let code = random::<CODE>()?;
        let letter = |b: &u8| char::from(LETTERS[usize::from(*b) % LETTERS.len()]);
        Ok(Self {
            secret: random()?,
            code: code.iter().map(letter).collect(),
            joined: Mutex::default(),
            wrong: Mutex::default(),
            wrong_each,
        })
    }

    /// The code that lets another machine in.
    #[must_use]
    pub fn code(&self) -> &str {
        &self.code
    }

    /// A new seat, or a new key that marks one form, so that sending it twice writes once.
    ///
    /// # Errors
    /// When the system has no random numbers.
    pub fn fresh() -> std::io::Result<String> {
        Ok(hex(&random::<16>()?))
    }

    /// Whether a text from outside can be a seat.
    #[must_use]
    pub fn is_seat(text: &str) -> bool {
        text.len() == 32 && text.bytes().all(|b| b.is_ascii_hexdigit())
    }

    /// The token of the forms of a seat.
    #[must_use]
    pub fn token(&self, seat: &str) -> String {
        let mut hash = Sha256::new();
        hash.update(self.secret);
        hash.update(seat.as_bytes());
        // The secret stands at both ends, so that nothing can be added behind it.
        hash.update(self.secret);
        hex(&hash.finalize())
    }

    /// Whether a form carries the token of its seat.
    #[must_use]
    pub fn is_token(&self, seat: &str, token: &str) -> bool {
        same(&self.token(seat), token)
    }

    /// Whether the seat has shown the join code.
    #[must_use]
    pub fn has_joined(&self, seat: &str) -> bool {
        let joined = self.joined.lock().unwrap_or_else(PoisonError::into_inner);
        joined.contains(seat)
    }

    /// Tries the join code for a seat.
    #[must_use]
    pub fn join(&self, seat: &str, from: IpAddr, typed: &str, now: Instant) -> Join {
        let mut wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
        for tries in wrong.values_mut() {
            tries.retain(|t| now.duration_since(*t) < SPAN);
        }
        wrong.retain(|_, tries| !tries.is_empty());
        let all: usize = wrong.values().map(Vec::len).sum();
        let here = wrong.get(&from).map_or(0, Vec::len);
        if here >= self.wrong_each || all >= ALL_TOGETHER * self.wrong_each {
            return Join::Wait;
        }
        let plain: String = typed
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|c| c.to_ascii_uppercase())
            .collect();
        if !same(&plain, &self.code) {
            wrong.entry(from).or_default().push(now);
            return Join::Wrong;
        }
        let mut joined = self.joined.lock().unwrap_or_else(PoisonError::into_inner);
        if joined.len() >= MOST {
            joined.pop_first();
        }
        joined.insert(seat.to_owned());
        Join::Joined
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_fits_its_seat_only() {
        let seats = Seats::new(5).unwrap();
        let (one, two) = (Seats::fresh().unwrap(), Seats::fresh().unwrap());
        assert!(Seats::is_seat(&one));
        assert!(seats.is_token(&one, &seats.token(&one)));
        assert!(!seats.is_token(&two, &seats.token(&one)));
        assert!(!seats.is_token(&one, ""));
        let restarted = Seats::new(5).unwrap();
        assert!(!restarted.is_token(&one, &seats.token(&one)));
    }

    #[test]
    fn the_code_is_guessed_five_times_a_minute_and_no_more() {
        let seats = Seats::new(5).unwrap();
        let seat = Seats::fresh().unwrap();
        let from = IpAddr::from([192, 168, 1, 9]);
        let now = Instant::now();
        for _ in 0..5 {
            assert_eq!(seats.join(&seat, from, "AAAA", now), Join::Wrong);
        }
        let code = seats.code().to_owned();
        assert_eq!(seats.join(&seat, from, &code, now), Join::Wait);
        assert!(!seats.has_joined(&seat));
        let other = IpAddr::from([192, 168, 1, 10]);
        assert_eq!(
            seats.join(&seat, other, &code.to_lowercase(), now),
            Join::Joined
        );
        assert!(seats.has_joined(&seat));
        let later = now + SPAN;
        assert_eq!(seats.join(&seat, from, &code, later), Join::Joined);
    }
}
