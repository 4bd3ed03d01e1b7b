//! Months of a series: how many days, their mean and how they scatter.

use super::weather::{Day, Weather};
use chrono::Datelike;

/// A calendar month over all years of a series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MonthStats {
    /// 1 to 12.
    pub month: u32,
    /// Days of the month in a usual year, 28.25 for February where there are several years.
    pub days: f64,
    /// Mean of the daily means, °F.
    pub mean_f: f64,
    /// Standard deviation of the daily means round it, °F, all years together.
    pub deviation_f: f64,
}

/// The calendar months that have at least two days with a value.
///
/// A daily mean is (max + min) / 2 where there are both, else the mean.
pub(super) fn of_calendar(weather: &Weather) -> Vec<MonthStats> {
    (1..=12).filter_map(|month| of_month(weather, month)).collect()
}

fn of_month(weather: &Weather, month: u32) -> Option<MonthStats> {
    let of_month = |day: &&Day| day.date.month() == month;
    let mean = |day: &Day| if day.middle_f().is_finite() { day.middle_f() } else { day.mean_f };
    let values: Vec<f64> =
        weather.days.iter().filter(of_month).map(mean).filter(|value| value.is_finite()).collect();
    if values.len() < 2 {
        return None;
    }
    let count = number(values.len());
    let mean_f = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean_f) * (value - mean_f)).sum();
    let years = weather.last().year() != weather.first().year();
    let days = match month {
        2 if years => 28.25,
        2 => number(weather.days.iter().filter(of_month).count()).clamp(28.0, 29.0),
        4 | 6 | 9 | 11 => 30.0,
        _ => 31.0,
    };
    Some(MonthStats { month, days, mean_f, deviation_f: libm::sqrt(squares / (count - 1.0)) })
}

impl Weather {
    /// The calendar months, all years together; months with fewer than two days are left out.
    ///
    /// A daily mean is (max + min) / 2 where there are both, else the mean of the day.
    pub fn monthly(&self) -> Vec<MonthStats> {
        of_calendar(self)
    }
}

/// A count as a number.
#[expect(clippy::cast_precision_loss, reason = "days of some centuries at most")]
pub(super) fn number(count: usize) -> f64 {
    count as f64
}
