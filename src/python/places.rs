//! `Place`, and the conversions between bases that stand on their own.

use super::account::Block;
use super::climate::{climate_error, raw_house};
use super::errors::refused;
use super::house::House;
use super::unit_system;
use crate::climate::words::{origin_block, place_blocks};
use crate::climate::{self, Conversion};
use crate::tables;
use pyo3::prelude::*;

/// A place of the table, for a first guess. A weather file of the place always wins over it.
#[pyclass(frozen, module = "studbay.climate", name = "Place")]
pub(crate) struct Place(&'static tables::Place);

#[pymethods]
impl Place {
    /// Its key.
    #[getter]
    fn key(&self) -> &'static str {
        self.0.key
    }

    /// Its name.
    #[getter]
    fn name(&self) -> &'static str {
        self.0.name
    }

    /// State, province or territory.
    #[getter]
    fn region(&self) -> &'static str {
        self.0.region
    }

    /// `US` or `CA`.
    #[getter]
    fn country(&self) -> &'static str {
        self.0.country
    }

    /// Height above sea level, ft.
    #[getter]
    fn elevation_ft(&self) -> f64 {
        self.0.elevation_ft.value
    }

    /// The base that its degree-days are for, °F.
    #[getter]
    fn base_f(&self) -> f64 {
        self.0.base_f
    }

    /// Heating degree-days of a usual year, °F·day.
    #[getter]
    fn heating(&self) -> f64 {
        self.0.heating.value
    }

    /// Cooling degree-days of a usual year, °F·day.
    #[getter]
    fn cooling(&self) -> f64 {
        self.0.cooling.value
    }

    /// Climate zone of its county, with the code that assigns it.
    #[getter]
    fn zone(&self) -> &'static str {
        self.0.zone
    }

    /// Whether a value that a house would take from it is known from memory only.
    #[getter]
    fn is_from_memory(&self) -> bool {
        self.0.is_from_memory()
    }

    /// Where each value comes from, under its name, with how well it is known.
    #[getter]
    fn sources(&self) -> std::collections::HashMap<&'static str, String> {
        let place = self.0;
        [
            ("elevation_ft", place.elevation_ft.citation),
            ("heating", place.heating.citation),
            ("cooling", place.cooling.citation),
            ("zone", place.zone_citation),
        ]
        .into_iter()
        .map(|(name, citation)| (name, citation.to_string()))
        .collect()
    }

    /// A house in this climate, where the house does not say its own.
    ///
    /// Args:
    ///     fields: The fields of the house, as for `House`, or the path of a house file.
    ///
    /// Returns:
    ///     The house, and where its degree-days come from.
    ///
    /// Raises:
    ///     OSError: Where the house file cannot be read.
    ///     studbay.errors.HouseFileError: As for `House.from_file`.
    ///     studbay.errors.InputError: With every fault of the house.
    fn house(&self, py: Python<'_>, fields: &Bound<'_, PyAny>) -> PyResult<(House, Block)> {
        let filled = climate::fill_from_place(&raw_house(fields)?, self.0)
            .map_err(|error| climate_error(py, error, None))?;
        Ok((House::from_raw(py, &filled.house)?, Block::from(origin_block(&filled.notes))))
    }

    fn __repr__(&self) -> String {
        let check = if self.is_from_memory() { ", from memory, check locally" } else { "" };
        format!("<Place {}: heating {} °F·day{check}>", self.0.key, self.0.heating.value)
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.0.key == other.0.key
    }

    fn __hash__(&self) -> u64 {
        use std::hash::{DefaultHasher, Hash, Hasher};
        let mut hasher = DefaultHasher::new();
        self.0.key.hash(&mut hasher);
        hasher.finish()
    }
}

/// The places of the table, for a first guess.
///
/// Args:
///     word: Part of a key, name or region; without it, all of them.
///
/// Returns:
///     The places, in the order of the table.
#[pyfunction]
#[pyo3(signature = (word = ""))]
pub(crate) fn places(word: &str) -> Vec<Place> {
    climate::places(word).map(Place).collect()
}

/// The place of a key or name.
///
/// Args:
///     key: As in `"boston_ma"` or `"Boston, Massachusetts"`.
///
/// Returns:
///     The place.
///
/// Raises:
///     studbay.errors.InputError: Where the table has none of this key or name.
#[pyfunction]
pub(crate) fn place(py: Python<'_>, key: &str) -> PyResult<Place> {
    climate::place(key).map(Place).map_err(|error| climate_error(py, error, None))
}

/// Places in words, with the mark of each value.
///
/// Args:
///     word: As for `places`.
///     units: `"ip"` or `"si"`.
///
/// Returns:
///     Blocks to print one after the other.
///
/// Raises:
///     studbay.errors.InputError: For any other word for `units`.
#[pyfunction]
#[pyo3(signature = (word = "", units = "ip"))]
pub(crate) fn report_places(word: &str, units: &str) -> PyResult<Vec<Block>> {
    let blocks = place_blocks(climate::places(word), unit_system(units)?);
    Ok(blocks.into_iter().map(Block::from).collect())
}

fn finite(name: &str, value: f64) -> PyResult<f64> {
    if value.is_finite() {
        return Ok(value);
    }
    Err(refused(name, &value.to_string(), "is not a finite number".to_owned()))
}

/// Degree-days of a month whose daily means scatter normally round the mean of the month.
///
/// `N s (z Φ(z) + φ(z))`, `z = (base - mean) / s`: Schoenau and Kehrig 1990 (from memory). All in
/// the same degree, Fahrenheit or Celsius.
///
/// Args:
///     days: Days of the month, N.
///     mean: Mean of the month.
///     deviation: Standard deviation of the daily means within it, s; 0 or more.
///     base: The base.
///
/// Returns:
///     Heating degree-days of the month.
///
/// Raises:
///     studbay.errors.InputError: For an argument that is no finite number, or a deviation below 0.
#[pyfunction]
pub(crate) fn normal_degree_days(days: f64, mean: f64, deviation: f64, base: f64) -> PyResult<f64> {
    if deviation < 0.0 {
        let reason = "allowed is 0 or more".to_owned();
        return Err(refused("deviation", &deviation.to_string(), reason));
    }
    countable(climate::normal_degree_days(
        finite("days", days)?,
        finite("mean", mean)?,
        finite("deviation", deviation)?,
        finite("base", base)?,
    ))
}

/// Degree-days of a month from its mean alone.
///
/// `N (base - mean) / (1 - exp(-k (base - mean)))`: Hitchin 1983 (from memory).
///
/// Args:
///     days: Days of the month, N.
///     mean: Mean of the month.
///     base: The base.
///     k: The constant of the climate, above 0: 0.71 a kelvin in the British Isles.
///
/// Returns:
///     Heating degree-days of the month; where mean and base are equal the limit, `days / k`.
///
/// Raises:
///     studbay.errors.InputError: For an argument that is no finite number, or k not above 0.
#[pyfunction]
#[pyo3(signature = (days, mean, base, k = 0.71))]
pub(crate) fn hitchin_degree_days(days: f64, mean: f64, base: f64, k: f64) -> PyResult<f64> {
    if finite("k", k)? <= 0.0 {
        return Err(refused("k", &k.to_string(), "allowed is above 0".to_owned()));
    }
    countable(climate::hitchin_degree_days(
        finite("days", days)?,
        finite("mean", mean)?,
        finite("base", base)?,
        k,
    ))
}

/// Numbers that are finite each, and together beyond every number, are refused.
fn countable(found: f64) -> PyResult<f64> {
    if found.is_finite() {
        return Ok(found);
    }
    Err(refused("days", "", "these numbers give no degree-days: they are too large".to_owned()))
}

/// Degree-days of a year from twelve monthly means, with the usual scatter of days.
///
/// Args:
///     means_f: Means of January to December, °F.
///     base_f: The base, -40 to 120 °F.
///     method: `"schoenau_kehrig"`, with the deviation of Erbs, Klein and Beckman 1983 (from
///         memory), or `"hitchin"`.
///
/// Returns:
///     Heating and cooling, °F·day.
///
/// Raises:
///     studbay.errors.InputError: For an argument outside its range.
#[pyfunction]
#[pyo3(signature = (means_f, base_f, method = "schoenau_kehrig"))]
pub(crate) fn convert_months(
    py: Python<'_>,
    means_f: Vec<f64>,
    base_f: f64,
    method: &str,
) -> PyResult<(f64, f64)> {
    let means: [f64; 12] = means_f.try_into().map_err(|means: Vec<f64>| {
        refused("means_f", &format!("{} numbers", means.len()), "twelve are needed".to_owned())
    })?;
    Conversion::from_key(method)
        .and_then(|method| climate::convert(&climate::months_from_means(&means)?, base_f, method))
        .map(|[heating, cooling]| (heating, cooling))
        .map_err(|error| climate_error(py, error, None))
}

/// The outdoor temperature below which a house must be heated.
///
/// Args:
///     indoor_f: The set point, 40 to 90 °F.
///     gains_btu_h: Gains of people, lights, appliances and sun, Btu/h.
///     loss_btu_h_f: Loss coefficient of the whole house, Btu/h·°F.
///
/// Returns:
///     `indoor_f - gains_btu_h / loss_btu_h_f`, °F.
///
/// Raises:
///     studbay.errors.InputError: For an argument outside its range.
#[pyfunction]
pub(crate) fn balance_point(
    py: Python<'_>,
    indoor_f: f64,
    gains_btu_h: f64,
    loss_btu_h_f: f64,
) -> PyResult<f64> {
    climate::WholeHouse::new(indoor_f, gains_btu_h, loss_btu_h_f)
        .map(|whole| whole.balance_point_f())
        .map_err(|error| climate_error(py, error, None))
}
