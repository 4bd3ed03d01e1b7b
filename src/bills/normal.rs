//! The usual year: what a fit is turned into a year's use with.

use super::fit::{Form, Params};
use crate::climate::DailyMeans;
use crate::error::{InputError, Issue, IssueCode};
use crate::tables::NORMAL_YEAR_DAYS;
use crate::words::MONTHS;
use chrono::Datelike;

const MONTH_DAYS: [f64; 12] =
    [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
/// A month with fewer days than this in the weather, over all years, does not stand for itself.
const LEAST_DAYS: u32 = 20;

/// A year of usual weather: 365 days, each month by the mean of its days in the weather that was
/// given. So a leap day, a missing day and several years all come to one year.
#[derive(Clone, Debug, PartialEq)]
pub struct NormalYear {
    /// Temperatures, rising, °F.
    temperatures_f: Vec<f64>,
    /// Days of the year up to and with each of them.
    days: Vec<f64>,
    /// Those times their temperatures.
    products: Vec<f64>,
    /// Days in the weather that have a value.
    days_seen: u32,
}

impl NormalYear {
    /// Makes the year of daily weather: of a typical year, or of several real ones.
    ///
    /// # Errors
    /// [`InputError`] that names every month with fewer than 20 days.
    pub fn new(weather: &DailyMeans) -> Result<Self, InputError> {
        let mut seen = [0_u32; 12];
        let mut values = Vec::with_capacity(weather.len());
        for (day, mean) in weather.days() {
            let month = day.month0() as usize;
            if let (Some(mean), Some(seen)) = (mean, seen.get_mut(month)) {
                *seen += 1;
                values.push((mean, month));
            }
        }
        let short: Vec<Issue> = seen
            .iter()
            .zip(MONTHS)
            .filter(|(days, _)| **days < LEAST_DAYS)
            .map(|(days, month)| {
                let reason = format!(
                    "the usual year needs at least {LEAST_DAYS} days of {month}, over all years"
                );
                Issue::new(IssueCode::OutOfRange, "normal", days.to_string(), reason)
            })
            .collect();
        if !short.is_empty() {
            return Err(InputError { issues: short });
        }
        values.sort_unstable_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        let mut year = Self {
            temperatures_f: Vec::with_capacity(values.len()),
            days: Vec::with_capacity(values.len()),
            products: Vec::with_capacity(values.len()),
            days_seen: seen.iter().sum(),
        };
        let (mut days, mut products) = (0.0, 0.0);
        for (temperature, month) in values {
            let share = MONTH_DAYS.get(month).map_or(0.0, |days| *days)
                / f64::from(seen.get(month).copied().unwrap_or(1));
            days += share;
            products += share * temperature;
            year.temperatures_f.push(temperature);
            year.days.push(days);
            year.products.push(products);
        }
        Ok(year)
    }

    /// Days in the weather that have a value.
    pub fn days_seen(&self) -> u32 {
        self.days_seen
    }

    /// Mean temperature of the year, °F.
    pub fn mean_f(&self) -> f64 {
        self.products.last().copied().unwrap_or(f64::NAN) / NORMAL_YEAR_DAYS.value
    }

    /// Heating degree-days of the year at this base, °F·day: H₀(τ).
    pub fn heating_degree_days_f(&self, base_f: f64) -> f64 {
        let below = self.temperatures_f.partition_point(|t| *t < base_f);
        let Some(last) = below.checked_sub(1) else { return 0.0 };
        match (self.days.get(last), self.products.get(last)) {
            (Some(days), Some(products)) => (base_f * days - products).max(0.0),
            _ => 0.0,
        }
    }

    /// Cooling degree-days of the year at this base, °F·day.
    pub fn cooling_degree_days_f(&self, base_f: f64) -> f64 {
        // What the year exceeds the base by, and what it falls short of it.
        let excess = NORMAL_YEAR_DAYS.value * (self.mean_f() - base_f);
        (excess + self.heating_degree_days_f(base_f)).max(0.0)
    }

    /// Use of the year by a fit: NAC = 365 α + β H₀(τ) (Fels 1986, from memory), and the same with
    /// cooling.
    pub fn annual(&self, form: Form, params: &Params) -> Annual {
        let days = NORMAL_YEAR_DAYS.value;
        match form {
            Form::Straight => Annual {
                base: f64::NAN,
                heating: f64::NAN,
                cooling: f64::NAN,
                total: days * (params.base - params.heating_slope * self.mean_f()),
            },
            Form::Heating | Form::HeatingCooling => {
                let of = |slope: f64, degree_days: f64| {
                    if slope == 0.0 { 0.0 } else { slope * degree_days }
                };
                let base = days * params.base;
                let heating =
                    of(params.heating_slope, self.heating_degree_days_f(params.heating_change_f));
                let cooling =
                    of(params.cooling_slope, self.cooling_degree_days_f(params.cooling_change_f));
                Annual { base, heating, cooling, total: base + heating + cooling }
            }
        }
    }
}

/// Use of a usual year, in the fuel's unit. A straight line has only the total: the parts are NaN.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Annual {
    /// Base load.
    pub base: f64,
    /// Heating.
    pub heating: f64,
    /// Cooling.
    pub cooling: f64,
    /// All of it.
    pub total: f64,
}
