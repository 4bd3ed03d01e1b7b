//! `Derivation` and `Step`.

use crate::derivation::text;
use crate::house::{House, explain};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

/// One line of a derivation.
#[pyclass(frozen, get_all, eq, module = "studbay", name = "Step")]
#[derive(Clone, PartialEq)]
pub(crate) struct Step {
    /// The surface it belongs to, counted from 0; `None` for the house.
    surface: Option<usize>,
    /// Its symbol, as later formulas write it.
    symbol: &'static str,
    /// What it is, in words.
    what: &'static str,
    /// The formula with symbols; empty for an input.
    formula: String,
    /// The formula with numbers; empty for an input.
    numbers: String,
    /// What the functions in the formula compute; empty where it has none.
    functions: String,
    /// The value in inch-pound units; `None` where there is none (no payback, say).
    value: Option<f64>,
    /// The inch-pound unit; empty for a pure number.
    unit: &'static str,
    /// The value in SI units, where SI writes another number.
    value_si: Option<f64>,
    /// The SI unit, where SI writes another number.
    unit_si: &'static str,
    /// `given`, `given in SI`, `default`, `table` or `constant` for an input; `computed`.
    origin: &'static str,
    /// Where the number or the formula comes from; empty where there is nothing to cite.
    source: String,
}

impl From<crate::Step> for Step {
    fn from(step: crate::Step) -> Self {
        let crate::Step {
            surface,
            symbol,
            what,
            formula,
            numbers,
            functions,
            value,
            unit,
            value_si,
            unit_si,
            origin,
            source,
        } = step;
        Self {
            surface,
            symbol,
            what,
            formula,
            numbers,
            functions,
            value,
            unit,
            value_si,
            unit_si,
            origin,
            source,
        }
    }
}

#[pymethods]
impl Step {
    /// The step as a dict.
    ///
    /// Returns:
    ///     Its attributes under their names.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("surface", self.surface)?;
        dict.set_item("symbol", self.symbol)?;
        dict.set_item("what", self.what)?;
        dict.set_item("formula", &self.formula)?;
        dict.set_item("numbers", &self.numbers)?;
        dict.set_item("functions", &self.functions)?;
        dict.set_item("value", self.value)?;
        dict.set_item("unit", self.unit)?;
        dict.set_item("value_si", self.value_si)?;
        dict.set_item("unit_si", self.unit_si)?;
        dict.set_item("origin", self.origin)?;
        dict.set_item("source", &self.source)?;
        Ok(dict)
    }

    fn __repr__(&self) -> String {
        let value = self.value.map_or_else(|| "none".to_owned(), |value| value.to_string());
        format!("<Step {} = {value}>", self.symbol)
    }
}

/// How the figures of a house came about: a sequence of steps, each after what it uses.
///
/// `str()` gives it as text for a person to check by hand.
#[pyclass(frozen, sequence, module = "studbay", name = "Derivation")]
pub(crate) struct Derivation {
    house: House,
    steps: Py<PyTuple>,
}

impl Derivation {
    pub(super) fn new(py: Python<'_>, house: &House) -> PyResult<Self> {
        let steps = explain(house).into_iter().map(|step| Py::new(py, Step::from(step)));
        let steps = PyTuple::new(py, steps.collect::<PyResult<Vec<_>>>()?)?;
        Ok(Self { house: house.clone(), steps: steps.unbind() })
    }
}

#[pymethods]
impl Derivation {
    fn __len__(&self, py: Python<'_>) -> usize {
        self.steps.bind(py).len()
    }

    // A slice is a tuple of steps.
    fn __getitem__<'py>(&self, index: Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.steps.bind(index.py()).as_any().get_item(index)
    }

    fn __iter__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.steps.bind(py).as_any().try_iter()?.into_any())
    }

    fn __contains__(&self, step: Bound<'_, PyAny>) -> PyResult<bool> {
        self.steps.bind(step.py()).as_any().contains(&step)
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.house == other.house
    }

    fn __hash__(&self, py: Python<'_>) -> usize {
        self.__len__(py)
    }

    /// The steps as dicts.
    ///
    /// Returns:
    ///     One dict for each step, in their order.
    fn to_dicts<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        self.steps.bind(py).iter().map(|step| step.cast::<Step>()?.get().to_dict(py)).collect()
    }

    fn __str__(&self) -> String {
        text(&self.house)
    }

    fn __repr__(&self, py: Python<'_>) -> String {
        format!("<Derivation: {} steps>", self.__len__(py))
    }
}
