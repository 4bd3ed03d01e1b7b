//! Many meters at once: each fitted by itself, on as many threads as there are.
//!
//! A meter's figures depend on its readings, the weather and the options alone, so that they are
//! those of a single fit to the bit, whatever the threads and the order.

use super::judge::Verdict;
use super::{Annual, Errors, Finding, Fit, NormalYear, Options, Params, Reading, fit_readings};
use crate::climate::DailyMeans;
use crate::error::{InputError, Issue};
use crate::house::Fuel;
use std::num::NonZeroUsize;

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

/// Fits meters; what comes out is in their order.
pub fn fit_meters(
    meters: &[MeterRows],
    weather: &DailyMeans,
    normal: &NormalYear,
    options: &Options,
    workers: &Workers,
) -> Vec<MeterResult> {
    let one = |meter: &MeterRows| fit_meter(meter, weather, normal, options);
    #[cfg(feature = "parallel")]
    if let Some(pool) = &workers.pool {
        use rayon::prelude::*;
        return pool.install(|| meters.par_iter().map(one).collect());
    }
    let _ = workers;
    meters.iter().map(one).collect()
}

fn fit_meter(
    meter: &MeterRows,
    weather: &DailyMeans,
    normal: &NormalYear,
    options: &Options,
) -> MeterResult {
    let options = Options { stream: meter.house_id.clone(), ..options.clone() };
    let fit = if meter.issues.is_empty() {
        fit_readings(meter.fuel, &meter.readings, weather, &options)
    } else {
        Err(InputError { issues: meter.issues.clone() })
    };
    MeterResult {
        house_id: meter.house_id.clone(),
        fuel: meter.fuel,
        figures: fit.map(|fit| MeterFigures::new(fit, normal)),
    }
}
