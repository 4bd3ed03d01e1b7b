//! How far the saving may lie from its figure: the middle eight tenths of the draws.

use crate::doubt::{CashYear, Doubt, Figure, Sampling, Streams, doubt_with};
use crate::house::{Assessment, House};
use std::cell::RefCell;

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

thread_local! {
    /// The random numbers of the band and of the cash. They are the same for every house and wherever the sliders stand, and cost more than what
    /// is reckoned from them: kept, a slider's move stays within a frame.
    static STREAMS: RefCell<[Streams; 2]> = RefCell::new([Streams::default(), Streams::default()]);
}

/// The draws of a house, with random numbers that are kept.
fn drawn(house: &House, sampling: &Sampling, place: usize) -> Doubt {
    STREAMS.with_borrow_mut(|streams| match streams.get_mut(place) {
        Some(streams) => doubt_with(house, sampling, streams),
        None => doubt_with(house, sampling, &mut Streams::default()),
    })
}

/// The band of a house that pays back; none where there is no payback, or nothing to pay.
pub(crate) fn band(house: &House, assessment: &Assessment) -> Option<Band> {
    assessment.simple_payback_years.filter(|years| *years > 0.0)?;
    let drawn = drawn(house, &Sampling::default(), 0);
    let band = drawn.band(Figure::SimplePayback);
    Some(Band { name: "band_drawn", payback: (band.p10?, band.p90), half: band.p50 })
}

/// The course of the cash, with its band.
pub(crate) fn cash(house: &House) -> Vec<CashYear> {
    drawn(house, &CASH, 1).cash()
}
