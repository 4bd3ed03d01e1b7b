//! Options of a house, side by side.

use super::account::{Block, html};
use super::assessment::results_dict;
use super::errors::input_error;
use super::house::House;
use super::keywords::list;
use super::unit_system;
use crate::choices::{self, OptionSpec, blocks, compare, stated, usual};
use crate::house::{Raw, beside};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

/// What an option adds over the next cheaper one.
#[pyclass(frozen, get_all, eq, module = "studbay", name = "OptionStep")]
#[derive(PartialEq)]
pub(crate) struct OptionStep {
    /// The option that it is compared with.
    over: String,
    /// Net cost on top.
    net_cost: f64,
    /// Saved a year on top, at today's prices.
    annual_savings: f64,
    /// Extra cost over extra yearly savings; `None` where nothing more is saved.
    simple_payback_years: Option<f64>,
    /// When the extra savings, discounted, reach the extra cost; `None` beyond the life.
    discounted_payback_years: Option<f64>,
    /// Net present value of the step.
    npv: f64,
    /// Extra discounted savings over extra cost; `None` where no more is paid.
    sir: Option<f64>,
}

#[pymethods]
impl OptionStep {
    fn __repr__(&self) -> String {
        format!("<OptionStep over {:?}: npv {:.0}, modelled>", self.over, self.npv)
    }
}

/// One option of a comparison. Modelled, not measured.
#[pyclass(frozen, module = "studbay", name = "OptionRow")]
pub(crate) struct OptionRow {
    row: choices::Row,
    step: Option<Py<OptionStep>>,
    outdone_by: Option<String>,
    best: bool,
}

#[pymethods]
impl OptionRow {
    /// Its name.
    #[getter]
    fn name(&self) -> &str {
        &self.row.choice.name
    }

    /// What is done: `nothing`, `top_up` or `remove_and_fill`.
    #[getter]
    fn work(&self) -> &'static str {
        self.row.choice.work.as_str()
    }

    /// The surfaces that are treated, counted from 0.
    #[getter]
    fn treated<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.row.choice.treated)
    }

    /// The price of all of it: the fill, making good, and taking the batt out.
    #[getter]
    fn price(&self) -> f64 {
        self.row.choice.house.offer().installed_cost
    }

    /// The price of the fill itself.
    #[getter]
    fn fill_cost(&self) -> f64 {
        self.row.choice.fill_cost
    }

    /// Drilling and making good, where it is not in the price of the fill.
    #[getter]
    fn repair_cost(&self) -> f64 {
        self.row.choice.repair_cost
    }

    /// Opening the wall, taking the batt out and closing it again.
    #[getter]
    fn removal_cost(&self) -> f64 {
        self.row.choice.removal_cost
    }

    /// Cost after rebate and tax credit.
    #[getter]
    fn net_cost(&self) -> f64 {
        self.row.assessment.net_cost
    }

    /// Saved a year at today's prices.
    #[getter]
    fn annual_savings(&self) -> f64 {
        self.row.assessment.annual_savings
    }

    /// What the surfaces still cost to heat and cool a year, at today's prices.
    #[getter]
    fn running_cost(&self) -> f64 {
        self.row.running_cost
    }

    /// The same over the life, not discounted.
    #[getter]
    fn lifetime_running_cost(&self) -> f64 {
        self.row.lifetime_running_cost
    }

    /// Net cost and discounted running cost over the life.
    #[getter]
    fn life_cycle_cost(&self) -> f64 {
        self.row.life_cycle_cost
    }

    /// Net cost over yearly savings; `None` where nothing is saved.
    #[getter]
    fn simple_payback_years(&self) -> Option<f64> {
        self.row.assessment.simple_payback_years
    }

    /// The shorter end of the payback's range; `None` where there is no payback.
    #[getter]
    fn payback_short(&self) -> Option<f64> {
        self.row.payback_range.map(|(short, _)| short)
    }

    /// The longer end; `None` where it may never pay back.
    #[getter]
    fn payback_long(&self) -> Option<f64> {
        self.row.payback_range.and_then(|(_, long)| long)
    }

    /// Net present value over the life.
    #[getter]
    fn npv(&self) -> f64 {
        self.row.assessment.npv
    }

    /// Savings-to-investment ratio; `None` where nothing is paid.
    #[getter]
    fn sir(&self) -> Option<f64> {
        self.row.assessment.sir
    }

    /// Codes of the holds that rule it out; empty where nothing does.
    #[getter]
    fn ruled_out<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.row.ruled_out.iter().map(|finding| finding.code()))
    }

    /// An option that costs no more and saves no less; `None` where there is none.
    #[getter]
    fn outdone_by(&self) -> Option<&str> {
        self.outdone_by.as_deref()
    }

    /// Whether it has the least cost in all of what may be done.
    #[getter]
    fn best(&self) -> bool {
        self.best
    }

    /// The step from the next cheaper option; `None` for doing nothing.
    #[getter]
    fn step(&self, py: Python<'_>) -> Option<Py<OptionStep>> {
        self.step.as_ref().map(|step| step.clone_ref(py))
    }

    /// What it costs to do it a year later, over the same years; negative where waiting pays.
    #[getter]
    fn cost_of_waiting(&self) -> f64 {
        self.row.cost_of_waiting
    }

    /// What was taken for it because the user did not say: words, amount, source of each.
    #[getter]
    fn assumptions(&self) -> Vec<(String, Option<f64>, String)> {
        let told = self.row.choice.assumptions.iter();
        told.map(|a| (a.what.clone(), a.amount, a.citation.to_string())).collect()
    }

    /// The option as a dict, for a row of a table.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     Its attributes, then every result of its assessment under the names of
    ///     `studbay.results()`. The step is flat, its names with `step_` before them.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn to_dict<'py>(&self, py: Python<'py>, units: &str) -> PyResult<Bound<'py, PyDict>> {
        let units = unit_system(units)?;
        let dict = PyDict::new(py);
        let row = &self.row;
        dict.set_item("name", self.name())?;
        dict.set_item("work", self.work())?;
        dict.set_item("price", self.price())?;
        dict.set_item("fill_cost", row.choice.fill_cost)?;
        dict.set_item("repair_cost", row.choice.repair_cost)?;
        dict.set_item("removal_cost", row.choice.removal_cost)?;
        dict.set_item("running_cost", row.running_cost)?;
        dict.set_item("lifetime_running_cost", row.lifetime_running_cost)?;
        dict.set_item("life_cycle_cost", row.life_cycle_cost)?;
        dict.set_item("payback_short", self.payback_short())?;
        dict.set_item("payback_long", self.payback_long())?;
        dict.set_item("cost_of_waiting", row.cost_of_waiting)?;
        let codes: Vec<&str> = row.ruled_out.iter().map(|finding| finding.code()).collect();
        dict.set_item("ruled_out", codes)?;
        dict.set_item("outdone_by", self.outdone_by())?;
        dict.set_item("best", self.best)?;
        let step = self.step.as_ref().map(Py::get);
        dict.set_item("step_over", step.map(|s| s.over.as_str()))?;
        dict.set_item("step_net_cost", step.map(|s| s.net_cost))?;
        dict.set_item("step_annual_savings", step.map(|s| s.annual_savings))?;
        dict.set_item("step_simple_payback_years", step.and_then(|s| s.simple_payback_years))?;
        dict.set_item(
            "step_discounted_payback_years",
            step.and_then(|s| s.discounted_payback_years),
        )?;
        dict.set_item("step_npv", step.map(|s| s.npv))?;
        dict.set_item("step_sir", step.and_then(|s| s.sir))?;
        results_dict(py, &dict, &row.assessment, units)?;
        Ok(dict)
    }

    fn __repr__(&self) -> String {
        let held = if self.row.ruled_out.is_empty() { "" } else { "HOLD, " };
        format!("<OptionRow {:?}: {held}npv {:.0}, modelled>", self.name(), self.npv())
    }
}

/// The options of a house side by side, the cheapest first. Modelled, not measured.
#[pyclass(frozen, module = "studbay", name = "Comparison")]
pub(crate) struct Comparison {
    comparison: choices::Comparison,
    rows: Vec<Py<OptionRow>>,
}

#[pymethods]
impl Comparison {
    /// A row for each option, by net cost; doing nothing comes first.
    #[getter]
    fn rows<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.rows.iter().map(|row| row.clone_ref(py)))
    }

    /// The option with the least cost in all of those that nothing holds.
    #[getter]
    fn best(&self) -> &str {
        self.comparison.rows.get(self.comparison.best).map_or("", |row| &row.choice.name)
    }

    /// What the surfaces cost a year as they stand, at today's prices.
    #[getter]
    fn annual_cost(&self) -> f64 {
        self.comparison.idle.annual_cost
    }

    /// The same over the life, not discounted.
    #[getter]
    fn lifetime_cost(&self) -> f64 {
        self.comparison.idle.lifetime_cost
    }

    /// The same over the life, discounted to today.
    #[getter]
    fn present_cost(&self) -> f64 {
        self.comparison.idle.present_cost
    }

    /// The options as dicts, for a table.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     As `OptionRow.to_dict`, one for each option.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn to_dicts<'py>(&self, py: Python<'py>, units: &str) -> PyResult<Vec<Bound<'py, PyDict>>> {
        self.rows.iter().map(|row| row.get().to_dict(py, units)).collect()
    }

    /// The options as columns, in words.
    ///
    /// Args:
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     The names of the options; then each figure as its label and a text for each option.
    #[pyo3(signature = (currency = "$"))]
    fn side_by_side(&self, currency: &str) -> (Vec<String>, Vec<(String, Vec<String>)>) {
        choices::side_by_side(&self.comparison, currency)
    }

    /// The comparison in words, for a person to read.
    ///
    /// Args:
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a hold first.
    #[pyo3(signature = (currency = "$"))]
    fn account(&self, currency: &str) -> Vec<Block> {
        blocks(&self.comparison, currency).into_iter().map(Block::from).collect()
    }

    fn __repr__(&self) -> String {
        format!(
            "<Comparison {:?}: {} options, modelled>",
            self.comparison.house.house_id(),
            self.rows.len()
        )
    }

    fn _repr_html_(&self) -> String {
        html(self.comparison.house.house_id(), &self.account("$"))
    }
}

/// Compares what can be done with a house: leave it, fill over the batt, take the batt out.
///
/// Args:
///     house: The house.
///     options: A dict for each option: `name`, `work` (`nothing`, `top_up`, `remove_and_fill`),
///         `surfaces` (names of those that are treated, all where left out), `access`,
///         `repair_cost`, `removal_cost`, and any field of the work, as in `installed_cost`,
///         `fill_density_lb_ft3`, `missed_fraction`. Left out, the options of the house file are
///         taken, or the usual ones where it states none.
///
/// Returns:
///     A row for each option, the cheapest first; doing nothing is always among them.
///
/// Raises:
///     studbay.errors.InputError: With every fault of every option.
#[pyfunction]
#[pyo3(signature = (house, options = None))]
pub(crate) fn compare_options(
    py: Python<'_>,
    house: &House,
    options: Option<Bound<'_, PyAny>>,
) -> PyResult<Comparison> {
    let specs = match options {
        Some(options) => {
            let raw = Raw::Table(vec![("options".to_owned(), list("options", &options)?)]);
            beside(&raw, "options", OptionSpec::from_raw).map_err(input_error)?
        }
        None => stated(&house.document(py)?).map_err(input_error)?,
    };
    let house = &house.house;
    let specs = if specs.is_empty() { usual(house) } else { specs };
    let comparison = py.detach(|| compare(house, &specs)).map_err(input_error)?;
    let name = |place: usize| -> String {
        comparison.rows.get(place).map(|row| row.choice.name.clone()).unwrap_or_default()
    };
    let rows = comparison
        .rows
        .iter()
        .enumerate()
        .map(|(place, row)| {
            let step = row.step.map(|s| OptionStep {
                over: name(s.over),
                net_cost: s.net_cost,
                annual_savings: s.annual_savings,
                simple_payback_years: s.simple_payback_years,
                discounted_payback_years: s.discounted_payback_years,
                npv: s.npv,
                sir: s.sir,
            });
            let step = step.map(|step| Py::new(py, step)).transpose()?;
            let outdone_by = row.outdone_by.map(name);
            let best = place == comparison.best;
            Py::new(py, OptionRow { row: row.clone(), step, outdone_by, best })
        })
        .collect::<PyResult<_>>()?;
    Ok(Comparison { comparison, rows })
}
