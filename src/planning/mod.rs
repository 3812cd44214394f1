//! Test-and-repair problems: hypotheses, checks, repairs, and the search for the least expected minutes. Never knows about parts.
