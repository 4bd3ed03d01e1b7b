//! When two roads to the same house agree.
//!
//! Results must agree to 1e-12, relative. A result that is a difference of nearly equal numbers
//! (a saving of almost nothing, a net present value near zero) cannot: there, they must agree as
//! well as if one input had been off by 1e-12. That bound is measured, input by input.

use crate::spec::{Spec, Value, numbers, si_name};
use std::fmt::Write as _;

/// Of a result, and of an input: far above the rounding of a few dozen operations (1e-14), far
/// below anything that a person would see.
const RELATIVE: f64 = 1e-12;

type Figures = Vec<(&'static str, Option<f64>)>;

/// How far each result moves when each measured input moves by [`RELATIVE`]; `None` where it
/// comes or goes (a payback at the very end of the life) or steps (bags).
fn play(spec: &Spec, at: &Figures) -> Vec<Option<f64>> {
    let mut play = vec![Some(0.0); at.len()];
    let groups = spec.clone().groups().len();
    for group in 0..groups {
        let names: Vec<_> = spec.clone().groups()[group].0.iter().map(|(n, _)| *n).collect();
        for name in names.into_iter().filter(|name| si_name(name).is_some()) {
            let moved = [1.0 + RELATIVE, 1.0 - RELATIVE].iter().find_map(|factor| {
                let mut moved = spec.clone();
                moved.groups()[group].scale(name, *factor);
                moved.try_build().ok()
            });
            let Some(moved) = moved else { continue };
            for ((slot, (_, was)), (_, now)) in play.iter_mut().zip(at).zip(numbers(&moved)) {
                *slot = match (*slot, was, now) {
                    (Some(sum), Some(was), Some(now)) => Some(sum + (was - now).abs()),
                    (Some(sum), None, None) => Some(sum),
                    _ => None,
                };
            }
        }
    }
    play
}

/// The first result that differs by more than it may, in words. `of` is the house of `left`.
pub(crate) fn disagreement(of: &Spec, left: &Figures, right: &Figures) -> Option<String> {
    let play = play(of, left);
    for (((name, l), (_, r)), play) in left.iter().zip(right).zip(play) {
        let Some(play) = play else { continue };
        let fault = match (l, r) {
            // A count of whole bags steps where the mass hardly moves.
            _ if *name == "bags" && play > 0.0 => false,
            (Some(l), Some(r)) => (l - r).abs() > RELATIVE * l.abs().max(r.abs()) + play,
            (None, None) => false,
            _ => true,
        };
        if fault {
            return Some(format!("{name}: {l:?} against {r:?}, play {play:e}\n{}", show(of)));
        }
    }
    None
}

/// The greatest relative difference of any result.
pub(crate) fn greatest(left: &Figures, right: &Figures) -> f64 {
    left.iter()
        .zip(right)
        .filter_map(|((_, l), (_, r))| Some((l.as_ref()?, r.as_ref()?)))
        .filter(|(l, _)| **l != 0.0)
        .map(|(l, r)| ((l - r) / l).abs())
        .fold(0.0, f64::max)
}

fn show(spec: &Spec) -> String {
    let mut text = String::new();
    for (name, value) in &spec.head.0 {
        match value {
            Value::Number(number) => _ = writeln!(text, "{name} = {number:?}"),
            Value::Word(word) => _ = writeln!(text, "{name} = {word}"),
        }
    }
    for surface in &spec.surfaces {
        let _ = writeln!(text, "{surface:?}");
    }
    text
}
