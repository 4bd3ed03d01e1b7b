//! The values at which a goal is just met.

use super::{Goal, Input};
use crate::error::InputError;
use crate::house::{Assessment, Field, House, assess};
use crate::numeric::{Bracket, Rising, rising_root};

/// Values between which the goal is met, in the unit of the input's name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The least value.
    pub from: f64,
    /// The greatest.
    pub to: f64,
    /// Whether the goal is just met at the least value: not where the range itself ends there.
    pub turns_at_from: bool,
    /// Whether it is just met at the greatest.
    pub turns_at_to: bool,
}

/// Where an input meets a goal.
#[derive(Clone, Debug)]
pub struct Breaks {
    /// The input.
    pub input: Input,
    /// The goal.
    pub goal: Goal,
    /// The range that was looked through, in the unit of the input's name.
    pub range: [f64; 2],
    /// Whether the field has no upper end of its own, and none was asked for.
    pub endless: bool,
    /// The value that the house has now.
    pub now: Option<f64>,
    /// Whether the house meets the goal as it is now; `None` where it has no such figure.
    pub met_now: Option<bool>,
    /// The values at which the goal is just met, in their order; empty where there is no such
    /// value in the range. A whole number of years or of a level meets no goal exactly: then these
    /// are the first and last values that meet it.
    pub values: Vec<f64>,
    /// Where the goal is met.
    pub spans: Vec<Span>,
    /// Whether there is a value in the range at all at which the house has the figure.
    pub defined: bool,
    /// The figures of the house as it is now.
    pub assessment: Assessment,
}

/// Points of an even grid, and of one that is finer towards the low end, decade by decade.
const EVEN: u32 = 160;
const PER_DECADE: u32 = 12;
const DECADES: u32 = 20;
/// The registry's upper end of money stands for none.
const MOST_MONEY: f64 = 1e15;
/// Whole numbers that one field may have in its range.
const MOST_WHOLE: usize = 1000;

/// The margin of the goal as a function of the input, turned so that it rises.
struct Margin<'h> {
    house: &'h House,
    input: Input,
    goal: Goal,
    sign: f64,
}

impl Margin<'_> {
    fn value(&self, ip: f64) -> Option<f64> {
        self.goal.margin(&self.input.figures(self.house, ip)?)
    }
}

impl Rising<f64> for Margin<'_> {
    fn at(&self, ip: f64) -> (f64, f64) {
        // No slope is known: the root is found by halving.
        (self.value(ip).map_or(f64::NAN, |margin| self.sign * margin), f64::NAN)
    }
}

/// Finds where an input meets a goal, in the field's whole range or in a part of it.
///
/// The range is looked through at some four hundred points, and each turn between two of them is
/// closed in on to the last digits. A goal that is met and missed again between two neighbouring
/// points is not seen.
///
/// # Errors
/// [`InputError`] for a range that is none, or not of the field.
pub fn seek(
    house: &House,
    input: Input,
    goal: Goal,
    low: Option<f64>,
    high: Option<f64>,
) -> Result<Breaks, InputError> {
    let endless = high.is_none() && input.field.def().high >= MOST_MONEY;
    let [low, high] = input.range(house, [low, high])?;
    let margin = Margin { house, input, goal, sign: 1.0 };
    let points: Vec<(f64, Option<f64>)> =
        grid(house, input, low, high).into_iter().map(|x| (x, margin.value(x))).collect();
    let mut values = Vec::new();
    let mut spans: Vec<Span> = Vec::new();
    let mut open: Option<(f64, bool)> = None;
    let mut close = |open: &mut Option<(f64, bool)>, to: f64, turns_at_to: bool| {
        if let Some((from, turns_at_from)) = open.take() {
            spans.push(Span { from, to, turns_at_from, turns_at_to });
        }
    };
    let mut before: Option<(f64, f64)> = None;
    for (x, margin_at) in points.iter().copied() {
        let Some(value) = margin_at else {
            if let Some((last, _)) = before.take() {
                close(&mut open, last, false);
            }
            continue;
        };
        let met = value >= 0.0;
        match before {
            None if met => open = Some((x, false)),
            Some((last, was)) if (was >= 0.0) != met => {
                let turn = if input.whole() {
                    if met { x } else { last }
                } else if value == 0.0 {
                    x
                } else if was == 0.0 {
                    last
                } else {
                    let sign = if met { 1.0 } else { -1.0 };
                    let start = 0.5 * (last + x);
                    let rising = Margin { house, input, goal, sign };
                    rising_root(0.0, Bracket { low: last, high: x, start }, &rising)
                };
                values.push(turn);
                if met {
                    open = Some((turn, true));
                } else {
                    close(&mut open, turn, true);
                }
            }
            None | Some(_) => {}
        }
        before = Some((x, value));
    }
    if let Some((last, _)) = before {
        close(&mut open, last, false);
    }
    let mut breaks = Breaks {
        input,
        goal,
        range: [low, high],
        endless,
        now: input.now(house),
        met_now: goal.margin(&assess(house)).map(|margin| margin >= 0.0),
        values,
        spans,
        defined: points.iter().any(|(_, margin)| margin.is_some()),
        assessment: assess(house),
    };
    express(&mut breaks);
    Ok(breaks)
}

/// From inch-pound to the unit of the name; a conductivity is in the reverse order.
fn express(breaks: &mut Breaks) {
    let input = breaks.input;
    let reversed = input.shown(1.0) > input.shown(2.0);
    for value in breaks.values.iter_mut().chain(breaks.range.iter_mut()) {
        *value = input.shown(*value);
    }
    for span in &mut breaks.spans {
        (span.from, span.to) = (input.shown(span.from), input.shown(span.to));
        if reversed {
            std::mem::swap(&mut span.from, &mut span.to);
            std::mem::swap(&mut span.turns_at_from, &mut span.turns_at_to);
        }
    }
    if reversed {
        breaks.values.reverse();
        breaks.range.reverse();
        breaks.spans.reverse();
    }
}

/// Where the range is looked through: whole numbers, or two grids and the places at which the
/// house itself has a corner.
fn grid(house: &House, input: Input, low: f64, high: f64) -> Vec<f64> {
    let mut points: Vec<f64> = vec![low, high];
    let inside = |x: f64| (low..=high).contains(&x);
    if input.whole() {
        let (mut x, last) = (libm::ceil(low), libm::floor(high));
        points.clear();
        while x <= last && points.len() <= MOST_WHOLE {
            points.push(x);
            x += 1.0;
        }
        return points;
    }
    let width = high - low;
    points.extend((1..EVEN).map(|i| low + width * (f64::from(i) / f64::from(EVEN))));
    let step = libm::pow(10.0, -1.0 / f64::from(PER_DECADE));
    let mut share = 1.0;
    for _ in 0..PER_DECADE * DECADES {
        share *= step;
        points.push(low + width * share);
    }
    let corners = [
        house.number(input.field, input.surface),
        house.number(Field::Rebate, None),
        house.number(Field::CavityDepth, input.surface),
    ];
    points.extend(corners.into_iter().flatten());
    points.retain(|x| inside(*x));
    points.sort_by(f64::total_cmp);
    points.dedup();
    points
}
