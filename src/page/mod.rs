//! Pages that stand alone: the report of a house, to be shown, kept and played with.
//!
//! A page is one file: no network, no fonts or scripts from elsewhere. [`live::Live`] makes all that it shows, from [`crate::house::assess`];
//! compiled to WebAssembly it makes it again, inside the page, when a slider moves. Nothing is computed in the page's own script.

mod band;
mod cash;
pub mod live;
#[cfg(feature = "page")]
mod many;
mod markup;
mod options;
#[cfg(all(feature = "page", feature = "arrow"))]
pub mod portfolio;
#[cfg(feature = "page")]
mod report;
mod section;
mod sliders;
mod speech;
#[cfg(all(feature = "page", feature = "arrow"))]
mod spread;
mod view;
pub mod words;
#[cfg(feature = "page")]
mod zip;

#[cfg(feature = "page")]
pub use many::{Binder, Bound, PagesError, REJECTS, reports};
#[cfg(feature = "page")]
pub use report::{MOST_CURRENCY, PageError, PageOptions, Printer, report};
