//! Quantiles of draws, some of which may be beyond every number.

/// P10, P50 and P90: a tenth, half and nine tenths of the draws are not above it. `None` where the
/// figure lies beyond every number there: no payback at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// A tenth of the draws are not above.
    pub p10: Option<f64>,
    /// Half of them.
    pub p50: Option<f64>,
    /// Nine tenths of them.
    pub p90: Option<f64>,
}

/// The quantile of draws at a share from 0 to 1; the draws are left in another order.
///
/// # Formula
/// Linear interpolation between the two nearest ranks, rank `(n − 1) p` from 0: Hyndman and Fan
/// 1996, type 7 (from memory). Where one of the two is infinite, so is the quantile.
///
/// `None` for no draws and for what lies beyond every number.
pub fn quantile(draws: &mut [f64], share: f64) -> Option<f64> {
    let last = draws.len().checked_sub(1)?;
    #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 draws")]
    let rank = share.clamp(0.0, 1.0) * last as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "from 0 to the last place"
    )]
    let place = (rank as usize).min(last);
    let (_, low, above) = draws.select_nth_unstable_by(place, f64::total_cmp);
    let low = *low;
    #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 draws")]
    let rest = rank - place as f64;
    let value = if rest > 0.0 {
        let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
        if low.is_finite() && high.is_finite() { low + rest * (high - low) } else { high }
    } else {
        low
    };
    value.is_finite().then_some(value)
}

impl Band {
    /// The band of draws, which are left in another order.
    pub fn of(draws: &mut [f64]) -> Self {
        // From the top: what is above a rank need not be looked at again.
        let p90 = quantile(draws, 0.9);
        let p50 = quantile(draws, 0.5);
        Self { p10: quantile(draws, 0.1), p50, p90 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn beyond_every_number_is_none() {
        let mut draws = [1.0, 2.0, f64::INFINITY, f64::INFINITY];
        assert_eq!(quantile(&mut draws, 0.0), Some(1.0));
        assert_eq!(quantile(&mut draws, 1.0 / 3.0), Some(2.0));
        assert_eq!(quantile(&mut draws, 0.5), None);
        assert_eq!(quantile(&mut [], 0.5), None);
    }

    proptest! {
        #[test]
        fn sorting_gives_the_same(mut draws in prop::collection::vec(-1e6..1e6f64, 1..60), share in 0.0..=1.0f64) {
            let found = quantile(&mut draws.clone(), share).unwrap();
            draws.sort_by(f64::total_cmp);
            #[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "few")]
            let (place, rank) = ((share * (draws.len() - 1) as f64) as usize, share * (draws.len() - 1) as f64);
            let high = draws[(place + 1).min(draws.len() - 1)];
            #[expect(clippy::cast_precision_loss, reason = "few")]
            let wanted = draws[place] + (rank - place as f64) * (high - draws[place]);
            prop_assert!((found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0));
        }
    }
}
