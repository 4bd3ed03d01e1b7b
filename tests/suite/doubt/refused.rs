//! Ranges that are refused, and ends that the registry gives.

use super::*;

fn refused(built: Result<House, InputError>) -> String {
    built.expect_err("it is faulty").to_string()
}

#[test]
fn a_bad_range_is_told_with_field_value_and_limits() {
    let batt = |low, high| ranged("batt_thickness_in", uniform(low, high)).build();
    assert_eq!(
        refused(batt(0.5, 30.0)),
        "ranges.batt_thickness_in = 0.5 to 30, all as likely: allowed is 0 to 24 in"
    );
    assert_eq!(
        refused(ranged("batt_thickness_mm", uniform(10.0, 900.0)).build()),
        "ranges.batt_thickness_mm = 10 to 900, all as likely: allowed is 0 to 609.6 mm"
    );
    assert_eq!(
        refused(batt(2.0, 3.0)),
        "ranges.batt_thickness_in = 2 to 3, all as likely: must hold the house's own value, \
         batt_thickness_in = 1.5"
    );
    assert_eq!(
        refused(batt(1.0, 5.0)),
        "ranges.batt_thickness_in = 1 to 5, all as likely: must not exceed the depth of the cavity, \
         cavity_depth_in = 3.75"
    );
    let both = begun()
        .ranged("batt_thickness_in", uniform(1.0, 3.7))
        .ranged("cavity_depth_in", uniform(3.5, 4.0));
    let told = refused(both.build());
    assert!(
        told.contains("must not exceed the depth of the cavity, cavity_depth_in = 3.5"),
        "{told}"
    );
    assert!(told.contains("must leave room for the batt, batt_thickness_in = 3.7"), "{told}");
    for (name, distribution, part) in [
        ("fuel_prise", uniform(1.0, 2.0), "no field has this name; is fuel_price meant?"),
        ("fuel", uniform(1.0, 2.0), "no figure depends on how far this is off"),
        ("house_id", uniform(1.0, 2.0), "no figure depends on how far this is off"),
        ("year_built", uniform(1900.0, 1950.0), "no figure depends on how far this is off"),
        ("area_ft2", uniform(1.0, 2.0), "belongs inside a surface"),
        ("life_years", uniform(20.0, 40.0), "whole number: give a discrete distribution"),
        ("cooling_seer", uniform(10.0, 14.0), "cooling_seer itself must be given too"),
        ("fill_r_per_in", uniform(3.0, 4.0), "fill_r_per_in itself must be given too"),
        ("fill_density_lb_ft3", uniform(2.0, 5.0), "is not packed"),
        (
            "installed_cost",
            uniform(4000.0, 5000.0),
            "must hold the house's own value, installed_cost = 3200",
        ),
    ] {
        let told = refused(ranged(name, distribution).build());
        assert!(told.starts_with(&format!("ranges.{name} = ")) && told.contains(part), "{told}");
    }
    let twice = ranged("fuel_price", uniform(1.0, 2.0)).ranged("fuel_price", uniform(1.0, 2.0));
    assert!(refused(twice.build()).contains("given twice"));
    let both = ranged("batt_thickness_in", uniform(1.0, 2.0))
        .ranged("batt_thickness_mm", uniform(30.0, 50.0));
    assert!(refused(both.build()).contains("given twice"));
    let rebate =
        begun().named("rebate", Cell::Number(500.0)).ranged("rebate", uniform(0.0, 4000.0));
    assert!(refused(rebate.build()).contains("must not exceed installed_cost = 3200"));
    let moves = |to: &str| GivenRange {
        distribution: uniform(1.0, 2.0),
        moves: Some((to.to_owned(), false)),
    };
    assert!(
        refused(begun().ranged("fuel_price", moves("fuel_prise")).build())
            .contains("is fuel_price meant?")
    );
    assert!(
        refused(begun().ranged("fuel_price", moves("fuel_price")).build())
            .contains("another field")
    );
}

/// A normal one without ends ends where the registry does, and is a whole again.
#[test]
fn an_endless_distribution_ends_where_the_registry_does() {
    let normal = Distribution::normal(0.8, 0.5, None, None).unwrap();
    let house = ranged("heating_efficiency", normal).build().unwrap();
    let (low, high) = house.ranges()[0].distribution().ends();
    assert_eq!((low, high), (0.2, 6.0));
    let drawn = doubt(&house, &own_only(2000)).drawn(0);
    assert!(drawn.iter().all(|value| (0.2..=6.0).contains(value)));
    assert!(drawn.iter().filter(|value| **value == 0.2).count() <= 1);
    let far = Distribution::normal(-900.0, 1.0, None, None).unwrap();
    let told = refused(ranged("heating_efficiency", far).build());
    assert!(told.contains("hardly anything of it lies between its ends"), "{told}");
}

/// In SI the distribution is of the SI number: a conductivity is not a resistivity.
#[test]
fn a_range_is_in_the_unit_of_its_name() {
    let house = begun()
        .named("batt_k_w_mk", Cell::Number(0.046))
        .ranged("batt_k_w_mk", uniform(0.040, 0.060))
        .build()
        .unwrap();
    let drawn = doubt(&house, &own_only(2000)).drawn(0);
    let k: Vec<f64> = drawn.iter().map(|r| 0.144_227_889 / r).collect();
    assert!((mean(&k) - 0.05).abs() < 1e-6, "{}", mean(&k));
    assert!(k.iter().all(|k| (0.04 - 1e-9..=0.06 + 1e-9).contains(k)));
}
