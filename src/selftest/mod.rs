//! The installed program held against published answers: small networks through the reader, the
//! compiler and the kernel, and figures of the physics, the units and the outlier rules.
//!
//! Reading order: `check` (one line), `networks`, `noisy_or`, `figures`. A printed value is asked
//! for to half a unit of its last place. Must not print.

mod check;
mod figures;
mod networks;
mod noisy_or;

pub use check::Check;

/// All checks, in a fixed order.
#[must_use]
pub fn checks() -> Vec<Check> {
    let mut checks = networks::checks();
    checks.extend(noisy_or::checks());
    checks.extend(figures::checks());
    checks
}
