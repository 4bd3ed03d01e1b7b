//! Numbers as a page writes them, in its language, units and currency.

use super::words::Words;
use crate::house::FieldDef;
use crate::units::{Quantity, UnitSystem};
use crate::words::grouped;

/// How a page speaks.
#[derive(Clone, Debug)]
pub(crate) struct Speech {
    pub(crate) words: Words,
    pub(crate) units: UnitSystem,
    pub(crate) currency: String,
}

/// Longer paybacks are all the same to a reader.
const LONG: f64 = 200.0;

impl Speech {
    /// A number with so many decimals, in the marks of the language.
    pub(crate) fn number(&self, value: f64, decimals: usize) -> String {
        let (point, group) = (self.words.get("decimal_mark"), self.words.get("group_mark"));
        let mut out = String::new();
        for letter in grouped(value, decimals).chars() {
            match letter {
                '.' => out.push_str(point),
                ',' => out.push_str(group),
                other => out.push(other),
            }
        }
        out
    }

    /// A number with at most so many decimals, no trailing zeros.
    pub(crate) fn figure(&self, value: f64, decimals: usize) -> String {
        let scaled = grouped(value, decimals);
        let kept = match scaled.split_once('.') {
            Some((_, rest)) => rest.trim_end_matches('0').len(),
            None => 0,
        };
        self.number(value, kept)
    }

    /// A number with its unit.
    pub(crate) fn quantity(&self, quantity: Quantity, ip: f64, decimals: usize) -> String {
        let decimals = match (self.units, quantity) {
            (UnitSystem::Si, Quantity::Length | Quantity::Density | Quantity::Heat) => 0,
            (UnitSystem::Si, Quantity::Resistance | Quantity::Resistivity) => decimals + 1,
            (UnitSystem::Si, Quantity::Transmittance) => 2,
            _ => decimals,
        };
        let value = self.number(quantity.express(ip, self.units), decimals);
        self.united(&value, quantity)
    }

    fn united(&self, value: &str, quantity: Quantity) -> String {
        let unit = quantity.unit(self.units);
        if unit.is_empty() {
            return value.to_owned();
        }
        format!("{value} {}", self.words.or(&format!("unit:{unit}"), unit))
    }

    /// A resistance without its unit, as in `R 7.7`.
    pub(crate) fn r(&self, ip: f64) -> String {
        let decimals = if self.units == UnitSystem::Si { 2 } else { 1 };
        format!("R {}", self.number(Quantity::Resistance.express(ip, self.units), decimals))
    }

    /// Money as a person writes it: no cents from a hundred up.
    pub(crate) fn amount(&self, value: f64) -> String {
        let decimals = if value.abs() >= 100.0 || value == 0.0 { 0 } else { 2 };
        self.labelled(value, decimals)
    }

    /// Money in whole units.
    #[cfg(all(feature = "page", feature = "arrow"))]
    pub(crate) fn whole_amount(&self, value: f64) -> String {
        self.labelled(value, 0)
    }

    /// A unit price keeps its cents, and what is below them where that matters.
    pub(crate) fn price(&self, value: f64) -> String {
        let cents = (value * 100.0).fract().abs();
        self.labelled(value, if cents > 1e-6 && cents < 1.0 - 1e-6 { 3 } else { 2 })
    }

    fn labelled(&self, value: f64, decimals: usize) -> String {
        let sign =
            if value < 0.0 && grouped(value, decimals).starts_with('−') { "−" } else { "" };
        let number = self.number(value.abs(), decimals);
        let amount = self.words.fill("amount", &[("label", &self.currency), ("number", &number)]);
        format!("{sign}{}", amount.trim())
    }

    /// A share in per cent.
    pub(crate) fn percent(&self, share: f64, decimals: usize) -> String {
        self.words.fill("percent", &[("number", &self.number(share * 100.0, decimals))])
    }

    /// `3.4 years`.
    pub(crate) fn years(&self, value: f64) -> String {
        if value >= LONG {
            return self.words.fill("years_over", &[("years", &self.number(LONG, 0))]);
        }
        let text = grouped(value, usize::from(value < 100.0));
        if text == "1.0" {
            return self.words.get("years_one").to_owned();
        }
        self.words.fill("years_many", &[("years", &self.number(value, usize::from(value < 100.0)))])
    }

    /// A whole number of years.
    pub(crate) fn whole_years(&self, value: f64) -> String {
        let number = self.number(value, 0);
        if number == "1" {
            return self.words.get("years_one").to_owned();
        }
        self.words.fill("years_many", &[("years", &number)])
    }

    /// `3.8 to 11.7 years`; no payback at all at the end where `long` is none.
    pub(crate) fn range(&self, short: f64, long: Option<f64>) -> String {
        let (from, to) = match long {
            Some(long) if long < LONG => (self.number(short, 1), self.years(long)),
            Some(long) => (self.years(short), self.years(long)),
            None => (self.years(short), self.words.get("no_payback_at_all").to_owned()),
        };
        self.words.fill("range", &[("short", &from), ("long", &to)])
    }

    /// The value of a field as the page shows it.
    pub(crate) fn field(&self, def: &FieldDef, ip: f64) -> String {
        match def.quantity {
            Quantity::Money if def.ip.ends_with("price") => self.price(ip),
            Quantity::Money => self.amount(ip),
            Quantity::Rate => self.words.fill("a_year", &[("what", &self.percent(ip, 1))]),
            Quantity::Years => self.whole_years(ip),
            Quantity::Number if def.ip.ends_with("_fraction") => self.percent(ip, 0),
            Quantity::Number => self.figure(ip, 3),
            Quantity::Length => self.quantity_figure(def.quantity, ip, 3),
            quantity => self.quantity_figure(quantity, ip, 3),
        }
    }

    /// A number with its unit, no trailing zeros.
    pub(crate) fn quantity_figure(&self, quantity: Quantity, ip: f64, decimals: usize) -> String {
        let decimals = match (self.units, quantity) {
            (UnitSystem::Si, Quantity::Length | Quantity::Density) => 0,
            _ => decimals,
        };
        self.united(&self.figure(quantity.express(ip, self.units), decimals), quantity)
    }

    /// A fuel's quantity with its unit: `147 gallons`.
    pub(crate) fn fuel(&self, unit: &str, value: f64) -> String {
        let decimals = if value.abs() >= 100.0 || value == 0.0 { 0 } else { 2 };
        let name = self.words.or(&format!("fuel_units:{unit}"), unit);
        format!("{} {name}", self.number(value, decimals))
    }
}
