//! House files of every stage, what the evidence proves, and many jobs.

use super::account::{Block, wrapped};
use super::batch::schema_fault;
use super::errors::{faulty, house_file_error, input_error};
use super::unit_system;
use crate::error::Issue;
use crate::evidence::{
    self, Chart, Confidence, Count, JobRecord, JobsError, Manner, Receipt, chart_document,
    jobs_account, proof_account, receipt_account, review_jobs as review, stages_document,
};
use crate::house::{HouseFileError, Raw};
use crate::stages::{self, Stage, Value, changes};
use pyo3::IntoPyObjectExt;
use pyo3::exceptions::PyOSError;
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyDict, PyFloat, PyInt, PyList, PyString};
use std::path::{Path, PathBuf};

fn one(issue: Issue) -> PyErr {
    input_error(issue.into())
}

/// A document as Python's own lists and dicts.
fn to_python<'py>(py: Python<'py>, value: &serde_json::Value) -> PyResult<Bound<'py, PyAny>> {
    use serde_json::Value as Json;
    Ok(match value {
        Json::Null => py.None().into_bound(py),
        Json::Bool(value) => PyBool::new(py, *value).to_owned().into_any(),
        Json::Number(number) => match (number.as_i64(), number.as_f64()) {
            (Some(whole), _) => PyInt::new(py, whole).into_any(),
            (None, Some(number)) => PyFloat::new(py, number).into_any(),
            (None, None) => py.None().into_bound(py),
        },
        Json::String(text) => PyString::new(py, text).into_any(),
        Json::Array(items) => {
            let items: Vec<_> =
                items.iter().map(|item| to_python(py, item)).collect::<PyResult<_>>()?;
            PyList::new(py, items)?.into_any()
        }
        Json::Object(members) => {
            let dict = PyDict::new(py);
            for (key, value) in members {
                dict.set_item(key, to_python(py, value)?)?;
            }
            dict.into_any()
        }
    })
}

/// A value of a house file; a date by its own text.
fn value_of(key: &str, value: &Bound<'_, PyAny>) -> PyResult<Value> {
    if let Ok(value) = value.cast::<PyBool>() {
        return Ok(Value::Bool(value.is_true()));
    }
    if let Ok(text) = value.cast::<PyString>() {
        let text = text.to_str()?;
        // A day as text is written as a day.
        let day = stages::date_of(&Raw::Text(text.to_owned()));
        return Ok(day.map_or_else(|_| Value::Text(text.to_owned()), Value::Date));
    }
    if value.hasattr("isoformat")? {
        let text: String = value.call_method0("isoformat")?.extract()?;
        return stages::date_of(&Raw::Text(text))
            .map(Value::Date)
            .map_err(|issue| one(issue.within(key)));
    }
    match value.extract::<f64>() {
        Ok(number) if number.is_finite() => Ok(Value::Number(number)),
        _ => {
            let shown = value.repr()?.to_string();
            Err(faulty(key, &shown, "must be a finite number, text, a date, true or false".into()))
        }
    }
}

fn stage_of(stage: &str) -> PyResult<Stage> {
    Stage::from_key(stage).map_err(one)
}

/// A house file with everything that was written down of a job, stage by stage.
///
/// Survey, offer, job, as built, follow-up: the plain house file is a survey; what comes later
/// stands in tables of its own. The text is kept to the letter, comments and unknown keys included;
/// a change gives another file and touches no other line.
///
/// `HouseFile.from_file`, `HouseFile.from_toml` and `HouseFile.from_json` read one.
#[pyclass(frozen, eq, module = "studbay", name = "HouseFile")]
#[derive(PartialEq)]
pub(crate) struct HouseFile(stages::HouseFile);

impl HouseFile {
    fn read(
        py: Python<'_>,
        file: Result<stages::HouseFile, HouseFileError>,
        path: Option<&Path>,
    ) -> PyResult<Self> {
        file.map(Self).map_err(|error| house_file_error(py, error, path))
    }

    fn record(&self, py: Python<'_>) -> PyResult<JobRecord> {
        JobRecord::read(&self.0).map_err(|error| house_file_error(py, error, None))
    }
}

#[pymethods]
impl HouseFile {
    /// Reads a house file.
    ///
    /// Args:
    ///     path: A file that ends in `.toml` or `.json`.
    ///
    /// Returns:
    ///     The file; only its syntax has been looked at.
    ///
    /// Raises:
    ///     OSError: Where the file cannot be read.
    ///     studbay.errors.HouseFileError: Where it is no house file: its ending, size, encoding or
    ///         syntax.
    #[staticmethod]
    fn from_file(py: Python<'_>, path: PathBuf) -> PyResult<Self> {
        let file = py.detach(|| stages::HouseFile::from_file(&path));
        Self::read(py, file, Some(&path))
    }

    /// Reads a house file from TOML text.
    ///
    /// Args:
    ///     text: What the file holds.
    ///
    /// Returns:
    ///     The file; only its syntax has been looked at.
    ///
    /// Raises:
    ///     studbay.errors.HouseFileError: With the line and column of what is no TOML.
    #[staticmethod]
    fn from_toml(py: Python<'_>, text: &str) -> PyResult<Self> {
        Self::read(py, stages::HouseFile::from_toml(text), None)
    }

    /// Reads a house file from JSON text.
    ///
    /// Args:
    ///     text: What the file holds.
    ///
    /// Returns:
    ///     The file; only its syntax has been looked at.
    ///
    /// Raises:
    ///     studbay.errors.HouseFileError: With the line and column of what is no JSON.
    #[staticmethod]
    fn from_json(py: Python<'_>, text: &str) -> PyResult<Self> {
        Self::read(py, stages::HouseFile::from_json(text), None)
    }

    /// The text, to the letter.
    #[getter]
    fn text(&self) -> &str {
        self.0.text()
    }

    /// `toml` or `json`.
    #[getter]
    fn format(&self) -> &'static str {
        if self.0.is_json() { "json" } else { "toml" }
    }

    /// The version that the file says it has; 1 where it says nothing.
    #[getter]
    fn schema_version(&self) -> PyResult<u32> {
        self.0.schema_version().map_err(input_error)
    }

    /// Each stage that the file has, with its day as text, or None where it says no day.
    ///
    /// Returns:
    ///     Pairs of stage and day, in the order of the stages.
    ///
    /// Raises:
    ///     studbay.errors.InputError: Where a day is no day, or the days are out of order.
    fn stages(&self) -> PyResult<Vec<(&'static str, Option<String>)>> {
        let stages = self.0.stages().map_err(input_error)?;
        Ok(stages.into_iter().map(|(s, date)| (s.as_str(), date.map(|d| d.to_string()))).collect())
    }

    /// The same file with one value changed or added.
    ///
    /// Args:
    ///     key: Its name.
    ///     value: A number, text, a date, true or false.
    ///     stage: The stage in whose table it stands: survey, offer, job, as_built, follow_up; None
    ///         for the head of the file.
    ///
    /// Returns:
    ///     Another file; every other line is as it was.
    ///
    /// Raises:
    ///     studbay.errors.InputError: Where the key is no plain word, or a list or table stands
    ///         there.
    #[pyo3(signature = (key, value, *, stage = None))]
    fn with_value(
        &self,
        py: Python<'_>,
        key: &str,
        value: &Bound<'_, PyAny>,
        stage: Option<&str>,
    ) -> PyResult<Self> {
        let stage = stage.map(stage_of).transpose()?;
        Self::read(py, self.0.with_value(stage, key, &value_of(key, value)?), None)
    }

    /// The same file with a row added to a list of a stage, as in a box to `calibration`.
    ///
    /// Args:
    ///     stage: The stage.
    ///     rows: The name of the list.
    ///     row: The row's values by name.
    ///
    /// Returns:
    ///     Another file; every other line is as it was.
    ///
    /// Raises:
    ///     studbay.errors.InputError: Where a key is no plain word, or something else than a list
    ///         of tables stands there.
    fn with_row(
        &self,
        py: Python<'_>,
        stage: &str,
        rows: &str,
        row: &Bound<'_, PyDict>,
    ) -> PyResult<Self> {
        let mut values = Vec::new();
        for (key, value) in row {
            let key: String = key.extract()?;
            let value = value_of(&key, &value)?;
            values.push((key, value));
        }
        Self::read(py, self.0.with_row(stage_of(stage)?, rows, &values), None)
    }

    /// The same file with the version of this library.
    ///
    /// Returns:
    ///     Another file, one line longer where it had no version.
    ///
    /// Raises:
    ///     studbay.errors.InputError: Where the file is newer than this library.
    fn upgraded(&self, py: Python<'_>) -> PyResult<Self> {
        Self::read(py, self.0.upgraded(), None)
    }

    /// Every value that differs.
    ///
    /// Args:
    ///     other: The file to compare with.
    ///
    /// Returns:
    ///     Path, value here and value there; None where there is none.
    fn changes(&self, other: &Self) -> Vec<(String, Option<String>, Option<String>)> {
        let changes = changes(&self.0, &other.0);
        changes.into_iter().map(|change| (change.path, change.before, change.after)).collect()
    }

    /// Writes the file whole or not at all.
    ///
    /// Args:
    ///     path: A name with the ending of the file's format. A file that is there is replaced.
    ///
    /// Raises:
    ///     OSError: What the system says.
    ///     studbay.errors.HouseFileError: Where the ending is that of the other format.
    fn save(&self, py: Python<'_>, path: PathBuf) -> PyResult<()> {
        let saved = py.detach(|| self.0.save(&path));
        saved.map_err(|error| house_file_error(py, error, Some(&path)))
    }

    /// Puts the evidence in the place of the assumptions and assesses the house again.
    ///
    /// Args:
    ///     confidence: Of the intervals, 0.5 to 0.999.
    ///
    /// Returns:
    ///     Promised, as built and measured, and what was found.
    ///
    /// Raises:
    ///     studbay.errors.InputError: With every fault: of the house, of the stages and their days,
    ///         and of what cannot be, as in more bays scanned than there are.
    #[pyo3(signature = (*, confidence = 0.95))]
    fn prove(&self, py: Python<'_>, confidence: f64) -> PyResult<AsBuilt> {
        let confidence = Confidence::new(confidence).map_err(one)?;
        let record = self.record(py)?;
        let proof = py.detach(|| evidence::prove(&record, confidence));
        let receipt = record.as_built.as_ref().map(|as_built| Receipt::new(&proof, as_built));
        Ok(AsBuilt { proof, receipt })
    }

    fn __repr__(&self) -> String {
        let stages = stages_document(&self.0).ok();
        let count = stages.and_then(|stages| stages.as_array().map(Vec::len));
        match count {
            Some(1) => format!("<HouseFile {}: 1 stage>", self.format()),
            Some(count) => format!("<HouseFile {}: {count} stages>", self.format()),
            None => format!("<HouseFile {}: stages with faults>", self.format()),
        }
    }
}

/// What the evidence of a job comes to.
///
/// Promised, as built and measured; the density of the bags, the tally of the scan with its
/// intervals, the charts of the machine, what missed bays cost, and what was found. Savings and
/// paybacks are modelled, but for the fuel that the bills say was saved.
#[pyclass(frozen, module = "studbay", name = "AsBuilt")]
pub(crate) struct AsBuilt {
    proof: evidence::Proof,
    receipt: Option<Receipt>,
}

#[pymethods]
impl AsBuilt {
    /// Your own name for the house.
    #[getter]
    fn house_id(&self) -> &str {
        self.proof.promised.house_id()
    }

    /// `hold` (do not work until the machine is adjusted), `check` (look) or `note`.
    #[getter]
    fn weight(&self) -> &'static str {
        self.proof.weight().as_str()
    }

    /// The codes of what was found, the gravest first.
    #[getter]
    fn codes(&self) -> Vec<&'static str> {
        self.proof.findings.iter().map(evidence::Found::code).collect()
    }

    /// Everything in it as lists and dicts.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`, for the figures of the assessments; what has its unit in its
    ///         name keeps it.
    ///
    /// Returns:
    ///     A new dict.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn to_dict<'py>(&self, py: Python<'py>, units: &str) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.proof.document(unit_system(units)?))
    }

    /// The evidence in words, for a person to read.
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
        let manner = Manner { units: unit_system(units)?, currency };
        Ok(wrapped(proof_account(&self.proof, manner)))
    }

    /// What a receipt for loose-fill insulation has to say by 16 CFR 460.17, part by part.
    ///
    /// Check the current rule before it is handed over.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     A new dict, with what is still missing; None before the work.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn receipt<'py>(&self, py: Python<'py>, units: &str) -> PyResult<Option<Bound<'py, PyAny>>> {
        let units = unit_system(units)?;
        self.receipt.as_ref().map(|receipt| to_python(py, &receipt.document(units))).transpose()
    }

    /// The receipt's entries as blocks, with lines for date and signature.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     Blocks to print one after the other; None before the work.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn receipt_account(&self, units: &str) -> PyResult<Option<Vec<Block>>> {
        let manner = Manner { units: unit_system(units)?, currency: "" };
        Ok(self.receipt.as_ref().map(|receipt| wrapped(receipt_account(receipt, manner))))
    }

    fn __repr__(&self) -> String {
        let found = self.proof.findings.len();
        format!("<AsBuilt {:?}: {}, {found} findings>", self.house_id(), self.weight())
    }
}

/// Many jobs with their evidence: which lie outside the limits of density or coverage.
///
/// `str()` of its CSV is in `csv`; `account()` tells it.
#[pyclass(frozen, module = "studbay", name = "JobsReview")]
pub(crate) struct JobsReview(evidence::JobsReview);

#[pymethods]
impl JobsReview {
    /// Everything in it as lists and dicts: jobs, rejects, crews, machines, charts.
    ///
    /// Returns:
    ///     A new dict.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.0.document())
    }

    /// The jobs outside the limits, then those not shown to be within, as CSV.
    #[getter]
    fn csv(&self) -> String {
        self.0.csv()
    }

    /// Rows that are no jobs.
    #[getter]
    fn rejected(&self) -> usize {
        self.0.rejects.len()
    }

    /// The review in words.
    ///
    /// Args:
    ///     rows: Jobs that are told one by one, at most.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a machine that must not work first.
    #[pyo3(signature = (*, rows = 25))]
    fn account(&self, rows: usize) -> Vec<Block> {
        wrapped(jobs_account(&self.0, rows))
    }

    fn __repr__(&self) -> String {
        let (jobs, listed) = (self.0.jobs.len(), self.0.listed().len());
        format!("<JobsReview: {jobs} jobs, {listed} listed, {} rejected>", self.0.rejects.len())
    }
}

/// Reads a CSV file of jobs, a row each, and lists those outside the limits.
///
/// A row has the fields of a house with one wall, and what was counted.
/// The columns of evidence are crew, machine, work_date, bags_used, bags_delivered, bays,
/// bays_scanned, cold_before, cold_after, inside_f, outside_f, wind_mph, sun_free_hours, box_date,
/// box_volume_ft3, box_mass_lb, box_setting and others: see docs/EVIDENCE.md. Other columns are
/// passed over.
///
/// Args:
///     path: The file.
///     confidence: Of the intervals, 0.5 to 0.999.
///
/// Returns:
///     The jobs outside the limits, by crew and machine. A row that is no job is rejected with
///     every fault.
///
/// Raises:
///     OSError: What the system says about the file.
///     studbay.errors.SchemaError: With every fault of the columns.
#[pyfunction]
#[pyo3(signature = (path, *, confidence = 0.95))]
pub(crate) fn review_jobs(py: Python<'_>, path: PathBuf, confidence: f64) -> PyResult<JobsReview> {
    let confidence = Confidence::new(confidence).map_err(one)?;
    let os = |error: std::io::Error| match error.raw_os_error() {
        Some(number) => {
            PyOSError::new_err((number, error.to_string(), path.as_os_str().to_owned()))
        }
        None => PyOSError::new_err(format!("{}: {error}", path.display())),
    };
    let file = std::fs::File::open(&path).map_err(os)?;
    match py.detach(|| review(std::io::BufReader::new(file), confidence)) {
        Ok(review) => Ok(JobsReview(review)),
        Err(JobsError::Io(error)) => Err(os(error)),
        Err(JobsError::Schema(error)) => Err(schema_fault(error)),
    }
}

/// How sure a counted share is.
///
/// Args:
///     found: How many were found.
///     seen: How many were looked at.
///     confidence: 0.5 to 0.999.
///     method: `"wilson"` (score interval) or `"exact"` (Clopper and Pearson).
///
/// Returns:
///     The ends of the interval, shares from 0 to 1.
///
/// Raises:
///     studbay.errors.InputError: Where more were found than seen, and the like.
#[pyfunction]
#[pyo3(signature = (found, seen, *, confidence = 0.95, method = "wilson"))]
pub(crate) fn share_interval(
    found: u32,
    seen: u32,
    confidence: f64,
    method: &str,
) -> PyResult<(f64, f64)> {
    let confidence = Confidence::new(confidence).map_err(one)?;
    let count = Count::new(found, seen).map_err(one)?;
    let interval = match method {
        "wilson" => count.wilson(confidence),
        "exact" => count.exact(confidence),
        other => return Err(faulty("method", other, "must be one of wilson, exact".to_owned())),
    };
    Ok((interval.low, interval.high))
}

/// How many of all may be such, where some were drawn without putting back: the exact interval.
///
/// Args:
///     found: How many were found.
///     seen: How many were looked at.
///     total: How many there are.
///     confidence: 0.5 to 0.999.
///
/// Returns:
///     The least and the greatest number of all.
///
/// Raises:
///     studbay.errors.InputError: Where more were seen than there are, and the like.
#[pyfunction]
#[pyo3(signature = (found, seen, total, *, confidence = 0.95))]
pub(crate) fn finite_interval(
    found: u32,
    seen: u32,
    total: u32,
    confidence: f64,
) -> PyResult<(u32, u32)> {
    let confidence = Confidence::new(confidence).map_err(one)?;
    Count::new(found, seen).and_then(|count| count.of_finite(total, confidence)).map_err(one)
}

/// The chart for single values and their moving range.
///
/// Args:
///     values: Finite numbers in the order in which they were taken.
///     baseline: How many of the first values the limits come from; None for all.
///
/// Returns:
///     `values`, `ranges`, `limits` (None for fewer than two values) and `signals`: place and one
///     of outside, jump, one_side, trend.
///
/// Raises:
///     studbay.errors.InputError: Where a value is not finite.
#[pyfunction]
#[pyo3(signature = (values, *, baseline = None))]
pub(crate) fn control_chart(
    py: Python<'_>,
    values: Vec<f64>,
    baseline: Option<usize>,
) -> PyResult<Bound<'_, PyAny>> {
    if let Some(place) = values.iter().position(|value| !value.is_finite()) {
        let shown = values.get(place).copied().into_py_any(py)?.to_string();
        return Err(faulty(&format!("values[{place}]"), &shown, "must be finite".to_owned()));
    }
    to_python(py, &chart_document(&Chart::new(&values, baseline)))
}
