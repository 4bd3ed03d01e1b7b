//! Break-even values and curves.

use super::account::{Block, html};
use super::errors::input_error;
use super::house::House;
use crate::goal::{self, Goal, Input, Span, blocks, curve_blocks, seek};
use crate::house::assess;
use crate::readiness::Readiness;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

/// Where an input of a house just meets a goal. Modelled, not measured.
#[pyclass(frozen, module = "studbay", name = "BreakEven")]
pub(crate) struct BreakEven {
    breaks: goal::Breaks,
    house_id: String,
}

#[pymethods]
impl BreakEven {
    /// The name of the input, as it was written.
    #[getter]
    fn field(&self) -> &'static str {
        self.breaks.input.name()
    }

    /// The goal in words.
    #[getter]
    fn goal(&self) -> String {
        self.breaks.goal.words()
    }

    /// The values at which the goal is just met, in their order.
    ///
    /// Empty where there is no such value in the range. Of a field of whole numbers, the first
    /// and last that meet the goal.
    #[getter]
    fn values<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.breaks.values)
    }

    /// From and to of each stretch in which the goal is met.
    #[getter]
    fn spans<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.breaks.spans.iter().map(|Span { from, to, .. }| (*from, *to)))
    }

    /// The range that was looked through.
    #[getter]
    fn range(&self) -> (f64, f64) {
        let [low, high] = self.breaks.range;
        (low, high)
    }

    /// The value that the house has now; `None` where it has none.
    #[getter]
    fn now(&self) -> Option<f64> {
        self.breaks.now
    }

    /// Whether the house meets the goal as it is; `None` where it has no such figure.
    #[getter]
    fn met_now(&self) -> Option<bool> {
        self.breaks.met_now
    }

    /// The search as a dict.
    ///
    /// Returns:
    ///     Its attributes under their names.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("house_id", &self.house_id)?;
        dict.set_item("field", self.field())?;
        dict.set_item("goal", self.goal())?;
        dict.set_item("values", &self.breaks.values)?;
        let spans: Vec<(f64, f64)> = self.breaks.spans.iter().map(|s| (s.from, s.to)).collect();
        dict.set_item("spans", spans)?;
        dict.set_item("range", self.breaks.range)?;
        dict.set_item("now", self.now())?;
        dict.set_item("met_now", self.met_now())?;
        Ok(dict)
    }

    /// The answer in words, for a person to read.
    ///
    /// Args:
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a hold first.
    #[pyo3(signature = (currency = "$"))]
    fn account(&self, currency: &str) -> Vec<Block> {
        blocks(&self.breaks, currency).into_iter().map(Block::from).collect()
    }

    fn __repr__(&self) -> String {
        format!("<BreakEven {}: {:?}, modelled>", self.field(), self.breaks.values)
    }

    fn _repr_html_(&self) -> String {
        html(&self.house_id, &self.account("$"))
    }
}

/// Finds the values of an input at which a goal is just met.
///
/// Args:
///     house: The house; all else stays as it is.
///     field: Any numeric field of `studbay.fields()` under either of its names, or
///         `cost_per_ft2` or `cost_per_m2`, the price of the job over the area.
///     goal: `"npv"` (a net present value of 0), `"payback"` (of `years`) or `"sir"` (a ratio
///         of 1).
///     years: The years of the goal `"payback"`.
///     surface: For a field of a surface, its name or its place counted from 1, where the house
///         has more than one.
///     low: Where to begin looking; the field's own range where left out.
///     high: Where to end.
///
/// Returns:
///     The values, and where the goal is met. Any of the values put back into the house gives
///     the goal.
///
/// Raises:
///     studbay.errors.InputError: For a field, goal, surface or range that there is not.
#[pyfunction]
#[pyo3(signature = (house, field, goal = "npv", *, years = None, surface = None, low = None, high = None))]
#[expect(clippy::too_many_arguments, reason = "they are keywords")]
pub(crate) fn break_even(
    py: Python<'_>,
    house: &House,
    field: &str,
    goal: &str,
    years: Option<f64>,
    surface: Option<&str>,
    low: Option<f64>,
    high: Option<f64>,
) -> PyResult<BreakEven> {
    let house = &house.house;
    let goal = Goal::from_key(goal, years).map_err(|issue| input_error(issue.into()))?;
    let input = Input::named(house, field, surface).map_err(|issue| input_error(issue.into()))?;
    let breaks = py.detach(|| seek(house, input, goal, low, high)).map_err(input_error)?;
    Ok(BreakEven { breaks, house_id: house.house_id().to_owned() })
}

/// Payback and worth of a house along one input. Modelled, not measured.
#[pyclass(frozen, module = "studbay", name = "Curve")]
pub(crate) struct Curve {
    drawn: goal::Curve,
    house_id: String,
    readiness: Readiness,
}

#[pymethods]
impl Curve {
    /// The name of the input, as it was written.
    #[getter]
    fn field(&self) -> &'static str {
        self.drawn.input.name()
    }

    /// The unit of the input; empty for a pure number and for money.
    #[getter]
    fn unit(&self) -> &'static str {
        self.drawn.input.unit()
    }

    /// The value that the house has now.
    #[getter]
    fn now(&self) -> Option<f64> {
        self.drawn.now
    }

    /// Its payback now; `None` where nothing is saved.
    #[getter]
    fn payback_now(&self) -> Option<f64> {
        self.drawn.payback_now
    }

    /// Years that are counted.
    #[getter]
    fn life_years(&self) -> u8 {
        self.drawn.life_years
    }

    /// Where the net present value is 0, in their order.
    #[getter]
    fn break_even<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.drawn.break_even)
    }

    /// Whether the fill is worth its cost as the house is now.
    #[getter]
    fn worth_now(&self) -> bool {
        self.drawn.worth_now
    }

    /// Whether the work may start: `hold`, `check` or `clear`.
    #[getter]
    fn readiness(&self) -> &'static str {
        self.readiness.as_str()
    }

    fn __len__(&self) -> usize {
        self.drawn.points.len()
    }

    /// The points as columns, for a data frame or a picture.
    ///
    /// Returns:
    ///     Lists of one length: `value`, `annual_savings`, `simple_payback_years`,
    ///     `payback_short`, `payback_long`, `discounted_payback_years`, `npv`, `sir`; `None` where
    ///     there is no such figure.
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        let points = || self.drawn.points.iter();
        dict.set_item("value", points().map(|p| p.value).collect::<Vec<_>>())?;
        dict.set_item("annual_savings", points().map(|p| p.annual_savings).collect::<Vec<_>>())?;
        let simple: Vec<_> = points().map(|p| p.simple_payback_years).collect();
        dict.set_item("simple_payback_years", simple)?;
        dict.set_item("payback_short", points().map(|p| p.payback_short).collect::<Vec<_>>())?;
        dict.set_item("payback_long", points().map(|p| p.payback_long).collect::<Vec<_>>())?;
        let discounted: Vec<_> = points().map(|p| p.discounted_payback_years).collect();
        dict.set_item("discounted_payback_years", discounted)?;
        dict.set_item("npv", points().map(|p| p.npv).collect::<Vec<_>>())?;
        dict.set_item("sir", points().map(|p| p.sir).collect::<Vec<_>>())?;
        Ok(dict)
    }

    /// The answer in words, for a person to read.
    ///
    /// Args:
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a hold first.
    #[pyo3(signature = (currency = "$"))]
    fn account(&self, currency: &str) -> Vec<Block> {
        let blocks = curve_blocks(&self.drawn, currency, self.readiness);
        blocks.into_iter().map(Block::from).collect()
    }

    fn __repr__(&self) -> String {
        format!("<Curve {}: {} points, modelled>", self.field(), self.drawn.points.len())
    }

    fn _repr_html_(&self) -> String {
        html(&self.house_id, &self.account("$"))
    }
}

/// The curve of payback and worth along an input; without one, along the thickness of the batt.
///
/// Args:
///     house: The house; all else stays as it is.
///     field: Any numeric field, as for `break_even`.
///     surface: For a field of a surface, its name or its place counted from 1, where the house
///         has more than one.
///     low: Where the curve begins; the field's own range where left out.
///     high: Where it ends; must be given for a field without an upper end, as a price.
///     points: How many points, 2 to 2000, at even steps.
///
/// Returns:
///     The points, the house as it is now, and where the net present value is 0.
///
/// Raises:
///     studbay.errors.InputError: For a field, surface, range or number of points that there is
///         not.
#[pyfunction]
#[pyo3(signature = (house, field = "batt_thickness_in", *, surface = None, low = None, high = None, points = 71))]
pub(crate) fn payback_curve(
    py: Python<'_>,
    house: &House,
    field: &str,
    surface: Option<&str>,
    low: Option<f64>,
    high: Option<f64>,
    points: usize,
) -> PyResult<Curve> {
    let house = &house.house;
    let input = Input::named(house, field, surface).map_err(|issue| input_error(issue.into()))?;
    let curve = py.detach(|| goal::curve(house, input, low, high, points)).map_err(input_error)?;
    let readiness = assess(house).readiness();
    Ok(Curve { drawn: curve, house_id: house.house_id().to_owned(), readiness })
}
