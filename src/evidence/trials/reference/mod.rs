//! Published outlier rules, printed beside our own judgement of trials as references. They
//! decide nothing here.

mod dixon;
mod esd;
mod grubbs;
mod mad;

pub use dixon::{Dixon, DixonRatio, Significance, dixon, dixon_critical, dixon_n3};
pub use esd::{Esd, EsdStep, esd, esd_critical};
pub use grubbs::{Grubbs, Sides, grubbs, grubbs_critical, grubbs_p_one_sided, largest_possible_z};
pub use mad::{MAD_FLAG, MAD_SCALE, MEAN_SCALE, Mad, MadBasis, mad, median};
