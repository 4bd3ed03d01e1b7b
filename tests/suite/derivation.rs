//! The derivation: what an analyst audits. Every formula is read back as text and computed again.

use crate::samples::house;
use crate::spec::Spec;
use proptest::prelude::*;
use std::collections::BTreeMap;
use studbay::Step;
use studbay::house::{FIELDS, RESULTS, ResultValue, assess, explain};
use studbay::tables::CONSTANTS;
use studbay::units::Quantity;
use studbay::units::UnitSystem::{Ip, Si};

/// A piece of a formula.
#[derive(Clone, Debug, PartialEq)]
enum Token {
    Number(f64),
    /// A figure by its symbol.
    Symbol(String),
    /// A name with a bracket after it.
    Function(String),
    Sign(char),
}

fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.replace("no limit", "no_limit").chars().collect();
    let (mut at, mut tokens) = (0, Vec::new());
    while at < chars.len() {
        let from = at;
        let c = chars[at];
        let word = |c: char| c.is_alphanumeric() || c == '_';
        if c.is_whitespace() {
            at += 1;
        } else if c.is_ascii_digit() {
            while at < chars.len() && (word(chars[at]) || chars[at] == '.')
                || at < chars.len() && chars[at] == '-' && chars[at - 1] == 'e'
            {
                at += 1;
            }
            let text: String = chars[from..at].iter().collect();
            tokens.push(Token::Number(text.parse().unwrap_or_else(|_| panic!("number {text}"))));
        } else if c.is_alphabetic() {
            while at < chars.len() && word(chars[at]) {
                at += 1;
            }
            // `layers[2]`, `surfaces[0].u_before`.
            if chars.get(at) == Some(&'[') {
                at += chars[at..].iter().position(|c| *c == ']').expect("a closed index") + 1;
            }
            while at < chars.len() && (word(chars[at]) || chars[at] == '.') {
                at += 1;
            }
            let name: String = chars[from..at].iter().collect();
            match chars.get(at) {
                _ if name == "none" => tokens.push(Token::Number(f64::NAN)),
                _ if name == "no_limit" => tokens.push(Token::Number(f64::INFINITY)),
                Some('(') => tokens.push(Token::Function(name)),
                _ => tokens.push(Token::Symbol(name)),
            }
        } else {
            assert!("+−×/(),".contains(c), "{c:?} in {text}");
            tokens.push(Token::Sign(c));
            at += 1;
        }
    }
    tokens
}

/// Reads and computes a formula; `None` where it calls a function that is not computed here.
struct Reader<'t> {
    tokens: &'t [Token],
    at: usize,
    values: &'t dyn Fn(&str) -> Option<f64>,
}

impl Reader<'_> {
    fn sign(&mut self, signs: &str) -> Option<char> {
        match self.tokens.get(self.at) {
            Some(Token::Sign(sign)) if signs.contains(*sign) => {
                self.at += 1;
                Some(*sign)
            }
            _ => None,
        }
    }

    fn sum(&mut self) -> Option<f64> {
        let mut sum = self.product();
        while let Some(sign) = self.sign("+−") {
            let next = self.product();
            sum = sum.zip(next).map(|(a, b)| if sign == '+' { a + b } else { a - b });
        }
        sum
    }

    fn product(&mut self) -> Option<f64> {
        let mut product = self.factor();
        while let Some(sign) = self.sign("×/") {
            let next = self.factor();
            product = product.zip(next).map(|(a, b)| if sign == '×' { a * b } else { a / b });
        }
        product
    }

    fn factor(&mut self) -> Option<f64> {
        let token = self.tokens.get(self.at).expect("a formula that goes on").clone();
        self.at += 1;
        match token {
            Token::Number(number) => Some(number),
            Token::Symbol(symbol) => (self.values)(&symbol),
            Token::Sign('(') => {
                let inner = self.sum();
                assert_eq!(self.sign(")"), Some(')'));
                inner
            }
            Token::Function(name) => {
                assert_eq!(self.sign("("), Some('('));
                let mut arguments = vec![self.sum()];
                while self.sign(",").is_some() {
                    arguments.push(self.sum());
                }
                assert_eq!(self.sign(")"), Some(')'));
                call(&name, &arguments.into_iter().collect::<Option<Vec<_>>>()?)
            }
            Token::Sign(sign) => panic!("{sign} where a figure should stand"),
        }
    }
}

/// The functions that the formulas define, by their definitions.
fn call(name: &str, arguments: &[f64]) -> Option<f64> {
    let powers = |q: f64, n: f64, from: i32| {
        let mut sum = 0.0;
        let mut term = if from == 0 { 1.0 } else { q };
        let mut year = 0.0;
        while year < n {
            sum += term;
            term *= q;
            year += 1.0;
        }
        sum
    };
    match (name, arguments) {
        ("min", [a, b]) => Some(a.min(*b)),
        ("max", [a, b]) => Some(a.max(*b)),
        ("pow", [a, b]) => Some(a.powf(*b)),
        ("annuity", [d, e, n]) => Some(powers((1.0 + e) / (1.0 + d), *n, 1)),
        ("declining", [decline, n]) => Some(powers(1.0 - decline, *n, 0)),
        ("k", [x]) => Some(0.0829 + 0.0341 * x + 0.1982 / x),
        ("ceil", [mass, bag]) => Some((mass / bag * (1.0 - 1e-12)).ceil()),
        _ => None,
    }
}

/// Each formula is computed from the figures above it. Where it cannot be by text alone (a solver,
/// a table), only its symbols are looked up. Returns how many were computed.
fn recompute(steps: &[Step]) -> usize {
    let mut computed = 0;
    // A house of one surface does not say which.
    let many = steps.iter().any(|step| step.surface.is_some_and(|surface| surface > 0));
    let only = (!many).then_some(0);
    for (place, step) in steps.iter().enumerate() {
        // A symbol of the surface itself, or of the house; of another surface only with its name.
        let earlier = |symbol: &str| {
            let (surface, symbol) = match symbol.strip_prefix("surfaces[") {
                Some(named) => {
                    let (index, symbol) = named.split_once("].").expect("a surface's symbol");
                    (Some(index.parse().expect("an index")), symbol)
                }
                None => (step.surface.or(only), symbol),
            };
            let visible = |other: &&Step| other.surface.is_none() || other.surface == surface;
            steps[..place].iter().rev().filter(visible).find(|other| other.symbol == symbol)
        };
        let tokens = tokens(&step.formula);
        for token in &tokens {
            match token {
                Token::Symbol(symbol) => {
                    assert!(earlier(symbol).is_some(), "{symbol} of {} is not above", step.symbol);
                }
                // What everyone knows needs no definition.
                Token::Function(name) if matches!(name.as_str(), "min" | "max" | "pow") => {}
                Token::Function(name) => {
                    assert!(!step.functions.is_empty(), "{name} of {} is not said", step.symbol);
                }
                Token::Number(_) | Token::Sign(_) => {}
            }
        }
        assert_eq!(tokens.is_empty(), step.origin != "computed", "{step:?}");
        assert_eq!(step.numbers.is_empty(), step.origin != "computed", "{step:?}");
        if tokens.is_empty() {
            continue;
        }
        let value = |symbol: &str| earlier(symbol).and_then(|step| step.value);
        let mut reader = Reader { tokens: &tokens, at: 0, values: &value };
        let found = reader.sum();
        assert_eq!(reader.at, tokens.len(), "{} is read to its end", step.formula);
        let (Some(found), Some(printed)) = (found, step.value) else { continue };
        // What cancels inside the formula is measured by its terms.
        let terms = tokens.iter().filter_map(|token| match token {
            Token::Symbol(symbol) => value(symbol),
            Token::Number(number) => Some(*number),
            _ => None,
        });
        let finite = terms.filter(|term| term.is_finite());
        let scale = finite.fold(printed.abs(), |scale, term| scale.max(term.abs()));
        // A factor that is written in the formula has seven digits there.
        let rounded = tokens
            .iter()
            .any(|t| matches!(t, Token::Number(n) if n.is_finite() && n.fract() != 0.0));
        let room = if rounded { 1e-6 } else { 1e-11 };
        let close = (found - printed).abs() <= room * printed.abs().max(1e-3 * scale);
        assert!(close, "{} = {}: {found}, printed {printed}", step.symbol, step.formula);
        computed += 1;
    }
    computed
}

/// The last step of a result's name, for the house.
fn last<'s>(steps: &'s [Step], result: &str, one_surface: bool) -> Option<&'s Step> {
    let symbol = match (result, one_surface) {
        ("u_before_btu_h_ft2_f", true) => "u_before",
        ("u_after_btu_h_ft2_f", true) => "u_after",
        ("u_before_btu_h_ft2_f", false) => "u_before_mean",
        ("u_after_btu_h_ft2_f", false) => "u_after_mean",
        ("fill_mass_lb", false) => "fill_mass_sum_lb",
        (name, _) => name,
    };
    steps.iter().rev().find(|step| step.symbol == symbol)
}

proptest! {
    /// The derivation ends in the figures of the assessment, to the bit.
    #[test]
    fn every_result_has_its_step(spec in house()) {
        let house = spec.build();
        let (assessment, steps) = (assess(&house), explain(&house));
        for def in RESULTS {
            if let ResultValue::Number(number) = (def.get)(&assessment) {
                // What does not exist needs no line: a share of bills that were not given.
                let Some(step) = last(&steps, def.ip, house.surfaces().len() == 1) else {
                    prop_assert!(number.is_none(), "{} has no step", def.ip);
                    continue;
                };
                let bits = |value: Option<f64>| value.map(f64::to_bits);
                prop_assert_eq!(bits(step.value), bits(number), "{}", def.ip);
                prop_assert_eq!(step.unit, unit(def.quantity), "{}", def.ip);
            }
        }
    }

    /// Every value is a number or there is none, in both unit systems.
    #[test]
    fn every_value_is_finite_or_none(spec in house()) {
        for step in explain(&spec.build()) {
            prop_assert!(step.value.is_none_or(f64::is_finite), "{:?}", step);
            prop_assert!(step.value_si.is_none_or(f64::is_finite), "{:?}", step);
            prop_assert!(!step.what.is_empty() && !step.symbol.is_empty(), "{:?}", step);
        }
    }

    /// Every symbol of a formula stands above it, and the formula, computed again from its text,
    /// gives the figure beside it.
    #[test]
    fn every_formula_gives_its_figure(spec in house()) {
        let steps = explain(&spec.build());
        let formulas = steps.iter().filter(|step| step.origin == "computed").count();
        let computed = recompute(&steps);
        prop_assert!(computed * 3 > formulas * 2, "{} of {} formulas", computed, formulas);
    }

    /// A figure that has a unit shows it.
    #[test]
    fn no_step_lacks_its_unit(spec in house()) {
        for step in explain(&spec.build()) {
            if let Some(unit) = expected_unit(&step) {
                prop_assert_eq!(step.unit, unit, "{}", step.symbol);
            }
            // Two units or one, never a value without its unit.
            prop_assert_eq!(step.value_si.is_some(), step.value.is_some() && !step.unit_si.is_empty());
        }
    }

    /// An input says whether it was given, by whom it was chosen if not, and where it is from.
    #[test]
    fn every_input_says_where_it_is_from(spec in house()) {
        for (spec, given) in [(spec.clone(), "given"), (spec.to_si(), "given in SI")] {
            check_origins(&spec, given)?;
        }
    }
}

fn check_origins(spec: &Spec, given: &str) -> Result<(), TestCaseError> {
    let house = spec.build();
    for step in explain(&house) {
        let known = ["given", "given in SI", "default", "table", "constant", "computed"]
            .contains(&step.origin);
        prop_assert!(known, "{:?}", step);
        let sourced = matches!(step.origin, "table" | "constant");
        prop_assert!(!sourced || !step.source.is_empty(), "{:?}", step);
        let Some(def) = FIELDS.iter().find(|def| def.ip == step.symbol) else { continue };
        let fields = match step.surface {
            Some(surface) if !spec.surfaces.is_empty() => &spec.surfaces[surface].fields,
            _ => &spec.head,
        };
        let name = if given == "given" { def.ip } else { def.si.unwrap_or(def.ip) };
        let was_given = fields.number(name).is_some();
        let origin = match (was_given, step.origin) {
            (true, _) if def.si.is_some() => given,
            (true, _) => "given",
            // A rule may fill it, from a table or by a formula.
            (false, origin @ ("default" | "table" | "computed")) => origin,
            (false, _) => "default",
        };
        prop_assert_eq!(step.origin, origin, "{}", step.symbol);
    }
    Ok(())
}

/// The unit in words where it has no symbol: a derivation leaves no column empty.
fn unit(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Money => "money",
        Quantity::FuelUnits => "units of the fuel",
        other => other.unit(Ip),
    }
}

/// What the unit must be, by the registry, the tables and the names of figures.
fn expected_unit(step: &Step) -> Option<&'static str> {
    let symbol = step.symbol;
    if let Some(def) = FIELDS.iter().find(|def| def.ip == symbol) {
        return Some(unit(def.quantity));
    }
    if let Some(def) = RESULTS.iter().find(|def| def.ip == symbol) {
        return Some(unit(def.quantity));
    }
    if CONSTANTS.iter().any(|constant| constant.key == symbol) {
        return None;
    }
    let quantity = match symbol {
        _ if symbol.starts_with("r_") || symbol.starts_with("layers[") => Quantity::Resistance,
        _ if symbol.starts_with("film_") => Quantity::Resistance,
        _ if symbol.starts_with("ua_") || symbol == "conductance_saved" => Quantity::Conductance,
        _ if symbol.starts_with("u_") || symbol == "gap_delta_u" => Quantity::Transmittance,
        "fuel_money" | "electricity_money" | "present_value" => Quantity::Money,
        _ if symbol.ends_with("_co2e_kg") => Quantity::Co2e,
        _ if symbol.ends_with("_ft3") => Quantity::Volume,
        _ if symbol.ends_with("_cfm") => Quantity::Airflow,
        _ if symbol.ends_with("_mmbtu") => return None,
        _ if symbol.ends_with("_in") && !symbol.contains("per") => Quantity::Length,
        _ => return None,
    };
    Some(unit(quantity))
}

/// The unit of a constant is the one of its table.
#[test]
fn constants_show_their_unit() {
    let spec = crate::samples::plain().with("cfm50_before", 3000.0).with("cfm50_after", 2500.0);
    let steps = explain(&spec.build());
    let mut seen = 0;
    for step in steps.iter().filter(|step| step.origin == "constant") {
        let constant = CONSTANTS.iter().find(|c| c.key == step.symbol).expect("a known constant");
        seen += 1;
        if constant.unit != "1" {
            let shown = !step.unit.is_empty() || step.what.contains(constant.unit);
            assert!(shown, "{} has the unit {}: {step:?}", step.symbol, constant.unit);
        }
        assert_eq!(step.value, Some(constant.value));
    }
    assert!(seen >= 5, "{seen} constants");
}

/// Both unit systems stand side by side and are the same figure.
#[test]
fn both_units_are_the_same_figure() {
    let steps = explain(&crate::samples::plain().with("batt_thickness_in", 1.0).build());
    let by_symbol: BTreeMap<_, _> = steps.iter().map(|step| (step.symbol, step)).collect();
    for def in FIELDS.iter().filter(|def| def.si.is_some()) {
        let Some(step) = by_symbol.get(def.ip) else { continue };
        let (Some(ip), Some(si)) = (step.value, step.value_si) else { panic!("{step:?}") };
        assert_eq!(def.quantity.si_from_ip(ip).to_bits(), si.to_bits());
        assert_eq!(step.unit_si, def.quantity.unit(Si));
    }
    assert_eq!(by_symbol["cavity_depth_in"].value_si, Some(3.5 * 25.4));
    assert_eq!(by_symbol["cavity_depth_in"].unit_si, "mm");
}
