#![doc = include_str!("../README.md")]
#![cfg_attr(test, allow(clippy::float_cmp, reason = "the same bits are meant"))]

pub mod assembly;
pub mod batch;
mod carbon;
#[cfg(feature = "climate")]
pub mod climate;
pub mod derivation;
pub mod energy;
pub mod error;
pub mod house;
mod job;
pub mod money;
mod numeric;
#[cfg(feature = "live")]
pub mod page;
#[cfg(feature = "python")]
mod python;
pub mod readiness;
pub mod source;
pub mod swing;
pub mod tables;
pub mod units;
pub mod words;

pub use derivation::Step;
