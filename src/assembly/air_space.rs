//! Resistance of the air left in a cavity.

use crate::numeric::{Calc, Function, Num};
use crate::source::Citation;
use crate::tables;
use crate::units::factor::{MM_PER_IN, RSI_PER_R};

/// The way the heat goes through a surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum HeatFlow {
    Horizontal,
    Up,
    Down,
}

macro_rules! air_layer {
    ($name:ident, $table:ident, $citation:ident, $text:literal) => {
        struct $name;

        impl Function<1> for $name {
            const NAME: &'static str = "r_air";
            const FORMULA: &'static str = concat!(
                "ISO 6946 unventilated air layer, heat flow ",
                $text,
                ", linear between its points"
            );

            fn citation() -> Option<Citation> {
                Some(tables::$citation)
            }

            #[inline(always)]
            fn eval<N: Num>([gap_in]: [N; 1]) -> N {
                interpolate(tables::$table, gap_in)
            }
        }
    };
}

air_layer!(HorizontalLayer, AIR_SPACE_HORIZONTAL, AIR_SPACE_HORIZONTAL_CITATION, "horizontal");
air_layer!(UpLayer, AIR_SPACE_UP, AIR_SPACE_UP_CITATION, "up");
air_layer!(DownLayer, AIR_SPACE_DOWN, AIR_SPACE_DOWN_CITATION, "down");

impl HeatFlow {
    /// Resistance (h·ft²·°F/Btu) of an unventilated air layer of this thickness (in).
    #[inline(always)]
    pub(crate) fn air_layer<C: Calc>(self, cx: &C, gap_in: C::N) -> C::N {
        match self {
            Self::Horizontal => cx.call::<HorizontalLayer, 1>([gap_in]),
            Self::Up => cx.call::<UpLayer, 1>([gap_in]),
            Self::Down => cx.call::<DownLayer, 1>([gap_in]),
        }
    }
}

/// Linear between the points, level beyond the last.
#[inline(always)]
fn interpolate<N: Num>(points: &[(f64, f64)], gap_in: N) -> N {
    let gap_mm = gap_in * gap_in.like(MM_PER_IN);
    let mut r_m2k_w = gap_in.like(0.0);
    for pair in points.windows(2) {
        let ((from, r_from), (to, r_to)) = (pair[0], pair[1]);
        let line = gap_in.like(r_from)
            + (gap_mm - gap_in.like(from)) * gap_in.like((r_to - r_from) / (to - from));
        r_m2k_w = N::select(gap_in.like(from).less(gap_mm), line, r_m2k_w);
    }
    if let Some(&(last, r_last)) = points.last() {
        r_m2k_w = N::select(gap_in.like(last).at_most(gap_mm), gap_in.like(r_last), r_m2k_w);
    }
    r_m2k_w / gap_in.like(RSI_PER_R)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Plain;
    use approx::assert_relative_eq;

    /// ISO 6946, unventilated air layers, heat flow horizontal (seen quoted).
    #[test]
    fn gives_the_points_of_the_standard() {
        for (mm, rsi) in [
            (0.0, 0.0),
            (5.0, 0.11),
            (7.0, 0.13),
            (10.0, 0.15),
            (15.0, 0.17),
            (25.0, 0.18),
            (300.0, 0.18),
        ] {
            let r = HeatFlow::Horizontal.air_layer(&Plain, mm / MM_PER_IN);
            assert_relative_eq!(r * RSI_PER_R, rsi, epsilon = 1e-12);
        }
        let between = HeatFlow::Down.air_layer(&Plain, 75.0 / MM_PER_IN) * RSI_PER_R;
        assert_relative_eq!(between, 0.215, epsilon = 1e-12);
    }
}
