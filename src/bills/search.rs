//! The search for a change point: exact, over every breakpoint.
//!
//! Degree-days a day of period i at base τ are h_i(τ) = a_i + b_i τ as long as τ passes no daily
//! temperature: b_i is the share of days colder than τ, a_i the negative sum of their temperatures
//! over all days. On such a stretch [lo, hi] the weighted sum of squares of
//! y_i = α + β h_i(τ) is a convex function of (α, β, βτ), and lo·β ≤ βτ ≤ hi·β with β ≥ 0 is a
//! cone. So its least value on the stretch lies at the free solution, where that is in the cone, or
//! at lo or at hi. All stretches together give the least value over all τ: no grid, no start values.
//!
//! From one stretch to the next a single day of a single period changes, so that the moments follow
//! by one addition each. Everything that depends on the weather alone is prepared once ([`Plan`]);
//! the resamples of a bootstrap, which share the weather, run through it side by side ([`LANES`]).

use super::sample::Sample;

/// Resamples that go through a plan side by side.
pub(super) const LANES: usize = 8;

/// Which side of the change point uses fuel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// Below it.
    Heating,
    /// Above it: the same with every temperature negated.
    Cooling,
}

impl Side {
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Heating => 1.0,
            Self::Cooling => -1.0,
        }
    }
}

/// A further column of the fit, with its change point held.
#[derive(Clone, Debug)]
pub(super) struct Held {
    /// Its value in each period, the weighted mean taken off.
    centred: Vec<f64>,
    mean: f64,
    /// Sum of its weighted squares.
    square: f64,
}

impl Held {
    /// `None` where the column is the same in every period.
    pub(super) fn new(samples: &[Sample], column: impl Fn(&Sample) -> f64) -> Option<Self> {
        let mut centred: Vec<f64> = samples.iter().map(column).collect();
        let weight: f64 = samples.iter().map(|sample| sample.days).sum();
        let weighted = |values: &[f64], of: fn(f64) -> f64| -> f64 {
            values.iter().zip(samples).map(|(value, sample)| sample.days * of(*value)).sum()
        };
        let mean = weighted(&centred, |value| value) / weight;
        let whole = weighted(&centred, |value| value * value);
        for value in &mut centred {
            *value -= mean;
        }
        let square = weighted(&centred, |value| value * value);
        (square > 1e-9 * whole).then_some(Self { centred, mean, square })
    }
}

/// What the lanes need of a stretch.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    low: f64,
    high: f64,
    /// The period of the day that is passed at `low`, its weight a day, that times its temperature.
    period: usize,
    inc: f64,
    inc_temperature: f64,
    /// Inverse of the moments of (a, b); zeros where they hang together.
    inverse: [f64; 3],
    /// 1 over the moment of h at `low`; 0 where h is the same in every period.
    at_low: f64,
    /// Moments of a and b with the held column, over its square.
    held: [f64; 2],
}

/// What a solution needs of a stretch.
#[derive(Clone, Copy, Debug, Default)]
struct Moments {
    mean_a: f64,
    mean_b: f64,
    /// Of (a, b), the mean and the held column taken off: aa, ab, bb.
    square: [f64; 3],
}

/// The weather of the periods, prepared.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    side: Side,
    /// The lowest base, from which the others are measured.
    origin: f64,
    stretches: Vec<Stretch>,
    moments: Vec<Moments>,
    /// a and b of every period at the lowest base.
    first: Vec<[f64; 2]>,
    weights: Vec<f64>,
    held: Option<Held>,
}

/// The best solution of one lane.
#[derive(Clone, Copy, Debug)]
pub(super) struct Solution {
    /// By how much it lowers the sum of squares.
    pub(super) gain: f64,
    /// Change point, °F; NaN where there is no slope.
    pub(super) change_f: f64,
    /// Use a day for each degree; 0 or more.
    pub(super) slope: f64,
    /// Mean of h over the periods, weighted.
    mean_h: f64,
    /// Slope of the held column.
    pub(super) held: f64,
    mean_held: f64,
}

impl Solution {
    /// Use a day that does not change with the weather, from the mean use.
    pub(super) fn base(&self, mean_rate: f64) -> f64 {
        mean_rate - self.slope * self.mean_h - self.held * self.mean_held
    }
}

#[derive(Clone, Copy)]
struct Lane {
    gain: f64,
    a: f64,
    b: f64,
    stretch: u32,
    free: bool,
}

impl Plan {
    /// Prepares change points from `low_f` to `high_f`. `None` where they leave nothing to search.
    pub(super) fn new(
        samples: &[Sample],
        side: Side,
        low_f: f64,
        high_f: f64,
        held: Option<Held>,
    ) -> Option<Self> {
        let sign = side.sign();
        let (low, high) = match side {
            Side::Heating => (low_f, high_f),
            Side::Cooling => (-high_f, -low_f),
        };
        if !(low < high) || samples.is_empty() {
            return None;
        }
        let mut days: Vec<(f64, usize)> = Vec::with_capacity(400);
        let mut first = vec![[0.0; 2]; samples.len()];
        for (period, sample) in samples.iter().enumerate() {
            let share = 1.0 / sample.temperatures_f.len() as f64;
            for temperature in sample.temperatures_f.iter().map(|t| sign * t) {
                if temperature <= low {
                    // Measured from the lowest base, so that no digits are lost.
                    first[period][0] -= (temperature - low) * share;
                    first[period][1] += share;
                } else if temperature < high {
                    days.push((temperature, period));
                }
            }
        }
        days.sort_unstable_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        let weights: Vec<f64> = samples.iter().map(|sample| sample.days).collect();
        let mut plan = Self {
            side,
            origin: low,
            stretches: Vec::with_capacity(days.len() + 2),
            moments: Vec::with_capacity(days.len() + 2),
            first,
            weights,
            held,
        };
        plan.prepare(samples, &days, low, high);
        Some(plan)
    }

    fn prepare(&mut self, samples: &[Sample], days: &[(f64, usize)], low: f64, high: f64) {
        let mut now = self.first.clone();
        let weight: f64 = self.weights.iter().sum();
        let mut sums = Sums::default();
        for (period, ab) in now.iter().enumerate() {
            let held = self.held.as_ref().map_or(0.0, |held| held.centred[period]);
            sums.add(self.weights[period], *ab, held);
        }
        let ends = days.iter().map(|day| day.0).chain([high, high]);
        let starts = [(low, None)].into_iter().chain(days.iter().map(|day| (day.0, Some(day.1))));
        // A last stretch without length looks at the upper end itself.
        let starts = starts.chain([(high, None)]);
        for ((from, passed), to) in starts.zip(ends) {
            let mut stretch = Stretch { low: from, high: to, ..Stretch::default() };
            if let Some(period) = passed {
                let share = 1.0 / samples[period].temperatures_f.len() as f64;
                let held = self.held.as_ref().map_or(0.0, |held| held.centred[period]);
                sums.add(-self.weights[period], now[period], held);
                now[period][0] -= (from - low) * share;
                now[period][1] += share;
                sums.add(self.weights[period], now[period], held);
                stretch.period = period;
                stretch.inc = self.weights[period] * share;
                stretch.inc_temperature = stretch.inc * (from - low);
            }
            let square = self.held.as_ref().map_or(0.0, |held| held.square);
            let moments = sums.moments(weight, square, &mut stretch.held);
            let [aa, ab, bb] = moments.square;
            let determinant = aa * bb - ab * ab;
            if determinant > 1e-9 * aa * bb && aa > 0.0 && bb > 0.0 {
                stretch.inverse = [bb / determinant, -ab / determinant, aa / determinant];
            }
            // Relative to what the moments were before the mean was taken off: below this it is
            // rounding.
            let base = from - low;
            let hh = aa + base * (2.0 * ab + base * bb);
            let whole = sums.square(base);
            if hh > 1e-9 * whole && hh > 0.0 {
                stretch.at_low = 1.0 / hh;
            }
            stretch.low -= low;
            stretch.high -= low;
            self.stretches.push(stretch);
            self.moments.push(moments);
        }
    }

    /// The best change point and slope for every lane of uses a day, whose weighted means have been
    /// taken off.
    pub(super) fn search<const L: usize>(&self, rates: &[[f64; L]]) -> [Solution; L] {
        let mut a = [0.0; L];
        let mut b = [0.0; L];
        let mut z = [0.0; L];
        for (period, rate) in rates.iter().enumerate().take(self.weights.len()) {
            let weight = self.weights[period];
            let [first_a, first_b] = self.first[period];
            let held = self.held.as_ref().map_or(0.0, |held| held.centred[period]);
            for lane in 0..L {
                let weighted = weight * rate[lane];
                a[lane] += weighted * first_a;
                b[lane] += weighted * first_b;
                z[lane] += weighted * held;
            }
        }
        let mut best = [Lane { gain: 0.0, a: 0.0, b: 0.0, stretch: 0, free: false }; L];
        for (number, stretch) in (0_u32..).zip(&self.stretches) {
            let Some(rate) = rates.get(stretch.period) else { continue };
            let Stretch { low, high, inc, inc_temperature, inverse: [ia, iab, ib], .. } = *stretch;
            for lane in 0..L {
                b[lane] += inc * rate[lane];
                a[lane] -= inc_temperature * rate[lane];
                let clear_a = a[lane] - stretch.held[0] * z[lane];
                let clear_b = b[lane] - stretch.held[1] * z[lane];
                let h = clear_a + low * clear_b;
                let at_low = if h > 0.0 { h * h * stretch.at_low } else { 0.0 };
                let slope = ia * clear_a + iab * clear_b;
                let product = iab * clear_a + ib * clear_b;
                let inside = (slope > 0.0) & (low * slope <= product) & (product <= high * slope);
                let free = if inside { slope * clear_a + product * clear_b } else { 0.0 };
                let here = if free > at_low { free } else { at_low };
                let slot = &mut best[lane];
                if here > slot.gain {
                    *slot = Lane {
                        gain: here,
                        a: clear_a,
                        b: clear_b,
                        stretch: number,
                        free: free > at_low,
                    };
                }
            }
        }
        std::array::from_fn(|lane| self.solution(&best[lane], z[lane]))
    }

    fn solution(&self, lane: &Lane, z: f64) -> Solution {
        let (held_mean, held_square) =
            self.held.as_ref().map_or((0.0, 0.0), |held| (held.mean, held.square));
        let alone = if held_square > 0.0 { z / held_square } else { 0.0 };
        let held_gain = alone * z;
        let none = Solution {
            gain: held_gain,
            change_f: f64::NAN,
            slope: 0.0,
            mean_h: 0.0,
            held: alone,
            mean_held: held_mean,
        };
        let place = lane.stretch as usize;
        let (Some(stretch), Some(moments)) = (self.stretches.get(place), self.moments.get(place))
        else {
            return none;
        };
        if !(lane.gain > 0.0) {
            return none;
        }
        let [ia, iab, ib] = stretch.inverse;
        let base = if lane.free {
            let slope = ia * lane.a + iab * lane.b;
            let product = iab * lane.a + ib * lane.b;
            (product / slope).clamp(stretch.low, stretch.high)
        } else {
            stretch.low
        };
        let [aa, ab, bb] = moments.square;
        let hh = aa + base * (2.0 * ab + base * bb);
        let slope = (lane.a + base * lane.b) / hh;
        // What the held column explains is shared with h.
        let shared = stretch.held[0] + base * stretch.held[1];
        Solution {
            gain: lane.gain + held_gain,
            change_f: self.side.sign() * (base + self.origin),
            slope,
            mean_h: moments.mean_a + base * moments.mean_b,
            held: alone - slope * shared,
            mean_held: held_mean,
        }
    }
}

/// Weighted sums over the periods.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    a: f64,
    b: f64,
    aa: f64,
    ab: f64,
    bb: f64,
    az: f64,
    bz: f64,
}

impl Sums {
    fn add(&mut self, weight: f64, [a, b]: [f64; 2], held: f64) {
        self.a += weight * a;
        self.b += weight * b;
        self.aa += weight * a * a;
        self.ab += weight * a * b;
        self.bb += weight * b * b;
        self.az += weight * a * held;
        self.bz += weight * b * held;
    }

    fn square(&self, base: f64) -> f64 {
        self.aa + base * (2.0 * self.ab + base * self.bb)
    }

    fn moments(&self, weight: f64, held_square: f64, held: &mut [f64; 2]) -> Moments {
        let (mean_a, mean_b) = (self.a / weight, self.b / weight);
        let mut square =
            [self.aa - mean_a * self.a, self.ab - mean_a * self.b, self.bb - mean_b * self.b];
        if held_square > 0.0 {
            *held = [self.az / held_square, self.bz / held_square];
            square[0] -= held[0] * self.az;
            square[1] -= held[0] * self.bz;
            square[2] -= held[1] * self.bz;
        }
        Moments { mean_a, mean_b, square }
    }
}
