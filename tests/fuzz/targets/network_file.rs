//! Any text as a network in the interchange format: problems with places, or a network that is
//! written and read again the same.
//!
//! Must not answer queries.
#![no_main]

use hardstart::network::bif::read;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let Ok(bif) = read(text) else { return };
    for variable in bif.network.variables() {
        let own = variable.states.len();
        for row in variable.local.init.chunks(own) {
            let total: f64 = row.iter().sum();
            assert!((total - 1.0).abs() < 1e-9, "{}: {total}", variable.name);
        }
    }
});
