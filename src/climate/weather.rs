//! A series of days with their temperatures, and what was noticed while it was read.

use super::daily::DailyMeans;
use super::remark::{Gravity, Remark};
use chrono::{Datelike, Days, NaiveDate};

/// The form of a weather file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Typical meteorological year 3: two header lines, hours 01:00 to 24:00, °C.
    Tmy3,
    /// Eight header lines, then hours 1 to 24, °C.
    Epw,
    /// Any table with named columns.
    Table,
}

impl Format {
    /// The word that a user writes.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Tmy3 => "tmy3",
            Self::Epw => "epw",
            Self::Table => "table",
        }
    }

    /// The form of this name.
    pub fn from_key(key: &str) -> Option<Self> {
        [Self::Tmy3, Self::Epw, Self::Table].into_iter().find(|format| format.as_str() == key)
    }
}

/// The unit of a temperature in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TemperatureUnit {
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Degrees Celsius.
    Celsius,
}

impl TemperatureUnit {
    /// `f` or `c`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Fahrenheit => "f",
            Self::Celsius => "c",
        }
    }

    /// By `f` or `c`, in either case, or the whole word.
    pub fn from_key(key: &str) -> Option<Self> {
        match key.trim().to_ascii_lowercase().as_str() {
            "f" | "fahrenheit" => Some(Self::Fahrenheit),
            "c" | "celsius" => Some(Self::Celsius),
            _ => None,
        }
    }

    /// The unit in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fahrenheit => "degrees Fahrenheit",
            Self::Celsius => "degrees Celsius",
        }
    }

    /// A temperature of this unit in °F.
    pub(super) fn to_f(self, value: f64) -> f64 {
        match self {
            Self::Fahrenheit => value,
            Self::Celsius => value * 1.8 + 32.0,
        }
    }
}

/// The temperatures of one day, °F; NaN where there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day {
    /// The day; in a typical year the year is nominal.
    pub date: NaiveDate,
    /// The highest.
    pub max_f: f64,
    /// The lowest.
    pub min_f: f64,
    /// The mean over the hours, or the mean that the file gives.
    pub mean_f: f64,
    /// Hours with a value; 0 in a file of days.
    pub hours: u8,
}

impl Day {
    pub(super) const fn empty(date: NaiveDate) -> Self {
        Self { date, max_f: f64::NAN, min_f: f64::NAN, mean_f: f64::NAN, hours: 0 }
    }

    /// (max + min) / 2; NaN where either is missing.
    pub fn middle_f(&self) -> f64 {
        f64::midpoint(self.max_f, self.min_f)
    }

    /// The mean where there is one, else (max + min) / 2; NaN where there is neither.
    pub fn best_mean_f(&self) -> f64 {
        if self.mean_f.is_finite() { self.mean_f } else { self.middle_f() }
    }

    /// Whether the day has any value.
    pub fn has_value(&self) -> bool {
        self.best_mean_f().is_finite()
    }
}

/// Where a series was measured, as far as its file says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Site {
    /// Its name.
    pub name: String,
    /// Degrees north.
    pub latitude: Option<f64>,
    /// Degrees east.
    pub longitude: Option<f64>,
    /// Height above sea level, ft.
    pub elevation_ft: Option<f64>,
}

/// Consecutive days of weather, and what was noticed while they were read. Days without a value
/// stay without one: nothing is filled.
#[derive(Clone, Debug, PartialEq)]
pub struct Weather {
    pub(super) site: Site,
    pub(super) format: Format,
    pub(super) unit: TemperatureUnit,
    pub(super) days: Vec<Day>,
    /// 24 for each day, NaN where there is none; empty for a file of days.
    pub(super) hours: Vec<f64>,
    /// Month and the year it was taken from, where the months come from differing years.
    pub(super) typical: Vec<(u32, i32)>,
    pub(super) readings: usize,
    pub(super) remarks: Vec<Remark>,
}

impl Weather {
    /// Where it was measured.
    pub const fn site(&self) -> &Site {
        &self.site
    }

    /// The form of the file.
    pub const fn format(&self) -> Format {
        self.format
    }

    /// The unit of the temperatures in the file.
    pub const fn unit(&self) -> TemperatureUnit {
        self.unit
    }

    /// Every day from the first to the last, those without a value as well. Never empty.
    pub fn days(&self) -> &[Day] {
        &self.days
    }

    /// Whether there are hourly values.
    pub const fn is_hourly(&self) -> bool {
        !self.hours.is_empty()
    }

    /// The 24 hours of the day at `index`, °F, NaN where there is none.
    pub(super) fn hours_of(&self, index: usize) -> &[f64] {
        self.hours.get(index * 24..index * 24 + 24).unwrap_or(&[])
    }

    /// Whether the months were taken from differing years: a typical year, whose dates are nominal.
    pub const fn is_typical(&self) -> bool {
        !self.typical.is_empty()
    }

    /// Month and year that it was taken from, of a typical year.
    pub fn months_from(&self) -> &[(u32, i32)] {
        &self.typical
    }

    /// Readings in the file that count.
    pub const fn readings(&self) -> usize {
        self.readings
    }

    /// The first day.
    pub fn first(&self) -> NaiveDate {
        self.days.first().map_or(NaiveDate::MIN, |day| day.date)
    }

    /// The last day.
    pub fn last(&self) -> NaiveDate {
        self.days.last().map_or(NaiveDate::MIN, |day| day.date)
    }

    /// What was noticed, the gravest first.
    pub fn remarks(&self) -> &[Remark] {
        &self.remarks
    }

    /// The remarks for which its degree-days are not to be used for a house.
    pub fn grave(&self) -> impl Iterator<Item = &Remark> {
        self.remarks.iter().filter(|remark| remark.gravity == Gravity::Grave)
    }

    /// Whether the days have a maximum and a minimum.
    pub fn has_extremes(&self) -> bool {
        self.days.iter().any(|day| day.middle_f().is_finite())
    }

    /// Whether the days have a mean of their own.
    pub fn has_means(&self) -> bool {
        self.days.iter().any(|day| day.mean_f.is_finite())
    }

    /// Days with a value.
    pub fn days_with_value(&self) -> usize {
        self.days.iter().filter(|day| day.has_value()).count()
    }

    /// Stretches of days between the first and the last that have no value.
    pub fn gaps(&self) -> Vec<(NaiveDate, NaiveDate)> {
        let mut gaps: Vec<(NaiveDate, NaiveDate)> = Vec::new();
        for day in self.days.iter().filter(|day| !day.has_value()) {
            match gaps.last_mut() {
                Some((_, end)) if end.succ_opt() == Some(day.date) => *end = day.date,
                _ => gaps.push((day.date, day.date)),
            }
        }
        gaps
    }

    /// The calendar years that the series touches, with the days of each that have no value:
    /// inside the series or beyond its ends.
    pub fn years(&self) -> Vec<YearDays> {
        let mut years = Vec::new();
        for year in self.first().year()..=self.last().year() {
            let (Some(first), Some(next)) =
                (NaiveDate::from_ymd_opt(year, 1, 1), NaiveDate::from_ymd_opt(year + 1, 1, 1))
            else {
                continue;
            };
            let mut absent = Vec::new();
            let mut days = 0;
            let mut date = first;
            while date < next {
                days += 1;
                if !self.day(date).is_some_and(Day::has_value) {
                    absent.push(date);
                }
                let Some(following) = date.checked_add_days(Days::new(1)) else { break };
                date = following;
            }
            years.push(YearDays { year, days, absent });
        }
        years
    }

    /// The day of a date; `None` outside the series.
    pub fn day(&self, date: NaiveDate) -> Option<&Day> {
        let place = usize::try_from(date.signed_duration_since(self.first()).num_days()).ok()?;
        self.days.get(place)
    }

    /// One mean a day: the mean of the hours or that of the file, else (max + min) / 2.
    pub fn daily_means(&self) -> DailyMeans {
        DailyMeans::new(self.first(), self.days.iter().map(Day::best_mean_f).collect())
    }
}

/// A calendar year and its days without a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct YearDays {
    /// The year; nominal in a typical year.
    pub year: i32,
    /// Days that it has, 365 or 366.
    pub days: usize,
    /// Those without a value.
    pub absent: Vec<NaiveDate>,
}

/// Days in words: `31 December 2013`, or from one to the other; a nominal year is left out.
pub(super) fn stretch(first: NaiveDate, last: NaiveDate, nominal: bool) -> String {
    let form = if nominal { "%-d %B" } else { "%-d %B %Y" };
    if first == last {
        return first.format(form).to_string();
    }
    format!("{} to {}", first.format(form), last.format(form))
}

/// Dates joined to stretches, the first few of them in words.
pub(super) fn stretches(dates: &[NaiveDate], nominal: bool) -> String {
    const SHOWN: usize = 4;
    let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for &date in dates {
        match runs.last_mut() {
            Some((_, end)) if end.succ_opt() == Some(date) => *end = date,
            _ => runs.push((date, date)),
        }
    }
    let more = runs.len().saturating_sub(SHOWN);
    let mut words: Vec<String> =
        runs.iter().take(SHOWN).map(|(first, last)| stretch(*first, *last, nominal)).collect();
    if more > 0 {
        words.push(format!("{more} more stretches"));
    }
    words.join(", ")
}
