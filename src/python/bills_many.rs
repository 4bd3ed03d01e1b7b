//! Bills of many houses: fits and proofs of long tables.

use super::batch::{Table, threads_of};
use super::bills::{daily, fuel_of, normal_year, options, source, table_fault, table_of};
use super::errors::{faulty, input_error};
use crate::bills::table;
use crate::bills::{self, Climate, Climates, HouseNote, MeterPair, MeterRows, NormalYear, Workers};
use crate::error::{InputError, Issue, IssueCode, nearest};
use crate::house::Fuel;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::collections::{HashMap, HashSet};

/// Meters that are fitted between two looks at the keyboard.
const WAVE: usize = 512;
/// Faults that are told at once.
const MOST_FAULTS: usize = 100;

type Notes = HashMap<String, HouseNote>;

fn meters_of(
    py: Python<'_>,
    given: &Bound<'_, PyAny>,
    fuel: Option<Fuel>,
) -> PyResult<Vec<MeterRows>> {
    let reader = source(given)?;
    let schema = reader.schema();
    if !schema.fields().iter().any(|field| field.name().trim() == "house_id") {
        let fault = "column house_id is missing: bills of many houses name the house of each row";
        return Err(super::batch::schema_fault(fault.to_owned().into()));
    }
    py.detach(|| table::meters(&schema, reader, fuel)).map_err(table_fault)
}

fn notes_of(py: Python<'_>, houses: Option<&Bound<'_, PyAny>>) -> PyResult<Notes> {
    let Some(houses) = houses else { return Ok(Notes::new()) };
    let reader = source(houses)?;
    let schema = reader.schema();
    py.detach(|| table::notes(&schema, reader)).map_err(table_fault)
}

/// A house that something is known of and that has no bills is most likely spelt otherwise.
fn all_have_bills(notes: &Notes, houses: &HashSet<&str>) -> PyResult<()> {
    let mut lost: Vec<&String> =
        notes.keys().filter(|house| !houses.contains(house.as_str())).collect();
    lost.sort_unstable();
    let issues: Vec<Issue> = lost
        .iter()
        .take(MOST_FAULTS)
        .map(|house| {
            let near = nearest(house, houses.iter().copied());
            let hint = near.map_or_else(String::new, |near| format!("; is {near} meant?"));
            let reason = format!("stands among the houses and has no bills{hint}");
            Issue::new(IssueCode::Missing, "house_id", house.as_str(), reason)
        })
        .collect();
    if issues.is_empty() { Ok(()) } else { Err(input_error(InputError { issues })) }
}

fn climate(
    py: Python<'_>,
    weather: &Bound<'_, PyAny>,
    normal: Option<&Bound<'_, PyAny>>,
) -> PyResult<Climate> {
    let mut findings = Vec::new();
    let weather = daily(py, weather, &mut findings)?;
    let normal = match normal_year(py, normal, Some(&weather), &mut findings)? {
        Some(normal) => normal,
        None => NormalYear::new(&weather).map_err(input_error)?,
    };
    Ok(Climate { weather, normal, findings })
}

fn climates(
    py: Python<'_>,
    weather: &Bound<'_, PyAny>,
    normal: Option<&Bound<'_, PyAny>>,
    notes: &Notes,
) -> PyResult<Climates> {
    let Ok(named) = weather.cast::<PyDict>() else {
        let mut told: Vec<_> = notes.iter().filter(|(_, note)| note.weather.is_some()).collect();
        told.sort_unstable_by_key(|(house, _)| house.as_str());
        if let Some((house, note)) = told.first() {
            let name = note.weather.as_deref().unwrap_or_default();
            let reason = format!("{house} names its weather: give weather by name, as a dict");
            return Err(faulty("weather", name, reason));
        }
        return climate(py, weather, normal).map(Climates::one);
    };
    let (mut all, mut places) = (Climates::default(), HashMap::new());
    for (name, one) in named {
        let name: String = name.extract()?;
        let own = match normal.map(|normal| normal.cast::<PyDict>()) {
            None => None,
            Some(Err(_)) => normal.cloned(),
            Some(Ok(years)) => match years.get_item(&name)? {
                Some(year) => Some(year),
                None => return Err(faulty("normal", &name, "has no usual year of it".to_owned())),
            },
        };
        places.insert(name, all.list.len());
        all.list.push(climate(py, &one, own.as_ref())?);
    }
    let mut issues = Vec::new();
    let mut sorted: Vec<_> = notes.iter().collect();
    sorted.sort_unstable_by_key(|(house, _)| house.as_str());
    for (house, note) in sorted {
        let Some(name) = &note.weather else { continue };
        match places.get(name) {
            Some(place) => {
                all.of.insert(house.clone(), *place);
            }
            None if issues.len() < MOST_FAULTS => {
                let mut names: Vec<&str> = places.keys().map(String::as_str).collect();
                names.sort_unstable();
                let reason = format!("house {house}: must be one of {}", names.join(", "));
                issues.push(Issue::new(IssueCode::NotAChoice, "weather", name.as_str(), reason));
            }
            None => {}
        }
    }
    if issues.is_empty() { Ok(all) } else { Err(input_error(InputError { issues })) }
}

/// Fits many meters on all cores.
///
/// Args:
///     table: A long table or the path of one: `house_id`, `start`, `end` and `use`; `fuel`, `unit`
///         and `estimated` where wanted.
///     weather: As for `fit_bills`, for all of them; or several by name, a dict.
///     fuel: The fuel of rows that name none.
///     form: As for `fit_bills`.
///     houses: What is known of houses, a table or a path: `house_id`, and `weather`, the name of
///         its weather; a house that has none there has a fault.
///     normal: As for `fit_bills`; a dict gives each weather its own.
///     level: Confidence of the intervals.
///     resamples: Of the bootstrap.
///     seed: Where its random numbers begin; each house has its own.
///     threads: How many threads; all cores when `None`. The results are the same.
///
/// Returns:
///     A row for each house and fuel, in the order of their first rows: the figures of `BillFit`,
///     `verdict`, the codes of `findings`, and `faults`, why a meter could not be fitted, with the
///     rows of the table.
///
/// Raises:
///     OSError: What the system says about a file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For rows without a house or fuel, for houses without bills, for
///         weather that has no such name, and for weather of less than a year without `normal`.
#[pyfunction]
#[pyo3(signature = (table, weather, *, fuel = None, form = "heating", houses = None, normal = None,
                    level = 0.9, resamples = 200, seed = 1, threads = None))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn fit_meters(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    weather: Bound<'_, PyAny>,
    fuel: Option<&str>,
    form: &str,
    houses: Option<Bound<'_, PyAny>>,
    normal: Option<Bound<'_, PyAny>>,
    level: f64,
    resamples: u32,
    seed: u64,
    threads: Option<i64>,
) -> PyResult<Table> {
    let fuel = fuel.map(fuel_of).transpose()?;
    let options = options(form, level, resamples, seed, "")?;
    let threads = threads_of(threads)?;
    let meters = meters_of(py, &table, fuel)?;
    let notes = notes_of(py, houses.as_ref())?;
    all_have_bills(&notes, &meters.iter().map(|meter| meter.house_id.as_str()).collect())?;
    let climates = climates(py, &weather, normal.as_ref(), &notes)?;
    let workers = Workers::new(threads);
    let mut results = Vec::with_capacity(meters.len());
    for wave in meters.chunks(WAVE) {
        let some = py.detach(|| bills::fit_meters(wave, &climates, &options, &workers));
        results.extend(some);
        py.check_signals()?;
    }
    table_of(py.detach(|| crate::bills::table::results_table(&results)))
}

/// Proves what each of many houses saved, on all cores.
///
/// Args:
///     before: Bills before, a long table or a path, as for `fit_meters`.
///     after: Bills after.
///     weather: As for `fit_meters`; it must cover both.
///     fuel: The fuel of rows that name none.
///     form: As for `fit_bills`.
///     houses: What is known of houses, a table or a path: `house_id`; `untreated`, yes for the
///         houses of the comparison group, whose change is taken out of the others of their fuel;
///         `promised_low`, `promised` and `promised_high`; `weather`, as for `fit_meters`.
///     normal: As for `fit_meters`.
///     level: Confidence of the intervals.
///     resamples: Of the bootstrap.
///     seed: Where its random numbers begin; each house has its own.
///     threads: How many threads; all cores when `None`. The results are the same.
///
/// Returns:
///     A row for each house and fuel: the figures of `Proof` with their intervals, `verdict`, the
///     codes of `findings`, and `faults`, why nothing could be proved: a house that has bills on
///     one side only is one.
///
/// Raises:
///     OSError: What the system says about a file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: As for `fit_meters`, and for a comparison group without use.
#[pyfunction]
#[pyo3(signature = (before, after, weather, *, fuel = None, form = "heating", houses = None,
                    normal = None, level = 0.9, resamples = 200, seed = 1, threads = None))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn prove_meters(
    py: Python<'_>,
    before: Bound<'_, PyAny>,
    after: Bound<'_, PyAny>,
    weather: Bound<'_, PyAny>,
    fuel: Option<&str>,
    form: &str,
    houses: Option<Bound<'_, PyAny>>,
    normal: Option<Bound<'_, PyAny>>,
    level: f64,
    resamples: u32,
    seed: u64,
    threads: Option<i64>,
) -> PyResult<Table> {
    let fuel = fuel.map(fuel_of).transpose()?;
    let options = options(form, level, resamples, seed, "")?;
    let threads = threads_of(threads)?;
    let (before, after) = (meters_of(py, &before, fuel)?, meters_of(py, &after, fuel)?);
    let notes = notes_of(py, houses.as_ref())?;
    let pairs = MeterPair::of(before, after, &notes);
    all_have_bills(&notes, &pairs.iter().map(|pair| pair.house_id.as_str()).collect())?;
    let climates = climates(py, &weather, normal.as_ref(), &notes)?;
    let workers = Workers::new(threads);
    let results = py.detach(|| bills::prove_meters(&pairs, &climates, &options, &workers));
    let results = results.map_err(input_error)?;
    table_of(py.detach(|| crate::bills::table::proofs_table(&results)))
}
