//! Periods laid beside the weather: what a fit works on.

use super::finding::Finding;
use super::reading::{Meter, Period};
use crate::climate::DailyMeans;
use crate::error::{InputError, Issue, IssueCode};
use chrono::NaiveDate;

/// A period may lack this share of its days in the weather; the others then stand for them.
const MOST_MISSING: f64 = 0.10;

/// A period with the temperatures of its days.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// First day and the day after the last; `None` where only temperatures were given.
    pub dates: Option<(NaiveDate, NaiveDate)>,
    /// Days in the period.
    pub days: f64,
    /// Use in the period, in the fuel's unit.
    pub amount: f64,
    /// Means of the days that the weather has, °F, rising; or the one mean of the whole period.
    pub(super) temperatures_f: Vec<f64>,
    /// Their mean, °F.
    pub mean_f: f64,
}

impl Sample {
    /// A period of which only the mean temperature is known. Its degree-days are those of days that
    /// are all alike, too few near the change point.
    ///
    /// # Errors
    /// An [`Issue`] for a number of days that is not above 0 and at most 800, a use that is no
    /// number or negative, a temperature outside −100 to 150 °F.
    pub fn of_mean(days: f64, amount: f64, mean_f: f64) -> Result<Self, Issue> {
        let range = |name: &str, value: f64, allowed: std::ops::RangeInclusive<f64>| {
            if allowed.contains(&value) {
                return Ok(());
            }
            let reason = format!("allowed is {} to {}", allowed.start(), allowed.end());
            Err(Issue::new(IssueCode::OutOfRange, name, value.to_string(), reason))
        };
        range("days", days, 1e-6..=800.0)?;
        range("use", amount, 0.0..=1e12)?;
        range("mean_f", mean_f, -100.0..=150.0)?;
        Ok(Self { dates: None, days, amount, temperatures_f: vec![mean_f], mean_f })
    }

    /// Use a day.
    pub fn rate(&self) -> f64 {
        self.amount / self.days
    }

    /// Heating degree-days a day at this base: the mean of what the days fall short of it.
    pub fn heating_f(&self, base_f: f64) -> f64 {
        mean(&self.temperatures_f, |t| (base_f - t).max(0.0))
    }

    /// Cooling degree-days a day at this base.
    pub fn cooling_f(&self, base_f: f64) -> f64 {
        mean(&self.temperatures_f, |t| (t - base_f).max(0.0))
    }

    /// Share of the days that are colder than this.
    pub(super) fn colder(&self, base_f: f64) -> f64 {
        mean(&self.temperatures_f, |t| f64::from(u8::from(t < base_f)))
    }

    /// Share of the days that are warmer than this.
    pub(super) fn warmer(&self, base_f: f64) -> f64 {
        mean(&self.temperatures_f, |t| f64::from(u8::from(t > base_f)))
    }
}

fn mean(values: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    let sum: f64 = values.iter().map(|value| of(*value)).sum();
    sum / values.len() as f64
}

/// Lays the periods of a meter beside the weather.
///
/// A period of which more than a tenth of the days is missing in the weather is left out, with a
/// finding; nothing is filled.
///
/// # Errors
/// [`InputError`] where no period lies in the weather.
pub fn samples(
    meter: &Meter,
    weather: &DailyMeans,
    findings: &mut Vec<Finding>,
) -> Result<Vec<Sample>, InputError> {
    let mut found = Vec::with_capacity(meter.periods.len());
    let (mut outside, mut thin, mut thin_days) = (Vec::new(), 0_usize, 0_usize);
    for period in &meter.periods {
        let temperatures = days_of(weather, period);
        let all = usize::try_from(period.days()).unwrap_or(0);
        let missing = all - temperatures.len().min(all);
        if temperatures.is_empty() || missing as f64 > MOST_MISSING * all as f64 {
            outside.push(period);
            continue;
        }
        if missing > 0 {
            thin += 1;
            thin_days += missing;
        }
        let mean_f = mean(&temperatures, |t| t);
        found.push(Sample {
            dates: Some((period.start, period.end)),
            days: all as f64,
            amount: period.amount,
            temperatures_f: temperatures,
            mean_f,
        });
    }
    if let (Some(first), Some(last)) = (outside.first(), outside.last()) {
        if found.is_empty() {
            let last_day = weather
                .first()
                .checked_add_days(chrono::Days::new(weather.len().saturating_sub(1) as u64))
                .unwrap_or(weather.first());
            let reason = format!(
                "the readings run from {} to {}, the weather from {} to {last_day}: no period \
                 has nine tenths of its days in it",
                first.start,
                last.end,
                weather.first()
            );
            return Err(Issue::new(IssueCode::OutOfRange, "weather", "", reason).into());
        }
        let text = format!(
            "{} of {} periods lie outside the weather or in a gap of it, the first from {} to {}: \
             left out.",
            outside.len(),
            meter.periods.len(),
            first.start,
            first.end
        );
        findings.push(Finding::note("outside_weather", text));
    }
    if thin > 0 {
        let text = format!(
            "The weather lacks {thin_days} {} of {thin} {}: the other days stand for them.",
            if thin_days == 1 { "day" } else { "days" },
            if thin == 1 { "period" } else { "periods" }
        );
        findings.push(Finding::note("weather_gaps", text));
    }
    Ok(found)
}

fn days_of(weather: &DailyMeans, period: &Period) -> Vec<f64> {
    let days = period.start.iter_days().take_while(|day| *day < period.end);
    let mut found: Vec<f64> = days.filter_map(|day| weather.mean_f(day)).collect();
    found.sort_unstable_by(f64::total_cmp);
    found
}
