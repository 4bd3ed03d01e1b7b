//! How a number may be spread: named distributions, each by its quantile function.
//!
//! A draw is the quantile at a share between 0 and 1, so that one stream of shares serves every
//! distribution, two fields can share it, and a stratified share gives a stratified draw. Only the
//! pure-Rust `libm` is used: the same bits everywhere.

use std::f64::consts::SQRT_2;
use std::fmt;

/// A distribution of one number. Made by its constructors, which refuse what is none.
#[derive(Clone, Debug, PartialEq)]
pub struct Distribution(Shape);

#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Uniform { low: f64, high: f64 },
    Triangular { low: f64, likely: f64, high: f64 },
    Normal { mean: f64, sd: f64, low: f64, high: f64 },
    Lognormal { median: f64, gsd: f64, low: f64, high: f64 },
    Discrete { values: Vec<f64>, below: Vec<f64> },
}

/// The names that a distribution may be given by.
pub const NAMES: [&str; 5] = ["uniform", "triangular", "normal", "lognormal", "discrete"];

/// Values that a discrete distribution may have.
const MOST_VALUES: usize = 100;

/// Why numbers make no distribution: which of them, and the reason, a clause without a full stop.
#[derive(Clone, Debug, PartialEq)]
pub struct NoDistribution {
    /// The parameter at fault, as in `high`; empty where it is the whole.
    pub part: &'static str,
    /// What is wrong and what is allowed.
    pub reason: String,
}

impl fmt::Display for NoDistribution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.part.is_empty() {
            write!(f, "{}: ", self.part)?;
        }
        f.write_str(&self.reason)
    }
}

impl std::error::Error for NoDistribution {}

fn refuse<T>(part: &'static str, reason: impl Into<String>) -> Result<T, NoDistribution> {
    Err(NoDistribution { part, reason: reason.into() })
}

fn finite(part: &'static str, value: f64) -> Result<f64, NoDistribution> {
    if value.is_finite() { Ok(value) } else { refuse(part, "is not a finite number") }
}

/// Ends that a distribution is cut off at; either may be endless.
fn ends(low: Option<f64>, high: Option<f64>) -> Result<(f64, f64), NoDistribution> {
    let low = low.map_or(Ok(f64::NEG_INFINITY), |low| finite("low", low))?;
    let high = high.map_or(Ok(f64::INFINITY), |high| finite("high", high))?;
    if low >= high {
        return refuse("low", format!("low = {low} must be below high = {high}"));
    }
    Ok((low, high))
}

impl Distribution {
    /// Every value between the ends as likely as any other.
    ///
    /// # Errors
    /// [`NoDistribution`] for an end that is not finite and for `low > high`.
    pub fn uniform(low: f64, high: f64) -> Result<Self, NoDistribution> {
        let (low, high) = (finite("low", low)?, finite("high", high)?);
        if low > high {
            return refuse("low", format!("low = {low} must not be above high = {high}"));
        }
        Ok(Self(Shape::Uniform { low, high }))
    }

    /// Most likely at one value and falling in a straight line to nothing at both ends.
    ///
    /// # Errors
    /// [`NoDistribution`] unless all are finite and `low <= likely <= high`.
    pub fn triangular(low: f64, likely: f64, high: f64) -> Result<Self, NoDistribution> {
        let (low, high) = (finite("low", low)?, finite("high", high)?);
        let likely = finite("likely", likely)?;
        if low > high {
            return refuse("low", format!("low = {low} must not be above high = {high}"));
        }
        if likely < low || likely > high {
            let reason = format!("likely = {likely} must lie from low = {low} to high = {high}");
            return refuse("likely", reason);
        }
        Ok(Self(Shape::Triangular { low, likely, high }))
    }

    /// The normal distribution, cut off at either end where one is given and then scaled up to a
    /// whole again. `mean` and `sd` are those of the uncut one.
    ///
    /// # Errors
    /// [`NoDistribution`] for a number that is not finite, an `sd` not above 0, `low >= high`, and
    /// ends so far out that nothing is left between them.
    pub fn normal(
        mean: f64,
        sd: f64,
        low: Option<f64>,
        high: Option<f64>,
    ) -> Result<Self, NoDistribution> {
        let (mean, sd) = (finite("mean", mean)?, finite("sd", sd)?);
        if sd <= 0.0 {
            return refuse("sd", format!("sd = {sd}: allowed is above 0"));
        }
        let (low, high) = ends(low, high)?;
        if share_between((low - mean) / sd, (high - mean) / sd) < LEAST_SHARE {
            return refuse("", "hardly anything of it lies between its ends");
        }
        Ok(Self(Shape::Normal { mean, sd, low, high }))
    }

    /// The distribution whose logarithm is normal, cut off at either end where one is given. `gsd`
    /// is the geometric standard deviation: two thirds lie from `median / gsd` to `median × gsd`.
    ///
    /// # Errors
    /// [`NoDistribution`] for a number that is not finite, a `median` not above 0, a `gsd` not above
    /// 1, `low >= high`, and ends so far out that nothing is left between them.
    pub fn lognormal(
        median: f64,
        gsd: f64,
        low: Option<f64>,
        high: Option<f64>,
    ) -> Result<Self, NoDistribution> {
        let (median, gsd) = (finite("median", median)?, finite("gsd", gsd)?);
        if median <= 0.0 {
            return refuse("median", format!("median = {median}: allowed is above 0"));
        }
        if gsd <= 1.0 {
            return refuse("gsd", format!("gsd = {gsd}: allowed is above 1"));
        }
        let (low, high) = ends(low, high)?;
        let (z_low, z_high) = log_ends(median, gsd, low, high);
        if z_high == f64::NEG_INFINITY || share_between(z_low, z_high) < LEAST_SHARE {
            return refuse("", "hardly anything of it lies between its ends");
        }
        Ok(Self(Shape::Lognormal { median, gsd, low, high }))
    }

    /// One of a list of values, each with its weight; equal weights where none are given.
    ///
    /// # Errors
    /// [`NoDistribution`] for an empty list or one of more than 100 values, values that do not rise,
    /// a number that is not finite, weights of another count, below 0, or all 0.
    pub fn discrete(values: &[f64], weights: Option<&[f64]>) -> Result<Self, NoDistribution> {
        if values.is_empty() || values.len() > MOST_VALUES {
            return refuse("values", format!("allowed are 1 to {MOST_VALUES} values"));
        }
        for value in values {
            finite("values", *value)?;
        }
        if values.windows(2).any(|pair| pair[0] >= pair[1]) {
            return refuse("values", "values must rise from one to the next");
        }
        let equal = vec![1.0; values.len()];
        let weights = weights.unwrap_or(&equal);
        if weights.len() != values.len() {
            let reason = format!("{} weights for {} values", weights.len(), values.len());
            return refuse("weights", reason);
        }
        let mut sum = 0.0;
        for weight in weights {
            if finite("weights", *weight)? < 0.0 {
                return refuse("weights", format!("{weight}: allowed is 0 or more"));
            }
            sum += weight;
        }
        if sum <= 0.0 || !sum.is_finite() {
            return refuse("weights", "the weights must add up to something");
        }
        let mut running = 0.0;
        let below = weights.iter().map(|weight| {
            running += weight;
            running / sum
        });
        Ok(Self(Shape::Discrete { values: values.to_vec(), below: below.collect() }))
    }

    /// Its name: one of [`NAMES`].
    pub const fn name(&self) -> &'static str {
        match self.0 {
            Shape::Uniform { .. } => "uniform",
            Shape::Triangular { .. } => "triangular",
            Shape::Normal { .. } => "normal",
            Shape::Lognormal { .. } => "lognormal",
            Shape::Discrete { .. } => "discrete",
        }
    }

    /// Its name and its numbers, as a house file writes them.
    #[cfg(feature = "house-file")]
    pub(crate) fn parts(&self) -> serde_json::Map<String, serde_json::Value> {
        use serde_json::json;
        let mut parts = serde_json::Map::new();
        let mut put = |key: &str, value: serde_json::Value| parts.insert(key.to_owned(), value);
        put("distribution", json!(self.name()));
        let mut numbers = |list: &[(&str, f64)]| {
            for (key, number) in list.iter().filter(|(_, number)| number.is_finite()) {
                put(key, json!(number));
            }
        };
        match &self.0 {
            Shape::Uniform { low, high } => numbers(&[("low", *low), ("high", *high)]),
            Shape::Triangular { low, likely, high } => {
                numbers(&[("low", *low), ("likely", *likely), ("high", *high)]);
            }
            Shape::Normal { mean, sd, low, high } => {
                numbers(&[("mean", *mean), ("sd", *sd), ("low", *low), ("high", *high)]);
            }
            Shape::Lognormal { median, gsd, low, high } => {
                numbers(&[("median", *median), ("gsd", *gsd), ("low", *low), ("high", *high)]);
            }
            Shape::Discrete { values, below } => {
                let weights = below
                    .iter()
                    .scan(0.0, |before, share| Some(share - std::mem::replace(before, *share)));
                put("values", json!(values));
                put("weights", json!(weights.collect::<Vec<f64>>()));
            }
        }
        parts
    }

    /// The least and the greatest value that it can give; infinite where it has no end. A lognormal
    /// has nothing below 0.
    pub fn ends(&self) -> (f64, f64) {
        match &self.0 {
            Shape::Uniform { low, high }
            | Shape::Triangular { low, high, .. }
            | Shape::Normal { low, high, .. } => (*low, *high),
            Shape::Lognormal { low, high, .. } => (low.max(0.0), *high),
            Shape::Discrete { values, .. } => (
                values.first().copied().unwrap_or(f64::NAN),
                values.last().copied().unwrap_or(f64::NAN),
            ),
        }
    }

    /// The most likely value of a triangular one.
    pub const fn likely(&self) -> Option<f64> {
        match self.0 {
            Shape::Triangular { likely, .. } => Some(likely),
            _ => None,
        }
    }

    /// The values of a discrete one.
    pub fn values(&self) -> Option<&[f64]> {
        match &self.0 {
            Shape::Discrete { values, .. } => Some(values),
            _ => None,
        }
    }

    /// The same, with an end wherever it has none so far.
    ///
    /// # Errors
    /// [`NoDistribution`] when hardly anything of it lies there.
    pub(crate) fn cut_to(self, low: f64, high: f64) -> Result<Self, NoDistribution> {
        let end = |own: f64, other: f64| Some(if own.is_finite() { own } else { other });
        match self.0 {
            Shape::Normal { mean, sd, low: a, high: b } => {
                Self::normal(mean, sd, end(a, low), end(b, high))
            }
            Shape::Lognormal { median, gsd, low: a, high: b } => {
                Self::lognormal(median, gsd, end(a, low), end(b, high))
            }
            other => Ok(Self(other)),
        }
    }

    /// Whether it can give one value only.
    pub fn is_fixed(&self) -> bool {
        let (low, high) = self.ends();
        low >= high
    }

    /// The value that the share `u` of all draws does not exceed.
    ///
    /// # Formula
    /// The inverse of the distribution function. Triangular with `p = (likely − low)/(high − low)`:
    /// `low + sqrt(u (high − low)(likely − low))` for `u < p`, else
    /// `high − sqrt((1 − u)(high − low)(high − likely))`. Cut off at its ends, the normal one is
    /// `mean + sd × z(F(a) + u (F(b) − F(a)))`, `a` and `b` the ends in units of `sd`.
    ///
    /// # Source
    /// `z` by Wichura 1988, algorithm AS 241 (from memory; tests hold it to the distribution
    /// function and to scipy).
    #[inline]
    pub fn quantile(&self, u: f64) -> f64 {
        match &self.0 {
            Shape::Uniform { low, high } => low + u * (high - low),
            Shape::Triangular { low, likely, high } => triangle(*low, *likely, *high, u),
            Shape::Normal { mean, sd, low, high } => {
                let z = cut_normal((low - mean) / sd, (high - mean) / sd, u);
                (mean + sd * z).clamp(*low, *high)
            }
            Shape::Lognormal { median, gsd, low, high } => {
                let (z_low, z_high) = log_ends(*median, *gsd, *low, *high);
                let z = cut_normal(z_low, z_high, u);
                (median * libm::exp(z * libm::log(*gsd))).clamp(*low, *high)
            }
            Shape::Discrete { values, below } => {
                let place = below.partition_point(|share| *share <= u).min(values.len() - 1);
                values[place]
            }
        }
    }
}

impl fmt::Display for Distribution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use crate::error::short;
        // An end that no field ever comes near is not worth telling.
        const FAR: f64 = 1e15;
        let cut = |f: &mut fmt::Formatter<'_>, low: f64, high: f64| match (
            low.is_finite() && low > -FAR,
            high < FAR,
        ) {
            (true, true) => write!(f, ", from {} to {}", short(low), short(high)),
            (true, false) => write!(f, ", from {} up", short(low)),
            (false, true) => write!(f, ", up to {}", short(high)),
            (false, false) => Ok(()),
        };
        match &self.0 {
            Shape::Uniform { low, high } => {
                write!(f, "{} to {}, all as likely", short(*low), short(*high))
            }
            Shape::Triangular { low, likely, high } => {
                write!(f, "{} to {}, most likely {}", short(*low), short(*high), short(*likely))
            }
            Shape::Normal { mean, sd, low, high } => {
                write!(f, "normal, {} ± {}", short(*mean), short(*sd))?;
                cut(f, *low, *high)
            }
            Shape::Lognormal { median, gsd, low, high } => {
                write!(f, "lognormal, median {}, factor {}", short(*median), short(*gsd))?;
                // Nothing of it lies below 0 anyway.
                cut(f, if *low > 0.0 { *low } else { f64::NEG_INFINITY }, *high)
            }
            Shape::Discrete { values, .. } => {
                let values: Vec<String> = values.iter().map(|value| short(*value)).collect();
                write!(f, "one of {}", values.join(", "))
            }
        }
    }
}

fn triangle(low: f64, likely: f64, high: f64, u: f64) -> f64 {
    let width = high - low;
    if width <= 0.0 {
        return low;
    }
    let value = if u * width < likely - low {
        low + (u * width * (likely - low)).sqrt()
    } else {
        high - ((1.0 - u) * width * (high - likely)).sqrt()
    };
    value.clamp(low, high)
}

/// Less than this between the ends, and the draws would be made of rounding.
const LEAST_SHARE: f64 = 1e-9;

/// The share of the normal distribution below `z`.
pub(crate) fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// The share between two ends, without losing it where both lie far out on the same side.
fn share_between(low: f64, high: f64) -> f64 {
    if low > 0.0 {
        normal_below(-low) - normal_below(-high)
    } else {
        normal_below(high) - normal_below(low)
    }
}

/// A standard normal number between two ends.
fn cut_normal(low: f64, high: f64, u: f64) -> f64 {
    if low > 0.0 {
        // Mirrored, where shares near 0 keep their digits.
        return -cut_normal(-high, -low, 1.0 - u);
    }
    let (below, within) = (normal_below(low), share_between(low, high));
    normal_quantile(below + u * within).clamp(low, high)
}

/// The ends of a lognormal in units of its spread.
fn log_ends(median: f64, gsd: f64, low: f64, high: f64) -> (f64, f64) {
    let unit = libm::log(gsd);
    let z = |end: f64| {
        if end <= 0.0 {
            f64::NEG_INFINITY
        } else if end == f64::INFINITY {
            f64::INFINITY
        } else {
            libm::log(end / median) / unit
        }
    };
    (z(low), z(high))
}

/// A polynomial, the constant first.
fn polynomial(coefficients: [f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

/// The standard normal number that the share `p` does not exceed: Wichura 1988, algorithm AS 241,
/// PPND16, good to about 16 digits.
#[expect(clippy::excessive_precision, reason = "as printed")]
pub(crate) fn normal_quantile(p: f64) -> f64 {
    const CENTRE: [[f64; 8]; 2] = [
        [
            3.387_132_872_796_366_608_0e0,
            1.331_416_678_917_843_774_5e2,
            1.971_590_950_306_551_442_7e3,
            1.373_169_376_550_946_112_5e4,
            4.592_195_393_154_987_145_7e4,
            6.726_577_092_700_870_085_3e4,
            3.343_057_558_358_812_810_5e4,
            2.509_080_928_730_122_672_7e3,
        ],
        [
            1.0,
            4.231_333_070_160_091_125_2e1,
            6.871_870_074_920_579_083_0e2,
            5.394_196_021_424_751_107_7e3,
            2.121_379_430_158_659_586_7e4,
            3.930_789_580_009_271_061_0e4,
            2.872_908_573_572_194_267_4e4,
            5.226_495_278_852_854_561_0e3,
        ],
    ];
    const SIDE: [[f64; 8]; 2] = [
        [
            1.423_437_110_749_683_577_34e0,
            4.630_337_846_156_545_295_90e0,
            5.769_497_221_460_691_405_50e0,
            3.647_848_324_763_204_605_04e0,
            1.270_458_252_452_368_382_58e0,
            2.417_807_251_774_506_117_70e-1,
            2.272_384_498_926_918_458_33e-2,
            7.745_450_142_783_414_076_40e-4,
        ],
        [
            1.0,
            2.053_191_626_637_758_821_87e0,
            1.676_384_830_183_803_849_40e0,
            6.897_673_349_851_000_045_50e-1,
            1.481_039_764_274_800_745_90e-1,
            1.519_866_656_361_645_719_66e-2,
            5.475_938_084_995_344_946_00e-4,
            1.050_750_071_644_416_843_24e-9,
        ],
    ];
    const TAIL: [[f64; 8]; 2] = [
        [
            6.657_904_643_501_103_777_20e0,
            5.463_784_911_164_114_369_90e0,
            1.784_826_539_917_291_335_80e0,
            2.965_605_718_285_048_912_30e-1,
            2.653_218_952_657_612_309_30e-2,
            1.242_660_947_388_078_438_60e-3,
            2.711_555_568_743_487_578_15e-5,
            2.010_334_399_292_288_132_65e-7,
        ],
        [
            1.0,
            5.998_322_065_558_879_376_90e-1,
            1.369_298_809_227_358_053_10e-1,
            1.487_536_129_085_061_485_25e-2,
            7.868_691_311_456_132_591_00e-4,
            1.846_318_317_510_054_681_80e-5,
            1.421_511_758_316_445_888_70e-7,
            2.044_263_103_389_939_785_64e-15,
        ],
    ];
    let ratio = |[top, bottom]: [[f64; 8]; 2], x| polynomial(top, x) / polynomial(bottom, x);
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(CENTRE, 0.180_625 - q * q);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let r = (-libm::log(tail)).sqrt();
    let z = if r <= 5.0 { ratio(SIDE, r - 1.6) } else { ratio(TAIL, r - 5.0) };
    if q < 0.0 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn the_normal_quantile_is_that_of_tables() {
        // Standard normal tables, from memory to these digits.
        for (p, z) in [
            (0.5, 0.0),
            (0.9, 1.281_551_565_544_600_4),
            (0.975, 1.959_963_984_540_054),
            (0.995, 2.575_829_303_548_900_4),
            (0.001, -3.090_232_306_167_813),
        ] {
            assert!((normal_quantile(p) - z).abs() < 1e-14, "{p}: {}", normal_quantile(p));
        }
        assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(normal_quantile(1.0), f64::INFINITY);
    }

    #[test]
    fn what_is_no_distribution_is_refused_with_its_numbers() {
        let reason = |made: Result<Distribution, NoDistribution>| made.unwrap_err().to_string();
        assert_eq!(
            reason(Distribution::uniform(3.0, 2.0)),
            "low: low = 3 must not be above high = 2"
        );
        assert_eq!(
            reason(Distribution::triangular(1.0, 4.0, 3.0)),
            "likely: likely = 4 must lie from low = 1 to high = 3"
        );
        assert_eq!(
            reason(Distribution::normal(0.0, 0.0, None, None)),
            "sd: sd = 0: allowed is above 0"
        );
        assert!(reason(Distribution::normal(0.0, 1.0, Some(40.0), None)).contains("hardly"));
        assert_eq!(
            reason(Distribution::lognormal(2.0, 1.0, None, None)),
            "gsd: gsd = 1: allowed is above 1"
        );
        assert!(reason(Distribution::lognormal(2.0, 1.5, None, Some(-1.0))).contains("hardly"));
        assert!(reason(Distribution::discrete(&[1.0, 1.0], None)).contains("rise"));
        assert!(
            reason(Distribution::discrete(&[1.0, 2.0], Some(&[1.0]))).contains("1 weights for 2")
        );
        assert!(reason(Distribution::uniform(f64::NAN, 2.0)).contains("finite"));
    }

    fn any() -> impl Strategy<Value = Distribution> {
        let three = (-1e3..1e3f64, 0.0..1.0f64, 1e-3..1e3f64);
        let cut = (-4.0..1.0f64, 0.5..6.0f64);
        prop_oneof![
            three.clone().prop_map(|(low, _, width)| Distribution::uniform(low, low + width)),
            three.clone().prop_map(|(low, share, width)| {
                let likely = (low + share * width).clamp(low, low + width);
                Distribution::triangular(low, likely, low + width)
            }),
            (three.clone(), cut.clone()).prop_map(|((mean, _, sd), (low, width))| {
                Distribution::normal(
                    mean,
                    sd,
                    Some(mean + low * sd),
                    Some(mean + (low + width) * sd),
                )
            }),
            (three, cut).prop_map(|((_, share, median), (low, width))| {
                let gsd: f64 = 1.05 + share;
                let end = |z: f64| median * libm::exp(z * libm::log(gsd));
                Distribution::lognormal(median, gsd, Some(end(low)), Some(end(low + width)))
            }),
            Just(Distribution::discrete(&[0.0, 1.0, 2.0], Some(&[1.0, 0.0, 3.0]))),
        ]
        .prop_map(|made| made.unwrap_or_else(|error| unreachable!("{error}")))
    }

    proptest! {
        #[test]
        fn quantiles_rise_and_stay_between_the_ends(d in any(), mut us in prop::collection::vec(0.0..1.0f64, 2..20)) {
            us.sort_by(f64::total_cmp);
            let (low, high) = d.ends();
            let values: Vec<f64> = us.iter().map(|u| d.quantile(*u)).collect();
            prop_assert!(values.windows(2).all(|pair| pair[0] <= pair[1] + 1e-12 * pair[1].abs()), "{d}: {values:?}");
            prop_assert!(values.iter().all(|value| (low..=high).contains(value)), "{d}: {values:?}");
        }

        #[test]
        fn the_normal_quantile_undoes_the_distribution_function(z in -8.0..5.0f64) {
            // Above 5 the share has too few digits left below 1.
            prop_assert!((normal_quantile(normal_below(z)) - z).abs() < 1e-9);
        }

        #[test]
        fn means_are_the_closed_ones(low in -50.0..50.0f64, share in 0.0..1.0f64, width in 0.1..100.0f64) {
            // The middle of 20,000 equal strata: the midpoint rule for the integral of the quantile.
            let n = 20_000;
            let mean = |d: &Distribution| {
                (0..n).map(|i| d.quantile((f64::from(i) + 0.5) / f64::from(n))).sum::<f64>() / f64::from(n)
            };
            let (likely, high) = (low + share * width, low + width);
            let uniform = Distribution::uniform(low, high).unwrap();
            assert_relative_eq!(mean(&uniform), f64::midpoint(low, high), epsilon = 1e-6 * width);
            let triangular = Distribution::triangular(low, likely, high).unwrap();
            assert_relative_eq!(mean(&triangular), (low + likely + high) / 3.0, epsilon = 1e-5 * width);
            // A normal cut at a and b: mean + sd (phi(a) - phi(b))/(F(b) - F(a)).
            let (a, b) = (-2.0 + share, 1.0 + 2.0 * share);
            let normal = Distribution::normal(low, width, Some(low + a * width), Some(low + b * width)).unwrap();
            let phi = |z: f64| libm::exp(-0.5 * z * z) / (2.0 * std::f64::consts::PI).sqrt();
            let shift = (phi(a) - phi(b)) / (normal_below(b) - normal_below(a));
            assert_relative_eq!(mean(&normal), low + width * shift, epsilon = 1e-5 * width);
            // A lognormal: median exp(s^2/2).
            let gsd: f64 = 1.05 + share;
            let s = libm::log(gsd);
            let lognormal = Distribution::lognormal(width, gsd, None, None).unwrap();
            assert_relative_eq!(mean(&lognormal), width * libm::exp(s * s / 2.0), max_relative = 2e-3);
        }
    }
}
