//! Quantities of the job: fibre and bags.

use crate::numeric::{Calc, Function, Label, Num};
use crate::source::{Citation, Mark};
use crate::units::Quantity::Number;

static BAGS: Label = Label::new("bags", "bags of fibre; the chart on the bag governs", Number)
    .cite(Citation::new("common_practice", "", Mark::Practice));

/// The next whole number. A count that is whole but for rounding (10 bags of 25 lb in 250.000 000
/// 000 1 lb) is not raised by one.
struct WholeBags;

impl Function<2> for WholeBags {
    const NAME: &'static str = "ceil";
    const FORMULA: &'static str = "ceil(mass / bag weight), the next whole number";

    #[inline(always)]
    fn eval<N: Num>([mass, bag]: [N; 2]) -> N {
        (mass / bag * mass.like(1.0 - 1e-12)).ceiling()
    }
}

/// Bags that hold the fibre of the whole house.
#[inline(always)]
pub(crate) fn bags<C: Calc>(cx: &C, mass_lb: C::N, bag_weight_lb: C::N) -> C::N {
    cx.named(&BAGS, cx.call::<WholeBags, 2>([mass_lb, bag_weight_lb]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bags_are_whole_and_rounding_buys_none() {
        let bags = |mass: f64, bag: f64| WholeBags::eval([mass, bag]);
        assert_eq!(bags(250.0, 25.0), 10.0);
        assert_eq!(bags(250.000_000_000_1, 25.0), 10.0);
        assert_eq!(bags(250.000_001, 25.0), 11.0);
        assert_eq!(bags(249.0, 25.0), 10.0);
        assert_eq!(bags(0.1, 25.0), 1.0);
        assert_eq!(bags(0.0, 25.0), 0.0);
        // 0.1 three times is a little more than 0.3: three bags of 0.1 hold it.
        assert_eq!(bags(0.1 + 0.1 + 0.1, 0.1), 3.0);
    }
}
