//! A root that is always found: Newton's method inside a bracket.

use super::Num;

/// An interval that holds the root.
#[derive(Clone, Copy)]
pub(crate) struct Bracket<N> {
    /// Where the function is at most the target.
    pub(crate) low: N,
    /// Where the function is at least the target.
    pub(crate) high: N,
    /// Where to begin.
    pub(crate) start: N,
}

/// Halving ends here, as a share of the root.
const CLOSE: f64 = 1e-14;
/// After a Newton step as small as this the error is at most `step^2 f''/(2 f')`. For sums of
/// powers up to the hundredth that is 50 steps squared: less than the last bit.
const LAST_STEP: f64 = 2e-9;
/// Bisection alone needs about 60 steps to the last bit from any sensible bracket; a bracket that
/// spans the whole range of `f64` needs 1,100 and is refused by the callers.
const MOST_STEPS: usize = 200;

/// A function that rises, with its slope.
///
/// A trait and not a closure: a closure may be left out of line, where vectors do not reach.
pub(crate) trait Rising<N> {
    /// The value and the slope at `x`.
    fn at(&self, x: N) -> (N, N);
}

/// The `x` in the bracket at which a rising function meets `target`.
///
/// `function` gives its value and its slope. A Newton step that leaves the bracket, or is not a
/// number, is replaced by halving, and the number of steps is bounded: it cannot hang.
#[inline(always)]
pub(crate) fn rising_root<N: Num>(target: N, bracket: Bracket<N>, function: &impl Rising<N>) -> N {
    let Bracket { mut low, mut high, start: mut x } = bracket;
    let half = x.like(0.5);
    // Every lane is active until its own step is small; then it keeps its value.
    let mut active = x.at_most(x);
    for _ in 0..MOST_STEPS {
        let (value, slope) = function.at(x);
        let below = value.less(target);
        low = N::select(below, x, low);
        high = N::select(below, high, x);
        let newton = x - (value - target) / slope;
        let inside = low.at_most(newton) & newton.at_most(high);
        let next = N::select(inside, newton, half * (low + high));
        let step = N::select(next.less(x), x - next, next - x);
        let close = N::select(inside, x.like(LAST_STEP), x.like(CLOSE));
        let done = step.at_most(x * close);
        x = N::select(active, next, x);
        active = active & !done;
        if !N::any(active) {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    impl<F: Fn(f64) -> (f64, f64)> Rising<f64> for F {
        fn at(&self, x: f64) -> (f64, f64) {
            self(x)
        }
    }

    #[test]
    fn finds_a_cube_root_from_a_bad_start() {
        let bracket = Bracket { low: 0.0, high: 1e6, start: 1e6 };
        let root = rising_root(27.0, bracket, &|x: f64| (x * x * x, 3.0 * x * x));
        assert_relative_eq!(root, 3.0, max_relative = 1e-14);
    }

    #[test]
    fn a_slope_of_zero_or_nothing_does_not_hang() {
        let bracket = Bracket { low: 0.0, high: 8.0, start: 1.0 };
        let root = rising_root(2.0, bracket, &|x: f64| (x, 0.0));
        assert_relative_eq!(root, 2.0, max_relative = 1e-13);
        let root = rising_root(2.0, bracket, &|x: f64| (x, f64::NAN));
        assert_relative_eq!(root, 2.0, max_relative = 1e-13);
    }
}
