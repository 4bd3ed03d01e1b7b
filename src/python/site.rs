//! The job: `JobSheet`, `Walk`, `Rates`, `BuildUp`.

use super::account::{Block, html, wrapped};
use super::errors::{house_file_error, input_error, refused};
use super::house::House;
use super::keywords::{table, to_python};
use super::unit_system;
use crate::costing::{self, RATES};
use crate::jobsheet::{self, Production};
use crate::walk::{self, Entry, Reader};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::path::PathBuf;

fn reader(word: &str) -> PyResult<Reader> {
    Reader::from_key(word).ok_or_else(|| {
        let words = Reader::ALL.map(Reader::key).join(", ");
        refused("reader", word, format!("must be one of {words}"))
    })
}

/// What the crew brings, opens, packs and checks.
///
/// Fibre and bags are those of the assessment with nothing missed, which is what a crew works to;
/// what the assessment itself counts stands beside. Bags are rounded up once for the job.
#[pyclass(frozen, eq, module = "studbay", name = "JobSheet")]
#[derive(PartialEq)]
pub(crate) struct JobSheet(jobsheet::JobSheet);

#[pymethods]
impl JobSheet {
    /// Your own name for the house.
    #[getter]
    fn house_id(&self) -> &str {
        &self.0.house_id
    }

    /// Bags to fill every cavity; the chart on the bag governs.
    #[getter]
    fn bags(&self) -> f64 {
        self.0.fibre.bags
    }

    /// Bags to bring, the spare with them.
    #[getter]
    fn bags_to_bring(&self) -> f64 {
        self.0.bags_to_bring
    }

    /// Days of the crew at the quickest and at the slowest.
    #[getter]
    fn crew_days(&self) -> (f64, f64) {
        (self.0.days.low, self.0.days.high)
    }

    /// The sheet as plain objects, each value under a name that carries its unit.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     Totals, `surfaces`, `steps` (the checks in order, each with its source) and `findings`.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn to_dict<'py>(&self, py: Python<'py>, units: &str) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.0.document(unit_system(units)?))
    }

    /// The sheet in words, a hold first.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     Blocks to print one after the other.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn account(&self, units: &str) -> PyResult<Vec<Block>> {
        Ok(wrapped(self.0.account(unit_system(units)?)))
    }

    fn _repr_html_(&self) -> PyResult<String> {
        Ok(html(&self.0.house_id, &self.account("ip")?))
    }

    fn __repr__(&self) -> String {
        format!("<JobSheet {:?}: {} bags to bring>", self.0.house_id, self.0.bags_to_bring)
    }
}

/// The walk through a house: every question of every surface, how it stands, who may clear it.
///
/// It repeats what was answered and recorded; it has seen nothing and certifies nothing.
#[pyclass(frozen, eq, module = "studbay", name = "Walk")]
#[derive(PartialEq)]
pub(crate) struct Walk(walk::Walk);

#[pymethods]
impl Walk {
    /// Your own name for the house.
    #[getter]
    fn house_id(&self) -> &str {
        &self.0.house_id
    }

    /// `hold`, `check` or `clear`: the gravest point, never less grave than the assessment.
    #[getter]
    fn readiness(&self) -> &'static str {
        self.0.readiness.as_str()
    }

    /// Points whose answer nobody knows.
    #[getter]
    fn unknown(&self) -> usize {
        self.0.unknown()
    }

    /// The walk as plain objects.
    ///
    /// Returns:
    ///     `readiness`, `points` (what is asked of which surface, how it stands, why it matters,
    ///     who may clear it, who is still needed, the source) and `looks` on record.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.0.document())
    }

    /// The walk in words, a hold first.
    ///
    /// Args:
    ///     reader: `"contractor"`, `"salesperson"` or `"owner"`: they differ in length, never in
    ///         substance.
    ///
    /// Returns:
    ///     Blocks to print one after the other.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word.
    #[pyo3(signature = (reader = "contractor"))]
    fn account(&self, reader: &str) -> PyResult<Vec<Block>> {
        Ok(wrapped(self.0.account(self::reader(reader)?)))
    }

    fn _repr_html_(&self) -> PyResult<String> {
        Ok(html(&self.0.house_id, &self.account("contractor")?))
    }

    fn __repr__(&self) -> String {
        format!("<Walk {:?}: {}>", self.0.house_id, self.0.readiness.as_str())
    }
}

/// Your own rates, each named with its unit; `studbay.rate_fields()` lists them.
///
/// Raises:
///     studbay.errors.InputError: With every fault: a name that no rate has, a number below
///         nothing.
#[pyclass(frozen, eq, module = "studbay", name = "Rates")]
#[derive(PartialEq)]
pub(crate) struct Rates(costing::Rates);

#[pymethods]
impl Rates {
    #[new]
    #[pyo3(signature = (**rates))]
    fn new(py: Python<'_>, rates: Option<Bound<'_, PyDict>>) -> PyResult<Self> {
        let rates = rates.unwrap_or_else(|| PyDict::new(py));
        costing::Rates::from_raw(&table(&rates)?).map(Self).map_err(input_error)
    }

    /// Reads a file of rates, TOML.
    ///
    /// Args:
    ///     path: The file.
    ///
    /// Returns:
    ///     The rates.
    ///
    /// Raises:
    ///     OSError: Where the file cannot be read.
    ///     studbay.errors.HouseFileError: With the line and column of what is no TOML.
    ///     studbay.errors.InputError: With every fault.
    #[staticmethod]
    fn from_file(py: Python<'_>, path: PathBuf) -> PyResult<Self> {
        let read = py.detach(|| costing::Rates::from_file(&path));
        read.map(Self).map_err(|error| house_file_error(py, error, Some(&path)))
    }

    fn __repr__(&self) -> String {
        let given = RATES
            .iter()
            .filter(|def| self.0.get(def.rate).is_some_and(|used| used.default.is_none()))
            .count();
        format!("<Rates: {given} given>")
    }
}

/// A price and its parts, by your own rates.
#[pyclass(frozen, module = "studbay", name = "BuildUp")]
pub(crate) struct BuildUp(costing::BuildUp);

#[pymethods]
impl BuildUp {
    /// Your own name for the house.
    #[getter]
    fn house_id(&self) -> &str {
        &self.0.house_id
    }

    /// The price: the sum of its parts.
    #[getter]
    fn installed_cost(&self) -> f64 {
        self.0.installed_cost
    }

    /// The price that the house file quotes; `None` where it is 0, which quotes nothing.
    #[getter]
    fn quoted(&self) -> Option<f64> {
        self.0.quoted
    }

    /// What each part comes to: labour, material, access_and_repair, fixed, overhead, margin.
    #[getter]
    fn parts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let parts = PyDict::new(py);
        for part in costing::Part::ALL {
            parts.set_item(part.as_str(), self.0.part(part))?;
        }
        Ok(parts)
    }

    /// Codes of what somebody should look at.
    #[getter]
    fn findings<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        PyList::new(py, self.0.findings.iter().map(|finding| finding.code()))
    }

    /// The build-up as plain objects.
    ///
    /// Returns:
    ///     `installed_cost`, `parts`, `quoted`, the paybacks at both, `lines` (quantity, unit,
    ///     rate, amount) and `findings`.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.0.document())
    }

    /// The build-up in words.
    ///
    /// Args:
    ///     currency: Label in front of amounts; nothing is converted.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a hold first.
    #[pyo3(signature = (currency = "$"))]
    fn account(&self, currency: &str) -> Vec<Block> {
        wrapped(self.0.account(currency))
    }

    fn _repr_html_(&self) -> String {
        html(&self.0.house_id, &self.account("$"))
    }

    fn __repr__(&self) -> String {
        format!("<BuildUp {:?}: {:.2}>", self.0.house_id, self.0.installed_cost)
    }
}

/// Makes the job sheet of a house, by the table `job` of its file where there is one.
///
/// Args:
///     house: The house.
///     rates: Your own rates, for the days; common practice without them.
///
/// Returns:
///     What the crew brings, opens, packs and checks.
#[pyfunction]
#[pyo3(signature = (house, rates = None))]
pub(crate) fn job_sheet(house: &House, rates: Option<&Rates>) -> JobSheet {
    let production = rates.map_or_else(Production::default, |rates| rates.0.production());
    JobSheet(jobsheet::job_sheet(&house.house, &production))
}

/// Walks through a house: what is asked of each surface, how it stands, who may clear it.
///
/// Args:
///     house: The house; looks on record are those of `clearances` in its file.
///
/// Returns:
///     The walk.
#[pyfunction]
pub(crate) fn walk_through(house: &House) -> Walk {
    Walk(walk::walk(&house.house))
}

/// Builds the price of a job up by your own rates, and compares the quoted price with it.
///
/// Args:
///     house: The house.
///     rates: Your own rates.
///
/// Returns:
///     The price with its parts, and what somebody should look at.
///
/// Raises:
///     studbay.errors.InputError: With every rate that this job needs and that is not given.
#[pyfunction]
pub(crate) fn build_up(house: &House, rates: &Rates) -> PyResult<BuildUp> {
    costing::build_up(&house.house, &rates.0).map(BuildUp).map_err(input_error)
}

/// The rates that a file of rates may hold.
///
/// Returns:
///     Of each: `name`, `name_si` or `None`, `range`, `default` or `None`, `help`.
#[pyfunction]
pub(crate) fn rate_fields(py: Python<'_>) -> PyResult<Bound<'_, PyList>> {
    let fields = PyList::empty(py);
    for def in RATES {
        let field = PyDict::new(py);
        field.set_item("name", def.name())?;
        field.set_item("name_si", def.name_si())?;
        field.set_item("range", def.range())?;
        let default = def
            .default
            .map(|constant| format!("{} ({})", constant.value, constant.citation.mark.words()));
        field.set_item("default", default)?;
        field.set_item("help", def.help)?;
        fields.append(field)?;
    }
    Ok(fields)
}

/// The text of a house file, TOML or JSON, with a look at its end; the rest stays as it is.
///
/// Args:
///     text: What the house file holds.
///     finding: What was looked at, by its code, as in `knob_and_tube`.
///     answer: `"no"` where it is cleared, `"yes"` where it is there, or `"unknown"`.
///     date: The day of the look, as in `2026-03-02`.
///     surface: The surface, or `"all"`; may be left out where the house has one.
///     cleared_by: Who looked: a role such as `licensed_electrician`, never a name.
///     evidence: What it rests on.
///
/// Returns:
///     The new text.
///
/// Raises:
///     studbay.errors.HouseFileError: Where the text is neither TOML nor JSON.
///     studbay.errors.InputError: Where the look lacks something, or its role may not clear it.
#[pyfunction]
#[pyo3(signature = (text, *, finding, answer, date, surface = "", cleared_by = "", evidence = ""))]
#[expect(clippy::too_many_arguments, reason = "keywords of a Python function")]
pub(crate) fn record_look(
    py: Python<'_>,
    text: &str,
    finding: &str,
    answer: &str,
    date: &str,
    surface: &str,
    cleared_by: &str,
    evidence: &str,
) -> PyResult<String> {
    let entry = Entry {
        finding: finding.to_owned(),
        surface: surface.to_owned(),
        answer: answer.to_owned(),
        cleared_by: cleared_by.to_owned(),
        date: date.to_owned(),
        evidence: evidence.to_owned(),
    };
    walk::recorded(text, &entry).map_err(|error| house_file_error(py, error, None))
}
