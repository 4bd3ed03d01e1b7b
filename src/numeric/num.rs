//! The arithmetic that a formula may use.

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Not, Sub};

/// A number, or a pack of numbers that move together, with the operations that round the same on
/// every machine. A choice is a [`Num::select`] and not a branch, so that packs can make it too.
pub(crate) trait Num:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
    /// The outcome of a comparison.
    type Mask: Copy
        + std::fmt::Debug
        + BitAnd<Output = Self::Mask>
        + BitOr<Output = Self::Mask>
        + Not<Output = Self::Mask>;

    /// A number written in the formula itself, of the same kind as this one.
    fn like(self, value: f64) -> Self;
    /// `self < other`; false where either is not a number.
    fn less(self, other: Self) -> Self::Mask;
    /// `self <= other`; false where either is not a number.
    fn at_most(self, other: Self) -> Self::Mask;
    /// `yes` where the mask holds, `no` elsewhere.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Whether the mask holds anywhere.
    fn any(mask: Self::Mask) -> bool;
    /// `self` to the power of `exponent`, by the pure-Rust `libm`.
    fn power(self, exponent: Self) -> Self;
    /// The next whole number.
    fn ceiling(self) -> Self;
    /// The greatest number in the pack.
    fn greatest(self) -> f64;

    /// The lesser of two numbers.
    #[inline(always)]
    fn lesser(self, other: Self) -> Self {
        Self::select(other.less(self), other, self)
    }

    /// The greater of two numbers.
    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        Self::select(self.less(other), other, self)
    }
}

/// `base` to the power of `exponent`; what is 1 for certain is not computed.
#[inline(always)]
#[expect(clippy::float_cmp, reason = "exactly 1 and nothing near it")]
pub(super) fn pow(base: f64, exponent: f64) -> f64 {
    if base == 1.0 { 1.0 } else { libm::pow(base, exponent) }
}

impl Num for f64 {
    type Mask = bool;

    #[inline(always)]
    fn like(self, value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn less(self, other: Self) -> bool {
        self < other
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> bool {
        self <= other
    }
    #[inline(always)]
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    #[inline(always)]
    fn any(mask: bool) -> bool {
        mask
    }
    #[inline(always)]
    fn power(self, exponent: Self) -> Self {
        pow(self, exponent)
    }
    #[inline(always)]
    fn ceiling(self) -> Self {
        libm::ceil(self)
    }
    #[inline(always)]
    fn greatest(self) -> f64 {
        self
    }
}
