//! The money functions that stand on their own.

use super::errors::refused;
use crate::money;
use pyo3::exceptions::PyException;
use pyo3::prelude::*;

/// Longest life that the sums are built for.
const MOST_YEARS: i64 = 127;

fn finite(name: &str, value: f64) -> PyResult<f64> {
    if value.is_finite() {
        return Ok(value);
    }
    Err(refused(name, &value.to_string(), "is not a finite number".to_owned()))
}

/// Money cannot lose more than all of itself in a year.
fn rate(name: &str, value: f64) -> PyResult<f64> {
    if finite(name, value)? > -1.0 {
        return Ok(value);
    }
    Err(refused(name, &value.to_string(), "allowed is above -1".to_owned()))
}

fn whole_years(least: i64, years: i64) -> PyResult<u8> {
    u8::try_from(years).ok().filter(|_| (least..=MOST_YEARS).contains(&years)).ok_or_else(|| {
        let reason = format!("allowed is whole number, {least} to {MOST_YEARS} years");
        refused("years", &years.to_string(), reason)
    })
}

/// Any run of numbers: a list, a tuple, an array, a column.
fn all_finite(flows: &Bound<'_, PyAny>) -> PyResult<Vec<f64>> {
    let mut numbers = Vec::new();
    for (place, flow) in flows.try_iter()?.enumerate() {
        let name = format!("flows[{place}]");
        let flow = flow?;
        let number = flow.extract().map_err(|error: PyErr| {
            if !error.is_instance_of::<PyException>(flow.py()) {
                return error;
            }
            let shown = flow.str().map_or_else(|_| String::new(), |text| text.to_string());
            refused(&name, &shown, "is not a number".to_owned())
        })?;
        numbers.push(finite(&name, number)?);
    }
    Ok(numbers)
}

/// Present value of 1 at the end of each year, growing by `escalation` a year.
///
/// Args:
///     discount_rate: Share a year, above -1.
///     escalation: Share a year, above -1; both rates real, or both nominal.
///     years: Whole number, 0 to 127.
///
/// Returns:
///     The sum of `((1 + escalation) / (1 + discount_rate)) ** t` for t from 1 to `years`:
///     exactly `years` where the two rates are equal.
///
/// Raises:
///     studbay.errors.InputError: For an argument outside its range.
#[pyfunction]
pub(crate) fn growing_annuity(discount_rate: f64, escalation: f64, years: i64) -> PyResult<f64> {
    Ok(money::growing_annuity(
        rate("discount_rate", discount_rate)?,
        rate("escalation", escalation)?,
        whole_years(0, years)?,
    ))
}

/// Net present value of a flow now and then at the end of each year.
///
/// Args:
///     rate: Discount rate, share a year, above -1.
///     flows: Money now, after one year, after two, and so on; an outlay is negative.
///
/// Returns:
///     The sum of `flows[t] / (1 + rate) ** t` for t from 0.
///
/// Raises:
///     studbay.errors.InputError: For a rate outside its range or a flow that is no finite
///         number.
#[pyfunction]
#[pyo3(signature = (rate, flows))]
pub(crate) fn net_present_value(rate: f64, flows: Bound<'_, PyAny>) -> PyResult<f64> {
    Ok(money::net_present_value(self::rate("rate", rate)?, &all_finite(&flows)?))
}

/// Internal rate of return of an outlay and the savings that follow.
///
/// Args:
///     flows: Money now, after one year, after two, and so on; an outlay is negative.
///
/// Returns:
///     The rate at which the net present value is 0. `None` where the flows do not change their
///     sign exactly once, an outlay first: then there is no rate, or more than one.
///
/// Raises:
///     studbay.errors.InputError: For a flow that is no finite number.
#[pyfunction]
pub(crate) fn internal_rate_of_return(flows: Bound<'_, PyAny>) -> PyResult<Option<f64>> {
    Ok(money::internal_rate_of_return(&all_finite(&flows)?))
}

/// Adjusted internal rate of return, as 10 CFR 436 has it.
///
/// Args:
///     discount_rate: Share a year, above -1.
///     sir: Savings-to-investment ratio.
///     years: Whole number, 1 to 127.
///
/// Returns:
///     `(1 + discount_rate) * sir ** (1 / years) - 1`; `None` where `sir` is not above 0.
///
/// Raises:
///     studbay.errors.InputError: For an argument outside its range.
#[pyfunction]
pub(crate) fn adjusted_internal_rate(
    discount_rate: f64,
    sir: f64,
    years: i64,
) -> PyResult<Option<f64>> {
    Ok(money::adjusted_internal_rate(
        rate("discount_rate", discount_rate)?,
        finite("sir", sir)?,
        whole_years(1, years)?,
    ))
}
