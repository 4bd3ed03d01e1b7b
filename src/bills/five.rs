//! Two change points: each in turn by the exact search with the other held, from several starts,
//! then both at once.

use super::fit::{Form, Params, cooling_plan, flat, heating_plan, mean_rate};
use super::sample::Sample;
use super::search::Held;
use super::stats::{MOST_COLUMNS, Square, inverse};
use crate::tables::{CHANGE_POINT_HIGH_F, COOLING_POINT_HIGH_F, COOLING_POINT_LOW_F};

/// Where the cooling change point begins, °F: all its range in steps that the exact searches bridge.
const STARTS: [f64; 8] = [55.0, 60.0, 64.0, 68.0, 72.0, 76.0, 80.0, 86.0];
/// Rounds of one search each; they end sooner where nothing is gained.
const MOST_ROUNDS: usize = 30;
const MOST_STEPS: usize = 40;

/// The best five parameters; from `start`, or from every start.
pub(super) fn solve(samples: &[Sample], rates: &[f64], start: Option<&Params>) -> Params {
    let mean = mean_rate(samples, rates);
    let lanes: Vec<[f64; 1]> = rates.iter().map(|rate| [rate - mean]).collect();
    let mut best = (f64::INFINITY, flat(mean));
    let given = start.map(|params| params.cooling_change_f).filter(|change| change.is_finite());
    let starts = STARTS.into_iter().filter(|_| given.is_none()).chain(given);
    for change_f in starts {
        let params = alternate(samples, &lanes, mean, change_f);
        let params = together(samples, rates, params);
        let squares = squares(samples, rates, &params);
        if squares < best.0 {
            best = (squares, params);
        }
    }
    best.1
}

fn squares(samples: &[Sample], rates: &[f64], params: &Params) -> f64 {
    let square = |(sample, rate): (&Sample, &f64)| {
        let error = rate - params.over(Form::HeatingCooling, sample);
        sample.days * error * error
    };
    samples.iter().zip(rates).map(square).sum()
}

fn alternate(samples: &[Sample], lanes: &[[f64; 1]], mean: f64, start_f: f64) -> Params {
    let mut params = Params { cooling_change_f: start_f, ..flat(mean) };
    let mut gained = f64::NEG_INFINITY;
    for _ in 0..MOST_ROUNDS {
        let change = params.cooling_change_f;
        let held = Held::new(samples, |sample| sample.cooling_f(change));
        let high = CHANGE_POINT_HIGH_F.value.min(change);
        let Some(plan) = heating_plan(samples, high, held) else { return params };
        let [heating] = plan.search(lanes);
        params.heating_slope = heating.slope;
        params.heating_change_f = heating.change_f;
        params.cooling_slope = heating.held;
        params.base = heating.base(mean);

        let change = params.heating_change_f;
        let held = if change.is_finite() {
            Held::new(samples, |sample| sample.heating_f(change))
        } else {
            None
        };
        let low = if change.is_finite() { change } else { COOLING_POINT_LOW_F.value };
        let held_is = held.is_some();
        let Some(plan) = cooling_plan(samples, low, held) else { return params };
        let [cooling] = plan.search(lanes);
        if cooling.slope > 0.0 {
            params.cooling_slope = cooling.slope;
            params.cooling_change_f = cooling.change_f;
            params.heating_slope = if held_is { cooling.held } else { 0.0 };
            params.base = cooling.base(mean);
        } else {
            // No cooling: the heating fit alone.
            params.cooling_slope = 0.0;
            params.cooling_change_f = f64::NAN;
            params.heating_slope = if held_is { cooling.held } else { 0.0 };
            params.base = cooling.base(mean);
            return params;
        }
        if cooling.gain <= gained * (1.0 + 1e-12) {
            break;
        }
        gained = cooling.gain;
    }
    params
}

/// Steps of Gauss and Newton, which are exact as long as no change point passes a daily
/// temperature; a step that does not lower the sum of squares is halved.
fn together(samples: &[Sample], rates: &[f64], mut params: Params) -> Params {
    let mut least = squares(samples, rates, &params);
    for _ in 0..MOST_STEPS {
        if !(params.heating_slope > 0.0 && params.cooling_slope > 0.0) {
            break;
        }
        let Some(step) = step(samples, rates, &params) else { break };
        let mut share = 1.0;
        let mut better = None;
        while share > 1e-3 {
            let next = Params {
                base: params.base + share * step[0],
                heating_slope: params.heating_slope + share * step[1],
                heating_change_f: params.heating_change_f + share * step[2],
                cooling_slope: params.cooling_slope + share * step[3],
                cooling_change_f: params.cooling_change_f + share * step[4],
            };
            let in_order = next.heating_change_f <= next.cooling_change_f
                && next.heating_change_f >= crate::tables::CHANGE_POINT_LOW_F.value
                && next.heating_change_f <= CHANGE_POINT_HIGH_F.value
                && next.cooling_change_f >= COOLING_POINT_LOW_F.value
                && next.cooling_change_f <= COOLING_POINT_HIGH_F.value;
            let now = squares(samples, rates, &next);
            if in_order && next.heating_slope > 0.0 && next.cooling_slope > 0.0 && now < least {
                better = Some((now, next));
                break;
            }
            share *= 0.5;
        }
        let Some((now, next)) = better else { break };
        let settled = now >= least * (1.0 - 1e-14);
        (least, params) = (now, next);
        if settled {
            break;
        }
    }
    params
}

fn step(samples: &[Sample], rates: &[f64], params: &Params) -> Option<[f64; MOST_COLUMNS]> {
    let mut normal: Square = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
    let mut right = [0.0; MOST_COLUMNS];
    for (sample, rate) in samples.iter().zip(rates) {
        let slopes = params.slopes(Form::HeatingCooling, sample);
        let error = rate - params.over(Form::HeatingCooling, sample);
        for row in 0..MOST_COLUMNS {
            right[row] += sample.days * slopes[row] * error;
            for column in 0..MOST_COLUMNS {
                normal[row][column] += sample.days * slopes[row] * slopes[column];
            }
        }
    }
    let inverted = inverse(&normal, MOST_COLUMNS)?;
    Some(std::array::from_fn(|row| {
        inverted[row].iter().zip(right).map(|(cell, right)| cell * right).sum()
    }))
}
