//! Doubt: what is not known exactly, and what it does to the figures.
//!
//! Each input that may be off has a distribution: the house's own ([`House::ranges`]), or the usual
//! spread of its field (`src/tables/spreads.csv`, with reason and mark). Draws of all of them
//! together go through the one calculation that [`assess`] is; what comes out is sorted, counted and
//! put to words. How much of the modelled saving is realised is among the inputs, always.
//!
//! A draw moves what physics moves together: one fuel price for all the fuel, and for the cooling
//! where electricity heats; one weather; one surveyor, who is off by the same on every surface of a
//! list. Everything else is taken as independent.
//!
//! Draws are a Latin hypercube, one stream of random bits for each field: the same for the same seed
//! on every machine and whatever the threads.
//!
//! [`House::ranges`]: crate::house::House::ranges
//! [`assess`]: crate::house::assess

mod further;
mod inputs;
mod quantile;
mod run;
mod sample;
mod shares;
#[cfg(feature = "arrow")]
pub mod table;
pub mod words;

pub use further::{RETURNS, Return};
pub use inputs::{Input, Origin};
pub(crate) use inputs::{groups, inputs};
pub use quantile::{Band, quantile};
pub use run::{CashYear, Doubt, FIGURES, Figure, doubt};
#[cfg(feature = "live")]
pub(crate) use run::{Streams, doubt_with};
pub use sample::{Stream, latin_hypercube};
pub use shares::{Share, Shares, Unvaried, shares, shares_of};

/// How a house is sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sampling {
    /// Draws, 1 to [`MOST_DRAWS`].
    pub draws: u32,
    /// What the random bits begin from.
    pub seed: u64,
    /// Whether only the house's own ranges count, and the usual spreads do not: then nothing is said
    /// of what is realised, unless the house has a range for it.
    pub own_only: bool,
}

/// The most draws of one house: a column of them takes 8 MB.
pub const MOST_DRAWS: u32 = 1_000_000;

impl Default for Sampling {
    fn default() -> Self {
        Self { draws: 10_000, seed: 1, own_only: false }
    }
}

impl Sampling {
    /// The draws, at least one and at most [`MOST_DRAWS`].
    fn count(&self) -> u32 {
        self.draws.clamp(1, MOST_DRAWS)
    }
}
