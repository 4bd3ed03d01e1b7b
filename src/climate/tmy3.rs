//! Typical meteorological year 3: a line on the station, a line of names, then hours.

use super::error::ClimateError;
use super::readings::{Head, HourReading, Readings, date};
use super::remark::Tally;
use super::weather::{Format, Site, TemperatureUnit};
use csv::ByteRecord;

/// The names that the second line begins with.
pub(super) const DATE: &str = "Date (MM/DD/YYYY)";
const TIME: &str = "Time (HH:MM)";
const DRY_BULB: &str = "Dry-bulb (C)";
/// What stands where nothing was measured.
const MISSING: f64 = -9900.0;

/// The text of a cell.
pub(super) fn text(record: &ByteRecord, place: usize) -> String {
    String::from_utf8_lossy(record.get(place).unwrap_or(b"")).trim().to_owned()
}

/// A finite number in a cell.
pub(super) fn figure(record: &ByteRecord, place: usize) -> Option<f64> {
    text(record, place).parse().ok().filter(|value: &f64| value.is_finite())
}

/// The line a record stands on.
pub(super) fn line(record: &ByteRecord) -> u64 {
    record.position().map_or(0, csv::Position::line)
}

/// A reader that takes rows of any length, and never stops at a stray quote.
pub(super) fn rows(bytes: &[u8], delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(bytes)
}

/// What the file holds.
pub(super) fn read(bytes: &[u8]) -> Result<(Head, Readings), ClimateError> {
    let mut reader = rows(bytes, b',');
    let mut records = reader.byte_records();
    let failed = |error: &csv::Error| ClimateError::unreadable(format!("not a TMY3 file: {error}"));
    let mut next = || records.next().transpose().map_err(|error| failed(&error));
    let short = || ClimateError::unreadable("not a TMY3 file: it ends before its first hour");
    let station = next()?.ok_or_else(short)?;
    let names = next()?.ok_or_else(short)?;
    let column = |name: &str| {
        (0..names.len()).find(|place| text(&names, *place) == name).ok_or_else(|| {
            ClimateError::unreadable(format!("not a TMY3 file: the second line has no {name}"))
        })
    };
    let (days, times, values) = (column(DATE)?, column(TIME)?, column(DRY_BULB)?);
    let mut unreadable = Tally::default();
    let mut readings = Vec::new();
    while let Some(record) = next()? {
        match reading(&record, [days, times, values]) {
            Some(reading) => readings.push(reading),
            None => unreadable.note(|| format!("line {}", line(&record))),
        }
    }
    let site = Site {
        name: [text(&station, 1), text(&station, 2)].join(", "),
        latitude: figure(&station, 4),
        longitude: figure(&station, 5),
        elevation_ft: figure(&station, 6).map(|metres| metres / crate::units::factor::M_PER_FT),
    };
    let head = Head {
        site,
        format: Format::Tmy3,
        unit: TemperatureUnit::Celsius,
        may_be_typical: true,
        unreadable,
        remarks: Vec::new(),
    };
    Ok((head, Readings::Hours(readings)))
}

fn reading(record: &ByteRecord, [day, time, value]: [usize; 3]) -> Option<HourReading> {
    let day = text(record, day);
    let mut parts = day.split('/');
    let month = parts.next()?.parse().ok()?;
    let dom = parts.next()?.parse().ok()?;
    let year = parts.next()?.parse().ok()?;
    let time = text(record, time);
    let (hour, minute) = time.split_once(':')?;
    let minute = hour.parse::<u16>().ok()?.checked_mul(60)?.checked_add(minute.parse().ok()?)?;
    if minute > 24 * 60 || parts.next().is_some() {
        return None;
    }
    let value = figure(record, value)?;
    let value = (value != MISSING).then_some(value);
    Some(HourReading { line: line(record), date: date(year, month, dom)?, minute, value })
}
