//! Laws that any house obeys, whatever is in it.

use crate::agree::{disagreement, greatest};
use crate::samples::{flat, house, nested, plain};
use crate::spec::{Spec, bits, numbers};
use proptest::prelude::*;
use studbay::house::{House, ResultValue, assess};
use studbay::readiness::Finding;
use studbay::units::UnitSystem;

fn agrees(of: &Spec, left: &House, right: &House) -> Result<f64, TestCaseError> {
    let (left, right) = (numbers(left), numbers(right));
    let fault = disagreement(of, &left, &right);
    prop_assert!(fault.is_none(), "{}", fault.unwrap_or_default());
    Ok(greatest(&left, &right))
}

proptest! {
    /// The unit system of the inputs does not matter.
    #[test]
    fn si_and_inch_pound_inputs_agree(spec in house()) {
        agrees(&spec, &spec.build(), &spec.to_si().build())?;
    }

    /// The order of the surfaces does not matter.
    #[test]
    fn surfaces_may_stand_in_any_order(spec in nested(), turn in 0_usize..4, back in any::<bool>()) {
        let mut other = spec.clone();
        let turn = turn % other.surfaces.len();
        other.surfaces.rotate_left(turn);
        if back {
            other.surfaces.reverse();
        }
        agrees(&spec, &spec.build(), &other.build())?;
        prop_assert_eq!(assess(&spec.build()).findings, assess(&other.build()).findings);
    }

    /// A wall is the sum of its parts: of halves, and of a third and the rest.
    #[test]
    fn a_surface_may_be_cut_in_two(
        spec in nested(), which in 0_usize..4, share in prop_oneof![Just(0.5), 0.05..0.95_f64]
    ) {
        let mut other = spec.clone();
        let which = which % other.surfaces.len();
        let mut part = other.surfaces[which].clone();
        part.fields.scale("area_ft2", share);
        let area = spec.surfaces[which].fields.number("area_ft2").unwrap();
        let rest = area - part.fields.number("area_ft2").unwrap();
        other.surfaces[which].fields.set("area_ft2", rest);
        other.surfaces.push(part);
        agrees(&spec, &spec.build(), &other.build())?;
    }

    /// A flat row is a house that lists one wall: the same figures to the bit.
    #[test]
    fn a_flat_row_is_a_list_of_one_wall(spec in flat()) {
        prop_assert_eq!(bits(&spec.build()), bits(&spec.listed().build()));
    }

    /// Assessing is a pure function.
    #[test]
    fn the_same_house_has_the_same_bits(spec in house()) {
        let house = spec.build();
        prop_assert_eq!(bits(&house), bits(&house.clone()));
    }

    /// No figure is infinite or not a number: there is one, or there is none.
    #[test]
    fn every_figure_is_finite_or_none(spec in house()) {
        for units in [UnitSystem::Ip, UnitSystem::Si] {
            for (name, value) in assess(&spec.build()).results(units) {
                if let ResultValue::Number(Some(number)) = value {
                    prop_assert!(number.is_finite(), "{} is {}", name, number);
                }
            }
        }
    }

    /// What is saved is in proportion to the area, where nothing else is saved and no bill caps it.
    #[test]
    fn savings_are_linear_in_area(spec in flat(), times in 1.1..50.0_f64) {
        let spec = ["cfm50_before", "cfm50_after", "billed_heating_fuel"]
            .iter()
            .fold(spec, |spec, name| spec.without(name));
        let mut larger = spec.clone();
        larger.head.scale("wall_area_ft2", times);
        let (small, large) = (numbers(&spec.build()), numbers(&larger.build()));
        for ((name, small), (_, large)) in small.iter().zip(&large) {
            let in_proportion = matches!(
                *name,
                "heat_saved_mmbtu" | "fuel_saved" | "electricity_saved_kwh" | "annual_savings"
                    | "lifetime_savings" | "annual_co2e_kg" | "embodied_co2e_kg" | "fill_mass_lb"
            );
            if let (true, Some(small), Some(large)) = (in_proportion, small, large) {
                let error = (large - small * times).abs();
                prop_assert!(error <= 1e-12 * large.abs(), "{}: {} {}", name, small, large);
            }
        }
    }

    /// Heat saved is in proportion to heating degree-days, cooling saved to cooling degree-days;
    /// with no degree-days nothing is saved.
    #[test]
    fn savings_are_linear_in_degree_days(spec in house(), share in 0.0..=1.0_f64) {
        let spec = spec
            .without("billed_heating_fuel")
            .with("cooling_seer", 13.0)
            .with("cooling_degree_days_f", 1000.0);
        let whole = assess(&spec.build());
        let mut less = spec;
        less.head.scale("heating_degree_days_f", share);
        less.head.scale("cooling_degree_days_f", share);
        let part = assess(&less.build());
        for (part, whole) in [
            (part.heat_saved.ip(), whole.heat_saved.ip()),
            (part.fuel_saved, whole.fuel_saved),
            (part.electricity_saved_kwh, whole.electricity_saved_kwh),
        ] {
            prop_assert!((part - share * whole).abs() <= 1e-13 * whole.abs());
        }
    }

    /// A saving is held to the bills, and only the fuel is.
    #[test]
    fn bills_bound_the_fuel_saved(spec in house(), billed in 0.1..5000.0_f64) {
        let free = assess(&spec.clone().without("billed_heating_fuel").build());
        let held = assess(&spec.with("billed_heating_fuel", billed).build());
        prop_assert_eq!(held.fuel_saved, free.fuel_saved.min(billed));
        prop_assert_eq!(held.heat_saved, free.heat_saved);
        prop_assert_eq!(held.electricity_saved_kwh, free.electricity_saved_kwh);
        prop_assert_eq!(held.saved_share, Some(held.fuel_saved / billed));
        let capped = held.findings.contains(Finding::HeldToBills);
        prop_assert_eq!(capped, free.fuel_saved > billed);
        let high = held.findings.contains(Finding::SavedShareHigh);
        prop_assert_eq!(high, held.saved_share.unwrap() > 0.40);
    }

    /// No credit for air without both tests; with both, tighter saves more.
    #[test]
    fn air_counts_only_between_two_tests(
        spec in house(), before in 100.0..6000.0_f64, after in 100.0..6000.0_f64
    ) {
        let none = spec.without("cfm50_before").without("cfm50_after");
        let half = none.clone().with("cfm50_before", before);
        let both = half.clone().with("cfm50_after", after);
        let [none, half, both] = [none, half, both].map(|spec| assess(&spec.build()));
        prop_assert_eq!(none.heat_saved, half.heat_saved);
        prop_assert!(half.findings.contains(Finding::LeakageTestIncomplete));
        prop_assert_eq!(both.findings.contains(Finding::LeakageRose), after > before);
        let tighter = both.heat_saved.ip() >= none.heat_saved.ip();
        prop_assert!(tighter == (after <= before) || both.heat_saved == none.heat_saved);
    }

    /// Where the fill changes nothing, there is no saving, no payback and no rate, in either unit
    /// system: never a payback of 1e16 years from a rounding.
    #[test]
    fn no_improvement_has_no_payback(spec in flat(), way in 0..5, level in 0_u8..=2) {
        let still = spec.without("cfm50_before").without("cfm50_after").with("fuel_price", 1.0);
        let mut same = match way {
            // The batt fills the cavity: nothing goes in.
            0 => still.without("batt_compression").with("batt_missing_fraction", 0.0),
            1 => still.with("missed_fraction", 1.0),
            2 => still.with("realization_rate", 0.0),
            3 => still.with("heating_degree_days_f", 0.0).without("cooling_seer"),
            _ => still.with("fuel_price", 0.0).with("electricity_price", 0.0),
        };
        if way == 0 {
            let depth = same.head.number("cavity_depth_in").unwrap();
            same.head.set("batt_thickness_in", depth);
            same.head.set("air_gap_level", 0.0);
        } else {
            same.head.set("air_gap_level", f64::from(level));
        }
        for spec in [same.to_si(), same] {
            let a = assess(&spec.build());
            prop_assert_eq!(a.annual_savings, 0.0);
            prop_assert_eq!(a.lifetime_savings, 0.0);
            prop_assert_eq!(a.npv, -a.net_cost);
            prop_assert_eq!((a.simple_payback_years, a.discounted_payback_years), (None, None));
            prop_assert_eq!((a.airr, a.irr), (None, None));
            prop_assert!(a.findings.contains(Finding::NoSaving));
        }
    }
}

/// How well SI and inch-pound inputs agree on a plain house, where nothing cancels.
#[test]
fn si_and_inch_pound_agree_to_the_last_digits_on_a_plain_house() {
    let spec = plain()
        .with("cooling_seer", 14.0)
        .with("cooling_degree_days_f", 700.0)
        .with("batt_thickness_in", 1.5)
        .with("batt_compression", 0.2)
        .with("elevation_ft", 5900.0)
        .with("cfm50_before", 3100.0)
        .with("cfm50_after", 2600.0);
    let (ip, si) = (numbers(&spec.build()), numbers(&spec.to_si().build()));
    let error = greatest(&ip, &si);
    println!("greatest relative difference of SI and inch-pound inputs: {error:.1e}");
    assert!(error < 1e-13, "{error:e}");
}
