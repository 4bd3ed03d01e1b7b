//! How far the saving may lie from its figure: the middle eight tenths of the draws.

use crate::doubt::{CashYear, Doubt, Figure, Sampling, doubt};
use crate::house::{Assessment, House};

/// A range round the payback.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Band {
    /// The text that names it.
    pub(crate) name: &'static str,
    /// The shorter and the longer payback; none for no payback at all.
    pub(crate) payback: (f64, Option<f64>),
    /// Half of all draws pay back within so many years; none where fewer pay back at all.
    pub(crate) half: Option<f64>,
}

/// Draws of the course of the cash: each is a whole life, so that there are fewer.
const CASH: Sampling = Sampling { draws: 1_000, seed: 1, own_only: false };

/// The band of a house that pays back; none where there is no payback, or nothing to pay.
pub(crate) fn band(house: &House, assessment: &Assessment) -> Option<Band> {
    assessment.simple_payback_years.filter(|years| *years > 0.0)?;
    let drawn: Doubt = doubt(house, &Sampling::default());
    let band = drawn.band(Figure::SimplePayback);
    Some(Band { name: "band_drawn", payback: (band.p10?, band.p90), half: band.p50 })
}

/// The course of the cash, with its band.
pub(crate) fn cash(house: &House) -> Vec<CashYear> {
    doubt(house, &CASH).cash()
}
