//! hardstart: cold-start diagnosis of old diesels with a mechanical injection pump.
//!
//! Signs and readings of a job feed a Bayesian network over preheat, cranking, fuel,
//! injector, pump, compression and air faults; out come ranked causes, what moved
//! them, and the next most useful check.
//!
//! The `mod` lines below stand in reading order, which is the layer order: a room
//! imports only from rooms above it. `tests/layers.rs` keeps that.
//!
//! `examples/rank_a_job.rs`, from a job file to a ranking:
#![doc = concat!("```no_run\n", include_str!("../examples/rank_a_job.rs"), "\n```")]

pub mod units;

pub mod knowledge;

pub mod network;

pub mod job;

pub mod evidence;

pub mod diagnosis;

pub mod planning;

pub mod exchange;

pub mod learning;

pub mod scoring;

pub mod selftest;

pub mod report;

pub mod cli;

pub mod web;
