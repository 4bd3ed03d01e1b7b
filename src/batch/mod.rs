//! Many houses at once: flat rows, each a house with one wall, through the same arithmetic.
//!
//! A block of rows is validated column by column; what is plainly in order goes through
//! [`one_surface`](crate::house), the formulas of the scalar [`assess`](crate::house::assess),
//! several rows at a time. A row with anything out of the ordinary goes through the scalar door
//! itself, which scores it or says every fault. So the two agree to the bit, and no rule or
//! formula is stated again here.

#[cfg(feature = "arrow")]
pub mod arrow;
mod columns;
mod kernel;
mod plan;

pub use plan::{Plan, Role, SchemaError};
