//! The cases of `tests/reference`: the method computed a second time, in exact fractions and
//! 50-digit numbers, by `tests/generate`.

use std::collections::BTreeMap;
use studbay::house::{Cell, Fill, House, RESULTS, ResultDef, ResultValue, SurfaceBuilder, assess};
use studbay::tables::{ATTIC_SETTLED_DENSITY, REFUSAL_DENSITY_OPEN_ATTIC};

/// Relative: the worst that plain doubles need where a rate lies close to zero.
const RELATIVE: f64 = 1e-11;
/// Absolute, for the two rates besides: one digit in the 13th place of a share a year.
const RATE: f64 = 1e-13;

pub(crate) fn rows(name: &str) -> Vec<BTreeMap<String, String>> {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let rows: Vec<_> = reader.deserialize().map(|row| row.unwrap()).collect();
    assert!(!rows.is_empty(), "{name} has no rows: nothing would be tested");
    rows
}

/// The greatest error of each result.
#[derive(Default)]
struct Errors(BTreeMap<String, (f64, String)>);

impl Errors {
    /// Compares, and keeps the relative error. Null and zero have no tolerance.
    fn compare(&mut self, case: &str, name: &str, found: Option<f64>, expected: &str) {
        let expected: Option<f64> = match expected {
            "" => None,
            text => Some(text.parse().unwrap()),
        };
        let (found, expected) = match (found, expected) {
            (None, None) => return,
            (Some(found), Some(expected)) => (found, expected),
            other => panic!("{case} {name}: found and expected are {other:?}"),
        };
        let error = (found - expected).abs();
        let rate = matches!(name, "irr" | "airr");
        if expected == 0.0 || name == "bags" {
            assert!(found == expected, "{case} {name}: {found} where exactly {expected} is right");
            return;
        }
        let allowed = (RELATIVE * expected.abs()).max(if rate { RATE } else { 0.0 });
        assert!(error <= allowed, "{case} {name}: {found}, expected {expected}, off by {error:e}");
        let relative = error / expected.abs();
        let worst = self.0.entry(name.to_owned()).or_default();
        if relative > worst.0 {
            *worst = (relative, case.to_owned());
        }
    }

    fn print(&self, table: &str) {
        println!("{table}: greatest relative error of each result");
        for (name, (error, case)) in &self.0 {
            println!("  {name:28} {error:9.2e}  {case}");
        }
    }
}

fn result(name: &str) -> &'static ResultDef {
    RESULTS.iter().find(|def| def.ip == name).unwrap_or_else(|| panic!("no result {name}"))
}

/// Every house through the builder, its cells as text, as a CSV reader hands them over.
#[test]
fn every_house_of_the_reference_is_met() {
    let mut errors = Errors::default();
    let rows = rows("houses.csv");
    for row in &rows {
        let case = &row["case_id"];
        let mut house = House::builder();
        let mut expected = Vec::new();
        for (name, cell) in row.iter().filter(|(name, _)| *name != "case_id") {
            match name.strip_prefix("expected_") {
                Some(result) => expected.push((result, cell)),
                None => house.give(name, Cell::Text(cell)),
            }
        }
        assert_eq!(expected.len(), 23, "{case}");
        let house = house.build().unwrap_or_else(|e| panic!("{case}: {e}"));
        let assessment = assess(&house);
        for (name, cell) in expected {
            match (result(name).get)(&assessment) {
                ResultValue::Number(found) => errors.compare(case, name, found, cell),
                ResultValue::Word(word) => assert_eq!(word, cell, "{case} {name}"),
                ResultValue::Words(_) => panic!("{name} is not in the reference"),
            }
        }
    }
    errors.print(&format!("houses.csv, {} houses", rows.len()));
}

/// Every attic. The reference draws some settled densities that the library refuses to take for
/// an open attic floor: there the refusal is tested, and the rest of the row at the usual density,
/// to which the mass is in proportion.
#[test]
fn every_attic_of_the_reference_is_met() {
    let mut errors = Errors::default();
    let mut refused = 0;
    let rows = rows("attics.csv");
    for row in &rows {
        let case = &row["case_id"];
        let density: Option<f64> = row["fill_density_lb_ft3"].parse().ok();
        let outside = density.filter(|d| !(1.5..=REFUSAL_DENSITY_OPEN_ATTIC.value).contains(d));
        let attic = |with_density: bool| {
            let mut surface = SurfaceBuilder::default();
            surface.give("kind", Cell::Text("attic_floor"));
            for (name, cell) in row.iter().filter(|(name, _)| *name != "case_id") {
                let skipped = name == "fill_density_lb_ft3" && !with_density;
                if !name.starts_with("expected_") && !skipped {
                    surface.give(name, Cell::Text(cell));
                }
            }
            house_with(surface).build()
        };
        let house = if outside.is_some() {
            refused += 1;
            let error = attic(true).unwrap_err();
            let fields: Vec<_> = error.issues.iter().map(|issue| issue.field.as_str()).collect();
            assert_eq!(fields, ["surfaces[0].fill_density_lb_ft3"], "{case}");
            attic(false)
        } else {
            attic(true)
        };
        let house = house.unwrap_or_else(|e| panic!("{case}: {e}"));
        let scale = outside.map_or(1.0, |density| density / ATTIC_SETTLED_DENSITY.value);
        let assessment = assess(&house);
        for name in ["u_before_btu_h_ft2_f", "u_after_btu_h_ft2_f", "fill_mass_lb"] {
            let ResultValue::Number(found) = (result(name).get)(&assessment) else {
                panic!("{name} is no number")
            };
            let scale = if name == "fill_mass_lb" { scale } else { 1.0 };
            let cell = &row[&format!("expected_{name}")];
            errors.compare(case, name, found.map(|found| found * scale), cell);
        }
        let Fill::Open(fill) = house.surfaces()[0].fill() else { panic!("{case} is not open") };
        let depth = Some(fill.blown_depth().ip());
        errors.compare(case, "blown_depth_in", depth, &row["expected_blown_depth_in"]);
    }
    assert!(refused < rows.len() / 2, "most attics are refused");
    errors.print(&format!("attics.csv, {} attics, {refused} of them refused first", rows.len()));
}

fn house_with(surface: SurfaceBuilder) -> studbay::house::HouseBuilder {
    House::builder()
        .surface(surface)
        .id("attic")
        .named("heating_degree_days_f", Cell::Number(5600.0))
        .named("heating_efficiency", Cell::Number(0.8))
        .named("fuel", Cell::Text("natural_gas"))
        .named("fuel_price", Cell::Number(1.5))
        .named("installed_cost", Cell::Number(1000.0))
}
