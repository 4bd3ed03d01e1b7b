//! Weather files with eight header lines, from LOCATION to DATA PERIODS, and hours 1 to 24.

use super::error::ClimateError;
use super::readings::{Head, HourReading, Readings, date};
use super::remark::Tally;
use super::tmy3::{figure, line, rows, text};
use super::weather::{Format, Site, TemperatureUnit};
use csv::ByteRecord;

/// How the first line begins.
pub(super) const LOCATION: &str = "LOCATION";
/// How the last header line begins.
const PERIODS: &str = "DATA PERIODS";
/// What stands where nothing was measured.
const MISSING: f64 = 99.9;
/// Columns: year, month, day, hour, minute, a field of flags, dry bulb.
const DRY_BULB: usize = 6;

/// What the file holds.
pub(super) fn read(bytes: &[u8]) -> Result<(Head, Readings), ClimateError> {
    let mut reader = rows(bytes, b',');
    let mut records = reader.byte_records();
    let mut next = || {
        records
            .next()
            .transpose()
            .map_err(|error| ClimateError::unreadable(format!("not an EPW file: {error}")))
    };
    let short =
        || ClimateError::unreadable("not an EPW file: it ends before its line of DATA PERIODS");
    let place = next()?.ok_or_else(short)?;
    let per_hour = loop {
        let record = next()?.ok_or_else(short)?;
        if text(&record, 0).eq_ignore_ascii_case(PERIODS) {
            break figure(&record, 2).unwrap_or(1.0);
        }
    };
    let mut unreadable = Tally::default();
    let mut readings = Vec::new();
    while let Some(record) = next()? {
        match reading(&record, per_hour) {
            Some(reading) => readings.push(reading),
            None => unreadable.note(|| format!("line {}", line(&record))),
        }
    }
    let site = Site {
        name: [text(&place, 1), text(&place, 2), text(&place, 3)]
            .into_iter()
            .filter(|part| !part.is_empty() && part != "-")
            .collect::<Vec<_>>()
            .join(", "),
        latitude: figure(&place, 6),
        longitude: figure(&place, 7),
        elevation_ft: figure(&place, 9).map(|metres| metres / crate::units::factor::M_PER_FT),
    };
    let head = Head {
        site,
        format: Format::Epw,
        unit: TemperatureUnit::Celsius,
        may_be_typical: true,
        unreadable,
        remarks: Vec::new(),
    };
    Ok((head, Readings::Hours(readings)))
}

fn reading(record: &ByteRecord, per_hour: f64) -> Option<HourReading> {
    let part = |place| text(record, place).parse::<u32>().ok();
    let year = text(record, 0).parse().ok()?;
    let hour = u16::try_from(part(3)?).ok().filter(|hour| (1..=24).contains(hour))?;
    // Hour 1 ends at 01:00. With one value an hour the minute is written as 0 or as 60.
    let within = u16::try_from(part(4)?).ok().filter(|minute| *minute <= 60)?;
    let minute = if per_hour > 1.0 && within > 0 { (hour - 1) * 60 + within } else { hour * 60 };
    let value = figure(record, DRY_BULB)?;
    let value = (value != MISSING).then_some(value);
    Some(HourReading { line: line(record), date: date(year, part(1)?, part(2)?)?, minute, value })
}
