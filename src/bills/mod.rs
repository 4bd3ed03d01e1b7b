//! Bills: what a house burns by its meter, what its model makes of that, and what a fill has saved.
//!
//! Dated readings become periods ([`Meter`]), periods laid beside daily weather become samples, and
//! a fit over the degree-days of each ([`Fit`]) tells base load, slope and change point with their
//! errors. A usual year ([`NormalYear`]) turns a fit into a year's use. Everything here is
//! statistics of measured use; the model of a house comes in through
//! [`assess`](crate::house::assess) alone.

#![allow(clippy::cast_precision_loss, reason = "counts of readings and days are small")]
#![allow(clippy::neg_cmp_op_on_partial_ord, reason = "what is no number must be caught as well")]
#![allow(clippy::needless_bitwise_bool, reason = "lanes do not branch")]
#![allow(clippy::needless_range_loop, reason = "lanes and matrices are walked side by side")]

mod bootstrap;
mod calibrate;
mod explain;
mod finding;
mod fit;
mod five;
mod judge;
mod many;
mod many_proofs;
mod normal;
mod proof;
mod reading;
mod sample;
mod search;
mod stats;
#[cfg(feature = "arrow")]
pub mod table;
#[cfg(feature = "arrow")]
mod table_many;
mod unit;
mod words;

pub use calibrate::{Calibration, calibrate};
pub use explain::explain;
pub use finding::{Finding, Weight, gravest};
pub use fit::{Errors, Fit, Form, MOST_RESAMPLES, Options, Params};
pub use judge::Verdict;
pub use many::{Climate, Climates, MeterFigures, MeterResult, MeterRows, Workers, fit_meters};
pub use many_proofs::{HouseNote, MeterPair, PairResult, prove_meters};
pub use normal::{Annual, NormalYear};
pub use proof::{Comparison, Promise, Proof, Ranged, prove};
pub use reading::{Meter, Period, Reading};
pub use sample::{Sample, samples};
pub use unit::fuel_units_in;
pub use words::{calibration_blocks, fit_blocks, owner_sentence, proof_blocks};

use crate::climate::DailyMeans;
use crate::error::InputError;
use crate::house::Fuel;

/// Fits the readings of one meter over the weather.
///
/// # Errors
/// [`InputError`] with every fault of the readings, where none of them lies in the weather, and
/// where they are too few.
pub fn fit_readings(
    fuel: Fuel,
    readings: &[Reading],
    weather: &DailyMeans,
    options: &Options,
) -> Result<Fit, InputError> {
    options.check()?;
    let meter = Meter::new(fuel, readings)?;
    let mut findings = meter.findings.clone();
    let samples = samples(&meter, weather, &mut findings)?;
    Fit::new(fuel, samples, findings, options)
}
