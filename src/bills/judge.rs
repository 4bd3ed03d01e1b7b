//! What a fit is worth, in findings.

use super::finding::Finding;
use super::fit::{Fit, Form, Solver, mean_rate};
use super::sample::Sample;
use super::unit::slips;
use crate::tables::{
    BILLS_CV_RMSE_LIMIT, BILLS_NMBE_LIMIT, BILLS_READINGS_BEST, BILLS_READINGS_LEAST,
    CHANGE_POINT_HIGH_F, CHANGE_POINT_LOW_F, SEASON_SPAN_F,
};

/// A change of the house is looked for with this many readings on either side.
const LEAST_BESIDE: usize = 8;
/// The F of the best split beyond which a change is taken as real: well above the 5 % point of a
/// split that is looked for, with two dozen readings (judgement).
const SPLIT_F: f64 = 10.0;

/// In how far the fit may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// Within the limits of ASHRAE Guideline 14 for monthly data, with readings enough, and
    /// nothing found that makes it doubtful.
    Sound,
    /// Outside a limit, or something makes it doubtful.
    Doubtful,
    /// It must not be used.
    Unusable,
}

impl Verdict {
    /// `sound`, `doubtful` or `unusable`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Sound => "sound",
            Self::Doubtful => "doubtful",
            Self::Unusable => "unusable",
        }
    }
}

impl Verdict {
    /// The verdict that findings alone lead to.
    pub fn of(findings: &[Finding]) -> Self {
        use super::finding::{Weight, gravest};
        match gravest(findings) {
            None | Some(Weight::Note) => Self::Sound,
            Some(Weight::Doubt) => Self::Doubtful,
            Some(Weight::Refuse) => Self::Unusable,
        }
    }
}

impl Fit {
    /// In how far it may be used.
    pub fn verdict(&self) -> Verdict {
        Verdict::of(&self.findings)
    }
}

pub(super) fn judge(fit: &mut Fit, solver: &Solver) {
    let mut found = Vec::new();
    number(fit, &mut found);
    seasons(fit, &mut found);
    parameters(fit, &mut found);
    limits(fit, &mut found);
    leaning(fit, &mut found);
    slip(fit, solver, &mut found);
    change(fit, &mut found);
    fit.findings.append(&mut found);
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn number(fit: &Fit, found: &mut Vec<Finding>) {
    let count = fit.readings();
    // Small whole numbers, kept in the table as numbers.
    if (count as f64) < BILLS_READINGS_LEAST.value {
        let text = format!("{count} readings: fewer than 10 are suspect, 12 are best.");
        found.push(Finding::doubt("few_readings", text));
    } else if (count as f64) < BILLS_READINGS_BEST.value {
        let text = format!("{count} readings: 12, a whole year of months, are best.");
        found.push(Finding::note("under_a_dozen", text));
    }
}

fn seasons(fit: &Fit, found: &mut Vec<Finding>) {
    let means = || fit.samples.iter().map(|sample| sample.mean_f);
    let (low, high) =
        (means().fold(f64::INFINITY, f64::min), means().fold(f64::NEG_INFINITY, f64::max));
    if high - low < SEASON_SPAN_F.value {
        let text = format!(
            "The readings span {:.0} °F of mean temperature, {low:.0} to {high:.0} °F: one season \
             does not show how the house answers to the weather.",
            high - low
        );
        found.push(Finding::doubt("one_season", text));
    }
}

fn parameters(fit: &Fit, found: &mut Vec<Finding>) {
    let params = &fit.params;
    let form = fit.options.form;
    if !(params.heating_slope > 0.0) {
        let text = "Use does not rise as it gets colder: no heating is on this meter, or the \
                    readings and the weather do not belong together.";
        found.push(Finding::refuse("no_heating", text));
        return;
    }
    if form == Form::HeatingCooling && !(params.cooling_slope > 0.0) {
        let text = "Use does not rise as it gets warmer: fit it without cooling.";
        found.push(Finding::doubt("no_cooling", text));
    } else if form == Form::HeatingCooling {
        let point = params.cooling_change_f;
        let with = fit.samples.iter().filter(|sample| sample.cooling_f(point) > 0.5).count();
        if with < 3 {
            let text = format!(
                "Only {with} of the readings hold cooling: its slope and its change point rest on \
                 them alone."
            );
            found.push(Finding::doubt("few_cooling_readings", text));
        }
    }
    if form == Form::Straight {
        let text = "A straight line has no change point: it holds for the heating season alone, and \
                    base load and heating are not told apart.";
        found.push(Finding::note("straight_line", text));
        return;
    }
    let change = params.heating_change_f;
    let (low, high) = (CHANGE_POINT_LOW_F.value, CHANGE_POINT_HIGH_F.value);
    if change <= low || change >= high {
        let text = format!(
            "The change point lies at the end of what is sought, {low:.0} to {high:.0} °F: the \
             readings do not hold it."
        );
        found.push(Finding::doubt("change_point_at_limit", text));
    }
    let with = fit.samples.iter().filter(|sample| sample.heating_f(change) > 0.5).count();
    let without = fit.samples.iter().filter(|sample| sample.mean_f > change).count();
    if without == 0 {
        let text = format!(
            "No reading is from weather above the change point of {change:.1} °F: base load and \
             change point rest on the shape of the line alone."
        );
        found.push(Finding::doubt("no_summer", text));
    }
    if with < 3 {
        let text =
            format!("Only {with} of the readings hold heating: the slope rests on them alone.");
        found.push(Finding::doubt("few_heating_readings", text));
    }
    if params.base < -0.05 * fit.mean_rate() {
        let text = format!(
            "The base load is {:.3} a day: below 0. Readings, dates or weather do not fit together, \
             or a fuel that is delivered was not used when it was bought.",
            params.base
        );
        found.push(Finding::doubt("negative_base", text));
    }
}

fn limits(fit: &Fit, found: &mut Vec<Finding>) {
    if !(fit.cv_rmse <= BILLS_CV_RMSE_LIMIT.value) {
        let text = format!(
            "CV(RMSE) is {}: above the {} of ASHRAE Guideline 14 for monthly data.",
            percent(fit.cv_rmse),
            percent(BILLS_CV_RMSE_LIMIT.value)
        );
        found.push(Finding::doubt("cv_rmse_above_limit", text));
    }
    if !(fit.nmbe.abs() <= BILLS_NMBE_LIMIT.value) {
        let text = format!(
            "NMBE is {}: outside the {} of ASHRAE Guideline 14 for monthly data.",
            percent(fit.nmbe),
            percent(BILLS_NMBE_LIMIT.value)
        );
        found.push(Finding::doubt("nmbe_outside_limit", text));
    }
}

/// Errors that lean on the one before say less than as many that do not.
fn leaning(fit: &Fit, found: &mut Vec<Finding>) {
    let errors: Vec<f64> =
        fit.samples.iter().map(|sample| sample.rate() - fit.fitted(sample)).collect();
    let mean = errors.iter().sum::<f64>() / errors.len() as f64;
    let (mut lagged, mut square) = (0.0, 0.0);
    for pair in errors.windows(2) {
        if let [one, next] = pair {
            lagged += (one - mean) * (next - mean);
        }
    }
    for error in &errors {
        square += (error - mean) * (error - mean);
    }
    let correlation = lagged / square;
    // The errors of an exact fit are rounding.
    if fit.cv_rmse > 1e-6
        && errors.len() >= 12
        && correlation > 2.0 / libm::sqrt(errors.len() as f64)
    {
        let text = format!(
            "Each error leans on the one before it (correlation {correlation:.2}): the intervals \
             are too narrow."
        );
        found.push(Finding::note("leaning_errors", text));
    }
}

/// Share of the variation that is left, and the errors over what is fitted: those weigh summer as
/// much as winter, so that they tell where a unit slipped.
fn left(samples: &[Sample], rates: &[f64], solver: &Solver) -> (f64, f64) {
    let mean = mean_rate(samples, rates);
    let params = solver.solve(samples, rates);
    let (mut squares, mut all, mut relative) = (0.0, 0.0, 0.0);
    for (sample, rate) in samples.iter().zip(rates) {
        let fitted = params.over(solver.form, sample);
        let error = rate - fitted;
        let share = error / fitted.max(0.05 * mean);
        relative += sample.days * share * share;
        squares += sample.days * error * error;
        all += sample.days * (rate - mean) * (rate - mean);
    }
    (squares / all, relative)
}

/// Looks for a reading from which on every use is as much too large or small as another unit makes
/// it. Only where the fit is poor, and only for three parameters, which are quick.
fn slip(fit: &Fit, solver: &Solver, found: &mut Vec<Finding>) {
    let count = fit.readings();
    if fit.options.form != Form::Heating || count < 6 || fit.cv_rmse <= BILLS_CV_RMSE_LIMIT.value {
        return;
    }
    let rates: Vec<f64> = fit.samples.iter().map(Sample::rate).collect();
    let now = 1.0 - fit.r2;
    let mut best: Option<((f64, f64), usize, &'static str)> = None;
    for (ratio, words) in slips(fit.fuel) {
        for factor in [ratio, 1.0 / ratio] {
            for split in 2..count - 1 {
                let mut mended = rates.clone();
                mended.iter_mut().skip(split).for_each(|rate| *rate *= factor);
                let left = left(&fit.samples, &mended, solver);
                if left.0 < 0.2
                    && left.0 < 0.2 * now
                    && left.1 < best.map_or(f64::INFINITY, |((_, least), ..)| least)
                {
                    best = Some((left, split, words));
                }
            }
        }
    }
    if let Some((_, split, words)) = best {
        let from = fit.samples.get(split).and_then(|sample| sample.dates).map(|(start, _)| start);
        let from = from.map_or_else(|| format!("reading {}", split + 1), |day| day.to_string());
        let text = format!(
            "From {from} on the readings look like another unit: {words} would make them fit. \
             Give each reading its unit."
        );
        found.push(Finding::refuse("unit_slip", text));
    }
}

/// Looks for a date at which the house changed: a furnace, a window, a room that is no longer heated.
fn change(fit: &Fit, found: &mut Vec<Finding>) {
    let count = fit.readings();
    let size = fit.options.form.parameters();
    if fit.options.form == Form::HeatingCooling || count < 2 * LEAST_BESIDE {
        return;
    }
    let squares = |samples: &[Sample]| {
        let solver = Solver::new(samples, fit.options.form);
        let rates: Vec<f64> = samples.iter().map(Sample::rate).collect();
        let params = solver.solve(samples, &rates);
        let square = |(sample, rate): (&Sample, f64)| {
            let error = rate - params.over(fit.options.form, sample);
            sample.days * error * error
        };
        samples.iter().zip(rates).map(square).sum::<f64>()
    };
    let whole = squares(&fit.samples);
    let mut best: Option<(f64, usize)> = None;
    for split in LEAST_BESIDE..=count - LEAST_BESIDE {
        let (before, after) = fit.samples.split_at(split);
        let apart = squares(before) + squares(after);
        if apart < best.map_or(f64::INFINITY, |(least, _)| least) {
            best = Some((apart, split));
        }
    }
    let Some((apart, split)) = best else { return };
    let f = ((whole - apart) / size as f64) / (apart / (count - 2 * size) as f64);
    // An exact fit has no errors to measure a change by.
    let exact = whole <= 1e-12 * fit.mean_rate() * fit.mean_rate() * count as f64;
    if f > SPLIT_F && !exact {
        let from = fit.samples.get(split).and_then(|sample| sample.dates).map(|(start, _)| start);
        let from = from.map_or_else(|| format!("reading {}", split + 1), |day| day.to_string());
        let text = format!(
            "The house answers to the weather otherwise from about {from} on (F = {f:.1}): a new \
             furnace, a change of the building or of its use. Fit the time before and after apart."
        );
        found.push(Finding::doubt("change_within", text));
    }
}
