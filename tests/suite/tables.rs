//! The tables of published numbers: physically possible, sourced, and without slips of a decimal.

use crate::published::fuel;
use std::collections::{BTreeMap, BTreeSet};
use studbay::house::Field;
use studbay::source::{Citation, Mark};
use studbay::tables::{
    CONSTANTS, FILMS, FUELS, GRID, GWP_CH4, GWP_N2O, MATERIALS, Role, SOURCES, material,
};
use studbay::units::factor::RSI_PER_R;

type Row = BTreeMap<String, String>;

fn table(name: &str) -> Vec<Row> {
    let path = format!("{}/src/tables/{name}.csv", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let rows: Vec<Row> = reader.deserialize().map(|row| row.unwrap()).collect();
    assert!(!rows.is_empty(), "{name}.csv has no rows");
    rows
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column} of {row:?}"))
}

const TABLES: [&str; 8] =
    ["materials", "films", "air_spaces", "air_gap_levels", "fuels", "grid", "constants", "spreads"];

/// The cork lesson: a slip of three decimal places survives where nothing bounds a table.
#[test]
fn materials_lie_within_physical_bounds() {
    let mut keys = BTreeSet::new();
    for m in MATERIALS {
        let r = m.r_h_ft2_f_btu;
        assert!(keys.insert(m.key), "{} stands twice", m.key);
        assert!(m.low <= r && r <= m.high, "{}: {} <= {r} <= {}", m.key, m.low, m.high);
        // No cladding or finish of an old house insulates like a batt; foam sheathing may.
        let most = match m.role {
            Role::Cladding => 2.0,
            Role::Sheathing => 7.0,
            Role::InteriorFinish => 1.5,
            Role::Other => 2.5,
        };
        assert!((0.0..=most).contains(&r), "{}: R {r}", m.key);
        if m.key.starts_with("no_") {
            assert_eq!((m.low, r, m.high), (0.0, 0.0, 0.0), "{}", m.key);
            continue;
        }
        assert!(r > 0.03, "{}: R {r}", m.key);
        assert!(m.high <= 5.0 * m.low, "{}: {} to {} says nothing", m.key, m.low, m.high);
        if let Some(thickness) = m.thickness_in {
            assert!((0.1..=6.0).contains(&thickness), "{}: {thickness} in.", m.key);
            let per_inch = r / thickness;
            assert!((0.05..=8.0).contains(&per_inch), "{}: R {per_inch} an inch", m.key);
        }
        assert_eq!(material(m.key).map(|found| found.key), Some(m.key));
    }
    for role in [Role::Cladding, Role::Sheathing, Role::InteriorFinish, Role::Other] {
        let of_role = MATERIALS.iter().filter(|m| m.role == role).count();
        assert!(of_role >= 5, "{role:?} has {of_role}");
    }
    assert_eq!(material("unobtainium").map(|m| m.key), None);
}

/// ASHRAE Handbook of Fundamentals, materials and films (S2 unless marked), as printed.
#[test]
fn the_handbook_values_stand_in_the_tables() {
    for (key, printed) in [
        ("gypsum_board_1_2in", 0.45),
        ("plywood_1_2in", 0.62),
        ("fibreboard_1_2in", 1.32),
        ("board_sheathing_3_4in", 0.94), // M
        ("wood_bevel_siding_1_2in", 0.81),
        ("wood_drop_siding_1in", 0.79),
        ("wood_shingles", 0.87),
        ("hollow_backed_siding", 0.61),
        ("building_felt", 0.06),
        ("stucco_3_4in", 0.75 * 0.20),
        ("common_brick_4in", 4.0 * 0.20),  // older editions
        ("plaster_wood_lath_3_4in", 0.40), // M
    ] {
        let found = material(key).unwrap_or_else(|| panic!("no {key}")).r_h_ft2_f_btu;
        assert!((found - printed).abs() < 1e-12, "{key}: {found}, printed {printed}");
    }
    for (key, printed) in [
        ("inside_wall", 0.68),
        ("inside_ceiling", 0.61),
        ("inside_floor", 0.92),
        ("outside_winter", 0.17),
        ("outside_summer", 0.25),
    ] {
        let film = FILMS.iter().find(|film| film.key == key).unwrap();
        assert_eq!(film.r_h_ft2_f_btu, printed, "{key}");
    }
}

#[test]
fn films_and_air_spaces_are_possible() {
    for film in FILMS {
        assert!((0.15..=1.0).contains(&film.r_h_ft2_f_btu), "{}", film.key);
    }
    // Still air inside against ISO 6946, 0.13/0.10/0.17 and 0.04 m2K/W outside (S in part): the
    // two families differ by their assumptions, not by a decimal.
    for (key, rsi) in [
        ("inside_wall", 0.13),
        ("inside_ceiling", 0.10),
        ("inside_floor", 0.17),
        ("outside_winter", 0.04),
    ] {
        let film = FILMS.iter().find(|film| film.key == key).unwrap();
        let ratio = film.r_h_ft2_f_btu * RSI_PER_R / rsi;
        assert!((0.7..1.3).contains(&ratio), "{key}: {ratio}");
    }
    let rows = table("air_spaces");
    for flow in ["horizontal", "up", "down"] {
        let points: Vec<(f64, f64)> = rows
            .iter()
            .filter(|row| row["heat_flow"] == flow)
            .map(|row| (number(row, "gap_mm"), number(row, "r_m2k_w")))
            .collect();
        assert_eq!(points[0], (0.0, 0.0), "no air has no resistance");
        for pair in points.windows(2) {
            assert!(pair[0].0 < pair[1].0 && pair[0].1 <= pair[1].1, "{flow}: {pair:?}");
        }
        assert!(points.iter().all(|(_, r)| *r <= 0.25), "{flow}");
    }
    let levels: Vec<f64> =
        table("air_gap_levels").iter().map(|row| number(row, "delta_u_w_m2k")).collect();
    assert_eq!(levels, [0.0, 0.01, 0.04], "ISO 6946 annex (M)");
}

/// 40 CFR 98 tables C-1 and C-2 (S), 100-year potentials 28 and 265 (M): the sum worked out again
/// from the columns beside it.
#[test]
fn fuels_burn_to_what_their_parts_add_up_to() {
    assert_eq!((GWP_CH4.value, GWP_N2O.value), (28.0, 265.0));
    for row in table("fuels") {
        let found = fuel(&row["key"]);
        assert_eq!(found.mmbtu_per_unit, number(&row, "mmbtu_per_unit"));
        let Some(co2e) = found.kg_co2e_per_mmbtu else {
            assert_eq!(row["key"], "electricity");
            // 1 kWh = 3.412142 thousand Btu by definition; the rounded one is the method's.
            assert!((found.mmbtu_per_unit - 0.003_412_142).abs() < 5e-7);
            continue;
        };
        let parts = number(&row, "kg_co2_per_mmbtu")
            + GWP_CH4.value * number(&row, "kg_ch4_per_mmbtu")
            + GWP_N2O.value * number(&row, "kg_n2o_per_mmbtu");
        assert!((co2e - parts).abs() < 1e-9, "{}: {co2e}, its parts {parts}", row["key"]);
        assert!((50.0..110.0).contains(&co2e), "{}", row["key"]);
        assert!((0.08..0.16).contains(&found.mmbtu_per_unit), "{}", row["key"]);
    }
    assert_eq!(FUELS.iter().filter(|fuel| fuel.kg_co2e_per_mmbtu.is_none()).count(), 1);
}

#[test]
fn grid_rates_are_possible() {
    let mut regions = BTreeSet::new();
    for row in GRID {
        let region = row.region;
        assert!(regions.insert(region), "{region} stands twice");
        let rates = [
            row.average_lb_co2e_per_mwh,
            row.non_baseload_lb_co2_per_mwh,
            row.non_baseload_lb_co2e_per_mwh,
        ];
        for rate in rates {
            assert!((100.0..=2500.0).contains(&rate), "{region}: {rate} lb/MWh");
        }
        let (co2, co2e) = (row.non_baseload_lb_co2_per_mwh, row.non_baseload_lb_co2e_per_mwh);
        assert!((1.0..1.01).contains(&(co2e / co2)), "{region}: {co2} of {co2e}");
        let year: u16 = row.data_year.parse().unwrap();
        assert!((2018..=2030).contains(&year), "{region}: {year}");
    }
    assert!(regions.contains("US") && regions.len() >= 27, "{} regions", regions.len());
}

/// The note beside each rate says what it is made of, the CO2 and 28 times the CH4 and 265 times
/// the N2O: worked out again.
#[test]
fn non_baseload_rates_add_up_as_their_notes_say() {
    let mut checked = 0;
    for row in table("grid") {
        let Some((_, parts)) = row["note"].split_once("CO2 + 28 x ") else { continue };
        let (ch4, rest) = parts.split_once(" CH4 + 265 x ").unwrap();
        let (n2o, _) = rest.split_once(" N2O").unwrap();
        let sum = number(&row, "non_baseload_lb_co2_per_mwh")
            + 28.0 * ch4.parse::<f64>().unwrap()
            + 265.0 * n2o.parse::<f64>().unwrap();
        let printed = number(&row, "non_baseload_lb_co2e_per_mwh");
        assert!((sum - printed).abs() < 0.0011, "{}: {sum}, {printed}", row["region"]);
        checked += 1;
    }
    assert!(checked >= 20, "{checked} rates checked");
}

/// How far a field is commonly off: fields that there are, ends on both sides of the value, and
/// steps that leave the field inside its range.
#[test]
fn spreads_are_of_fields_and_straddle_the_value() {
    for row in table("spreads") {
        let (field, _) = Field::from_name(&row["field"]).unwrap_or_else(|| panic!("{row:?}"));
        let (low, high) = (number(&row, "low"), number(&row, "high"));
        match row["mode"].as_str() {
            "factor" => {
                assert!((0.5..=1.0).contains(&low) && (1.0..=2.0).contains(&high), "{row:?}");
            }
            "add" => {
                let def = field.def();
                let width = def.high - def.low;
                assert!(low <= 0.0 && 0.0 <= high && high - low <= width / 2.0, "{row:?}");
            }
            other => panic!("mode {other}"),
        }
        assert!(low < high && !row["words"].trim().is_empty(), "{row:?}");
    }
}

#[test]
fn the_default_grid_rate_is_that_of_its_table() {
    let us = GRID.iter().find(|row| row.region == "US").unwrap();
    let kg = |lb_per_mwh: f64| lb_per_mwh * studbay::units::factor::KG_PER_LB / 1000.0;
    let default = studbay::tables::GRID_DEFAULT_KG_PER_KWH.value;
    assert!((kg(us.average_lb_co2e_per_mwh) - default).abs() < 5.01e-7);
    // eGRID2023, first release, US non-baseload rate (seen quoted): 0.635296 kg CO2e/kWh.
    assert!((kg(us.non_baseload_lb_co2e_per_mwh) - 0.635_296).abs() < 5.01e-7);
}

#[test]
fn every_row_has_a_mark_and_a_known_source() {
    let known: BTreeSet<&str> = SOURCES.iter().map(|source| source.id.0).collect();
    assert_eq!(known.len(), SOURCES.len(), "a source stands twice");
    for name in TABLES {
        for row in table(name) {
            let id = row["source_id"].as_str();
            assert!(known.contains(id), "{name}: {id} is not in the table of sources");
            let mark = row["mark"].as_str();
            assert!(["S", "S2", "M", "T", "D", "J"].contains(&mark), "{name}: {mark}");
            // Common practice is no document, and a document is more than common practice.
            assert_eq!(mark == "T", id == "common_practice", "{name}: {row:?}");
            assert_eq!(mark == "D", id == "derived", "{name}: {row:?}");
            assert_eq!(mark == "J", id == "judgement", "{name}: {row:?}");
            let place = row["locator"].trim();
            assert!(mark == "J" || !place.is_empty(), "{name}: {row:?}");
        }
    }
    for constant in CONSTANTS {
        assert!(constant.value.is_finite() && !constant.unit.is_empty(), "{}", constant.key);
    }
}

/// Every document that the code cites is in the table of sources, and says what it is.
#[test]
fn every_cited_document_exists() {
    let mut cited = BTreeSet::new();
    for (path, text) in crate::features::sources("src") {
        for call in ["Citation::new(\"", "cite(\""] {
            for after in text.split(call).skip(1) {
                let id = after.split('"').next().unwrap().to_owned();
                let known = Citation::new(leaked(&id), "", Mark::Memory).document();
                assert!(known.is_some(), "{}: {id} is not a source", path.display());
                cited.insert(id);
            }
        }
    }
    assert!(cited.len() > 5, "{cited:?}");
    for source in SOURCES {
        assert!(source.document.len() > 10, "{:?}", source.id);
    }
}

fn leaked(text: &str) -> &'static str {
    Box::leak(text.to_owned().into_boxed_str())
}

/// Sources of parts that are still to come, or that only words rest on so far.
const NOT_YET: [&str; 19] = [
    "ashrae_62_2",
    "ashrae_guideline_14",
    "cozza_2020",
    "cpsc_16cfr1209",
    "danish_settling",
    "fels_1986",
    "fowlie_2018",
    "hand_1993",
    "hitchin_1983",
    "iecc_climate_zones",
    "irc_r1003",
    "iso_13789",
    "niosh_2001",
    "nyc_airport_weather_2013",
    "rachlin_1986",
    "schoenau_kehrig_1990",
    "seattle_weather",
    "tmy3_greensboro",
    "wa_energy_code",
];

/// A source that no number, citation or test rests on is a leftover.
#[test]
fn every_source_is_used() {
    let mut text = String::new();
    for (path, source) in ["src", "tests/suite"].into_iter().flat_map(crate::features::sources) {
        if !path.ends_with("tests/suite/tables.rs") {
            text.push_str(&source);
        }
    }
    let mut used: BTreeSet<String> = BTreeSet::new();
    for name in TABLES {
        used.extend(table(name).into_iter().map(|row| row["source_id"].clone()));
    }
    for row in crate::reference::rows("published.csv") {
        used.insert(row["source_id"].clone());
    }
    let unused: Vec<&str> = SOURCES
        .iter()
        .map(|source| source.id.0)
        .filter(|id| !used.contains(*id) && !NOT_YET.contains(id))
        .filter(|id| !text.contains(&format!("\"{id}\"")) && !text.contains(&format!("`{id}`")))
        .collect();
    assert!(unused.is_empty(), "nothing rests on {unused:?}");
    for id in NOT_YET {
        assert!(SOURCES.iter().any(|source| source.id.0 == id), "{id} has left the table");
    }
}
