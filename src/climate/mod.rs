//! Temperatures of real days, and what is made of them.

mod daily;

pub use daily::DailyMeans;
