//! Many meters at once: each fitted by itself, on as many threads as there are.
//!
//! A meter's figures depend on its readings, the weather and the options alone, so that they are
//! those of a single fit to the bit, whatever the threads and the order.

use super::judge::Verdict;
use super::{Annual, Errors, Finding, Fit, NormalYear, Options, Params, Reading, fit_readings};
use crate::climate::DailyMeans;
use crate::error::{InputError, Issue, IssueCode};
use crate::house::Fuel;
use std::collections::HashMap;
use std::num::NonZeroUsize;

/// The weather of one place, with its usual year.
#[derive(Clone, Debug, PartialEq)]
pub struct Climate {
    /// The days.
    pub weather: DailyMeans,
    /// The usual year.
    pub normal: NormalYear,
    /// What was found in the weather: it goes to every meter that is fitted over it.
    pub findings: Vec<Finding>,
}

/// Which weather each house has.
#[derive(Clone, Debug, Default)]
pub struct Climates {
    /// Places.
    pub list: Vec<Climate>,
    /// The place of houses that `of` does not name.
    pub rest: Option<usize>,
    /// Places of houses, by the house's name.
    pub of: HashMap<String, usize>,
}

impl Climates {
    /// One weather for all houses.
    pub fn one(climate: Climate) -> Self {
        Self { list: vec![climate], rest: Some(0), of: HashMap::new() }
    }

    /// The weather of a house.
    ///
    /// # Errors
    /// [`InputError`] where it has none.
    pub fn of_house(&self, house_id: &str) -> Result<&Climate, InputError> {
        let place = self.of.get(house_id).copied().or(self.rest);
        place.and_then(|place| self.list.get(place)).ok_or_else(|| {
            let reason = "no weather is named for this house";
            Issue::new(IssueCode::Missing, "weather", "", reason).into()
        })
    }
}

/// The readings of one meter, or what is wrong with them.
#[derive(Clone, Debug, PartialEq)]
pub struct MeterRows {
    /// The user's own name for the house; it names the random numbers.
    pub house_id: String,
    /// The fuel.
    pub fuel: Fuel,
    /// The readings that could be read.
    pub readings: Vec<Reading>,
    /// What could not.
    pub issues: Vec<Issue>,
    /// The row of the table that each reading stood in, the first row being 1; empty for readings
    /// of no table.
    pub rows: Vec<usize>,
}

impl MeterRows {
    /// The fault, its readings named by their rows in the table.
    pub(super) fn by_row(&self, issue: &Issue) -> Issue {
        let mut named = issue.clone();
        named.field = self.rows_in(&issue.field);
        named.reason = self.rows_in(&issue.reason);
        named
    }

    fn rows_in(&self, text: &str) -> String {
        let mut parts = text.split("readings[");
        let mut told = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            let row = part.split_once(']').and_then(|(number, rest)| {
                let row = self.rows.get(number.parse::<usize>().ok()?)?;
                Some(format!("row {row}{rest}"))
            });
            told += &row.unwrap_or_else(|| format!("readings[{part}"));
        }
        told
    }
}

/// What became of a meter.
#[derive(Clone, Debug, PartialEq)]
pub struct MeterResult {
    /// The user's own name for the house.
    pub house_id: String,
    /// The fuel.
    pub fuel: Fuel,
    /// Its figures, or every fault.
    pub figures: Result<MeterFigures, InputError>,
}

/// The figures of a fit, without its readings and draws. Use is in the fuel's unit.
#[derive(Clone, Debug, PartialEq)]
pub struct MeterFigures {
    /// Readings fitted.
    pub readings: usize,
    /// Days they cover.
    pub days: f64,
    /// The parameters.
    pub params: Params,
    /// Their standard errors.
    pub errors: Errors,
    /// Use of a usual year.
    pub annual: Annual,
    /// Interval of its total.
    pub total: Option<(f64, f64)>,
    /// Interval of its heating.
    pub heating: Option<(f64, f64)>,
    /// Interval of the change point, °F.
    pub change_point_f: Option<(f64, f64)>,
    /// Share of the variation explained.
    pub r2: f64,
    /// Spread of the errors.
    pub cv_rmse: f64,
    /// Bias.
    pub nmbe: f64,
    /// In how far it may be used.
    pub verdict: Verdict,
    /// What was found.
    pub findings: Vec<Finding>,
}

impl MeterFigures {
    /// The figures of a fit in a usual year.
    pub fn new(fit: Fit, normal: &NormalYear) -> Self {
        Self {
            readings: fit.readings(),
            days: fit.samples.iter().map(|sample| sample.days).sum(),
            params: fit.params,
            errors: fit.errors,
            annual: fit.annual(normal),
            total: fit.annual_total(normal).interval,
            heating: fit.annual_heating(normal).interval,
            change_point_f: fit.interval(|params| params.heating_change_f),
            r2: fit.r2,
            cv_rmse: fit.cv_rmse,
            nmbe: fit.nmbe,
            verdict: fit.verdict(),
            findings: fit.findings,
        }
    }
}

/// The threads that meters are fitted on.
#[derive(Debug)]
pub struct Workers {
    #[cfg(feature = "parallel")]
    pool: Option<rayon::ThreadPool>,
}

impl Workers {
    /// So many threads; all cores for `None`. A system that gives no threads fits on the caller's.
    pub fn new(threads: Option<NonZeroUsize>) -> Self {
        #[cfg(feature = "parallel")]
        {
            let all = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
            let threads = threads.unwrap_or(all).get();
            let build = || rayon::ThreadPoolBuilder::new().num_threads(threads).build().ok();
            Self { pool: if threads > 1 { build() } else { None } }
        }
        #[cfg(not(feature = "parallel"))]
        {
            let _ = threads;
            Self {}
        }
    }
}

/// Does one thing for each, on the threads of the workers; in order.
pub(super) fn each<T: Sync, R: Send>(
    workers: &Workers,
    all: &[T],
    one: impl Fn(&T) -> R + Sync + Send,
) -> Vec<R> {
    #[cfg(feature = "parallel")]
    if let Some(pool) = &workers.pool {
        use rayon::prelude::*;
        return pool.install(|| all.par_iter().map(one).collect());
    }
    let _ = workers;
    all.iter().map(one).collect()
}

/// Fits meters; what comes out is in their order.
pub fn fit_meters(
    meters: &[MeterRows],
    climates: &Climates,
    options: &Options,
    workers: &Workers,
) -> Vec<MeterResult> {
    each(workers, meters, |meter| MeterResult {
        house_id: meter.house_id.clone(),
        fuel: meter.fuel,
        figures: fit_meter(meter, climates, options)
            .map(|(fit, climate)| MeterFigures::new(fit, &climate.normal)),
    })
}

/// The fit of one meter over the weather of its house; faults name the rows of the table.
pub(super) fn fit_meter<'c>(
    meter: &MeterRows,
    climates: &'c Climates,
    options: &Options,
) -> Result<(Fit, &'c Climate), InputError> {
    let by_row = |error: InputError| InputError {
        issues: error.issues.iter().map(|issue| meter.by_row(issue)).collect(),
    };
    if !meter.issues.is_empty() {
        return Err(by_row(InputError { issues: meter.issues.clone() }));
    }
    let climate = climates.of_house(&meter.house_id)?;
    let options = Options { stream: meter.house_id.clone(), ..options.clone() };
    let fit = fit_readings(meter.fuel, &meter.readings, &climate.weather, &options);
    let mut fit = fit.map_err(by_row)?;
    fit.findings.extend(climate.findings.iter().cloned());
    Ok((fit, climate))
}
