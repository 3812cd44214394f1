//! Clauses that are awaited: they must fail, with a reason, until somebody makes them hold.
//!
//! Must not hide a clause that holds.

/// Runs the body and passes if it panics; fails when it does not, so that the clause is made a
/// real test as soon as it holds.
macro_rules! expected_to_fail {
    ($reason:expr, $body:block) => {{
        let outcome = std::panic::catch_unwind(|| $body);
        assert!(
            outcome.is_err(),
            "holds now, so make it a real test (was: {})",
            $reason
        );
    }};
}

#[test]
fn a_clause_that_fails_is_awaited() {
    expected_to_fail!("one is not two", { assert_eq!(1, 2) });
}

#[test]
#[should_panic(expected = "holds now")]
fn a_clause_that_holds_is_not_awaited() {
    expected_to_fail!("it holds", { assert_eq!(1, 1) });
}
