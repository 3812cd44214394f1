//! The only bridge from job to network: readings become likelihood vectors. Never thresholds a number into yes or no.

pub mod trials;
