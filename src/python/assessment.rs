//! `Assessment` and `Finding`.

use super::account::{Block, blocks, html};
use super::derivation::Derivation;
use super::house::House;
use super::unit_system;
use crate::house::{self, RESULTS, ResultDef, ResultValue, assess};
use crate::readiness::{self, FindingDef};
use crate::units::UnitSystem;
use pyo3::prelude::*;
use pyo3::types::{PyCFunction, PyDict, PyString, PyTuple};
use std::borrow::Cow;

/// Of the contract's results this one is a list, and every attribute of it says more than a code.
const FINDINGS: &str = "findings";

/// The figures and findings of a house. Modelled, not measured.
///
/// What it loses now and after the fill, what that saves, what it costs and takes, and whether
/// the work may start. Every result of `studbay.results()` is an attribute under its inch-pound
/// and its SI name; `None` means that there is no such figure (no payback where nothing is
/// saved), never that it is unknown. Money is in the user's currency at today's prices.
///
/// An assessment never changes. It can be compared, pickled and used from many threads.
#[pyclass(frozen, module = "studbay", name = "Assessment")]
pub(crate) struct Assessment {
    assessment: house::Assessment,
    house: Py<House>,
}

/// Something that the reader of an assessment must know.
#[pyclass(frozen, get_all, eq, hash, module = "studbay", name = "Finding")]
#[derive(PartialEq, Eq, Hash)]
pub(crate) struct Finding {
    /// Its code, stable for programs.
    code: &'static str,
    /// `hold` (the work must not start), `check` (someone must look) or `note`.
    weight: &'static str,
    /// What was found and why it matters.
    reason: &'static str,
    /// Who may clear it; empty for a note.
    cleared_by: &'static str,
    /// Where the rule comes from; empty where there is nothing to cite.
    source: String,
}

impl From<&FindingDef> for Finding {
    fn from(def: &FindingDef) -> Self {
        Self {
            code: def.code,
            weight: def.weight.as_str(),
            reason: def.reason,
            cleared_by: def.cleared_by,
            source: def.citation.map(|citation| citation.to_string()).unwrap_or_default(),
        }
    }
}

#[pymethods]
impl Finding {
    fn __repr__(&self) -> String {
        format!("<Finding {}: {}>", self.code, self.weight)
    }
}

impl Assessment {
    #[inline]
    pub(super) fn new(house: Py<House>) -> Self {
        let assessment = assess(&house.get().house);
        Self { assessment, house }
    }
}

/// A result as a Python object.
struct Object(ResultValue);

impl<'py> IntoPyObject<'py> for Object {
    type Target = PyAny;
    type Output = Bound<'py, PyAny>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Self::Output> {
        Ok(match self.0 {
            ResultValue::Number(number) => number.into_pyobject(py)?,
            ResultValue::Word(word) => PyString::intern(py, word).into_any(),
            ResultValue::Words(words) => PyString::new(py, &words).into_any(),
        })
    }
}

/// Adds every result of an assessment to a dict, the findings as a list of their codes.
pub(super) fn results_dict(
    py: Python<'_>,
    dict: &Bound<'_, PyDict>,
    assessment: &house::Assessment,
    units: UnitSystem,
) -> PyResult<()> {
    for (name, value) in assessment.results(units) {
        let key = PyString::intern(py, name);
        if name == FINDINGS {
            let codes: Vec<_> = assessment.findings.iter().map(readiness::Finding::code).collect();
            dict.set_item(key, codes)?;
        } else {
            dict.set_item(key, Object(value))?;
        }
    }
    Ok(())
}

/// Gives the class a property for each name of each result: the registry is the only list of them.
pub(super) fn add_results(py: Python<'_>) -> PyResult<()> {
    let class = py.get_type::<Assessment>();
    let property = py.import("builtins")?.getattr("property")?;
    let add = |def: &'static ResultDef, name: &str, units: UnitSystem| {
        let read = move |args: &Bound<'_, PyTuple>, _: Option<&Bound<'_, PyDict>>| {
            let this = args.get_item(0)?.cast_into::<Assessment>()?;
            PyResult::Ok(
                Object(def.value(&this.get().assessment, units)).into_pyobject(args.py())?.unbind(),
            )
        };
        let read = PyCFunction::new_closure(py, None, None, read)?;
        let help = match def.quantity.unit(units) {
            "" => Cow::from(def.help),
            unit => format!("{}\n\nUnit: {unit}.", def.help).into(),
        };
        class.setattr(name, property.call1((read, py.None(), py.None(), help))?)
    };
    for def in RESULTS.iter().filter(|def| def.ip != FINDINGS) {
        add(def, def.ip, UnitSystem::Ip)?;
        if let Some(si) = def.si {
            add(def, si, UnitSystem::Si)?;
        }
    }
    Ok(())
}

#[pymethods]
impl Assessment {
    /// The house that was assessed.
    #[getter]
    fn house(&self, py: Python<'_>) -> Py<House> {
        self.house.clone_ref(py)
    }

    /// What the reader must know, the gravest first.
    #[getter]
    fn findings<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let findings: Vec<Finding> =
            self.assessment.findings.iter().map(|finding| finding.def().into()).collect();
        PyTuple::new(py, findings)
    }

    /// The heating fuel, by its key.
    #[getter]
    fn fuel(&self) -> &'static str {
        self.assessment.fuel.row().key
    }

    /// The unit of `fuel_saved`, as in therm.
    #[getter]
    fn fuel_unit(&self) -> &'static str {
        self.assessment.fuel.row().unit
    }

    /// The emissions that a kilowatt-hour was counted with, in words.
    #[getter]
    fn grid(&self) -> String {
        self.assessment.grid.words()
    }

    /// The results under their names in one unit system.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     `house_id` and then every result in the order of `studbay.results()`; the findings
    ///     as a list of their codes.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn to_dict<'py>(&self, py: Python<'py>, units: &str) -> PyResult<Bound<'py, PyDict>> {
        let units = unit_system(units)?;
        let dict = PyDict::new(py);
        let id = house::Field::HouseId.def().ip;
        dict.set_item(PyString::intern(py, id), self.house.get().house.house_id())?;
        results_dict(py, &dict, &self.assessment, units)?;
        Ok(dict)
    }

    /// The derivation of every figure, line by line.
    ///
    /// Returns:
    ///     As `House.explain`.
    fn explain(&self, py: Python<'_>) -> PyResult<Derivation> {
        Derivation::new(py, &self.house.get().house)
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
        Ok(blocks(&self.house.get().house, unit_system(units)?, currency))
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let id = PyString::new(py, self.house.get().house.house_id()).repr()?;
        let readiness = self.assessment.readiness().as_str();
        Ok(match self.assessment.simple_payback_years {
            Some(years) => {
                format!("<Assessment {id}: {readiness}, modelled payback {years:.1} years>")
            }
            None => format!("<Assessment {id}: {readiness}, modelled: no payback>"),
        })
    }

    fn _repr_html_(&self) -> String {
        let house = &self.house.get().house;
        html(house.house_id(), &blocks(house, UnitSystem::Ip, "$"))
    }

    // Everything in an assessment follows from its house.
    fn __eq__(&self, other: &Self) -> bool {
        self.house.get().house == other.house.get().house
    }

    fn __hash__(&self, py: Python<'_>) -> PyResult<isize> {
        self.house.bind(py).hash()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let assess = py.get_type::<House>().getattr("assess")?;
        Ok((assess, (self.house.clone_ref(py),)).into_pyobject(py)?.into_any())
    }
}
