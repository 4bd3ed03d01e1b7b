//! Files in, files out.

use super::batch::Counts;
use super::errors::{SchemaFault, faulty, input_error};
use super::unit_system;
use crate::batch::files::{self, FileError, FileOptions, Progress};
use crate::error::{Issue, IssueCode};
use pyo3::exceptions::{PyKeyboardInterrupt, PyOSError};
use pyo3::prelude::*;
use std::cell::RefCell;
use std::io::ErrorKind;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// More threads than this are a slip of the pen.
const MOST_THREADS: usize = 1024;

/// What became of a file: the counts, where the rejects are, and the first few of them.
#[pyclass(frozen, module = "studbay", name = "FileReport")]
pub(crate) struct FileReport(files::FileReport);

#[pymethods]
impl FileReport {
    /// How many houses were read and what became of them.
    #[getter]
    fn counts(&self) -> Counts {
        self.0.counts.into()
    }

    /// Where the rejects are; None where no such file was written.
    #[getter]
    fn rejects(&self) -> Option<&Path> {
        self.0.rejects.as_deref()
    }

    /// The first few rejects: row, line of the file where it has lines, and every fault.
    #[getter]
    fn first_rejects(&self) -> Vec<(u64, Option<u64>, &str)> {
        let rejects = self.0.first_rejects.iter();
        rejects.map(|reject| (reject.row, reject.line, reject.faults.as_str())).collect()
    }

    fn __repr__(&self) -> String {
        let counts = self.0.counts;
        let rejects = match &self.0.rejects {
            Some(path) => format!(", rejects in {}", path.display()),
            None => String::new(),
        };
        format!(
            "<FileReport: {} read, {} scored ({} on hold), {} rejected{rejects}>",
            counts.read, counts.scored, counts.on_hold, counts.rejected
        )
    }
}

/// Lets Python look up now and then: signals, and a function of the user's.
struct Watch {
    progress: Option<Py<PyAny>>,
    /// What Python raised; it ends the run.
    raised: RefCell<Option<PyErr>>,
}

impl Progress for Watch {
    fn advance(
        &self,
        rows_read: u64,
        rejects: u64,
        bytes_done: u64,
        bytes_total: Option<u64>,
    ) -> ControlFlow<()> {
        let looked = Python::attach(|py| {
            py.check_signals()?;
            if let Some(progress) = &self.progress {
                progress.call1(py, (rows_read, rejects, bytes_done, bytes_total))?;
            }
            Ok(())
        });
        match looked {
            Ok(()) => ControlFlow::Continue(()),
            Err(error) => {
                *self.raised.borrow_mut() = Some(error);
                ControlFlow::Break(())
            }
        }
    }
}

/// Scores a file of flat rows into another file, batch by batch, whatever its size.
///
/// The format goes by the ending: `.csv`, `.csv.gz`, `.csv.zst`, `.parquet`; `-` is CSV on
/// standard input or output. The output has the house's name, your own columns as they were, in
/// order, then the results. In CSV, text that a spreadsheet would run as a formula gets an
/// apostrophe in front. Files appear under their names only when they are whole.
///
/// Args:
///     input: The file to read.
///     output: The file to write.
///     rejects: Where rows go that cannot be scored, with their number, every fault and their
///         cells; without it, beside the output, under its name with the ending `.rejects.csv`, if
///         there are any.
///     units: `ip` or `si`, the unit system of the results.
///     force: Whether files that are there already may be replaced.
///     threads: Threads to score on; one on each core where it is not given. The output is the
///         same whatever it is.
///     progress: Called now and then with the rows read, the rejects, the bytes read, and the
///         bytes of the input or None. What it raises ends the run.
///
/// Returns:
///     The counts, and where the rejects are.
///
/// Raises:
///     OSError: What the system says: `FileNotFoundError`, `FileExistsError`,
///         `IsADirectoryError` and so on.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: Where a file is not what its name says.
#[pyfunction]
#[pyo3(signature = (
    input, output, *, rejects = None, units = "ip", force = false, threads = None, progress = None
))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn score_file(
    py: Python<'_>,
    input: PathBuf,
    output: PathBuf,
    rejects: Option<PathBuf>,
    units: &str,
    force: bool,
    threads: Option<usize>,
    progress: Option<Py<PyAny>>,
) -> PyResult<FileReport> {
    let threads = match threads {
        None => 0,
        Some(threads @ 1..=MOST_THREADS) => threads,
        Some(other) => {
            let reason = format!("must be 1 to {MOST_THREADS}");
            return Err(faulty("threads", &other.to_string(), reason));
        }
    };
    let units = unit_system(units)?;
    let options = FileOptions { units, rejects, force, threads, ..FileOptions::default() };
    let (result, raised) = py.detach(|| {
        let watch = Watch { progress, raised: RefCell::new(None) };
        let result = files::score_file(&input, &output, &options, &watch);
        (result, watch.raised.into_inner())
    });
    match (result, raised) {
        (_, Some(raised)) => Err(raised),
        (Ok(report), None) => Ok(FileReport(report)),
        (Err(error), None) => Err(file_error(py, &error)),
    }
}

/// Why a file could not be used, as the exception that a Python programmer expects.
#[cold]
pub(super) fn file_error(py: Python<'_>, error: &FileError) -> PyErr {
    match error {
        FileError::Io { path, source } => {
            let known = match source.kind() {
                ErrorKind::IsADirectory => Some("EISDIR"),
                ErrorKind::NotADirectory => Some("ENOTDIR"),
                ErrorKind::NotFound => Some("ENOENT"),
                _ => None,
            };
            let number = source.raw_os_error().or_else(|| error_number(py, known?));
            os_error(py, number, path, error)
        }
        FileError::Exists { path } => os_error(py, error_number(py, "EEXIST"), path, error),
        FileError::Schema { error, .. } => {
            SchemaFault::new_err((error.to_string(), error.faults.clone()))
        }
        FileError::Unusable { path, reason } => {
            // Made by hand: a path is not to be cut.
            let (code, field) = (IssueCode::Unreadable, path.to_string_lossy().into_owned());
            input_error(Issue { code, field, value: String::new(), reason: reason.clone() }.into())
        }
        FileError::Cancelled => PyKeyboardInterrupt::new_err(()),
    }
}

fn error_number(py: Python<'_>, name: &str) -> Option<i32> {
    py.import("errno").and_then(|errno| errno.getattr(name)?.extract()).ok()
}

/// Python picks the class (`FileNotFoundError` and so on) by the number.
fn os_error(py: Python<'_>, number: Option<i32>, path: &Path, error: &FileError) -> PyErr {
    let Some(number) = number else { return PyOSError::new_err(error.to_string()) };
    let text = py
        .import("os")
        .and_then(|os| os.call_method1("strerror", (number,))?.extract::<String>())
        .unwrap_or_else(|_| error.to_string());
    PyOSError::new_err((number, text, path.as_os_str().to_owned()))
}
