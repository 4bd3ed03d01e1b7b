//! One mean temperature a day.

use chrono::{Days, NaiveDate};

/// Outdoor mean temperatures of consecutive days, degrees Fahrenheit. A day without a value is
/// kept as such and never filled.
#[derive(Clone, Debug, PartialEq)]
pub struct DailyMeans {
    first: NaiveDate,
    mean_f: Vec<f64>,
}

impl DailyMeans {
    /// The days from `first` on; NaN marks a day without a value.
    pub const fn new(first: NaiveDate, mean_f: Vec<f64>) -> Self {
        Self { first, mean_f }
    }

    /// The first day.
    pub const fn first(&self) -> NaiveDate {
        self.first
    }

    /// Days from the first to the last, those without a value counted.
    pub const fn len(&self) -> usize {
        self.mean_f.len()
    }

    /// Whether there is no day at all.
    pub const fn is_empty(&self) -> bool {
        self.mean_f.is_empty()
    }

    /// The mean of a day, °F; `None` outside the series and where the day has no value.
    pub fn mean_f(&self, day: NaiveDate) -> Option<f64> {
        let index = usize::try_from(day.signed_duration_since(self.first).num_days()).ok()?;
        self.mean_f.get(index).copied().filter(|mean| mean.is_finite())
    }

    /// Every day with its mean; `None` where it has no value.
    pub fn days(&self) -> impl Iterator<Item = (NaiveDate, Option<f64>)> + '_ {
        self.mean_f.iter().enumerate().map_while(|(index, mean)| {
            let day = self.first.checked_add_days(Days::new(index as u64))?;
            Some((day, mean.is_finite().then_some(*mean)))
        })
    }
}
