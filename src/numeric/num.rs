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

    /// A set of up to 32 flags for each number.
    type Flags: Copy + BitOr<Output = Self::Flags>;

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
    /// These flags where the mask holds, none elsewhere.
    fn flags(mask: Self::Mask, flags: u32) -> Self::Flags;
    /// `self` to the power of `exponent`, from the basic operations alone.
    fn power(self, exponent: Self) -> Self;
    /// The next whole number.
    #[inline(always)]
    fn ceiling(self) -> Self {
        // Adding so much rounds to a whole number: to the nearest, which may be the one below.
        let shift = self.like(6_755_399_441_055_744.0);
        let nearest = (self + shift) - shift;
        let next = Self::select(nearest.less(self), nearest + self.like(1.0), nearest);
        // From 2^51 on, less than this can add to, nobody asks for the next whole number.
        Self::select(self.less(self.like(2_251_799_813_685_248.0)), next, self)
    }
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

impl Num for f64 {
    type Mask = bool;
    type Flags = u32;

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
    fn flags(mask: bool, flags: u32) -> u32 {
        if mask { flags } else { 0 }
    }
    #[inline(always)]
    fn power(self, exponent: Self) -> Self {
        super::power::power(self, exponent)
    }
    #[inline(always)]
    fn greatest(self) -> f64 {
        self
    }
}
