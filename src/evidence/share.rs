//! How sure a counted share is: Wilson and exact intervals, and what a finite wall allows.
//!
//! Sums run in logarithms from the edge of the tail outwards and bounds are found by halving, so
//! that the same bits come out everywhere.

use crate::error::{Issue, IssueCode};
use libm::{erfc, exp, lgamma, log, log1p, sqrt};

/// More bays than any house has; beyond it the sums would only cost time.
pub const MOST_COUNT: u32 = 100_000;

/// A share with an interval round it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// So many out of so many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    found: u32,
    seen: u32,
}

impl Count {
    /// So many out of so many seen.
    ///
    /// # Errors
    /// An [`Issue`] where none was seen, more were found than seen, or more than [`MOST_COUNT`].
    pub fn new(found: u32, seen: u32) -> Result<Self, Issue> {
        let fault = |code, field: &str, value: u32, reason: String| {
            Err(Issue::new(code, field, value.to_string(), reason))
        };
        if seen == 0 || seen > MOST_COUNT {
            let reason = format!("must be a whole number, 1 to {MOST_COUNT}");
            return fault(IssueCode::OutOfRange, "seen", seen, reason);
        }
        if found > seen {
            let reason = format!("more than were seen, which is {seen}");
            return fault(IssueCode::Conflict, "found", found, reason);
        }
        Ok(Self { found, seen })
    }

    /// How many were found.
    pub const fn found(self) -> u32 {
        self.found
    }

    /// How many were looked at.
    pub const fn seen(self) -> u32 {
        self.seen
    }

    /// The share found.
    pub fn share(self) -> f64 {
        f64::from(self.found) / f64::from(self.seen)
    }

    /// The score interval of Wilson (1927), without continuity correction.
    pub fn wilson(self, confidence: Confidence) -> Interval {
        let (k, n) = (f64::from(self.found), f64::from(self.seen));
        let z = confidence.z();
        let z2 = z * z;
        let p = k / n;
        let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
        let half = z / (1.0 + z2 / n) * sqrt(p * (1.0 - p) / n + z2 / (4.0 * n * n));
        // At the ends the formula gives 0 and 1 but for rounding.
        Interval {
            low: if self.found == 0 { 0.0 } else { (middle - half).max(0.0) },
            high: if self.found == self.seen { 1.0 } else { (middle + half).min(1.0) },
        }
    }

    /// The exact interval of Clopper and Pearson (1934): each end leaves half of the rest in its
    /// own binomial tail.
    pub fn exact(self, confidence: Confidence) -> Interval {
        let half = confidence.tail();
        let (k, n) = (self.found, self.seen);
        Interval {
            low: if k == 0 { 0.0 } else { halve(|p| at_least(k, n, p) > half) },
            high: if k == n { 1.0 } else { halve(|p| at_most(k, n, p) < half) },
        }
    }

    /// The exact interval where the count was drawn without putting back from `all`: how many of
    /// all may be such. Sure, and not only likely, are `found` at least and `all − (seen − found)`
    /// at most.
    ///
    /// # Errors
    /// An [`Issue`] where fewer are in all than were seen.
    pub fn of_finite(self, all: u32, confidence: Confidence) -> Result<(u32, u32), Issue> {
        if all < self.seen || all > MOST_COUNT {
            let reason = format!("must be {} (as many as were seen) to {MOST_COUNT}", self.seen);
            return Err(Issue::new(IssueCode::OutOfRange, "all", all.to_string(), reason));
        }
        let half = confidence.tail();
        let (least, most) = (self.found, all - (self.seen - self.found));
        let draw = |marked| Draw { all, marked, seen: self.seen };
        // The upper tail grows with the number marked, the lower tail falls.
        let low = first(least, most, |marked| draw(marked).at_least(self.found) > half);
        let beyond = first(low, most + 1, |marked| {
            marked > most || draw(marked).at_most(self.found) <= half
        });
        Ok((low, beyond.saturating_sub(1).max(low)))
    }
}

/// A share of confidence between 0.5 and 0.999.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Confidence(f64);

impl Default for Confidence {
    /// 0.95.
    fn default() -> Self {
        Self(0.95)
    }
}

impl Confidence {
    /// A share of confidence.
    ///
    /// # Errors
    /// An [`Issue`] outside 0.5 to 0.999.
    pub fn new(share: f64) -> Result<Self, Issue> {
        if (0.5..=0.999).contains(&share) {
            return Ok(Self(share));
        }
        let reason = "allowed is 0.5 to 0.999 (write 95 % as 0.95)";
        Err(Issue::new(IssueCode::OutOfRange, "confidence", share.to_string(), reason))
    }

    /// The share.
    pub const fn share(self) -> f64 {
        self.0
    }

    /// What lies beyond each end.
    fn tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// How many standard deviations of the normal distribution hold this share about its middle.
    pub fn z(self) -> f64 {
        let beyond = 1.0 - self.0;
        let sqrt_2 = std::f64::consts::SQRT_2;
        10.0 * halve(|tenth| erfc(10.0 * tenth / sqrt_2) > beyond)
    }
}

/// The point between 0 and 1 at which an answer turns, to the last bit: left of it the answer is
/// that of the very left, right of it the other.
fn halve(answer: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let start = answer(f64::MIN_POSITIVE);
    for _ in 0..200 {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if answer(middle) == start {
            low = middle;
        } else {
            high = middle;
        }
    }
    low + (high - low) / 2.0
}

/// The first whole number from `low` to `high` at which a condition holds that holds from there on.
fn first(low: u32, high: u32, holds: impl Fn(u32) -> bool) -> u32 {
    let (mut low, mut high) = (low, high);
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

fn ln_choose(n: u32, k: u32) -> f64 {
    let ln_factorial = |n: u32| lgamma(f64::from(n) + 1.0);
    ln_factorial(n) - ln_factorial(k) - ln_factorial(n - k)
}

/// The chance of `k` or more out of `n` at a share of `p`.
fn at_least(k: u32, n: u32, p: f64) -> f64 {
    at_most(n - k, n, 1.0 - p)
}

/// The chance of `k` or fewer out of `n` at a share of `p`.
fn at_most(k: u32, n: u32, p: f64) -> f64 {
    if p <= 0.0 || k >= n {
        return 1.0;
    }
    if p >= 1.0 {
        return 0.0;
    }
    let edge = ln_choose(n, k) + f64::from(k) * log(p) + f64::from(n - k) * log1p(-p);
    let odds = (1.0 - p) / p;
    let (mut ratio, mut sum) = (1.0, 1.0);
    for i in (1..=k).rev() {
        ratio *= f64::from(i) / f64::from(n - i + 1) * odds;
        sum += ratio;
        if ratio < sum * 1e-18 && f64::from(i) * odds < f64::from(n - i + 1) {
            break;
        }
    }
    // Far above the mean the edge is nothing and the sum overflows: the tail is then everything.
    let tail = exp(edge + log(sum));
    if tail.is_finite() { tail.min(1.0) } else { 1.0 }
}

/// A draw without putting back.
struct Draw {
    all: u32,
    marked: u32,
    seen: u32,
}

impl Draw {
    fn ln_chance(&self, found: u32) -> f64 {
        ln_choose(self.marked, found) + ln_choose(self.all - self.marked, self.seen - found)
            - ln_choose(self.all, self.seen)
    }

    /// What can be found at all.
    fn range(&self) -> (u32, u32) {
        let least = self.seen.saturating_sub(self.all - self.marked);
        (least, self.seen.min(self.marked))
    }

    fn sum(&self, from: u32, to: u32) -> f64 {
        let sum: f64 = (from..=to).map(|found| exp(self.ln_chance(found))).sum();
        sum.min(1.0)
    }

    fn at_least(&self, found: u32) -> f64 {
        let (least, most) = self.range();
        if found > most { 0.0 } else { self.sum(found.max(least), most) }
    }

    fn at_most(&self, found: u32) -> f64 {
        let (least, most) = self.range();
        if found < least { 0.0 } else { self.sum(least, found.min(most)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn count(found: u32, seen: u32) -> Count {
        Count::new(found, seen).unwrap()
    }

    #[test]
    fn the_normal_quantile_is_the_tables() {
        for (share, z) in [
            (0.5, 0.674_489_750),
            (0.9, 1.644_853_627),
            (0.95, 1.959_963_985),
            (0.99, 2.575_829_304),
        ] {
            assert!((Confidence::new(share).unwrap().z() - z).abs() < 5e-10, "{share}");
        }
    }

    #[test]
    fn no_count_is_impossible() {
        assert!(Count::new(0, 0).is_err() && Count::new(5, 4).is_err());
        assert!(Count::new(1, MOST_COUNT + 1).is_err());
        assert!(Confidence::new(95.0).is_err() && Confidence::new(f64::NAN).is_err());
        assert!(count(1, 10).of_finite(9, Confidence::default()).is_err());
    }

    #[test]
    fn all_seen_leaves_no_doubt_in_a_finite_wall() {
        for (found, seen) in [(0, 7), (3, 7), (7, 7), (12, 400)] {
            let ends = count(found, seen).of_finite(seen, Confidence::default()).unwrap();
            assert_eq!(ends, (found, found));
        }
    }

    proptest! {
        #[test]
        fn intervals_hold_their_share_and_exact_is_wider(seen in 1_u32..3000, part in 0.0..=1.0_f64) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a count")]
            let found = (f64::from(seen) * part) as u32;
            let c = count(found, seen);
            let (wilson, exact) = (c.wilson(Confidence::default()), c.exact(Confidence::default()));
            for interval in [wilson, exact] {
                prop_assert!(0.0 <= interval.low && interval.low <= c.share());
                prop_assert!(c.share() <= interval.high && interval.high <= 1.0);
            }
            // The ends of the exact interval leave half of 5 % in their tails.
            if found > 0 { prop_assert!((at_least(found, seen, exact.low) - 0.025).abs() < 1e-9); }
            if found < seen { prop_assert!((at_most(found, seen, exact.high) - 0.025).abs() < 1e-9); }
        }

        #[test]
        fn seeing_more_of_a_wall_never_widens_what_it_may_hide(all in 1_u32..300, step in 1_u32..10) {
            let seen = (all / step).max(1);
            let (low, high) = count(0, seen).of_finite(all, Confidence::default()).unwrap();
            prop_assert_eq!(low, 0);
            prop_assert!(high <= all - seen);
        }
    }
}
