//! `BalanceSaving`.

use super::account::Block;
use super::unit_system;
use crate::climate::words::balance_blocks;
use crate::climate::{self, CountedSaving};
use crate::house::ResultValue;
use crate::units::UnitSystem;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// The saving of a house by three counts of the same assessment: modelled, not measured.
///
/// `fixed`: at the base of 65 °F. `held`: at the balance point that the house has now. `falling`:
/// with the balance point falling, as it does when the house loses less.
#[pyclass(frozen, module = "studbay.climate", name = "BalanceSaving")]
pub(crate) struct BalanceSaving(climate::BalanceSaving);

impl From<climate::BalanceSaving> for BalanceSaving {
    fn from(saving: climate::BalanceSaving) -> Self {
        Self(saving)
    }
}

/// The degree-days, then every result in inch-pound units.
fn counted<'py>(py: Python<'py>, saving: &CountedSaving) -> PyResult<Bound<'py, PyDict>> {
    let results = PyDict::new(py);
    results.set_item("heating_degree_days_f", saving.heating_degree_days)?;
    for (name, value) in saving.assessment.results(UnitSystem::Ip) {
        match value {
            ResultValue::Number(number) => results.set_item(name, number)?,
            ResultValue::Word(word) => results.set_item(name, word)?,
            ResultValue::Words(words) => results.set_item(name, words)?,
        }
    }
    Ok(results)
}

#[pymethods]
impl BalanceSaving {
    /// The balance point before the fill, °F.
    #[getter]
    fn balance_point_before_f(&self) -> f64 {
        self.0.before.balance_point_f()
    }

    /// The balance point after the fill, °F.
    #[getter]
    fn balance_point_after_f(&self) -> f64 {
        self.0.after.balance_point_f()
    }

    /// The gains, Btu/h, the same before and after.
    #[getter]
    fn gains_btu_h(&self) -> f64 {
        self.0.before.gains_btu_h()
    }

    /// The loss coefficient before the fill, Btu/h·°F.
    #[getter]
    fn loss_before_btu_h_f(&self) -> f64 {
        self.0.before.loss_btu_h_f()
    }

    /// The loss coefficient after the fill, Btu/h·°F.
    #[getter]
    fn loss_after_btu_h_f(&self) -> f64 {
        self.0.after.loss_btu_h_f()
    }

    /// Heating degree-days at the balance point before, °F·day.
    #[getter]
    fn degree_days_before(&self) -> f64 {
        self.0.years[0].heating
    }

    /// Heating degree-days at the balance point after, °F·day.
    #[getter]
    fn degree_days_after(&self) -> f64 {
        self.0.years[1].heating
    }

    /// At the fixed base of 65 °F: degree-days and every result, inch-pound.
    #[getter]
    fn fixed<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        counted(py, &self.0.fixed)
    }

    /// At the balance point that the house has now, as if it stayed.
    #[getter]
    fn held<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        counted(py, &self.0.held)
    }

    /// With the balance point falling.
    #[getter]
    fn falling<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        counted(py, &self.0.falling)
    }

    /// The three counts in words, each explained, with the arithmetic.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     Blocks to print one after the other.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip", currency = "$"))]
    fn account(&self, units: &str, currency: &str) -> PyResult<Vec<Block>> {
        let blocks = balance_blocks(&self.0, unit_system(units)?, currency);
        Ok(blocks.into_iter().map(Block::from).collect())
    }

    fn __repr__(&self) -> String {
        format!(
            "<BalanceSaving: balance point {:.1} to {:.1} °F>",
            self.balance_point_before_f(),
            self.balance_point_after_f()
        )
    }
}
