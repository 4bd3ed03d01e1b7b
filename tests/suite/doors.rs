//! One house through every door: the same bits.

use crate::samples::{flat, nested};
use crate::spec::{Spec, bits};
use proptest::prelude::*;
use studbay::house::{House, HouseFileError};

type Reader = fn(&str) -> Result<House, HouseFileError>;

fn through(read: Reader, text: &str) -> House {
    read(text).unwrap_or_else(|error| panic!("{text}\n{error}"))
}

fn same_bits(spec: &Spec) -> Result<(), TestCaseError> {
    let built = bits(&spec.build());
    prop_assert_eq!(&bits(&spec.build_from_text()), &built);
    prop_assert_eq!(&bits(&through(House::from_toml, &spec.to_toml())), &built);
    prop_assert_eq!(&bits(&through(House::from_json, &spec.to_json())), &built);
    Ok(())
}

proptest! {
    #[test]
    fn flat_houses(spec in flat()) {
        same_bits(&spec)?;
        same_bits(&spec.to_si())?;
    }

    #[test]
    fn nested_houses(spec in nested()) {
        same_bits(&spec)?;
        same_bits(&spec.to_si())?;
    }

    /// The derivation too, whatever the door.
    #[test]
    fn the_same_derivation(spec in nested()) {
        use studbay::house::explain;
        let built = explain(&spec.build());
        prop_assert_eq!(&explain(&through(House::from_toml, &spec.to_toml())), &built);
        prop_assert_eq!(&explain(&through(House::from_json, &spec.to_json())), &built);
    }
}

/// Whole numbers, short forms of layers, spaces, capitals and a byte order mark are all read.
#[test]
fn what_a_person_writes_is_read() {
    let by_hand = "\u{feff}# a house by hand
house_id = ' by hand '
heating_degree_days_f = 5_600
heating_efficiency = 0.80
fuel = \"Natural_Gas\"
fuel_price = 1.5
installed_cost = 2400
knob_and_tube = false

[[surfaces]]
kind = \"wall\"
name = \"front\"
area_ft2 = 1200
layers = [\"wood_bevel_siding_1_2in\", 0.94, { thickness_in = 0.75, r_per_in = 0.53 }]
";
    let in_full = r#"{"house_id": "by hand", "heating_degree_days_f": 5600, "heating_efficiency": 0.8,
        "fuel": "natural_gas", "fuel_price": 1.5, "installed_cost": 2.4e3, "knob_and_tube": "no",
        "year_built": null,
        "surfaces": [{"name": "front", "area_ft2": 1200.0, "layers": [
            {"material": "wood_bevel_siding_1_2in"}, {"r": 0.94},
            {"r_per_in": 0.53, "thickness_in": 0.75, "name": "lath and plaster"}]}]}"#;
    let file = std::env::temp_dir().join(format!("studbay-by-hand-{}.toml", std::process::id()));
    std::fs::write(&file, by_hand).unwrap();
    let first = House::from_file(&file).unwrap_or_else(|error| panic!("{error}"));
    std::fs::remove_file(&file).unwrap();
    let second = House::from_json(in_full).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(bits(&first), bits(&second));
    assert_eq!(first.house_id(), "by hand");
    assert_eq!(first.surfaces()[0].name(), Some("front"));
}

/// Each number of a file is read to the nearest double, as the builder parses it.
#[test]
fn long_numbers_are_read_to_the_last_bit() {
    for digits in ["0.1000000000000000055511151231257827", "1234.5678901234567", "2.5e-3", "5e2"] {
        let spec = crate::samples::plain();
        let toml = spec.clone().without("fuel_price").to_toml();
        let toml = format!("fuel_price = {digits}\n{toml}");
        let by_toml = through(House::from_toml, &toml);
        let by_builder = spec.with("fuel_price", digits.parse::<f64>().unwrap()).build();
        assert_eq!(bits(&by_toml), bits(&by_builder), "{digits}");
    }
}
