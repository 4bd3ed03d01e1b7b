#![doc = include_str!("../README.md")]
#![cfg_attr(test, allow(clippy::float_cmp, reason = "the same bits are meant"))]

pub mod account;
pub mod assembly;
pub mod batch;
#[cfg(feature = "bills")]
pub mod bills;
mod carbon;
pub mod choices;
#[cfg(feature = "climate")]
pub mod climate;
pub mod comfort;
#[cfg(feature = "house-file")]
pub mod costing;
pub mod derivation;
pub mod distribution;
pub mod doubt;
pub mod energy;
pub mod error;
#[cfg(feature = "evidence")]
pub mod evidence;
pub mod goal;
mod holds;
pub mod house;
mod job;
#[cfg(feature = "house-file")]
pub mod jobsheet;
pub mod lending;
pub mod moisture;
pub mod money;
mod numeric;
#[cfg(feature = "live")]
pub mod page;
#[cfg(feature = "python")]
mod python;
pub mod readiness;
pub mod source;
#[cfg(feature = "evidence")]
pub mod stages;
pub mod swing;
pub mod tables;
pub mod units;
mod vapour;
pub mod version;
#[cfg(feature = "house-file")]
pub mod walk;
pub mod words;

pub use derivation::Step;
