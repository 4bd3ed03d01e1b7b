//! Python values as cells: keyword arguments and nested lists of them.

use super::errors::faulty;
use crate::house::{Cell, HouseBuilder, LAYERS, RANGES, Raw, SURFACES};
use pyo3::exceptions::PyException;
use pyo3::prelude::*;
use pyo3::types::{
    PyBool, PyDict, PyFloat, PyInt, PyList, PyMapping, PySequence, PyString, PyTuple,
};

/// Whole numbers beyond this are not all doubles.
const MOST_WHOLE: i64 = 1 << f64::MANTISSA_DIGITS;
/// A house has surfaces with layers with names: nothing lies deeper.
const MOST_LEVELS: usize = 6;

/// Fills a builder from keywords that are numbers, text, truth values or `None`, all of Python's own
/// types. This is the fast road; `None` where a value needs a closer look, see [`table`]. Both roads
/// end in [`HouseBuilder::give`].
#[inline]
pub(super) fn give_all(fields: &Bound<'_, PyDict>) -> Option<HouseBuilder> {
    let mut house = HouseBuilder::default();
    for (name, value) in fields.iter() {
        let name = name.cast_exact::<PyString>().ok()?.to_str().ok()?;
        if name == SURFACES || name == RANGES {
            return None;
        }
        let cell = if let Ok(number) = value.cast_exact::<PyFloat>() {
            Cell::Number(number.value())
        } else if let Ok(text) = value.cast_exact::<PyString>() {
            Cell::Text(text.to_str().ok()?)
        } else if value.is_none() {
            Cell::Blank
        } else if let Ok(value) = value.cast::<PyBool>() {
            Cell::Bool(value.is_true())
        } else {
            Cell::Number(whole(value.cast_exact::<PyInt>().ok()?)?)
        };
        house.give(name, cell);
    }
    Some(house)
}

/// A whole number that a double holds exactly.
#[expect(clippy::cast_precision_loss, reason = "bounded")]
fn whole(number: &Bound<'_, PyInt>) -> Option<f64> {
    let number: i64 = number.extract().ok()?;
    (-MOST_WHOLE..=MOST_WHOLE).contains(&number).then_some(number as f64)
}

/// Any keywords as the table that a house file would hold.
pub(super) fn table(fields: &Bound<'_, PyDict>) -> PyResult<Raw> {
    table_of(fields.as_mapping(), 0)
}

/// A list of tables, as a house file would hold it.
pub(super) fn list(name: &str, items: &Bound<'_, PyAny>) -> PyResult<Raw> {
    match raw(items, 0)? {
        Raw::List(items) => Ok(Raw::List(items)),
        _ => Err(faulty(name, "", "must be a list of dicts".to_owned())),
    }
}

fn table_of(fields: &Bound<'_, PyMapping>, level: usize) -> PyResult<Raw> {
    let mut table = Vec::new();
    for entry in fields.items()? {
        let (name, value): (Bound<'_, PyAny>, Bound<'_, PyAny>) = entry.extract()?;
        let name = name.str()?.to_string_lossy().into_owned();
        // None means that nothing is given, here too.
        if !(value.is_none() && [SURFACES, LAYERS].contains(&name.as_str())) {
            table.push((name, raw(&value, level + 1)?));
        }
    }
    Ok(Raw::Table(table))
}

fn list_of<'py>(
    items: impl IntoIterator<Item = PyResult<Bound<'py, PyAny>>>,
    level: usize,
) -> PyResult<Raw> {
    let items = items.into_iter().map(|item| raw(&item?, level + 1));
    Ok(Raw::List(items.collect::<PyResult<_>>()?))
}

fn raw(value: &Bound<'_, PyAny>, level: usize) -> PyResult<Raw> {
    if level > MOST_LEVELS {
        return Ok(Raw::Other("nested too deeply".to_owned()));
    }
    if value.is_none() {
        return Ok(Raw::Null);
    }
    if let Ok(value) = value.cast::<PyBool>() {
        return Ok(Raw::Bool(value.is_true()));
    }
    if let Ok(text) = value.cast::<PyString>() {
        return Ok(Raw::Text(text.to_string_lossy().into_owned()));
    }
    if let Ok(number) = value.cast::<PyFloat>() {
        return Ok(Raw::Number(number.value()));
    }
    if let Ok(number) = value.cast::<PyInt>() {
        return Ok(whole_or_text(number));
    }
    if let Ok(list) = value.cast::<PyList>() {
        return list_of(list.iter().map(Ok), level);
    }
    if let Ok(tuple) = value.cast::<PyTuple>() {
        return list_of(tuple.iter().map(Ok), level);
    }
    foreign(value, level)
}

/// A large whole number keeps its digits: it may be somebody's name for a house.
fn whole_or_text(number: &Bound<'_, PyInt>) -> Raw {
    match whole(number) {
        Some(number) => Raw::Number(number),
        // Python refuses to print a number of thousands of digits.
        None => number
            .str()
            .map_or(Raw::Number(f64::INFINITY), |text| Raw::Text(text.to_string_lossy().into())),
    }
}

/// Types of other packages, by what they can do. An ordinary exception inside one of them means that
/// the value is of no use here; an interrupt goes on upwards.
fn foreign(value: &Bound<'_, PyAny>, level: usize) -> PyResult<Raw> {
    match known_by_its_abilities(value, level) {
        Ok(Some(raw)) => Ok(raw),
        Err(error) if !error.is_instance_of::<PyException>(value.py()) => Err(error),
        Ok(None) | Err(_) => {
            let kind = value.get_type().name()?;
            Ok(Raw::Other(format!("a value of type {}", kind.to_string_lossy())))
        }
    }
}

fn known_by_its_abilities(value: &Bound<'_, PyAny>, level: usize) -> PyResult<Option<Raw>> {
    let kind = value.get_type().name()?;
    let kind = kind.to_string_lossy();
    // An array of one number is an array all the same.
    if value.hasattr("ndim")? && value.getattr("ndim")?.is_truthy()? {
        return Ok(None);
    }
    if let Ok(mapping) = value.cast::<PyMapping>() {
        return table_of(mapping, level).map(Some);
    }
    if kind.starts_with("bool") {
        return value.is_truthy().map(|value| Some(Raw::Bool(value)));
    }
    if kind == "date" && value.hasattr("isoformat")? {
        return Ok(Some(Raw::Text(value.call_method0("isoformat")?.extract()?)));
    }
    if value.hasattr("__index__")? {
        let number = value.call_method0("__index__");
        if let Ok(Ok(number)) = number.map(Bound::cast_into::<PyInt>) {
            return Ok(Some(whole_or_text(&number)));
        }
    }
    if value.hasattr("__float__")? {
        return Ok(Some(Raw::Number(value.call_method0("__float__")?.extract()?)));
    }
    if let Ok(sequence) = value.cast::<PySequence>()
        && !["bytes", "bytearray", "memoryview"].contains(&kind.as_ref())
    {
        return list_of(sequence.to_list()?.iter().map(Ok), level).map(Some);
    }
    Ok(None)
}

/// The same keywords as Python's own types, nothing in them shared.
pub(super) fn copy<'py>(fields: &Bound<'py, PyDict>) -> PyResult<Bound<'py, PyAny>> {
    to_python(fields.py(), &table(fields)?)
}

/// The table as Python's own types.
pub(super) fn to_python<'py>(py: Python<'py>, raw: &Raw) -> PyResult<Bound<'py, PyAny>> {
    Ok(match raw {
        Raw::Null | Raw::Other(_) => py.None().into_bound(py),
        Raw::Bool(value) => PyBool::new(py, *value).to_owned().into_any(),
        Raw::Number(number) => PyFloat::new(py, *number).into_any(),
        Raw::Text(text) => PyString::new(py, text).into_any(),
        Raw::List(items) => {
            let items: Vec<_> =
                items.iter().map(|item| to_python(py, item)).collect::<PyResult<_>>()?;
            PyList::new(py, items)?.into_any()
        }
        Raw::Table(entries) => {
            let table = PyDict::new(py);
            for (name, value) in entries {
                table.set_item(name, to_python(py, value)?)?;
            }
            table.into_any()
        }
    })
}
