//! What can be done with one house, side by side: leave it as it is, fill over the batt, take the
//! batt out and fill, treat one surface before the others.
//!
//! An option is the same house with some fields of the work changed and a price of its own; its
//! figures are those of [`assess`](crate::house::assess). The step from one option to the next
//! dearer one is the difference of their costs and savings, valued by the same money functions.

mod compare;
mod prepare;
mod spec;
mod usual;
pub(crate) mod words;

pub use compare::{Comparison, Row, Step, compare};
#[cfg(feature = "live")]
pub(crate) use prepare::prepare;
#[cfg(feature = "house-file")]
pub use spec::stated;
pub use spec::{MOST_OPTIONS, OptionSpec, Work};
pub use usual::usual;
#[cfg(feature = "live")]
pub(crate) use usual::usual_fill;
pub use words::{blocks, side_by_side};

use crate::house::House;
use crate::source::Citation;

/// Something that was taken for an option because the user did not say.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumption {
    /// What was taken, in words.
    pub what: String,
    /// The amount of money in it, where it is one.
    pub amount: Option<f64>,
    /// What it rests on.
    pub citation: Citation,
}

/// An option, ready to be assessed.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Its name.
    pub name: String,
    /// What is done.
    pub work: Work,
    /// The house with this done to it.
    pub house: House,
    /// Places of the surfaces that are treated.
    pub treated: Vec<usize>,
    /// The price of the fill itself.
    pub fill_cost: f64,
    /// Drilling and making good, where it is not in the price of the fill.
    pub repair_cost: f64,
    /// Opening the wall, taking the batt out and closing it again.
    pub removal_cost: f64,
    /// What was taken for it.
    pub assumptions: Vec<Assumption>,
}

/// Path of an option of the list in messages.
pub(crate) fn path(index: usize) -> String {
    format!("options[{index}]")
}
