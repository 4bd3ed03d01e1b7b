//! How far the saving may lie from its figure.
//!
//! Today it is the range of all judged spreads together ([`crate::swing::combined_range`]). A sampled range fits in here: the ends of
//! its middle eight tenths, and its own name.

use crate::house::Assessment;
use crate::swing::{Swing, combined_range};

/// A range round the payback, and the same range of the saving.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Band {
    /// The text that names it.
    pub(crate) name: &'static str,
    /// The shorter and the longer payback; none for no payback at all.
    pub(crate) payback: (f64, Option<f64>),
    /// The least and the most of the saving, as shares of its figure.
    pub(crate) saving: (f64, f64),
}

/// The band of a house that pays back; none where there is no payback, or nothing to pay.
pub(crate) fn band(assessment: &Assessment, swings: &[Swing]) -> Option<Band> {
    let payback = assessment.simple_payback_years.filter(|years| *years > 0.0)?;
    let (short, long) = combined_range(payback, swings);
    let saving = (long.map_or(0.0, |long| payback / long), payback / short);
    Some(Band { name: "band_combined", payback: (short, long), saving })
}
