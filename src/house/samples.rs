//! Random valid houses for the tests.

use super::{Cell, House};
use proptest::prelude::*;

/// Any flat house that the registry allows, with optional fields given or not.
pub(crate) fn any_house() -> impl Strategy<Value = House> {
    let wall = (
        1.0..5000.0_f64,
        0.0..0.6_f64,
        1.0..12.0_f64,
        0.5..10.0_f64,
        0.0..1.0_f64,
        0.0..1.0_f64,
        0_u8..=2,
        3.0..6.0_f64,
        0.0..0.45_f64,
        0.0..1.0_f64,
    );
    let rest = (
        0.0..12_000.0_f64,
        0.3..4.0_f64,
        prop::sample::select(vec!["natural_gas", "fuel_oil_2", "propane", "electricity"]),
        0.0..6.0_f64,
        prop::option::of(5.0..30.0_f64),
        prop::option::of((0.0..6000.0_f64, 0.0..6000.0_f64)),
        prop::option::of(1.0..5000.0_f64),
        0.0..20_000.0_f64,
        1_u8..=100,
        -0.15..0.3_f64,
        -0.15..0.3_f64,
    );
    (wall, rest).prop_map(|(wall, rest)| {
        let (area, phi, depth, series, batt, missing, level, density, squeeze, missed) = wall;
        let (hdd, eff, fuel, price, seer, cfm, billed, cost, life, discount, rise) = rest;
        let n = Cell::Number;
        let mut house = House::builder()
            .id("sample")
            .named("wall_area_ft2", n(area))
            .named("framing_fraction", n(phi))
            .named("cavity_depth_in", n(depth))
            .named("series_r", n(series))
            .named("batt_thickness_in", n(depth * batt))
            .named("batt_missing_fraction", n(missing))
            .named("air_gap_level", n(f64::from(level)))
            .named("fill_density_lb_ft3", n(density))
            .named("batt_compression", n(squeeze))
            .named("missed_fraction", n(missed))
            .named("heating_degree_days_f", n(hdd))
            .named("heating_efficiency", n(eff))
            .named("fuel", Cell::Text(fuel))
            .named("fuel_price", n(price))
            .named("electricity_price", n(price / 10.0))
            .named("cooling_degree_days_f", n(hdd / 4.0))
            .named("installed_cost", n(cost))
            .named("life_years", n(f64::from(life)))
            .named("discount_rate", n(discount))
            .named("fuel_escalation", n(rise));
        if let Some(seer) = seer {
            house = house.named("cooling_seer", n(seer));
        }
        if let Some((before, after)) = cfm {
            house = house.named("cfm50_before", n(before)).named("cfm50_after", n(after));
        }
        if let Some(billed) = billed {
            house = house.named("billed_heating_fuel", n(billed));
        }
        house.build().unwrap_or_else(|e| unreachable!("a sample must be valid: {e}"))
    })
}
