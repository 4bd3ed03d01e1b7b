//! `House` and the function `assess`.

use super::account::{Block, blocks};
use super::assessment::Assessment;
use super::derivation::Derivation;
use super::errors::{house_file_error, input_error, unreadable};
use super::keywords::{copy, give_all, table, to_python};
use super::unit_system;
use crate::house::{self, Raw};
use pyo3::exceptions::{PyUnicodeEncodeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::PathBuf;

/// What the house was made from, to make it again in another process.
#[derive(Debug)]
enum Source {
    /// Keywords with values of Python's own immutable types, or lists and dicts of our making.
    Keywords(Py<PyDict>),
    Toml(String),
    Json(String),
}

/// A house, checked and ready to be assessed.
///
/// Every keyword is a field of `studbay.fields()`, under its inch-pound or its SI name; `None`
/// means that the field is not given. A house with several surfaces lists them as
/// `surfaces=[{...}, ...]`, each a dict of its fields, with `layers=[...]` where wanted: a layer
/// is a dict, a key of `studbay.materials()` or a resistance in h·ft²·°F/Btu.
///
/// A house never changes. It can be compared, pickled and used from many threads.
///
/// Raises:
///     studbay.errors.InputError: With every fault of every field at once.
#[pyclass(frozen, module = "studbay", name = "House")]
pub(crate) struct House {
    pub(super) house: house::House,
    source: Source,
}

impl House {
    #[inline]
    fn from_keywords(py: Python<'_>, fields: Option<Bound<'_, PyDict>>) -> PyResult<Self> {
        let fields = fields.unwrap_or_else(|| PyDict::new(py));
        if let Some(house) = give_all(&fields) {
            let house = house.build().map_err(input_error)?;
            return Ok(Self { house, source: Source::Keywords(fields.unbind()) });
        }
        Self::from_raw(py, &table(&fields)?)
    }

    /// From the values of a document.
    pub(super) fn from_raw(py: Python<'_>, raw: &house::Raw) -> PyResult<Self> {
        let house = house::House::from_raw(raw).map_err(|e| house_file_error(py, e, None))?;
        let fields = to_python(py, raw)?.cast_into()?;
        Ok(Self { house, source: Source::Keywords(fields.unbind()) })
    }

    /// What the house was made from, with the lists that stand beside it.
    pub(super) fn document(&self, py: Python<'_>) -> PyResult<Raw> {
        let broken = |error: String| unreadable("house", &error);
        match &self.source {
            Source::Keywords(fields) => table(fields.bind(py)),
            Source::Toml(text) => toml::from_str(text).map_err(|e| broken(e.to_string())),
            Source::Json(text) => serde_json::from_str(text).map_err(|e| broken(e.to_string())),
        }
    }

    fn from_text(
        text: &Bound<'_, PyString>,
        read: fn(&str) -> Result<house::House, house::HouseFileError>,
        source: fn(String) -> Source,
    ) -> PyResult<Self> {
        let py = text.py();
        let text = text.to_str().map_err(|error| {
            if !error.is_instance_of::<PyUnicodeEncodeError>(py) {
                return error;
            }
            let reason = "the text holds characters that UTF-8 cannot write".to_owned();
            house_file_error(py, house::HouseFileError::Unreadable { reason }, None)
        })?;
        let house = read(text).map_err(|error| house_file_error(py, error, None))?;
        Ok(Self { house, source: source(text.to_owned()) })
    }
}

#[pymethods]
impl House {
    #[new]
    #[pyo3(signature = (**fields))]
    fn new(py: Python<'_>, fields: Option<Bound<'_, PyDict>>) -> PyResult<Self> {
        Self::from_keywords(py, fields)
    }

    /// Reads a house file.
    ///
    /// Args:
    ///     path: A file that ends in `.toml` or `.json`.
    ///
    /// Returns:
    ///     The house.
    ///
    /// Raises:
    ///     OSError: Where the file cannot be read: `FileNotFoundError`, `IsADirectoryError`,
    ///         `PermissionError` and so on.
    ///     studbay.errors.HouseFileError: Where it is no house file: its ending, size, encoding or
    ///         syntax.
    ///     studbay.errors.InputError: With every fault of every field at once.
    #[staticmethod]
    fn from_file(py: Python<'_>, path: PathBuf) -> PyResult<Self> {
        let read = py.detach(|| house::read_house_file(&path));
        let refuse = |error| house_file_error(py, error, Some(&path));
        let (format, text) = read.map_err(refuse)?;
        let (house, source): (_, fn(String) -> Source) = match format {
            house::Format::Toml => (house::House::from_toml(&text), Source::Toml),
            house::Format::Json => (house::House::from_json(&text), Source::Json),
        };
        Ok(Self { house: house.map_err(refuse)?, source: source(text) })
    }

    /// Reads a house from TOML text.
    ///
    /// Args:
    ///     text: What a house file holds.
    ///
    /// Returns:
    ///     The house.
    ///
    /// Raises:
    ///     studbay.errors.HouseFileError: With the line and column of what is no TOML.
    ///     studbay.errors.InputError: With every fault of every field at once.
    #[staticmethod]
    fn from_toml(text: Bound<'_, PyString>) -> PyResult<Self> {
        Self::from_text(&text, house::House::from_toml, Source::Toml)
    }

    /// Reads a house from JSON text.
    ///
    /// Args:
    ///     text: What a house file holds.
    ///
    /// Returns:
    ///     The house.
    ///
    /// Raises:
    ///     studbay.errors.HouseFileError: With the line and column of what is no JSON.
    ///     studbay.errors.InputError: With every fault of every field at once.
    #[staticmethod]
    fn from_json(text: Bound<'_, PyString>) -> PyResult<Self> {
        Self::from_text(&text, house::House::from_json, Source::Json)
    }

    /// Your own name for the house.
    #[getter]
    fn house_id(&self) -> &str {
        self.house.house_id()
    }

    /// The file of rates that the table `job` names, by its path from the house file.
    #[getter]
    fn rates_file(&self) -> Option<&str> {
        self.house.job_plan().and_then(|plan| plan.rates.as_deref())
    }

    /// Assesses the house.
    ///
    /// Returns:
    ///     The figures and findings. They are modelled, not measured.
    #[inline]
    fn assess(slf: Bound<'_, Self>) -> Assessment {
        Assessment::new(slf.unbind())
    }

    /// The derivation of every figure, line by line.
    ///
    /// Returns:
    ///     Where each input comes from, and each intermediate figure with its formula, numbers,
    ///     unit and source: the record of the calculation itself, not a second one.
    fn explain(&self, py: Python<'_>) -> PyResult<Derivation> {
        Derivation::new(py, &self.house)
    }

    /// The assessment in words, for a person to read.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a hold first.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip", currency = "$"))]
    fn account(&self, units: &str, currency: &str) -> PyResult<Vec<Block>> {
        Ok(blocks(&self.house, unit_system(units)?, currency))
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let id = PyString::new(py, self.house.house_id()).repr()?;
        Ok(match self.house.surfaces() {
            [_] => format!("<House {id}: 1 surface>"),
            surfaces => format!("<House {id}: {} surfaces>", surfaces.len()),
        })
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.house == other.house
    }

    fn __hash__(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        self.house.house_id().hash(&mut hasher);
        // Zero and minus zero are equal.
        (self.house.offer().installed_cost + 0.0).to_bits().hash(&mut hasher);
        hasher.finish()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let restore = py.import("studbay._native")?.getattr("_restore_house")?;
        let (format, source) = match &self.source {
            // A copy, so that nobody can reach ours.
            Source::Keywords(fields) => ("keywords", copy(fields.bind(py))?),
            Source::Toml(text) => ("toml", PyString::new(py, text).into_any()),
            Source::Json(text) => ("json", PyString::new(py, text).into_any()),
        };
        Ok((restore, (format, source)).into_pyobject(py)?.into_any())
    }
}

/// Makes a house again from what pickle kept.
#[pyfunction(name = "_restore_house")]
pub(crate) fn restore_house(format: &str, source: Bound<'_, PyAny>) -> PyResult<House> {
    match format {
        "keywords" => House::from_keywords(source.py(), Some(source.cast_into()?)),
        "toml" => House::from_toml(source.cast_into()?),
        "json" => House::from_json(source.cast_into()?),
        other => Err(PyValueError::new_err(format!("a house was never kept as {other}"))),
    }
}

/// Assesses a house given by its fields.
///
/// What it loses now and after the fill, what that saves, what it costs and takes, and whether
/// the work may start.
///
/// Args:
///     **fields: The fields of `studbay.fields()`, each under its inch-pound or its SI name,
///         never both; `None` means not given. Money is in your own currency. Several surfaces
///         go into `surfaces=[{...}, ...]`: see `House`.
///
/// Returns:
///     The figures in both unit systems, and the findings. They are modelled, not measured.
///
/// Raises:
///     studbay.errors.InputError: With every fault of every field at once.
///
/// Examples:
///     >>> import studbay
///     >>> figures = studbay.assess(
///     ...     house_id="two-family",
///     ...     wall_area_ft2=1200,
///     ...     series_r=3.06,
///     ...     heating_degree_days_f=5600,
///     ...     heating_efficiency=0.8,
///     ...     fuel="natural_gas",
///     ...     fuel_price=1.5,
///     ...     installed_cost=2400,
///     ... )
///     >>> figures.readiness
///     'check'
#[pyfunction]
#[pyo3(signature = (**fields))]
pub(crate) fn assess(py: Python<'_>, fields: Option<Bound<'_, PyDict>>) -> PyResult<Assessment> {
    Ok(Assessment::new(Py::new(py, House::from_keywords(py, fields)?)?))
}
