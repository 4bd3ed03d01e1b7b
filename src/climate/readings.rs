//! What the readers of the several forms hand on: readings in the order of the file.

use super::remark::{Remark, Tally};
use super::weather::{Format, Site, TemperatureUnit};
use chrono::NaiveDate;

/// Years that a series may lie in.
const YEARS: std::ops::RangeInclusive<i32> = 1700..=2200;

/// A temperature at a time of day.
#[derive(Clone, Copy, Debug)]
pub(super) struct HourReading {
    pub(super) line: u64,
    pub(super) date: NaiveDate,
    /// Minutes after midnight, up to 1440.
    pub(super) minute: u16,
    /// In the unit of the file; `None` where the file says that it is missing.
    pub(super) value: Option<f64>,
}

/// The temperatures of a day.
#[derive(Clone, Copy, Debug)]
pub(super) struct DayReading {
    pub(super) line: u64,
    pub(super) date: NaiveDate,
    pub(super) max: Option<f64>,
    pub(super) min: Option<f64>,
    pub(super) mean: Option<f64>,
}

/// What a file holds.
pub(super) enum Readings {
    Hours(Vec<HourReading>),
    Days(Vec<DayReading>),
}

/// What a reader knows besides the readings.
pub(super) struct Head {
    pub(super) site: Site,
    pub(super) format: Format,
    pub(super) unit: TemperatureUnit,
    /// Whether a year put together from months of differing years is to be looked for.
    pub(super) may_be_typical: bool,
    /// Rows that could not be understood.
    pub(super) unreadable: Tally,
    pub(super) remarks: Vec<Remark>,
}

/// A date within the years that are let in.
pub(super) fn date(year: i32, month: u32, day: u32) -> Option<NaiveDate> {
    if !YEARS.contains(&year) {
        return None;
    }
    NaiveDate::from_ymd_opt(year, month, day)
}
