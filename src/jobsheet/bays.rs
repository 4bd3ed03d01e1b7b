//! Cavities, the pockets that blocking makes of them, and the openings that it takes to fill them.

use crate::house::FillBy;
use crate::tables::{SHORT_HOSE_REACH_FT, STUD_THICKNESS_IN};

/// The cavities of a surface, counted from its net area: those over and under windows come on top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bays {
    /// From the middle of a stud to the middle of the next, in.
    pub spacing_in: f64,
    /// Length of the surface at its full height, ft.
    pub run_ft: f64,
    /// Cavities.
    pub bays: f64,
    /// Pockets: a cavity has one more than it has rows of blocking across it.
    pub pockets: f64,
    /// Height of a pocket, ft.
    pub pocket_height_ft: f64,
    /// Openings for each pocket.
    pub openings_each: f64,
    /// Openings in all: runs of the tube, or stops of the short hose.
    pub openings: f64,
    /// Rows of openings, one above another.
    pub bands: f64,
}

/// The next whole number; one that is whole but for rounding is not raised.
fn whole_up(value: f64) -> f64 {
    (value * (1.0 - 1e-12)).ceil().max(1.0)
}

/// Share of the area that the studs alone take.
pub(crate) fn stud_share(spacing_in: f64) -> f64 {
    STUD_THICKNESS_IN.value / spacing_in
}

/// Counts them. A tube reaches a whole pocket from one opening; a short hose only so far.
pub(crate) fn count(
    area_ft2: f64,
    spacing_in: f64,
    height_ft: f64,
    blocking_rows: u8,
    fill_by: FillBy,
) -> Bays {
    let run_ft = area_ft2 / height_ft;
    let bays = whole_up(run_ft * 12.0 / spacing_in);
    let each = f64::from(blocking_rows) + 1.0;
    let pocket_height_ft = height_ft / each;
    let openings_each = match fill_by {
        FillBy::Tube => 1.0,
        FillBy::ShortHose => whole_up(pocket_height_ft / SHORT_HOSE_REACH_FT.value),
    };
    let pockets = bays * each;
    Bays {
        spacing_in,
        run_ft,
        bays,
        pockets,
        pocket_height_ft,
        openings_each,
        openings: pockets * openings_each,
        bands: each * openings_each,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// By hand: 96 ft² of an 8 ft wall is 12 ft long, 9 cavities at 16 in.; a tube takes 9 openings,
    /// a short hose 2 for each, a row of blocking doubles the tube's.
    #[test]
    fn counted_by_hand() {
        let tube = count(96.0, 16.0, 8.0, 0, FillBy::Tube);
        assert_eq!((tube.run_ft, tube.bays, tube.openings, tube.bands), (12.0, 9.0, 9.0, 1.0));
        let hose = count(96.0, 16.0, 8.0, 0, FillBy::ShortHose);
        assert_eq!((hose.openings_each, hose.openings, hose.bands), (2.0, 18.0, 2.0));
        let blocked = count(96.0, 16.0, 8.0, 1, FillBy::Tube);
        assert_eq!((blocked.pockets, blocked.openings, blocked.bands), (18.0, 18.0, 2.0));
        // With blocking at half height, a short hose needs no more than a tube.
        assert_eq!(count(96.0, 16.0, 8.0, 1, FillBy::ShortHose).openings, 18.0);
        assert!((stud_share(16.0) - 0.093_75).abs() < 1e-15);
    }

    proptest! {
        /// Common practice, no source: filling by tube makes fewer holes than a short hose, and
        /// never more.
        #[test]
        fn a_tube_never_takes_more_openings(
            area in 1.0..20_000.0_f64,
            spacing in 8.0..48.0_f64,
            height in 1.0..60.0_f64,
            rows in 0_u8..=20,
        ) {
            let tube = count(area, spacing, height, rows, FillBy::Tube);
            let hose = count(area, spacing, height, rows, FillBy::ShortHose);
            prop_assert!(tube.openings <= hose.openings);
            prop_assert_eq!(tube.openings, tube.pockets);
            prop_assert_eq!(tube.bays * (f64::from(rows) + 1.0), tube.pockets);
            // The cavities cover the wall, and one fewer would not.
            prop_assert!(tube.bays * spacing * height / 12.0 >= area * (1.0 - 1e-9));
            prop_assert!((tube.bays - 1.0) * spacing * height / 12.0 <= area);
        }
    }
}
