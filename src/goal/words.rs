//! Break-even values in words.

use super::{Breaks, Curve, Goal, Input, Span};
use crate::readiness::Readiness;
use crate::words::{Block, REALISED, Tone, amount, figure, grouped, or_none, years};

impl Goal {
    /// The goal in words.
    pub fn words(self) -> String {
        match self {
            Self::Npv => "a net present value of 0 or more".to_owned(),
            Self::Payback(years) => {
                format!("a modelled payback of {} years or less", figure(years, 2))
            }
            Self::Sir => "a savings-to-investment ratio of 1 or more".to_owned(),
        }
    }
}

/// A value of an input with its unit: four significant figures, and no fewer than it needs.
fn value(input: Input, number: f64) -> String {
    let size = number.abs();
    let decimals = if size >= 1000.0 {
        0
    } else if size >= 100.0 {
        1
    } else if size >= 10.0 {
        2
    } else if size >= 0.1 || size == 0.0 {
        3
    } else {
        5
    };
    let text = figure(number, decimals);
    let unit = input.unit();
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

fn span(input: Input, span: &Span) -> String {
    let at = |number| value(input, number);
    match (span.turns_at_from, span.turns_at_to) {
        (false, false) => format!("throughout, from {} to {}", at(span.from), at(span.to)),
        (false, true) => format!("up to {}", at(span.to)),
        (true, false) => format!("from {} up", at(span.from)),
        (true, true) => format!("from {} to {}", at(span.from), at(span.to)),
    }
}

/// What a search found, as blocks. `currency` is a label in front of amounts.
pub fn blocks(breaks: &Breaks, currency: &str) -> Vec<Block> {
    let Breaks { input, goal, range, .. } = *breaks;
    let name = input.name();
    let at = |number| value(input, number);
    let between = if breaks.endless {
        format!("from {} up", at(range[0]))
    } else {
        format!("between {} and {}", at(range[0]), at(range[1]))
    };
    let title = match (breaks.values.len(), breaks.spans.as_slice()) {
        _ if !breaks.defined => format!("{name}: no such value {between}, there is no such figure"),
        (0, []) => format!("{name}: no such value {between}, the goal is missed throughout"),
        (0, _) => format!("{name}: no such value {between}, the goal is met throughout"),
        (_, spans) => {
            let met: Vec<String> = spans.iter().map(|s| span(input, s)).collect();
            format!("{name}: the goal is met {} (modelled)", met.join(", and "))
        }
    };
    let mut found = Vec::new();
    found.extend(hold(breaks.assessment.readiness()));
    let mut block = Block::new(Tone::Answer, title);
    block.line("Goal", goal.words());
    block.line("What is moved", input.help());
    if let Some(now) = breaks.now {
        let met = match breaks.met_now {
            Some(true) => "the goal is met",
            Some(false) => "the goal is missed",
            None => "there is no such figure",
        };
        let a = &breaks.assessment;
        block.line(
            "The house now",
            format!(
                "{}: {met}; net present value {}, payback {} (modelled)",
                at(now),
                amount(a.npv, currency),
                or_none(a.simple_payback_years, years)
            ),
        );
    }
    if breaks.values.len() > 1 {
        let all: Vec<String> = breaks.values.iter().map(|v| at(*v)).collect();
        block.line("Just met at", all.join(", "));
    }
    block.line("Looked through", between);
    block.line("", "All else as in the house. A figure of the model, not of the meter.");
    block.line("", REALISED);
    found.push(block);
    found
}

/// The answer to "is my batt too thick for this to pay?", or to the same question of another input.
pub fn curve_blocks(curve: &Curve, currency: &str, readiness: Readiness) -> Vec<Block> {
    let at = |number| value(curve.input, number);
    let life = curve.life_years;
    let verdict = match (curve.input.asks_for_batt(), curve.worth_now) {
        (true, true) => "The batt is not too thick for the fill to pay",
        (true, false) => "The batt is too thick for the fill to pay",
        (false, true) => "The fill is worth its cost",
        (false, false) => "The fill is not worth its cost",
    };
    let turns: Vec<String> = curve.break_even.iter().map(|v| at(*v)).collect();
    let title = match (curve.now, turns.as_slice()) {
        (Some(now), []) => format!(
            "{verdict}: at {} and everywhere else that was looked at (modelled, over {life} years)",
            at(now)
        ),
        (Some(now), turns) => format!(
            "{verdict}: it is at {}, the turn at {} (modelled, over {life} years)",
            at(now),
            turns.join(" and ")
        ),
        (None, _) => {
            format!("{} is not given: no answer for the house as it is", curve.input.name())
        }
    };
    let mut blocks: Vec<Block> = hold(readiness).into_iter().collect();
    let mut block = Block::new(Tone::Answer, title);
    block.line("To pay", format!("a net present value of 0 or more over {life} years"));
    block.line("Payback now", format!("{} (modelled)", or_none(curve.payback_now, years)));
    let few = curve.points.len().div_ceil(12).max(1);
    for point in curve.points.iter().step_by(few) {
        let range = match (point.payback_short, point.payback_long) {
            (Some(short), Some(long)) => {
                format!(", likely {} to {}", grouped(short, 1), years(long))
            }
            (Some(short), None) => format!(", likely {} to never", years(short)),
            (None, _) => String::new(),
        };
        block.line(
            at(point.value),
            format!(
                "modelled payback {}{range}; net present value {}",
                or_none(point.simple_payback_years, years),
                amount(point.npv, currency)
            ),
        );
    }
    block.line("", REALISED);
    blocks.push(block);
    blocks
}

fn hold(readiness: Readiness) -> Option<Block> {
    (readiness == Readiness::Hold).then(|| {
        let mut block = Block::new(Tone::Hold, "HOLD: the work must not start");
        block.line("", "The assessment of the house says what must be cleared first, and by whom.");
        block
    })
}
