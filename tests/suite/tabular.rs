//! Invented tables of flat houses, and what the scalar door makes of each row.

use crate::samples::flat;
use crate::spec::Value;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use studbay::batch::files::{FileError, FileOptions, FileReport, score_file};
use studbay::house::{Cell, Field, House, ResultValue, Scope, assess};
use studbay::units::UnitSystem;

/// A folder of its own for a test, removed at its end.
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn new() -> Self {
        static COUNT: AtomicU64 = AtomicU64::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("studbay-files-{}-{count}", std::process::id());
        let path = std::env::temp_dir().join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub(crate) fn at(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub(crate) fn write(&self, name: &str, bytes: &[u8]) -> PathBuf {
        std::fs::write(self.at(name), bytes).unwrap();
        self.at(name)
    }

    /// The names of all files, in order.
    pub(crate) fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(&self.0).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A table as text.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub(crate) names: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
}

/// Columns that are not of the contract, with cells that CSV has to be careful about.
const PASSED: [(&str, &[&str]); 3] = [
    ("county", &["North, by the river", "Südhang", "", "5\" lath", "two\nlines", " spaced "]),
    ("note", &["plain", "", "a;b", "'quoted'"]),
    ("ref no", &["0012", "-4.5", "1e5"]),
];

/// Cells that make a row odd or wrong.
const ODD: [&str; 9] = ["", " ", "NaN", "-1", "inf", "1e300", "25%", "maybe", "1,5"];

/// Random houses; one row in four is spoiled.
pub(crate) fn table(count: usize) -> Table {
    let mut runner = TestRunner::deterministic();
    let mut names: Vec<String> = vec!["note".to_owned(), "house_id".to_owned()];
    let mut specs = Vec::with_capacity(count);
    let (house, spoil) = (flat(), (0..4_u8, 0..1000_usize, 0..ODD.len()));
    for _ in 0..count {
        let spec = house.new_tree(&mut runner).unwrap().current();
        for (name, _) in &spec.head.0 {
            if !names.iter().any(|known| known == name) {
                names.push((*name).to_owned());
            }
        }
        specs.push((spec, spoil.new_tree(&mut runner).unwrap().current()));
    }
    names.extend(["county".to_owned(), "ref no".to_owned()]);
    let rows = specs.into_iter().enumerate().map(|(place, (spec, (spoiled, column, odd)))| {
        let cell = |name: &String| {
            if let Some((_, cells)) = PASSED.iter().find(|(passed, _)| passed == name) {
                return cells[place % cells.len()].to_owned();
            }
            match spec.head.0.iter().find(|(known, _)| known == name) {
                _ if name == "house_id" => format!("house {place}"),
                Some((_, Value::Number(number))) => format!("{number}"),
                Some((_, Value::Word(word))) => word.clone(),
                None => String::new(),
            }
        };
        let mut row: Vec<String> = names.iter().map(cell).collect();
        if spoiled == 0 {
            let column = column % names.len();
            if PASSED.iter().all(|(passed, _)| *passed != names[column]) {
                ODD[odd].clone_into(&mut row[column]);
            }
        }
        row
    });
    let rows = rows.collect();
    Table { names, rows }
}

/// What the scalar door makes of a row.
pub(crate) enum Expected {
    Scored { carried: Vec<String>, results: Vec<ResultValue> },
    Rejected { faults: String },
}

fn is_contract(name: &str) -> bool {
    Field::from_name(name).is_some_and(|(field, _)| field.def().scope != Scope::SurfaceOnly)
}

impl Table {
    pub(crate) fn csv(&self) -> Vec<u8> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&self.names).unwrap();
        for row in &self.rows {
            writer.write_record(row).unwrap();
        }
        writer.into_inner().unwrap()
    }

    /// The columns that come out before the results.
    pub(crate) fn carried(&self) -> Vec<usize> {
        let passed = (0..self.names.len()).filter(|place| !is_contract(&self.names[*place]));
        let id = self.names.iter().position(|name| name == "house_id").unwrap();
        std::iter::once(id).chain(passed).collect()
    }

    pub(crate) fn expected(&self, units: UnitSystem) -> Vec<Expected> {
        let carried = self.carried();
        let row = |row: &Vec<String>| {
            let mut house = House::builder();
            for (name, cell) in self.names.iter().zip(row).filter(|(name, _)| is_contract(name)) {
                house.give(name, Cell::Text(cell));
            }
            match house.build() {
                Ok(house) => Expected::Scored {
                    carried: carried.iter().map(|place| row[*place].clone()).collect(),
                    results: assess(&house).results(units).map(|(_, value)| value).collect(),
                },
                Err(error) => {
                    let issues: Vec<String> =
                        error.issues.iter().map(ToString::to_string).collect();
                    Expected::Rejected { faults: issues.join("; ") }
                }
            }
        };
        self.rows.iter().map(row).collect()
    }
}

/// Scores with a clock that nobody watches.
pub(crate) fn score(
    input: &Path,
    output: &Path,
    options: &FileOptions,
) -> Result<FileReport, FileError> {
    score_file(input, output, options, &())
}

/// The records of a CSV text, header first.
pub(crate) fn records(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
    let record = |record: Result<csv::StringRecord, csv::Error>| {
        record.unwrap().iter().map(str::to_owned).collect()
    };
    reader.records().map(record).collect()
}

/// Whether a cell holds exactly this result.
pub(crate) fn holds(cell: &str, value: &ResultValue) -> bool {
    match value {
        ResultValue::Number(None) => cell.is_empty(),
        ResultValue::Number(Some(number)) => {
            cell.parse::<f64>().is_ok_and(|read| read.to_bits() == number.to_bits())
        }
        ResultValue::Word(word) => cell == *word,
        ResultValue::Words(words) => cell == words,
    }
}
