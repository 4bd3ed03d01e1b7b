//! `Summary` and `Selection`: what many scored houses come to, and which to treat first.

#![expect(clippy::doc_link_with_quotes, reason = "doc comments here are Python docstrings")]

use super::account::escaped;
use super::batch::{Table, reader, schema_fault};
use super::errors::{faulty, refused, unreadable};
use super::files::file_error;
use crate::batch::SchemaError;
use crate::batch::report::{Part, text};
use crate::batch::selection::{self, Rank, Selection as Chosen};
use crate::batch::summary::{Figure, Figures, Key, Summary as Counted};
use crate::batch::table::{Reader, readable};
use crate::batch::table_file;
use crate::readiness;
use crate::words::Tone;
use arrow_array::RecordBatch;
use arrow_schema::ArrowError;
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyDict, PyList};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Houses of a list that are printed, unless more are asked for.
const MOST_PRINTED: usize = 25;

/// What many scored houses come to.
///
/// Houses read, scored, on hold and rejected by reason; sums of cost, savings, tonnes and bags;
/// quantiles of the simple payback, by linear interpolation (type 7); for the whole table and by a
/// column of it. Counts, sums and quantiles are exact and do not depend on the order of the rows.
/// Every figure is modelled, not measured.
///
/// `str()` gives it as text for a person to read. It offers the groups, a row each, as an Arrow
/// stream: `polars.DataFrame(summary)`, `pandas.DataFrame.from_arrow(summary)`.
#[pyclass(frozen, module = "studbay", name = "Summary")]
pub(crate) struct Summary(Counted);

/// The houses to treat first under a budget, and those left out.
///
/// Houses that could be scored, are not on hold and save something are put in order of rank, equal
/// ones in the order of the table. The list takes them in this order and passes over a house that
/// costs more than is left. That is a greedy choice and no optimum: another list might use the
/// money up better, but here every choice can be told by its rank and the money left. A house
/// marked `look_first` is a `check`: someone must look before the work starts.
///
/// `str()` gives it as text for a person to read. It offers the list as an Arrow stream.
#[pyclass(frozen, module = "studbay", name = "Selection")]
pub(crate) struct Selection(Chosen);

/// A table of one batch.
fn table_of(batch: Result<RecordBatch, ArrowError>) -> PyResult<Table> {
    let batch = batch.map_err(|error| unreadable("table", &error.to_string()))?;
    Ok(Table { schema: batch.schema(), batches: vec![batch] })
}

/// The stream of a table, by the table's own method.
fn stream<'py>(
    py: Python<'py>,
    table: Table,
    requested: Option<Bound<'py, PyCapsule>>,
) -> PyResult<Bound<'py, PyAny>> {
    Bound::new(py, table)?.call_method1("__arrow_c_stream__", (requested,))
}

fn schema_of(py: Python<'_>, table: Table) -> PyResult<Bound<'_, PyAny>> {
    Bound::new(py, table)?.call_method0("__arrow_c_schema__")
}

fn put_figures(dict: &Bound<'_, PyDict>, figures: &Figures) -> PyResult<()> {
    for (name, figure) in figures.named() {
        match figure {
            Figure::Count(count) => dict.set_item(name, count)?,
            Figure::Amount(amount) => dict.set_item(name, amount)?,
        }
    }
    Ok(())
}

#[pymethods]
impl Summary {
    /// The column that the houses are grouped by; `None` for all in one.
    #[getter]
    fn by(&self) -> Option<&str> {
        self.0.by()
    }

    /// The figures of all houses, under their names in the table of groups.
    #[getter]
    fn total<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        put_figures(&dict, &self.0.total())?;
        Ok(dict)
    }

    /// The groups, a row each.
    ///
    /// Numbers stand by size, text by its letters, and last the houses that have nothing in the
    /// column.
    #[getter]
    fn groups(&self) -> PyResult<Table> {
        table_of(self.0.table())
    }

    /// Why rows were rejected, the most frequent first: `field`, `code`, `rows`.
    ///
    /// Every row counts once, by its first fault.
    #[getter]
    fn reasons(&self) -> PyResult<Table> {
        table_of(self.0.reason_table())
    }

    /// The summary as plain objects.
    ///
    /// Returns:
    ///     `by`, `total`, `groups` (empty where there is no `by`), `rejected_by_reason`,
    ///     `on_hold_by_finding`.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("modelled", true)?;
        dict.set_item("by", self.0.by())?;
        dict.set_item("total", self.total(py)?)?;
        let groups = PyList::empty(py);
        if let Some(name) = self.0.by() {
            for (key, figures) in self.0.groups() {
                let group = PyDict::new(py);
                match key {
                    Key::Whole(whole) => group.set_item(name, whole)?,
                    Key::Number(number) => group.set_item(name, number)?,
                    Key::Flag(flag) => group.set_item(name, flag)?,
                    Key::Text(text) => group.set_item(name, &*text)?,
                    Key::Nothing => group.set_item(name, py.None())?,
                }
                put_figures(&group, &figures)?;
                groups.append(group)?;
            }
        }
        dict.set_item("groups", groups)?;
        let reasons = PyList::empty(py);
        for (reason, rows) in self.0.reasons() {
            let entry = PyDict::new(py);
            entry.set_item("field", reason.field)?;
            entry.set_item("code", reason.code)?;
            entry.set_item("rows", rows)?;
            reasons.append(entry)?;
        }
        dict.set_item("rejected_by_reason", reasons)?;
        let holds = PyDict::new(py);
        for (finding, houses) in self.0.holds() {
            holds.set_item(readiness::Finding::code(finding), houses)?;
        }
        dict.set_item("on_hold_by_finding", holds)?;
        Ok(dict)
    }

    /// The summary as text, the holds first.
    ///
    /// Args:
    ///     currency: Label in front of amounts; nothing is converted.
    #[pyo3(signature = (currency = "$"))]
    fn text(&self, currency: &str) -> String {
        text(&self.0.report(currency))
    }

    /// The groups as an Arrow stream.
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
    ) -> PyResult<Bound<'py, PyAny>> {
        stream(py, self.groups()?, requested_schema)
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        schema_of(py, self.groups()?)
    }

    fn __str__(&self) -> String {
        self.text("$")
    }

    fn __repr__(&self) -> String {
        let total = self.0.total();
        let by = self.0.by().map(|name| format!(", by {name}")).unwrap_or_default();
        format!(
            "<Summary: {} read, {} scored ({} on hold), {} rejected{by}>",
            total.read, total.scored.houses, total.hold, total.rejected
        )
    }

    fn _repr_html_(&self) -> String {
        html(&self.0.report("$"))
    }
}

#[pymethods]
impl Selection {
    /// The budget.
    #[getter]
    fn budget(&self) -> f64 {
        self.0.budget()
    }

    /// What the houses are ranked by: `sir` or `cost_per_tonne`.
    #[getter]
    fn by(&self) -> &'static str {
        self.0.by().key()
    }

    /// The list, in the order of rank.
    ///
    /// `rank`, `row` (of the table, from 1), `running_cost`, `look_first`, then every column of
    /// the table but `faults`. A rank is missing where a house did not fit.
    #[getter]
    fn chosen(&self) -> PyResult<Table> {
        table_of(self.0.chosen_table())
    }

    /// Every other row of the table, in its order.
    ///
    /// `row`, `house_id`, `reason`, `why`, `rank`, `net_cost`.
    #[getter]
    fn left_out(&self) -> PyResult<Table> {
        table_of(self.0.left_out_table())
    }

    /// What the list comes to.
    #[getter]
    fn total<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let total = self.0.total();
        let dict = PyDict::new(py);
        dict.set_item("houses", total.houses)?;
        dict.set_item("look_first", total.look_first)?;
        dict.set_item("sir_below_1", total.below_one)?;
        dict.set_item("net_cost", total.net_cost)?;
        dict.set_item("left", total.left)?;
        dict.set_item("annual_savings", total.annual_savings)?;
        dict.set_item("lifetime_savings", total.lifetime_savings)?;
        dict.set_item("lifetime_co2e_t", total.lifetime_co2e_t)?;
        dict.set_item("repeated_ids", total.repeated_ids)?;
        Ok(dict)
    }

    /// The selection as plain objects.
    ///
    /// Returns:
    ///     `budget`, `by`, `total`, `chosen`, `left_out` (a dict for each house) and
    ///     `left_out_by_reason`.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("modelled", true)?;
        dict.set_item("budget", self.0.budget())?;
        dict.set_item("by", self.0.by().key())?;
        dict.set_item("total", self.total(py)?)?;
        let chosen = PyList::empty(py);
        for house in self.0.chosen() {
            let entry = PyDict::new(py);
            entry.set_item("rank", house.rank)?;
            entry.set_item("row", house.row)?;
            entry.set_item("house_id", self.0.house_id(house.row))?;
            entry.set_item("look_first", house.look_first)?;
            entry.set_item("net_cost", house.net_cost)?;
            entry.set_item("running_cost", house.running_cost)?;
            entry.set_item("annual_savings", house.annual_savings)?;
            entry.set_item("sir", house.sir)?;
            entry.set_item("cost_per_tonne", house.cost_per_tonne)?;
            chosen.append(entry)?;
        }
        dict.set_item("chosen", chosen)?;
        let counts = PyDict::new(py);
        for (reason, houses) in self.0.counts() {
            counts.set_item(reason.code(), houses)?;
        }
        dict.set_item("left_out_by_reason", counts)?;
        let left_out = PyList::empty(py);
        for house in self.0.left_out() {
            let entry = PyDict::new(py);
            entry.set_item("row", house.row)?;
            entry.set_item("house_id", self.0.house_id(house.row))?;
            entry.set_item("reason", house.reason.code())?;
            entry.set_item("why", &house.why)?;
            entry.set_item("rank", house.rank)?;
            entry.set_item("net_cost", house.net_cost)?;
            left_out.append(entry)?;
        }
        dict.set_item("left_out", left_out)?;
        Ok(dict)
    }

    /// The selection as text.
    ///
    /// Args:
    ///     currency: Label in front of amounts; nothing is converted.
    ///     rows: Houses of the list that are printed, at most.
    #[pyo3(signature = (currency = "$", rows = 25))]
    fn text(&self, currency: &str, rows: usize) -> String {
        text(&self.0.report(currency, rows))
    }

    /// Writes the list as a file.
    ///
    /// Args:
    ///     path: Its name; CSV, packed or not, or Parquet by its ending.
    ///     force: Whether a file that is there already may be replaced.
    ///
    /// Raises:
    ///     OSError: What the system says; `FileExistsError` without `force`.
    ///     studbay.errors.InputError: For a name with another ending.
    #[pyo3(signature = (path, *, force = false))]
    fn write(&self, py: Python<'_>, path: PathBuf, force: bool) -> PyResult<()> {
        let batch = self.0.chosen_table().map_err(|e| unreadable("table", &e.to_string()))?;
        py.detach(|| table_file::write(&path, &batch, force, &[]))
            .map_err(|error| file_error(py, &error))
    }

    /// The list as an Arrow stream.
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
    ) -> PyResult<Bound<'py, PyAny>> {
        stream(py, self.chosen()?, requested_schema)
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        schema_of(py, self.chosen()?)
    }

    fn __len__(&self) -> usize {
        self.0.chosen().len()
    }

    fn __str__(&self) -> String {
        self.text("$", MOST_PRINTED)
    }

    fn __repr__(&self) -> String {
        let total = self.0.total();
        format!(
            "<Selection by {}: {} houses for {:.0} of {:.0}, {} left out>",
            self.by(),
            total.houses,
            total.net_cost,
            self.budget(),
            self.0.left_out().len()
        )
    }

    fn _repr_html_(&self) -> String {
        html(&self.0.report("$", MOST_PRINTED))
    }
}

/// The parts for a notebook, as the account of a house is shown.
fn html(parts: &[Part]) -> String {
    let mut page = String::from("<div class=\"studbay\">");
    for part in parts {
        let bar = match part.tone {
            Tone::Hold => "#b00020",
            Tone::Check => "#b26a00",
            Tone::Answer => "#00695c",
            Tone::Plain => "#9e9e9e",
        };
        let _ = write!(
            page,
            "<section style=\"border-left:4px solid {bar};padding-left:0.75em;margin:0.5em 0\">\
             <p><strong>{}</strong></p>",
            escaped(&part.title)
        );
        let cell = |page: &mut String, tag: &str, text: &str, figures: bool| {
            let side = if figures { "right" } else { "left" };
            let text = escaped(text);
            let _ = write!(page, "<{tag} style=\"text-align:{side}\">{text}</{tag}>");
        };
        page.push_str("<table>");
        if part.has_heads() {
            page.push_str("<thead><tr>");
            for (head, figures) in &part.columns {
                cell(&mut page, "th", head, *figures);
            }
            page.push_str("</tr></thead>");
        }
        page.push_str("<tbody>");
        for row in &part.rows {
            page.push_str("<tr>");
            for (text, (_, figures)) in row.iter().zip(&part.columns) {
                cell(&mut page, "td", text, *figures);
            }
            page.push_str("</tr>");
        }
        page.push_str("</tbody></table>");
        let notes: Vec<String> = part.notes.iter().map(|note| escaped(note)).collect();
        if !notes.is_empty() {
            let _ = write!(page, "<p>{}</p>", notes.join(" "));
        }
        page.push_str("</section>");
    }
    page.push_str("</div>");
    page
}

/// Takes every batch of a reader; an interrupt ends it.
pub(super) fn each(
    py: Python<'_>,
    mut reader: Reader,
    mut take: impl FnMut(RecordBatch) -> Result<(), SchemaError> + Send,
) -> PyResult<()> {
    loop {
        let next = py.detach(|| match reader.next() {
            None => Ok(None),
            Some(batch) => batch.and_then(readable).map(|batch| Some(take(batch))),
        });
        py.check_signals()?;
        match next.map_err(|error| unreadable("table", &error.to_string()))? {
            None => return Ok(()),
            Some(taken) => taken.map_err(schema_fault)?,
        }
    }
}

fn counted(
    py: Python<'_>,
    table: Reader,
    by: Option<&str>,
    rejects: Option<Reader>,
) -> PyResult<Summary> {
    let mut summary = Counted::new(&table.schema(), by).map_err(schema_fault)?;
    each(py, table, |batch| summary.push(&batch))?;
    if let Some(rejects) = rejects {
        each(py, rejects, |batch| summary.push_rejects(&batch))?;
    }
    Ok(Summary(summary))
}

fn chosen(py: Python<'_>, table: Reader, budget: f64, by: &str) -> PyResult<Selection> {
    let Some(rank) = Rank::from_key(by) else {
        let keys = Rank::ALL.map(Rank::key).join(", ");
        return Err(refused("by", by, format!("must be one of {keys}")));
    };
    if !(budget.is_finite() && budget >= 0.0) {
        return Err(faulty("budget", &budget.to_string(), "must be 0 or more".to_owned()));
    }
    let schema = table.schema();
    let mut batches = Vec::new();
    each(py, table, |batch| {
        batches.push(batch);
        Ok(())
    })?;
    let selection = py.detach(|| selection::select(&schema, batches, budget, rank));
    selection.map(Selection).map_err(schema_fault)
}

/// Adds up a scored table: what an analyst reports of many houses.
///
/// Args:
///     table: What `score` gives, or anything that offers the Arrow PyCapsule stream and has the
///         columns of the results, your own columns beside them.
///     by: A column of the table to group by: your own, as in county, or one of the results, as in
///         readiness.
///     rejects: Rows that could not be scored, where the table has only those that could:
///         `Scored.rejects`, or a file of rejects read back. They count as read and rejected.
///
/// Returns:
///     The counts, sums and quantiles, in all and by the column.
///
/// Raises:
///     studbay.errors.SchemaError: With every fault of the columns.
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
///     >>> summary = studbay.summarize(studbay.score(table), by="county")
///     >>> summary
///     <Summary: 2 read, 1 scored (0 on hold), 1 rejected, by county>
///     >>> polars.DataFrame(summary)["net_cost_sum"].to_list()
///     [2400.0, 0.0]
#[pyfunction]
#[pyo3(signature = (table, by = None, *, rejects = None))]
pub(crate) fn summarize(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    by: Option<&str>,
    rejects: Option<Bound<'_, PyAny>>,
) -> PyResult<Summary> {
    let rejects = rejects.as_ref().map(reader).transpose()?;
    counted(py, reader(&table)?, by, rejects)
}

/// Adds up a scored file, as `summarize` does a table.
///
/// Args:
///     path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
///     by: A column of the file to group by.
///     rejects: The file of the rows that could not be scored. Without it, the file that stands
///         beside under the name that the command line gives it, if there is one.
///
/// Returns:
///     The counts, sums and quantiles, in all and by the column.
///
/// Raises:
///     OSError: What the system says about a file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For a file that is not what its name says.
#[pyfunction]
#[pyo3(signature = (path, by = None, *, rejects = None))]
pub(crate) fn summarize_file(
    py: Python<'_>,
    path: PathBuf,
    by: Option<&str>,
    rejects: Option<PathBuf>,
) -> PyResult<Summary> {
    let open = |path: &Path| table_file::open(path).map_err(|error| file_error(py, &error));
    let beside = || table_file::rejects_beside(&path).filter(|beside| beside.is_file());
    let rejects = rejects.or_else(beside).map(|path| open(&path)).transpose()?;
    counted(py, open(&path)?, by, rejects)
}

/// Chooses the houses to treat first under a budget; `Selection` says how.
///
/// Args:
///     table: What `score` gives, or anything that offers the Arrow PyCapsule stream and has the
///         columns of the results, your own columns beside them.
///     budget: What may be spent, after rebates and tax credits.
///     by: `"sir"`, the savings-to-investment ratio, the highest first; or `"cost_per_tonne"` of
///         CO2e avoided, the lowest first.
///
/// Returns:
///     The list in order, and every house that is left out with the reason.
///
/// Raises:
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For a budget below 0, any other word for `by`, and what is no
///         table.
#[pyfunction]
#[pyo3(signature = (table, budget, by = "sir"))]
pub(crate) fn select(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    budget: f64,
    by: &str,
) -> PyResult<Selection> {
    chosen(py, reader(&table)?, budget, by)
}

/// Chooses from a scored file, as `select` does from a table.
///
/// Args:
///     path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
///     budget: What may be spent, after rebates and tax credits.
///     by: `"sir"` or `"cost_per_tonne"`.
///
/// Returns:
///     The list in order, and every house that is left out with the reason.
///
/// Raises:
///     OSError: What the system says about the file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For a budget below 0, any other word for `by`, and a file that is
///         not what its name says.
#[pyfunction]
#[pyo3(signature = (path, budget, by = "sir"))]
pub(crate) fn select_file(
    py: Python<'_>,
    path: PathBuf,
    budget: f64,
    by: &str,
) -> PyResult<Selection> {
    let table = table_file::open(&path).map_err(|error| file_error(py, &error))?;
    chosen(py, table, budget, by)
}
