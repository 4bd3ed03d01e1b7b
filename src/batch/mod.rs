//! Many houses at once: flat rows, each a house with one wall, through the same arithmetic.
//!
//! A block of rows is validated column by column; what is plainly in order goes through
//! [`one_surface`](crate::house), the formulas of the scalar [`assess`](crate::house::assess),
//! several rows at a time. A row with anything out of the ordinary goes through the scalar door
//! itself, which scores it or says every fault. So the two agree to the bit, and no rule or
//! formula is stated again here.

#[cfg(feature = "arrow")]
pub mod arrow;
#[cfg(any(feature = "arrow", feature = "csv"))]
mod columns;
#[cfg(feature = "csv")]
pub mod csv;
#[cfg(feature = "arrow")]
mod data;
#[cfg(feature = "arrow")]
mod decimal;
#[cfg(feature = "arrow")]
mod exact;
#[cfg(feature = "csv")]
pub mod files;
#[cfg(feature = "arrow")]
mod fill;
#[cfg(any(feature = "arrow", feature = "csv"))]
mod kernel;
#[cfg(feature = "house-file")]
pub mod lines;
#[cfg(feature = "arrow")]
mod nested;
#[cfg(feature = "arrow")]
mod pages;
#[cfg(feature = "parquet")]
mod parquet;
mod plan;
#[cfg(feature = "arrow")]
mod reason;
#[cfg(feature = "arrow")]
pub mod report;
#[cfg(feature = "arrow")]
mod scored;
#[cfg(feature = "arrow")]
pub mod selection;
#[cfg(feature = "arrow")]
pub mod spread;
#[cfg(feature = "arrow")]
pub mod summary;
#[cfg(feature = "arrow")]
pub mod table;
#[cfg(feature = "parquet")]
pub mod table_file;
#[cfg(any(feature = "arrow", feature = "csv"))]
mod wide;
#[cfg(feature = "arrow")]
mod worded;
#[cfg(any(feature = "arrow", feature = "csv"))]
mod words;

pub use plan::{Plan, Role, SchemaError};
#[cfg(feature = "arrow")]
pub use reason::Reason;

/// How many houses were read and what became of them: `scored` and `rejected` make up `read`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Houses read.
    pub read: u64,
    /// Houses with results.
    pub scored: u64,
    /// Houses that could not be scored.
    pub rejected: u64,
    /// Scored houses on which the work must not start.
    pub on_hold: u64,
}

impl std::ops::AddAssign for Counts {
    fn add_assign(&mut self, other: Self) {
        self.read += other.read;
        self.scored += other.scored;
        self.rejected += other.rejected;
        self.on_hold += other.on_hold;
    }
}
