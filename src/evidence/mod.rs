//! What was done in the wall and what it proves: bags, the machine's density, the thermal scan.

mod chart;
mod share;

pub use chart::{Chart, Limits, Signal};
pub use share::{Confidence, Count, Interval, MOST_COUNT};
