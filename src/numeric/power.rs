//! Powers from the basic operations alone, so that every lane of a pack, every machine and every
//! door gets the same bits.
//!
//! `x^y = exp(y ln x)`. The error is a few units in the last place times `1 + |y ln x|`: what is
//! raised here (a ratio to the power of one over the years, a relative air density) stays near 1.

use super::Num;

/// A number whose binary exponent can be taken off and put on again, exactly.
pub(super) trait Binary: Num {
    /// `(m, k)` with `self = m 2^k` and `m` between `√½` and `√2`, for positive normal numbers.
    fn split(self) -> (Self, Self);
    /// `2^k` for a whole `k` from -1022 to 1023.
    fn power_of_two(k: Self) -> Self;
}

/// 1.5 times 2^52: adding it and taking it off rounds to the nearest whole number.
const SHIFT: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts: the first has so few digits that a binary exponent times it is exact.
const LN_2_HEAD: f64 = 0.693_147_180_369_123_8;
const LN_2_TAIL: f64 = 1.908_214_929_270_587_7e-10;

/// One number's [`Binary::split`].
#[inline(always)]
pub(super) fn split(x: f64) -> (f64, f64) {
    const EXPONENT: u64 = 0xFFF0_0000_0000_0000;
    let bits = x.to_bits();
    // The exponent as it is when counting begins at √½ and not at 1.
    let from_root = bits.wrapping_sub(std::f64::consts::FRAC_1_SQRT_2.to_bits());
    let mantissa = f64::from_bits(bits.wrapping_sub(from_root & EXPONENT));
    // A whole number of up to 52 bits, put below the digits of 2^52, is there as an f64.
    let biased = from_root.wrapping_add(1023 << 52) >> 52;
    let exponent = f64::from_bits(biased | 1075 << 52) - (4_503_599_627_370_496.0 + 1023.0);
    (mantissa, exponent)
}

/// One number's [`Binary::power_of_two`].
#[inline(always)]
pub(super) fn power_of_two(k: f64) -> f64 {
    // The lowest bits of the sum are those of `k + 1023`, the exponent as an f64 keeps it.
    f64::from_bits((k + (4_503_599_627_370_496.0 + 1023.0)).to_bits() << 52)
}

impl Binary for f64 {
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        split(self)
    }
    #[inline(always)]
    fn power_of_two(k: Self) -> Self {
        power_of_two(k)
    }
}

/// `base` to the power of `exponent`; NaN for a negative base, 1 for a base of 1.
#[inline(always)]
pub(super) fn power<N: Binary>(base: N, exponent: N) -> N {
    let one = base.like(1.0);
    // What is 1 for certain is not computed.
    if !N::any(!(base.at_most(one) & one.at_most(base))) {
        return one;
    }
    exponential(exponent * logarithm(base))
}

/// A polynomial whose even and odd terms are summed side by side, so that neither waits for the
/// other.
#[inline(always)]
fn polynomial<N: Num, const K: usize>(x: N, coefficients: [f64; K]) -> N {
    let square = x * x;
    let mut sums = [x.like(0.0); 2];
    for place in (0..K).rev() {
        sums[place % 2] = sums[place % 2] * square + x.like(coefficients[place]);
    }
    sums[0] + x * sums[1]
}

/// 1/3, 1/5, 1/7, ...: what follows s in the series of atanh(s)/s, by s^2.
const ATANH: [f64; 12] = {
    let mut terms = [0.0; 12];
    let (mut place, mut odd) = (0, 3.0);
    while place < terms.len() {
        terms[place] = 1.0 / odd;
        (place, odd) = (place + 1, odd + 2.0);
    }
    terms
};

/// 1/n!
const EXP: [f64; 14] = {
    let mut terms = [1.0; 14];
    let (mut place, mut factorial, mut n) = (1, 1.0, 1.0);
    while place < terms.len() {
        factorial *= n;
        terms[place] = 1.0 / factorial;
        (place, n) = (place + 1, n + 1.0);
    }
    terms
};

/// ln x by `2 atanh(s) = 2 (s + s^3/3 + s^5/5 + …)`, `s = (m - 1)/(m + 1)`: at most 0.172, so that
/// the twelfth term is the last that counts.
#[inline(always)]
fn logarithm<N: Binary>(x: N) -> N {
    let lit = |value| x.like(value);
    // Numbers with fewer digits than others are first brought among those.
    let tiny = x.less(lit(f64::MIN_POSITIVE));
    let (mantissa, exponent) = N::select(tiny, x * lit(18_014_398_509_481_984.0), x).split();
    let exponent = N::select(tiny, exponent - lit(54.0), exponent);
    let over = mantissa - lit(1.0);
    let s = over / (lit(2.0) + over);
    let square = s * s;
    let of_mantissa = lit(2.0) * (s + s * square * polynomial(square, ATANH));
    let ln = exponent * lit(LN_2_HEAD) + (exponent * lit(LN_2_TAIL) + of_mantissa);
    let zero = lit(0.0);
    let at_zero = x.at_most(zero) & zero.at_most(x);
    let ln = N::select(x.less(lit(f64::INFINITY)), ln, x);
    N::select(zero.less(x), ln, N::select(at_zero, lit(f64::NEG_INFINITY), lit(f64::NAN)))
}

/// e^y by `2^k e^r`, |r| at most half of ln 2: the term of r^13 is the last that counts.
#[inline(always)]
fn exponential<N: Binary>(y: N) -> N {
    let lit = |value| y.like(value);
    // Beyond these it is 0 or infinite all the same.
    let y = y.lesser(lit(710.0)).greater(lit(-750.0));
    let whole = |x: N| (x + lit(SHIFT)) - lit(SHIFT);
    let k = whole(y * lit(std::f64::consts::LOG2_E));
    let r = (y - k * lit(LN_2_HEAD)) - k * lit(LN_2_TAIL);
    let of_r = polynomial(r, EXP);
    // In two steps, since 2^k itself may be out of range.
    let half = whole(k * lit(0.5));
    of_r * N::power_of_two(half) * N::power_of_two(k - half)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn certain_powers() {
        assert_eq!(power(1.0, 0.123), 1.0);
        assert_eq!(power(7.0, 0.0), 1.0);
        assert_eq!(power(0.0, 0.5), 0.0);
        assert_eq!(power(f64::INFINITY, 0.5), f64::INFINITY);
        assert!(power(-1.0, 0.5).is_nan());
        assert!(power(f64::NAN, 0.5).is_nan());
        assert_eq!(split(1.0), (1.0, 0.0));
        assert_eq!(split(std::f64::consts::SQRT_2), (std::f64::consts::FRAC_1_SQRT_2, 1.0));
        assert_eq!(power_of_two(-1022.0), f64::MIN_POSITIVE);
    }

    proptest! {
        /// Against the `libm` crate, over every positive number.
        #[test]
        fn agrees_with_libm(bits in 1_u64..0x7FF0_0000_0000_0000, exponent in -1.0_f64..1.0) {
            let base = f64::from_bits(bits);
            let (ours, theirs) = (power(base, exponent), libm::pow(base, exponent));
            let allowed = 4e-16 * (1.0 + (exponent * libm::log(base)).abs());
            prop_assert!((ours / theirs - 1.0).abs() <= allowed, "{base}^{exponent}: {ours}, {theirs}");
        }

        #[test]
        fn splitting_loses_nothing(bits in 0x0010_0000_0000_0000_u64..0x7FF0_0000_0000_0000) {
            let x = f64::from_bits(bits);
            let (m, k) = split(x);
            prop_assert!((std::f64::consts::FRAC_1_SQRT_2..=std::f64::consts::SQRT_2).contains(&m));
            let half = (k / 2.0).trunc();
            prop_assert_eq!(m * power_of_two(half) * power_of_two(k - half), x);
        }
    }
}
