//! `Moisture`: the vapour check of a wall, and what it is made of.

use super::account::Block;
use super::comfort::{batt_side, number};
use super::errors::{faulty, input_error};
use super::house::House;
use super::unit_system;
use crate::comfort::Given;
use crate::moisture::{self, CheckedPath, Hindrance, Month, MouldPath, OutdoorMonth, RawQuestion};
use crate::tables::{PERMEANCES, PermeanceRole};
use pyo3::exceptions::PyException;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

/// A moisture check of a filled wall: steady-state vapour diffusion by month, after ISO 13788.
///
/// Where vapour condenses in the wall, how much, and whether it dries; and how humid the inside
/// surface is. A screen, no proof: what it leaves out stands in `limits` and in every account, and
/// none of its findings is a pass.
#[pyclass(frozen, module = "studbay", name = "Moisture")]
pub(crate) struct Moisture {
    moisture: moisture::Moisture,
    house: Py<House>,
}

#[pymethods]
impl Moisture {
    /// Codes of what was found, the gravest first; never empty.
    #[getter]
    fn findings(&self) -> Vec<&'static str> {
        self.moisture.findings.iter().map(|finding| finding.code()).collect()
    }

    /// What the check leaves out.
    #[getter]
    fn limits(&self) -> Vec<&'static str> {
        moisture::words::LIMITS.to_vec()
    }

    /// The most condensate in a filled bay at the end of a month, kg/m².
    #[getter]
    fn peak_kg_m2(&self) -> f64 {
        self.moisture.after.iter().map(|path| path.year.peak_kg_m2()).fold(0.0, f64::max)
    }

    /// The most condensate left in a filled bay after a year, kg/m².
    #[getter]
    fn left_kg_m2(&self) -> f64 {
        self.moisture.after.iter().map(|path| path.year.left_kg_m2()).fold(0.0, f64::max)
    }

    /// The check as plain objects, in SI units.
    ///
    /// Returns:
    ///     `surface`, `indoor_c`, `findings` (dicts with `code`, `weight`, `reason`, `cleared_by`,
    ///     `source`), `limits`, `mould` (`month`, `factor_needed`, and paths `before` and `after`
    ///     with `place`, `state`, `share`, `factor`, `surface_rh`, `at_risk`), and the bays
    ///     `before` and `after`. A bay has `place`, `state`, `share`, `peak_kg_m2`, `left_kg_m2`,
    ///     `dry_by` (a month or `None`), `layers` from the room outward (`name`, `perms`, `sd_m`,
    ///     `rsi`, `source`), `nodes` (`place`, `sd_m`, `rsi` from the room's air), and `months` in
    ///     the order of the calculation: `month`, `outdoor_c`, `outdoor_rh`, `outdoor_pa`,
    ///     `indoor_pa`, `surface_wet`, `vapour_in_kg_m2`, `vapour_out_kg_m2`, and lists with one
    ///     entry for each node: `temperature_c`, `saturation_pa`, `pressure_pa` (at the month's
    ///     beginning), `gained_kg_m2` and `held_kg_m2` (at its end).
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("surface", &self.moisture.surface)?;
        dict.set_item("indoor_c", self.moisture.question.room().c())?;
        let findings = PyList::empty(py);
        for finding in &self.moisture.findings {
            let def = finding.def();
            let entry = PyDict::new(py);
            entry.set_item("code", def.code)?;
            entry.set_item("weight", def.weight.as_str())?;
            entry.set_item("reason", def.reason)?;
            entry.set_item("cleared_by", def.cleared_by)?;
            entry.set_item("source", def.citation.to_string())?;
            findings.append(entry)?;
        }
        dict.set_item("findings", findings)?;
        dict.set_item("limits", self.limits())?;
        let mould = PyDict::new(py);
        mould.set_item("month", self.moisture.mould.month)?;
        mould.set_item("factor_needed", self.moisture.mould.factor_needed)?;
        for (when, paths) in
            [("before", &self.moisture.mould.before), ("after", &self.moisture.mould.after)]
        {
            mould.set_item(when, list(py, paths, mould_path)?)?;
        }
        dict.set_item("mould", mould)?;
        for (when, paths) in [("before", &self.moisture.before), ("after", &self.moisture.after)] {
            dict.set_item(when, list(py, paths, checked)?)?;
        }
        Ok(dict)
    }

    /// The check in words, for a person to read.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///
    /// Returns:
    ///     Blocks to print one after the other: the house's holds first, the limits last.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For any other word for `units`.
    #[pyo3(signature = (units = "ip"))]
    fn account(&self, units: &str) -> PyResult<Vec<Block>> {
        let blocks = self.moisture.account(&self.house.get().house, unit_system(units)?);
        Ok(blocks.into_iter().map(Block).collect())
    }

    fn __repr__(&self) -> String {
        format!("<Moisture: {}>", self.findings().join(", "))
    }
}

fn list<'py, T>(
    py: Python<'py>,
    items: &[T],
    entry: impl Fn(Python<'py>, &T) -> PyResult<Bound<'py, PyDict>>,
) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for item in items {
        list.append(entry(py, item)?)?;
    }
    Ok(list)
}

fn mould_path<'py>(py: Python<'py>, path: &MouldPath) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("place", path.place.as_str())?;
    dict.set_item("state", path.state.as_str())?;
    dict.set_item("share", path.share)?;
    dict.set_item("factor", path.factor)?;
    dict.set_item("surface_rh", path.surface_rh)?;
    dict.set_item("at_risk", path.at_risk())?;
    Ok(dict)
}

fn hindrance<'py>(py: Python<'py>, layer: &Hindrance) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("name", &layer.name)?;
    dict.set_item("perms", layer.perms)?;
    dict.set_item("sd_m", layer.sd_m)?;
    dict.set_item("rsi", layer.r.si())?;
    dict.set_item("source", layer.row.map(|row| row.citation.to_string()))?;
    Ok(dict)
}

fn month_dict<'py>(py: Python<'py>, month: &Month) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("month", month.month)?;
    dict.set_item("outdoor_c", month.outdoor.temperature.c())?;
    dict.set_item("outdoor_rh", month.outdoor.rh)?;
    dict.set_item("outdoor_pa", month.outdoor_pa)?;
    dict.set_item("indoor_pa", month.indoor_pa)?;
    dict.set_item("surface_wet", month.surface_wet)?;
    dict.set_item("vapour_in_kg_m2", month.vapour_in_kg_m2)?;
    dict.set_item("vapour_out_kg_m2", month.vapour_out_kg_m2)?;
    dict.set_item("temperature_c", &month.temperature_c)?;
    dict.set_item("saturation_pa", &month.saturation_pa)?;
    dict.set_item("pressure_pa", &month.pressure_pa)?;
    dict.set_item("gained_kg_m2", &month.gained_kg_m2)?;
    dict.set_item("held_kg_m2", &month.held_kg_m2)?;
    Ok(dict)
}

fn checked<'py>(py: Python<'py>, path: &CheckedPath) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("place", path.place.as_str())?;
    dict.set_item("state", path.state.as_str())?;
    dict.set_item("share", path.share)?;
    dict.set_item("peak_kg_m2", path.year.peak_kg_m2())?;
    dict.set_item("left_kg_m2", path.year.left_kg_m2())?;
    dict.set_item("dry_by", path.year.dry_by())?;
    dict.set_item("layers", list(py, &path.layers, hindrance)?)?;
    let nodes = list(py, path.section.nodes(), |py, node| {
        let entry = PyDict::new(py);
        entry.set_item("place", &node.place)?;
        entry.set_item("sd_m", node.sd_m)?;
        entry.set_item("rsi", node.r_m2k_w)?;
        Ok(entry)
    })?;
    dict.set_item("nodes", nodes)?;
    dict.set_item("months", list(py, &path.year.months, month_dict)?)?;
    Ok(dict)
}

/// Any run of numbers: a list, a tuple, an array, a column.
fn numbers(
    name: &str,
    values: Option<Bound<'_, PyAny>>,
    most: usize,
) -> PyResult<Option<Vec<f64>>> {
    let Some(values) = values.filter(|values| !values.is_none()) else { return Ok(None) };
    let not_a_list = |error: PyErr| {
        if error.is_instance_of::<PyException>(values.py()) {
            faulty(name, "", "must be a list of numbers".to_owned())
        } else {
            error
        }
    };
    let mut list = Vec::new();
    for (place, value) in values.try_iter().map_err(not_a_list)?.enumerate() {
        // Readings of some years are many, an endless run is too many.
        if list.len() >= most {
            let reason = format!("holds more than {most} values");
            return Err(faulty(name, "", reason));
        }
        let entry = format!("{name}[{place}]");
        let value = value.map_err(not_a_list)?;
        let number = number(&entry, Some(value))?;
        list.push(number.ok_or_else(|| faulty(&entry, "None", "is not a number".to_owned()))?);
    }
    Ok(Some(list))
}

/// Ten years of minutes.
const MOST_READINGS: usize = 6_000_000;
/// Twelve are wanted; a longer list is told by its length.
const MOST_MONTHS: usize = 10_000;

fn text(name: &str, value: Option<Bound<'_, PyAny>>) -> PyResult<Option<String>> {
    let Some(value) = value.filter(|value| !value.is_none()) else { return Ok(None) };
    value.extract().map(Some).map_err(|error: PyErr| {
        if !error.is_instance_of::<PyException>(value.py()) {
            return error;
        }
        faulty(name, "", "is not text".to_owned())
    })
}

/// Checks a filled wall for condensing vapour, month by month, in steady state (ISO 13788 form).
///
/// Args:
///     house: The house. Its wall must name cladding, sheathing and interior finish.
///     outdoor_f: Twelve monthly mean outdoor temperatures from January on, °F; or `outdoor_c`.
///     outdoor_c: The same in °C.
///     outdoor_rh: Twelve monthly mean outdoor relative humidities, 0 to 1.
///     indoor_f: Room temperature, °F, 41 to 95; 68 where neither is given.
///     indoor_c: The same in °C, 5 to 35.
///     indoor_rh: Relative humidity of the room all year, 0 to 1; or `indoor_class`.
///     indoor_class: `"class_1"` to `"class_5"` of ISO 13788, or `"normal"` or `"crowded"` of
///         EN 15026.
///     exterior_coat: Paint on the outside, a coat of `studbay.permeances()`, or `"none"`. It
///         must be said, because it decides whether the wall dries outward.
///     interior_coat: Paint or paper on the room side, likewise; `"none"` where it is left out.
///     batt_facing: Sheet on the room side of the batt, a facing of `studbay.permeances()`.
///     batt_side: Side of the cavity on which the batt lies: `"inside"` or `"outside"`.
///     cladding_perms: Permeance of the cladding where it is known, US perms, 0.001 to 200; with
///         its paint, where `exterior_coat` is `"none"`.
///     sheathing_perms: That of the sheathing.
///     interior_finish_perms: That of the interior finish.
///     surface: Place of the wall among the house's surfaces, from 0, where it has several walls.
///
/// Returns:
///     The check, with its findings and its limits. It is no certificate.
///
/// Raises:
///     studbay.errors.InputError: With every fault of every argument.
#[pyfunction(name = "moisture")]
#[pyo3(signature = (
    house, *, outdoor_f = None, outdoor_c = None, outdoor_rh = None, indoor_f = None,
    indoor_c = None, indoor_rh = None, indoor_class = None, exterior_coat = None,
    interior_coat = None, batt_facing = None, batt_side = "inside", cladding_perms = None,
    sheathing_perms = None, interior_finish_perms = None, surface = None
))]
#[expect(clippy::too_many_arguments, reason = "keywords of a Python function")]
pub(crate) fn moisture_of(
    py: Python<'_>,
    house: Bound<'_, House>,
    outdoor_f: Option<Bound<'_, PyAny>>,
    outdoor_c: Option<Bound<'_, PyAny>>,
    outdoor_rh: Option<Bound<'_, PyAny>>,
    indoor_f: Option<Bound<'_, PyAny>>,
    indoor_c: Option<Bound<'_, PyAny>>,
    indoor_rh: Option<Bound<'_, PyAny>>,
    indoor_class: Option<Bound<'_, PyAny>>,
    exterior_coat: Option<Bound<'_, PyAny>>,
    interior_coat: Option<Bound<'_, PyAny>>,
    batt_facing: Option<Bound<'_, PyAny>>,
    batt_side: &str,
    cladding_perms: Option<Bound<'_, PyAny>>,
    sheathing_perms: Option<Bound<'_, PyAny>>,
    interior_finish_perms: Option<Bound<'_, PyAny>>,
    surface: Option<Bound<'_, PyAny>>,
) -> PyResult<Moisture> {
    let surface = surface
        .filter(|surface| !surface.is_none())
        .map(|surface| {
            surface.extract::<usize>().map_err(|error| {
                if !error.is_instance_of::<PyException>(py) {
                    return error;
                }
                let shown = surface.str().map_or_else(|_| String::new(), |text| text.to_string());
                faulty("surface", &shown, "must be a whole number from 0".to_owned())
            })
        })
        .transpose()?;
    let raw = RawQuestion {
        surface,
        outdoor_f: numbers("outdoor_f", outdoor_f, MOST_MONTHS)?,
        outdoor_c: numbers("outdoor_c", outdoor_c, MOST_MONTHS)?,
        outdoor_rh: numbers("outdoor_rh", outdoor_rh, MOST_MONTHS)?.unwrap_or_default(),
        indoor: Given { f: number("indoor_f", indoor_f)?, c: number("indoor_c", indoor_c)? },
        indoor_rh: number("indoor_rh", indoor_rh)?,
        indoor_class: text("indoor_class", indoor_class)?,
        interior_coat: text("interior_coat", interior_coat)?,
        exterior_coat: text("exterior_coat", exterior_coat)?,
        batt_facing: text("batt_facing", batt_facing)?,
        batt_side: self::batt_side(batt_side)?,
        cladding_perms: number("cladding_perms", cladding_perms)?,
        sheathing_perms: number("sheathing_perms", sheathing_perms)?,
        interior_finish_perms: number("interior_finish_perms", interior_finish_perms)?,
    };
    let question = raw.check().map_err(input_error)?;
    let inner = house.get();
    let moisture =
        py.detach(|| moisture::Moisture::of(&inner.house, &question)).map_err(input_error)?;
    Ok(Moisture { moisture, house: house.unbind() })
}

/// Monthly means of a run of weather readings, for `studbay.moisture`.
///
/// Args:
///     month: The month of each reading, 1 to 12.
///     outdoor_c: Its temperature, °C.
///     outdoor_rh: Its relative humidity, 0 to 1.
///
/// Returns:
///     `outdoor_c` and `outdoor_rh`, twelve values each from January on. The humidity is that
///     which gives the mean vapour pressure at the mean temperature, at most 1.
///
/// Raises:
///     studbay.errors.InputError: For lists of different lengths, a reading that is none, and a
///         month without a reading.
#[pyfunction]
pub(crate) fn monthly_air<'py>(
    py: Python<'py>,
    month: Bound<'py, PyAny>,
    outdoor_c: Bound<'py, PyAny>,
    outdoor_rh: Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyDict>> {
    let months = numbers("month", Some(month), MOST_READINGS)?.unwrap_or_default();
    let celsius = numbers("outdoor_c", Some(outdoor_c), MOST_READINGS)?.unwrap_or_default();
    let rh = numbers("outdoor_rh", Some(outdoor_rh), MOST_READINGS)?.unwrap_or_default();
    for (name, list) in [("outdoor_c", &celsius), ("outdoor_rh", &rh)] {
        if list.len() != months.len() {
            let reason = format!("must hold as many values as month, {}", months.len());
            return Err(faulty(name, &format!("{} values", list.len()), reason));
        }
    }
    #[expect(clippy::float_cmp, reason = "a month is exactly whole")]
    let number = |month: f64| (1_u8..=12).find(|m| f64::from(*m) == month).unwrap_or(0);
    let readings = months.iter().zip(&celsius).zip(&rh);
    let readings: Vec<(u8, f64, f64)> =
        readings.map(|((month, celsius), rh)| (number(*month), *celsius, *rh)).collect();
    let wrong = |(month, celsius, rh): &(u8, f64, f64)| {
        *month == 0 || !(-90.0..=70.0).contains(celsius) || !(0.0..=1.0).contains(rh)
    };
    if let Some(place) = readings.iter().position(wrong) {
        let reason = "a reading has a month from 1 to 12, a temperature from -90 to 70 °C and a \
                      relative humidity from 0 to 1";
        return Err(faulty(&format!("[{place}]"), "", reason.to_owned()));
    }
    let means = moisture::monthly_means(readings)
        .ok_or_else(|| faulty("month", "", "every month needs a reading".to_owned()))?;
    let dict = PyDict::new(py);
    dict.set_item("outdoor_c", means.map(|m: OutdoorMonth| m.temperature.c()))?;
    dict.set_item("outdoor_rh", means.map(|m| m.rh))?;
    Ok(dict)
}

/// The table of permeances of layers, coats and facings.
///
/// Returns:
///     A dict for each: `key`, `label`, `use` (`layer`, `per_inch`, `coat`, `facing`), `perms` (US
///     perms; of an inch for `per_inch`), `low`, `high`, `sd_m`, `source`.
#[pyfunction]
pub(crate) fn permeances(py: Python<'_>) -> PyResult<Bound<'_, PyList>> {
    list(py, PERMEANCES, |py, row| {
        let dict = PyDict::new(py);
        dict.set_item("key", row.key)?;
        dict.set_item("label", row.label)?;
        let role = match row.role {
            PermeanceRole::Layer => "layer",
            PermeanceRole::PerInch => "per_inch",
            PermeanceRole::Coat => "coat",
            PermeanceRole::Facing => "facing",
        };
        dict.set_item("use", role)?;
        dict.set_item("perms", row.perms)?;
        dict.set_item("low", row.low)?;
        dict.set_item("high", row.high)?;
        dict.set_item("sd_m", moisture::sd_m(row.perms))?;
        dict.set_item("source", row.citation.to_string())?;
        Ok(dict)
    })
}

/// Saturation pressure of water vapour, as ISO 13788 writes it.
///
/// Args:
///     celsius: Temperature, °C, -60 to 60.
///
/// Returns:
///     The pressure in Pa: 610.5 at 0 °C.
///
/// Raises:
///     studbay.errors.InputError: For a temperature outside that range.
#[pyfunction]
pub(crate) fn saturation_pressure(celsius: Bound<'_, PyAny>) -> PyResult<f64> {
    let number = number("celsius", Some(celsius))?.filter(|c| (-60.0..=60.0).contains(c));
    number
        .map(moisture::saturation_pressure_pa)
        .ok_or_else(|| faulty("celsius", "", "allowed is -60 to 60 °C".to_owned()))
}
