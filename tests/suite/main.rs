//! The library from outside: what it must reproduce, obey and refuse.
//!
//! Published values stand in `tests/reference/published.csv` or beside the test, each with its
//! source and its mark: S seen in a stored copy of the document, S2 seen quoted, M from memory.
//! Practice facts are marked "common practice, no source". All houses are invented.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must fail"
)]
#![allow(clippy::print_stdout, reason = "a test prints the error that it achieved")]
#![allow(clippy::float_cmp, reason = "the same bits are meant where floats are compared")]

mod agree;
#[cfg(feature = "house-file")]
mod bad_file;
mod bad_input;
#[cfg(feature = "bills")]
mod bills;
#[cfg(feature = "bills")]
mod bills_proof;
#[cfg(feature = "bills")]
mod bills_readings;
#[cfg(all(feature = "bills", feature = "arrow"))]
mod bills_table;
mod book;
mod checks;
mod choices;
#[cfg(feature = "house-file")]
mod clearing;
#[cfg(feature = "climate")]
mod climate;
mod comfort;
#[cfg(feature = "house-file")]
mod costing;
#[cfg(feature = "csv")]
mod csv_door;
mod derivation;
#[cfg(feature = "house-file")]
mod doors;
mod doubt;
#[cfg(feature = "evidence")]
mod evidence;
mod features;
mod goal;
mod hand;
#[cfg(feature = "house-file")]
mod jobsheet;
mod laws;
mod lending;
mod moisture;
mod money_laws;
#[cfg(feature = "page")]
mod pages;
#[cfg(feature = "parquet")]
mod parquet_door;
#[cfg(feature = "arrow")]
mod portfolio;
mod practice;
mod published;
mod readiness;
#[cfg(feature = "house-file")]
mod readme;
mod reference;
mod samples;
#[cfg(feature = "arrow")]
mod shared;
#[cfg_attr(not(feature = "house-file"), allow(dead_code, reason = "house files are its use"))]
mod spec;
#[cfg(feature = "evidence")]
mod stages;
mod tables;
#[cfg(feature = "csv")]
mod tabular;
mod wall_laws;
