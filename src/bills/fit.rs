//! Use against weather: the fit and what it is worth.

use super::bootstrap;
use super::finding::Finding;
use super::judge;
use super::normal::{Annual, NormalYear};
use super::proof::Ranged;
use super::sample::Sample;
use super::search::{Held, Plan, Side, Solution};
use super::stats::{MOST_COLUMNS, Square, inverse};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::Fuel;
use crate::tables::{
    CHANGE_POINT_HIGH_F, CHANGE_POINT_LOW_F, COOLING_POINT_HIGH_F, COOLING_POINT_LOW_F,
};

/// The shape of the fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Form {
    /// Two parameters: a straight line over the mean temperature. For readings of one season, which
    /// hold no change point.
    Straight,
    /// Three parameters: base load, slope, change point, by degree-days of each period.
    Heating,
    /// Five parameters: cooling is on the meter too.
    HeatingCooling,
}

impl Form {
    /// The words that may be written.
    pub const KEYS: [&'static str; 3] = ["straight", "heating", "heating_cooling"];

    /// The form of this word.
    pub fn from_key(key: &str) -> Option<Self> {
        [Self::Straight, Self::Heating, Self::HeatingCooling]
            .into_iter()
            .find(|form| form.as_str() == key)
    }

    /// Its word.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Heating => "heating",
            Self::HeatingCooling => "heating_cooling",
        }
    }

    /// How many parameters are fitted.
    pub const fn parameters(self) -> usize {
        match self {
            Self::Straight => 2,
            Self::Heating => 3,
            Self::HeatingCooling => 5,
        }
    }
}

/// What is fitted. A slope of 0 has a change point of NaN.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Params {
    /// Base load, use a day; of a straight line, use a day at 0 °F.
    pub base: f64,
    /// Use a day for each °F colder.
    pub heating_slope: f64,
    /// Where heating begins, °F; NaN for a straight line.
    pub heating_change_f: f64,
    /// Use a day for each °F warmer.
    pub cooling_slope: f64,
    /// Where cooling begins, °F.
    pub cooling_change_f: f64,
}

impl Params {
    /// Use of a day at this mean temperature.
    pub fn at(&self, form: Form, temperature_f: f64) -> f64 {
        if form == Form::Straight {
            return self.base - self.heating_slope * temperature_f;
        }
        // A change point that is NaN leaves 0 here.
        self.base
            + self.heating_slope * (self.heating_change_f - temperature_f).max(0.0)
            + self.cooling_slope * (temperature_f - self.cooling_change_f).max(0.0)
    }

    /// Use a day over a period, by its degree-days.
    pub fn over(&self, form: Form, sample: &Sample) -> f64 {
        let mut rate = self.base;
        if form == Form::Straight {
            return rate - self.heating_slope * sample.mean_f;
        }
        if self.heating_slope != 0.0 {
            rate += self.heating_slope * sample.heating_f(self.heating_change_f);
        }
        if self.cooling_slope != 0.0 {
            rate += self.cooling_slope * sample.cooling_f(self.cooling_change_f);
        }
        rate
    }

    /// The columns of the derivatives by the parameters that are fitted.
    pub(super) fn slopes(&self, form: Form, sample: &Sample) -> [f64; MOST_COLUMNS] {
        match form {
            Form::Straight => [1.0, -sample.mean_f, 0.0, 0.0, 0.0],
            Form::Heating | Form::HeatingCooling => {
                let (heating, cooling) = (self.heating_change_f, self.cooling_change_f);
                [
                    1.0,
                    sample.heating_f(heating),
                    self.heating_slope * sample.colder(heating),
                    sample.cooling_f(cooling),
                    -self.cooling_slope * sample.warmer(cooling),
                ]
            }
        }
    }
}

/// How to fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The shape.
    pub form: Form,
    /// Confidence of the intervals, as in 0.9.
    pub level: f64,
    /// Resamples of the bootstrap; 0 for none.
    pub resamples: u32,
    /// Where the random numbers begin.
    pub seed: u64,
    /// A name, as of the house, that gives every meter random numbers of its own.
    pub stream: String,
}

impl Default for Options {
    fn default() -> Self {
        Self { form: Form::Heating, level: 0.9, resamples: 1000, seed: 1, stream: String::new() }
    }
}

/// The most resamples that may be asked for.
pub const MOST_RESAMPLES: u32 = 100_000;

impl Options {
    /// Says what cannot be.
    ///
    /// # Errors
    /// [`InputError`] for a level outside 0.5 to 0.999, and too many resamples.
    pub fn check(&self) -> Result<(), InputError> {
        let mut issues = Vec::new();
        if !(0.5..=0.999).contains(&self.level) {
            let reason = "allowed is 0.5 to 0.999".to_owned();
            issues.push(Issue::new(IssueCode::OutOfRange, "level", self.level.to_string(), reason));
        }
        if self.resamples > MOST_RESAMPLES {
            let reason = format!("allowed is 0 to {MOST_RESAMPLES}");
            let value = self.resamples.to_string();
            issues.push(Issue::new(IssueCode::OutOfRange, "resamples", value, reason));
        }
        if issues.is_empty() { Ok(()) } else { Err(InputError { issues }) }
    }
}

/// Standard errors of the parameters, in the order of [`Params`]; NaN where there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Errors {
    /// Of the base load.
    pub base: f64,
    /// Of the heating slope.
    pub heating_slope: f64,
    /// Of the heating change point, °F.
    pub heating_change_f: f64,
    /// Of the cooling slope.
    pub cooling_slope: f64,
    /// Of the cooling change point, °F.
    pub cooling_change_f: f64,
}

/// A fit of use against weather.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The fuel.
    pub fuel: Fuel,
    /// How it was fitted.
    pub options: Options,
    /// The parameters.
    pub params: Params,
    /// Their standard errors, with the change point as free as the others.
    pub errors: Errors,
    /// The periods.
    pub samples: Vec<Sample>,
    /// Share of the variation of use a day that the fit explains, periods by their days.
    pub r2: f64,
    /// Root of the mean square error of use a day over its mean, p parameters taken off.
    pub cv_rmse: f64,
    /// Sum of the errors over the sum of use, p parameters taken off; 0 by least squares.
    pub nmbe: f64,
    /// What the reader must know.
    pub findings: Vec<Finding>,
    /// The parameters of every resample.
    pub draws: Vec<Params>,
}

impl Fit {
    /// Fits samples.
    ///
    /// Least squares of use a day with each period weighted by its days: if days vary independently,
    /// the variance of a period's daily mean goes with 1 over its days, and the sums of modelled and
    /// metered use agree. The change point is the exact optimum over all its values.
    ///
    /// # Errors
    /// [`InputError`] for options that cannot be, and for no more readings than parameters.
    pub fn new(
        fuel: Fuel,
        samples: Vec<Sample>,
        findings: Vec<Finding>,
        options: &Options,
    ) -> Result<Self, InputError> {
        options.check()?;
        let parameters = options.form.parameters();
        if samples.len() <= parameters {
            let reason = format!(
                "a fit of {parameters} parameters needs at least {} readings, and 12 are best",
                parameters + 1
            );
            let count = samples.len().to_string();
            return Err(Issue::new(IssueCode::OutOfRange, "readings", count, reason).into());
        }
        let rates: Vec<f64> = samples.iter().map(Sample::rate).collect();
        let solver = Solver::new(&samples, options.form);
        let params = solver.solve(&samples, &rates);
        let mut fit = Self {
            fuel,
            options: options.clone(),
            params,
            errors: Errors::none(),
            samples,
            r2: f64::NAN,
            cv_rmse: f64::NAN,
            nmbe: f64::NAN,
            findings,
            draws: Vec::new(),
        };
        let leverage = fit.indices();
        fit.draws = bootstrap::draws(&fit, &solver, &leverage);
        judge::judge(&mut fit, &solver);
        Ok(fit)
    }

    /// Readings that were fitted.
    pub fn readings(&self) -> usize {
        self.samples.len()
    }

    /// Readings above the parameters.
    pub fn degrees_of_freedom(&self) -> usize {
        self.samples.len() - self.options.form.parameters()
    }

    /// Use a day of a period by the fit.
    pub fn fitted(&self, sample: &Sample) -> f64 {
        self.params.over(self.options.form, sample)
    }

    /// Weighted mean use a day.
    pub fn mean_rate(&self) -> f64 {
        mean_rate(&self.samples, &self.samples.iter().map(Sample::rate).collect::<Vec<_>>())
    }

    /// The expanded percentile interval of anything that the draws give.
    pub fn interval(&self, of: impl Fn(&Params) -> f64) -> Option<(f64, f64)> {
        let draws = self.draws.iter().map(of);
        super::stats::interval(draws, self.options.level, self.degrees_of_freedom())
    }

    /// Use of a usual year.
    pub fn annual(&self, normal: &NormalYear) -> Annual {
        normal.annual(self.options.form, &self.params)
    }

    /// Total use of a usual year with its interval.
    pub fn annual_total(&self, normal: &NormalYear) -> Ranged {
        self.ranged(|params| normal.annual(self.options.form, params).total)
    }

    /// Heating use of a usual year with its interval; NaN for a straight line.
    pub fn annual_heating(&self, normal: &NormalYear) -> Ranged {
        self.ranged(|params| normal.annual(self.options.form, params).heating)
    }

    /// A figure that the parameters give, with its interval.
    pub fn ranged(&self, of: impl Fn(&Params) -> f64) -> Ranged {
        Ranged::new(of(&self.params), self.interval(of))
    }

    /// Indices of the fit and standard errors; gives the leverage of each period.
    fn indices(&mut self) -> Vec<f64> {
        let (form, size) = (self.options.form, self.options.form.parameters());
        let (mut squares, mut all, mut sum, mut weight) = (0.0, 0.0, 0.0, 0.0);
        let mean = self.mean_rate();
        let mut normal: Square = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
        for sample in &self.samples {
            let error = sample.rate() - self.fitted(sample);
            squares += sample.days * error * error;
            sum += sample.days * error;
            let off = sample.rate() - mean;
            all += sample.days * off * off;
            weight += sample.days;
            let slopes = self.params.slopes(form, sample);
            for row in 0..size {
                for column in 0..size {
                    normal[row][column] += sample.days * slopes[row] * slopes[column];
                }
            }
        }
        let count = self.samples.len() as f64;
        let free = self.degrees_of_freedom() as f64;
        self.r2 = if all > 0.0 { 1.0 - squares / all } else { f64::NAN };
        self.cv_rmse = libm::sqrt(squares / weight * count / free) / mean;
        self.nmbe = sum / weight * count / free / mean;
        let Some(inverted) = inverse(&normal, size) else {
            return vec![size as f64 / count; self.samples.len()];
        };
        let variance = squares / free;
        let error = |place: usize| {
            if place < size { libm::sqrt(variance * inverted[place][place]) } else { f64::NAN }
        };
        self.errors = Errors {
            base: error(0),
            heating_slope: error(1),
            heating_change_f: error(2),
            cooling_slope: error(3),
            cooling_change_f: error(4),
        };
        let leverage = |sample: &Sample| {
            let slopes = self.params.slopes(form, sample);
            let mut sum = 0.0;
            for row in 0..size {
                for column in 0..size {
                    sum += slopes[row] * inverted[row][column] * slopes[column];
                }
            }
            sample.days * sum
        };
        self.samples.iter().map(leverage).collect()
    }
}

impl Errors {
    const fn none() -> Self {
        let nan = f64::NAN;
        Self {
            base: nan,
            heating_slope: nan,
            heating_change_f: nan,
            cooling_slope: nan,
            cooling_change_f: nan,
        }
    }
}

pub(super) fn mean_rate(samples: &[Sample], rates: &[f64]) -> f64 {
    let weight: f64 = samples.iter().map(|sample| sample.days).sum();
    let sum: f64 = samples.iter().zip(rates).map(|(sample, rate)| sample.days * rate).sum();
    sum / weight
}

/// Finds the parameters of any uses over the same weather.
pub(super) struct Solver {
    pub(super) form: Form,
    /// Of the three-parameter fit.
    pub(super) plan: Option<Plan>,
}

impl Solver {
    pub(super) fn new(samples: &[Sample], form: Form) -> Self {
        let plan = match form {
            Form::Heating => heating_plan(samples, CHANGE_POINT_HIGH_F.value, None),
            _ => None,
        };
        Self { form, plan }
    }

    pub(super) fn solve(&self, samples: &[Sample], rates: &[f64]) -> Params {
        match self.form {
            Form::Straight => straight(samples, rates),
            Form::Heating => {
                let mean = mean_rate(samples, rates);
                let lanes: Vec<[f64; 1]> = rates.iter().map(|rate| [rate - mean]).collect();
                match &self.plan {
                    Some(plan) => {
                        let [solution] = plan.search(&lanes);
                        heating(&solution, mean)
                    }
                    None => flat(mean),
                }
            }
            Form::HeatingCooling => super::five::solve(samples, rates, None),
        }
    }
}

fn straight(samples: &[Sample], rates: &[f64]) -> Params {
    let mean = mean_rate(samples, rates);
    let temperatures: Vec<f64> = samples.iter().map(|sample| sample.mean_f).collect();
    let centre = mean_rate(samples, &temperatures);
    let (mut cross, mut square) = (0.0, 0.0);
    for ((sample, rate), temperature) in samples.iter().zip(rates).zip(temperatures) {
        let off = temperature - centre;
        cross += sample.days * off * (rate - mean);
        square += sample.days * off * off;
    }
    let slope = if square > 0.0 { -cross / square } else { 0.0 };
    Params { base: mean + slope * centre, heating_slope: slope, ..flat(mean) }
}

/// Use that does not follow the weather.
pub(super) const fn flat(mean: f64) -> Params {
    Params {
        base: mean,
        heating_slope: 0.0,
        heating_change_f: f64::NAN,
        cooling_slope: 0.0,
        cooling_change_f: f64::NAN,
    }
}

pub(super) fn heating(solution: &Solution, mean: f64) -> Params {
    Params {
        base: solution.base(mean),
        heating_slope: solution.slope,
        heating_change_f: solution.change_f,
        ..flat(mean)
    }
}

pub(super) fn heating_plan(samples: &[Sample], high_f: f64, held: Option<Held>) -> Option<Plan> {
    Plan::new(samples, Side::Heating, CHANGE_POINT_LOW_F.value, high_f, held)
}

pub(super) fn cooling_plan(samples: &[Sample], low_f: f64, held: Option<Held>) -> Option<Plan> {
    let low_f = low_f.max(COOLING_POINT_LOW_F.value);
    Plan::new(samples, Side::Cooling, low_f, COOLING_POINT_HIGH_F.value, held)
}
