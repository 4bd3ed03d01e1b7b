//! Sums that do not depend on the order of what is added.

/// Bits of a digit.
const BITS: usize = 32;

/// The exact sum of any `f64`s, rounded once, to the nearest, when it is read.
///
/// The numbers are added as whole multiples of 2^-1074 in as many digits of 32 bits as they need
/// (three or four for amounts of money). Whole numbers add in any order to the same: neither the
/// order of rows nor batches nor threads moves a bit.
#[derive(Clone, Debug, Default)]
pub(crate) struct ExactSum {
    /// Least digit first, each with a sign of its own until [`Self::carry`].
    digits: Vec<i64>,
    /// The place of `digits[0]`.
    first: usize,
    /// Additions since the last carry.
    pending: u32,
    /// What infinities and NaN add up to; 0 without them.
    beyond: f64,
}

impl ExactSum {
    /// A digit takes 2^31 additions before it overflows.
    const MOST_PENDING: u32 = 1 << 30;

    /// Adds a number.
    pub(crate) fn add(&mut self, number: f64) {
        if !number.is_finite() {
            self.beyond += number;
            return;
        }
        let bits = number.to_bits();
        let exponent = usize::try_from(bits >> 52 & 0x7ff).unwrap_or(0);
        let fraction = bits & ((1 << 52) - 1);
        // Place of the last bit of the significand, and the significand.
        let (place, significand) = match exponent {
            0 => (0, fraction),
            _ => (exponent - 1, fraction | 1 << 52),
        };
        if significand == 0 {
            return;
        }
        let wide = u128::from(significand) << (place % BITS);
        let lowest = self.reach(place / BITS);
        for (digit, part) in self.digits[lowest..].iter_mut().take(3).zip(0..) {
            let part = i64::from(low_bits(wide >> (BITS * part)));
            *digit += if number < 0.0 { -part } else { part };
        }
        self.pending += 1;
        if self.pending == Self::MOST_PENDING {
            self.carry();
        }
    }

    /// Takes a number off.
    pub(crate) fn subtract(&mut self, number: f64) {
        self.add(-number);
    }

    /// Adds another sum.
    pub(crate) fn merge(&mut self, other: &Self) {
        self.beyond += other.beyond;
        self.carry();
        if other.digits.is_empty() {
            return;
        }
        let mut other = other.clone();
        other.carry();
        let lowest = self.reach(other.first);
        let wanted = lowest + other.digits.len();
        if self.digits.len() < wanted {
            self.digits.resize(wanted, 0);
        }
        for (digit, more) in self.digits[lowest..].iter_mut().zip(other.digits) {
            *digit += more;
        }
        self.carry();
    }

    /// Makes room for three digits from a place, and one above for what they carry.
    fn reach(&mut self, place: usize) -> usize {
        if self.digits.is_empty() {
            self.first = place;
        }
        if place < self.first {
            let more = self.first - place;
            self.digits.splice(0..0, std::iter::repeat_n(0, more));
            self.first = place;
        }
        let lowest = place - self.first;
        if self.digits.len() < lowest + 4 {
            self.digits.resize(lowest + 4, 0);
        }
        lowest
    }

    /// Brings every digit but the last into 0..2^32.
    fn carry(&mut self) {
        self.pending = 0;
        let mut carry = 0;
        for digit in &mut self.digits {
            let sum = *digit + carry;
            carry = sum >> BITS;
            *digit = sum - (carry << BITS);
        }
        // A sign, or what grew beyond the last digit.
        if let (Some(last), true) = (self.digits.last_mut(), carry != 0) {
            if carry == -1 {
                *last -= 1 << BITS;
            } else {
                self.digits.push(carry);
            }
        }
    }

    /// The sum: the nearest `f64`, the even one of two; infinite where it is beyond their range.
    pub(crate) fn value(&self) -> f64 {
        // 0 also means that infinities are absent; their sum is never 0.
        if self.beyond != 0.0 {
            return self.beyond;
        }
        let mut sum = self.clone();
        sum.carry();
        let negative = sum.digits.last().is_some_and(|digit| *digit < 0);
        if negative {
            sum.digits.iter_mut().for_each(|digit| *digit = -*digit);
            sum.carry();
        }
        let Some(top) = sum.digits.iter().rposition(|digit| *digit != 0) else { return 0.0 };
        let magnitude = sum.nearest(top);
        if negative { -magnitude } else { magnitude }
    }

    /// Rounds digits in 0..2^32 of which the one at `top` is the highest that is not 0.
    fn nearest(&self, top: usize) -> f64 {
        let digit = |back: usize| top.checked_sub(back).map_or(0, |place| self.digits[place]);
        // The three highest digits: 53 bits, and at least 12 more to round by.
        let head =
            (0..3).fold(0_u128, |head, back| head << BITS | u128::from(digit(back).unsigned_abs()));
        let bits = 128 - head.leading_zeros() as usize;
        // The place of the lowest bit of `head` where 2^-1074 has place 0, raised by two digits.
        let raised = (self.first + top) * BITS;
        if raised + bits <= 53 + 2 * BITS {
            // So small that an f64 has every bit of it.
            return f64::from_bits(whole(head >> (2 * BITS - raised)));
        }
        let shift = bits - 53;
        let kept = whole(head >> shift);
        let rest = head & ((1 << shift) - 1);
        let half = 1_u128 << (shift - 1);
        let below = top.saturating_sub(2);
        let more = self.digits[..below].iter().any(|digit| *digit != 0);
        let up = rest > half || rest == half && (more || kept % 2 == 1);
        let exponent = (raised + shift - 2 * BITS) as u64;
        if exponent >= 2046 {
            return f64::INFINITY;
        }
        // A significand that rounds up to 2^53 carries into the exponent by itself.
        f64::from_bits((exponent << 52) + kept + u64::from(up))
    }
}

/// The lowest digit.
#[expect(clippy::cast_possible_truncation, reason = "the rest is in the digits above")]
fn low_bits(wide: u128) -> u32 {
    wide as u32
}

/// A significand; callers have shifted it into 53 bits.
fn whole(significand: u128) -> u64 {
    u64::try_from(significand).unwrap_or(u64::MAX)
}

#[cfg(test)]
#[expect(clippy::cast_precision_loss, clippy::float_cmp, reason = "exact numbers are meant")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sum(numbers: &[f64]) -> f64 {
        let mut sum = ExactSum::default();
        for number in numbers {
            sum.add(*number);
        }
        sum.value()
    }

    #[test]
    fn small_sums_are_exact() {
        assert_eq!(sum(&[]).to_bits(), 0.0_f64.to_bits());
        assert_eq!(sum(&[0.1; 10]), 1.0);
        assert_eq!(sum(&[1e100, 1.0, -1e100]), 1.0);
        assert_eq!(sum(&[-3.5, 1.25]), -2.25);
        assert_eq!(sum(&[5e-324, -5e-324]), 0.0);
        assert_eq!(sum(&[5e-324, 5e-324]), 1e-323);
        assert_eq!(sum(&[f64::MIN_POSITIVE, -5e-324]), f64::MIN_POSITIVE - 5e-324);
        assert_eq!(sum(&[f64::MAX, f64::MAX, -f64::MAX]), f64::MAX);
        assert_eq!(sum(&[f64::MAX, f64::MAX]), f64::INFINITY);
        assert_eq!(sum(&[f64::INFINITY, 1.0]), f64::INFINITY);
        assert!(sum(&[f64::INFINITY, f64::NEG_INFINITY]).is_nan());
        // Half a unit in the last place goes to the even side, and a trace more goes up.
        let half = f64::EPSILON / 2.0;
        assert_eq!(sum(&[1.0, half]), 1.0);
        assert_eq!(sum(&[1.0, half, 5e-324]), 1.0 + f64::EPSILON);
        assert_eq!(sum(&[1.0, half, -5e-324]), 1.0);
    }

    proptest! {
        /// Two numbers: what the processor adds is the exact sum, rounded once.
        #[test]
        fn of_two_it_is_what_the_processor_adds(a in any::<f64>(), b in any::<f64>()) {
            let (here, there) = (sum(&[a, b]), a + b);
            prop_assert!(here == there || here.is_nan() && there.is_nan(), "{here} {there}");
        }

        /// Multiples of 2^-20 in whole numbers of 128 bits.
        #[test]
        fn it_is_the_sum_of_whole_numbers(
            parts in prop::collection::vec(-(1_i64 << 52)..(1_i64 << 52), 0..200),
        ) {
            let scale = f64::from(1 << 20);
            let exact: i128 = parts.iter().map(|part| i128::from(*part)).sum();
            let numbers: Vec<f64> = parts.iter().map(|part| *part as f64 / scale).collect();
            prop_assert_eq!(sum(&numbers), exact as f64 / scale);
        }

        /// Any order, any cut into parts: the same bits.
        #[test]
        fn order_and_parts_do_not_move_a_bit(
            (numbers, other) in prop::collection::vec(any::<f64>(), 0..60)
                .prop_filter("finite", |numbers| numbers.iter().all(|n| n.is_finite()))
                .prop_flat_map(|numbers| (Just(numbers.clone()), Just(numbers).prop_shuffle())),
            cut in any::<prop::sample::Index>(),
        ) {
            let (left, right) = other.split_at(cut.index(other.len() + 1));
            let mut parts = ExactSum::default();
            for number in left {
                parts.add(*number);
            }
            let mut rest = ExactSum::default();
            for number in right {
                rest.add(*number);
            }
            parts.merge(&rest);
            prop_assert_eq!(sum(&numbers).to_bits(), parts.value().to_bits());
        }
    }
}
