//! Faults as Python exceptions, whose classes are written in Python.

use crate::error::{InputError, Issue, IssueCode};
use crate::house::HouseFileError;
use pyo3::exceptions::PyOSError;
use pyo3::prelude::*;
use std::path::Path;

mod classes {
    pyo3::import_exception!(studbay.errors, InputError);
    pyo3::import_exception!(studbay.errors, HouseFileError);
    pyo3::import_exception!(studbay.errors, SchemaError);
    pyo3::import_exception!(studbay.errors, WeatherError);
}

/// `studbay.errors.SchemaError`, from its text and its faults.
pub(super) use classes::SchemaError as SchemaFault;

/// Every fault, as `studbay.errors.InputError`.
#[cold]
pub(super) fn input_error(error: InputError) -> PyErr {
    let text = error.to_string();
    let issues: Vec<_> = error
        .issues
        .into_iter()
        .map(|Issue { code, field, value, reason }| (code.as_str(), field, value, reason))
        .collect();
    classes::InputError::new_err((text, issues))
}

/// A single fault of an argument.
#[cold]
pub(super) fn refused(name: &str, value: &str, reason: String) -> PyErr {
    input_error(Issue::new(IssueCode::NotAChoice, name, value, reason).into())
}

/// An argument that is no use here.
#[cold]
pub(super) fn faulty(name: &str, value: &str, reason: String) -> PyErr {
    input_error(Issue::new(IssueCode::WrongType, name, value, reason).into())
}

/// An argument that fails while it is read.
#[cold]
pub(super) fn unreadable(name: &str, reason: &str) -> PyErr {
    let reason = format!("cannot be read: {reason}");
    input_error(Issue::new(IssueCode::Unreadable, name, "", reason).into())
}

/// What a weather file gave instead of weather, or weather instead of figures.
#[cold]
pub(super) fn weather_error(reason: String, path: Option<&Path>) -> PyErr {
    classes::WeatherError::new_err((reason, path.map(|path| path.as_os_str().to_owned())))
}

/// What a house file or a text gave instead of a house.
#[cold]
pub(super) fn house_file_error(
    py: Python<'_>,
    error: HouseFileError,
    path: Option<&Path>,
) -> PyErr {
    let io = |number: Option<i32>, path: &Path, reason: String| -> PyErr {
        let Some(number) = number else {
            return PyOSError::new_err(format!("{}: {reason}", path.display()));
        };
        // Python picks the class (FileNotFoundError and so on) by the number.
        let reason = py
            .import("os")
            .and_then(|os| os.call_method1("strerror", (number,))?.extract())
            .unwrap_or(reason);
        PyOSError::new_err((number, reason, path.as_os_str().to_owned()))
    };
    match (error, path) {
        (HouseFileError::Input(error), _) => input_error(error),
        (HouseFileError::Io { path, source }, _) => {
            io(source.raw_os_error(), &path, source.to_string())
        }
        (HouseFileError::Unreadable { .. }, Some(path)) if path.is_dir() => {
            let number =
                py.import("errno").and_then(|errno| errno.getattr("EISDIR")?.extract()).ok();
            io(number, path, "this is a folder".to_owned())
        }
        (HouseFileError::Unreadable { reason }, path) => {
            classes::HouseFileError::new_err((reason, path.map(|path| path.as_os_str().to_owned())))
        }
    }
}
