//! What one house costs: the figures alone, without findings text and without words.
//!
//! `cargo bench --bench assess` prints nanoseconds for each.

#![allow(clippy::expect_used, reason = "a benchmark that cannot go on must fail")]

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use studbay::house::{Cell, Field, House, HouseBuilder, Record, SurfaceBuilder, assess, explain};

/// The fields of a house with everything that a survey would note: 25 of them, one wall.
const FLAT: [(&str, Cell<'static>); 25] = [
    ("house_id", Cell::Text("bench")),
    ("wall_area_ft2", Cell::Number(1850.0)),
    ("framing_fraction", Cell::Number(0.22)),
    ("cavity_depth_in", Cell::Number(3.625)),
    ("series_r", Cell::Number(3.06)),
    ("batt_thickness_in", Cell::Number(1.5)),
    ("batt_missing_fraction", Cell::Number(0.1)),
    ("air_gap_level", Cell::Number(1.0)),
    ("fill_density_lb_ft3", Cell::Number(3.8)),
    ("batt_compression", Cell::Number(0.2)),
    ("missed_fraction", Cell::Number(0.03)),
    ("heating_degree_days_f", Cell::Number(5600.0)),
    ("cooling_degree_days_f", Cell::Number(700.0)),
    ("heating_efficiency", Cell::Number(0.8)),
    ("fuel", Cell::Text("natural_gas")),
    ("fuel_price", Cell::Number(1.5)),
    ("cooling_seer", Cell::Number(14.0)),
    ("electricity_price", Cell::Number(0.22)),
    ("cfm50_before", Cell::Number(3100.0)),
    ("cfm50_after", Cell::Number(2600.0)),
    ("elevation_ft", Cell::Number(600.0)),
    ("installed_cost", Cell::Number(4200.0)),
    ("rebate", Cell::Number(500.0)),
    ("fuel_escalation", Cell::Number(0.01)),
    ("knob_and_tube", Cell::Text("no")),
];

/// The parts of [`FLAT`] that stand at the head of a house with a list of surfaces.
fn is_head(name: &str) -> bool {
    use studbay::house::Scope;
    Field::from_name(name).is_some_and(|(field, _)| field.def().scope == Scope::House)
}

fn flat() -> House {
    FLAT.iter()
        .fold(House::builder(), |house, (name, cell)| house.named(name, *cell))
        .build()
        .expect("a valid house")
}

/// The same without cooling and leakage tests: one price, one rise.
fn heated_only() -> House {
    let left_out = ["cooling_seer", "cooling_degree_days_f", "cfm50_before", "cfm50_after"];
    FLAT.iter()
        .filter(|(name, _)| !left_out.contains(name))
        .fold(House::builder(), |house, (name, cell)| house.named(name, *cell))
        .build()
        .expect("a valid house")
}

fn four_surfaces() -> House {
    let surface = |kind: &'static str, more: &[(&'static str, f64)]| {
        let begun = SurfaceBuilder::default()
            .named("kind", Cell::Text(kind))
            .named("area_ft2", Cell::Number(600.0))
            .named("series_r", Cell::Number(3.0));
        more.iter().fold(begun, |surface, (name, value)| surface.named(name, Cell::Number(*value)))
    };
    let mut house = HouseBuilder::default();
    house.list_surfaces();
    for (name, cell) in FLAT.iter().filter(|(name, _)| is_head(name)) {
        house.give(name, *cell);
    }
    house
        .surface(surface("wall", &[("batt_thickness_in", 1.5), ("air_gap_level", 2.0)]))
        .surface(surface("slope", &[("cavity_depth_in", 5.5)]))
        .surface(surface("floor", &[("cavity_depth_in", 7.25), ("temperature_factor", 0.6)]))
        .surface(surface("attic_floor", &[("fill_depth_in", 10.0), ("batt_thickness_in", 3.5)]))
        .build()
        .expect("a valid house")
}

fn benches(c: &mut Criterion) {
    let gas = heated_only();
    c.bench_function("assess/one wall, heating alone", |b| b.iter(|| assess(black_box(&gas))));
    let wall = flat();
    let name = "assess/one wall, heating, cooling and air";
    c.bench_function(name, |b| b.iter(|| assess(black_box(&wall))));
    let nested = four_surfaces();
    c.bench_function("assess/four surfaces", |b| b.iter(|| assess(black_box(&nested))));
    c.bench_function("explain/one wall", |b| b.iter(|| explain(black_box(&wall))));

    let named: Vec<_> =
        FLAT.iter().filter_map(|(name, cell)| Some((Field::from_name(name)?, *cell))).collect();
    c.bench_function("record/24 fields", |b| {
        b.iter(|| {
            let mut record = Record::default();
            for ((field, units), cell) in black_box(&named) {
                if *field != Field::HouseId {
                    record.set(*field, *units, *cell).expect("a valid field");
                }
            }
            record
        });
    });
    c.bench_function("house/from 25 names", |b| b.iter(|| black_box(flat())));
    let begun =
        || FLAT.iter().fold(House::builder(), |house, (name, cell)| house.named(name, *cell));
    c.bench_function("house/from a filled builder", |b| {
        b.iter_batched(begun, |house| house.build().expect("a valid house"), BatchSize::SmallInput);
    });
    c.bench_function("house/25 names, then assess", |b| b.iter(|| assess(&flat())));
}

criterion_group!(all, benches);
criterion_main!(all);
