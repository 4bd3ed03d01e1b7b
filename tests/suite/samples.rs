//! Random valid houses, flat and with surfaces of all four kinds.

use crate::spec::{Fields, Spec, SurfaceSpec, Value};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use studbay::tables::{GRID, MATERIALS, Role};

fn keys(role: Role) -> Vec<&'static str> {
    MATERIALS.iter().filter(|m| m.role == role).map(|m| m.key).collect()
}

/// A share with a good chance of being nothing or all.
fn share() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 1 => Just(1.0), 4 => 0.0..=1.0_f64]
}

/// Cavity, batt and fill of a packed surface.
pub(crate) fn cavity() -> impl Strategy<Value = Fields> {
    let batt = (share(), of(1.5..5.0_f64), of(0.0..1.0_f64), of(0_u8..=2), of(0.0..0.45_f64));
    let rest = (
        0.5..16.0_f64,
        of(0.0..0.6_f64),
        of(0.3..3.0_f64),
        of(0.0..3.0_f64),
        of(3.05..6.0_f64),
        of(2.0..5.0_f64),
        of(share()),
    );
    (batt, rest).prop_map(|((thick, batt_r, missing, level, squeeze), rest)| {
        let (depth, phi, framing_r, air_r, density, fill_r, missed) = rest;
        Fields::default()
            .with("cavity_depth_in", depth)
            .with("batt_thickness_in", depth * thick)
            .maybe("framing_fraction", phi)
            .maybe("framing_r_per_in", framing_r)
            .maybe("batt_r_per_in", batt_r)
            .maybe("batt_missing_fraction", missing)
            .maybe("air_gap_level", level.map(f64::from))
            .maybe("air_space_r", air_r)
            .maybe("fill_density_lb_ft3", density)
            .maybe("fill_r_per_in", fill_r)
            .maybe("batt_compression", squeeze)
            .maybe("missed_fraction", missed)
    })
}

/// An open attic floor, but for what is outside.
fn attic() -> impl Strategy<Value = Fields> {
    let batt = (of(0.0..24.0_f64), of(1.5..5.0_f64), of(0.0..1.0_f64), of(0_u8..=2));
    let rest = (
        0.5..16.0_f64,
        of(0.0..0.6_f64),
        0.1..36.0_f64,
        of(1.6..2.1_f64),
        of(2.0..5.0_f64),
        of(0.0..0.5_f64),
        of(share()),
    );
    (batt, rest).prop_map(|((thick, batt_r, missing, level), rest)| {
        let (joist, phi, fill, density, fill_r, settling, missed) = rest;
        Fields::default()
            .with("cavity_depth_in", joist)
            .with("fill_depth_in", fill)
            .maybe("batt_thickness_in", thick)
            .maybe("framing_fraction", phi)
            .maybe("batt_r_per_in", batt_r)
            .maybe("batt_missing_fraction", missing)
            .maybe("air_gap_level", level.map(f64::from))
            .maybe("fill_density_lb_ft3", density)
            .maybe("fill_r_per_in", fill_r)
            .maybe("settling_fraction", settling)
            .maybe("missed_fraction", missed)
    })
}

/// `series_r` or materials by name.
fn named_series() -> impl Strategy<Value = Fields> {
    let materials = (
        select(keys(Role::Cladding)),
        select(keys(Role::Sheathing)),
        select(keys(Role::InteriorFinish)),
    );
    prop_oneof![
        (0.3..60.0_f64).prop_map(|r| Fields::default().with("series_r", r)),
        (0.3..6.0_f64).prop_map(|r| Fields::default().with("series_r", r)),
        materials.prop_map(|(cladding, sheathing, finish)| Fields::default()
            .with("cladding", cladding)
            .with("sheathing", sheathing)
            .with("interior_finish", finish)),
    ]
}

/// A layer of a list in each of its three forms.
pub(crate) fn layer() -> impl Strategy<Value = Fields> {
    let all: Vec<&'static str> = MATERIALS.iter().map(|m| m.key).collect();
    prop_oneof![
        (0.0..10.0_f64).prop_map(|r| Fields::default().with("r", r)),
        select(all).prop_map(|key| Fields::default().with("material", key)),
        (0.0..12.0_f64, 0.05..8.0_f64).prop_map(|(thickness, r)| Fields::default()
            .with("name", "something")
            .with("thickness_in", thickness)
            .with("r_per_in", r)),
    ]
}

fn joined(parts: &[&Fields]) -> Fields {
    Fields(parts.iter().flat_map(|part| part.0.iter().cloned()).collect())
}

/// A surface of any kind, by layers or by numbers.
pub(crate) fn surface() -> BoxedStrategy<SurfaceSpec> {
    let body = prop_oneof![
        (
            select(vec!["wall", "slope"]),
            cavity(),
            named_series(),
            vec(layer(), 0..5),
            any::<bool>()
        ),
        (Just("floor"), cavity(), named_series(), vec(layer(), 1..5), Just(true)),
        (Just("attic_floor"), attic(), named_series(), vec(layer(), 1..3), any::<bool>()),
    ];
    surface_of(body).boxed()
}

/// An open attic floor with its layers.
pub(crate) fn attic_surface() -> BoxedStrategy<SurfaceSpec> {
    let body = (Just("attic_floor"), attic(), named_series(), vec(layer(), 1..3), Just(true));
    surface_of(body).boxed()
}

/// Kind, cavity, series, layers, and whether the layers are taken.
type Body = (&'static str, Fields, Fields, Vec<Fields>, bool);

fn surface_of(body: impl Strategy<Value = Body>) -> impl Strategy<Value = SurfaceSpec> {
    (body, 1.0..5000.0_f64, of(0.0..=1.0_f64)).prop_map(
        |((kind, cavity, series, layers, listed), area, factor)| {
            let begun = Fields::default()
                .with("kind", kind)
                .with("area_ft2", area)
                .maybe("temperature_factor", factor);
            let layers = if listed { layers } else { Vec::new() };
            // What this kind has no list for falls back to a number.
            let number = Fields::default().with("series_r", 2.5);
            let series = match kind {
                _ if !layers.is_empty() => Fields::default(),
                "wall" | "slope" => series,
                _ => series.number("series_r").map_or(number, |_| series),
            };
            SurfaceSpec { fields: joined(&[&begun, &cavity, &series]), layers }
        },
    )
}

/// Discount rate, escalation of the fuel and of electricity.
type Rates = (f64, f64, f64);

/// Climate, plant, offer and answers.
fn head() -> BoxedStrategy<Fields> {
    let plant = (
        0.0..12_000.0_f64,
        0.3..5.0_f64,
        select(vec!["natural_gas", "fuel_oil_2", "propane", "kerosene", "electricity"]),
        0.01..6.0_f64,
        of((5.0..30.0_f64, 0.0..4000.0_f64)),
        of((0.0..6000.0_f64, 0.0..6000.0_f64)),
        of(1.0..5000.0_f64),
        of(-1500.0..15_000.0_f64),
        of(0.0..1.5_f64),
    );
    let offer = (
        prop_oneof![1 => Just(0.0), 9 => 1.0..20_000.0_f64],
        of(share()),
        of(0.0..1.0_f64),
        of(0.0..3000.0_f64),
        of(1_u8..=60),
        any_rates(),
        of((select(GRID.iter().map(|r| r.region).collect::<Vec<_>>()), any::<bool>())),
        of(0.0..0.5_f64),
        of(5.0..100.0_f64),
    );
    let answer = || of(select(vec!["yes", "no", "unknown"]));
    let spillage = of(select(vec!["passed", "failed", "not_done", "none_needed"]));
    let answers = (answer(), answer(), answer(), answer(), spillage, of(1850.0..2020.0_f64));
    (plant, offer, answers)
        .prop_map(|(plant, offer, answers)| {
            let (hdd, efficiency, fuel, price, cooling, cfm, billed, height, realized) = plant;
            let (cost, rebate, credit, cap, life, (d, e_fuel, e_power), grid, decline, bag) = offer;
            let (tube, vermiculite, moisture, finish, spillage, year) = answers;
            let dollars = |x: f64| (x * 100.0).round() / 100.0;
            Fields::default()
                .with("house_id", "sample")
                .with("heating_degree_days_f", hdd)
                .with("heating_efficiency", efficiency)
                .with("fuel", fuel)
                .with("fuel_price", price)
                .with("electricity_price", price / 10.0)
                .maybe("cooling_seer", cooling.map(|c| c.0))
                .maybe("cooling_degree_days_f", cooling.map(|c| c.1))
                .maybe("cfm50_before", cfm.map(|c| c.0))
                .maybe("cfm50_after", cfm.map(|c| c.1))
                .maybe("billed_heating_fuel", billed)
                .maybe("elevation_ft", height)
                .maybe("realization_rate", realized)
                .with("installed_cost", dollars(cost))
                .maybe("rebate", rebate.map(|share| dollars(cost) * share))
                .maybe("tax_credit_fraction", credit)
                .maybe("tax_credit_cap", cap)
                .maybe("life_years", life.map(f64::from))
                .with("discount_rate", d)
                .with("fuel_escalation", e_fuel)
                .with("electricity_escalation", e_power)
                .maybe("grid_region", grid.map(|g| g.0))
                .maybe("grid_rate", grid.filter(|g| g.1).map(|_| "non_baseload"))
                .maybe("grid_decline", decline)
                .maybe("bag_weight_lb", bag)
                .maybe("knob_and_tube", tube)
                .maybe("vermiculite", vermiculite)
                .maybe("moisture_problem", moisture)
                .maybe("loose_interior_finish", finish)
                .maybe("spillage_test", spillage)
                .maybe("year_built", year.map(f64::round))
        })
        .boxed()
}

fn any_rates() -> impl Strategy<Value = Rates> {
    prop_oneof![
        4 => (-0.02..0.12_f64, -0.05..0.06_f64, -0.05..0.06_f64),
        1 => (-0.2..0.5_f64, -0.2..0.5_f64, -0.2..0.5_f64),
        1 => (-0.02..0.06_f64).prop_map(|rate| (rate, rate, rate)),
    ]
}

/// A house with one wall.
pub(crate) fn flat() -> BoxedStrategy<Spec> {
    (head(), 1.0..5000.0_f64, cavity(), named_series())
        .prop_map(|(head, area, cavity, series)| {
            let area = Fields::default().with("wall_area_ft2", area);
            Spec { head: joined(&[&head, &area, &cavity, &series]), surfaces: Vec::new() }
        })
        .boxed()
}

/// A house with one to four surfaces.
pub(crate) fn nested() -> BoxedStrategy<Spec> {
    (head(), vec(surface(), 1..=4)).prop_map(|(head, surfaces)| Spec { head, surfaces }).boxed()
}

/// Either.
pub(crate) fn house() -> BoxedStrategy<Spec> {
    prop_oneof![flat(), nested()].boxed()
}

/// The plain house that single tests change: an empty 2x4 wall, gas, moderate prices. Invented.
pub(crate) fn plain() -> Spec {
    let text = |name, word: &str| (name, Value::from(word));
    let number = |name, value: f64| (name, Value::from(value));
    Spec::flat(&[
        text("house_id", "plain"),
        number("wall_area_ft2", 1200.0),
        number("series_r", 3.06),
        number("heating_degree_days_f", 5600.0),
        number("heating_efficiency", 0.8),
        text("fuel", "natural_gas"),
        number("fuel_price", 1.5),
        number("installed_cost", 2400.0),
    ])
}
