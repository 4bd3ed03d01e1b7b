//! Degree-days at any base, by a day rule that is always named.

use super::error::{ClimateError, within};
use super::monthly::number;
use super::weather::{Day, Weather, stretch};
use chrono::{Datelike, NaiveDate};

/// The usual base, °F.
pub const USUAL_BASE_F: f64 = 65.0;
/// Bases that are let in, °F.
const BASES_F: (f64, f64) = (-40.0, 120.0);
/// Days that a year may lack and still be used for a house: about one in a hundred (judgement of
/// this project). They are not filled; the figure says that it is so much too low.
const MAY_LACK: usize = 3;

/// What a day counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DayRule {
    /// (maximum + minimum) / 2 against the base: NOAA's rule, and that of published normals.
    MaxMin,
    /// The mean over the hours, or the mean that the file gives, against the base.
    Mean,
    /// Every hour against the base, divided by 24.
    Hours,
}

impl DayRule {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::MaxMin, Self::Mean, Self::Hours];

    /// `max_min`, `mean` or `hours`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::MaxMin => "max_min",
            Self::Mean => "mean",
            Self::Hours => "hours",
        }
    }

    /// The rule of this name.
    ///
    /// # Errors
    /// [`ClimateError::Input`] for any other word.
    pub fn from_key(key: &str) -> Result<Self, ClimateError> {
        Self::ALL
            .into_iter()
            .find(|rule| rule.as_str() == key)
            .ok_or_else(|| ClimateError::choice("rule", key, "max_min, mean, hours"))
    }

    /// The rule in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::MaxMin => "(maximum + minimum) / 2 of each day against the base",
            Self::Mean => "the mean of each day against the base",
            Self::Hours => "every hour against the base, divided by 24",
        }
    }

    /// What the rule is for and how it differs, in words.
    pub const fn explanation(self) -> &'static str {
        match self {
            Self::MaxMin => {
                "NOAA's rule: published normals and bills compared with them use it. A day whose \
                 middle lies on the far side of the base counts nothing, even where some of its \
                 hours are cold."
            }
            Self::Mean => {
                "The mean of all hours lies a little off the middle of maximum and minimum; over a \
                 year the two rules differ by some per mille."
            }
            Self::Hours => {
                "Cold nights of mild days count too, so that it gives more: some 5 % more at 65 °F \
                 where nights are cold, hardly anything where they are not. Do not mix it with \
                 published normals."
            }
        }
    }
}

/// How degree-days are counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Count {
    base_f: f64,
    rule: DayRule,
    whole_degrees: bool,
}

impl Count {
    /// At a base by a rule.
    ///
    /// `whole_degrees` is the practice of the National Weather Service (from memory): maximum
    /// and minimum in whole °F, and their middle rounded to whole °F, halves upwards.
    ///
    /// # Errors
    /// [`ClimateError::Input`] for a base that is not -40 to 120 °F, and for whole degrees with
    /// any other rule than [`DayRule::MaxMin`].
    pub fn new(base_f: f64, rule: DayRule, whole_degrees: bool) -> Result<Self, ClimateError> {
        let base_f = within("base_f", base_f, BASES_F.0, BASES_F.1, "°F")?;
        if whole_degrees && rule != DayRule::MaxMin {
            return Err(ClimateError::refused(
                "whole degrees are a practice of the rule max_min, and of no other",
            ));
        }
        Ok(Self { base_f, rule, whole_degrees })
    }

    /// At the base of 65 °F.
    pub const fn usual(rule: DayRule) -> Self {
        Self { base_f: USUAL_BASE_F, rule, whole_degrees: false }
    }

    /// The same at another base.
    ///
    /// # Errors
    /// As for [`Self::new`].
    pub fn at(self, base_f: f64) -> Result<Self, ClimateError> {
        Self::new(base_f, self.rule, self.whole_degrees)
    }

    /// The base, °F.
    pub const fn base_f(self) -> f64 {
        self.base_f
    }

    /// The day rule.
    pub const fn rule(self) -> DayRule {
        self.rule
    }

    /// Whether temperatures are rounded to whole °F.
    pub const fn whole_degrees(self) -> bool {
        self.whole_degrees
    }

    /// How it is counted, in words.
    pub fn words(self) -> String {
        let whole = if self.whole_degrees { ", in whole degrees" } else { "" };
        format!("base {} °F, {}{whole}", self.base_f, self.rule.words())
    }

    /// What a day counts, heating and cooling; `None` where the rule has no value for it.
    fn day(self, day: &Day, hours: &[f64]) -> Option<[f64; 2]> {
        let both = |value: f64| {
            value
                .is_finite()
                .then(|| [(self.base_f - value).max(0.0), (value - self.base_f).max(0.0)])
        };
        match self.rule {
            DayRule::MaxMin if self.whole_degrees => {
                let whole = |value: f64| libm::floor(value + 0.5);
                both(whole(f64::midpoint(whole(day.max_f), whole(day.min_f))))
            }
            DayRule::MaxMin => both(day.middle_f()),
            DayRule::Mean => both(day.mean_f),
            DayRule::Hours => {
                let mut sums = [0.0; 2];
                let mut count = 0.0;
                for [heating, cooling] in hours.iter().filter_map(|hour| both(*hour)) {
                    sums[0] += heating;
                    sums[1] += cooling;
                    count += 1.0;
                }
                // Degree-hours of the hours that are there, over their number: a day of 23 hours
                // counts as a day.
                (count > 0.0).then(|| sums.map(|sum| sum / count))
            }
        }
    }
}

/// Degree-days of a span of time, °F·day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sum {
    /// The year; nominal in a typical year.
    pub year: i32,
    /// 1 to 12; `None` for a whole year or the whole series.
    pub month: Option<u32>,
    /// Heating.
    pub heating: f64,
    /// Cooling.
    pub cooling: f64,
    /// Days that were counted.
    pub days: usize,
    /// Days of the month or year that have no value, and were not filled.
    pub missing: usize,
}

/// Degree-days of a series by month, by year and in all.
#[derive(Clone, Debug, PartialEq)]
pub struct DegreeDaySums {
    /// How they were counted.
    pub count: Count,
    /// Every month that the series touches.
    pub months: Vec<Sum>,
    /// Every calendar year that it touches.
    pub years: Vec<Sum>,
    /// From the first to the last day of the series.
    pub total: Sum,
}

/// Which days stand for a usual year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum YearBasis {
    /// The one year of a typical year.
    Typical,
    /// The mean of so many calendar years.
    CalendarYears(usize),
    /// A year of days that begins and ends inside the series.
    Days365(NaiveDate, NaiveDate),
}

/// Degree-days of a usual year: what a house is assessed with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualYear {
    /// How they were counted.
    pub count: Count,
    /// Heating, °F·day a year.
    pub heating: f64,
    /// Cooling, °F·day a year.
    pub cooling: f64,
    /// Which days it is made of.
    pub basis: YearBasis,
    /// Days of those years that have no value, and were not filled.
    pub missing: usize,
    /// The most that the missing days of a year could add to heating: as many of its worst days.
    pub missing_at_most: f64,
}

impl UsualYear {
    /// The days it is made of, in words.
    pub fn basis_words(&self) -> String {
        let lack = match self.missing {
            0 => String::new(),
            1 => "; 1 day has no value and is not filled".to_owned(),
            days => format!("; {days} days have no value and are not filled"),
        };
        let basis = match self.basis {
            YearBasis::Typical => "the typical year of the file".to_owned(),
            YearBasis::CalendarYears(1) => "the one calendar year of the file".to_owned(),
            YearBasis::CalendarYears(years) => format!("the mean of {years} calendar years"),
            YearBasis::Days365(first, last) => {
                format!("a year of days, {}", stretch(first, last, false))
            }
        };
        format!("{basis}{lack}")
    }
}

impl Weather {
    /// The rule that fits the file: (max + min) / 2 where there are both, else the mean.
    pub fn usual_rule(&self) -> DayRule {
        if self.has_extremes() { DayRule::MaxMin } else { DayRule::Mean }
    }

    /// What each day counts; `None` where it has no value.
    fn counted(&self, count: Count) -> Result<Vec<Option<[f64; 2]>>, ClimateError> {
        let there = match count.rule {
            DayRule::MaxMin => self.has_extremes(),
            DayRule::Mean => self.has_means(),
            DayRule::Hours => self.is_hourly(),
        };
        if !there {
            let has = match (self.is_hourly(), self.has_extremes(), self.has_means()) {
                (true, ..) => "hours",
                (_, true, true) => "daily maxima, minima and means",
                (_, true, false) => "daily maxima and minima",
                (..) => "daily means",
            };
            return Err(ClimateError::refused(format!(
                "the rule {} needs {}; this file has {has}",
                count.rule.as_str(),
                match count.rule {
                    DayRule::MaxMin => "maxima and minima",
                    DayRule::Mean => "means of days",
                    DayRule::Hours => "hours",
                }
            )));
        }
        let day = |(place, day): (usize, &Day)| count.day(day, self.hours_of(place));
        Ok(self.days.iter().enumerate().map(day).collect())
    }

    /// Degree-days of the series by month, by year and in all. Days without a value count
    /// nothing, and how many they are stands beside each sum.
    ///
    /// # Errors
    /// [`ClimateError::Refused`] where the file has not what the rule needs.
    ///
    /// # Source
    /// NOAA, definition of heating and cooling degree-days: `noaa_degree_days`.
    pub fn degree_days(&self, count: Count) -> Result<DegreeDaySums, ClimateError> {
        let counted = self.counted(count)?;
        let mut months: Vec<Sum> = Vec::new();
        let mut years: Vec<Sum> = Vec::new();
        let blank =
            |year, month| Sum { year, month, heating: 0.0, cooling: 0.0, days: 0, missing: 0 };
        let mut total = blank(self.first().year(), None);
        for (day, counted) in self.days.iter().zip(&counted) {
            let (year, month) = (day.date.year(), day.date.month());
            if months.last().is_none_or(|sum| (sum.year, sum.month) != (year, Some(month))) {
                months.push(blank(year, Some(month)));
            }
            if years.last().is_none_or(|sum| sum.year != year) {
                years.push(blank(year, None));
            }
            for sum in months.last_mut().into_iter().chain(years.last_mut()).chain([&mut total]) {
                if let Some([heating, cooling]) = counted {
                    sum.heating += heating;
                    sum.cooling += cooling;
                    sum.days += 1;
                } else {
                    sum.missing += 1;
                }
            }
        }
        // Days of a month or year before the first and after the last day of the series.
        for sum in months.iter_mut().chain(&mut years) {
            sum.missing = span(sum.year, sum.month).saturating_sub(sum.days);
        }
        Ok(DegreeDaySums { count, months, years, total })
    }

    /// Degree-days of a usual year.
    ///
    /// Of a typical year, that year. Else the mean of the calendar years that lack at most three
    /// days; else the last 365 days on end that lack at most three. Missing days are not filled.
    ///
    /// # Errors
    /// [`ClimateError::Refused`] where the series has no such year, where a grave remark stands
    /// against it, or where the file has not what the rule needs.
    pub fn usual_year(&self, count: Count) -> Result<UsualYear, ClimateError> {
        if let Some(grave) = self.grave().next() {
            return Err(ClimateError::refused(grave.text.clone()));
        }
        let counted = self.counted(count)?;
        let sums = self.degree_days(count)?;
        let whole: Vec<&Sum> = sums.years.iter().filter(|sum| sum.missing <= MAY_LACK).collect();
        let worst = |days: &[Option<[f64; 2]>]| {
            days.iter().flatten().map(|[heating, _]| *heating).fold(0.0, f64::max)
        };
        if !whole.is_empty() {
            let years = number(whole.len());
            let missing: usize = whole.iter().map(|sum| sum.missing).sum();
            return Ok(UsualYear {
                count,
                heating: whole.iter().map(|sum| sum.heating).sum::<f64>() / years,
                cooling: whole.iter().map(|sum| sum.cooling).sum::<f64>() / years,
                basis: if self.is_typical() {
                    YearBasis::Typical
                } else {
                    YearBasis::CalendarYears(whole.len())
                },
                missing,
                missing_at_most: worst(&counted) * number(missing) / years,
            });
        }
        let lack = |days: &[Option<[f64; 2]>]| days.iter().filter(|day| day.is_none()).count();
        // The last such year that begins and ends with a day that is there.
        let windows = counted.windows(365).enumerate().rev();
        let found = windows
            .into_iter()
            .find(|(_, days)| lack(days) <= MAY_LACK && days.first().is_some_and(Option::is_some));
        let Some((place, days)) = found else {
            return Err(ClimateError::refused(format!(
                "no year of the series is whole: {} days with a value from {}, and a year may \
                 lack {MAY_LACK} at most",
                self.days_with_value(),
                stretch(self.first(), self.last(), self.is_typical())
            )));
        };
        let sum = |which: usize| {
            days.iter().flatten().filter_map(|counted| counted.get(which)).sum::<f64>()
        };
        let at = |place: usize| self.days.get(place).map_or(self.first(), |day| day.date);
        Ok(UsualYear {
            count,
            heating: sum(0),
            cooling: sum(1),
            basis: YearBasis::Days365(at(place), at(place + 364)),
            missing: lack(days),
            missing_at_most: worst(days) * number(lack(days)),
        })
    }
}

/// Days of a calendar month or year.
fn span(year: i32, month: Option<u32>) -> usize {
    let (from, to) = match month {
        None => ((year, 1), (year + 1, 1)),
        Some(12) => ((year, 12), (year + 1, 1)),
        Some(month) => ((year, month), (year, month + 1)),
    };
    let date = |(year, month)| NaiveDate::from_ymd_opt(year, month, 1);
    match (date(from), date(to)) {
        (Some(from), Some(to)) => {
            usize::try_from(to.signed_duration_since(from).num_days()).unwrap_or(0)
        }
        _ => 0,
    }
}
