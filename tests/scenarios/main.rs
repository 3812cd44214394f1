//! Fifteen invented jobs of two invented shops, and what a good answer to each looks like.
//!
//! The job files stand in `data/scenarios/`. The figures asserted are own judgement, not data:
//! they say what a sensible mechanic would want to read. No figure of the knowledge files may be
//! set for one of these jobs alone. A clause that does not hold yet stands in
//! [`expected_to_fail!`] with its reason, and fails as soon as it does hold.

#[macro_use]
mod awaited;

mod air_fuel;
mod always;
mod cranking_engine;
mod next_moves;
mod preheat;
mod preheat_feed;
mod proof;
mod shop;
mod variants;
mod work;
