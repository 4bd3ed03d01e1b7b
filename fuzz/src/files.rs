//! House files with all that may stand in one: stages, options, loans, ranges; and rates.

use crate::{PLAIN, house, refused, refused_file};
use studbay::choices::{blocks, compare, stated};
use studbay::costing::{Rates, build_up};
use studbay::doubt::words::report;
use studbay::doubt::{Sampling, doubt};
use studbay::evidence::{
    Confidence, JobRecord, Manner, Receipt, changes_document, proof_account, prove,
    receipt_account, stages_document,
};
use studbay::house::{Cell, House, Raw};
use studbay::lending::{incentives_of, loans_of};
use studbay::stages::{HouseFile, Stage, Value, changes};
use studbay::walk::{Entry, recorded};

/// Words of a JSON number that is none.
fn all_numbers_are_there(json: &serde_json::Value) {
    assert!(!json.to_string().is_empty());
}

fn file(found: Result<HouseFile, studbay::house::HouseFileError>) -> bool {
    let file = match found {
        Ok(file) => file,
        Err(error) => {
            refused_file(&error);
            return false;
        }
    };
    assert!(changes(&file, &file).is_empty(), "a file does not differ from itself");
    match stages_document(&file) {
        Ok(document) => all_numbers_are_there(&document),
        Err(error) => refused(&error),
    }
    // A value written into it can be read in it, and is all that changed.
    let crew = Value::Text("crew 9".to_owned());
    match file.with_value(Some(Stage::AsBuilt), "crew", &crew) {
        Ok(changed) => {
            let differences = changes(&file, &changed);
            // A table that was empty is a value that goes.
            let on_the_way = |path: &str| "as_built.crew".starts_with(path);
            assert!(differences.iter().all(|change| on_the_way(&change.path)), "{differences:?}");
            all_numbers_are_there(&changes_document(&differences));
        }
        Err(error) => refused_file(&error),
    }
    match file.with_row(Stage::AsBuilt, "calibration", &[("machine".to_owned(), crew)]) {
        Ok(changed) => assert!(!changes(&file, &changed).is_empty()),
        Err(error) => refused_file(&error),
    }
    match file.upgraded() {
        Ok(upgraded) => assert!(!upgraded.text().is_empty()),
        Err(error) => refused_file(&error),
    }
    let record = match JobRecord::read(&file) {
        Ok(record) => record,
        Err(error) => {
            refused_file(&error);
            return false;
        }
    };
    house(&record.promised);
    let proof = prove(&record, Confidence::default());
    if let Some(built) = &proof.built {
        house(built);
    }
    for units in crate::BOTH {
        all_numbers_are_there(&proof.document(units));
        let manner = Manner { units, currency: "$" };
        assert!(!proof_account(&proof, manner).is_empty());
        if let Some(as_built) = &record.as_built {
            let receipt = Receipt::new(&proof, as_built);
            assert!(!receipt_account(&receipt, manner).is_empty());
            all_numbers_are_there(&receipt.document(units));
        }
    }
    true
}

/// A house file of every stage, in TOML: read, written into, proved.
pub fn stages(data: &[u8]) -> bool {
    std::str::from_utf8(data).is_ok_and(|text| file(HouseFile::from_toml(text)))
}

/// The same in JSON.
pub fn stages_json(data: &[u8]) -> bool {
    std::str::from_utf8(data).is_ok_and(|text| file(HouseFile::from_json(text)))
}

/// Options, loans and incentives beside a house; and a look written into it.
pub fn choices(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    let Ok(found) = HouseFile::from_toml(text) else { return false };
    let raw = found.raw();
    let loans = loans_of(raw);
    let incentives = incentives_of(raw);
    let options = stated(raw);
    let mut taken = loans.is_ok() && incentives.is_ok();
    for error in [loans.err(), incentives.err()].into_iter().flatten() {
        refused(&error);
    }
    let options = match options {
        Ok(options) => options,
        Err(error) => {
            refused(&error);
            return false;
        }
    };
    let found = match House::from_raw(raw) {
        Ok(found) => found,
        Err(error) => {
            refused_file(&error);
            return false;
        }
    };
    match compare(&found, &options) {
        Ok(comparison) => assert!(!blocks(&comparison, "$").is_empty()),
        Err(error) => {
            refused(&error);
            taken = false;
        }
    }
    let entry = Entry {
        finding: "knob_and_tube".to_owned(),
        surface: found.house_id().to_owned(),
        answer: "no".to_owned(),
        cleared_by: "licensed_electrician".to_owned(),
        date: "2026-03-02".to_owned(),
        evidence: text.chars().take(40).collect(),
    };
    match recorded(text, &entry) {
        Ok(with_look) => assert!(House::from_toml(&with_look).is_ok()),
        Err(error) => refused_file(&error),
    }
    taken
}

/// Rates of a firm, and a price built up from them.
pub fn rates(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    let rates = match Rates::from_toml(text) {
        Ok(rates) => rates,
        Err(error) => {
            refused_file(&error);
            return false;
        }
    };
    // With the layers by their names: a way into the wall depends on them.
    let mut builder = House::builder();
    for (name, cell) in PLAIN.into_iter().filter(|(name, _)| *name != "series_r") {
        builder.give(name, cell);
    }
    builder.give("cladding", Cell::Text("wood_bevel_siding_1_2in"));
    builder.give("sheathing", Cell::Text("board_sheathing_3_4in"));
    builder.give("interior_finish", Cell::Text("plaster_wood_lath_3_4in"));
    let Ok(house) = builder.build() else { panic!("a house that is in order is refused") };
    match build_up(&house, &rates) {
        Ok(price) => {
            assert!(!price.account("$").is_empty());
            true
        }
        Err(error) => {
            refused(&error);
            false
        }
    }
}

/// Ranges of a plain house, as TOML under `ranges`; a few draws of them.
pub fn ranges(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    let Ok(found) = HouseFile::from_toml(text) else { return false };
    let Raw::Table(given) = found.raw() else { return false };
    let mut table: Vec<(String, Raw)> = PLAIN
        .iter()
        .map(|(name, cell)| {
            let value = match cell {
                Cell::Number(number) => Raw::Number(*number),
                Cell::Text(text) => Raw::Text((*text).to_owned()),
                _ => Raw::Null,
            };
            ((*name).to_owned(), value)
        })
        .collect();
    table.push(("ranges".to_owned(), Raw::Table(given.clone())));
    let found = match House::from_raw(&Raw::Table(table)) {
        Ok(found) => found,
        Err(error) => {
            refused_file(&error);
            return false;
        }
    };
    let sampling = Sampling { draws: 64, ..Sampling::default() };
    let drawn = doubt(&found, &sampling);
    for units in crate::BOTH {
        assert!(!report(&drawn, None, units, "$").is_empty());
    }
    true
}
