//! Inside surface temperatures: the paths of the assessment, taken apart and put together again.

use crate::samples::{house, plain};
use crate::spec::Spec;
use approx::assert_relative_eq;
use proptest::prelude::*;
use studbay::comfort::{
    BattSide, Comfort, Design, Given, Place, RawDesign, State, Substance, Temperature, paths,
};
use studbay::error::IssueCode;
use studbay::house::assess;
use studbay::source::Mark;
use studbay::tables::{FILMS, SOURCES};
use studbay::units::UnitSystem;
use studbay::units::factor::RSI_PER_R;

fn celsius(outdoor: f64, indoor: f64) -> Design {
    RawDesign {
        outdoor: Given { c: Some(outdoor), f: None },
        indoor: Given { c: Some(indoor), f: None },
        indoor_rh: Some(0.4),
        batt_side: BattSide::Inside,
    }
    .check()
    .unwrap()
}

/// A wall with a name for every layer.
fn layered() -> Spec {
    plain()
        .without("series_r")
        .with("cladding", "wood_bevel_siding_1_2in")
        .with("sheathing", "board_sheathing_3_4in")
        .with("interior_finish", "plaster_wood_lath_3_4in")
        .with("batt_thickness_in", 1.5)
        .with("batt_missing_fraction", 0.2)
        .with("air_gap_level", 2.0)
        .with("missed_fraction", 0.02)
}

/// By hand. R 3.00 outside the cavity with films of 0.68 and 0.17; an empty 3.5 in. cavity has the
/// level end of the ISO 6946 table, 0.18 m²K/W, R 1.0221; filled at 4.0 lb/ft³, 3.5 × 3.5 = 12.25.
/// 70 °F in, 0 °F out: 70 − 70 × 0.68/4.0221 = 58.165 °F, and filled 70 − 70 × 0.68/15.25 = 66.879.
/// The stud, R 3 + 3.5 × 1.25 = 7.375: 63.546 °F.
#[test]
fn a_wall_by_hand() {
    let house = plain().with("series_r", 3.0).build();
    let raw = RawDesign {
        outdoor: Given { f: Some(0.0), c: None },
        indoor: Given { f: Some(70.0), c: None },
        ..RawDesign::default()
    };
    let comfort = Comfort::of(&house, &raw.check().unwrap()).unwrap();
    let wall = &comfort.surfaces[0];
    let shown = |list: &[studbay::comfort::PathComfort], place, state| {
        list.iter().find(|p| p.path.place == place && p.path.state == state).unwrap().surface.f()
    };
    assert_relative_eq!(shown(&wall.before, Place::Framing, State::Found), 63.546, epsilon = 5e-4);
    assert_relative_eq!(shown(&wall.before, Place::Bay, State::Found), 58.165, epsilon = 5e-4);
    assert_relative_eq!(shown(&wall.after, Place::Bay, State::Filled), 66.879, epsilon = 5e-4);
    // A missed bay is the wall as it was, also where none is expected.
    let missed = wall.after.iter().find(|p| p.path.state == State::Missed).unwrap();
    assert_eq!(missed.path.share, 0.0);
    assert_relative_eq!(missed.surface.f(), 58.165, epsilon = 5e-4);
    assert!(!wall.ordered);
}

/// Layer by layer: the films and layers of the tables in their places, once each.
#[test]
fn layers_stand_in_order() {
    let house = layered().build();
    for (side, batt_first) in [(BattSide::Inside, true), (BattSide::Outside, false)] {
        let found = paths(&house.surfaces()[0], side).unwrap();
        assert!(found.ordered);
        assert_eq!((found.before.len(), found.after.len()), (3, 5));
        let bay = found.after.iter().find(|p| p.place == Place::Bay).unwrap();
        let names: Vec<&str> = bay.layers.iter().map(|layer| layer.name.as_str()).collect();
        let core = if batt_first {
            ["batt", "dense-packed cellulose"]
        } else {
            ["dense-packed cellulose", "batt"]
        };
        let around = [
            "air film, room side",
            "Plaster on wood lath 3/4 in.",
            core[0],
            core[1],
            "Board sheathing 3/4 in., softwood",
            "Wood bevel siding 1/2 in. by 8 in., lapped",
            "air film, far side",
        ];
        assert_eq!(names, around);
        let film = FILMS.iter().find(|film| film.key == "inside_wall").unwrap();
        assert_eq!(bay.layers[0].r.ip(), film.r_h_ft2_f_btu);
        assert!(
            matches!(bay.layers[1].substance, Substance::Material(m) if m.r_h_ft2_f_btu == 0.4)
        );
    }
}

#[test]
fn beyond_a_floor_it_is_warmer_than_outdoors() {
    let spec = crate::spec::SurfaceSpec {
        fields: crate::spec::Fields::default()
            .with("kind", "floor")
            .with("area_ft2", 500.0)
            .with("series_r", 3.0)
            .with("temperature_factor", 0.5),
        layers: Vec::new(),
    };
    let head = plain().without("wall_area_ft2").without("series_r").head;
    let house = Spec { head, surfaces: vec![spec] }.build();
    let comfort = Comfort::of(&house, &celsius(-10.0, 20.0)).unwrap();
    assert_relative_eq!(comfort.surfaces[0].far_side.c(), 5.0, epsilon = 1e-12);
}

#[test]
fn a_fault_names_field_value_and_range_in_the_unit_that_was_written() {
    let none = RawDesign::default().check().unwrap_err();
    assert_eq!(none.issues[0].code, IssueCode::Missing);
    let raw = RawDesign {
        outdoor: Given { f: Some(-100.0), c: None },
        indoor: Given { c: Some(f64::NAN), f: None },
        indoor_rh: Some(40.0),
        batt_side: BattSide::Inside,
    };
    let text = raw.check().unwrap_err().to_string();
    assert_eq!(
        text,
        "outdoor_f = -100: allowed is -76 to 122\n\
         indoor_c = NaN: allowed is 5 to 35\n\
         indoor_rh = 40: allowed is 0 to 1; 60 % is 0.6"
    );
    let twice = RawDesign { outdoor: Given { f: Some(0.0), c: Some(0.0) }, ..RawDesign::default() };
    assert_eq!(twice.check().unwrap_err().issues[0].code, IssueCode::GivenTwice);
    // Films alone are 0.85: a series_r below cannot hold them.
    let house = plain().with("series_r", 0.5).build();
    let fault = Comfort::of(&house, &celsius(0.0, 20.0)).unwrap_err();
    assert_eq!(fault.issues[0].field, "series_r");
}

#[test]
fn every_account_ends_with_its_limits_and_begins_with_a_hold() {
    let house = layered().with("vermiculite", "yes").build();
    let comfort = Comfort::of(&house, &celsius(-10.0, 20.0)).unwrap();
    let blocks = comfort.account(&house, UnitSystem::Si);
    assert!(blocks[0].title.starts_with("HOLD"));
    let last = blocks.last().unwrap();
    assert_eq!(last.lines.len(), studbay::comfort::words::LIMITS.len());
    assert!(blocks[1].title.contains("(modelled)"));
}

#[test]
fn temperatures_convert() {
    assert_eq!(Temperature::from_f(32.0).unwrap().c(), 0.0);
    assert_relative_eq!(Temperature::from_c(-40.0).unwrap().f(), -40.0, epsilon = 1e-12);
    assert_eq!(Temperature::from_f(f64::INFINITY), None);
    assert_eq!(Temperature::from_c(-300.0), None);
}

/// The two accounts that docs/COMFORT.md quotes are what is printed today.
#[cfg(feature = "house-file")]
#[test]
fn the_document_quotes_what_is_printed() {
    let read = |path: &str| {
        std::fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap()
    };
    let house = studbay::house::House::from_toml(&read("demo-data/house.toml")).unwrap();
    let raw = RawDesign { outdoor: Given { f: Some(5.0), c: None }, ..RawDesign::default() };
    let comfort = Comfort::of(&house, &raw.check().unwrap()).unwrap();

    let mut months =
        csv::Reader::from_path(format!("{}/demo-data/months.csv", env!("CARGO_MANIFEST_DIR")))
            .unwrap();
    let rows: Vec<(u8, f64, f64)> = months.deserialize().map(|row| row.unwrap()).collect();
    let raw = studbay::moisture::RawQuestion {
        outdoor_f: Some(rows.iter().map(|row| row.1).collect()),
        outdoor_rh: rows.iter().map(|row| row.2).collect(),
        exterior_coat: Some("exterior_oil_old".to_owned()),
        indoor_class: Some("normal".to_owned()),
        ..studbay::moisture::RawQuestion::default()
    };
    let moisture = studbay::moisture::Moisture::of(&house, &raw.check().unwrap()).unwrap();

    let document = read("docs/COMFORT.md");
    for (name, blocks) in [
        ("comfort", comfort.account(&house, UnitSystem::Ip)),
        ("moisture", moisture.account(&house, UnitSystem::Ip)),
    ] {
        let parts: Vec<String> = blocks
            .iter()
            .map(|block| {
                let line = |(label, text): &(String, String)| match label.as_str() {
                    "" => format!("\n  {text}"),
                    label => format!("\n  {label}: {text}"),
                };
                block.title.clone() + &block.lines.iter().map(line).collect::<String>()
            })
            .collect();
        let (_, quoted) = document.split_once(&format!("<!-- {name} -->\n```text\n")).unwrap();
        let (quoted, _) = quoted.split_once("\n```").unwrap();
        assert_eq!(quoted, parts.join("\n\n"));
    }
}

proptest! {
    /// Paths sum to the transmittance of the assessment: one calculation.
    #[test]
    fn paths_add_up_to_the_assessment(spec in house(), outside in any::<bool>()) {
        let house = spec.build();
        let side = if outside { BattSide::Outside } else { BattSide::Inside };
        let (mut before, mut after, mut area) = (0.0, 0.0, 0.0);
        for surface in house.surfaces() {
            let Ok(found) = paths(surface, side) else { return Ok(()) };
            let sum = |list: &[studbay::comfort::Path]| -> f64 {
                list.iter().map(|path| path.share * path.u.ip()).sum()
            };
            for list in [&found.before, &found.after] {
                let shares: f64 = list.iter().map(|path| path.share).sum();
                prop_assert!((shares - 1.0).abs() < 1e-12, "shares sum to {shares}");
            }
            before += surface.area().ip() * sum(&found.before);
            after += surface.area().ip() * sum(&found.after);
            area += surface.area().ip();
        }
        let figures = assess(&house);
        for (ours, theirs) in [(before, figures.u_before), (after, figures.u_after)] {
            let ours = ours / area;
            prop_assert!((ours - theirs.ip()).abs() <= 1e-12 * ours, "{ours} {}", theirs.ip());
        }
    }

    /// Resistances in series sum to that of the path, and temperatures fall without a turn from
    /// one side to the other.
    #[test]
    fn profiles_sum_and_never_turn(
        spec in house(), indoor in 5.0..35.0_f64, outdoor in -60.0..50.0_f64
    ) {
        let house = spec.build();
        let Ok(comfort) = Comfort::of(&house, &celsius(outdoor, indoor)) else { return Ok(()) };
        for surface in &comfort.surfaces {
            for path in surface.before.iter().chain(&surface.after) {
                let sum: f64 = path.path.layers.iter().map(|layer| layer.r.ip()).sum();
                prop_assert!((sum * path.path.u.ip() - 1.0).abs() < 1e-11, "{sum}");
                prop_assert!(path.path.layers.iter().all(|layer| layer.r.ip() >= 0.0));
                let c: Vec<f64> = path.profile.iter().map(|t| t.c()).collect();
                prop_assert_eq!(c.len(), path.path.layers.len() + 1);
                prop_assert_eq!(c[0], indoor);
                prop_assert!((c[c.len() - 1] - surface.far_side.c()).abs() < 1e-9);
                let falls = indoor >= surface.far_side.c();
                for pair in c.windows(2) {
                    let step = pair[0] - pair[1];
                    prop_assert!(if falls { step >= 0.0 } else { step <= 0.0 }, "it turns");
                }
                // T_si = T_i - U R_si (T_i - T_e), the closed form.
                let [inside, _] = [path.path.layers[0].r.ip(), 0.0];
                let closed = indoor - path.path.u.ip() * inside * (indoor - surface.far_side.c());
                prop_assert!((path.surface.c() - closed).abs() < 1e-9);
                prop_assert!((0.0..=1.0).contains(&path.temperature_factor));
            }
        }
    }

    /// No account of temperatures panics, in either unit system.
    #[test]
    fn any_house_can_be_told(spec in house(), outdoor in -60.0..50.0_f64) {
        let house = spec.build();
        if let Ok(comfort) = Comfort::of(&house, &celsius(outdoor, 20.0)) {
            for units in [UnitSystem::Ip, UnitSystem::Si] {
                prop_assert!(!comfort.account(&house, units).is_empty());
            }
        }
    }
}

/// ISO 6946 with its own films (0.13, 0.04 m²K/W; S in part): the fall of temperature over each
/// layer is in proportion to its resistance.
#[test]
fn the_fall_is_in_proportion() {
    assert!(SOURCES.iter().any(|source| source.id.0 == "iso_6946"));
    assert_eq!(Mark::Memory.words(), "from memory");
    let house = layered().build();
    let comfort = Comfort::of(&house, &celsius(-10.0, 20.0)).unwrap();
    let path = &comfort.surfaces[0].after[1];
    let total = path.path.u.to_r().ip() * RSI_PER_R;
    for (layer, pair) in path.path.layers.iter().zip(path.profile.windows(2)) {
        let share = layer.r.si() / total;
        assert_relative_eq!(pair[0].c() - pair[1].c(), 30.0 * share, epsilon = 1e-9);
    }
}
