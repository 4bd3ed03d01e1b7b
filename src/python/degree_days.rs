//! What is counted from weather, as plain values.

use crate::climate;
use chrono::{Datelike, NaiveDate};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

/// A date of Python's.
pub(super) fn date(py: Python<'_>, date: NaiveDate) -> PyResult<Bound<'_, PyAny>> {
    let class = py.import("datetime")?.getattr("date")?;
    class.call1((date.year(), date.month(), date.day()))
}

/// One thing that a reader noticed in a weather file.
#[pyclass(frozen, get_all, eq, hash, module = "studbay.climate", name = "Remark")]
#[derive(PartialEq, Eq, Hash)]
pub(crate) struct Remark {
    /// The sort, stable for programs.
    code: &'static str,
    /// `note`, `warning` or `grave`.
    gravity: &'static str,
    /// How often it was met; 1 where counting has no meaning.
    count: usize,
    /// In words.
    text: String,
}

impl From<&climate::Remark> for Remark {
    fn from(remark: &climate::Remark) -> Self {
        Self {
            code: remark.code,
            gravity: remark.gravity.as_str(),
            count: remark.count,
            text: remark.text.clone(),
        }
    }
}

#[pymethods]
impl Remark {
    fn __repr__(&self) -> String {
        format!("<Remark {}: {}>", self.code, self.gravity)
    }
}

/// Degree-days of a series of days.
#[pyclass(frozen, module = "studbay.climate", name = "DegreeDays")]
pub(crate) struct DegreeDays(climate::DegreeDaySums);

impl From<climate::DegreeDaySums> for DegreeDays {
    fn from(sums: climate::DegreeDaySums) -> Self {
        Self(sums)
    }
}

fn rows<'py>(py: Python<'py>, sums: &[climate::Sum]) -> PyResult<Bound<'py, PyList>> {
    let rows = PyList::empty(py);
    for sum in sums {
        let row = PyDict::new(py);
        row.set_item("year", sum.year)?;
        if let Some(month) = sum.month {
            row.set_item("month", month)?;
        }
        row.set_item("heating", sum.heating)?;
        row.set_item("cooling", sum.cooling)?;
        row.set_item("days", sum.days)?;
        row.set_item("missing", sum.missing)?;
        rows.append(row)?;
    }
    Ok(rows)
}

#[pymethods]
impl DegreeDays {
    /// The base, °F.
    #[getter]
    fn base_f(&self) -> f64 {
        self.0.count.base_f()
    }

    /// The day rule: `max_min`, `mean` or `hours`.
    #[getter]
    fn rule(&self) -> &'static str {
        self.0.count.rule().as_str()
    }

    /// Whether temperatures were rounded to whole °F.
    #[getter]
    fn whole_degrees(&self) -> bool {
        self.0.count.whole_degrees()
    }

    /// How they were counted, in words.
    #[getter]
    fn counted_as(&self) -> String {
        self.0.count.words()
    }

    /// Heating degree-days of the whole series, °F·day.
    #[getter]
    fn heating(&self) -> f64 {
        self.0.total.heating
    }

    /// Cooling degree-days of the whole series, °F·day.
    #[getter]
    fn cooling(&self) -> f64 {
        self.0.total.cooling
    }

    /// Days that were counted.
    #[getter]
    fn days(&self) -> usize {
        self.0.total.days
    }

    /// Days between the first and the last without a value; they count nothing.
    #[getter]
    fn missing(&self) -> usize {
        self.0.total.missing
    }

    /// A dict for each month: `year`, `month`, `heating`, `cooling`, `days`, `missing`.
    #[getter]
    fn by_month<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        rows(py, &self.0.months)
    }

    /// A dict for each calendar year: `year`, `heating`, `cooling`, `days`, `missing`.
    #[getter]
    fn by_year<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        rows(py, &self.0.years)
    }

    fn __repr__(&self) -> String {
        format!(
            "<DegreeDays base {} °F, {}: heating {:.1}, cooling {:.1}, {} days, {} missing>",
            self.base_f(),
            self.rule(),
            self.heating(),
            self.cooling(),
            self.days(),
            self.missing()
        )
    }
}

/// Degree-days of a usual year: what a house is assessed with.
#[pyclass(frozen, get_all, module = "studbay.climate", name = "UsualYear")]
pub(crate) struct UsualYear {
    /// The base, °F.
    base_f: f64,
    /// The day rule: `max_min`, `mean` or `hours`.
    rule: &'static str,
    /// Heating degree-days, °F·day a year.
    heating: f64,
    /// Cooling degree-days at the same base, °F·day a year.
    cooling: f64,
    /// Which days it is made of, in words.
    basis: String,
    /// Days of those years without a value; they are not filled.
    missing: usize,
    /// The most that they could add to the heating of a year, °F·day.
    missing_at_most: f64,
}

impl From<climate::UsualYear> for UsualYear {
    fn from(year: climate::UsualYear) -> Self {
        Self {
            base_f: year.count.base_f(),
            rule: year.count.rule().as_str(),
            heating: year.heating,
            cooling: year.cooling,
            basis: year.basis_words(),
            missing: year.missing,
            missing_at_most: year.missing_at_most,
        }
    }
}

#[pymethods]
impl UsualYear {
    fn __repr__(&self) -> String {
        format!(
            "<UsualYear base {} °F, {}: heating {:.1}, cooling {:.1}; {}>",
            self.base_f, self.rule, self.heating, self.cooling, self.basis
        )
    }
}
