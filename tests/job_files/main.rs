//! Job files, good and bad: what is understood, what is said where about what is not, what
//! comes back after writing, and what the entries say about the state of the job.

mod bad_entries;
mod entries;
mod generated;
mod generated_entries;
mod json;
mod round_trip;
mod small;
mod soup;
mod states;
mod whole_files;
mod withdrawn;

/// The example of the format, as people write it.
const EXAMPLE: &str = include_str!("../../data/jobs/qm-031.toml");

/// Head of a job with four cylinders and twelve volts; entries begin on line 9.
const HEAD: &str = "schema = \"hardstart/job/1\"\njob = \"A\"\ncomplaint = \"c\"\n[engine]\n\
                    cylinders = 4\npreheat = \"plugs\"\nsystem_volts = 12\n\n";
