//! `assess` allocates nothing, so that millions of rows can go through it.
//!
//! In a binary of its own: it counts what the whole process allocates.

#![allow(clippy::expect_used, reason = "a test that cannot go on must fail")]

use studbay::house::{Cell, House, assess};

fn wall() -> House {
    let n = Cell::Number;
    House::builder()
        .id("counted")
        .named("wall_area_ft2", n(1400.0))
        .named("cladding", Cell::Text("wood_bevel_siding_1_2in"))
        .named("sheathing", Cell::Text("board_sheathing_3_4in"))
        .named("interior_finish", Cell::Text("plaster_wood_lath_3_4in"))
        .named("batt_thickness_in", n(1.5))
        .named("heating_degree_days_f", n(5600.0))
        .named("cooling_degree_days_f", n(900.0))
        .named("cooling_seer", n(13.0))
        .named("heating_efficiency", n(0.8))
        .named("fuel", Cell::Text("natural_gas"))
        .named("fuel_price", n(1.5))
        .named("electricity_price", n(0.2))
        .named("cfm50_before", n(3000.0))
        .named("cfm50_after", n(2400.0))
        .named("installed_cost", n(3100.0))
        .build()
        .expect("a valid house")
}

#[test]
fn assess_allocates_nothing() {
    let house = wall();
    let mut payback = None;
    let counted = allocation_counter::measure(|| {
        payback = assess(&house).simple_payback_years;
    });
    assert!(payback.is_some());
    assert_eq!(counted.count_total, 0);
    // The counter does count: words are text and text is allocated.
    let told = allocation_counter::measure(|| {
        assert!(!assess(&house).findings.codes().is_empty());
    });
    assert!(told.count_total > 0);
}
