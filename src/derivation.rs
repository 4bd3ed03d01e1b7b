//! A derivation: the lines that lead from a house's inputs to its figures, for a reader who checks.

use crate::house::{House, explain};
use std::fmt::Write as _;

/// One line of a derivation.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "house-file", derive(serde::Serialize))]
pub struct Step {
    /// The surface it belongs to, counted from 0; `None` for the house.
    pub surface: Option<usize>,
    /// Its symbol, as later formulas write it.
    pub symbol: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// The formula with symbols; empty for an input.
    pub formula: String,
    /// The formula with numbers; empty for an input.
    pub numbers: String,
    /// What the functions in the formula compute; empty where it has none.
    pub functions: String,
    /// The value in inch-pound units; `None` where there is none (no payback, say).
    pub value: Option<f64>,
    /// The inch-pound unit.
    pub unit: &'static str,
    /// The value in SI units, where SI writes another number.
    pub value_si: Option<f64>,
    /// The SI unit, where SI writes another number.
    pub unit_si: &'static str,
    /// `given`, `given in SI`, `default`, `table` or `constant` for an input; `computed`.
    pub origin: &'static str,
    /// Where the number or the formula comes from; empty where there is nothing to cite.
    pub source: String,
}

/// The whole derivation of a house as text: inputs with where they come from, then each figure with
/// its formula, its numbers, its value and its source.
pub fn text(house: &House) -> String {
    let steps = explain(house);
    let mut out = String::new();
    let places = (0..house.surfaces().len()).map(Some).chain([None]);
    for place in places {
        let head = match place {
            None => "The house".to_owned(),
            Some(index) => {
                let surface = &house.surfaces()[index];
                let name = surface.name().map(|name| format!(", {name}")).unwrap_or_default();
                format!("Surface {index} ({}{name})", surface.kind().as_str())
            }
        };
        let _ = writeln!(out, "{head}\n{}", "=".repeat(head.chars().count()));
        let here = || steps.iter().filter(|step| step.surface == place);
        for step in here().filter(|step| step.formula.is_empty()) {
            let _ = write!(out, "  {:<12} {} = {}", step.origin, step.symbol, value(step));
            let _ = if step.source.is_empty() {
                writeln!(out)
            } else {
                writeln!(out, "   [{}]", step.source)
            };
        }
        for step in here().filter(|step| !step.formula.is_empty()) {
            let _ = writeln!(out, "\n  {}: {}", step.symbol, step.what);
            let _ = writeln!(out, "    = {}", step.formula);
            let _ = writeln!(out, "    = {}", step.numbers);
            let _ = writeln!(out, "    = {}", value(step));
            for (label, text) in [("where", &step.functions), ("source", &step.source)] {
                if !text.is_empty() {
                    let _ = writeln!(out, "    {label}: {text}");
                }
            }
        }
        out.push('\n');
    }
    out.push_str(
        "Modelled, not measured. A figure rests on its inputs: look at those marked default.\n",
    );
    out
}

/// The value with its unit, and the SI value behind it where SI writes another number.
fn value(step: &Step) -> String {
    let Some(ip) = step.value else { return "none".to_owned() };
    let gap = if step.unit.is_empty() { "" } else { " " };
    let si =
        step.value_si.map(|si| format!(" ({} {})", number(si), step.unit_si)).unwrap_or_default();
    format!("{}{gap}{}{si}", number(ip), step.unit)
}

/// A number as a person checks it: seven significant digits, no trailing zeros.
pub(crate) fn number(value: f64) -> String {
    if value.is_nan() {
        return "none".to_owned();
    }
    if value.is_infinite() {
        return "no limit".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs();
    if !(1e-4..1e15).contains(&magnitude) {
        return format!("{value:.6e}");
    }
    #[expect(clippy::cast_possible_truncation, reason = "the range above bounds the exponent")]
    let whole_digits = magnitude.log10().floor() as i32 + 1;
    let decimals = usize::try_from(7 - whole_digits).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
