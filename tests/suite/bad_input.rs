//! What is wrong is said at once, by field, value and range, and nothing panics.

use crate::samples::plain;
use crate::spec::{Fields, Spec};
use proptest::prelude::*;
use studbay::error::{Issue, IssueCode};
use studbay::house::{Cell, FIELDS, Field, House, Kind, Scope};
use studbay::units::UnitSystem;

/// The faults of a house that cannot be.
pub(crate) fn issues(spec: &Spec) -> Vec<Issue> {
    match spec.try_build() {
        Ok(_) => panic!("accepted: {spec:?}"),
        Err(error) => error.issues,
    }
}

/// The only fault.
fn one(spec: &Spec) -> Issue {
    let issues = issues(spec);
    assert_eq!(issues.len(), 1, "{issues:#?}");
    issues.into_iter().next().unwrap()
}

#[track_caller]
fn says(spec: &Spec, code: IssueCode, message: &str) {
    let issue = one(spec);
    assert_eq!((issue.code, issue.to_string().as_str()), (code, message));
}

#[test]
fn a_missing_field_is_named_with_its_range() {
    for def in FIELDS.iter().filter(|def| matches!(def.scope, Scope::House | Scope::FlatOnly)) {
        if !matches!(def.absent, studbay::house::Absent::Refused) {
            continue;
        }
        let issue = one(&plain().without(def.ip));
        assert_eq!((issue.code, issue.field.as_str()), (IssueCode::Missing, def.ip));
        assert!(issue.reason.contains(&def.range(UnitSystem::Ip)), "{issue}");
        assert!(def.si.is_none_or(|si| issue.reason.contains(si)), "{issue}");
    }
    says(
        &plain().without("fuel_price"),
        IssueCode::Missing,
        "fuel_price: must be given: 0 or more",
    );
    let issue = one(&plain().without("series_r"));
    assert_eq!((issue.code, issue.field.as_str()), (IssueCode::Missing, "series_r"));
    assert!(issue.reason.contains("cladding, sheathing and interior_finish"), "{issue}");
    // Materials, but not all of them.
    let issue = issues(&plain().without("series_r").with("cladding", "wood_shingles"));
    let fields: Vec<_> = issue.iter().map(|issue| issue.field.as_str()).collect();
    assert_eq!(fields, ["sheathing", "interior_finish"]);
    // Electricity is its own price.
    let electric = plain().with("fuel", "electricity").without("fuel_price");
    assert!(one(&electric).reason.contains("electricity_price"));
    assert!(electric.with("electricity_price", 0.2).try_build().is_ok());
}

#[test]
fn a_misspelt_name_suggests_the_right_one() {
    for (wrong, right) in [
        ("heating_degre_days_f", "heating_degree_days_f"),
        ("wall_area_sqft", "wall_area_ft2"),
        ("batt_thicknes_mm", "batt_thickness_mm"),
        ("fuel_prcie", "fuel_price"),
        ("cfm50_befor", "cfm50_before"),
    ] {
        let house = plain().begin().named(wrong, Cell::Number(1.0));
        let error = house.build().unwrap_err();
        assert_eq!(error.issues.len(), 1, "{error}");
        assert_eq!(error.issues[0].code, IssueCode::UnknownName);
        let message = error.to_string();
        assert!(message.starts_with(&format!("{wrong} = 1: ")), "{message}");
        assert!(message.ends_with(&format!("is {right} meant?")), "{message}");
    }
    let house = plain().begin().named("colour_of_the_door", Cell::Text("red"));
    assert!(!house.build().unwrap_err().to_string().contains("meant"));
    // A wrong word suggests too.
    let issue = one(&plain().with("fuel", "natrual_gas"));
    assert_eq!(issue.code, IssueCode::NotAChoice);
    assert!(issue.reason.contains("is natural_gas meant?"), "{issue}");
    assert!(issue.reason.contains("propane"), "lists what may be written: {issue}");
}

#[test]
fn every_range_is_kept_under_both_names() {
    for def in FIELDS.iter().filter(|def| matches!(def.kind, Kind::Number | Kind::Whole)) {
        for units in [UnitSystem::Ip, UnitSystem::Si] {
            let name = def.name(units);
            let mut outside = vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY];
            let (low, high) =
                (def.quantity.express(def.low, units), def.quantity.express(def.high, units));
            let (low, high) = (low.min(high), low.max(high));
            outside.push(low - 0.01 * low.abs().max(1.0));
            if high.is_finite() {
                outside.push(high + 0.01 * high.abs().max(1.0));
            }
            if def.low_open {
                outside.push(low);
            }
            for value in outside {
                let error = given(def.scope, name, Cell::Number(value));
                let issue = error.iter().find(|issue| issue.field.ends_with(name));
                let issue = issue.unwrap_or_else(|| panic!("{name} = {value}: {error:?}"));
                let code =
                    if value.is_finite() { IssueCode::OutOfRange } else { IssueCode::NotANumber };
                assert_eq!(issue.code, code, "{issue}");
                assert_eq!(issue.value, format!("{value}"));
                assert!(issue.reason.contains(&def.range(units)), "{issue}");
            }
        }
        for cell in [Cell::Text("many"), Cell::Text("1,5"), Cell::Text("NaN"), Cell::Bool(true)] {
            let error = given(def.scope, def.ip, cell);
            assert!(error.iter().any(|issue| issue.code == IssueCode::NotANumber), "{error:?}");
        }
    }
}

/// The faults of a plain house, or of its surface, with this field given besides.
fn given(scope: Scope, name: &str, cell: Cell<'_>) -> Vec<Issue> {
    let both = Field::from_name(name).unwrap().0.def();
    let spec = plain().without(both.ip);
    let house = match scope {
        Scope::SurfaceOnly => {
            let surface = studbay::house::SurfaceBuilder::default().named(name, cell);
            House::builder().surface(surface)
        }
        _ => spec.begin().named(name, cell),
    };
    house.build().unwrap_err().issues
}

#[test]
fn both_unit_names_are_refused() {
    for def in FIELDS.iter().filter(|def| def.si.is_some()) {
        let si = def.si.unwrap();
        let low = if def.low.is_finite() && def.low > 0.0 { def.low } else { 1.0 };
        let other = def.quantity.si_from_ip(low);
        let house = match def.scope {
            Scope::SurfaceOnly => House::builder().surface(
                studbay::house::SurfaceBuilder::default()
                    .named(def.ip, Cell::Number(low))
                    .named(si, Cell::Number(other)),
            ),
            _ => House::builder().named(def.ip, Cell::Number(low)).named(si, Cell::Number(other)),
        };
        let error = house.build().unwrap_err();
        let fault = error.issues.iter().find(|issue| issue.code == IssueCode::GivenTwice);
        let fault = fault.unwrap_or_else(|| panic!("{}: {error}", def.ip)).to_string();
        assert!(
            fault.contains(def.ip) && fault.contains(si) && fault.contains("not both"),
            "{fault}"
        );
    }
    let layer = Fields::default().with("r", 1.0).with("rsi", 0.2);
    assert!(one(&with_layer(layer)).reason.contains("both unit names"));
}

/// A house whose second surface has this as its third layer.
fn with_layer(layer: Fields) -> Spec {
    let mut spec = plain().listed();
    let mut second = spec.surfaces[0].clone();
    second.fields.unset("series_r");
    let fine = Fields::default().with("r", 1.0);
    second.layers = vec![fine.clone(), fine, layer];
    spec.surfaces.push(second);
    spec
}

#[test]
fn a_fault_deep_inside_has_its_whole_path() {
    let layer = |name, value: f64| Fields::default().with(name, value);
    says(
        &with_layer(layer("r", -1.0)),
        IssueCode::OutOfRange,
        "surfaces[1].layers[2].r = -1: allowed is 0 to 60 h·ft²·°F/Btu",
    );
    says(
        &with_layer(layer("rsi", f64::NAN)),
        IssueCode::NotANumber,
        "surfaces[1].layers[2].rsi = NaN: allowed is 0 to 10.5666 m²K/W",
    );
    let unknown = one(&with_layer(Fields::default().with("material", "wood_shingle")));
    assert_eq!(unknown.field, "surfaces[1].layers[2].material");
    assert!(unknown.reason.contains("is wood_shingles meant?"), "{unknown}");
    let bare = one(&with_layer(Fields::default().with("name", "nothing")));
    assert_eq!(bare.field, "surfaces[1].layers[2]");
    assert!(bare.reason.contains("thickness_in with r_per_in"), "{bare}");
    let half = one(&with_layer(layer("thickness_in", 1.0)));
    assert_eq!((half.code, half.field.as_str()), (IssueCode::Conflict, "surfaces[1].layers[2]"));
    // Eight inches as millimetres, and the conductivity as a resistivity.
    let slab = layer("thickness_mm", 2000.0).with("k_w_mk", 0.0);
    let fields: Vec<_> = issues(&with_layer(slab)).into_iter().map(|issue| issue.field).collect();
    assert_eq!(fields, ["surfaces[1].layers[2].thickness_mm", "surfaces[1].layers[2].k_w_mk"]);
}

#[test]
fn what_the_method_does_not_cover_is_refused_with_the_reason() {
    let metal = one(&plain().with("framing_material", "metal"));
    assert_eq!(metal.code, IssueCode::Refused);
    assert!(metal.reason.contains("parallel paths do not hold"), "{metal}");

    // Loose fibre in a closed wall settles; packed density is not reached in the open.
    let loose = one(&plain().with("fill_density_lb_ft3", 2.99));
    assert_eq!((loose.code, loose.field.as_str()), (IssueCode::Refused, "fill_density_lb_ft3"));
    assert!(loose.value == "2.99" && loose.reason.contains("settles"), "{loose}");
    assert!(plain().with("fill_density_lb_ft3", 3.0).try_build().is_ok());
    let mut attic = plain().listed();
    attic.surfaces[0].fields.set("kind", "attic_floor");
    attic.surfaces[0].fields.set("fill_depth_in", 8.0);
    assert!(attic.try_build().is_ok());
    attic.surfaces[0].fields.set("fill_density_lb_ft3", 2.2);
    assert!(attic.try_build().is_ok());
    attic.surfaces[0].fields.set("fill_density_lb_ft3", 2.21);
    let packed = one(&attic);
    assert_eq!(packed.field, "surfaces[0].fill_density_lb_ft3");
    assert!(packed.code == IssueCode::Refused && packed.reason.contains("packed wall"), "{packed}");
    // What belongs to the one has no place in the other.
    attic.surfaces[0].fields.set("fill_density_lb_ft3", 1.6);
    attic.surfaces[0].fields.set("batt_compression", 0.1);
    assert_eq!(one(&attic).code, IssueCode::Misplaced);
    let mut wall = plain().listed();
    wall.surfaces[0].fields.set("fill_depth_in", 8.0);
    assert_eq!(one(&wall).code, IssueCode::Misplaced);
}

#[test]
fn fields_that_cannot_hold_together_are_refused() {
    let thick = plain().with("cavity_depth_in", 3.5).with("batt_thickness_in", 3.6);
    says(
        &thick,
        IssueCode::OutOfRange,
        "batt_thickness_in = 3.6: must not exceed the depth of the cavity, cavity_depth_in = 3.5",
    );
    // By default, and under the SI name.
    let thick = one(&plain().with("batt_thickness_mm", 100.0)).to_string();
    assert!(thick.starts_with("batt_thickness_mm = 100: ") && thick.contains("3.5 in"), "{thick}");
    says(
        &plain().with("rebate", 2400.01),
        IssueCode::OutOfRange,
        "rebate = 2400.01: must not exceed installed_cost = 2400",
    );
    assert!(plain().with("rebate", 2400.0).try_build().is_ok());
    let twice = plain().with("grid_kg_per_kwh", 0.3).with("grid_region", "NEWE");
    assert_eq!(one(&twice).code, IssueCode::GivenTwice);
    let twice = plain().with("cladding", "wood_shingles");
    assert_eq!(one(&twice).code, IssueCode::GivenTwice);
}

#[test]
fn a_list_of_surfaces_has_surfaces_and_no_flat_wall() {
    let mut house = House::builder();
    house.list_surfaces();
    let error = house.build().unwrap_err().to_string();
    assert!(error.contains("surfaces = 0 surfaces: a house has 1 to 200 surfaces"), "{error}");
    let mut both = plain().listed();
    both.head.set("wall_area_ft2", 100.0);
    both.head.set("series_r", 3.0);
    let fields: Vec<_> = issues(&both).into_iter().map(|issue| (issue.code, issue.field)).collect();
    let misplaced = |name: &str| (IssueCode::Misplaced, name.to_owned());
    assert_eq!(fields, [misplaced("wall_area_ft2"), misplaced("series_r")]);
    let mut many = plain().listed();
    many.surfaces = vec![many.surfaces[0].clone(); 201];
    assert!(one(&many).reason.contains("1 to 200"));
    many.surfaces.truncate(200);
    assert!(many.try_build().is_ok());
}

#[test]
fn every_fault_is_told_at_once() {
    let mut spec = with_layer(Fields::default().with("r", 61.0))
        .with("heating_degree_days_f", -5.0)
        .with("fuel", "coal")
        .with("year_built", 1899.5)
        .with("rebate", 9e9)
        .without("heating_efficiency");
    spec.surfaces[0].fields.set("framing_fraction", 25.0);
    spec.surfaces[0].fields.set("framing_material", "metal");
    let mut fields: Vec<_> = issues(&spec).into_iter().map(|issue| issue.field).collect();
    fields.sort();
    let mut expected = [
        "fuel",
        "heating_degree_days_f",
        "heating_efficiency",
        "rebate",
        "surfaces[0].framing_fraction",
        "surfaces[0].framing_material",
        "surfaces[1].layers[2].r",
        "year_built",
    ];
    expected.sort_unstable();
    assert_eq!(fields, expected);
    let message = spec.try_build().unwrap_err().to_string();
    assert_eq!(message.lines().count(), expected.len(), "one line each: {message}");
}

#[test]
fn a_name_is_text_that_can_be_read() {
    let mut long = plain();
    long.head.set("house_id", "x".repeat(201).as_str());
    let issue = one(&long);
    assert_eq!((issue.code, issue.field.as_str()), (IssueCode::OutOfRange, "house_id"));
    assert!(issue.value.chars().count() < 80, "a long value is cut: {issue}");
    long.head.set("house_id", "x".repeat(200).as_str());
    assert!(long.try_build().is_ok());
    assert_eq!(one(&plain().with("house_id", "  ")).code, IssueCode::Missing);
    // Control characters do not reach the terminal.
    let shown = one(&plain().with("fuel", "gas\u{1b}[31m\n")).to_string();
    assert!(!shown.contains('\u{1b}') && !shown.contains('\n'), "{shown:?}");
}

fn any_cell() -> impl Strategy<Value = (u8, f64, String)> {
    (0_u8..4, prop::num::f64::ANY, "\\PC{0,12}")
}

fn cell(of: &(u8, f64, String)) -> Cell<'_> {
    match of.0 {
        0 => Cell::Number(of.1),
        1 => Cell::Text(&of.2),
        2 => Cell::Bool(of.1 > 0.0),
        _ => Cell::Blank,
    }
}

proptest! {
    /// Any cell under any name, in a house that is otherwise fine: no panic, and what is let in
    /// can be assessed.
    #[test]
    fn no_cell_panics(field in 0..FIELDS.len(), si in any::<bool>(), value in any_cell()) {
        let units = if si { UnitSystem::Si } else { UnitSystem::Ip };
        let name = FIELDS[field].name(units);
        let spec = plain().without(FIELDS[field].ip);
        if let Ok(house) = spec.begin().named(name, cell(&value)).build() {
            let _ = studbay::house::assess(&house);
            let _ = studbay::house::explain(&house);
        }
    }

    /// Any name at all.
    #[test]
    fn no_name_panics(name in "\\PC{0,40}", value in any_cell()) {
        if Field::from_name(&name).is_none() {
            let error = plain().begin().named(&name, cell(&value)).build();
            prop_assert_eq!(error.unwrap_err().issues.len(), 1);
        }
        let _ = studbay::house::Layer::from_cells([(name.as_str(), cell(&value))]);
    }
}
