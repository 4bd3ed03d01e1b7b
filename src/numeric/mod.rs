//! One set of formulas, several ways to run them.
//!
//! Every formula of the crate is written once, generic over a number type ([`Num`]) and over the
//! one who calculates ([`Calc`]). Run with [`Plain`] it is ordinary `f64` arithmetic that costs
//! nothing extra; run with a [`tape::Tape`] the very same code also records each operation, and
//! the record is the derivation that `--explain` prints. Neither can differ from the other.
//!
//! The same bits everywhere: only the IEEE basic operations are used, no fused multiply-add;
//! whole powers come from repeated squaring, others from sums of powers of our own.

mod calc;
pub(crate) mod geometric;
#[cfg(feature = "live")]
pub(crate) mod notes;
mod num;
#[cfg(all(feature = "parallel", any(feature = "arrow", feature = "csv")))]
pub(crate) mod pack;
mod power;
mod root;
mod step;
pub(crate) mod tape;

pub(crate) use calc::{Basis, Calc, Function, Input, Label, Origin, Plain, Read};
pub(crate) use num::Num;
pub(crate) use root::{Bracket, Rising, rising_root};
pub use step::Step;
pub(crate) use step::number;
