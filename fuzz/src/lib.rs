//! What every parser must hold, whatever the bytes: it ends, it does not panic, what it refuses it
//! explains, and what it takes gives figures that are finite or none.
//!
//! The targets are plain functions, so that cargo-fuzz and the bounded driver run the same ones. A
//! broken promise is a panic. Each says whether it took the input, so that a target whose inputs are
//! all turned away at the door is noticed.

mod files;
mod pages;
mod tables;

use arrow_array::{
    Array as _, ArrayRef, Decimal128Array, Decimal256Array, RecordBatch, StringArray,
};
use arrow_buffer::i256;
use arrow_schema::{DataType, Field as ArrowField, Schema};
use std::io::Cursor;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use studbay::account::account;
use studbay::batch::arrow::ArrowScorer;
use studbay::batch::files::{FileOptions, score_file};
use studbay::batch::lines::score_json_lines;
use studbay::comfort::{BattSide, Comfort, Given, RawDesign};
use studbay::error::InputError;
use studbay::house::{
    Cell, FIELDS, House, HouseFileError, Kind, Raw, ResultValue, assess as assess_house, explain,
};
use studbay::moisture::{IndoorHumidity, Moisture, RawQuestion};
use studbay::tables::PERMEANCES;
use studbay::units::UnitSystem;

/// A target by its name.
pub struct Target {
    /// Of the target and of the folder of its seeds.
    pub name: &'static str,
    /// What it does with bytes; whether it took them.
    pub run: fn(&[u8]) -> bool,
}

/// Every target.
pub const TARGETS: &[Target] = &[
    Target { name: "house_toml", run: house_toml },
    Target { name: "house_json", run: house_json },
    Target { name: "assess", run: assess },
    Target { name: "words", run: words },
    Target { name: "csv", run: csv },
    Target { name: "json_lines", run: json_lines },
    Target { name: "decimal", run: decimal },
    Target { name: "moisture", run: moisture },
    Target { name: "weather", run: tables::weather },
    Target { name: "weather_table", run: tables::weather_table },
    Target { name: "bills", run: tables::bills },
    Target { name: "jobs", run: tables::jobs },
    Target { name: "parquet", run: tables::parquet },
    Target { name: "stages", run: files::stages },
    Target { name: "stages_json", run: files::stages_json },
    Target { name: "choices", run: files::choices },
    Target { name: "rates", run: files::rates },
    Target { name: "ranges", run: files::ranges },
    Target { name: "page_words", run: pages::words },
    Target { name: "page_live", run: pages::live },
    Target { name: "page_template", run: pages::template },
];

pub use files::{choices, ranges, rates, stages, stages_json};
pub use pages::{live as page_live, template as page_template, words as page_words};
pub use tables::{bills, jobs, parquet, weather, weather_table};

const BOTH: [UnitSystem; 2] = [UnitSystem::Ip, UnitSystem::Si];

/// A house gives figures that exist or do not, words, and a derivation of the same bits.
fn house(house: &House) {
    let assessment = assess_house(house);
    for units in BOTH {
        for (name, value) in assessment.results(units) {
            if let ResultValue::Number(Some(number)) = value {
                assert!(number.is_finite(), "{name} = {number}");
            }
        }
        let blocks = account(house, units, "$");
        assert!(!blocks.is_empty());
    }
    assert!(!explain(house).is_empty());
    temperatures(house);
}

/// Temperatures lie between those of the two sides.
fn temperatures(house: &House) {
    let raw = RawDesign {
        outdoor: Given { c: Some(-15.0), f: None },
        indoor_rh: Some(0.4),
        ..RawDesign::default()
    };
    let Ok(design) = raw.check() else { panic!("a design that is in order is refused") };
    if let Ok(comfort) = Comfort::of(house, &design) {
        for path in comfort.surfaces.iter().flat_map(|s| s.before.iter().chain(&s.after)) {
            let surface = path.surface.c();
            assert!((-15.0 - 1e-9..=20.0 + 1e-9).contains(&surface), "{surface} °C");
        }
    }
}

/// A refusal says why; aloud where the environment has `SAY_REFUSALS`, to see why a seed is no use.
fn refused(error: &InputError) {
    if std::env::var_os("SAY_REFUSALS").is_some() {
        eprintln!("{error}");
    }
    assert!(!error.issues.is_empty());
    for issue in &error.issues {
        assert!(!issue.reason.is_empty(), "{issue:?}");
        assert!(!issue.reason.ends_with('.'), "{issue:?}");
    }
    let text = error.to_string();
    assert!(!text.is_empty());
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
}

/// A refusal of a file says why; never that it was taken.
fn refused_file(error: &HouseFileError) {
    match error {
        HouseFileError::Input(error) => refused(error),
        error => assert!(!error.to_string().is_empty()),
    }
}

fn of_file(found: Result<House, HouseFileError>) -> bool {
    match &found {
        Ok(found) => house(found),
        Err(error) => refused_file(error),
    }
    found.is_ok()
}

fn of_fields(found: Result<House, InputError>) -> bool {
    match &found {
        Ok(found) => house(found),
        Err(error) => refused(error),
    }
    found.is_ok()
}

/// House files in TOML.
pub fn house_toml(data: &[u8]) -> bool {
    std::str::from_utf8(data).is_ok_and(|text| of_file(House::from_toml(text)))
}

/// House files in JSON.
pub fn house_json(data: &[u8]) -> bool {
    std::str::from_utf8(data).is_ok_and(|text| of_file(House::from_json(text)))
}

/// Bytes as choices: each call takes some from the front; an empty rest gives zeros.
struct Bytes<'d>(&'d [u8]);

impl<'d> Bytes<'d> {
    fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        *first
    }

    fn number(&mut self) -> f64 {
        let eight: [u8; 8] = std::array::from_fn(|_| self.byte());
        f64::from_le_bytes(eight)
    }

    fn text(&mut self, most: usize) -> &'d str {
        let length = usize::from(self.byte()).min(most).min(self.0.len());
        let (text, rest) = self.0.split_at(length);
        self.0 = rest;
        std::str::from_utf8(text).unwrap_or("\u{fffd}")
    }

    fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// The fields of a plain house; what the bytes give stands over them.
const PLAIN: [(&str, Cell<'static>); 9] = [
    ("house_id", Cell::Text("x")),
    ("wall_area_ft2", Cell::Number(1200.0)),
    ("series_r", Cell::Number(3.06)),
    ("heating_degree_days_f", Cell::Number(5600.0)),
    ("heating_efficiency", Cell::Number(0.8)),
    ("fuel", Cell::Text("natural_gas")),
    ("fuel_price", Cell::Number(1.5)),
    ("installed_cost", Cell::Number(2400.0)),
    ("batt_thickness_in", Cell::Number(1.5)),
];

/// Any field with any number, near its range more often than not.
pub fn assess(data: &[u8]) -> bool {
    let mut bytes = Bytes(data);
    let mut cells: Vec<(&str, Cell<'_>)> = PLAIN.to_vec();
    while !bytes.is_empty() {
        let def = &FIELDS[usize::from(bytes.byte()) % FIELDS.len()];
        let how = bytes.byte();
        let number = match how % 6 {
            0 => bytes.number(),
            1 => def.low,
            2 => def.high,
            3 => f64::from(bytes.byte()),
            4 => -f64::from(bytes.byte()),
            _ => def.low + (def.high - def.low) * (f64::from(bytes.byte()) / 255.0),
        };
        let (low, high, choices) = match def.kind {
            Kind::Choice(list) => (0.0, 0.0, list.words()),
            _ => (def.low, def.high, &[][..]),
        };
        let cell = match choices.get(usize::from(bytes.byte()) % choices.len().max(1)) {
            Some(word) => Cell::Text(word),
            None => Cell::Number(if how >= 128 { number.clamp(low, high) } else { number }),
        };
        let name = def.si.filter(|_| how & 64 != 0).unwrap_or(def.ip);
        cells.retain(|(known, _)| *known != def.ip && Some(*known) != def.si);
        cells.push((name, cell));
    }
    let mut builder = House::builder();
    for (name, cell) in cells {
        builder.give(name, cell);
    }
    of_fields(builder.build())
}

/// Any text, truth value or blank under any field's name, or under any name at all; also as a list
/// of surfaces with layers.
pub fn words(data: &[u8]) -> bool {
    let mut bytes = Bytes(data);
    let nested = bytes.byte() % 2 == 1;
    let mut fields: Vec<(String, Raw)> = Vec::new();
    let mut layers: Vec<Raw> = Vec::new();
    let mut builder = House::builder();
    while !bytes.is_empty() {
        let place = bytes.byte();
        let text = bytes.text(40);
        let name = match FIELDS.get(usize::from(place)) {
            Some(def) => def.si.filter(|_| text.len() % 2 == 1).unwrap_or(def.ip),
            None => text,
        };
        let sort = bytes.byte() % 5;
        let cell = match sort {
            0 => Cell::Blank,
            1 => Cell::Bool(place % 2 == 0),
            _ => Cell::Text(text),
        };
        builder.give(name, cell);
        if nested {
            let raw = match sort {
                0 => Raw::Null,
                1 => Raw::Bool(true),
                _ => Raw::Text(text.to_owned()),
            };
            if place > 200 {
                layers.push(raw);
            } else {
                fields.push((name.to_owned(), raw));
            }
        }
    }
    let mut taken = of_fields(builder.build());
    if nested {
        let mut surface = fields.clone();
        surface.push(("layers".to_owned(), Raw::List(layers)));
        fields.push(("surfaces".to_owned(), Raw::List(vec![Raw::Table(surface)])));
        taken |= of_file(House::from_raw(&Raw::Table(fields)));
    }
    taken
}

/// A folder of its own for one input.
fn in_folder(of: impl FnOnce(&Path) -> bool) -> bool {
    static RUNS: AtomicU64 = AtomicU64::new(0);
    let run = RUNS.fetch_add(1, Ordering::Relaxed);
    let folder = std::env::temp_dir().join(format!("studbay-fuzz-{}-{run}", std::process::id()));
    if std::fs::create_dir_all(&folder).is_err() {
        return false;
    }
    let taken = of(&folder);
    let _ = std::fs::remove_dir_all(&folder);
    taken
}

/// A table from path to path, in both unit systems: what was read is scored or rejected.
fn scored(data: &[u8], folder: &Path, names: [&str; 2]) -> bool {
    let (input, output) = (folder.join(names[0]), folder.join(names[1]));
    let mut any = false;
    let units = BOTH[data.len() % 2];
    // Small pieces, so that records are cut at every place.
    let piece_bytes = 16 + data.len() % 64;
    let options = FileOptions { units, threads: 1, piece_bytes, ..FileOptions::default() };
    if std::fs::write(&input, data).is_ok() {
        match score_file(&input, &output, &options, &()) {
            Ok(report) => {
                let counts = report.counts;
                assert_eq!(counts.read, counts.scored + counts.rejected);
                any = counts.scored > 0;
                if names[1].ends_with(".csv") {
                    let text = std::fs::read(&output).unwrap_or_default();
                    assert!(std::str::from_utf8(&text).is_ok(), "what is written is text");
                }
            }
            Err(error) => {
                assert!(!error.to_string().is_empty());
                assert!(!output.exists(), "a failed run leaves no output");
            }
        }
    }
    any
}

/// A CSV file: what was read is scored or rejected.
pub fn csv(data: &[u8]) -> bool {
    in_folder(|folder| scored(data, folder, ["in.csv", "out.csv"]))
}

/// JSON Lines: every line out is JSON, every house in is scored or rejected.
pub fn json_lines(data: &[u8]) -> bool {
    let units = BOTH[data.len() % 2];
    let (mut out, mut rejects) = (Vec::new(), Vec::new());
    let apart = data.first().is_some_and(|byte| byte % 2 == 0);
    let report = score_json_lines(
        Cursor::new(data),
        &mut out,
        apart.then_some(&mut rejects as &mut dyn std::io::Write),
        units,
        std::num::NonZeroUsize::new(1),
        |_| Ok::<(), std::io::Error>(()),
    );
    let Ok(report) = report else { panic!("nothing here can fail to be read or written") };
    let counts = report.counts;
    assert_eq!(counts.read, counts.scored + counts.rejected);
    let lines = |bytes: &[u8]| {
        let mut count = 0;
        for line in bytes.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()) {
            let object: Result<serde_json::Value, _> = serde_json::from_slice(line);
            assert!(
                object.is_ok_and(|value| value.is_object()),
                "{:?}",
                String::from_utf8_lossy(line)
            );
            count += 1;
        }
        count
    };
    assert_eq!(lines(&out) + lines(&rejects), counts.read);
    counts.scored > 0
}

/// Decimals of any precision and scale, and text, as columns of a record batch.
pub fn decimal(data: &[u8]) -> bool {
    let mut bytes = Bytes(data);
    let scale = i8::from_le_bytes([bytes.byte()]);
    let wide = bytes.byte() % 2 == 1;
    let (mut wholes, mut texts) = (Vec::new(), Vec::new());
    while !bytes.is_empty() && wholes.len() < 64 {
        let sixteen: [u8; 16] = std::array::from_fn(|_| bytes.byte());
        // Most are small: a large number is no area.
        let shift = u32::from(bytes.byte()) % 128;
        wholes.push(i128::from_le_bytes(sixteen) >> shift);
        texts.push(bytes.text(20).to_owned());
    }
    let most = 10_i128.pow(38) - 1;
    let areas: Option<ArrayRef> = if wide {
        let array: Decimal256Array =
            wholes.iter().map(|whole| Some(i256::from_i128(*whole))).collect();
        array.with_precision_and_scale(76, scale).ok().map(|array| Arc::new(array) as ArrayRef)
    } else {
        let array: Decimal128Array =
            wholes.iter().map(|whole| Some((*whole).clamp(-most, most))).collect();
        array.with_precision_and_scale(38, scale).ok().map(|array| Arc::new(array) as ArrayRef)
    };
    let Some(areas) = areas else { return false };
    let rows = areas.len();
    let repeat = |text: &str| Arc::new(StringArray::from(vec![text; rows])) as ArrayRef;
    let columns: Vec<(&str, ArrayRef)> = vec![
        ("house_id", repeat("x")),
        ("wall_area_ft2", areas),
        ("series_r", repeat("3.06")),
        ("heating_degree_days_f", Arc::new(StringArray::from(texts))),
        ("heating_efficiency", repeat("0.8")),
        ("fuel", repeat("natural_gas")),
        ("fuel_price", repeat("1.5")),
        ("installed_cost", repeat("2400")),
    ];
    let fields: Vec<ArrowField> = columns
        .iter()
        .map(|(name, array)| ArrowField::new(*name, array.data_type().clone(), true))
        .collect();
    let schema = Arc::new(Schema::new(fields));
    let arrays = columns.into_iter().map(|(_, array)| array).collect();
    let Ok(batch) = RecordBatch::try_new(Arc::clone(&schema), arrays) else { return false };
    if let Ok(scorer) = ArrowScorer::new(&schema, UnitSystem::Ip)
        && let Ok(scored) = scorer.score(&batch)
    {
        assert_eq!(scored.num_rows(), rows, "a row out for every row in");
        assert!(scored.schema().fields().iter().all(|field| *field.data_type() != DataType::Null));
        return rows > 0;
    }
    false
}

/// A wall's moisture check with any months and permeances: refused with reasons, or mass is kept.
pub fn moisture(data: &[u8]) -> bool {
    let mut bytes = Bytes(data);
    let mut value = |low: f64, high: f64| match bytes.byte() {
        0 => bytes.number(),
        byte => low + (high - low) * f64::from(byte) / 255.0,
    };
    let outdoor: Vec<f64> = (0..12).map(|_| value(-55.0, 49.0)).collect();
    let rh: Vec<f64> = (0..12).map(|_| value(0.0, 1.0)).collect();
    let indoor = value(5.5, 34.5);
    let perms: [f64; 3] = std::array::from_fn(|_| value(0.001, 60.0));
    let squeeze = value(0.0, 0.45);
    let thickness = value(0.0, 3.5);
    let choice = bytes.byte();
    let key = |role: u8| {
        let place = usize::from(bytes.0.first().copied().unwrap_or(0).wrapping_add(role));
        PERMEANCES[place % PERMEANCES.len()].key.to_owned()
    };
    let class = IndoorHumidity::KEYS[usize::from(choice) % IndoorHumidity::KEYS.len()];
    let raw = RawQuestion {
        outdoor_c: Some(outdoor),
        outdoor_rh: rh,
        indoor: Given { c: Some(indoor), f: None },
        indoor_class: Some(class.to_owned()),
        exterior_coat: Some(if choice & 1 == 0 { "none".to_owned() } else { key(0) }),
        interior_coat: (choice & 2 != 0).then(|| key(7)),
        batt_facing: (choice & 4 != 0).then(|| "kraft_facing".to_owned()),
        batt_side: if choice & 8 == 0 { BattSide::Inside } else { BattSide::Outside },
        cladding_perms: (choice & 16 != 0).then_some(perms[0]),
        sheathing_perms: (choice & 32 != 0).then_some(perms[1]),
        interior_finish_perms: (choice & 64 != 0).then_some(perms[2]),
        ..RawQuestion::default()
    };
    let mut builder = House::builder();
    for (name, cell) in PLAIN {
        if name != "series_r" && name != "batt_thickness_in" {
            builder.give(name, cell);
        }
    }
    builder.give("batt_thickness_in", Cell::Number(thickness));
    builder.give("batt_compression", Cell::Number(squeeze));
    builder.give("batt_missing_fraction", Cell::Number(0.2));
    builder.give("cladding", Cell::Text("wood_bevel_siding_1_2in"));
    builder.give("sheathing", Cell::Text("board_sheathing_3_4in"));
    builder.give("interior_finish", Cell::Text("plaster_wood_lath_3_4in"));
    let house = match builder.build() {
        Ok(house) => house,
        Err(error) => {
            refused(&error);
            return false;
        }
    };
    let question = match raw.check() {
        Ok(question) => question,
        Err(error) => {
            refused(&error);
            return false;
        }
    };
    let check = match Moisture::of(&house, &question) {
        Ok(check) => check,
        Err(error) => {
            refused(&error);
            return false;
        }
    };
    assert!(!check.findings.is_empty());
    for path in check.before.iter().chain(&check.after) {
        let mut held = 0.0;
        for month in &path.year.months {
            let flows = month.vapour_in_kg_m2 - month.vapour_out_kg_m2;
            held += flows;
            let size =
                1.0 + held.abs() + month.vapour_in_kg_m2.abs() + month.vapour_out_kg_m2.abs();
            assert!((month.held_in_all() - held).abs() < 1e-9 * size, "mass is kept");
            assert!(month.held_kg_m2.iter().all(|water| water.is_finite() && *water >= 0.0));
        }
    }
    for units in BOTH {
        assert!(!check.account(&house, units).is_empty());
    }
    true
}
