//! The chart for single values and their moving range: is a process steady?

use crate::tables::{
    CHART_FIRM_POINTS, CHART_RUN_ONE_SIDE, CHART_RUN_TREND, MOVING_RANGE_D2, MOVING_RANGE_D4,
};
use std::cmp::Ordering;

/// Centre line and limits of a chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// The mean of the values.
    pub centre: f64,
    /// Lower limit of a value: the centre less three spreads.
    pub low: f64,
    /// Upper limit of a value.
    pub high: f64,
    /// The mean of the moving ranges.
    pub range_mean: f64,
    /// Upper limit of a moving range; the lower one is 0.
    pub range_high: f64,
    /// The spread, by the mean moving range over d2.
    pub spread: f64,
    /// Values that the limits were worked out from.
    pub from: usize,
}

impl Limits {
    /// Whether enough values stand behind the limits to be firm.
    pub fn firm(&self) -> bool {
        u32::try_from(self.from).is_ok_and(|from| f64::from(from) >= CHART_FIRM_POINTS.value)
    }
}

/// A reason to doubt that a process is steady.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// A value outside the limits.
    Outside,
    /// A moving range above its limit: it jumped.
    Jump,
    /// The last of eight in a row on one side of the centre.
    OneSide,
    /// The last of six in a row, each above the one before or each below it.
    Trend,
}

impl Signal {
    /// A short word for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Jump => "jump",
            Self::OneSide => "one_side",
            Self::Trend => "trend",
        }
    }

    /// What it means, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Outside => "outside the limits",
            Self::Jump => "a larger step from the box before than the limit of steps",
            Self::OneSide => "the eighth or later in a row on one side of the centre",
            Self::Trend => "the sixth or later in a row that goes one way",
        }
    }
}

/// A chart: limits, ranges, and what stands out.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// The values in their order.
    pub values: Vec<f64>,
    /// Distance of each value from the one before; one fewer than the values.
    pub ranges: Vec<f64>,
    /// Centre and limits; `None` for fewer than two values.
    pub limits: Option<Limits>,
    /// What stands out, by the place of the value.
    pub signals: Vec<(usize, Signal)>,
}

impl Chart {
    /// The chart of values in the order in which they were taken. The limits come from the first
    /// `baseline` values, or from all.
    pub fn new(values: &[f64], baseline: Option<usize>) -> Self {
        let ranges: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
        let from = baseline.unwrap_or(values.len()).min(values.len());
        let limits = limits(values.get(..from).unwrap_or(values), &ranges);
        let mut chart = Self { values: values.to_vec(), ranges, limits, signals: Vec::new() };
        chart.signals = chart.found();
        chart
    }

    fn found(&self) -> Vec<(usize, Signal)> {
        let Some(limits) = self.limits else { return Vec::new() };
        let mut signals = Vec::new();
        let (mut side, mut run) = (Ordering::Equal, 0.0);
        let (mut way, mut steps) = (Ordering::Equal, 0.0);
        for (place, &value) in self.values.iter().enumerate() {
            if value < limits.low || value > limits.high {
                signals.push((place, Signal::Outside));
            }
            let before = place.checked_sub(1).and_then(|place| self.values.get(place));
            let range = before.map_or(0.0, |before| (value - before).abs());
            if range > limits.range_high {
                signals.push((place, Signal::Jump));
            }
            let now = value.total_cmp(&limits.centre);
            run = if now == Ordering::Equal {
                0.0
            } else if now == side {
                run + 1.0
            } else {
                1.0
            };
            side = now;
            if run >= CHART_RUN_ONE_SIDE.value {
                signals.push((place, Signal::OneSide));
            }
            let turn = before.map_or(Ordering::Equal, |before| value.total_cmp(before));
            // Six points in a row are five steps.
            steps = if turn == Ordering::Equal {
                0.0
            } else if turn == way {
                steps + 1.0
            } else {
                1.0
            };
            way = turn;
            if steps + 1.0 >= CHART_RUN_TREND.value {
                signals.push((place, Signal::Trend));
            }
        }
        signals
    }

    /// What stands out at the last value.
    pub fn now(&self) -> impl Iterator<Item = Signal> + '_ {
        let last = self.values.len().wrapping_sub(1);
        self.signals.iter().filter(move |(place, _)| *place == last).map(|(_, signal)| *signal)
    }
}

#[expect(clippy::cast_precision_loss, reason = "a count of checks")]
fn limits(values: &[f64], ranges: &[f64]) -> Option<Limits> {
    let ranges = ranges.get(..values.len().checked_sub(1)?)?;
    if ranges.is_empty() {
        return None;
    }
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (centre, range_mean) = (mean(values), mean(ranges));
    let spread = range_mean / MOVING_RANGE_D2.value;
    Some(Limits {
        centre,
        low: centre - 3.0 * spread,
        high: centre + 3.0 * spread,
        range_mean,
        range_high: MOVING_RANGE_D4.value * range_mean,
        spread,
        from: values.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(chart: &Chart, wanted: Signal) -> Vec<usize> {
        chart.signals.iter().filter(|(_, s)| *s == wanted).map(|(p, _)| *p).collect()
    }

    #[test]
    fn too_few_values_have_no_limits() {
        assert_eq!(Chart::new(&[], None).limits, None);
        assert_eq!(Chart::new(&[4.0], None).limits, None);
        assert_eq!(Chart::new(&[4.0, 4.1, 4.0], Some(1)).limits, None);
        assert!(Chart::new(&[4.0, 4.1], None).limits.is_some());
    }

    /// Worked by hand: mean 4.0, ranges 0.1 0.2 0.1 with mean 0.4/3, spread 0.4/3/1.128 = 0.1182.
    #[test]
    fn a_chart_by_hand() {
        let limits = Chart::new(&[4.0, 4.1, 3.9, 4.0], None).limits.unwrap();
        assert!((limits.centre - 4.0).abs() < 1e-12);
        assert!((limits.spread - 0.118_203_3).abs() < 1e-6);
        assert!((limits.high - 4.354_609_9).abs() < 1e-6);
        assert!((limits.range_high - 0.435_6).abs() < 1e-9);
        assert!(!limits.firm());
    }

    #[test]
    fn a_run_on_one_side_and_a_trend_are_drift() {
        let steady = [4.0, 4.1, 3.9, 4.05, 3.95, 4.0, 4.1, 3.9, 4.0, 4.0];
        let mut values = steady.to_vec();
        values.extend([4.05; 8]);
        let chart = Chart::new(&values, Some(steady.len()));
        assert_eq!(places(&chart, Signal::OneSide), [17]);
        assert!(places(&chart, Signal::Outside).is_empty());

        let mut values = steady.to_vec();
        values.extend([3.96, 3.97, 3.98, 3.99, 4.0]);
        // 4.0 down to 3.96 is a step the other way: five rising points are no trend yet.
        assert!(places(&Chart::new(&values, Some(10)), Signal::Trend).is_empty());
        values.push(4.01);
        assert_eq!(places(&Chart::new(&values, Some(10)), Signal::Trend), [15]);
    }

    #[test]
    fn a_jump_stands_out_and_is_told_of_the_last_value() {
        let values = [4.0, 4.05, 4.0, 4.05, 4.0, 4.05, 4.0, 3.2];
        let chart = Chart::new(&values, Some(7));
        let now: Vec<Signal> = chart.now().collect();
        assert_eq!(now, [Signal::Outside, Signal::Jump]);
    }
}
