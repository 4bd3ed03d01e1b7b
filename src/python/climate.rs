//! `Weather`, and what is asked of it.

use super::account::Block;
use super::balance::BalanceSaving;
use super::degree_days::{DegreeDays, Remark, UsualYear, date};
use super::errors::{house_file_error, input_error, refused, weather_error};
use super::house::House;
use super::keywords;
use super::unit_system;
use crate::climate::words::{Spans, explain_weather, origin_block, weather_blocks};
use crate::climate::{
    self, ClimateError, Conversion, Count, DayRule, Format, ReadOptions, Role, TemperatureUnit,
    WholeHouse,
};
use crate::house::{HouseFileError, Raw, read_raw};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyList, PyTuple};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// An error of the climate as a Python exception.
pub(super) fn climate_error(py: Python<'_>, error: ClimateError, path: Option<&Path>) -> PyErr {
    match error {
        ClimateError::Input(error) => input_error(error),
        ClimateError::Io { path, source } => {
            house_file_error(py, HouseFileError::Io { path, source }, None)
        }
        ClimateError::Unreadable { reason } | ClimateError::Refused { reason } => {
            weather_error(reason, path)
        }
    }
}

/// Days of weather, read from a file.
///
/// Days without a value stay without one: nothing is filled. `remarks` says what was noticed; a
/// file with a grave remark gives no degree-days for a house.
///
/// Dates of a typical year are nominal: its months come from differing years (`months_from`).
#[pyclass(frozen, module = "studbay", name = "Weather")]
pub(crate) struct Weather(climate::Weather);

impl Weather {
    /// The rule that a person wrote, or the one that fits the file.
    fn count(&self, base_f: f64, rule: Option<&str>, whole: bool) -> Result<Count, ClimateError> {
        let rule = rule.map_or(Ok(self.0.usual_rule()), DayRule::from_key)?;
        Count::new(base_f, rule, whole)
    }

    fn fill(
        &self,
        py: Python<'_>,
        raw: &Raw,
        base_f: f64,
        rule: Option<&str>,
        whole: bool,
    ) -> PyResult<(House, Block)> {
        let filled = self
            .count(base_f, rule, whole)
            .and_then(|count| climate::fill_from_weather(raw, &self.0, count));
        let (filled, _) = filled.map_err(|error| climate_error(py, error, None))?;
        Ok((House::from_raw(py, &filled.house)?, Block::from(origin_block(&filled.notes))))
    }
}

/// What a person says of a file, checked.
fn options(
    format: Option<&str>,
    unit: Option<&str>,
    columns: Option<HashMap<String, String>>,
    only: Option<(String, String)>,
    name: Option<String>,
) -> PyResult<ReadOptions> {
    let format =
        match format {
            None => None,
            Some(key) => Some(Format::from_key(key).ok_or_else(|| {
                refused("format", key, "must be one of tmy3, epw, table".to_owned())
            })?),
        };
    let unit = match unit {
        None => None,
        Some(key) => Some(
            TemperatureUnit::from_key(key)
                .ok_or_else(|| refused("unit", key, "must be one of f, c".to_owned()))?,
        ),
    };
    let mut named = Vec::new();
    for (role, column) in columns.into_iter().flatten() {
        let Some(known) = Role::ALL.into_iter().find(|known| known.as_str() == role) else {
            let words: Vec<&str> = Role::ALL.into_iter().map(Role::as_str).collect();
            return Err(refused("columns", &role, format!("must be one of {}", words.join(", "))));
        };
        named.push((known, column));
    }
    // A mapping has no order of its own that matters here.
    named.sort_by_key(|(role, _)| *role as usize);
    Ok(ReadOptions { format, unit, columns: named, only, name: name.unwrap_or_default() })
}

#[pymethods]
impl Weather {
    /// Reads a weather file: TMY3, EPW, or a table with named columns, daily or hourly.
    ///
    /// The form is told by the content; `.gz` is unpacked. Columns of a table are found by their
    /// usual names unless `columns` names them. The unit of a table is never guessed: its columns
    /// say it (`temp_max_c`), or you do.
    ///
    /// Args:
    ///     path: The file.
    ///     format: `"tmy3"`, `"epw"` or `"table"`, where the content is not to decide.
    ///     unit: `"f"` or `"c"`: the unit of the temperatures of a table.
    ///     columns: Which column of a table is what: `date`, `year`, `month`, `day`, `hour`,
    ///         `mean` (also the temperature of an hour), `max`, `min`.
    ///     only: A column and the text that it must have: one station of several.
    ///     name: What the place is called, where the file does not say.
    ///
    /// Returns:
    ///     The weather.
    ///
    /// Raises:
    ///     OSError: Where the file cannot be read.
    ///     studbay.errors.WeatherError: Where it is no weather file, or its columns, its unit or
    ///         its station are not clear.
    ///     studbay.errors.InputError: For an argument that is no use.
    #[staticmethod]
    #[pyo3(signature = (path, *, format = None, unit = None, columns = None, only = None, name = None))]
    fn from_file(
        py: Python<'_>,
        path: PathBuf,
        format: Option<&str>,
        unit: Option<&str>,
        columns: Option<HashMap<String, String>>,
        only: Option<(String, String)>,
        name: Option<String>,
    ) -> PyResult<Self> {
        let options = options(format, unit, columns, only, name)?;
        py.detach(|| climate::Weather::from_file(&path, &options))
            .map(Self)
            .map_err(|error| climate_error(py, error, Some(&path)))
    }

    /// Reads a weather file that is in memory already, unpacked.
    ///
    /// Args:
    ///     data: What the file holds.
    ///     format: As for `from_file`.
    ///     unit: As for `from_file`.
    ///     columns: As for `from_file`.
    ///     only: As for `from_file`.
    ///     name: As for `from_file`.
    ///
    /// Returns:
    ///     The weather.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: As for `from_file`.
    ///     studbay.errors.InputError: As for `from_file`.
    #[staticmethod]
    #[pyo3(signature = (data, *, format = None, unit = None, columns = None, only = None, name = None))]
    fn from_bytes(
        py: Python<'_>,
        data: &Bound<'_, PyBytes>,
        format: Option<&str>,
        unit: Option<&str>,
        columns: Option<HashMap<String, String>>,
        only: Option<(String, String)>,
        name: Option<String>,
    ) -> PyResult<Self> {
        let options = options(format, unit, columns, only, name)?;
        let bytes = data.as_bytes();
        py.detach(|| climate::Weather::from_bytes(bytes, &options))
            .map(Self)
            .map_err(|error| climate_error(py, error, None))
    }

    /// What the place is called.
    #[getter]
    fn name(&self) -> &str {
        &self.0.site().name
    }

    /// Degrees north; `None` where the file does not say.
    #[getter]
    fn latitude(&self) -> Option<f64> {
        self.0.site().latitude
    }

    /// Degrees east; `None` where the file does not say.
    #[getter]
    fn longitude(&self) -> Option<f64> {
        self.0.site().longitude
    }

    /// Height above sea level, ft; `None` where the file does not say.
    #[getter]
    fn elevation_ft(&self) -> Option<f64> {
        self.0.site().elevation_ft
    }

    /// `tmy3`, `epw` or `table`.
    #[getter]
    fn format(&self) -> &'static str {
        self.0.format().as_str()
    }

    /// `f` or `c`: the unit of the temperatures in the file.
    #[getter]
    fn unit(&self) -> &'static str {
        self.0.unit().as_str()
    }

    /// Whether the file has hours.
    #[getter]
    fn is_hourly(&self) -> bool {
        self.0.is_hourly()
    }

    /// Whether it is a typical year, put together from months of differing years.
    #[getter]
    fn is_typical(&self) -> bool {
        self.0.is_typical()
    }

    /// The year that each month of a typical year comes from; empty for other files.
    #[getter]
    fn months_from(&self) -> HashMap<u32, i32> {
        self.0.months_from().iter().copied().collect()
    }

    /// The first day, a `datetime.date`.
    #[getter]
    fn first<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        date(py, self.0.first())
    }

    /// The last day, a `datetime.date`.
    #[getter]
    fn last<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        date(py, self.0.last())
    }

    /// Days from the first to the last.
    #[getter]
    fn days(&self) -> usize {
        self.0.days().len()
    }

    /// Those of them that have a value.
    #[getter]
    fn days_with_value(&self) -> usize {
        self.0.days_with_value()
    }

    /// Readings in the file.
    #[getter]
    fn readings(&self) -> usize {
        self.0.readings()
    }

    /// Stretches of days without a value, from the first to the last day of each.
    #[getter]
    fn gaps<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let mut gaps = Vec::new();
        for (first, last) in self.0.gaps() {
            gaps.push((date(py, first)?, date(py, last)?));
        }
        PyTuple::new(py, gaps)
    }

    /// What was noticed while the file was read, the gravest first.
    #[getter]
    fn remarks<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.0.remarks().iter().map(Remark::from))
    }

    /// The day rule that fits the file: `max_min` where it has both, else `mean`.
    #[getter]
    fn usual_rule(&self) -> &'static str {
        self.0.usual_rule().as_str()
    }

    /// Counts degree-days.
    ///
    /// Args:
    ///     base_f: The base, -40 to 120 °F.
    ///     rule: `"max_min"`: (maximum + minimum) / 2 of each day against the base. `"mean"`: the
    ///         mean of each day. `"hours"`: every hour, divided by 24. Without it, `usual_rule`.
    ///     whole_degrees: Whether temperatures are rounded to whole °F, halves upwards, as the
    ///         National Weather Service does (from memory); with `max_min` only.
    ///
    /// Returns:
    ///     The sums over the series, by month and by year. Missing days count nothing; how many
    ///     they are stands beside each sum.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: Where the file has not what the rule needs.
    ///     studbay.errors.InputError: For an argument outside its range.
    #[pyo3(signature = (base_f = 65.0, rule = None, whole_degrees = false))]
    fn degree_days(
        &self,
        py: Python<'_>,
        base_f: f64,
        rule: Option<&str>,
        whole_degrees: bool,
    ) -> PyResult<DegreeDays> {
        self.count(base_f, rule, whole_degrees)
            .and_then(|count| self.0.degree_days(count))
            .map(DegreeDays::from)
            .map_err(|error| climate_error(py, error, None))
    }

    /// Degree-days of a usual year: what a house is assessed with.
    ///
    /// Of a typical year, that year; else the mean of the calendar years that lack at most three
    /// days; else the last 365 days on end that lack at most three.
    ///
    /// Args:
    ///     base_f: As for `degree_days`.
    ///     rule: As for `degree_days`.
    ///     whole_degrees: As for `degree_days`.
    ///
    /// Returns:
    ///     The year.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: Where there is no such year, or a grave remark stands
    ///         against the file.
    ///     studbay.errors.InputError: For an argument outside its range.
    #[pyo3(signature = (base_f = 65.0, rule = None, whole_degrees = false))]
    fn usual_year(
        &self,
        py: Python<'_>,
        base_f: f64,
        rule: Option<&str>,
        whole_degrees: bool,
    ) -> PyResult<UsualYear> {
        self.count(base_f, rule, whole_degrees)
            .and_then(|count| self.0.usual_year(count))
            .map(UsualYear::from)
            .map_err(|error| climate_error(py, error, None))
    }

    /// The climate zone of the International Energy Conservation Code that degree-days point to.
    ///
    /// Zones are assigned by county: look the county up in the code that is in force.
    ///
    /// Args:
    ///     rule: As for `degree_days`.
    ///
    /// Returns:
    ///     As in `"4"` or `"4 (3 if marine)"`: the letter depends on rain.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: As for `usual_year`.
    #[pyo3(signature = (rule = None))]
    fn climate_zone(&self, py: Python<'_>, rule: Option<&str>) -> PyResult<String> {
        let rule = rule.map_or(Ok(self.0.usual_rule()), DayRule::from_key);
        rule.and_then(|rule| self.0.climate_zone(rule))
            .map(climate::ClimateZone::words)
            .map_err(|error| climate_error(py, error, None))
    }

    /// Every day of the series.
    ///
    /// Returns:
    ///     A dict of lists of the same length, for a data frame: `date`, `max_f`, `min_f`,
    ///     `mean_f` in °F with `None` where there is no value, and `hours` that have one.
    fn daily<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let days = self.0.days();
        let mut dates = Vec::with_capacity(days.len());
        for day in days {
            dates.push(date(py, day.date)?);
        }
        let column = |of: fn(&climate::Day) -> f64| -> Vec<Option<f64>> {
            days.iter().map(|day| Some(of(day)).filter(|value| value.is_finite())).collect()
        };
        let table = PyDict::new(py);
        table.set_item("date", dates)?;
        table.set_item("max_f", column(|day| day.max_f))?;
        table.set_item("min_f", column(|day| day.min_f))?;
        table.set_item("mean_f", column(|day| day.mean_f))?;
        let hours: Vec<u32> = days.iter().map(|day| u32::from(day.hours)).collect();
        table.set_item("hours", hours)?;
        Ok(table)
    }

    /// The calendar months, all years together.
    ///
    /// Returns:
    ///     A dict for each month with two days or more: `month`, `days` of it, `mean_f` and
    ///     `deviation_f` of its daily means, °F.
    fn monthly<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let months = PyList::empty(py);
        for month in self.0.monthly() {
            let row = PyDict::new(py);
            row.set_item("month", month.month)?;
            row.set_item("days", month.days)?;
            row.set_item("mean_f", month.mean_f)?;
            row.set_item("deviation_f", month.deviation_f)?;
            months.append(row)?;
        }
        Ok(months)
    }

    /// Degree-days of a year at a base, estimated from means and deviations of the months alone.
    ///
    /// Args:
    ///     base_f: The base, -40 to 120 °F.
    ///     method: `"schoenau_kehrig"` or `"hitchin"`; see `studbay.climate`.
    ///
    /// Returns:
    ///     Heating and cooling, °F·day.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: Where fewer than twelve months have two days.
    ///     studbay.errors.InputError: For an argument outside its range.
    #[pyo3(signature = (base_f, method = "schoenau_kehrig"))]
    fn convert(&self, py: Python<'_>, base_f: f64, method: &str) -> PyResult<(f64, f64)> {
        Conversion::from_key(method)
            .and_then(|method| climate::convert(&self.0.monthly(), base_f, method))
            .map(|[heating, cooling]| (heating, cooling))
            .map_err(|error| climate_error(py, error, None))
    }

    /// The weather in words: what it is, what was noticed, its degree-days.
    ///
    /// Args:
    ///     base_f: As for `degree_days`.
    ///     rule: As for `degree_days`.
    ///     whole_degrees: As for `degree_days`.
    ///     by: `"month"` or `"year"`; without it, months for one year and years for more.
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     Blocks to print one after the other.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: As for `degree_days`.
    ///     studbay.errors.InputError: For an argument that is no use.
    #[pyo3(signature = (base_f = 65.0, rule = None, whole_degrees = false, by = None, units = "ip"))]
    fn report(
        &self,
        py: Python<'_>,
        base_f: f64,
        rule: Option<&str>,
        whole_degrees: bool,
        by: Option<&str>,
        units: &str,
    ) -> PyResult<Vec<Block>> {
        let spans = match by {
            None => Spans::Fitting,
            Some("month") => Spans::Months,
            Some("year") => Spans::Years,
            Some(other) => return Err(refused("by", other, "must be month or year".to_owned())),
        };
        let units = unit_system(units)?;
        self.count(base_f, rule, whole_degrees)
            .and_then(|count| weather_blocks(&self.0, count, spans, units))
            .map(|blocks| blocks.into_iter().map(Block::from).collect())
            .map_err(|error| climate_error(py, error, None))
    }

    /// How the degree-days come about, step by step.
    ///
    /// Args:
    ///     base_f: As for `degree_days`.
    ///     rule: As for `degree_days`.
    ///     whole_degrees: As for `degree_days`.
    ///
    /// Returns:
    ///     Blocks to print one after the other.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: As for `degree_days`.
    ///     studbay.errors.InputError: For an argument outside its range.
    #[pyo3(signature = (base_f = 65.0, rule = None, whole_degrees = false))]
    fn explain(
        &self,
        py: Python<'_>,
        base_f: f64,
        rule: Option<&str>,
        whole_degrees: bool,
    ) -> PyResult<Vec<Block>> {
        self.count(base_f, rule, whole_degrees)
            .and_then(|count| explain_weather(&self.0, count))
            .map(|blocks| blocks.into_iter().map(Block::from).collect())
            .map_err(|error| climate_error(py, error, None))
    }

    /// A house in this climate.
    ///
    /// The degree-days of the weather take the place of any that are given; the height of the
    /// station is taken where none is given.
    ///
    /// Args:
    ///     fields: The fields of the house, as for `House`, or the path of a house file.
    ///     base_f: The base of heating; cooling is counted at 65 °F.
    ///     rule: As for `degree_days`.
    ///     whole_degrees: As for `degree_days`.
    ///
    /// Returns:
    ///     The house, and where its degree-days come from.
    ///
    /// Raises:
    ///     OSError: Where the house file cannot be read.
    ///     studbay.errors.WeatherError: As for `usual_year`.
    ///     studbay.errors.HouseFileError: As for `House.from_file`.
    ///     studbay.errors.InputError: With every fault of the house.
    #[pyo3(signature = (fields, base_f = 65.0, rule = None, whole_degrees = false))]
    fn house(
        &self,
        py: Python<'_>,
        fields: &Bound<'_, PyAny>,
        base_f: f64,
        rule: Option<&str>,
        whole_degrees: bool,
    ) -> PyResult<(House, Block)> {
        let raw = raw_house(fields)?;
        self.fill(py, &raw, base_f, rule, whole_degrees)
    }

    /// The saving of a house whose loss as a whole is known, with a balance point that falls.
    ///
    /// Args:
    ///     house: The house.
    ///     indoor_f: The set point, 40 to 90 °F.
    ///     loss_btu_h_f: Loss coefficient of the whole house, walls and air, Btu/h·°F: from bills.
    ///     gains_btu_h: Gains of people, lights, appliances and sun, a mean over the heating
    ///         season, Btu/h.
    ///     balance_point_f: The balance point that the bills show, instead of gains.
    ///     rule: As for `degree_days`.
    ///
    /// Returns:
    ///     The saving by three counts of the same assessment.
    ///
    /// Raises:
    ///     studbay.errors.WeatherError: Where the weather has no whole year, the fill saves
    ///         nothing, or it would save more than the whole house loses.
    ///     studbay.errors.InputError: For an argument outside its range, and where not exactly one
    ///         of gains and balance point is given.
    #[pyo3(signature = (house, *, indoor_f, loss_btu_h_f, gains_btu_h = None, balance_point_f = None, rule = None))]
    #[expect(clippy::too_many_arguments, reason = "keywords of a Python call")]
    fn balance_saving(
        &self,
        py: Python<'_>,
        house: &Bound<'_, House>,
        indoor_f: f64,
        loss_btu_h_f: f64,
        gains_btu_h: Option<f64>,
        balance_point_f: Option<f64>,
        rule: Option<&str>,
    ) -> PyResult<BalanceSaving> {
        let whole = match (gains_btu_h, balance_point_f) {
            (Some(gains), None) => WholeHouse::new(indoor_f, gains, loss_btu_h_f),
            (None, Some(balance)) => {
                WholeHouse::from_balance_point(indoor_f, balance, loss_btu_h_f)
            }
            _ => {
                let reason = "give either the gains or the balance point".to_owned();
                return Err(refused("gains_btu_h", "", reason));
            }
        };
        let house = &house.get().house;
        whole
            .and_then(|whole| {
                let count = self.count(climate::USUAL_BASE_F, rule, false)?;
                climate::saving(house, whole, &self.0, count)
            })
            .map(BalanceSaving::from)
            .map_err(|error| climate_error(py, error, None))
    }

    fn __repr__(&self) -> String {
        format!(
            "<Weather {:?}: {} of {} days, {} to {}>",
            self.0.site().name,
            self.0.days_with_value(),
            self.0.days().len(),
            self.0.first(),
            self.0.last()
        )
    }

    fn __eq__(&self, other: &Self) -> bool {
        // NaN marks a missing value, and is not equal to itself.
        format!("{:?}", self.0) == format!("{:?}", other.0)
    }
}

/// Fields of a house from a mapping, or from a house file.
pub(super) fn raw_house(fields: &Bound<'_, PyAny>) -> PyResult<Raw> {
    let py = fields.py();
    if let Ok(fields) = fields.cast::<PyDict>() {
        return keywords::table(fields);
    }
    let path: PathBuf = fields.extract().map_err(|_: PyErr| {
        let kind = fields.get_type().to_string();
        refused("fields", &kind, "must be a dict of fields, or the path of a house file".to_owned())
    })?;
    py.detach(|| read_raw(&path)).map_err(|error| house_file_error(py, error, Some(&path)))
}
