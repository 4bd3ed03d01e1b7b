//! The geometric sum, the heart of every figure that runs over years.
//!
//! `S_n(q) = 1 + q + ... + q^(n-1)` is built by doubling: `S_2m = S_m (1 + q^m)`, then
//! `S_(t+m) = S_t + q^t S_m` for the bits of `n` from the top. That is as exact as adding the
//! years one by one, takes log2(n) steps, has no division and so no singular point: at `q = 1` it
//! gives `n` exactly, where the closed form `(1 - q^n)/(1 - q)` is 0/0.

use super::Num;

/// Bits of the longest life: the registry allows 100 years.
const BITS: usize = 7;

/// Sums over `n` years, with what is needed to go on from there.
#[derive(Clone, Copy)]
pub(crate) struct Sum<N> {
    /// `q^n`.
    pub(crate) power: N,
    /// `S_n(q)`.
    pub(crate) sum: N,
}

/// `q^m` and `S_m(q)` for m = 1, 2, 4, ...
#[derive(Clone, Copy)]
pub(crate) struct Ladder<N> {
    rungs: [Sum<N>; BITS],
    height: usize,
}

/// Bits needed for every whole number up to the greatest of `n`; rungs above change nothing.
#[inline(always)]
fn bits<N: Num>(n: N) -> usize {
    let greatest = n.greatest();
    let mut bits = 1;
    while bits < BITS && greatest >= f64::from(1_u32 << bits) {
        bits += 1;
    }
    bits
}

/// The whole number `2^bit`.
#[inline(always)]
fn weight(bit: usize) -> f64 {
    f64::from(1_u32 << bit)
}

impl<N: Num> Ladder<N> {
    /// The rungs needed to reach any year up to `n`.
    #[inline(always)]
    pub(crate) fn new(q: N, n: N) -> Self {
        let one = q.like(1.0);
        let mut rungs = [Sum { power: q, sum: one }; BITS];
        let height = bits(n);
        for bit in 1..height {
            let Sum { power, sum } = rungs[bit - 1];
            rungs[bit] = Sum { power: power * power, sum: sum * (one + power) };
        }
        Self { rungs, height }
    }

    /// The sum over no year at all.
    #[inline(always)]
    pub(crate) fn start(&self) -> Sum<N> {
        let like = self.rungs[0].sum;
        Sum { power: like.like(1.0), sum: like.like(0.0) }
    }

    /// The sum when `2^bit` more years are added to `at`.
    #[inline(always)]
    pub(crate) fn ahead(&self, at: Sum<N>, bit: usize) -> Sum<N> {
        let rung = self.rungs[bit];
        Sum { power: at.power * rung.power, sum: at.sum + at.power * rung.sum }
    }

    /// The sum over `n` years.
    #[inline(always)]
    pub(crate) fn reach(&self, n: N) -> Sum<N> {
        let mut at = self.start();
        let mut left = n;
        for bit in (0..self.height).rev() {
            let step = n.like(weight(bit));
            let take = step.at_most(left);
            let next = self.ahead(at, bit);
            at = Sum {
                power: N::select(take, next.power, at.power),
                sum: N::select(take, next.sum, at.sum),
            };
            left = N::select(take, left - step, left);
        }
        at
    }

    pub(crate) const fn height(&self) -> usize {
        self.height
    }
}

/// `S_n(q)`.
#[inline(always)]
pub(crate) fn geometric_sum<N: Num>(q: N, n: N) -> N {
    Ladder::new(q, n).reach(n).sum
}

/// `q S_n(q)` and its slope by `q`: what Newton's method needs.
#[inline(always)]
pub(crate) fn annuity_and_slope<N: Num>(q: N, n: N) -> (N, N) {
    /// `power` is q^m, `before` is q^(m-1), `sum` is S_m, `slope` is dS_m/dq.
    #[derive(Clone, Copy)]
    struct Rung<N> {
        power: N,
        before: N,
        sum: N,
        slope: N,
    }
    let (zero, one) = (q.like(0.0), q.like(1.0));
    let height = bits(n);
    let mut rungs = [Rung { power: q, before: one, sum: one, slope: zero }; BITS];
    for bit in 1..height {
        let Rung { power, before, sum, slope } = rungs[bit - 1];
        rungs[bit] = Rung {
            power: power * power,
            before: power * before,
            sum: sum * (one + power),
            slope: slope * (one + power) + q.like(weight(bit - 1)) * before * sum,
        };
    }
    // `turn` is the slope of `power`.
    let (mut power, mut turn, mut sum, mut slope) = (one, zero, zero, zero);
    let mut left = n;
    for bit in (0..height).rev() {
        let rung = rungs[bit];
        let step = n.like(weight(bit));
        let take = step.at_most(left);
        sum = N::select(take, sum + power * rung.sum, sum);
        slope = N::select(take, slope + turn * rungs[bit].sum + power * rung.slope, slope);
        turn = N::select(take, turn * rung.power + power * (step * rung.before), turn);
        power = N::select(take, power * rung.power, power);
        left = N::select(take, left - step, left);
    }
    (q * sum, sum + q * slope)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn exact_where_the_closed_form_is_singular() {
        for years in [1.0, 2.0, 30.0, 100.0] {
            assert_eq!(geometric_sum(1.0, years), years);
        }
    }

    proptest! {
        #[test]
        fn agrees_with_adding_year_by_year(q in 0.5f64..1.6, years in 1u32..=100) {
            let (mut term, mut sum, mut slope) = (1.0, 0.0, 0.0);
            for t in 0..years {
                sum += term;
                term *= q;
                slope += f64::from(t + 1) * term / q;
            }
            let n = f64::from(years);
            assert_relative_eq!(geometric_sum(q, n), sum, max_relative = 1e-13);
            let (annuity, rise) = annuity_and_slope(q, n);
            assert_relative_eq!(annuity, q * sum, max_relative = 1e-13);
            assert_relative_eq!(rise, slope, max_relative = 1e-12);
        }

        #[test]
        fn higher_rungs_change_no_bit(q in 0.5f64..1.6, years in 1u32..=100) {
            let n = f64::from(years);
            let tall = Ladder::new(q, 100.0).reach(n);
            prop_assert_eq!(tall.sum.to_bits(), geometric_sum(q, n).to_bits());
        }
    }
}
