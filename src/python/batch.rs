//! Tables: anything that offers the Arrow PyCapsule stream or array, in and out.

#![allow(clippy::doc_link_with_quotes, reason = "lists of Python in the docstrings")]

use super::errors::{SchemaFault, faulty, refused, unreadable};
use super::unit_system;
use crate::batch::table::{self, Reader, Scoring, ScoringReader};
use crate::batch::{self, SchemaError};
use crate::units::UnitSystem;
use arrow_array::cast::AsArray;
use arrow_array::types::Float64Type;
use arrow_array::{Array, ArrayRef, RecordBatch, RecordBatchReader, StructArray};
use arrow_cast::cast;
use arrow_schema::{ArrowError, DataType, Field, SchemaRef};
use pyo3::exceptions::PyException;
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyDict, PyList, PyString, PyTuple};
use pyo3_arrow::error::PyArrowResult;
use pyo3_arrow::ffi::{ArrayIterator, to_schema_pycapsule, to_stream_pycapsule};
use pyo3_arrow::input::AnyRecordBatch;
use std::fmt::Write as _;
use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How often `progress` is called, at most.
const PROGRESS: Duration = Duration::from_millis(100);
/// More threads than this are a slip of the pen.
const MOST_THREADS: usize = 1024;

/// How many houses were read and what became of them.
///
/// `scored` and `rejected` make up `read`.
#[pyclass(frozen, get_all, eq, hash, module = "studbay", name = "Counts")]
#[derive(PartialEq, Eq, Hash)]
pub(crate) struct Counts {
    /// Houses read.
    read: u64,
    /// Houses with results.
    scored: u64,
    /// Houses that could not be scored.
    rejected: u64,
    /// Scored houses on which the work must not start.
    on_hold: u64,
}

impl From<batch::Counts> for Counts {
    fn from(counts: batch::Counts) -> Self {
        let batch::Counts { read, scored, rejected, on_hold } = counts;
        Self { read, scored, rejected, on_hold }
    }
}

impl Counts {
    fn words(&self) -> String {
        let Self { read, scored, rejected, on_hold } = self;
        format!("{read} read, {scored} scored ({on_hold} on hold), {rejected} rejected")
    }
}

#[pymethods]
impl Counts {
    fn __repr__(&self) -> String {
        format!("<Counts: {}>", self.words())
    }
}

/// Columns that offer the Arrow PyCapsule stream: hand it to a data frame of your choice.
///
/// `polars.DataFrame(table)`, `pandas.DataFrame.from_arrow(table)`, `pyarrow.table(table)`, or
/// the name of a variable that holds it, in a query of duckdb.
#[pyclass(frozen, module = "studbay", name = "Table")]
pub(crate) struct Table {
    pub(super) schema: SchemaRef,
    pub(super) batches: Vec<RecordBatch>,
}

fn rows(batches: &[RecordBatch]) -> usize {
    batches.iter().map(RecordBatch::num_rows).sum()
}

/// The columns with their types, one a line.
fn columns(schema: &SchemaRef) -> String {
    let mut text = String::new();
    for field in schema.fields() {
        let _ = write!(text, "\n{}: {}", field.name(), field.data_type());
    }
    text
}

/// The capsule of a reader; its batches are handed over as they are, nothing is copied.
fn stream<'py>(
    py: Python<'py>,
    schema: &SchemaRef,
    batches: impl Iterator<Item = Result<RecordBatch, ArrowError>> + Send + 'static,
    requested: Option<Bound<'py, PyCapsule>>,
) -> PyArrowResult<Bound<'py, PyCapsule>> {
    let arrays = batches.map(|batch| Ok(Arc::new(StructArray::from(batch?)) as ArrayRef));
    let field = Field::new_struct("", schema.fields().clone(), false);
    let field = Arc::new(field.with_metadata(schema.metadata().clone()));
    to_stream_pycapsule(py, Box::new(ArrayIterator::new(arrays, field)), requested)
}

fn frame<'py>(
    table: &Bound<'py, PyAny>,
    module: &str,
    class: &str,
    method: Option<&str>,
) -> PyResult<Bound<'py, PyAny>> {
    let maker = table.py().import(module)?.getattr(class)?;
    match method {
        Some(method) => maker.call_method1(method, (table,)),
        None => maker.call1((table,)),
    }
}

#[pymethods]
impl Table {
    /// The columns as an Arrow stream.
    ///
    /// Args:
    ///     requested_schema: A schema that the reader would rather have; followed where every
    ///         column can be cast to it.
    ///
    /// Returns:
    ///     A PyCapsule that holds an ArrowArrayStream.
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyCapsule>>,
    ) -> PyArrowResult<Bound<'py, PyCapsule>> {
        let batches = self.batches.clone().into_iter().map(Ok);
        stream(py, &self.schema, batches, requested_schema)
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyArrowResult<Bound<'py, PyCapsule>> {
        to_schema_pycapsule(py, self.schema.as_ref())
    }

    /// The names of the columns.
    #[getter]
    fn columns(&self) -> Vec<&str> {
        self.schema.fields().iter().map(|field| field.name().as_str()).collect()
    }

    /// Writes the table: CSV, packed or not, or Parquet by the ending; `-` is standard output.
    ///
    /// The file appears under its name when it is whole. In CSV, text that a spreadsheet would run
    /// as a formula gets an apostrophe in front.
    ///
    /// Args:
    ///     path: Where to.
    ///     force: Replace a file that is there already.
    ///
    /// Raises:
    ///     OSError: What the system says about the file.
    ///     studbay.errors.SchemaError: For an ending that is none of these.
    #[pyo3(signature = (path, *, force = false))]
    fn write(&self, py: Python<'_>, path: PathBuf, force: bool) -> PyResult<()> {
        let whole = arrow_select::concat::concat_batches(&self.schema, &self.batches)
            .map_err(|error| unreadable("table", &error.to_string()))?;
        py.detach(|| crate::batch::table_file::write(&path, &whole, force, &[]))
            .map_err(|error| super::files::file_error(py, &error))
    }

    /// As a polars DataFrame. Needs polars.
    fn to_polars<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        frame(slf.as_any(), "polars", "DataFrame", None)
    }

    /// As a pandas DataFrame. Needs pandas 3 or later and pyarrow.
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        frame(slf.as_any(), "pandas", "DataFrame", Some("from_arrow"))
    }

    /// As a pyarrow Table. Needs pyarrow.
    fn to_arrow<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        frame(slf.as_any(), "pyarrow", "table", None)
    }

    /// The rows as plain objects; dates are text.
    fn to_dicts<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let mut all = Vec::with_capacity(rows(&self.batches));
        for batch in &self.batches {
            let first = all.len();
            all.extend((0..batch.num_rows()).map(|_| PyDict::new(py)));
            for (field, column) in self.schema.fields().iter().zip(batch.columns()) {
                let kind = field.data_type();
                let as_kind = |kind: &DataType| {
                    cast(column, kind).map_err(|error| unreadable("table", &error.to_string()))
                };
                let is_number = kind.is_floating();
                let cells = as_kind(if is_number { &DataType::Float64 } else { &DataType::Utf8 })?;
                let rows = all.get(first..).unwrap_or_default().iter().enumerate();
                for (row, dict) in rows {
                    let name = field.name();
                    if column.is_null(row) {
                        dict.set_item(name, py.None())?;
                    } else if is_number {
                        dict.set_item(name, cells.as_primitive::<Float64Type>().value(row))?;
                    } else if kind.is_integer() {
                        dict.set_item(
                            name,
                            cells.as_string::<i32>().value(row).parse::<i64>().ok(),
                        )?;
                    } else {
                        dict.set_item(name, cells.as_string::<i32>().value(row))?;
                    }
                }
            }
        }
        Ok(all)
    }

    fn __len__(&self) -> usize {
        rows(&self.batches)
    }

    fn __repr__(&self) -> String {
        format!("<Table: {} rows>{}", rows(&self.batches), columns(&self.schema))
    }
}

/// A scored table. It offers the Arrow PyCapsule stream: a row out for every row in.
///
/// The columns are the house's name, your own columns as they were, every result of
/// `studbay.results()`, and `faults`: why a row could not be scored, null where it was. The
/// figures are modelled, not measured.
///
/// `polars.DataFrame(scored)`, `pandas.DataFrame.from_arrow(scored)`, `pyarrow.table(scored)`, or
/// the name of a variable that holds it, in a query of duckdb.
#[pyclass(frozen, module = "studbay", name = "Scored")]
pub(crate) struct Scored(table::Scored);

#[pymethods]
impl Scored {
    /// A row for every row of the table, as an Arrow stream.
    ///
    /// Args:
    ///     requested_schema: A schema that the reader would rather have; followed where every
    ///         column can be cast to it.
    ///
    /// Returns:
    ///     A PyCapsule that holds an ArrowArrayStream.
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyCapsule>>,
    ) -> PyArrowResult<Bound<'py, PyCapsule>> {
        let (schema, batches) = self.0.rows();
        let batches = batches.to_vec();
        stream(py, schema, batches.into_iter().map(Ok), requested_schema)
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyArrowResult<Bound<'py, PyCapsule>> {
        to_schema_pycapsule(py, self.0.rows().0.as_ref())
    }

    /// The rows with results, without the column `faults`.
    #[getter]
    fn results(&self, py: Python<'_>) -> PyResult<Table> {
        let results = py.detach(|| self.0.results());
        let (schema, batches) = results.map_err(|error| unreadable("table", &error.to_string()))?;
        Ok(Table { schema, batches })
    }

    /// The rows that could not be scored.
    ///
    /// `row`, counted from 1, then every column of your table as it was, then `faults`. Where your
    /// table has a column `row`, ours is `row_2`.
    #[getter]
    fn rejects(&self) -> Table {
        let (schema, batches) = self.0.rejects();
        Table { schema: Arc::clone(schema), batches: batches.to_vec() }
    }

    /// How many rows were read and what became of them.
    #[getter]
    fn counts(&self) -> Counts {
        self.0.counts().into()
    }

    /// The names of the columns.
    #[getter]
    fn columns(&self) -> Vec<&str> {
        self.0.rows().0.fields().iter().map(|field| field.name().as_str()).collect()
    }

    /// As a polars DataFrame. Needs polars.
    fn to_polars<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        frame(slf.as_any(), "polars", "DataFrame", None)
    }

    /// As a pandas DataFrame. Needs pandas 3 or later and pyarrow.
    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        frame(slf.as_any(), "pandas", "DataFrame", Some("from_arrow"))
    }

    /// As a pyarrow Table. Needs pyarrow.
    fn to_arrow<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        frame(slf.as_any(), "pyarrow", "table", None)
    }

    fn __len__(&self) -> usize {
        rows(self.0.rows().1)
    }

    fn __repr__(&self) -> String {
        let counts = Counts::from(self.0.counts()).words();
        format!("<Scored: {counts}>{}", columns(self.0.rows().0))
    }
}

/// A reader that scores as it is read. It offers the Arrow PyCapsule stream, once.
///
/// Only a few thousand rows are in memory at a time, however long the table is.
#[pyclass(frozen, module = "studbay", name = "ScoredStream")]
pub(crate) struct ScoredStream {
    schema: SchemaRef,
    reader: Mutex<Option<ScoringReader>>,
    counts: Arc<Mutex<batch::Counts>>,
}

#[pymethods]
impl ScoredStream {
    /// A row for every row of the table, as an Arrow stream. It can be taken once.
    ///
    /// Args:
    ///     requested_schema: A schema that the reader would rather have; followed where every
    ///         column can be cast to it.
    ///
    /// Returns:
    ///     A PyCapsule that holds an ArrowArrayStream.
    ///
    /// Raises:
    ///     studbay.errors.InputError: Where it was taken before.
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyCapsule>>,
    ) -> PyArrowResult<Bound<'py, PyCapsule>> {
        let reader = self.reader.lock().unwrap_or_else(PoisonError::into_inner).take();
        let Some(reader) = reader else {
            let reason = "this stream was read before; score the table again";
            return Err(faulty("stream", "", reason.to_owned()).into());
        };
        stream(py, &self.schema, reader, requested_schema)
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyArrowResult<Bound<'py, PyCapsule>> {
        to_schema_pycapsule(py, self.schema.as_ref())
    }

    /// How many rows were read so far and what became of them.
    #[getter]
    fn counts(&self) -> Counts {
        (*self.counts.lock().unwrap_or_else(PoisonError::into_inner)).into()
    }

    /// The names of the columns.
    #[getter]
    fn columns(&self) -> Vec<&str> {
        self.schema.fields().iter().map(|field| field.name().as_str()).collect()
    }

    fn __repr__(&self) -> String {
        format!("<ScoredStream: {}>{}", self.counts().words(), columns(&self.schema))
    }
}

/// What to do instead, for what is no table.
fn advice(table: &Bound<'_, PyAny>) -> PyResult<Option<&'static str>> {
    let class = table.get_type();
    let module: String = class.getattr("__module__")?.extract().unwrap_or_default();
    let is = |prefix: &str, name: &str| -> PyResult<bool> {
        Ok(module.starts_with(prefix) && class.name()? == name)
    };
    Ok(if is("polars", "LazyFrame")? {
        Some("a query that has not run yet; call .collect() and score what it gives")
    } else if module.starts_with("pyspark") {
        Some("score it where it is, by studbay.spark.score")
    } else if table.is_instance_of::<PyString>() || table.extract::<PathBuf>().is_ok() {
        Some("a path, not a table; use studbay.score_file")
    } else if table.is_instance_of::<PyList>() || table.is_instance_of::<PyTuple>() {
        Some(
            "a list, not a table; make one of it (polars.DataFrame, pyarrow.Table.from_batches) \
             or a reader (pyarrow.RecordBatchReader.from_batches)",
        )
    } else if table.hasattr("__arrow_c_stream__")? || table.hasattr("__arrow_c_array__")? {
        None
    } else {
        Some(
            "a table was expected: anything that offers the Arrow PyCapsule stream, as the data \
             frames of pandas, polars, pyarrow and duckdb do",
        )
    })
}

/// The table as a reader.
pub(super) fn reader(table: &Bound<'_, PyAny>) -> PyResult<Reader> {
    let kind = || Ok::<_, PyErr>(table.get_type().name()?.to_string_lossy().into_owned());
    if let Some(advice) = advice(table)? {
        return Err(faulty("table", &kind()?, advice.to_owned()));
    }
    let table = &without_nulls(table);
    let read = table.extract::<AnyRecordBatch>().and_then(AnyRecordBatch::into_reader);
    read.or_else(|error| {
        // An interrupt goes on upwards.
        if !error.is_instance_of::<PyException>(table.py()) {
            return Err(error);
        }
        let kind = kind()?;
        let fault = faulty("table", &kind, format!("cannot be read as a table: {error}"));
        fault.set_cause(table.py(), Some(error));
        Err(fault)
    })
}

/// A DataFrame of polars with its columns of no type as text: it hands them over with a buffer that
/// such a column may not have (polars 2.1).
fn without_nulls<'py>(table: &Bound<'py, PyAny>) -> Bound<'py, PyAny> {
    let mended = || -> PyResult<Option<Bound<'py, PyAny>>> {
        let module: String = table.get_type().getattr("__module__")?.extract()?;
        if !module.starts_with("polars") || !table.hasattr("dtypes")? {
            return Ok(None);
        }
        let polars = table.py().import("polars")?;
        let null = polars.getattr("Null")?;
        if !table.getattr("dtypes")?.contains(&null)? {
            return Ok(None);
        }
        let columns = polars.call_method1("col", (null,))?;
        let text = columns.call_method1("cast", (polars.getattr("String")?,))?;
        table.call_method1("with_columns", (text,)).map(Some)
    };
    mended().ok().flatten().unwrap_or_else(|| table.clone())
}

pub(super) fn threads_of(threads: Option<i64>) -> PyResult<Option<NonZeroUsize>> {
    let Some(number) = threads else { return Ok(None) };
    let allowed = usize::try_from(number).ok().and_then(NonZeroUsize::new);
    match allowed.filter(|threads| threads.get() <= MOST_THREADS) {
        Some(threads) => Ok(Some(threads)),
        None => {
            let reason = format!("must be a whole number from 1 to {MOST_THREADS}");
            Err(refused("threads", &number.to_string(), reason))
        }
    }
}

/// How many rows the table has, where it says so without any work.
fn length(table: &Bound<'_, PyAny>) -> Option<u64> {
    let attribute = |name: &str| table.getattr_opt(name).ok()??.extract().ok();
    let pandas = || {
        let module: String = table.get_type().getattr("__module__").ok()?.extract().ok()?;
        if module.starts_with("pandas") { table.len().ok().map(|rows| rows as u64) } else { None }
    };
    attribute("num_rows").or_else(|| attribute("height")).or_else(pandas)
}

pub(super) fn schema_fault(error: SchemaError) -> PyErr {
    SchemaFault::new_err((error.to_string(), error.faults))
}

/// Scores a table of houses.
///
/// Every column whose name is a field of `studbay.fields()` is read, in inch-pound or SI units by
/// its name, in any order; what is not of the contract goes through as it is. Integers, floats,
/// decimals and text that is a number will do for numbers, any kind of string for words, true and
/// false for questions. Null means not given; NaN is a fault. A column `surfaces`, a list of
/// structs, holds the surfaces of houses with several.
///
/// Args:
///     table: Anything that offers the Arrow PyCapsule stream or array: a DataFrame of pandas (3
///         or later) or polars, a relation of duckdb, a Table, RecordBatch or RecordBatchReader of
///         pyarrow.
///     units: Of the results, `"ip"` or `"si"`.
///     threads: How many threads score; all cores when `None`. The results are the same.
///     progress: Called now and then with the rows done and the rows in all, `None` where that is
///         not known. An exception that it raises ends the work.
///
/// Returns:
///     A row for every row of the table, in its order, and the results and rejects apart.
///
/// Raises:
///     studbay.errors.SchemaError: With every fault of the columns: missing, twice, of a type that
///         the field cannot hold.
///     studbay.errors.InputError: For what is no table, and for a table that cannot be read.
///
/// Examples:
///     >>> import polars
///     >>> import studbay
///     >>> table = polars.DataFrame(
///     ...     {
///     ...         "house_id": ["two-family", "bungalow"],
///     ...         "county": ["Elm", "Oak"],
///     ...         "wall_area_ft2": [1200, -1],
///     ...         "series_r": 3.06,
///     ...         "heating_degree_days_f": 5600,
///     ...         "heating_efficiency": 0.8,
///     ...         "fuel": "natural_gas",
///     ...         "fuel_price": 1.5,
///     ...         "installed_cost": 2400,
///     ...     }
///     ... )
///     >>> scored = studbay.score(table)
///     >>> scored.counts
///     <Counts: 2 read, 1 scored (0 on hold), 1 rejected>
///     >>> polars.DataFrame(scored)["faults"].to_list()
///     [None, 'wall_area_ft2 = -1: allowed is above 0 to 1000000 ft²']
#[pyfunction]
#[pyo3(signature = (table, *, units = "ip", threads = None, progress = None))]
pub(crate) fn score(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    units: &str,
    threads: Option<i64>,
    progress: Option<Bound<'_, PyAny>>,
) -> PyResult<Scored> {
    let (units, threads) = (unit_system(units)?, threads_of(threads)?);
    let total = progress.as_ref().and_then(|_| length(&table));
    let mut scoring = begin(&table, units, threads)?;
    let mut told = Instant::now();
    loop {
        let more = py.detach(|| scoring.advance());
        // An interrupt may well be why a reader failed: it comes first.
        py.check_signals()?;
        let more = more.map_err(|error| unreadable("table", &error.to_string()))?;
        if let Some(progress) = &progress
            && (!more || told.elapsed() >= PROGRESS)
        {
            progress.call1((scoring.counts().read, total))?;
            told = Instant::now();
        }
        if !more {
            return Ok(Scored(scoring.finish()));
        }
    }
}

fn begin(
    table: &Bound<'_, PyAny>,
    units: UnitSystem,
    threads: Option<NonZeroUsize>,
) -> PyResult<Scoring> {
    Scoring::new(reader(table)?, units, threads).map_err(schema_fault)
}

/// Scores a table of houses as it is read, in little memory.
///
/// Nothing is read until the stream is: hand it to what writes a file or reduces it.
///
/// Args:
///     table: As for `score`; best a reader, which does not hold the whole table.
///     units: Of the results, `"ip"` or `"si"`.
///     threads: How many threads score; all cores when `None`. The results are the same.
///
/// Returns:
///     A row for every row of the table, in its order, to be read once.
///
/// Raises:
///     studbay.errors.SchemaError: With every fault of the columns: missing, twice, of a type that
///         the field cannot hold.
///     studbay.errors.InputError: For what is no table. What goes wrong later, while the stream is
///         read, is an error of whoever reads.
#[pyfunction]
#[pyo3(signature = (table, *, units = "ip", threads = None))]
pub(crate) fn score_stream(
    table: Bound<'_, PyAny>,
    units: &str,
    threads: Option<i64>,
) -> PyResult<ScoredStream> {
    let (units, threads) = (unit_system(units)?, threads_of(threads)?);
    let reader = ScoringReader::new(reader(&table)?, units, threads).map_err(schema_fault)?;
    let (schema, counts) = (reader.schema(), reader.counts());
    Ok(ScoredStream { schema, reader: Mutex::new(Some(reader)), counts })
}
