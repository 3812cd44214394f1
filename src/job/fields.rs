//! The keys a job file may have, table by table: what the reader knows, what the writers
//! write and what the JSON Schema must list.
//!
//! Must not hold values.

/// Keys of the whole file.
pub(super) const JOB: &[&str] = &["schema", "job", "complaint", "engine", "bench", "entry"];

/// Keys of `engine`.
pub(super) const ENGINE: &[&str] = &[
    "cylinders",
    "chamber",
    "preheat",
    "preheat_wiring",
    "pump",
    "system_volts",
    "cylinder_one",
    "distance",
    "hours",
    "built",
    "use",
    "plug_rated_volts",
    "plug_rated_ohms",
    "plug_rated_amps",
];

/// Keys of `bench`.
pub(super) const BENCH: &[&str] = &[
    "arrived",
    "tools",
    "people",
    "cannot",
    "minute_rate",
    "plug_price",
    "night_minutes",
    "break_factor",
    "come_back_minutes",
    "hand_over_minutes",
];

/// Keys of every entry that are not its body.
pub(super) const ENTRY: &[&str] = &["at", "by", "sure", "note", "set_aside"];

/// Names of the bodies; an entry has at most one.
pub(super) const BODIES: &[&str] = &[
    "told", "start", "reading", "work", "opinion", "cannot", "later", "finding", "mark", "undo",
    "aside",
];

/// Keys of `start` that are not signs.
pub(super) const START: &[&str] = &[
    "engine_temperature",
    "air_temperature",
    "soak",
    "preheat",
    "primed",
    "heated",
    "after_work",
    "tries",
    "result",
];

/// Keys of `reading`.
pub(super) const READING: &[&str] = &[
    "check",
    "cylinder",
    "trial",
    "repeat",
    "value",
    "supply",
    "rest",
    "leads",
    "tool",
    "why_not",
    "confirmed",
];

/// Keys of `work`.
pub(super) const WORK: &[&str] = &["repair", "cylinder", "minutes", "parts_cost"];

/// Keys of `opinion`.
pub(super) const OPINION: &[&str] = &["text", "fault", "cylinder"];

/// Keys of `cannot`.
pub(super) const CANNOT: &[&str] = &["check", "cylinder", "reason"];

/// Keys of `later`.
pub(super) const LATER: &[&str] = &["check", "cylinder"];

/// Keys of `finding`.
pub(super) const FINDING: &[&str] = &["fault", "cylinder", "proof"];

/// Keys of `undo` and of `aside`.
pub(super) const UNDO: &[&str] = &["entry", "why"];

/// Keys of `mark`.
pub(super) const MARK: &[&str] = &["state"];
