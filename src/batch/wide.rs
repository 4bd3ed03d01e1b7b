//! Loops over a block in the widest vectors that the machine has. None decides anything row by
//! row: most blocks are in order throughout, and one answer for the whole block says so.

/// Runs a loop in the widest vectors.
#[cfg(feature = "parallel")]
#[inline(always)]
pub(super) fn wide<R>(run: impl FnOnce() -> R) -> R {
    pulp::Arch::new().dispatch(run)
}

/// Runs a loop.
#[cfg(not(feature = "parallel"))]
#[inline(always)]
pub(super) fn wide<R>(run: impl FnOnce() -> R) -> R {
    run()
}

/// Whether a test holds for every number.
#[inline(always)]
pub(super) fn all(values: &[f64], test: impl Fn(f64) -> bool) -> bool {
    wide(|| values.iter().fold(0_u64, |odd, value| odd | u64::from(!test(*value))) == 0)
}

/// Whether a test holds for every pair.
#[inline(always)]
pub(super) fn all_pairs(a: &[f64], b: &[f64], test: impl Fn(f64, f64) -> bool) -> bool {
    wide(|| a.iter().zip(b).fold(0_u64, |odd, (a, b)| odd | u64::from(!test(*a, *b))) == 0)
}

/// Whether every number is finite.
#[cfg(feature = "arrow")]
pub(super) fn all_finite(values: &[f64]) -> bool {
    all(values, |value| value.abs() <= f64::MAX)
}
