//! Degree-days of another base from the means of months: two published ways.

use super::error::{ClimateError, within};
use super::monthly::{MonthStats, number};
use crate::tables::{
    DEVIATION_BY_MEAN, DEVIATION_BY_YEAR, DEVIATION_CONSTANT, DEVIATION_SPREAD, HITCHIN_K,
};
use crate::units::factor::K_PER_F;

/// How degree-days of a month are estimated from its mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Conversion {
    /// Daily means scatter normally round the mean of the month (Schoenau and Kehrig 1990).
    SchoenauKehrig,
    /// From the mean alone, with a constant for the climate (Hitchin 1983).
    Hitchin,
}

impl Conversion {
    /// `schoenau_kehrig` or `hitchin`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::SchoenauKehrig => "schoenau_kehrig",
            Self::Hitchin => "hitchin",
        }
    }

    /// The conversion of this name.
    ///
    /// # Errors
    /// [`ClimateError::Input`] for any other word.
    pub fn from_key(key: &str) -> Result<Self, ClimateError> {
        [Self::SchoenauKehrig, Self::Hitchin]
            .into_iter()
            .find(|conversion| conversion.as_str() == key)
            .ok_or_else(|| ClimateError::choice("method", key, "schoenau_kehrig, hitchin"))
    }

    /// The formula in words.
    pub const fn formula(self) -> &'static str {
        match self {
            Self::SchoenauKehrig => {
                "N s (z Φ(z) + φ(z)), z = (base − mean) / s, with s the deviation of the daily \
                 means within the month [Schoenau and Kehrig 1990, from memory]"
            }
            Self::Hitchin => {
                "N (base − mean) / (1 − exp(−k (base − mean))), k = 0.71 / K [Hitchin 1983, from \
                 memory]"
            }
        }
    }
}

/// Degree-days of a month whose daily means scatter normally round the mean of the month.
///
/// Temperatures, deviation and result are all in the same degree, Fahrenheit or Celsius. Below the
/// base they are heating; with the signs of `base` and `mean` turned round, cooling.
///
/// # Formula
/// `N s (z Φ(z) + φ(z))`, `z = (base − mean) / s`; `N max(base − mean, 0)` where `s` is 0.
///
/// # Source
/// Schoenau and Kehrig 1990: `schoenau_kehrig_1990` (from memory).
///
/// # Examples
/// ```
/// // A month of 30 days, in °C.
/// let kelvin_days = studbay::climate::normal_degree_days(30.0, 15.0, 3.5, 18.0);
/// assert!((kelvin_days - 101.3995).abs() < 5e-5);
/// ```
pub fn normal_degree_days(days: f64, mean: f64, deviation: f64, base: f64) -> f64 {
    let z = (base - mean) / deviation;
    if !(deviation > 0.0 && z.is_finite()) {
        return days * (base - mean).max(0.0);
    }
    let below = 0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2);
    let density = libm::exp(-0.5 * z * z) / libm::sqrt(2.0 * std::f64::consts::PI);
    // Far in the tail the two terms cancel, and only rounding is left.
    (days * deviation * (z * below + density)).max(0.0)
}

/// Degree-days of a month from its mean alone.
///
/// # Formula
/// `N d / (1 − exp(−k d))`, `d = base − mean`, and its limit `N / k` where `d` is 0.
///
/// # Source
/// Hitchin 1983: `hitchin_1983`, with `k` of 0.71 a kelvin (from memory).
///
/// # Examples
/// ```
/// let kelvin_days = studbay::climate::hitchin_degree_days(31.0, 10.0, 15.5, 0.71);
/// assert!((kelvin_days - 174.0046).abs() < 5e-5);
/// ```
pub fn hitchin_degree_days(days: f64, mean: f64, base: f64, k: f64) -> f64 {
    let x = k * (base - mean);
    let fall = -libm::expm1(-x);
    if fall == 0.0 {
        return days / k;
    }
    days * (base - mean) / fall
}

/// Hitchin's constant for Fahrenheit degrees.
pub fn hitchin_k_f() -> f64 {
    HITCHIN_K.value * K_PER_F
}

/// Deviation of the daily means within a month, °F, where only the means of the months are known.
///
/// # Formula
/// `√N σ c` with `σ = 1.45 − 0.0290 t + 0.0664 s` in °C, `t` the mean of the month, `s` the
/// deviation of the twelve monthly means; `c = ln 2 √(2π) / (2 · 1.698) = 0.512` turns the published
/// distribution into a normal one of the same degree-days where mean and base are equal (derived).
///
/// # Range
/// Checked on public files at bases of 65 and 60 °F: 1 to 3 % too many heating degree-days inland,
/// 2 to 4 % in Seattle, more at lower bases, where real days scatter less.
///
/// # Source
/// Erbs, Klein and Beckman 1983: `erbs_1983` (from memory).
pub fn usual_deviation_f(mean_f: f64, deviation_of_months_f: f64, days: f64) -> f64 {
    let mean_c = (mean_f - 32.0) * K_PER_F;
    let of_months = DEVIATION_CONSTANT.value
        + DEVIATION_BY_MEAN.value * mean_c
        + DEVIATION_BY_YEAR.value * deviation_of_months_f * K_PER_F;
    let same_at_the_mean = std::f64::consts::LN_2 * libm::sqrt(2.0 * std::f64::consts::PI)
        / (2.0 * DEVIATION_SPREAD.value);
    libm::sqrt(days) * of_months.max(0.0) * same_at_the_mean / K_PER_F
}

/// Days of the months of a usual year.
const DAYS: [f64; 12] = [31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];

/// Twelve months from their means, with the usual deviation of daily means.
///
/// # Errors
/// [`ClimateError::Input`] for a mean that is not -60 to 120 °F.
pub fn months_from_means(means_f: &[f64; 12]) -> Result<Vec<MonthStats>, ClimateError> {
    for mean in means_f {
        within("monthly mean", *mean, -60.0, 120.0, "°F")?;
    }
    let mean = means_f.iter().sum::<f64>() / 12.0;
    let squares: f64 = means_f.iter().map(|m| (m - mean) * (m - mean)).sum();
    let deviation = libm::sqrt(squares / 11.0);
    Ok((1..)
        .zip(DAYS.into_iter().zip(means_f))
        .map(|(month, (days, mean_f))| MonthStats {
            month,
            days,
            mean_f: *mean_f,
            deviation_f: usual_deviation_f(*mean_f, deviation, days),
        })
        .collect())
}

/// Heating and cooling degree-days of the months at a base, °F·day, estimated from their means.
///
/// Cooling and heating differ by `N (mean − base)`, whichever way they are estimated.
///
/// # Errors
/// [`ClimateError::Refused`] where there are not twelve months; [`ClimateError::Input`] for a base
/// that is not -40 to 120 °F.
pub fn convert(
    months: &[MonthStats],
    base_f: f64,
    conversion: Conversion,
) -> Result<[f64; 2], ClimateError> {
    within("base_f", base_f, -40.0, 120.0, "°F")?;
    if months.len() != 12 {
        return Err(ClimateError::refused(format!(
            "a year of twelve months is needed, and {} have enough days",
            number(months.len())
        )));
    }
    let mut sums = [0.0; 2];
    for month in months {
        let MonthStats { days, mean_f, deviation_f, .. } = *month;
        let heating = match conversion {
            Conversion::SchoenauKehrig => normal_degree_days(days, mean_f, deviation_f, base_f),
            Conversion::Hitchin => hitchin_degree_days(days, mean_f, base_f, hitchin_k_f()),
        };
        let cooling = match conversion {
            Conversion::SchoenauKehrig => normal_degree_days(days, -mean_f, deviation_f, -base_f),
            Conversion::Hitchin => hitchin_degree_days(days, -mean_f, -base_f, hitchin_k_f()),
        };
        sums[0] += heating;
        sums[1] += cooling;
    }
    Ok(sums)
}
