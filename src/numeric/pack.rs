//! Several rows side by side, in the widest vectors that the machine has.
//!
//! The operations are the IEEE ones, lane by lane, and none is fused: a lane has the bits of the
//! scalar calculation. Which vectors there are is found out at run time.

use super::power::{self, Binary};
use super::{Calc, Function, Label, Num};
use pulp::Simd;
use pulp::bytemuck::{cast_slice, cast_slice_mut};
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Not, Sub};

/// Vectors in a pack: two, so that one can proceed while the other waits for its result.
const VECTORS: usize = 2;

/// Rows side by side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pack<S: Simd> {
    simd: S,
    vectors: [S::f64s; VECTORS],
}

/// The outcome of a comparison, lane by lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lanes<S: Simd> {
    simd: S,
    masks: [S::m64s; VECTORS],
}

/// Flags of the rows side by side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Flags<S: Simd> {
    simd: S,
    vectors: [S::u64s; VECTORS],
}

impl<S: Simd> Flags<S> {
    /// The flags, row by row.
    #[inline(always)]
    pub(crate) fn rows(&self) -> &[u64] {
        cast_slice(&self.vectors)
    }
}

impl<S: Simd> BitOr for Flags<S> {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        let simd = self.simd;
        let or = |i: usize| simd.or_u64s(self.vectors[i], other.vectors[i]);
        Self { simd, vectors: std::array::from_fn(or) }
    }
}

impl<S: Simd> Pack<S> {
    /// Rows in a pack.
    pub(crate) const ROWS: usize = S::F64_LANES * VECTORS;

    #[inline(always)]
    fn new(simd: S, vector: impl FnMut(usize) -> S::f64s) -> Self {
        Self { simd, vectors: std::array::from_fn(vector) }
    }

    /// The first rows of the slice, which has at least [`Self::ROWS`].
    #[inline(always)]
    pub(crate) fn load(simd: S, rows: &[f64]) -> Self {
        let lanes = S::F64_LANES;
        Self::new(simd, |i| simd.partial_load_f64s(&rows[i * lanes..(i + 1) * lanes]))
    }

    /// The same number in every row.
    #[inline(always)]
    pub(crate) fn splat(simd: S, value: f64) -> Self {
        Self::new(simd, |_| simd.splat_f64s(value))
    }

    /// Writes the first `rows` rows, or all where there are no more, to the beginning of the slice.
    #[inline(always)]
    pub(crate) fn store(self, slice: &mut [f64], rows: usize) {
        let own: &[f64] = cast_slice(&self.vectors);
        if let Some(slice) = slice.get_mut(..Self::ROWS).filter(|_| rows >= Self::ROWS) {
            slice.copy_from_slice(own);
        } else {
            slice.iter_mut().take(rows).zip(own).for_each(|(to, row)| *to = *row);
        }
    }

    #[inline(always)]
    fn each(mut self, mut function: impl FnMut(f64) -> f64) -> Self {
        let rows: &mut [f64] = cast_slice_mut(&mut self.vectors);
        for row in rows {
            *row = function(*row);
        }
        self
    }
}

macro_rules! operator {
    ($operator:ident, $method:ident, $simd:ident) => {
        impl<S: Simd> $operator for Pack<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                let simd = self.simd;
                Self::new(simd, |i| simd.$simd(self.vectors[i], other.vectors[i]))
            }
        }
    };
}

operator!(Add, add, add_f64s);
operator!(Sub, sub, sub_f64s);
operator!(Mul, mul, mul_f64s);
operator!(Div, div, div_f64s);

macro_rules! mask_operator {
    ($operator:ident, $method:ident, $simd:ident) => {
        impl<S: Simd> $operator for Lanes<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                let simd = self.simd;
                let mask = |i: usize| simd.$simd(self.masks[i], other.masks[i]);
                Self { simd, masks: std::array::from_fn(mask) }
            }
        }
    };
}

mask_operator!(BitAnd, bitand, and_m64s);
mask_operator!(BitOr, bitor, or_m64s);

impl<S: Simd> Not for Lanes<S> {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        let simd = self.simd;
        Self { simd, masks: std::array::from_fn(|i| simd.not_m64s(self.masks[i])) }
    }
}

impl<S: Simd> Num for Pack<S> {
    type Mask = Lanes<S>;
    type Flags = Flags<S>;

    #[inline(always)]
    fn like(self, value: f64) -> Self {
        Self::splat(self.simd, value)
    }
    #[inline(always)]
    fn less(self, other: Self) -> Lanes<S> {
        let simd = self.simd;
        let mask = |i: usize| simd.less_than_f64s(self.vectors[i], other.vectors[i]);
        Lanes { simd, masks: std::array::from_fn(mask) }
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> Lanes<S> {
        let simd = self.simd;
        let mask = |i: usize| simd.less_than_or_equal_f64s(self.vectors[i], other.vectors[i]);
        Lanes { simd, masks: std::array::from_fn(mask) }
    }
    #[inline(always)]
    fn select(mask: Lanes<S>, yes: Self, no: Self) -> Self {
        let simd = mask.simd;
        Self::new(simd, |i| simd.select_f64s(mask.masks[i], yes.vectors[i], no.vectors[i]))
    }
    #[inline(always)]
    fn any(mask: Lanes<S>) -> bool {
        mask.masks.iter().any(|m| mask.simd.first_true_m64s(*m) < S::F64_LANES)
    }
    #[inline(always)]
    fn flags(mask: Lanes<S>, flags: u32) -> Flags<S> {
        let simd = mask.simd;
        let (yes, no) = (simd.splat_u64s(u64::from(flags)), simd.splat_u64s(0));
        let select = |i: usize| simd.select_u64s(mask.masks[i], yes, no);
        Flags { simd, vectors: std::array::from_fn(select) }
    }
    #[inline(always)]
    fn power(self, exponent: Self) -> Self {
        super::power::power(self, exponent)
    }
    #[inline(always)]
    fn greatest(self) -> f64 {
        let rows: &[f64] = cast_slice(&self.vectors);
        rows.iter().fold(f64::NEG_INFINITY, |most, row| most.max(*row))
    }
}

impl<S: Simd> Binary for Pack<S> {
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        (self.each(|x| power::split(x).0), self.each(|x| power::split(x).1))
    }
    #[inline(always)]
    fn power_of_two(k: Self) -> Self {
        k.each(power::power_of_two)
    }
}

/// Ordinary arithmetic on packs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Packed<S: Simd>(pub(crate) S);

impl<S: Simd> Calc for Packed<S> {
    type N = Pack<S>;

    #[inline(always)]
    fn lit(&self, value: f64) -> Pack<S> {
        Pack::splat(self.0, value)
    }
    #[inline(always)]
    fn named(&self, _: &'static Label, figure: Pack<S>) -> Pack<S> {
        figure
    }
    #[inline(always)]
    fn call<F: Function<K>, const K: usize>(&self, args: [Pack<S>; K]) -> Pack<S> {
        F::eval(args)
    }
    #[inline(always)]
    fn constant(&self, constant: &'static crate::tables::Constant) -> Pack<S> {
        self.lit(constant.value)
    }
}
