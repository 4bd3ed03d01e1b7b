//! Bills of one house: `BillFit`, `Calibration`, `Proof`.

use super::account::Block;
use super::batch::{Table, reader, schema_fault};
use super::errors::{faulty, input_error, refused, unreadable};
use super::files::file_error;
use super::house::House;
use super::unit_system;
use crate::batch::table::Reader;
use crate::batch::table_file;
use crate::bills::table::{self, TableError};
use crate::bills::{self, Fit, Form, NormalYear, Options, Promise};
use crate::climate::DailyMeans;
use crate::house::{Choices, Fuel};
use crate::words;
use arrow_array::RecordBatch;
use arrow_schema::ArrowError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList, PyString};
use std::path::PathBuf;

/// One thing found in bills, in a fit, or in a comparison.
#[pyclass(frozen, get_all, eq, module = "studbay", name = "BillFinding")]
#[derive(Clone, PartialEq)]
pub(crate) struct BillFinding {
    /// Stable for programs.
    code: &'static str,
    /// `note`: the figures stand; `doubt`: they may be wrong; `refuse`: do not use them.
    weight: &'static str,
    /// What was found, in a sentence.
    text: String,
}

#[pymethods]
impl BillFinding {
    fn __repr__(&self) -> String {
        format!("<BillFinding {}: {}>", self.weight, self.code)
    }
}

fn found(findings: &[bills::Finding]) -> Vec<BillFinding> {
    let one = |finding: &bills::Finding| BillFinding {
        code: finding.code,
        weight: finding.weight.as_str(),
        text: finding.text.clone(),
    };
    findings.iter().map(one).collect()
}

fn plain(blocks: &[words::Block]) -> String {
    let one = |block: &words::Block| {
        let lines = block.lines.iter().map(|(label, text)| {
            if label.is_empty() { format!("\n  {text}") } else { format!("\n  {label}: {text}") }
        });
        lines.fold(block.title.clone(), |all, line| all + &line)
    };
    blocks.iter().map(one).collect::<Vec<_>>().join("\n\n")
}

fn number(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

pub(super) fn table_fault(error: TableError) -> PyErr {
    match error {
        TableError::Schema(error) => schema_fault(error),
        TableError::Input(error) => input_error(error),
        TableError::Arrow(error) => unreadable("table", &error.to_string()),
    }
}

pub(super) fn table_of(batch: Result<RecordBatch, ArrowError>) -> PyResult<Table> {
    let batch = batch.map_err(|error| unreadable("table", &error.to_string()))?;
    Ok(Table { schema: batch.schema(), batches: vec![batch] })
}

/// A table, or the file of a path.
pub(super) fn source(table: &Bound<'_, PyAny>) -> PyResult<Reader> {
    let is_path = table.is_instance_of::<PyString>() || table.hasattr("__fspath__")?;
    if !is_path {
        return reader(table);
    }
    let path: PathBuf = table.extract()?;
    table_file::open(&path).map_err(|error| file_error(table.py(), &error))
}

pub(super) fn daily(
    py: Python<'_>,
    table: &Bound<'_, PyAny>,
    findings: &mut Vec<bills::Finding>,
) -> PyResult<DailyMeans> {
    let reader = source(table)?;
    let schema = reader.schema();
    py.detach(|| table::weather(&schema, reader, findings)).map_err(table_fault)
}

pub(super) fn fuel_of(fuel: &str) -> PyResult<Fuel> {
    Fuel::from_key(fuel)
        .ok_or_else(|| refused("fuel", fuel, format!("must be {}", Choices::Fuel.listed())))
}

pub(super) fn options(
    form: &str,
    level: f64,
    resamples: u32,
    seed: u64,
    stream: &str,
) -> PyResult<Options> {
    let Some(known) = Form::from_key(form) else {
        let reason = format!("must be one of {}", Form::KEYS.join(", "));
        return Err(refused("form", form, reason));
    };
    let options = Options { form: known, level, resamples, seed, stream: stream.to_owned() };
    options.check().map_err(input_error)?;
    Ok(options)
}

pub(super) fn normal_year(
    py: Python<'_>,
    given: Option<&Bound<'_, PyAny>>,
    weather: Option<&DailyMeans>,
    findings: &mut Vec<bills::Finding>,
) -> PyResult<Option<NormalYear>> {
    match given {
        Some(given) => {
            let days = daily(py, given, findings)?;
            NormalYear::new(&days).map(Some).map_err(input_error)
        }
        // Weather of less than a year has no usual year in it.
        None => Ok(weather.and_then(|weather| NormalYear::new(weather).ok())),
    }
}

/// A fit of metered use against the weather.
///
/// Use is in `unit`, the unit that the fuel is sold in. Temperatures are in °F. A figure that does
/// not exist is `None`. `str()` gives it in words.
#[pyclass(frozen, module = "studbay", name = "BillFit")]
pub(crate) struct BillFit {
    fit: Fit,
    normal: Option<NormalYear>,
}

impl BillFit {
    fn of(&self, which: fn(&Fit, &NormalYear) -> bills::Ranged) -> Option<bills::Ranged> {
        self.normal.as_ref().map(|normal| which(&self.fit, normal))
    }
}

#[pymethods]
impl BillFit {
    /// The fuel.
    #[getter]
    fn fuel(&self) -> &'static str {
        self.fit.fuel.row().key
    }

    /// The unit of every use.
    #[getter]
    fn unit(&self) -> &'static str {
        self.fit.fuel.row().unit
    }

    /// `straight`, `heating` or `heating_cooling`.
    #[getter]
    fn form(&self) -> &'static str {
        self.fit.options.form.as_str()
    }

    /// Base load, use a day; of a straight line, use a day at 0 °F.
    #[getter]
    fn base_per_day(&self) -> f64 {
        self.fit.params.base
    }

    /// Its standard error.
    #[getter]
    fn base_per_day_se(&self) -> Option<f64> {
        number(self.fit.errors.base)
    }

    /// Use a day for each °F colder.
    #[getter]
    fn heating_per_day_f(&self) -> f64 {
        self.fit.params.heating_slope
    }

    /// Its standard error.
    #[getter]
    fn heating_per_day_f_se(&self) -> Option<f64> {
        number(self.fit.errors.heating_slope)
    }

    /// The temperature below which heating begins, °F.
    #[getter]
    fn change_point_f(&self) -> Option<f64> {
        number(self.fit.params.heating_change_f)
    }

    /// Its standard error, °F.
    #[getter]
    fn change_point_f_se(&self) -> Option<f64> {
        number(self.fit.errors.heating_change_f)
    }

    /// Use a day for each °F warmer; `None` where cooling is not fitted.
    #[getter]
    fn cooling_per_day_f(&self) -> Option<f64> {
        (self.fit.options.form == Form::HeatingCooling).then_some(self.fit.params.cooling_slope)
    }

    /// The temperature above which cooling begins, °F.
    #[getter]
    fn cooling_point_f(&self) -> Option<f64> {
        number(self.fit.params.cooling_change_f)
    }

    /// Share of the variation of use a day that the fit explains.
    #[getter]
    fn r2(&self) -> Option<f64> {
        number(self.fit.r2)
    }

    /// Root of the mean square error over the mean use.
    ///
    /// ASHRAE Guideline 14 asks 0.15 of monthly data (seen quoted).
    #[getter]
    fn cv_rmse(&self) -> Option<f64> {
        number(self.fit.cv_rmse)
    }

    /// Mean error over the mean use.
    ///
    /// ASHRAE Guideline 14 asks 0.05 of monthly data (seen quoted).
    #[getter]
    fn nmbe(&self) -> Option<f64> {
        number(self.fit.nmbe)
    }

    /// How many readings were fitted.
    ///
    /// 12 are best, fewer than 10 suspect (Rachlin, Fels and Socolow 1986).
    #[getter]
    fn readings(&self) -> usize {
        self.fit.readings()
    }

    /// `sound`, `doubtful` or `unusable`.
    #[getter]
    fn verdict(&self) -> &'static str {
        self.fit.verdict().as_str()
    }

    /// What was found.
    #[getter]
    fn findings(&self) -> Vec<BillFinding> {
        found(&self.fit.findings)
    }

    /// Use of a usual year: 365 base + slope × degree-days; `None` without one.
    #[getter]
    fn annual_use(&self) -> Option<f64> {
        self.of(Fit::annual_total).map(|ranged| ranged.value)
    }

    /// Its interval.
    #[getter]
    fn annual_use_interval(&self) -> Option<(f64, f64)> {
        self.of(Fit::annual_total)?.interval
    }

    /// Heating use of a usual year: what `billed_heating_fuel` of a house means.
    #[getter]
    fn annual_heating(&self) -> Option<f64> {
        self.of(Fit::annual_heating).and_then(|ranged| number(ranged.value))
    }

    /// Its interval.
    #[getter]
    fn annual_heating_interval(&self) -> Option<(f64, f64)> {
        self.of(Fit::annual_heating)?.interval
    }

    /// The interval of the slope.
    #[getter]
    fn heating_per_day_f_interval(&self) -> Option<(f64, f64)> {
        self.fit.interval(|params| params.heating_slope)
    }

    /// The interval of the change point, °F.
    #[getter]
    fn change_point_f_interval(&self) -> Option<(f64, f64)> {
        self.fit.interval(|params| params.heating_change_f)
    }

    /// The confidence of the intervals.
    #[getter]
    fn level(&self) -> f64 {
        self.fit.options.level
    }

    /// The fitted readings: dates, days, use, mean temperature, degree-days, fitted, error.
    #[getter]
    fn points(&self) -> PyResult<Table> {
        table_of(table::readings_table(&self.fit))
    }

    /// The fit over the mean temperature of a day, with its band.
    ///
    /// Args:
    ///     points: How many temperatures, 2 to 10,000.
    ///
    /// Returns:
    ///     `temperature_f`, `use_per_day`, `low`, `high`.
    #[pyo3(signature = (points = 101))]
    fn curve(&self, py: Python<'_>, points: usize) -> PyResult<Table> {
        table_of(py.detach(|| table::curve_table(&self.fit, points)))
    }

    /// Use of a day at a mean temperature.
    ///
    /// Args:
    ///     temperature_f: The temperature in °F.
    fn use_per_day_at(&self, temperature_f: f64) -> f64 {
        self.fit.params.at(self.fit.options.form, temperature_f)
    }

    /// The fit in words.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`, of temperatures.
    #[pyo3(signature = (units = "ip"))]
    fn account(&self, units: &str) -> PyResult<Vec<Block>> {
        let units = unit_system(units)?;
        let blocks = bills::fit_blocks(&self.fit, self.normal.as_ref(), units);
        Ok(blocks.into_iter().map(Block::from).collect())
    }

    /// The fit as text.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`, of temperatures.
    #[pyo3(signature = (units = "ip"))]
    fn text(&self, units: &str) -> PyResult<String> {
        let units = unit_system(units)?;
        Ok(plain(&bills::fit_blocks(&self.fit, self.normal.as_ref(), units)))
    }

    /// How the figures came about, line by line, with sources.
    fn explain(&self) -> String {
        bills::explain(&self.fit, self.normal.as_ref())
    }

    /// The figures as plain objects.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("fuel", self.fuel())?;
        dict.set_item("unit", self.unit())?;
        dict.set_item("form", self.form())?;
        dict.set_item("readings", self.readings())?;
        dict.set_item("base_per_day", self.base_per_day())?;
        dict.set_item("base_per_day_se", self.base_per_day_se())?;
        dict.set_item("heating_per_day_f", self.heating_per_day_f())?;
        dict.set_item("heating_per_day_f_se", self.heating_per_day_f_se())?;
        dict.set_item("heating_per_day_f_interval", self.heating_per_day_f_interval())?;
        dict.set_item("change_point_f", self.change_point_f())?;
        dict.set_item("change_point_f_se", self.change_point_f_se())?;
        dict.set_item("change_point_f_interval", self.change_point_f_interval())?;
        dict.set_item("cooling_per_day_f", self.cooling_per_day_f())?;
        dict.set_item("cooling_point_f", self.cooling_point_f())?;
        dict.set_item("annual_use", self.annual_use())?;
        dict.set_item("annual_use_interval", self.annual_use_interval())?;
        dict.set_item("annual_heating", self.annual_heating())?;
        dict.set_item("annual_heating_interval", self.annual_heating_interval())?;
        dict.set_item("level", self.level())?;
        dict.set_item("r2", self.r2())?;
        dict.set_item("cv_rmse", self.cv_rmse())?;
        dict.set_item("nmbe", self.nmbe())?;
        dict.set_item("verdict", self.verdict())?;
        dict.set_item("findings", findings_list(py, &self.fit.findings)?)?;
        Ok(dict)
    }

    fn __str__(&self) -> PyResult<String> {
        self.text("ip")
    }

    fn __repr__(&self) -> String {
        format!(
            "<BillFit of {}: {} readings, R² {:.4}, {}>",
            self.fuel(),
            self.readings(),
            self.fit.r2,
            self.verdict()
        )
    }
}

fn findings_list<'py>(
    py: Python<'py>,
    findings: &[bills::Finding],
) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for finding in findings {
        let entry = PyDict::new(py);
        entry.set_item("code", finding.code)?;
        entry.set_item("weight", finding.weight.as_str())?;
        entry.set_item("text", &finding.text)?;
        list.append(entry)?;
    }
    Ok(list)
}

/// Fits the bills of one meter over the weather.
///
/// The base load, the slope and the temperature at which heating begins, by the degree-days of
/// each period; the change point is the exact optimum, the intervals are a bootstrap of residuals
/// that is the same for the same seed and house.
///
/// Args:
///     bills: A table or the path of one: `start`, `end` (the day of the next reading) and `use`;
///         `unit` (as in therm, ccf, kWh), `estimated` (yes or no), `fuel` and `house_id` where
///         wanted.
///     weather: A table or the path of one: `date`, and the mean of the day, `mean_f` or `mean_c`.
///     fuel: The fuel, as in `House`; of bills of several fuels, the one to fit.
///     form: `"heating"`; `"heating_cooling"` where cooling is on the meter; `"straight"` for the
///         heating season alone.
///     normal: Weather of a usual year, or of several; the weather itself where left out.
///     level: Confidence of the intervals.
///     resamples: Of the bootstrap.
///     seed: Where its random numbers begin.
///
/// Returns:
///     The fit.
///
/// Raises:
///     OSError: What the system says about a file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: With every fault of the readings, and where they are too few.
#[pyfunction]
#[pyo3(signature = (bills, weather, *, fuel, form = "heating", normal = None, level = 0.9,
                    resamples = 1000, seed = 1))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn fit_bills(
    py: Python<'_>,
    bills: Bound<'_, PyAny>,
    weather: Bound<'_, PyAny>,
    fuel: &str,
    form: &str,
    normal: Option<Bound<'_, PyAny>>,
    level: f64,
    resamples: u32,
    seed: u64,
) -> PyResult<BillFit> {
    let fuel = fuel_of(fuel)?;
    let mut options = options(form, level, resamples, seed, "")?;
    let reader = source(&bills)?;
    let schema = reader.schema();
    let meters = py.detach(|| table::meters(&schema, reader, Some(fuel))).map_err(table_fault)?;
    let mut of_fuel = meters.into_iter().filter(|meter| meter.fuel == fuel);
    let Some(meter) = of_fuel.next() else {
        let reason = format!("has no reading of {}", fuel.row().key);
        return Err(faulty("bills", "", reason));
    };
    if let Some(other) = of_fuel.next() {
        let names = format!("{}, {}", meter.house_id, other.house_id);
        let reason = "has more than one house: fit_meters fits them all".to_owned();
        return Err(faulty("bills", &names, reason));
    }
    if !meter.issues.is_empty() {
        return Err(input_error(crate::error::InputError { issues: meter.issues }));
    }
    let mut findings = Vec::new();
    let weather = daily(py, &weather, &mut findings)?;
    let normal = normal_year(py, normal.as_ref(), Some(&weather), &mut findings)?;
    options.stream = meter.house_id;
    let fit = py.detach(|| bills::fit_readings(fuel, &meter.readings, &weather, &options));
    let mut fit = fit.map_err(input_error)?;
    fit.findings.extend(findings);
    Ok(BillFit { fit, normal })
}

/// Fits uses of which only the mean outdoor temperature is known.
///
/// Args:
///     table: A table or the path of one: `use`, `mean_f` or `mean_c`, and `days`, else 1.
///     fuel: The fuel, whose unit the use is in.
///     form: `"straight"`, or `"heating"`, by degree-days as if all days of a period were alike.
///     normal: Weather of a usual year: a table or a path, as for `fit_bills`.
///     level: Confidence of the intervals.
///     resamples: Of the bootstrap.
///     seed: Where its random numbers begin.
///
/// Returns:
///     The fit.
///
/// Raises:
///     OSError: What the system says about a file.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: With every fault of the rows, and where they are too few.
#[pyfunction]
#[pyo3(signature = (table, *, fuel, form = "straight", normal = None, level = 0.9,
                    resamples = 1000, seed = 1))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub(crate) fn fit_means(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    fuel: &str,
    form: &str,
    normal: Option<Bound<'_, PyAny>>,
    level: f64,
    resamples: u32,
    seed: u64,
) -> PyResult<BillFit> {
    let fuel = fuel_of(fuel)?;
    let options = options(form, level, resamples, seed, "")?;
    let reader = source(&table)?;
    let schema = reader.schema();
    let samples = py.detach(|| table::mean_samples(&schema, reader)).map_err(table_fault)?;
    let mut findings = Vec::new();
    let normal = normal_year(py, normal.as_ref(), None, &mut findings)?;
    let fit = py.detach(|| Fit::new(fuel, samples, findings, &options)).map_err(input_error)?;
    Ok(BillFit { fit, normal })
}

/// The model of a house beside its bills.
///
/// The model knows only the surfaces that are to be filled. Compared are what the whole house loses
/// by its bills and what these surfaces lose, the degree-days at the change point and those of the
/// house file, the modelled saving and the billed heating. `str()` gives it in words.
#[pyclass(frozen, module = "studbay", name = "Calibration")]
pub(crate) struct Calibration {
    calibration: bills::Calibration,
    fit: Fit,
}

#[pymethods]
impl Calibration {
    /// Loss of the whole house for each degree, by the bills, Btu/h·°F.
    #[getter]
    fn house_loss_btu_h_f(&self) -> f64 {
        self.calibration.house_loss_btu_h_f.value
    }

    /// Its interval.
    #[getter]
    fn house_loss_btu_h_f_interval(&self) -> Option<(f64, f64)> {
        self.calibration.house_loss_btu_h_f.interval
    }

    /// Loss of the modelled surfaces now, Btu/h·°F.
    #[getter]
    fn walls_loss_btu_h_f(&self) -> f64 {
        self.calibration.walls_loss_btu_h_f
    }

    /// Their share of the whole.
    #[getter]
    fn walls_share(&self) -> Option<f64> {
        number(self.calibration.walls_share)
    }

    /// Heating use of a usual year by the bills: the house's `billed_heating_fuel`.
    #[getter]
    fn billed_heating_fuel(&self) -> f64 {
        self.calibration.heating_fuel.value
    }

    /// Degree-days of a usual year at the change point: the house's `heating_degree_days_f`.
    #[getter]
    fn heating_degree_days_f(&self) -> f64 {
        self.calibration.degree_days_f
    }

    /// Fuel saved a year as the house file has it, not held to bills.
    #[getter]
    fn modelled_fuel_saved(&self) -> f64 {
        self.calibration.modelled_fuel_saved
    }

    /// Fuel saved a year with the degree-days and heating use of the bills.
    ///
    /// `None` where model and bills do not fit together.
    #[getter]
    fn fuel_saved(&self) -> Option<f64> {
        self.calibration.fuel_saved
    }

    /// The one over the other; `None` where it would be blind scaling.
    #[getter]
    fn factor(&self) -> Option<f64> {
        self.calibration.factor
    }

    /// What was found.
    #[getter]
    fn findings(&self) -> Vec<BillFinding> {
        found(&self.calibration.findings)
    }

    /// The comparison in words.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    #[pyo3(signature = (units = "ip"))]
    fn account(&self, units: &str) -> PyResult<Vec<Block>> {
        let units = unit_system(units)?;
        let blocks = bills::calibration_blocks(&self.calibration, &self.fit, units);
        Ok(blocks.into_iter().map(Block::from).collect())
    }

    fn __str__(&self) -> String {
        plain(&bills::calibration_blocks(
            &self.calibration,
            &self.fit,
            crate::units::UnitSystem::Ip,
        ))
    }

    fn __repr__(&self) -> String {
        format!("<Calibration: walls {:.3} of the house>", self.calibration.walls_share)
    }
}

/// Lays the model of a house beside its bills.
///
/// Args:
///     house: The house.
///     fit: Its bills, fitted with a usual year.
///
/// Returns:
///     What can be compared, and the factor where it is plausible.
///
/// Raises:
///     studbay.errors.InputError: Where the fuel is another, for a straight line, and for a fit
///         without a usual year.
#[pyfunction]
pub(crate) fn calibrate(house: &House, fit: &BillFit) -> PyResult<Calibration> {
    let normal = usual(fit)?;
    let calibration = bills::calibrate(&house.house, &fit.fit, normal).map_err(input_error)?;
    Ok(Calibration { calibration, fit: fit.fit.clone() })
}

fn usual(fit: &BillFit) -> PyResult<&NormalYear> {
    fit.normal.as_ref().ok_or_else(|| {
        let reason = "the fit has no usual year: its weather is shorter; give normal".to_owned();
        faulty("normal", "", reason)
    })
}

/// Bills before and after the work, both brought to the same usual year.
///
/// Use is in the fuel's unit; an interval is `None` where nothing was drawn. `str()` gives it in
/// words.
#[pyclass(frozen, module = "studbay", name = "Proof")]
pub(crate) struct Proof(bills::Proof);

#[pymethods]
impl Proof {
    /// Use of a usual year before.
    #[getter]
    fn use_before(&self) -> f64 {
        self.0.use_before.value
    }

    /// Use of a usual year after.
    #[getter]
    fn use_after(&self) -> f64 {
        self.0.use_after.value
    }

    /// What it is less by, the change of the comparison group taken out.
    #[getter]
    fn saved(&self) -> f64 {
        self.0.saved.value
    }

    /// Its interval.
    #[getter]
    fn saved_interval(&self) -> Option<(f64, f64)> {
        self.0.saved.interval
    }

    /// The saving over the use before.
    #[getter]
    fn saved_share(&self) -> f64 {
        self.0.saved_share.value
    }

    /// Its interval.
    #[getter]
    fn saved_share_interval(&self) -> Option<(f64, f64)> {
        self.0.saved_share.interval
    }

    /// What heating alone is less by; `None` for straight lines.
    #[getter]
    fn heating_saved(&self) -> Option<f64> {
        self.0.heating_saved.map(|ranged| ranged.value)
    }

    /// Low end, figure and high end of what was promised.
    #[getter]
    fn promised(&self) -> Option<(f64, f64, f64)> {
        self.0.promised.map(|promise| (promise.low, promise.value, promise.high))
    }

    /// The saving over the promised figure.
    #[getter]
    fn realised(&self) -> Option<f64> {
        self.0.realised.map(|ranged| ranged.value)
    }

    /// Its interval.
    #[getter]
    fn realised_interval(&self) -> Option<(f64, f64)> {
        self.0.realised?.interval
    }

    /// Use after over use before in the comparison group.
    #[getter]
    fn comparison_ratio(&self) -> Option<f64> {
        self.0.comparison.map(|group| group.ratio.value)
    }

    /// Its interval.
    #[getter]
    fn comparison_ratio_interval(&self) -> Option<(f64, f64)> {
        self.0.comparison?.ratio.interval
    }

    /// What was found.
    #[getter]
    fn findings(&self) -> Vec<BillFinding> {
        found(&self.0.findings)
    }

    /// What it says to the owner, in plain words.
    #[getter]
    fn sentence(&self) -> String {
        bills::owner_sentence(&self.0)
    }

    /// Share by which the use of a day is less.
    ///
    /// Args:
    ///     temperature_f: The mean temperature of the day, °F.
    fn saved_share_at(&self, temperature_f: f64) -> f64 {
        self.0.saved_share_at(temperature_f)
    }

    /// The proof in words.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`, of temperatures.
    #[pyo3(signature = (units = "ip"))]
    fn account(&self, units: &str) -> PyResult<Vec<Block>> {
        let units = unit_system(units)?;
        Ok(bills::proof_blocks(&self.0, units).into_iter().map(Block::from).collect())
    }

    /// The figures as plain objects.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("unit", self.0.before.fuel.row().unit)?;
        dict.set_item("level", self.0.before.options.level)?;
        dict.set_item("use_before", self.use_before())?;
        dict.set_item("use_after", self.use_after())?;
        dict.set_item("saved", self.saved())?;
        dict.set_item("saved_interval", self.saved_interval())?;
        dict.set_item("saved_share", self.saved_share())?;
        dict.set_item("saved_share_interval", self.saved_share_interval())?;
        dict.set_item("heating_saved", self.heating_saved())?;
        dict.set_item("promised", self.promised())?;
        dict.set_item("realised", self.realised())?;
        dict.set_item("realised_interval", self.realised_interval())?;
        dict.set_item("comparison_ratio", self.comparison_ratio())?;
        dict.set_item("sentence", self.sentence())?;
        dict.set_item("findings", findings_list(py, &self.0.findings)?)?;
        Ok(dict)
    }

    fn __str__(&self) -> String {
        plain(&bills::proof_blocks(&self.0, crate::units::UnitSystem::Ip))
    }

    fn __repr__(&self) -> String {
        format!("<Proof: {:.1} {} saved>", self.saved(), self.0.before.fuel.row().unit)
    }
}

/// Compares the bills before and after the work.
///
/// Args:
///     before: The fit of the bills before.
///     after: The fit of the bills after.
///     promised: Fuel saved a year that was promised: `(low, figure, high)`, or the `House` that
///         the promise was modelled with.
///     comparison: Fits before and after of houses that were not treated, in pairs: what changed
///         for everyone is taken out.
///     normal: Weather of the usual year for all of them; that of `before` where left out.
///
/// Returns:
///     The saving with its interval.
///
/// Raises:
///     studbay.errors.InputError: Where fuel, form or level differ, and without a usual year.
#[pyfunction]
#[pyo3(signature = (before, after, *, promised = None, comparison = None, normal = None))]
pub(crate) fn prove_saving(
    py: Python<'_>,
    before: &BillFit,
    after: &BillFit,
    promised: Option<Bound<'_, PyAny>>,
    comparison: Option<Vec<(Py<BillFit>, Py<BillFit>)>>,
    normal: Option<Bound<'_, PyAny>>,
) -> PyResult<Proof> {
    let mut findings = Vec::new();
    let given = normal_year(py, normal.as_ref(), None, &mut findings)?;
    let normal = match &given {
        Some(normal) => normal,
        None => usual(before)?,
    };
    let promised = match promised {
        None => None,
        Some(promised) => Some(match promised.cast::<House>() {
            Ok(house) => Promise::of(&house.get().house, before.fit.fuel).map_err(input_error)?,
            Err(_) => {
                let ends = promised.extract::<(f64, f64, f64)>().map_err(|_| {
                    let reason = "must be three numbers, low, figure and high, or a House";
                    faulty("promised", "", reason.to_owned())
                })?;
                Promise::new(ends.0, ends.1, ends.2).map_err(input_error)?
            }
        }),
    };
    let group: Vec<(Fit, Fit)> = comparison
        .unwrap_or_default()
        .into_iter()
        .map(|(one, other)| (one.get().fit.clone(), other.get().fit.clone()))
        .collect();
    let (before, after) = (before.fit.clone(), after.fit.clone());
    let proof = py.detach(|| bills::prove(before, after, normal, promised, &group));
    let mut proof = proof.map_err(input_error)?;
    proof.findings.extend(findings);
    Ok(Proof(proof))
}
