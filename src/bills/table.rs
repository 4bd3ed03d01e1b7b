//! Bills and weather as tables of record batches: a CSV file read as text, a Parquet file, a data
//! frame.

use super::many::{MeterResult, MeterRows};
use super::reading::Reading;
use super::sample::Sample;
pub use super::table_many::{HOUSE_COLUMNS, notes, proofs_table};
use super::{Finding, Fit};
use crate::batch::SchemaError;
use crate::batch::table::readable;
use crate::climate::DailyMeans;
use crate::error::{InputError, Issue, IssueCode, nearest};
use crate::house::{Choices, Fuel};
use arrow_array::cast::AsArray;
use arrow_array::types::{Date32Type, Float64Type};
use arrow_array::{
    Array, ArrayRef, Date32Array, Float64Array, Int64Array, RecordBatch, StringArray,
};
use arrow_cast::cast;
use arrow_schema::{ArrowError, DataType, Field, Schema};
use chrono::NaiveDate;
use std::collections::HashMap;
use std::sync::Arc;

/// The columns of bills.
pub const BILL_COLUMNS: [&str; 7] =
    ["house_id", "fuel", "start", "end", "use", "unit", "estimated"];
/// The columns of daily temperatures; one of the two means.
pub const WEATHER_COLUMNS: [&str; 3] = ["date", "mean_f", "mean_c"];
/// The columns of uses beside mean temperatures.
pub const MEAN_COLUMNS: [&str; 4] = ["mean_f", "mean_c", "use", "days"];

/// Faults that are told of one table.
pub(super) const MOST_FAULTS: usize = 100;
/// Days from the first of a weather table to its last.
const MOST_WEATHER_DAYS: i64 = 100_000;
/// A whole year whose warmest day is below this was hardly meant in °F.
const WARMEST_F: f64 = 50.0;

/// What went wrong with a table.
#[derive(Debug)]
pub enum TableError {
    /// Its columns.
    Schema(SchemaError),
    /// Its rows.
    Input(InputError),
    /// Reading it.
    Arrow(ArrowError),
}

impl From<ArrowError> for TableError {
    fn from(error: ArrowError) -> Self {
        Self::Arrow(error)
    }
}

impl From<InputError> for TableError {
    fn from(error: InputError) -> Self {
        Self::Input(error)
    }
}

impl From<Issue> for TableError {
    fn from(issue: Issue) -> Self {
        Self::Input(issue.into())
    }
}

/// A batch whose columns are found by name.
pub(super) struct Columns<'b> {
    pub(super) batch: &'b RecordBatch,
}

impl Columns<'_> {
    pub(super) fn find(&self, name: &str) -> Option<&ArrayRef> {
        let schema = self.batch.schema_ref();
        let place = schema.fields().iter().position(|field| field.name().trim() == name)?;
        Some(self.batch.column(place))
    }

    pub(super) fn text(&self, name: &str) -> Result<Option<Text>, ArrowError> {
        self.find(name).map(Text::new).transpose()
    }
}

/// A column as text; blanks are null.
pub(super) struct Text(StringArray);

impl Text {
    fn new(column: &ArrayRef) -> Result<Self, ArrowError> {
        Ok(Self(cast(column, &DataType::Utf8)?.as_string::<i32>().clone()))
    }

    pub(super) fn get(&self, row: usize) -> Option<&str> {
        let text = (row < self.0.len() && self.0.is_valid(row)).then(|| self.0.value(row))?.trim();
        (!text.is_empty()).then_some(text)
    }
}

/// A column of dates: days, points in time, or text as in 2024-01-31.
struct Dates {
    days: Date32Array,
    text: Option<Text>,
}

impl Dates {
    fn new(name: &str, column: &ArrayRef) -> Result<Self, TableError> {
        let is_text = matches!(
            column.data_type(),
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View | DataType::Dictionary(..)
        );
        if is_text {
            return Ok(Self { days: Date32Array::new_null(0), text: Some(Text::new(column)?) });
        }
        if !matches!(
            column.data_type(),
            DataType::Date32 | DataType::Date64 | DataType::Timestamp(..) | DataType::Null
        ) {
            let fault = format!(
                "column {name}: must hold dates or text as in 2024-01-31, not {}",
                column.data_type()
            );
            return Err(TableError::Schema(fault.into()));
        }
        let days = cast(column, &DataType::Date32)?.as_primitive::<Date32Type>().clone();
        Ok(Self { days, text: None })
    }

    fn get(&self, row: usize, field: &str) -> Result<NaiveDate, Issue> {
        let missing = || Issue::new(IssueCode::Missing, field, "", "must be given");
        if let Some(text) = &self.text {
            let text = text.get(row).ok_or_else(missing)?;
            return date(text).ok_or_else(|| {
                let reason = "is not a date; write it as 2024-01-31";
                Issue::new(IssueCode::WrongType, field, text, reason)
            });
        }
        let day = (row < self.days.len() && self.days.is_valid(row))
            .then(|| self.days.value_as_date(row))
            .flatten();
        day.filter(in_range).ok_or_else(missing)
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as a filter asks")]
fn in_range(day: &NaiveDate) -> bool {
    use chrono::Datelike;
    (1800..=2300).contains(&day.year())
}

/// A date as ISO 8601 writes it, with a time of day after it or not.
pub fn date(text: &str) -> Option<NaiveDate> {
    let text = text.trim();
    let (day, rest) = text.split_at_checked(10)?;
    let time = rest.is_empty() || rest.starts_with(['T', ' ']);
    let day = NaiveDate::parse_from_str(day, "%Y-%m-%d").ok().filter(in_range)?;
    time.then_some(day)
}

/// A column of numbers, or of text that is numbers.
pub(super) struct Numbers {
    values: Float64Array,
    text: Option<Text>,
}

impl Numbers {
    pub(super) fn new(name: &str, column: &ArrayRef) -> Result<Self, TableError> {
        let kind = column.data_type();
        let is_text = matches!(
            kind,
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View | DataType::Dictionary(..)
        );
        if is_text {
            return Ok(Self { values: Float64Array::new_null(0), text: Some(Text::new(column)?) });
        }
        let is_decimal = matches!(
            kind,
            DataType::Decimal32(..)
                | DataType::Decimal64(..)
                | DataType::Decimal128(..)
                | DataType::Decimal256(..)
        );
        if !(kind.is_numeric() || is_decimal || *kind == DataType::Null) {
            let fault = format!("column {name}: must hold numbers, not {kind}");
            return Err(TableError::Schema(fault.into()));
        }
        let values = cast(column, &DataType::Float64)?.as_primitive::<Float64Type>().clone();
        Ok(Self { values, text: None })
    }

    /// `None` for null.
    pub(super) fn get(&self, row: usize, field: &str) -> Result<Option<f64>, Issue> {
        let value = match &self.text {
            Some(text) => match text.get(row) {
                None => return Ok(None),
                Some(text) => {
                    text.parse::<f64>().ok().filter(|value| value.is_finite()).ok_or(text)
                }
            },
            None if row < self.values.len() && self.values.is_valid(row) => {
                Ok(self.values.value(row))
                    .and_then(|value| if value.is_finite() { Ok(value) } else { Err("NaN") })
            }
            None => return Ok(None),
        };
        value
            .map(Some)
            .map_err(|text| Issue::new(IssueCode::NotANumber, field, text, "is not a number"))
    }
}

pub(super) fn truth(text: &str) -> Option<bool> {
    const YES: [&str; 6] = ["yes", "true", "1", "y", "estimated", "e"];
    const NO: [&str; 6] = ["no", "false", "0", "n", "actual", "a"];
    let is = |words: &[&str]| words.iter().any(|word| word.eq_ignore_ascii_case(text));
    if is(&YES) {
        Some(true)
    } else if is(&NO) {
        Some(false)
    } else {
        None
    }
}

/// Every fault of the columns' names.
pub(super) fn check_columns(
    schema: &Schema,
    required: &[&str],
    known: &[&str],
) -> Result<(), SchemaError> {
    let names: Vec<&str> = schema.fields().iter().map(|field| field.name().trim()).collect();
    let mut faults = Vec::new();
    for name in known {
        if names.iter().filter(|found| *found == name).count() > 1 {
            faults.push(format!("column {name} stands twice"));
        }
    }
    for name in required {
        if !names.contains(name) {
            let others = names.iter().copied().filter(|other| !known.contains(other));
            let near = nearest(name, others);
            let hint = near.map_or_else(String::new, |near| format!("; is {near} meant?"));
            faults.push(format!("column {name} is missing{hint}"));
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(SchemaError { faults }) }
}

/// Bills of a long table, one meter after the other as they first appear.
///
/// Columns: `start`, `end` and `use`; `house_id`, `fuel`, `unit` and `estimated` where they are
/// there. `fuel` stands for a column that is missing or empty, and where it is `None` the column
/// must be there. A fault of a row is a fault of its meter.
///
/// # Errors
/// [`TableError`] for the columns, for batches that cannot be read, and for a fuel that is unknown
/// or not given.
pub fn meters(
    schema: &Schema,
    batches: impl Iterator<Item = Result<RecordBatch, ArrowError>>,
    fuel: Option<Fuel>,
) -> Result<Vec<MeterRows>, TableError> {
    check_columns(schema, &["start", "end", "use"], &BILL_COLUMNS).map_err(TableError::Schema)?;
    let mut meters: Vec<MeterRows> = Vec::new();
    let mut places: HashMap<(String, &'static str), usize> = HashMap::new();
    let mut faults: Vec<Issue> = Vec::new();
    let mut first = 0_usize;
    for batch in batches {
        let batch = readable(batch?)?;
        let columns = Columns { batch: &batch };
        let (Some(start), Some(end), Some(amount)) =
            (columns.find("start"), columns.find("end"), columns.find("use"))
        else {
            let fault = "a batch lacks a column of the table".to_owned();
            return Err(TableError::Schema(fault.into()));
        };
        let (start, end) = (Dates::new("start", start)?, Dates::new("end", end)?);
        let amount = Numbers::new("use", amount)?;
        let [house, fuels, units, estimated] =
            ["house_id", "fuel", "unit", "estimated"].map(|name| columns.text(name));
        let (house, fuels, units, estimated) = (house?, fuels?, units?, estimated?);
        for row in 0..batch.num_rows() {
            let word = |column: &Option<Text>| {
                column.as_ref().and_then(|column| column.get(row)).map(str::to_owned)
            };
            let house_id = word(&house).unwrap_or_default();
            let at = |name: &str| format!("row {}.{name}", first + row + 1);
            if house.is_some() && house_id.is_empty() && faults.len() < MOST_FAULTS {
                faults.push(Issue::new(IssueCode::Missing, at("house_id"), "", "must be given"));
            }
            let row_fuel = match word(&fuels) {
                None => fuel.ok_or_else(String::new),
                Some(word) => Fuel::from_key(&word.to_ascii_lowercase()).ok_or(word),
            };
            let row_fuel = match row_fuel {
                Ok(fuel) => fuel,
                Err(word) => {
                    let reason = format!("must be {}", Choices::Fuel.listed());
                    let code =
                        if word.is_empty() { IssueCode::Missing } else { IssueCode::NotAChoice };
                    if faults.len() < MOST_FAULTS {
                        faults.push(Issue::new(code, at("fuel"), word, reason));
                    }
                    continue;
                }
            };
            let key = (house_id, row_fuel.row().key);
            let place = match places.get(&key) {
                Some(place) => *place,
                None => {
                    let place = meters.len();
                    meters.push(MeterRows {
                        house_id: key.0.clone(),
                        fuel: row_fuel,
                        readings: Vec::new(),
                        issues: Vec::new(),
                        rows: Vec::new(),
                    });
                    places.insert(key, place);
                    place
                }
            };
            let Some(meter) = meters.get_mut(place) else { continue };
            let number = meter.rows.len();
            meter.rows.push(first + row + 1);
            let inner = |name: &str| format!("readings[{number}].{name}");
            let mut issues = Vec::new();
            let mut keep = |issue: Issue| issues.push(issue);
            let start = start.get(row, &inner("start")).map_err(&mut keep).ok();
            let end = end.get(row, &inner("end")).map_err(&mut keep).ok();
            let used = match amount.get(row, &inner("use")) {
                Ok(Some(value)) => Some(value),
                Ok(None) => {
                    keep(Issue::new(IssueCode::Missing, inner("use"), "", "must be given"));
                    None
                }
                Err(issue) => {
                    keep(issue);
                    None
                }
            };
            let guessed = match word(&estimated) {
                None => false,
                Some(word) => truth(&word).unwrap_or_else(|| {
                    let reason = "must be yes or no";
                    keep(Issue::new(IssueCode::NotAChoice, inner("estimated"), word, reason));
                    false
                }),
            };
            match (start, end, used) {
                (Some(start), Some(end), Some(amount)) if issues.is_empty() => {
                    let unit = word(&units);
                    meter.readings.push(Reading { start, end, amount, unit, estimated: guessed });
                }
                _ if meter.issues.len() < MOST_FAULTS => meter.issues.extend(issues),
                _ => {}
            }
        }
        first += batch.num_rows();
    }
    if faults.is_empty() { Ok(meters) } else { Err(InputError { issues: faults }.into()) }
}

/// Daily temperatures of a table: `date`, and `mean_f` or `mean_c`. Days may come in any order; a
/// day that is missing, or has no value, stays missing.
///
/// # Errors
/// [`TableError`] for the columns, for a date or number that is none, for a day that stands twice,
/// and for values that no weather has.
pub fn weather(
    schema: &Schema,
    batches: impl Iterator<Item = Result<RecordBatch, ArrowError>>,
    findings: &mut Vec<Finding>,
) -> Result<DailyMeans, TableError> {
    check_columns(schema, &["date"], &WEATHER_COLUMNS).map_err(TableError::Schema)?;
    let celsius = mean_column(schema).map_err(TableError::Schema)?;
    let mean_name = if celsius { "mean_c" } else { "mean_f" };
    let (mut days, mut faults, mut first) = (Vec::new(), Vec::new(), 0_usize);
    for batch in batches {
        let batch = readable(batch?)?;
        let columns = Columns { batch: &batch };
        let (Some(date), Some(mean)) = (columns.find("date"), columns.find(mean_name)) else {
            let fault = "a batch lacks a column of the table".to_owned();
            return Err(TableError::Schema(fault.into()));
        };
        let (dates, means) = (Dates::new("date", date)?, Numbers::new(mean_name, mean)?);
        for row in 0..batch.num_rows() {
            let at = |name: &str| format!("row {}.{name}", first + row + 1);
            let day = dates.get(row, &at("date"));
            let mean = means
                .get(row, &at(mean_name))
                .and_then(|mean| in_air(mean, celsius, &at(mean_name)));
            match (day, mean) {
                (Ok(day), Ok(mean)) => days.push((day, mean)),
                (day, mean) if faults.len() < MOST_FAULTS => {
                    faults.extend(day.err());
                    faults.extend(mean.err());
                }
                _ => {}
            }
        }
        first += batch.num_rows();
    }
    days.sort_by_key(|(day, _)| *day);
    for pair in days.windows(2) {
        if let [(one, _), (next, _)] = pair
            && one == next
            && faults.len() < MOST_FAULTS
        {
            let reason = "stands twice: one mean a day is wanted";
            faults.push(Issue::new(IssueCode::GivenTwice, "date", next.to_string(), reason));
        }
    }
    let (Some((from, _)), Some((to, _))) = (days.first().copied(), days.last().copied()) else {
        faults.push(Issue::new(IssueCode::Missing, "weather", "", "has no day"));
        return Err(InputError { issues: faults }.into());
    };
    let span = to.signed_duration_since(from).num_days() + 1;
    if span > MOST_WEATHER_DAYS {
        let reason =
            format!("spans {span} days from {from} to {to}: allowed is {MOST_WEATHER_DAYS}");
        faults.push(Issue::new(IssueCode::OutOfRange, "date", "", reason));
    }
    if !faults.is_empty() {
        return Err(InputError { issues: faults }.into());
    }
    let mut means = vec![f64::NAN; usize::try_from(span).unwrap_or(0)];
    for (day, mean) in days {
        let place = usize::try_from(day.signed_duration_since(from).num_days()).unwrap_or(0);
        if let (Some(slot), Some(mean)) = (means.get_mut(place), mean) {
            *slot = mean;
        }
    }
    let given = || means.iter().copied().filter(|mean| mean.is_finite());
    let (count, warmest) = (given().count(), given().fold(f64::NEG_INFINITY, f64::max));
    if !celsius && count >= 350 && warmest < WARMEST_F {
        let text = format!(
            "The warmest of {count} days has {warmest:.0} °F: was Celsius given as Fahrenheit? \
             Name the column mean_c."
        );
        findings.push(Finding::doubt("looks_celsius", text));
    }
    Ok(DailyMeans::new(from, means))
}

/// Whether the mean is in °C; one of the two columns must be there.
fn mean_column(schema: &Schema) -> Result<bool, SchemaError> {
    let has = |name: &str| schema.fields().iter().any(|field| field.name().trim() == name);
    match (has("mean_f"), has("mean_c")) {
        (true, false) => Ok(false),
        (false, true) => Ok(true),
        (true, true) => Err("give mean_f or mean_c, not both".to_owned().into()),
        (false, false) => Err("column mean_f or mean_c is missing".to_owned().into()),
    }
}

/// A mean of outdoor air, °F.
fn in_air(mean: Option<f64>, celsius: bool, field: &str) -> Result<Option<f64>, Issue> {
    let Some(given) = mean else { return Ok(None) };
    let (low, high) = if celsius { (-70.0, 55.0) } else { (-94.0, 131.0) };
    if !(low..=high).contains(&given) {
        let hint =
            if celsius && given > high { "; is it °F? Then name the column mean_f" } else { "" };
        let reason = format!("no day has this mean: allowed is {low} to {high}{hint}");
        return Err(Issue::new(IssueCode::OutOfRange, field, given.to_string(), reason));
    }
    Ok(Some(if celsius { given * 1.8 + 32.0 } else { given }))
}

/// Uses beside mean temperatures: `use`, and `mean_f` or `mean_c`; `days`, 1 where it is not there.
///
/// # Errors
/// [`TableError`] for the columns, and with every fault of the rows.
pub fn mean_samples(
    schema: &Schema,
    batches: impl Iterator<Item = Result<RecordBatch, ArrowError>>,
) -> Result<Vec<Sample>, TableError> {
    check_columns(schema, &["use"], &MEAN_COLUMNS).map_err(TableError::Schema)?;
    let celsius = mean_column(schema).map_err(TableError::Schema)?;
    let mean_name = if celsius { "mean_c" } else { "mean_f" };
    let (mut samples, mut faults, mut first) = (Vec::new(), Vec::new(), 0_usize);
    for batch in batches {
        let batch = readable(batch?)?;
        let columns = Columns { batch: &batch };
        let (Some(amount), Some(mean)) = (columns.find("use"), columns.find(mean_name)) else {
            let fault = "a batch lacks a column of the table".to_owned();
            return Err(TableError::Schema(fault.into()));
        };
        let (amount, mean) = (Numbers::new("use", amount)?, Numbers::new(mean_name, mean)?);
        let days = columns.find("days").map(|days| Numbers::new("days", days)).transpose()?;
        for row in 0..batch.num_rows() {
            let outer = format!("row {}", first + row + 1);
            let needed = |value: Option<f64>, name: &str| {
                value.ok_or_else(|| Issue::new(IssueCode::Missing, name, "", "must be given"))
            };
            let one = || {
                let amount = needed(amount.get(row, "use")?, "use")?;
                let mean = in_air(mean.get(row, mean_name)?, celsius, mean_name)?;
                let mean = needed(mean, mean_name)?;
                let days = match &days {
                    None => 1.0,
                    Some(days) => needed(days.get(row, "days")?, "days")?,
                };
                Sample::of_mean(days, amount, mean)
            };
            match one() {
                Ok(sample) => samples.push(sample),
                Err(issue) if faults.len() < MOST_FAULTS => faults.push(issue.within(&outer)),
                Err(_) => {}
            }
        }
        first += batch.num_rows();
    }
    if faults.is_empty() { Ok(samples) } else { Err(InputError { issues: faults }.into()) }
}

pub(super) fn numbers(values: impl Iterator<Item = f64>) -> ArrayRef {
    let values = values.map(|value| value.is_finite().then_some(value));
    Arc::new(values.collect::<Float64Array>())
}

/// The results of many meters as a table, a row each.
///
/// # Errors
/// [`ArrowError`] where the columns do not make a table, which they always do.
pub fn results_table(results: &[MeterResult]) -> Result<RecordBatch, ArrowError> {
    use super::many::MeterFigures;
    let text = |of: &dyn Fn(&MeterResult) -> Option<String>| -> ArrayRef {
        Arc::new(results.iter().map(of).collect::<StringArray>())
    };
    let number = |of: &dyn Fn(&MeterFigures) -> f64| -> ArrayRef {
        numbers(results.iter().map(|result| result.figures.as_ref().map_or(f64::NAN, of)))
    };
    let low = |ends: Option<(f64, f64)>| ends.map_or(f64::NAN, |ends| ends.0);
    let high = |ends: Option<(f64, f64)>| ends.map_or(f64::NAN, |ends| ends.1);
    let readings = results.iter().map(|result| {
        result.figures.as_ref().ok().and_then(|figures| i64::try_from(figures.readings).ok())
    });
    let columns: Vec<(&str, ArrayRef)> = vec![
        ("house_id", text(&|result| Some(result.house_id.clone()))),
        ("fuel", text(&|result| Some(result.fuel.row().key.to_owned()))),
        ("unit", text(&|result| Some(result.fuel.row().unit.to_owned()))),
        ("readings", Arc::new(readings.collect::<Int64Array>())),
        ("days", number(&|figures| figures.days)),
        ("base_per_day", number(&|figures| figures.params.base)),
        ("base_per_day_se", number(&|figures| figures.errors.base)),
        ("heating_per_day_f", number(&|figures| figures.params.heating_slope)),
        ("heating_per_day_f_se", number(&|figures| figures.errors.heating_slope)),
        ("change_point_f", number(&|figures| figures.params.heating_change_f)),
        ("change_point_f_low", number(&|figures| low(figures.change_point_f))),
        ("change_point_f_high", number(&|figures| high(figures.change_point_f))),
        ("cooling_per_day_f", number(&|figures| figures.params.cooling_slope)),
        ("cooling_point_f", number(&|figures| figures.params.cooling_change_f)),
        ("annual_use", number(&|figures| figures.annual.total)),
        ("annual_use_low", number(&|figures| low(figures.total))),
        ("annual_use_high", number(&|figures| high(figures.total))),
        ("annual_heating", number(&|figures| figures.annual.heating)),
        ("annual_heating_low", number(&|figures| low(figures.heating))),
        ("annual_heating_high", number(&|figures| high(figures.heating))),
        ("annual_base", number(&|figures| figures.annual.base)),
        ("r2", number(&|figures| figures.r2)),
        ("cv_rmse", number(&|figures| figures.cv_rmse)),
        ("nmbe", number(&|figures| figures.nmbe)),
        (
            "verdict",
            text(&|result| result.figures.as_ref().ok().map(|f| f.verdict.as_str().to_owned())),
        ),
        (
            "findings",
            text(&|result| {
                let figures = result.figures.as_ref().ok()?;
                let codes: Vec<&str> = figures.findings.iter().map(|found| found.code).collect();
                Some(codes.join(";"))
            }),
        ),
        (
            "faults",
            text(&|result| {
                result.figures.as_ref().err().map(|error| error.to_string().replace('\n', "; "))
            }),
        ),
    ];
    named_table(columns)
}

pub(super) fn named_table(columns: Vec<(&str, ArrayRef)>) -> Result<RecordBatch, ArrowError> {
    let fields: Vec<Field> = columns
        .iter()
        .map(|(name, column)| Field::new(*name, column.data_type().clone(), true))
        .collect();
    let columns = columns.into_iter().map(|(_, column)| column).collect();
    RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)
}

/// The readings of a fit as a table: what a plot needs of the points.
///
/// # Errors
/// [`ArrowError`] where the columns do not make a table, which they always do.
pub fn readings_table(fit: &Fit) -> Result<RecordBatch, ArrowError> {
    let number = |of: &dyn Fn(&Sample) -> f64| numbers(fit.samples.iter().map(of));
    let day = |of: fn((NaiveDate, NaiveDate)) -> NaiveDate| -> ArrayRef {
        let epoch = NaiveDate::default();
        let days = fit.samples.iter().map(|sample| {
            let day = of(sample.dates?);
            i32::try_from(day.signed_duration_since(epoch).num_days()).ok()
        });
        Arc::new(days.collect::<Date32Array>())
    };
    let change = fit.params.heating_change_f;
    named_table(vec![
        ("start", day(|dates| dates.0)),
        ("end", day(|dates| dates.1)),
        ("days", number(&|sample| sample.days)),
        ("use", number(&|sample| sample.amount)),
        ("use_per_day", number(&Sample::rate)),
        ("mean_f", number(&|sample| sample.mean_f)),
        ("heating_degree_days_f", number(&|sample| sample.days * sample.heating_f(change))),
        ("fitted_per_day", number(&|sample| fit.fitted(sample))),
        ("error_per_day", number(&|sample| sample.rate() - fit.fitted(sample))),
    ])
}

/// The curve of a fit over the mean temperature of a day, with its band: what a plot needs of the
/// line. The band is pointwise, and missing where nothing was drawn.
///
/// # Errors
/// [`ArrowError`] where the columns do not make a table, which they always do.
pub fn curve_table(fit: &Fit, points: usize) -> Result<RecordBatch, ArrowError> {
    let temperatures =
        || fit.samples.iter().flat_map(|sample| sample.temperatures_f.iter().copied());
    let low = temperatures().fold(f64::INFINITY, f64::min).min(fit.params.heating_change_f - 5.0);
    let high =
        temperatures().fold(f64::NEG_INFINITY, f64::max).max(fit.params.heating_change_f + 5.0);
    let last = points.clamp(2, 10_000) - 1;
    let mut at: Vec<f64> =
        (0..=last).map(|place| low + (high - low) * place as f64 / last as f64).collect();
    at.extend(
        [fit.params.heating_change_f, fit.params.cooling_change_f].iter().filter(|t| t.is_finite()),
    );
    at.sort_unstable_by(f64::total_cmp);
    let form = fit.options.form;
    let bands: Vec<Option<(f64, f64)>> =
        at.iter().map(|t| fit.interval(|params| params.at(form, *t))).collect();
    named_table(vec![
        ("temperature_f", numbers(at.iter().copied())),
        ("use_per_day", numbers(at.iter().map(|t| fit.params.at(form, *t)))),
        ("low", numbers(bands.iter().map(|band| band.map_or(f64::NAN, |band| band.0)))),
        ("high", numbers(bands.iter().map(|band| band.map_or(f64::NAN, |band| band.1)))),
    ])
}
