//! `report` and `write_reports`: pages that stand alone.

use super::errors::{house_file_error, refused};
use super::house::House;
use super::unit_system;
use crate::house::HouseFileError;
use crate::page::words::{LANGUAGES, Words};
use crate::page::{PageError, PageOptions, PagesError, Printer, reports};
use pyo3::prelude::*;
use std::collections::BTreeMap;
use std::path::PathBuf;

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
        let words = self.words.map(Words::from_texts);
        let options = PageOptions {
            units: unit_system(&self.units)?,
            currency: self.currency,
            language: self.language,
            words,
            templates: self.templates.unwrap_or_default(),
            date: self.date,
            live: self.live,
        };
        Printer::new(options).map_err(page_error)
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
    let house = &house.get().house;
    let page = py.detach(|| wanted.printer().map(|printer| printer.page(house)))?;
    page.map_err(page_error)
}

/// A page for each of many houses, into a new folder: without sliders, so that each is small.
///
/// Args:
///     houses: The houses.
///     folder: A folder that is not there yet. It stands under its name only when all pages are
///         in it.
///     units: `"ip"` or `"si"`.
///     currency: Label in front of amounts, at most 12 characters; nothing is converted.
///     language: `"en"` or `"es"`.
///     words: As for `report`.
///     templates: As for `report`.
///     date: As for `report`.
///
/// Returns:
///     The names of the files, in the order of the houses.
///
/// Raises:
///     OSError: What the system says of the folder; `FileExistsError` where it is there.
///     studbay.errors.InputError: For an option that gives no page.
#[pyfunction]
#[pyo3(signature = (houses, folder, *, units = "ip", currency = "$", language = "en", words = None, templates = None, date = None))]
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
) -> PyResult<Vec<String>> {
    let wanted = Wanted {
        units: units.to_owned(),
        currency: currency.to_owned(),
        language: language.to_owned(),
        words,
        templates,
        date,
        live: false,
    };
    let printer = wanted.printer()?;
    let houses: Vec<&crate::house::House> = houses.iter().map(|house| &house.get().house).collect();
    py.detach(|| reports(&printer, &houses, &folder)).map_err(|error| match error {
        PagesError::Page(error) => page_error(error),
        PagesError::Io { path, source } => {
            house_file_error(py, HouseFileError::Io { path, source }, None)
        }
    })
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
    let live =
        crate::page::live::Live::new(&house.get().house, words, unit_system(units)?, currency)
            .map_err(|error| page_error(PageError::House(error.to_string())))?;
    Ok(live.show(at))
}
