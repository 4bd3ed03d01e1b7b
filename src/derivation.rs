//! A derivation: the lines that lead from a house's inputs to its figures, for a reader who checks.

use crate::house::{House, explain};
use crate::numeric::number;
use std::fmt::Write as _;

pub use crate::numeric::Step;

/// The whole derivation of a house as text: inputs with where they come from, then each figure with
/// its formula, its numbers, its value and its source.
///
/// # Examples
/// ```
/// # #[cfg(feature = "house-file")] {
/// use studbay::{derivation, house::House};
///
/// let house = House::from_file("demo-data/house.toml")?;
/// assert!(derivation::text(&house).contains("u_before"));
/// # }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
