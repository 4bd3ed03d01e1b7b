//! Dates and times as people write them.

use super::readings::date;
use chrono::NaiveDate;

/// A date, and a time where there is one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stamp {
    pub(super) date: Written,
    /// Minutes after midnight, up to 1440.
    pub(super) minute: Option<u16>,
    /// Whether an offset from universal time stands behind it.
    pub(super) offset: bool,
}

/// A date whose month and day may be either way round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Written {
    Date(NaiveDate),
    /// Two numbers and the year, as in 03/04/2013.
    Either(u32, u32, i32),
}

impl Written {
    /// The date, with the day or the month first.
    pub(super) fn resolve(self, day_first: bool) -> Option<NaiveDate> {
        match self {
            Self::Date(date) => Some(date),
            Self::Either(day, month, year) if day_first => date(year, month, day),
            Self::Either(month, day, year) => date(year, month, day),
        }
    }
}

/// Reads `2013-01-31`, `2013/01/31`, `20130131`, `01/31/2013` and `31.01.2013`, with a time behind a blank or a T.
pub(super) fn read(text: &str) -> Option<Stamp> {
    let text = text.trim();
    let (day, time) = match text.split_once(['T', 't', ' ']) {
        Some((day, time)) => (day, time.trim()),
        None => (text, ""),
    };
    let date = day_of(day)?;
    if time.is_empty() {
        return Some(Stamp { date, minute: None, offset: false });
    }
    let (minute, offset) = time_of(time)?;
    Some(Stamp { date, minute: Some(minute), offset })
}

fn day_of(text: &str) -> Option<Written> {
    if text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit()) {
        let year = text.get(..4)?.parse().ok()?;
        let month = text.get(4..6)?.parse().ok()?;
        return date(year, month, text.get(6..)?.parse().ok()?).map(Written::Date);
    }
    let sign = text.chars().find(|letter| ['-', '/', '.'].contains(letter))?;
    let mut parts = text.split(sign);
    let (one, two, three) = (parts.next()?, parts.next()?, parts.next()?);
    if parts.next().is_some() {
        return None;
    }
    if one.len() == 4 {
        let day = date(one.parse().ok()?, two.parse().ok()?, three.parse().ok()?)?;
        return Some(Written::Date(day));
    }
    if three.len() != 4 {
        return None;
    }
    let (one, two, year) = (one.parse().ok()?, two.parse().ok()?, three.parse().ok()?);
    // With points between, the day stands first everywhere.
    if sign == '.' {
        return date(year, two, one).map(Written::Date);
    }
    Some(Written::Either(one, two, year))
}

/// `07:00`, `7:00:00.0`, `24:00`, `7:00 PM`, `07:00Z`, `07:00-05:00`.
fn time_of(text: &str) -> Option<(u16, bool)> {
    let upper = text.to_ascii_uppercase();
    let (clock, half) = match upper.strip_suffix("AM").or_else(|| upper.strip_suffix("PM")) {
        Some(clock) => (clock.trim(), Some(upper.ends_with("PM"))),
        None => (upper.as_str(), None),
    };
    let (clock, offset) = match clock.find(['Z', '+', '-']) {
        Some(place) => (clock.get(..place)?, true),
        None => (clock, false),
    };
    let mut parts = clock.trim().split(':');
    let mut hour: u16 = parts.next()?.trim().parse().ok()?;
    let minute: u16 = parts.next()?.trim().parse().ok()?;
    if let Some(seconds) = parts.next() {
        let seconds: f64 = seconds.parse().ok()?;
        if !(0.0..60.0).contains(&seconds) {
            return None;
        }
    }
    if let Some(afternoon) = half {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + if afternoon { 12 } else { 0 };
    }
    let minutes = hour.checked_mul(60)?.checked_add(minute)?;
    (minute < 60 && minutes <= 1440 && parts.next().is_none()).then_some((minutes, offset))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minute(text: &str) -> Option<u16> {
        read(text).and_then(|stamp| stamp.minute)
    }

    #[test]
    fn dates_as_people_write_them() {
        let day = Written::Date(date(2013, 1, 31).unwrap());
        for text in ["2013-01-31", "2013/1/31", "20130131", "31.01.2013", " 2013-01-31 "] {
            assert_eq!(read(text).map(|stamp| stamp.date), Some(day), "{text}");
        }
        let either = read("03/04/2013").unwrap().date;
        assert_eq!(either.resolve(false), date(2013, 3, 4));
        assert_eq!(either.resolve(true), date(2013, 4, 3));
        for text in ["", "2013", "2013-13-01", "2013-02-30", "1/2/13", "9999-01-01", "a-b-c"] {
            let date = read(text).and_then(|stamp| stamp.date.resolve(false));
            assert_eq!(date, None, "{text}");
        }
    }

    #[test]
    fn times_as_people_write_them() {
        assert_eq!(minute("2013-01-31T07:05"), Some(425));
        assert_eq!(minute("2013-01-31 24:00"), Some(1440));
        assert_eq!(minute("1/31/2013 12:00 AM"), Some(0));
        assert_eq!(minute("1/31/2013 1:30pm"), Some(810));
        assert_eq!(minute("2013-01-31T07:00:59.9-05:00"), Some(420));
        assert!(read("2013-01-31T07:00Z").unwrap().offset);
        for text in ["25:00", "24:01", "7", "07:60", "13:00 PM", "1:2:3:4", "07:00:61"] {
            assert_eq!(minute(&format!("2013-01-31 {text}")), None, "{text}");
        }
    }
}
