//! From readings in any order to consecutive days, with everything that was odd about them.

use super::error::ClimateError;
use super::readings::{DayReading, Head, HourReading, Readings};
use super::remark::{Gravity, Remark, Tally};
use super::weather::{Day, TemperatureUnit, Weather, stretches};
use super::{plausible, typical};
use chrono::NaiveDate;

/// Hours with a value that a day needs: 18 of 24 (judgement of this project). The day of a
/// clock change and a few lost hours pass; half a day does not.
pub const LEAST_HOURS: u8 = 18;
/// Temperatures outside these were never measured in the open: the records are -128.6 and 134 °F
/// (from memory), and codes for a missing value such as -9999 or 999 lie beyond.
const POSSIBLE_F: (f64, f64) = (-130.0, 140.0);
/// Minutes of a day.
const DAY: u16 = 24 * 60;

/// What was odd, counted.
#[derive(Default)]
struct Oddities {
    missing: Tally,
    impossible: Tally,
    same: Tally,
    differing: Tally,
    crossed: Tally,
    unsorted: usize,
}

impl Oddities {
    /// The value in °F, when it is there and possible.
    fn value(&mut self, value: Option<f64>, unit: TemperatureUnit, line: u64) -> f64 {
        let Some(value) = value else {
            self.missing.note(|| format!("line {line}"));
            return f64::NAN;
        };
        let f = unit.to_f(value);
        if (POSSIBLE_F.0..=POSSIBLE_F.1).contains(&f) {
            return f;
        }
        self.impossible.note(|| format!("{value} on line {line}"));
        f64::NAN
    }
}

/// Puts the readings in order.
pub(super) fn assemble(mut head: Head, readings: Readings) -> Result<Weather, ClimateError> {
    let mut odd = Oddities::default();
    let read = match &readings {
        Readings::Hours(hours) => hours.len(),
        Readings::Days(days) => days.len(),
    };
    if head.unreadable.count > read {
        return Err(ClimateError::unreadable(format!(
            "{} rows cannot be understood and {read} can: {}",
            head.unreadable.count,
            head.unreadable.places()
        )));
    }
    let mut typical = Vec::new();
    let (days, hours) = match readings {
        Readings::Hours(mut readings) => {
            if head.may_be_typical {
                typical = typical::detect(readings.iter().map(|reading| reading.date));
                typical::shift(&typical, readings.iter_mut().map(|reading| &mut reading.date));
            }
            hourly(readings, head.unit, &mut odd)?
        }
        Readings::Days(mut readings) => {
            if head.may_be_typical {
                typical = typical::detect(readings.iter().map(|reading| reading.date));
                typical::shift(&typical, readings.iter_mut().map(|reading| &mut reading.date));
            }
            (daily(readings, head.unit, &mut odd)?, Vec::new())
        }
    };
    let mut remarks = std::mem::take(&mut head.remarks);
    if odd.differing.count * 20 > read {
        return Err(ClimateError::unreadable(format!(
            "{} of {read} readings stand beside another of the same time with another value ({}): \
             are several stations in one file? Pick one by a column and its value",
            odd.differing.count,
            odd.differing.places()
        )));
    }
    remarks.extend(said(&odd, &head.unreadable));
    let mut weather = Weather {
        site: head.site,
        format: head.format,
        unit: head.unit,
        days,
        hours,
        typical,
        readings: read,
        remarks,
    };
    if weather.days_with_value() == 0 {
        return Err(ClimateError::unreadable(format!(
            "none of {read} readings has a temperature that can be used"
        )));
    }
    let more = coverage(&weather).into_iter().chain(plausible::remarks(&weather));
    let more: Vec<Remark> = more.collect();
    weather.remarks.extend(more);
    weather.remarks.sort_by_key(|remark| std::cmp::Reverse(remark.gravity));
    Ok(weather)
}

/// Every date from the first to the last.
fn calendar(first: NaiveDate, last: NaiveDate) -> Vec<NaiveDate> {
    first.iter_days().take_while(|day| *day <= last).collect()
}

fn nothing() -> ClimateError {
    ClimateError::unreadable("there is no row with a date and a temperature")
}

fn hourly(
    mut readings: Vec<HourReading>,
    unit: TemperatureUnit,
    odd: &mut Oddities,
) -> Result<(Vec<Day>, Vec<f64>), ClimateError> {
    // Where 24:00 is written, a time is the end of its hour: 01:00 is the first hour of the day.
    let ends = readings.iter().any(|reading| reading.minute >= DAY);
    for reading in &mut readings {
        if ends && reading.minute == 0 {
            // Midnight at the end of the day before.
            reading.date = reading.date.pred_opt().unwrap_or(reading.date);
            reading.minute = DAY;
        }
    }
    let time = |reading: &HourReading| (reading.date, reading.minute);
    odd.unsorted = readings
        .windows(2)
        .filter(|pair| matches!(pair, [one, next] if time(next) < time(one)))
        .count();
    readings.sort_by_key(time);
    let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
        return Err(nothing());
    };
    let dates = calendar(first.date, last.date);
    let mut days: Vec<Day> = dates.iter().map(|date| Day::empty(*date)).collect();
    let mut hours = vec![f64::NAN; dates.len() * 24];
    let first_date = first.date;
    // Sum and count of the readings of an hour: there may be several at differing minutes.
    let mut sums = vec![(0.0, 0.0); dates.len() * 24];
    let mut before: Option<(NaiveDate, u16, f64)> = None;
    for reading in &readings {
        let value = odd.value(reading.value, unit, reading.line);
        if let Some((date, minute, kept)) = before
            && (date, minute) == time(reading)
        {
            let tally = if value.to_bits() == kept.to_bits() || value.is_nan() {
                &mut odd.same
            } else {
                &mut odd.differing
            };
            tally.note(|| format!("line {}", reading.line));
            // The first value of a time is kept; where it is missing, the next one serves.
            if !kept.is_nan() || value.is_nan() {
                continue;
            }
        }
        before = Some((reading.date, reading.minute, value));
        if value.is_nan() {
            continue;
        }
        let end = u16::from(ends);
        let hour = usize::from((reading.minute - end.min(reading.minute)) / 60).min(23);
        let place = reading.date.signed_duration_since(first_date).num_days();
        let Ok(place) = usize::try_from(place) else { continue };
        if let Some((sum, count)) = sums.get_mut(place * 24 + hour) {
            *sum += value;
            *count += 1.0;
        }
        if let Some(day) = days.get_mut(place) {
            day.max_f = day.max_f.max(value);
            day.min_f = day.min_f.min(value);
        }
    }
    for (hour, (sum, count)) in hours.iter_mut().zip(&sums) {
        if *count > 0.0 {
            *hour = sum / count;
        }
    }
    for (day, hours) in days.iter_mut().zip(hours.chunks_mut(24)) {
        close(day, hours);
    }
    Ok((days, hours))
}

/// The mean of a day from its hours; a day with too few of them has no value at all.
fn close(day: &mut Day, hours: &mut [f64]) {
    let mut sum = 0.0;
    let mut count = 0_u8;
    for hour in hours.iter().filter(|hour| hour.is_finite()) {
        sum += hour;
        count += 1;
    }
    let date = day.date;
    if count >= LEAST_HOURS {
        day.mean_f = sum / f64::from(count);
    } else {
        *day = Day::empty(date);
        hours.fill(f64::NAN);
    }
    day.hours = count;
}

fn daily(
    mut readings: Vec<DayReading>,
    unit: TemperatureUnit,
    odd: &mut Oddities,
) -> Result<Vec<Day>, ClimateError> {
    odd.unsorted = readings
        .windows(2)
        .filter(|pair| matches!(pair, [one, next] if next.date < one.date))
        .count();
    readings.sort_by_key(|reading| reading.date);
    let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
        return Err(nothing());
    };
    let first_date = first.date;
    let mut days: Vec<Day> = calendar(first_date, last.date).into_iter().map(Day::empty).collect();
    let columns = |of: fn(&DayReading) -> Option<f64>| readings.iter().any(|r| of(r).is_some());
    let (maxima, minima, means) = (columns(|r| r.max), columns(|r| r.min), columns(|r| r.mean));
    let mut seen = vec![false; days.len()];
    for reading in &readings {
        let line = reading.line;
        let mut value = |there: bool, value| {
            if there { odd.value(value, unit, line) } else { f64::NAN }
        };
        let mut new = Day {
            date: reading.date,
            max_f: value(maxima, reading.max),
            min_f: value(minima, reading.min),
            mean_f: value(means, reading.mean),
            hours: 0,
        };
        if new.max_f < new.min_f {
            odd.crossed.note(|| format!("line {line}"));
            new = Day::empty(reading.date);
        } else if new.mean_f < new.min_f || new.mean_f > new.max_f {
            odd.crossed.note(|| format!("line {line}"));
            new = Day::empty(reading.date);
        }
        let place = reading.date.signed_duration_since(first_date).num_days();
        let Ok(place) = usize::try_from(place) else { continue };
        let (Some(day), Some(seen)) = (days.get_mut(place), seen.get_mut(place)) else { continue };
        if std::mem::replace(seen, true) {
            let bits = |day: &Day| [day.max_f, day.min_f, day.mean_f].map(f64::to_bits);
            let tally = if bits(day) == bits(&new) || !new.has_value() {
                &mut odd.same
            } else {
                &mut odd.differing
            };
            tally.note(|| format!("line {line}"));
            if day.has_value() {
                continue;
            }
        }
        *day = new;
    }
    Ok(days)
}

/// What was odd about the readings, in words.
fn said(odd: &Oddities, unreadable: &Tally) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let mut say = |code, gravity, tally: &Tally, text: &str| {
        if tally.count > 0 {
            let text = format!("{text}: {} ({})", tally.count, tally.places());
            remarks.push(Remark::new(code, gravity, tally.count, text));
        }
    };
    let warning = Gravity::Warning;
    say("unreadable_rows", warning, unreadable, "rows that cannot be understood and are left out");
    say("missing_values", warning, &odd.missing, "values that are missing in the file");
    say(
        "impossible_values",
        warning,
        &odd.impossible,
        "values that were never an outdoor temperature, taken as missing",
    );
    say(
        "max_below_min",
        warning,
        &odd.crossed,
        "days with a maximum below the minimum, or a mean outside both, taken as missing",
    );
    say(
        "repeated_differing",
        warning,
        &odd.differing,
        "readings that repeat a time with another value, of which the first is kept (an hour \
         repeats when clocks go back)",
    );
    say(
        "repeated_same",
        Gravity::Note,
        &odd.same,
        "readings that repeat a time and add nothing, left out",
    );
    if odd.unsorted > 0 {
        let text = format!("rows that step back in time, put in order: {}", odd.unsorted);
        remarks.push(Remark::new("unsorted", Gravity::Note, odd.unsorted, text));
    }
    remarks
}

/// What is there and what is not.
fn coverage(weather: &Weather) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let nominal = weather.is_typical();
    if nominal {
        let from: Vec<String> =
            weather.typical.iter().map(|(month, year)| format!("{month}/{year}")).collect();
        let text = format!(
            "a typical year, put together from months of differing years ({}); its dates are \
             nominal and must not be matched with bills",
            from.join(", ")
        );
        remarks.push(Remark::new("typical_year", Gravity::Note, weather.typical.len(), text));
    }
    let few: Vec<&Day> =
        weather.days.iter().filter(|day| weather.is_hourly() && day.hours < 24).collect();
    let short = few.iter().filter(|day| (1..LEAST_HOURS).contains(&day.hours)).count();
    let kept: Vec<NaiveDate> =
        few.iter().filter(|day| day.hours >= LEAST_HOURS).map(|day| day.date).collect();
    if !kept.is_empty() {
        let text = format!(
            "days that lack some of their hours and are taken by those that are there: {} ({})",
            kept.len(),
            stretches(&kept, nominal)
        );
        remarks.push(Remark::new("hours_missing", Gravity::Warning, kept.len(), text));
    }
    if short > 0 {
        let text = format!("days with fewer than {LEAST_HOURS} hours, taken as missing: {short}");
        remarks.push(Remark::new("days_too_short", Gravity::Warning, short, text));
    }
    let gaps = weather.gaps();
    if !gaps.is_empty() {
        let dates: Vec<NaiveDate> =
            weather.days.iter().filter(|day| !day.has_value()).map(|day| day.date).collect();
        let text = format!(
            "days between the first and the last that have no value and are not filled: {} ({})",
            dates.len(),
            stretches(&dates, nominal)
        );
        remarks.push(Remark::new("gap", Gravity::Warning, dates.len(), text));
    }
    for year in weather.years() {
        let there = year.days - year.absent.len();
        // A year that is nearly whole is easily taken for a whole one.
        if year.absent.is_empty() || there < 300 {
            continue;
        }
        let name = if nominal { "the year".to_owned() } else { year.year.to_string() };
        let text = format!(
            "{name} has {there} of its {} days; absent: {}",
            year.days,
            stretches(&year.absent, nominal)
        );
        remarks.push(Remark::new("year_not_whole", Gravity::Warning, year.absent.len(), text));
    }
    remarks
}
