//! A layer from named values, as house files and keyword arguments give it.

use super::fields::{Field, FieldDef, Kind};
use super::record::Cell;
use super::surface::{Layer, LayerBody};
use crate::error::{Issue, IssueCode, nearest};
use crate::tables::{MATERIALS, material};
use crate::units::{Length, RValue, Resistivity, UnitSystem};

/// Names that a layer of a list may use.
const LAYER_NAMES: &[&str] =
    &["name", "material", "r", "rsi", "thickness_in", "thickness_mm", "r_per_in", "k_w_mk"];

impl Layer {
    /// A layer from named values: `r` (or `rsi`), or `material`, or `thickness_in` (`_mm`) with
    /// `r_per_in` (or `k_w_mk`); `name` is free.
    ///
    /// # Errors
    /// Every fault, each under its name in the layer.
    pub fn from_cells<'c>(
        cells: impl IntoIterator<Item = (&'c str, Cell<'c>)>,
    ) -> Result<Self, Vec<Issue>> {
        let (mut issues, mut name, mut chosen) = (Vec::new(), None, None);
        let mut numbers = [None; 3];
        for (key, cell) in cells {
            if matches!(cell, Cell::Blank) {
                continue;
            }
            // Place in `numbers`, the range, whether the name is SI's.
            let number = match key {
                "name" => {
                    name = (!cell.shown().trim().is_empty()).then(|| cell.shown());
                    continue;
                }
                "material" => {
                    let text = cell.shown();
                    match material(text.trim()) {
                        Some(found) => chosen = Some(found),
                        None => issues.push(unknown_material(&text)),
                    }
                    continue;
                }
                "r" | "rsi" => (0, Field::SeriesR, key == "rsi", 0.0, 60.0),
                "thickness_in" | "thickness_mm" => {
                    (1, Field::BattThickness, key == "thickness_mm", 0.0, 48.0)
                }
                "r_per_in" | "k_w_mk" => (2, Field::FillR, key == "k_w_mk", 0.02, 15.0),
                _ => {
                    let hint = nearest(key, LAYER_NAMES.iter().copied())
                        .map(|near| format!("; is {near} meant?"))
                        .unwrap_or_default();
                    let reason = format!("a layer has {}{hint}", LAYER_NAMES.join(", "));
                    issues.push(Issue::new(IssueCode::UnknownName, key, cell.shown(), reason));
                    continue;
                }
            };
            let (place, like, si, low, high) = number;
            match layer_number(key, cell, like, si, (low, high)) {
                Ok(_) if numbers[place].is_some() => {
                    let reason = "given twice, under both unit names";
                    issues.push(Issue::new(IssueCode::GivenTwice, key, cell.shown(), reason));
                }
                Ok(ip) => numbers[place] = Some(ip),
                Err(issue) => issues.push(issue),
            }
        }
        let body = match (chosen, numbers) {
            (Some(material), [None, None, None]) => Some(LayerBody::Material(material)),
            (None, [Some(r), None, None]) => Some(LayerBody::Resistance(RValue::checked(r))),
            (None, [None, Some(thickness), Some(resistivity)]) => {
                Some(LayerBody::Slab(Length::checked(thickness), Resistivity::checked(resistivity)))
            }
            _ => None,
        };
        match (body, issues.is_empty()) {
            (Some(body), true) => Ok(Self { name, body }),
            (None, true) => {
                let reason = "a layer is one of: r; material; thickness_in with r_per_in \
                              (SI: rsi; material; thickness_mm with k_w_mk)";
                Err(vec![Issue::new(IssueCode::Conflict, "", "", reason)])
            }
            (_, false) => Err(issues),
        }
    }
}

fn unknown_material(text: &str) -> Issue {
    let keys = || MATERIALS.iter().map(|material| material.key);
    let hint = nearest(text.trim(), keys()).map(|near| format!("; is {near} meant?"));
    let reason = format!(
        "is not in the materials table{}",
        hint.unwrap_or_else(|| "; `studbay fields --materials` lists it".to_owned())
    );
    Issue::new(IssueCode::NotAChoice, "material", text, reason)
}

/// A number of a layer in inch-pound units, by the quantity of a like field.
fn layer_number(
    key: &str,
    cell: Cell<'_>,
    like: Field,
    si: bool,
    (low, high): (f64, f64),
) -> Result<f64, Issue> {
    let quantity = like.def().quantity;
    let units = if si { UnitSystem::Si } else { UnitSystem::Ip };
    let def = FieldDef { kind: Kind::Number, low, high, low_open: false, ..*like.def() };
    let number = match cell {
        Cell::Number(number) => Some(number),
        Cell::Text(text) => text.trim().parse().ok(),
        Cell::Bool(_) | Cell::Blank => None,
    };
    let fault = |code| {
        let reason = format!("allowed is {}", def.range(units));
        Err(Issue::new(code, key, cell.shown(), reason))
    };
    let Some(number) = number.filter(|number| number.is_finite()) else {
        return fault(IssueCode::NotANumber);
    };
    let ip = if si { quantity.ip_from_si(number) } else { number };
    if ip.is_finite() && def.allows(ip, units) {
        Ok(ip.clamp(low, high))
    } else {
        fault(IssueCode::OutOfRange)
    }
}
