//! `Doubt`, `Shares` and what goes with them.

use super::account::{Block, html};
use super::batch::{Table, reader, schema_fault};
use super::errors::{refused, unreadable};
use super::files::file_error;
use super::house::House;
use super::unit_system;
use crate::batch::table::readable;
use crate::batch::table_file;
use crate::doubt::table::{TableSampling, bands, plan};
use crate::doubt::words::{headline, input_text, report};
use crate::doubt::{
    self, Band, FIGURES, Figure, Input, MOST_DRAWS, Origin, RETURNS, Return, Sampling,
};
use crate::house::FieldRange;
use crate::swing;
use crate::units::UnitSystem;
use arrow_array::{ArrayRef, Float64Array, RecordBatch};
use arrow_schema::{DataType, Field, Schema};
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyDict, PyList};
use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::Arc;

/// The most base draws of the shares of variance.
const MOST_BASE: i64 = 100_000;

fn figure(name: &str) -> PyResult<Figure> {
    Figure::from_name(name).ok_or_else(|| {
        let list = FIGURES.map(Figure::name).join(", ");
        refused("figure", name, format!("must be one of {list}"))
    })
}

/// A figure of either kind, by its name.
#[derive(Clone, Copy)]
enum Named {
    Judged(Figure),
    Returned(Return),
}

impl Named {
    fn of(name: &str) -> PyResult<Self> {
        let judged = Figure::from_name(name).map(Self::Judged);
        judged.or_else(|| Return::from_name(name).map(Self::Returned)).ok_or_else(|| {
            let mut names = FIGURES.map(Figure::name).to_vec();
            names.extend(RETURNS.map(Return::name));
            refused("figure", name, format!("must be one of {}", names.join(", ")))
        })
    }
}

fn count(name: &str, value: i64, least: i64, most: i64) -> PyResult<u32> {
    u32::try_from(value).ok().filter(|_| (least..=most).contains(&value)).ok_or_else(|| {
        refused(name, &value.to_string(), format!("allowed is a whole number, {least} to {most}"))
    })
}

fn share(name: &str, value: f64) -> PyResult<f64> {
    if (0.0..=1.0).contains(&value) {
        return Ok(value);
    }
    Err(refused(name, &value.to_string(), "allowed is 0 to 1".to_owned()))
}

fn years(name: &str, value: f64) -> PyResult<f64> {
    if value >= 0.0 {
        return Ok(value);
    }
    Err(refused(name, &value.to_string(), "allowed is 0 or more".to_owned()))
}

fn sampling(draws: i64, seed: u64, own_only: bool) -> PyResult<Sampling> {
    Ok(Sampling { draws: count("draws", draws, 1, i64::from(MOST_DRAWS))?, seed, own_only })
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// What is not known exactly of a house, and what that does to its figures.
///
/// Draws of everything that may be off, all together, each assessed as `House.assess` does.
/// Figures are named as among the results: `fuel_saved`, `annual_savings`, `net_cost`,
/// `simple_payback_years`, `npv`, `annual_co2e_kg`, `lifetime_co2e_kg`; and, worked out when they
/// are first asked for, `discounted_payback_years`, `sir`, `irr`. Every figure is
/// modelled, not measured; how much of the modelled saving is realised is among the inputs.
///
/// It offers the draws, a row each, as an Arrow stream: `polars.DataFrame(doubt)`. It never
/// changes and can be used from many threads.
#[pyclass(frozen, module = "studbay", name = "Doubt")]
pub(crate) struct Doubt(doubt::Doubt);

/// The shares of all that may be off in the variance of a figure.
#[pyclass(frozen, module = "studbay", name = "Shares")]
pub(crate) struct Shares(doubt::Shares);

fn described<'py>(py: Python<'py>, input: &Input) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("name", input.name())?;
    dict.set_item("words", input.words())?;
    dict.set_item("own", matches!(input.origin(), Origin::Own))?;
    let place = input.places().first();
    dict.set_item("distribution", place.map(|place| place.distribution().name()))?;
    let units = place.map_or(UnitSystem::Ip, FieldRange::units);
    dict.set_item("unit", input.field().def().quantity.unit(units))?;
    let ends = place.map(|place| place.distribution().ends());
    dict.set_item("low", ends.and_then(|(low, _)| finite(low)))?;
    dict.set_item("middle", place.map(|place| place.distribution().quantile(0.5)))?;
    dict.set_item("high", ends.and_then(|(_, high)| finite(high)))?;
    let (with, against) = match input.moves() {
        Some((field, true)) => (None, Some(field.def().ip)),
        Some((field, false)) => (Some(field.def().ip), None),
        None => (None, None),
    };
    dict.set_item("moves_with", with)?;
    dict.set_item("moves_against", against)?;
    dict.set_item("advice", input.advice())?;
    dict.set_item("source", input.citation().map(|citation| citation.to_string()))?;
    dict.set_item("text", input_text(input, units))?;
    Ok(dict)
}

fn put_band(dict: &Bound<'_, PyDict>, before: &str, band: Band) -> PyResult<()> {
    dict.set_item(format!("{before}p10"), band.p10)?;
    dict.set_item(format!("{before}p50"), band.p50)?;
    dict.set_item(format!("{before}p90"), band.p90)
}

#[pymethods]
impl Doubt {
    /// Your own name for the house.
    #[getter]
    fn house_id(&self) -> &str {
        self.0.house().house_id()
    }

    /// How many draws there are.
    #[getter]
    fn draws(&self) -> usize {
        self.0.draws()
    }

    /// What the random bits began from.
    #[getter]
    fn seed(&self) -> u64 {
        self.0.sampling().seed
    }

    /// What may be off, a dict each.
    ///
    /// `name` (of the field, its surface before it where there are several), `words`, `own`
    /// (whether the house gives the range itself), `distribution`, `unit`, `low`, `middle` and
    /// `high` in that unit, `moves_with`, `moves_against`, `advice`, `source`, `text`.
    #[getter]
    fn inputs<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let list = PyList::empty(py);
        for input in self.0.inputs() {
            list.append(described(py, input)?)?;
        }
        Ok(list)
    }

    /// The figure of the house as it stands; `None` where it does not exist.
    ///
    /// Args:
    ///     figure: Its name.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no figure has.
    fn point(&self, figure: &str) -> PyResult<Option<f64>> {
        Ok(match Named::of(figure)? {
            Named::Judged(figure) => finite(self.0.point(figure)),
            Named::Returned(figure) => self.0.return_point(figure),
        })
    }

    /// The figure of every draw, in their order.
    ///
    /// Args:
    ///     figure: Its name.
    ///
    /// Returns:
    ///     A list; a payback that does not exist, or is not reached within the life, is infinite,
    ///     beyond every number; a `sir` or `irr` that does not exist is NaN.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no figure has.
    fn values(&self, py: Python<'_>, figure: &str) -> PyResult<Vec<f64>> {
        Ok(match Named::of(figure)? {
            Named::Judged(figure) => self.0.values(figure).to_vec(),
            Named::Returned(figure) => py.detach(|| self.0.returns(figure).to_vec()),
        })
    }

    /// The share of draws in which a figure does not exist.
    ///
    /// A payback where nothing is saved, a discounted payback that is not reached within the
    /// life, a `sir` where nothing is paid, an `irr` where nothing is paid or nothing is saved.
    ///
    /// Args:
    ///     figure: Its name.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no figure has.
    fn share_without(&self, py: Python<'_>, figure: &str) -> PyResult<f64> {
        Ok(match Named::of(figure)? {
            Named::Judged(Figure::SimplePayback) => self.0.chance_of_no_payback(),
            Named::Judged(_) => 0.0,
            Named::Returned(figure) => py.detach(|| self.0.share_without(figure)),
        })
    }

    /// What an input is in every draw, in inch-pound units, in the order of the draws.
    ///
    /// Args:
    ///     name: The input's name, as in `inputs`.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no input has.
    fn drawn(&self, name: &str) -> PyResult<Vec<f64>> {
        let place = self.0.inputs().iter().position(|input| input.name() == name);
        let place = place.ok_or_else(|| {
            let names: Vec<String> = self.0.inputs().iter().map(Input::name).collect();
            refused("name", name, format!("must be one of {}", names.join(", ")))
        })?;
        Ok(self.0.drawn(place))
    }

    /// The quantile of a figure, by linear interpolation (type 7, as numpy has it).
    ///
    /// Args:
    ///     figure: Its name.
    ///     share: From 0 to 1.
    ///
    /// Returns:
    ///     The quantile; `None` where it lies beyond every number, as where there is no payback. Of
    ///     `sir` and `irr` it is among the draws that have one: `share_without` says how many have
    ///     none.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no figure has and a share outside 0 to 1.
    fn quantile(&self, py: Python<'_>, figure: &str, share: f64) -> PyResult<Option<f64>> {
        let share = self::share("share", share)?;
        Ok(match Named::of(figure)? {
            Named::Judged(figure) => self.0.quantile(figure, share),
            Named::Returned(figure) => py.detach(|| self.0.return_quantile(figure, share)),
        })
    }

    /// P10, P50 and P90 of a figure, each as `quantile` has it.
    ///
    /// Args:
    ///     figure: Its name.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no figure has.
    fn band(
        &self,
        py: Python<'_>,
        figure: &str,
    ) -> PyResult<(Option<f64>, Option<f64>, Option<f64>)> {
        let band = match Named::of(figure)? {
            Named::Judged(figure) => self.0.band(figure),
            Named::Returned(figure) => py.detach(|| self.0.return_band(figure)),
        };
        Ok((band.p10, band.p50, band.p90))
    }

    /// The share of draws that pay back within so many years, not discounted.
    ///
    /// Args:
    ///     years: 0 or more.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For years below 0.
    fn chance_of_payback_within(&self, years: f64) -> PyResult<f64> {
        Ok(self.0.chance_of_payback_within(self::years("years", years)?))
    }

    /// The share of draws that never pay back, because nothing is saved.
    #[getter]
    fn chance_of_no_payback(&self) -> f64 {
        self.0.chance_of_no_payback()
    }

    /// The share of draws whose net present value is above 0.
    #[getter]
    fn chance_of_gain(&self) -> f64 {
        self.0.chance_of_gain()
    }

    /// What has come back by the end of each year, the cost taken off.
    ///
    /// Returns:
    ///     A dict for each year, 0 (the day of the work) to the end of the life: `year`,
    ///     `point` (the house as it stands), `p10`, `p50`, `p90`, and the same discounted,
    ///     under `discounted_`.
    fn cash<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let list = PyList::empty(py);
        for year in py.detach(|| self.0.cash()) {
            let dict = PyDict::new(py);
            dict.set_item("year", year.year)?;
            dict.set_item("point", year.point)?;
            put_band(&dict, "", year.band)?;
            dict.set_item("discounted_point", year.discounted_point)?;
            put_band(&dict, "discounted_", year.discounted)?;
            list.append(dict)?;
        }
        Ok(list)
    }

    /// Which doubt matters most: the shares of all that may be off in the variance of a figure.
    ///
    /// Args:
    ///     figure: Its name; the net present value always has a variance.
    ///     base: Draws of each design, 2 to 100,000; with `d` inputs it takes `d + 2` times as
    ///         many assessments.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a name that no figure has, a `base` outside its
    ///         range, and a figure that does not move or does not exist in some draw.
    #[pyo3(signature = (figure = "npv", *, base = 4096))]
    fn shares(&self, py: Python<'_>, figure: &str, base: i64) -> PyResult<Shares> {
        let (name, figure) = (figure, self::figure(figure)?);
        let sampling = Sampling { draws: count("base", base, 2, MOST_BASE)?, ..*self.0.sampling() };
        let found = py.detach(|| doubt::shares(self.0.house(), &sampling, figure));
        found.map(Shares).map_err(|error| refused("figure", name, error.to_string()))
    }

    /// The doubt in words, as blocks: holds and checks first.
    ///
    /// Args:
    ///     units: `"ip"` or `"si"`.
    ///     currency: Label in front of amounts; nothing is converted.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For another word than `"ip"` or `"si"`.
    #[pyo3(signature = (units = "ip", currency = "$"))]
    fn account(&self, py: Python<'_>, units: &str, currency: &str) -> PyResult<Vec<Block>> {
        let units = unit_system(units)?;
        Ok(py.detach(|| self.blocks(units, currency)))
    }

    /// The figures as plain objects.
    ///
    /// Returns:
    ///     `house_id`, `modelled`, `draws`, `seed`, `figures` (for each `point`, `p10`, `p50`,
    ///     `p90`, and `share_without` for those that a draw may lack), `chance_of_payback_within`
    ///     (a dict from years to shares), `chance_of_no_payback`, `chance_of_gain`, `inputs`.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("house_id", self.house_id())?;
        dict.set_item("modelled", true)?;
        dict.set_item("draws", self.draws())?;
        dict.set_item("seed", self.seed())?;
        let figures = PyDict::new(py);
        for figure in FIGURES {
            let entry = PyDict::new(py);
            entry.set_item("point", finite(self.0.point(figure)))?;
            put_band(&entry, "", self.0.band(figure))?;
            figures.set_item(figure.name(), entry)?;
        }
        for figure in RETURNS {
            let entry = PyDict::new(py);
            entry.set_item("point", self.0.return_point(figure))?;
            put_band(&entry, "", py.detach(|| self.0.return_band(figure)))?;
            entry.set_item("share_without", self.0.share_without(figure))?;
            figures.set_item(figure.name(), entry)?;
        }
        dict.set_item("figures", figures)?;
        let within = PyDict::new(py);
        for years in [5, 10, 15, 20, 30] {
            within
                .set_item(years.to_string(), self.0.chance_of_payback_within(f64::from(years)))?;
        }
        dict.set_item("chance_of_payback_within", within)?;
        dict.set_item("chance_of_no_payback", self.chance_of_no_payback())?;
        dict.set_item("chance_of_gain", self.chance_of_gain())?;
        dict.set_item("inputs", self.inputs(py)?)?;
        Ok(dict)
    }

    /// The draws as an Arrow stream.
    ///
    /// A column for each input, in inch-pound units, then one for each figure, with nothing where
    /// a payback does not exist.
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
        let table = Bound::new(py, self.table()?)?;
        table.call_method1("__arrow_c_stream__", (requested_schema,))
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Bound::new(py, self.table()?)?.call_method0("__arrow_c_schema__")
    }

    fn __len__(&self) -> usize {
        self.draws()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let id = pyo3::types::PyString::new(py, self.house_id()).repr()?;
        let band = self.0.band(Figure::SimplePayback);
        Ok(format!("<Doubt {id}: {} draws, payback {}>", self.draws(), doubt::words::within(band)))
    }

    fn _repr_html_(&self, py: Python<'_>) -> String {
        let blocks = py.detach(|| self.blocks(UnitSystem::Ip, "$"));
        html(self.house_id(), &blocks)
    }
}

impl Doubt {
    fn blocks(&self, units: UnitSystem, currency: &str) -> Vec<Block> {
        let base = Sampling { draws: 4096, ..*self.0.sampling() };
        let shares = doubt::shares(self.0.house(), &base, Figure::Npv).ok();
        report(&self.0, shares.as_ref(), units, currency).into_iter().map(Block).collect()
    }

    fn table(&self) -> PyResult<Table> {
        let mut fields = Vec::new();
        let mut columns: Vec<ArrayRef> = Vec::new();
        for (place, input) in self.0.inputs().iter().enumerate() {
            fields.push(Field::new(input.name(), DataType::Float64, true));
            columns.push(Arc::new(Float64Array::from(self.0.drawn(place))));
        }
        for figure in FIGURES {
            fields.push(Field::new(figure.name(), DataType::Float64, true));
            let values = self.0.values(figure).iter().map(|value| finite(*value));
            columns.push(Arc::new(values.collect::<Float64Array>()));
        }
        let schema = Arc::new(Schema::new(fields));
        let batch = RecordBatch::try_new(Arc::clone(&schema), columns)
            .map_err(|error| unreadable("draws", &error.to_string()))?;
        Ok(Table { schema, batches: vec![batch] })
    }
}

#[pymethods]
impl Shares {
    /// The figure.
    #[getter]
    fn figure(&self) -> &'static str {
        self.0.figure.name()
    }

    /// The figure's standard deviation.
    #[getter]
    fn sd(&self) -> f64 {
        self.0.sd
    }

    /// A dict for each source of doubt, the largest in total first.
    ///
    /// `names` (several where inputs share their draws), `words`, `advice`, `first` (what would
    /// go, on average, if this alone were known exactly), `total` (what would stay if all else
    /// were known), both as shares of the variance, `first_error` and `total_error` (standard
    /// errors).
    #[getter]
    fn shares<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let list = PyList::empty(py);
        for share in &self.0.shares {
            let dict = PyDict::new(py);
            dict.set_item("names", &share.names)?;
            dict.set_item("words", share.words)?;
            dict.set_item("advice", share.advice)?;
            dict.set_item("first", share.first)?;
            dict.set_item("first_error", share.first_error)?;
            dict.set_item("total", share.total)?;
            dict.set_item("total_error", share.total_error)?;
            list.append(dict)?;
        }
        Ok(list)
    }

    /// The figure of every evaluation, for other libraries to reckon with.
    ///
    /// For each base draw: the first design, then the first design with one input of the
    /// second, in the order of `columns`, then the second design.
    #[getter]
    fn evaluations(&self) -> Vec<f64> {
        self.0.evaluations.clone()
    }

    /// Where each of `shares` stands among the inputs of `evaluations`, from 0.
    #[getter]
    fn columns(&self) -> Vec<usize> {
        self.0.columns.clone()
    }

    /// The largest share in a sentence, with what settles it.
    #[getter]
    fn headline(&self) -> Option<String> {
        headline(&self.0)
    }

    fn __repr__(&self) -> String {
        format!("<Shares of {}: {} sources of doubt>", self.figure(), self.0.shares.len())
    }
}

/// Draws everything that may be off in a house, all together, and assesses every draw.
///
/// What may be off: the house's own `ranges`, and for every other field its usual spread, among
/// them how much of the modelled saving is realised. The same seed gives the same bits on every
/// machine.
///
/// Args:
///     house: The house.
///     draws: 1 to 1,000,000.
///     seed: A whole number, 0 or more.
///     own_only: Whether only the house's own ranges count.
///
/// Returns:
///     The draws, and what they come to.
///
/// Raises:
///     studbay.errors.InputError: For a number of draws outside its range.
///
/// Examples:
///     >>> import studbay
///     >>> house = studbay.House(
///     ...     house_id="two-family",
///     ...     wall_area_ft2=1200,
///     ...     series_r=3.06,
///     ...     heating_degree_days_f=5600,
///     ...     heating_efficiency=0.8,
///     ...     fuel="natural_gas",
///     ...     fuel_price=1.5,
///     ...     installed_cost=2400,
///     ...     ranges={"fuel_price": [1.1, 1.5, 2.4]},
///     ... )
///     >>> drawn = studbay.doubt(house, draws=2000)
///     >>> low, middle, high = drawn.band("simple_payback_years")
///     >>> low < middle < high
///     True
#[pyfunction(name = "doubt")]
#[pyo3(signature = (house, *, draws = 10_000, seed = 1, own_only = false))]
pub(crate) fn doubt_of(
    py: Python<'_>,
    house: PyRef<'_, House>,
    draws: i64,
    seed: u64,
    own_only: bool,
) -> PyResult<Doubt> {
    let sampling = sampling(draws, seed, own_only)?;
    let house = &house.house;
    Ok(Doubt(py.detach(|| doubt::doubt(house, &sampling))))
}

/// What would change the payback most: each thing that may be off moved alone to either end.
///
/// Args:
///     house: The house.
///
/// Returns:
///     A dict for each, the widest swing first: what `Doubt.inputs` says of it, then `at_low`
///     and `at_high`, the simple payback in years there, `None` for no payback.
#[pyfunction]
pub(crate) fn swings<'py>(
    py: Python<'py>,
    house: PyRef<'_, House>,
) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for swing in swing::swings(&house.house) {
        let dict = described(py, &swing.input)?;
        dict.set_item("at_low", swing.at_low)?;
        dict.set_item("at_high", swing.at_high)?;
        list.append(dict)?;
    }
    Ok(list)
}

fn table_sampling(
    draws: i64,
    seed: u64,
    within: f64,
    threads: Option<i64>,
) -> PyResult<TableSampling> {
    let threads = threads.map(|threads| count("threads", threads, 1, 1024)).transpose()?;
    Ok(TableSampling {
        sampling: sampling(draws, seed, false)?,
        within_years: years("within", within)?,
        threads: threads
            .and_then(|threads| usize::try_from(threads).ok())
            .and_then(NonZeroUsize::new),
    })
}

/// Draws every house of a table: P10, P50 and P90 of each figure, row by row.
///
/// A row gives the numbers that `studbay.doubt` gives for its house, to the bit, whatever the
/// other rows and the threads. It is slow beside `studbay.score`: every row is assessed `draws`
/// times.
///
/// Args:
///     table: A row for each house with one wall, as `studbay.score` takes it.
///     draws: Of each row, 1 to 1,000,000.
///     seed: A whole number, 0 or more.
///     within: The years of the column `chance_of_payback`.
///     threads: How many; all that the machine has where it is left out.
///
/// Returns:
///     A row for every row: `house_id` and your own columns, then `fuel_saved_p10`, `_p50`,
///     `_p90` and so on for each figure, missing where it lies beyond every number (no
///     payback), then `chance_of_payback`, `chance_of_no_payback`, `chance_of_gain`, and
///     `faults` for a row that is no house.
///
/// Raises:
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For an argument outside its range and for what is no table.
#[pyfunction]
#[pyo3(signature = (table, *, draws = 2000, seed = 1, within = 10.0, threads = None))]
pub(crate) fn score_ranges(
    py: Python<'_>,
    table: Bound<'_, PyAny>,
    draws: i64,
    seed: u64,
    within: f64,
    threads: Option<i64>,
) -> PyResult<Table> {
    let how = table_sampling(draws, seed, within, threads)?;
    drawn(py, reader(&table)?, &how)
}

fn drawn(
    py: Python<'_>,
    table: crate::batch::table::Reader,
    how: &TableSampling,
) -> PyResult<Table> {
    plan(&table.schema()).map_err(schema_fault)?;
    let schema = table.schema();
    let mut batches = Vec::new();
    let one = |batch: RecordBatch| readable(batch).and_then(|batch| bands(&batch, how));
    let fault = |error: arrow_schema::ArrowError| unreadable("table", &error.to_string());
    for batch in table {
        let batch = batch.map_err(fault)?;
        // A long table can be stopped between its slices.
        let mut from = 0;
        while from < batch.num_rows() {
            let rows = (batch.num_rows() - from).min(256);
            let slice = batch.slice(from, rows);
            batches.push(py.detach(|| one(slice)).map_err(fault)?);
            py.check_signals()?;
            from += rows;
        }
    }
    let schema = match batches.first() {
        Some(batch) => batch.schema(),
        None => one(RecordBatch::new_empty(schema)).map_err(fault)?.schema(),
    };
    Ok(Table { schema, batches })
}

/// Draws every house of a file, as `score_ranges` does, and writes the bands as another.
///
/// Args:
///     path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
///     output: Where the bands go, by the same endings.
///     draws: Of each row, 1 to 1,000,000.
///     seed: A whole number, 0 or more.
///     within: The years of the column `chance_of_payback`.
///     force: Whether a file that is there already may be replaced.
///
/// Returns:
///     How many rows were read, and how many of them are no house.
///
/// Raises:
///     OSError: What the system says about a file; `FileExistsError` without `force`.
///     studbay.errors.SchemaError: With every fault of the columns.
///     studbay.errors.InputError: For an argument outside its range and a file that is not what
///         its name says.
#[pyfunction]
#[pyo3(signature = (path, output, *, draws = 2000, seed = 1, within = 10.0, force = false))]
pub(crate) fn score_ranges_file(
    py: Python<'_>,
    path: PathBuf,
    output: PathBuf,
    draws: i64,
    seed: u64,
    within: f64,
    force: bool,
) -> PyResult<(usize, usize)> {
    use arrow_array::Array;
    let how = table_sampling(draws, seed, within, None)?;
    let table = table_file::open(&path).map_err(|error| file_error(py, &error))?;
    let Table { schema, batches } = drawn(py, table, &how)?;
    let batch = arrow_select::concat::concat_batches(&schema, &batches)
        .map_err(|error| unreadable("table", &error.to_string()))?;
    let faults = batch.column(batch.num_columns() - 1);
    let faulty = batch.num_rows() - faults.null_count();
    py.detach(|| table_file::write(&output, &batch, force, &[&path]))
        .map_err(|error| file_error(py, &error))?;
    Ok((batch.num_rows(), faulty))
}
