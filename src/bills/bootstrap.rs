//! The bootstrap: what the parameters would be with other errors of the same sort.
//!
//! Residuals and not readings are drawn. The weather of the periods is no accident of the sample,
//! and twelve readings drawn anew may hold no summer at all. Residuals are divided by the root of
//! 1 − leverage, so that their spread is that of the errors (`venables_ripley_2002`, section 6.6,
//! seen quoted), and centred; those of long periods are brought to one day by the root of their
//! days. What is not in here: another occupant, another thermostat, another year's habits.
//!
//! The random numbers depend on the seed and the stream's name alone: a fit gives the same draws
//! wherever and in whatever company it runs.

use super::fit::{Fit, Form, Params, Solver, heating};
use super::search::LANES;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A leverage above this says that a reading is fitted by itself; its residual says nothing.
const MOST_LEVERAGE: f64 = 0.98;

pub(super) fn draws(fit: &Fit, solver: &Solver, leverage: &[f64]) -> Vec<Params> {
    let count = fit.samples.len();
    let mut residuals: Vec<f64> = fit
        .samples
        .iter()
        .zip(leverage)
        .map(|(sample, leverage)| {
            let error = (sample.rate() - fit.fitted(sample)) * libm::sqrt(sample.days);
            error / libm::sqrt(1.0 - leverage.min(MOST_LEVERAGE))
        })
        .collect();
    let mean = residuals.iter().sum::<f64>() / count as f64;
    for residual in &mut residuals {
        *residual -= mean;
    }
    let fitted: Vec<f64> = fit.samples.iter().map(|sample| fit.fitted(sample)).collect();
    let scale: Vec<f64> = fit.samples.iter().map(|s| 1.0 / libm::sqrt(s.days)).collect();
    let mut rng = generator(fit.options.seed, &fit.options.stream);
    let wanted = fit.options.resamples as usize;
    let mut draws = Vec::with_capacity(wanted);
    let mut rates = vec![[0.0; LANES]; count];
    while draws.len() < wanted {
        let lanes = LANES.min(wanted - draws.len());
        let mut means = [0.0; LANES];
        for lane in 0..lanes {
            for (period, rate) in rates.iter_mut().enumerate() {
                rate[lane] = fitted[period] + residuals[below(&mut rng, count)] * scale[period];
            }
        }
        let weight: f64 = fit.samples.iter().map(|sample| sample.days).sum();
        for (sample, rate) in fit.samples.iter().zip(&rates) {
            for lane in 0..LANES {
                means[lane] += sample.days * rate[lane];
            }
        }
        for mean in &mut means {
            *mean /= weight;
        }
        if let (Form::Heating, Some(plan)) = (solver.form, &solver.plan) {
            for rate in &mut rates {
                for lane in 0..LANES {
                    rate[lane] -= means[lane];
                }
            }
            let found = plan.search(&rates);
            draws.extend(found.iter().zip(means).take(lanes).map(|(s, mean)| heating(s, mean)));
        } else {
            for lane in 0..lanes {
                let one: Vec<f64> = rates.iter().map(|rate| rate[lane]).collect();
                draws.push(match solver.form {
                    Form::HeatingCooling => {
                        super::five::solve(&fit.samples, &one, Some(&fit.params))
                    }
                    _ => solver.solve(&fit.samples, &one),
                });
            }
        }
    }
    draws
}

/// The random numbers of a meter.
pub(super) fn generator(seed: u64, stream: &str) -> ChaCha8Rng {
    // FNV-1a of 64 bits (from memory): any fixed function that spreads names will do.
    let mix = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    let name = stream.bytes().fold(0xcbf2_9ce4_8422_2325, mix);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(name);
    rng
}

/// A whole number below `count`.
pub(super) fn below(rng: &mut ChaCha8Rng, count: usize) -> usize {
    let wide = u64::from(rng.next_u32()) * count as u64;
    usize::try_from(wide >> 32).unwrap_or(0)
}
