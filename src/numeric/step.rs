//! One line of a derivation, and how its numbers are written.

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
    let whole_digits = libm::floor(libm::log10(magnitude)) as i32 + 1;
    let decimals = usize::try_from(7 - whole_digits).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
