//! `report`, `report_portfolio` and `write_reports`: pages that stand alone.

use super::batch::{reader, schema_fault};
use super::errors::{faulty, house_file_error, refused, unreadable};
use super::files::file_error;
use super::house::House;
use super::portfolio::each;
use super::unit_system;
use crate::batch::selection::{self, Rank};
use crate::batch::spread::Spread;
use crate::batch::summary::Summary;
use crate::batch::table::{Reader, readable};
use crate::batch::table_file;
use crate::house::HouseFileError;
use crate::house::{OPTIONS, Raw};
use crate::page::portfolio::{Portfolio, portfolio};
use crate::page::words::{LANGUAGES, Words};
use crate::page::{Binder, PageError, PageOptions, PagesError, Printer};
use pyo3::prelude::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What a programme gives to make its own pages.
struct Wanted {
    units: String,
    currency: String,
    language: String,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
    live: bool,
}

impl Wanted {
    fn printer(self) -> PyResult<Printer> {
        Printer::new(self.options()?).map_err(page_error)
    }

    fn options(self) -> PyResult<PageOptions> {
        let words = self.words.map(Words::from_texts);
        Ok(PageOptions {
            units: unit_system(&self.units)?,
            currency: self.currency,
            language: self.language,
            words,
            templates: self.templates.unwrap_or_default(),
            date: self.date,
            live: self.live,
        })
    }
}

/// The refusal of an option, by its name.
fn page_error(error: PageError) -> PyErr {
    match error {
        PageError::Language(given) => {
            refused("language", &given, format!("must be one of {}", LANGUAGES.join(", ")))
        }
        PageError::Currency(given) => refused(
            "currency",
            &given,
            format!("allowed are at most {} characters", crate::page::MOST_CURRENCY),
        ),
        PageError::Words(error) => refused("words", "", error.0),
        PageError::Template(reason) => refused("templates", "", reason),
        PageError::House(reason) => refused("house", "", reason),
    }
}

/// The report of a house as one page of HTML that stands alone.
///
/// The page needs no network and holds no script but its own. With `live` it has sliders; its
/// figures then come from this very library, compiled to WebAssembly and carried in the page.
/// Without JavaScript it is the same page, standing still.
///
/// Args:
///     house: The house.
///     units: `"ip"` or `"si"`.
///     currency: Label in front of amounts, at most 12 characters; nothing is converted.
///     language: `"en"` or `"es"`.
///     words: Texts that take the place of the language's own, by name.
///     templates: Templates of your own for `page.html`, `letterhead.html`, `page.css`, by name.
///         They are trusted; what they show of a house is escaped.
///     date: The day as it is to be written on the page; left out where None.
///     live: Whether the page has sliders.
///
/// Returns:
///     The page.
///
/// Raises:
///     studbay.errors.InputError: For an option that gives no page.
#[pyfunction]
#[pyo3(signature = (house, *, units = "ip", currency = "$", language = "en", words = None, templates = None, date = None, live = true))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn report(
    py: Python<'_>,
    house: &Bound<'_, House>,
    units: &str,
    currency: &str,
    language: &str,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
    live: bool,
) -> PyResult<String> {
    let wanted = Wanted {
        units: units.to_owned(),
        currency: currency.to_owned(),
        language: language.to_owned(),
        words,
        templates,
        date,
        live,
    };
    let stated = stated_options(py, house)?;
    let house = &house.get().house;
    let page = py.detach(|| {
        wanted.printer().map(|printer| printer.page_with_options(house, stated.as_ref()))
    })?;
    page.map_err(page_error)
}

/// The options that the file or the keywords of a house state.
fn stated_options(py: Python<'_>, house: &Bound<'_, House>) -> PyResult<Option<Raw>> {
    let Raw::Table(table) = house.get().document(py)? else { return Ok(None) };
    Ok(table.into_iter().find_map(|(key, value)| (key == OPTIONS).then_some(value)))
}

/// What a page of many houses is asked to show.
struct Asked<'a> {
    by: Option<&'a str>,
    budget: Option<f64>,
    rank: &'a str,
    name: &'a str,
}

impl Asked<'_> {
    /// The page of a scored table, read once.
    fn page(
        &self,
        py: Python<'_>,
        table: Reader,
        rejects: Option<Reader>,
        wanted: Wanted,
    ) -> PyResult<String> {
        let Some(rank) = Rank::from_key(self.rank) else {
            let keys = Rank::ALL.map(Rank::key).join(", ");
            return Err(refused("rank", self.rank, format!("must be one of {keys}")));
        };
        if let Some(budget) = self.budget
            && !(budget.is_finite() && budget >= 0.0)
        {
            return Err(faulty("budget", &budget.to_string(), "must be 0 or more".to_owned()));
        }
        let options = wanted.options()?;
        let schema = table.schema();
        let mut summary = Summary::new(&schema, self.by).map_err(schema_fault)?;
        let mut spread = Spread::new(&schema).map_err(schema_fault)?;
        let mut batches = Vec::new();
        each(py, table, |batch| {
            summary.push(&batch)?;
            spread.push(&batch)?;
            if self.budget.is_some() {
                batches.push(batch);
            }
            Ok(())
        })?;
        if let Some(rejects) = rejects {
            each(py, rejects, |batch| summary.push_rejects(&batch))?;
        }
        let selected = self
            .budget
            .map(|budget| py.detach(|| selection::select(&schema, batches, budget, rank)))
            .transpose()
            .map_err(schema_fault)?;
        let page = py.detach(|| {
            let shown = Portfolio {
                name: self.name,
                summary: &summary,
                spread: &spread.figures(),
                selection: selected.as_ref(),
            };
            portfolio(&shown, options)
        });
        page.map_err(page_error)
    }
}

/// Many scored houses as one page of HTML that stands alone.
///
/// What `summarize` and `select` give, and how payback, saving, cost and carbon are spread over
/// the houses. The page has no script and holds sums, counts and the first fifty houses of a
/// list, so that it stays small whatever the number of houses.
///
/// Args:
///     table: What `score` gives, or anything that offers the Arrow PyCapsule stream and has the
///         columns of the results, your own columns beside them.
///     by: A column of the table to group by; the first hundred groups are shown.
///     rejects: Rows that could not be scored, as for `summarize`.
///     budget: What may be spent, after rebates and tax credits: then the page says which houses
///         to treat first, as `select` does.
///     rank: `"sir"` or `"cost_per_tonne"`, as for `select`.
///     name: What the list is called.
///     currency: Label in front of amounts, at most 12 characters; nothing is converted.
///     language: `"en"` or `"es"`.
///     words: Texts that take the place of the language's own, by name.
///     templates: Templates of your own for `portfolio.html`, `letterhead.html`, `page.css`,
///         `portfolio.css`, by name. They are trusted; what they show of a list is escaped.
///     date: The day as it is to be written on the page; left out where None.
///
/// Returns:
///     The page.
///
/// Raises:
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For an option that gives no page, and for what is no table.
#[pyfunction]
#[pyo3(signature = (table, *, by = None, rejects = None, budget = None, rank = "sir", name = "", currency = "$", language = "en", words = None, templates = None, date = None))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn report_portfolio(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    by: Option<&str>,
    rejects: Option<Bound<'_, PyAny>>,
    budget: Option<f64>,
    rank: &str,
    name: &str,
    currency: &str,
    language: &str,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
) -> PyResult<String> {
    let wanted = still(currency, language, words, templates, date);
    let rejects = rejects.as_ref().map(reader).transpose()?;
    Asked { by, budget, rank, name }.page(py, reader(&table)?, rejects, wanted)
}

/// A scored file as one page, as `report_portfolio` makes it of a table.
///
/// Args:
///     path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
///     by: A column of the file to group by; the first hundred groups are shown.
///     rejects: The file of the rows that could not be scored. Without it, the file that stands
///         beside under the name that the command line gives it, if there is one.
///     budget: What may be spent, after rebates and tax credits.
///     rank: `"sir"` or `"cost_per_tonne"`.
///     name: What the list is called; the name of the file where None.
///     currency: Label in front of amounts, at most 12 characters; nothing is converted.
///     language: `"en"` or `"es"`.
///     words: As for `report_portfolio`.
///     templates: As for `report_portfolio`.
///     date: The day as it is to be written on the page; left out where None.
///
/// Returns:
///     The page.
///
/// Raises:
///     OSError: What the system says about a file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For an option that gives no page, and for a file that is not what
///         its name says.
#[pyfunction]
#[pyo3(signature = (path, *, by = None, rejects = None, budget = None, rank = "sir", name = None, currency = "$", language = "en", words = None, templates = None, date = None))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn report_portfolio_file(
    py: Python<'_>,
    path: PathBuf,
    by: Option<&str>,
    rejects: Option<PathBuf>,
    budget: Option<f64>,
    rank: &str,
    name: Option<&str>,
    currency: &str,
    language: &str,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
) -> PyResult<String> {
    let wanted = still(currency, language, words, templates, date);
    let open = |path: &Path| table_file::open(path).map_err(|error| file_error(py, &error));
    let beside = || table_file::rejects_beside(&path).filter(|beside| beside.is_file());
    let rejects = rejects.or_else(beside).map(|path| open(&path)).transpose()?;
    let of_file = path.file_name().unwrap_or_default().to_string_lossy();
    let name = name.unwrap_or(if of_file == "-" { "" } else { &of_file });
    Asked { by, budget, rank, name }.page(py, open(&path)?, rejects, wanted)
}

/// A page without sliders, in the units that money and tonnes have anyway.
fn still(
    currency: &str,
    language: &str,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
) -> Wanted {
    Wanted {
        units: "ip".to_owned(),
        currency: currency.to_owned(),
        language: language.to_owned(),
        words,
        templates,
        date,
        live: false,
    }
}

/// A page for each of many houses, into a new folder or zip, without sliders: each is small.
///
/// Args:
///     houses: The houses.
///     folder: A folder that is not there yet; a zip where the name ends in `.zip`. It stands under
///         its name only when all pages are in it.
///     units: `"ip"` or `"si"`.
///     currency: Label in front of amounts, at most 12 characters; nothing is converted.
///     language: `"en"` or `"es"`.
///     words: As for `report`.
///     templates: As for `report`.
///     date: As for `report`.
///     force: Whether what is there already is replaced: a zip, or a folder that holds nothing but
///         such pages.
///
/// Returns:
///     The names of the files, in the order of the houses.
///
/// Raises:
///     OSError: What the system says of the folder; `FileExistsError` where it is there.
///     studbay.errors.InputError: For an option that gives no page.
#[pyfunction]
#[pyo3(signature = (houses, folder, *, units = "ip", currency = "$", language = "en", words = None, templates = None, date = None, force = false))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn write_reports(
    py: Python<'_>,
    houses: Vec<Py<House>>,
    folder: PathBuf,
    units: &str,
    currency: &str,
    language: &str,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
    force: bool,
) -> PyResult<Vec<String>> {
    let printer =
        Wanted { units: units.to_owned(), ..still(currency, language, words, templates, date) }
            .printer()?;
    let houses: Vec<&crate::house::House> = houses.iter().map(|house| &house.get().house).collect();
    let mut binder = py.detach(|| Binder::new(&folder, force)).map_err(|e| pages_error(py, e))?;
    for some in houses.chunks(AT_ONCE) {
        py.detach(|| binder.houses(&printer, some)).map_err(|e| pages_error(py, e))?;
        py.check_signals()?;
    }
    Ok(py.detach(|| binder.finish()).map_err(|e| pages_error(py, e))?.names)
}

/// Pages between two looks whether the user has interrupted.
const AT_ONCE: usize = 256;

fn pages_error(py: Python<'_>, error: PagesError) -> PyErr {
    match error {
        PagesError::Page(error) => page_error(error),
        PagesError::Io { path, source } => {
            house_file_error(py, HouseFileError::Io { path, source }, None)
        }
        PagesError::Table(reason) => schema_fault(crate::batch::SchemaError {
            faults: reason.lines().map(str::to_owned).collect(),
        }),
    }
}

/// Names of the pages; row and faults of each reject.
type NamesAndRejects = (Vec<String>, Vec<(u64, String)>);

/// A page for each row of a file of houses, into a new folder or zip.
///
/// A row is a house with one wall, its columns the fields, as for `score_file`; other columns do no
/// harm. A row that is no house is told, and kept as it was in `rejects.csv` beside the pages.
///
/// Args:
///     path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
///     folder: As for `write_reports`.
///     units: `"ip"` or `"si"`.
///     currency: Label in front of amounts, at most 12 characters; nothing is converted.
///     language: `"en"` or `"es"`.
///     words: As for `report`.
///     templates: As for `report`.
///     date: As for `report`.
///     force: As for `write_reports`.
///
/// Returns:
///     The names of the pages in the order of the rows; and the rejects, row (from 1) and faults of
///     each.
///
/// Raises:
///     OSError: What the system says of file or folder; `FileExistsError` where it is there.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For an option that gives no page, and for a file that is not what
///         its name says.
#[pyfunction]
#[pyo3(signature = (path, folder, *, units = "ip", currency = "$", language = "en", words = None, templates = None, date = None, force = false))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn write_reports_file(
    py: Python<'_>,
    path: PathBuf,
    folder: PathBuf,
    units: &str,
    currency: &str,
    language: &str,
    words: Option<BTreeMap<String, String>>,
    templates: Option<BTreeMap<String, String>>,
    date: Option<String>,
    force: bool,
) -> PyResult<NamesAndRejects> {
    let printer =
        Wanted { units: units.to_owned(), ..still(currency, language, words, templates, date) }
            .printer()?;
    let mut table = table_file::open(&path).map_err(|error| file_error(py, &error))?;
    // Even a table without rows has its columns looked at.
    crate::doubt::table::plan(&table.schema()).map_err(schema_fault)?;
    let mut binder = py.detach(|| Binder::new(&folder, force)).map_err(|e| pages_error(py, e))?;
    loop {
        let next = py.detach(|| table.next().map(|batch| batch.and_then(readable)));
        let Some(batch) = next.transpose().map_err(|e| unreadable("table", &e.to_string()))? else {
            break;
        };
        let mut from = 0;
        while from < batch.num_rows() {
            let some = batch.slice(from, AT_ONCE.min(batch.num_rows() - from));
            py.detach(|| binder.rows(&printer, &some)).map_err(|e| pages_error(py, e))?;
            py.check_signals()?;
            from += AT_ONCE;
        }
    }
    let bound = py.detach(|| binder.finish()).map_err(|e| pages_error(py, e))?;
    Ok((bound.names, bound.rejects))
}

/// The house as the text of a JSON house file: what was given, in inch-pound units, to the bit.
///
/// Args:
///     house: The house.
///
/// Returns:
///     JSON that `House.from_json` reads to a house with the same figures.
#[pyfunction(name = "_house_json")]
pub(crate) fn house_json(house: &Bound<'_, House>) -> String {
    house.get().house.to_json()
}

/// What a page shows with its sliders at these stops, as JSON.
///
/// The native twin of the core in the page, for tests.
#[pyfunction(name = "_page_shows")]
pub(crate) fn page_shows(
    house: &Bound<'_, House>,
    at: &str,
    units: &str,
    currency: &str,
    language: &str,
) -> PyResult<String> {
    let words =
        Words::of(language).ok_or_else(|| page_error(PageError::Language(language.to_owned())))?;
    let stated = stated_options(house.py(), house)?;
    let live = crate::page::live::Live::new(
        &house.get().house,
        stated.as_ref(),
        words,
        unit_system(units)?,
        currency,
    )
    .map_err(|error| page_error(PageError::House(error.to_string())))?;
    Ok(live.show(at))
}
