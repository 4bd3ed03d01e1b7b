//! Any table with named columns, daily or hourly.

use super::columns::{Columns, Role};
use super::error::ClimateError;
use super::options::ReadOptions;
use super::readings::{DayReading, Head, HourReading, Readings, date};
use super::remark::{Gravity, Remark, Tally};
use super::stamp::{self, Stamp, Written};
use super::tmy3::{line, rows, text};
use super::weather::{Format, Site, TemperatureUnit};
use csv::ByteRecord;

/// Words for a value that is not there.
const MISSING: [&str; 9] = ["", "na", "n/a", "nan", "null", "none", "-", "m", "missing"];

/// A row before the order of day and month is known.
struct Row {
    line: u64,
    stamp: Stamp,
    /// Mean, maximum, minimum.
    values: [Option<f64>; 3],
}

/// What the file holds.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<(Head, Readings), ClimateError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let delimiter = delimiter(bytes);
    let mut reader = rows(bytes, delimiter);
    let mut records = reader.byte_records();
    let mut next = || {
        records
            .next()
            .transpose()
            .map_err(|error| ClimateError::unreadable(format!("not a table: {error}")))
    };
    let comment = |record: &ByteRecord| text(record, 0).starts_with('#');
    let header = loop {
        let record =
            next()?.ok_or_else(|| ClimateError::unreadable("the table has no header line"))?;
        if !comment(&record) {
            break record;
        }
    };
    let header: Vec<String> = (0..header.len()).map(|place| text(&header, place)).collect();
    let columns = Columns::find(&header, &options.columns)?;
    let only = match &options.only {
        None => None,
        Some((column, value)) => {
            let place = header.iter().position(|name| name == column).ok_or_else(|| {
                ClimateError::unreadable(format!("the table has no column {column} to pick by"))
            })?;
            Some((place, value.trim()))
        }
    };
    let mut unreadable = Tally::default();
    let mut table = Vec::new();
    let mut picked_out = 0_usize;
    while let Some(record) = next()? {
        if comment(&record) {
            continue;
        }
        if only.is_some_and(|(place, value)| text(&record, place) != value) {
            picked_out += 1;
            continue;
        }
        match row(&record, &columns, delimiter) {
            Ok(row) => table.push(row),
            Err(reason) => unreadable.note(|| format!("line {} ({reason})", line(&record))),
        }
    }
    if let (true, Some((column, value))) = (table.is_empty(), &options.only) {
        return Err(ClimateError::unreadable(format!(
            "no row has {value} in its column {column} ({picked_out} rows have something else)"
        )));
    }
    let mut remarks = vec![used(&columns, options)];
    let day_first = day_first(&table, &mut remarks)?;
    let unit = unit(&columns, options, &table, &mut remarks)?;
    if table.iter().any(|row| row.stamp.offset) {
        remarks.push(Remark::new(
            "clock",
            Gravity::Note,
            1,
            "the times say how far they are from universal time; days are cut at midnight of the \
             clock that is written",
        ));
    }
    let timed = table.iter().any(|row| row.stamp.minute.is_some());
    if timed && columns.place(Role::Mean).is_none() {
        return Err(ClimateError::unreadable(
            "the rows have a time of day, so that they are hours; they need one temperature, and \
             there are maxima and minima. Say which column it is (as mean)",
        ));
    }
    let readings = sorted_out(table, timed, day_first, &mut unreadable);
    let site = Site { name: options.name.clone(), ..Site::default() };
    let head =
        Head { site, format: Format::Table, unit, may_be_typical: false, unreadable, remarks };
    Ok((head, readings))
}

/// Rows as hours where they have a time of day, else as days.
fn sorted_out(table: Vec<Row>, timed: bool, day_first: bool, unreadable: &mut Tally) -> Readings {
    let mut hours = Vec::new();
    let mut days = Vec::new();
    for row in table {
        let line = row.line;
        let [mean, max, min] = row.values;
        match (row.stamp.date.resolve(day_first), row.stamp.minute) {
            (Some(date), Some(minute)) => {
                hours.push(HourReading { line, date, minute, value: mean });
            }
            (Some(date), None) if !timed => days.push(DayReading { line, date, max, min, mean }),
            (Some(_), None) => unreadable.note(|| format!("line {line} (its time)")),
            (None, _) => unreadable.note(|| format!("line {line} (its date)")),
        }
    }
    // A date with a time that is midnight throughout is a day.
    if timed && hours.iter().all(|hour| hour.minute == 0) && distinct(&hours) {
        let day = |hour: HourReading| DayReading {
            line: hour.line,
            date: hour.date,
            max: None,
            min: None,
            mean: hour.value,
        };
        return Readings::Days(hours.into_iter().map(day).collect());
    }
    if timed { Readings::Hours(hours) } else { Readings::Days(days) }
}

/// Whether the readings are of differing days.
fn distinct(hours: &[HourReading]) -> bool {
    let mut dates: Vec<_> = hours.iter().map(|hour| hour.date).collect();
    dates.sort_unstable();
    dates.windows(2).all(|pair| pair.first() != pair.last())
}

/// The sign between cells: whichever of them the first line has most of.
fn delimiter(bytes: &[u8]) -> u8 {
    let first = bytes.split(|byte| *byte == b'\n').next().unwrap_or(b"");
    let count = |sign: u8| first.split(|byte| *byte == sign).count();
    [b';', b'\t', b'|']
        .into_iter()
        .filter(|sign| count(*sign) > count(b','))
        .max_by_key(|sign| count(*sign))
        .unwrap_or(b',')
}

fn row(record: &ByteRecord, columns: &Columns, delimiter: u8) -> Result<Row, &'static str> {
    let cell = |role| columns.place(role).map(|place| text(record, place));
    let whole = |role| cell(role).and_then(|text| text.parse::<f64>().ok());
    let mut stamp = match cell(Role::Date) {
        Some(text) => stamp::read(&text).ok_or("its date")?,
        None => {
            let [year, month, day] = [Role::Year, Role::Month, Role::Day].map(whole);
            let day = part(year)
                .zip(part(month))
                .zip(part(day))
                .and_then(|((y, m), d)| date(i32::try_from(y).ok()?, m, d));
            Stamp { date: Written::Date(day.ok_or("its date")?), minute: None, offset: false }
        }
    };
    if columns.place(Role::Hour).is_some() {
        let hour = cell(Role::Hour).unwrap_or_default();
        stamp.minute = Some(hour_of(&hour).ok_or("its hour")?);
    }
    let value = |role| -> Result<Option<f64>, &'static str> {
        let Some(text) = cell(role) else { return Ok(None) };
        if MISSING.contains(&text.to_ascii_lowercase().as_str()) {
            return Ok(None);
        }
        // Where cells are set apart by something else, a comma may be the decimal point.
        let text = if delimiter == b',' { text } else { text.replace(',', ".") };
        let number = text.parse::<f64>().ok().filter(|value| value.is_finite());
        number.map(Some).ok_or("its temperature")
    };
    let values = [value(Role::Mean)?, value(Role::Max)?, value(Role::Min)?];
    Ok(Row { line: line(record), stamp, values })
}

/// A whole number that may be written as 2013.0.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::float_cmp,
    reason = "whole and small, as is checked"
)]
fn part(value: Option<f64>) -> Option<u32> {
    value
        .filter(|value| (0.0..=9999.0).contains(value) && libm::trunc(*value) == *value)
        .map(|v| v as u32)
}

/// Minutes of an hour written as 7, 7.0 or 07:00.
fn hour_of(text: &str) -> Option<u16> {
    if text.contains(':') {
        return stamp::read(&format!("2000-01-01 {text}"))?.minute;
    }
    let hour = part(text.parse().ok())?;
    u16::try_from(hour).ok().filter(|hour| *hour <= 24).map(|hour| hour * 60)
}

/// Whether dates like 03/04/2013 have the day first: the one order that all of them allow.
fn day_first(table: &[Row], remarks: &mut Vec<Remark>) -> Result<bool, ClimateError> {
    let mut either = 0_usize;
    let (mut day_first, mut month_first) = (None, None);
    for row in table {
        if let Written::Either(one, two, _) = row.stamp.date {
            either += 1;
            if one > 12 {
                day_first.get_or_insert(row.line);
            }
            if two > 12 {
                month_first.get_or_insert(row.line);
            }
        }
    }
    match (day_first, month_first) {
        (Some(day), Some(month)) => Err(ClimateError::unreadable(format!(
            "the dates are not all of one form: line {day} has the day first, line {month} the month"
        ))),
        (Some(_), None) => Ok(true),
        (None, Some(_)) => Ok(false),
        (None, None) => {
            if either > 0 {
                let text = "no date shows whether the day or the month comes first; the month is \
                            taken, as in the United States";
                remarks.push(Remark::new("date_order", Gravity::Warning, either, text));
            }
            Ok(false)
        }
    }
}

/// The unit that is said, by the user or by the names of the columns; never a guess.
fn unit(
    columns: &Columns,
    options: &ReadOptions,
    table: &[Row],
    remarks: &mut Vec<Remark>,
) -> Result<TemperatureUnit, ClimateError> {
    match (options.unit, columns.unit) {
        (Some(given), Some(named)) if given != named => {
            let text = format!(
                "the columns are named as {}; they are read as {}, as was asked",
                named.words(),
                given.words()
            );
            remarks.push(Remark::new("unit_against_name", Gravity::Warning, 1, text));
            Ok(given)
        }
        (Some(unit), _) | (None, Some(unit)) => Ok(unit),
        (None, None) => {
            let values = table.iter().flat_map(|row| row.values.into_iter().flatten());
            let (low, high) = values
                .fold((f64::NAN, f64::NAN), |(low, high), value| (low.min(value), high.max(value)));
            let looks = if high > 50.0 {
                "; that looks like Fahrenheit"
            } else if low > 32.0 || !high.is_finite() {
                ""
            } else {
                "; that may be Celsius, or a winter in Fahrenheit"
            };
            Err(ClimateError::unreadable(format!(
                "nothing says whether the temperatures are in Fahrenheit or Celsius: give the \
                 unit, f or c. They run from {low} to {high}{looks}"
            )))
        }
    }
}

fn used(columns: &Columns, options: &ReadOptions) -> Remark {
    let mut words: Vec<String> =
        columns.used.iter().map(|(role, name)| format!("{role} from {name}")).collect();
    if let Some((column, value)) = &options.only {
        words.push(format!("only rows with {value} in {column}"));
    }
    Remark::new("columns", Gravity::Note, columns.used.len(), words.join(", "))
}
