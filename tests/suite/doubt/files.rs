//! Ranges as house files write them.

use super::*;

fn file(ranges: &str) -> Result<House, String> {
    let toml = format!(
        "house_id = 'filed'\nwall_area_ft2 = 1500\nseries_r = 3.0\nbatt_thickness_in = 1.5\n\
         heating_degree_days_f = 5600\nheating_efficiency = 0.8\nfuel = 'natural_gas'\n\
         fuel_price = 1.5\ninstalled_cost = 3200\n[ranges]\n{ranges}\n"
    );
    House::from_toml(&toml).map_err(|error| error.to_string())
}

#[test]
fn a_file_may_say_its_ranges_in_short_or_by_name() {
    let short = file("fuel_price = [1.2, 1.5, 2.0]\nbatt_thickness_in = [1, 2]").unwrap();
    let named = file(
        "fuel_price = { distribution = 'triangular', low = 1.2, likely = 1.5, high = 2.0 }\n\
         batt_thickness_in = { low = 1, high = 2 }",
    )
    .unwrap();
    assert_eq!(short, named);
    let json = r#"{"house_id": "filed", "wall_area_ft2": 1500, "series_r": 3, "batt_thickness_in": 1.5,
        "heating_degree_days_f": 5600, "heating_efficiency": 0.8, "fuel": "natural_gas", "fuel_price": 1.5,
        "installed_cost": 3200, "ranges": {"fuel_price": [1.2, 1.5, 2.0], "batt_thickness_in": ["1", "2"]}}"#;
    assert_eq!(House::from_json(json).unwrap(), short);
    assert_eq!(short.ranges().len(), 2);
    let more = file(
        "fuel_price = { distribution = 'lognormal', median = 1.5, gsd = 1.3 }\n\
         heating_efficiency = { distribution = 'Normal', mean = 0.8, sd = 0.05, high = 0.95 }\n\
         air_gap_level = { values = [0, 1, 2], weights = [1, 2, 1] }\n\
         fuel_escalation = { low = -0.01, high = 0.03, moves_with = 'fuel_price' }",
    )
    .unwrap();
    let names: Vec<_> = more.ranges().iter().map(|r| r.distribution().name()).collect();
    assert_eq!(names, ["lognormal", "normal", "discrete", "uniform"]);
    assert_eq!(more.ranges()[3].moves(), Some((Field::FuelPrice, false)));
}

#[test]
fn every_fault_of_the_ranges_of_a_file_at_once() {
    let told = file(
        "fuel_price = [2, 1]\n\
         series_r = [1]\n\
         installed_cost = 'some'\n\
         heating_efficiency = { distribution = 'gausian', mean = 0.8 }\n\
         framing_fraction = { distribution = 'normal', mean = 0.2 }\n\
         missed_fraction = { distribution = 'uniform', low = 0, high = 0.1, sd = 2 }\n\
         batt_thickness_in = { low = 1, hihg = 2 }\n\
         realization_rate = { low = 'x', high = 1 }\n\
         air_gap_level = { values = 3 }\n\
         fuel_escalation = [0, 'much']",
    )
    .unwrap_err();
    for line in [
        "ranges.fuel_price = 2, 1: low = 2 must not be above high = 1",
        "ranges.series_r = 1 number: must be [low, high], [low, likely, high], or a table",
        "ranges.installed_cost: must be [low, high]",
        "ranges.heating_efficiency.distribution = gausian: must be one of uniform, triangular, \
         normal, lognormal, discrete",
        "ranges.framing_fraction.sd: must be given for a normal distribution",
        "ranges.missed_fraction.sd = 2: is no part of a uniform distribution",
        "ranges.batt_thickness_in.hihg: a range has no such part; is high meant?",
        "ranges.realization_rate.low = x: is not a number",
        "ranges.air_gap_level.values = 3: must be a list of numbers",
        "ranges.fuel_escalation = much: is not a number",
    ] {
        assert!(told.contains(line), "{line} is not in:\n{told}");
    }
    assert_eq!(told.lines().count(), 10, "{told}");
    let told = House::from_toml("house_id = 'x'\nranges = 3").unwrap_err().to_string();
    assert!(told.contains("ranges: must be a table of field names, each with its range"), "{told}");
}

#[test]
fn a_surface_has_its_own_ranges() {
    let toml = |more: &str| {
        format!(
            "house_id = 'n'\nheating_degree_days_f = 5600\nheating_efficiency = 0.8\n\
             fuel = 'natural_gas'\nfuel_price = 1.5\ninstalled_cost = 3200\n\
             [[surfaces]]\narea_ft2 = 500\nseries_r = 3.0\nbatt_thickness_in = 1.5\n{more}\n"
        )
    };
    let house =
        House::from_toml(&toml("[surfaces.ranges]\nbatt_thickness_in = [1, 1.5, 2]")).unwrap();
    assert_eq!(house.ranges()[0].surface(), Some(0));
    let told = House::from_toml(&toml("[surfaces.ranges]\nbatt_thickness_in = [2, 3]"))
        .unwrap_err()
        .to_string();
    assert!(told.starts_with("surfaces[0].ranges.batt_thickness_in = 2 to 3"), "{told}");
    let told =
        House::from_toml(&toml("[surfaces.ranges]\nfuel_price = [1, 2]")).unwrap_err().to_string();
    assert!(
        told.contains("surfaces[0].ranges.fuel_price") && told.contains("head of the house"),
        "{told}"
    );
    let told =
        House::from_toml(&toml("[ranges]\nbatt_thickness_in = [1, 2]")).unwrap_err().to_string();
    assert!(
        told.contains("ranges.batt_thickness_in") && told.contains("inside a surface"),
        "{told}"
    );
}
