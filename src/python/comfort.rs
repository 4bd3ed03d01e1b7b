//! `Comfort`: inside surface temperatures.

use super::account::Block;
use super::errors::{faulty, input_error, refused};
use super::house::House;
use super::unit_system;
use crate::comfort::{self, BattSide, Given, PathComfort, RawDesign, Temperature};
use pyo3::exceptions::PyException;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

/// A number, or a fault that names the argument.
pub(super) fn number(name: &str, value: Option<Bound<'_, PyAny>>) -> PyResult<Option<f64>> {
    let Some(value) = value.filter(|value| !value.is_none()) else { return Ok(None) };
    value.extract().map(Some).map_err(|error: PyErr| {
        if !error.is_instance_of::<PyException>(value.py()) {
            return error;
        }
        let shown = value.str().map_or_else(|_| String::new(), |text| text.to_string());
        faulty(name, &shown, "is not a number".to_owned())
    })
}

/// The side that a person wrote.
pub(super) fn batt_side(side: &str) -> PyResult<BattSide> {
    BattSide::from_key(side)
        .ok_or_else(|| refused("batt_side", side, "must be one of inside, outside".to_owned()))
}

fn put(dict: &Bound<'_, PyDict>, stem: &str, temperature: Temperature) -> PyResult<()> {
    dict.set_item(format!("{stem}_f"), temperature.f())?;
    dict.set_item(format!("{stem}_c"), temperature.c())
}

/// Inside surface temperatures of a house before and after the work, by heat-flow path.
///
/// Modelled: steady state, one dimension, at a design outdoor temperature. What it leaves out
/// stands in `limits` and in every account.
#[pyclass(frozen, module = "studbay", name = "Comfort")]
pub(crate) struct Comfort {
    comfort: comfort::Comfort,
    house: Py<House>,
}

#[pymethods]
impl Comfort {
    /// What the temperatures leave out.
    #[getter]
    fn limits(&self) -> Vec<&'static str> {
        comfort::words::LIMITS.to_vec()
    }

    /// The temperatures as plain objects.
    ///
    /// Returns:
    ///     `outdoor_f`/`_c`, `indoor_f`/`_c`, `limits`, and `surfaces`: for each its `name`,
    ///     `kind`, `far_side_f`/`_c`, `ordered` (whether the order of its layers is known),
    ///     `mean_before_f`/`_c`, `mean_after_f`/`_c`, and the paths `before` and `after`. A path
    ///     has `place` (framing, bay, bare_bay), `state` (found, filled, missed), `share` of the
    ///     area, `r` (h·ft²·°F/Btu), `rsi` (m²K/W), `surface_f`/`_c`, `temperature_factor`,
    ///     `surface_rh` (`None` without a humidity of the room), and `layers` from the room
    ///     outward, each with `name`, `r`, `rsi` and the temperatures `from_f`/`_c` and
    ///     `to_f`/`_c` of its two faces.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        put(&dict, "outdoor", self.comfort.design.outdoor())?;
        put(&dict, "indoor", self.comfort.design.indoor())?;
        let surfaces = PyList::empty(py);
        for surface in &self.comfort.surfaces {
            let entry = PyDict::new(py);
            entry.set_item("name", &surface.name)?;
            entry.set_item("kind", surface.kind.as_str())?;
            put(&entry, "far_side", surface.far_side)?;
            entry.set_item("ordered", surface.ordered)?;
            put(&entry, "mean_before", surface.mean_before())?;
            put(&entry, "mean_after", surface.mean_after())?;
            for (when, paths) in [("before", &surface.before), ("after", &surface.after)] {
                let list = PyList::empty(py);
                for path in paths {
                    list.append(path_dict(py, path)?)?;
                }
                entry.set_item(when, list)?;
            }
            surfaces.append(entry)?;
        }
        dict.set_item("surfaces", surfaces)?;
        dict.set_item("limits", self.limits())?;
        Ok(dict)
    }

    /// The temperatures in words, for a person to read.
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
        let blocks = self.comfort.account(&self.house.get().house, unit_system(units)?);
        Ok(blocks.into_iter().map(Block).collect())
    }

    fn __repr__(&self) -> String {
        let design = &self.comfort.design;
        format!(
            "<Comfort: {} surfaces, {:.1} °C inside, {:.1} °C outdoors>",
            self.comfort.surfaces.len(),
            design.indoor().c(),
            design.outdoor().c()
        )
    }
}

fn path_dict<'py>(py: Python<'py>, path: &PathComfort) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("place", path.path.place.as_str())?;
    dict.set_item("state", path.path.state.as_str())?;
    dict.set_item("share", path.path.share)?;
    dict.set_item("r", path.path.u.to_r().ip())?;
    dict.set_item("rsi", path.path.u.to_r().si())?;
    put(&dict, "surface", path.surface)?;
    dict.set_item("temperature_factor", path.temperature_factor)?;
    dict.set_item("surface_rh", path.surface_rh)?;
    let layers = PyList::empty(py);
    for (layer, faces) in path.path.layers.iter().zip(path.profile.windows(2)) {
        let entry = PyDict::new(py);
        entry.set_item("name", &layer.name)?;
        entry.set_item("r", layer.r.ip())?;
        entry.set_item("rsi", layer.r.si())?;
        for (stem, face) in ["from", "to"].into_iter().zip(faces) {
            put(&entry, stem, *face)?;
        }
        layers.append(entry)?;
    }
    dict.set_item("layers", layers)?;
    Ok(dict)
}

/// Inside surface temperatures of a house at a design outdoor temperature, before and after.
///
/// They are those of studs, bays, bays without their batt, and a bay that was missed.
///
/// Args:
///     house: The house; each `series_r` must hold both surface films.
///     outdoor_f: Design outdoor temperature, °F, -76 to 122; or `outdoor_c` in °C.
///     outdoor_c: The same in °C, -60 to 50.
///     indoor_f: Room temperature, °F, 41 to 95; 68 where neither is given.
///     indoor_c: The same in °C, 5 to 35.
///     indoor_rh: Relative humidity of the room, 0 to 1, for the humidity at the surface.
///     batt_side: Side of the cavity on which the batt lies: `"inside"` or `"outside"`.
///
/// Returns:
///     Temperatures by path, with the profile through each.
///
/// Raises:
///     studbay.errors.InputError: With every fault of every argument.
#[pyfunction(name = "comfort")]
#[pyo3(signature = (
    house, *, outdoor_f = None, outdoor_c = None, indoor_f = None, indoor_c = None,
    indoor_rh = None, batt_side = "inside"
))]
pub(crate) fn comfort_of(
    house: Bound<'_, House>,
    outdoor_f: Option<Bound<'_, PyAny>>,
    outdoor_c: Option<Bound<'_, PyAny>>,
    indoor_f: Option<Bound<'_, PyAny>>,
    indoor_c: Option<Bound<'_, PyAny>>,
    indoor_rh: Option<Bound<'_, PyAny>>,
    batt_side: &str,
) -> PyResult<Comfort> {
    let raw = RawDesign {
        outdoor: Given { f: number("outdoor_f", outdoor_f)?, c: number("outdoor_c", outdoor_c)? },
        indoor: Given { f: number("indoor_f", indoor_f)?, c: number("indoor_c", indoor_c)? },
        indoor_rh: number("indoor_rh", indoor_rh)?,
        batt_side: self::batt_side(batt_side)?,
    };
    let design = raw.check().map_err(input_error)?;
    let comfort = comfort::Comfort::of(&house.get().house, &design).map_err(input_error)?;
    Ok(Comfort { comfort, house: house.unbind() })
}
