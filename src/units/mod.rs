//! Units: exact factors, the quantities a field can hold, and newtypes for the public interface.
//!
//! Figures are kept in inch-pound units, the trade's in North America and those of the method's
//! formulas, so that a wall can be followed by hand; every quantity converts to SI by the exact
//! factors of [`factor`].

pub mod factor;
mod quantity;
mod types;

#[cfg(any(feature = "arrow", feature = "csv"))]
pub(crate) use quantity::Conversion;
pub use quantity::{Quantity, UnitSystem};
pub use types::{
    Airflow, Area, Conductance, DegreeDays, Density, Elevation, Energy, Fraction, Length, Mass,
    OutOfBounds, RValue, Resistivity, UValue,
};
