//! Which doubt matters most: shares of the variance, of first order and in total.

use super::Sampling;
use super::inputs::{Input, groups, inputs};
use super::run::Figure;
use super::sample::{Stream, latin_hypercube};
use crate::house::{House, judged};
use std::fmt;

/// How much of a figure's variance is one input's.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// The inputs' names: several where they share their draws.
    pub names: Vec<String>,
    /// The question in words.
    pub words: &'static str,
    /// What settles it; may be empty.
    pub advice: &'static str,
    /// First order: what would go, on average, if this alone were known exactly.
    pub first: f64,
    /// Its standard error.
    pub first_error: f64,
    /// In total: what would stay, on average, if all else were known exactly.
    pub total: f64,
    /// Its standard error.
    pub total_error: f64,
}

/// The shares of all inputs in the variance of a figure, the largest first.
#[derive(Clone, Debug, PartialEq)]
pub struct Shares {
    /// The figure.
    pub figure: Figure,
    /// The figure's standard deviation.
    pub sd: f64,
    /// The shares, the largest in total first.
    pub shares: Vec<Share>,
    /// Every evaluation: for each base draw the one of the first design, those with one input from
    /// the second, the one of the second. This is the order in which other libraries take them.
    pub evaluations: Vec<f64>,
    /// Where each of `shares` stands among the inputs of the evaluations.
    pub columns: Vec<usize>,
}

/// Why a figure has no shares of variance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unvaried {
    /// It is the same in every draw.
    Constant(Figure),
    /// It lies beyond every number in so many evaluations, so that it has no variance.
    Beyond(Figure, usize),
}

impl fmt::Display for Unvaried {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Constant(figure) => {
                write!(f, "{}: nothing that may be off moves it", figure.name())
            }
            Self::Beyond(figure, draws) => write!(
                f,
                "{}: it does not exist in {draws} draws, so it has no variance; npv always has one",
                figure.name()
            ),
        }
    }
}

impl std::error::Error for Unvaried {}

/// The shares of all that may be off in the variance of a figure.
///
/// `sampling.draws` is the base of the design: with `d` inputs it takes `d + 2` times as many
/// assessments.
///
/// # Errors
/// [`Unvaried`] where the figure does not move, or has no number in some draw.
pub fn shares(house: &House, sampling: &Sampling, figure: Figure) -> Result<Shares, Unvaried> {
    // Inputs that share their draws are one source of doubt.
    let groups = groups(inputs(house, sampling.own_only));
    let streams: Vec<Stream> = groups.iter().map(|(stream, _)| *stream).collect();
    let mut order: Vec<(&Input, usize)> = groups
        .iter()
        .enumerate()
        .flat_map(|(place, (_, group))| group.iter().map(move |input| (input, place)))
        .collect();
    order.sort_by_key(|(input, _)| (input.field(), input.places()[0].surface()));
    let mut drawn = house.clone();
    let mut indices = shares_of(sampling, &streams, |us| {
        for (input, place) in &order {
            input.write(&mut drawn, us[*place]);
        }
        figure.of(&judged(&drawn))
    });
    let beyond = indices.evaluations.iter().filter(|value| !value.is_finite()).count();
    if beyond > 0 {
        return Err(Unvaried::Beyond(figure, beyond));
    }
    if groups.is_empty() || indices.sd <= 0.0 {
        return Err(Unvaried::Constant(figure));
    }
    indices.figure = figure;
    for (share, (_, group)) in indices.shares.iter_mut().zip(&groups) {
        share.names = group.iter().map(Input::name).collect();
        // A group is named for the one that the others move with, which is its first.
        share.words = group.first().map_or("", Input::words);
        share.advice = group.first().map_or("", Input::advice);
    }
    let mut order: Vec<usize> = (0..indices.shares.len()).collect();
    order.sort_by(|a, b| indices.shares[*b].total.total_cmp(&indices.shares[*a].total));
    indices.shares = order.iter().map(|place| indices.shares[*place].clone()).collect();
    indices.columns = order;
    Ok(indices)
}

/// The shares of any function of independent shares between 0 and 1, one for each stream.
///
/// # Formula
/// With `A`, `B` two independent designs and `AB_i` the first with column `i` of the second, after
/// taking off the mean: first order `mean(f_B (f_ABi − f_A)) / V`, in total
/// `mean((f_A − f_ABi)²) / 2V`, `V` the variance over both designs.
///
/// # Source
/// Saltelli and others 2010, Computer Physics Communications 181 (from memory): the second for
/// each; the total one is Jansen's.
pub fn shares_of(
    sampling: &Sampling,
    streams: &[Stream],
    mut function: impl FnMut(&[f64]) -> f64,
) -> Shares {
    let (count, inputs) = (sampling.count() as usize, streams.len());
    let design = |second: bool| -> Vec<Vec<f64>> {
        let stream = |stream: &Stream| if second { stream.second() } else { *stream };
        streams
            .iter()
            .map(|own| latin_hypercube(sampling.seed, stream(own), sampling.count()))
            .collect()
    };
    let (a, b) = (design(false), design(true));
    let mut evaluations = Vec::with_capacity(count * (inputs + 2));
    let mut us = vec![0.0; inputs];
    for draw in 0..count {
        let fill = |us: &mut [f64], from: &[Vec<f64>]| {
            for (u, column) in us.iter_mut().zip(from) {
                *u = column[draw];
            }
        };
        fill(&mut us, &a);
        evaluations.push(function(&us));
        for input in 0..inputs {
            us[input] = b[input][draw];
            evaluations.push(function(&us));
            us[input] = a[input][draw];
        }
        fill(&mut us, &b);
        evaluations.push(function(&us));
    }
    let step = inputs + 2;
    let mean = mean(evaluations.iter().copied());
    let at = |draw: usize, place: usize| evaluations[draw * step + place] - mean;
    let both = || (0..count).flat_map(|draw| [at(draw, 0), at(draw, inputs + 1)]);
    let centre = self::mean(both());
    let variance = self::mean(both().map(|value| (value - centre) * (value - centre)));
    let shares = (1..=inputs)
        .map(|place| {
            let (first, first_error) = mean_and_error(
                (0..count).map(|d| at(d, inputs + 1) * (at(d, place) - at(d, 0)) / variance),
            );
            let (total, total_error) = mean_and_error((0..count).map(|d| {
                let apart = at(d, 0) - at(d, place);
                0.5 * apart * apart / variance
            }));
            let (names, words, advice) = (Vec::new(), "", "");
            Share { names, words, advice, first, first_error, total, total_error }
        })
        .collect();
    let columns = (0..inputs).collect();
    Shares { figure: Figure::Npv, sd: variance.sqrt(), shares, evaluations, columns }
}

#[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 draws")]
fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0_usize), |(sum, count), value| (sum + value, count + 1));
    sum / count as f64
}

/// A mean and its standard error.
#[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 draws")]
fn mean_and_error(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let mean = mean(values.clone());
    let (squares, count) = values.fold((0.0, 0_usize), |(squares, count), value| {
        (squares + (value - mean) * (value - mean), count + 1)
    });
    (mean, (squares / count as f64 / count as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Ishigami's function, a = 7, b = 0.1, on three shares spread from −π to π. Its variance and
    /// shares in closed form (Ishigami and Homma 1990; Saltelli and others, both from memory):
    /// V = a²/8 + bπ⁴/5 + b²π⁸/18 + 1/2, V1 = (1 + bπ⁴/5)²/2, V2 = a²/8, V13 = b²π⁸ 8/225.
    #[test]
    fn ishigami_has_the_shares_of_its_closed_form() {
        let (a, b) = (7.0, 0.1);
        let streams = [1, 2, 3].map(|field| Stream::new(field, 0, 0));
        let sampling = Sampling { draws: 40_000, ..Sampling::default() };
        let found = shares_of(&sampling, &streams, |u| {
            let x = [u[0], u[1], u[2]].map(|u| PI * (2.0 * u - 1.0));
            let s = libm::sin(x[1]);
            libm::sin(x[0]) * (1.0 + b * x[2] * x[2] * x[2] * x[2]) + a * s * s
        });
        let (p4, p8) = (PI.powi(4), PI.powi(8));
        let variance = a * a / 8.0 + b * p4 / 5.0 + b * b * p8 / 18.0 + 0.5;
        let v1 = 0.5 * (1.0 + b * p4 / 5.0) * (1.0 + b * p4 / 5.0);
        let v13 = 8.0 * b * b * p8 / 225.0;
        let v2 = a * a / 8.0;
        assert!((found.sd * found.sd / variance - 1.0).abs() < 0.02, "{}", found.sd);
        let first = [v1 / variance, v2 / variance, 0.0];
        let total = [(v1 + v13) / variance, v2 / variance, v13 / variance];
        for (place, share) in found.shares.iter().enumerate() {
            let off = (share.first - first[place]).abs();
            assert!(off < 4.0 * share.first_error + 0.002, "first {place}: {share:?}");
            let off = (share.total - total[place]).abs();
            assert!(off < 4.0 * share.total_error + 0.002, "total {place}: {share:?}");
            assert!(share.first_error < 0.02 && share.total_error < 0.01, "{share:?}");
        }
    }

    /// f = 3u + 2v + w: shares 9/14, 4/14, 1/14, first order and in total alike; w² has no part of v.
    #[test]
    fn a_sum_has_the_shares_of_its_squares() {
        let streams = [1, 2, 3].map(|field| Stream::new(field, 0, 0));
        let sampling = Sampling { draws: 8192, ..Sampling::default() };
        let found = shares_of(&sampling, &streams, |u| 3.0 * u[0] + 2.0 * u[1] + u[2]);
        for (share, wanted) in found.shares.iter().zip([9.0 / 14.0, 4.0 / 14.0, 1.0 / 14.0]) {
            assert!((share.first - wanted).abs() < 0.02, "{share:?}");
            assert!((share.total - wanted).abs() < 0.02, "{share:?}");
        }
        assert!((found.sd * found.sd - 14.0 / 12.0).abs() < 0.01);
    }
}
