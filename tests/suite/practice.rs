//! Practice facts: common practice, no source. Plausibility only; houses and prices are invented.

use crate::samples::plain;
use crate::spec::Spec;
use studbay::house::{Absent, Field, assess};
use studbay::tables::FILL_DENSITY_DEFAULT;

/// A two-family house with empty 2x4 walls: bevel siding, boards, plaster on wood lath.
fn two_family() -> Spec {
    plain()
        .without("series_r")
        .with("cladding", "wood_bevel_siding_1_2in")
        .with("sheathing", "board_sheathing_3_4in")
        .with("interior_finish", "plaster_wood_lath_3_4in")
        .with("wall_area_ft2", 2400.0)
        .with("heating_degree_days_f", 5600.0)
        .with("heating_efficiency", 0.8)
}

fn payback(spec: &Spec) -> f64 {
    assess(&spec.build()).simple_payback_years.unwrap()
}

/// Common practice, no source: at about 5,600 degree-days and ordinary prices, filling the empty
/// walls of a two-family house pays back in single-digit years.
#[test]
fn an_empty_wall_pays_back_in_single_digit_years() {
    for (fuel, price) in [("natural_gas", 1.5), ("fuel_oil_2", 3.8), ("propane", 3.2)] {
        for per_ft2 in [1.5, 2.0, 2.75] {
            let spec = two_family()
                .with("fuel", fuel)
                .with("fuel_price", price)
                .with("installed_cost", 2400.0 * per_ft2);
            let years = payback(&spec);
            println!("{fuel} at {price}, {per_ft2} a square foot: {years:.1} years");
            assert!((1.0..10.0).contains(&years), "{fuel} {price} {per_ft2}: {years}");
        }
    }
}

/// Common practice, no source: three to four years where the wall was empty, or nearly so, and the
/// price moderate.
#[test]
fn three_to_four_years_where_the_wall_was_empty_and_the_price_moderate() {
    let empty = two_family().with("fuel_price", 1.6).with("installed_cost", 2400.0 * 1.25);
    let thin = empty
        .clone()
        .with("batt_thickness_in", 0.75)
        .with("batt_missing_fraction", 0.7)
        .with("air_gap_level", 2.0);
    for (name, spec) in [("empty", empty), ("nearly empty", thin)] {
        let years = payback(&spec);
        println!("{name}: {years:.1} years");
        assert!((3.0..4.2).contains(&years), "{name}: {years}");
    }
}

/// Common practice, no source: a wall that is well insulated already does not pay.
#[test]
fn a_well_filled_wall_does_not_pay() {
    let full = two_family().with("batt_thickness_in", 3.3).with("installed_cost", 4800.0);
    assert!(payback(&full) > 30.0);
}

/// Common practice, no source: bags weigh near 25.5 lb; makers ask for 3.1 lb/ft3 or more, careful
/// crews never pack under 4.0; a fill lasts thirty to fifty years.
#[test]
fn the_defaults_are_those_of_the_trade() {
    let default = |field: Field| match field.def().absent {
        Absent::Number(number) => number,
        other => panic!("{field:?}: {other:?}"),
    };
    assert!((default(Field::BagWeight) - 25.5).abs() <= 1.0);
    assert!(default(Field::FillDensity) >= 3.1 && default(Field::FillDensity) >= 4.0);
    assert_eq!(default(Field::FillDensity), FILL_DENSITY_DEFAULT.value);
    assert!((30.0..=50.0).contains(&default(Field::LifeYears)));
    // Framing shares met in practice run from 15 to 40 % (Oak Ridge National Laboratory, S).
    assert!((0.15..=0.40).contains(&default(Field::FramingFraction)));
}

/// Common practice, no source: a bag of 25 lb packs about 25 square feet of a 2x4 wall, so that a
/// whole house takes some dozens.
#[test]
fn a_house_takes_dozens_of_bags() {
    let bags = assess(&two_family().build()).bags;
    assert!((60.0..120.0).contains(&bags), "{bags} bags");
}

/// The table's constants that only say what a field's default is must say the same.
#[test]
fn registry_and_table_state_one_default() {
    use studbay::tables as t;
    for (field, constant) in [
        (Field::FramingFraction, &t::FRAMING_FRACTION_DEFAULT),
        (Field::FramingR, &t::FRAMING_R_PER_IN_DEFAULT),
        (Field::BattR, &t::BATT_R_PER_IN_DEFAULT),
        (Field::FillDensity, &t::FILL_DENSITY_DEFAULT),
        (Field::LeakageDivisor, &t::LEAKAGE_DIVISOR_DEFAULT),
        (Field::BagWeight, &t::BAG_WEIGHT_DEFAULT),
        (Field::LifeYears, &t::LIFE_YEARS_DEFAULT),
        (Field::DiscountRate, &t::DISCOUNT_RATE_DEFAULT),
        (Field::FillEmbodied, &t::FILL_EMBODIED_KG_PER_KG),
        (Field::Settling, &t::ATTIC_SETTLING_FRACTION),
    ] {
        assert_eq!(field.def().absent, Absent::Number(constant.value), "{}", constant.key);
    }
    assert_eq!(Field::BattCompression.def().high, t::BATT_COMPRESSION_MAX.value);
}
