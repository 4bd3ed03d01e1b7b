//! A typical year: months taken from differing years, as one year of nominal dates.

use super::readings::date;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// The nominal year of a typical year, and that of one with a 29 February.
const NOMINAL: (i32, i32) = (2001, 2000);

/// Month and year of each month, where the months come from years that do not follow one
/// another; empty where the dates are those of the calendar.
pub(super) fn detect(dates: impl Iterator<Item = NaiveDate>) -> Vec<(u32, i32)> {
    let mut years: BTreeMap<u32, i32> = BTreeMap::new();
    for date in dates {
        if *years.entry(date.month()).or_insert(date.year()) != date.year() {
            // The same month in two years: a series of years.
            return Vec::new();
        }
    }
    let mut months: Vec<i32> = Vec::new();
    for (month, year) in &years {
        months.push(year * 12 + i32::try_from(*month).unwrap_or(0));
    }
    months.sort_unstable();
    let consecutive = match (months.first(), months.last()) {
        (Some(first), Some(last)) => usize::try_from(last - first).is_ok_and(|n| n < 12),
        _ => true,
    };
    if consecutive { Vec::new() } else { years.into_iter().collect() }
}

/// Moves the dates of a typical year into one nominal year.
pub(super) fn shift<'d>(typical: &[(u32, i32)], dates: impl Iterator<Item = &'d mut NaiveDate>) {
    if typical.is_empty() {
        return;
    }
    let dates: Vec<&mut NaiveDate> = dates.collect();
    let leap = dates.iter().any(|date| date.month() == 2 && date.day() == 29);
    let year = if leap { NOMINAL.1 } else { NOMINAL.0 };
    for day in dates {
        *day = date(year, day.month(), day.day()).unwrap_or(*day);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32) -> NaiveDate {
        date(year, month, 1).unwrap()
    }

    #[test]
    fn months_of_differing_years_are_a_typical_year() {
        let dates = [day(1988, 1), day(1996, 2), day(1990, 3)];
        assert_eq!(detect(dates.into_iter()), [(1, 1988), (2, 1996), (3, 1990)]);
    }

    #[test]
    fn a_winter_over_new_year_is_not() {
        let winter = [day(2012, 11), day(2012, 12), day(2013, 1), day(2013, 10)];
        assert!(detect(winter.into_iter()).is_empty());
        let two_years = [day(2012, 1), day(2013, 1)];
        assert!(detect(two_years.into_iter()).is_empty());
    }

    #[test]
    fn a_typical_29_february_keeps_its_day() {
        let typical = [(1, 1988), (2, 1996)];
        let mut dates = [day(1988, 1), date(1996, 2, 29).unwrap()];
        shift(&typical, dates.iter_mut());
        assert_eq!(dates, [day(2000, 1), date(2000, 2, 29).unwrap()]);
    }
}
