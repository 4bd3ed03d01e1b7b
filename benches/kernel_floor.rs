//! How near scoring comes to the memory: batches through the Arrow door against a pass of the same
//! shape that reads every input, writes every output, and calculates nothing.
//!
//! `cargo bench --bench kernel_floor --features arrow,parallel` prints nanoseconds for a row and
//! the share of the floor in the whole; rows and rounds may be given behind `--`.

#![allow(clippy::expect_used, clippy::print_stdout, reason = "a benchmark prints, and fails aloud")]

use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int64Type};
use arrow_array::{Array, ArrayRef, Float64Array, Int64Array, RecordBatch, StringArray};
use arrow_schema::DataType;
use rayon::prelude::*;
use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;
use studbay::batch::arrow::ArrowScorer;
use studbay::units::UnitSystem;

/// What one thread takes at a time.
const BATCH_ROWS: usize = 1 << 15;

/// Numbers that look random, the same every time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap_or(0)) / f64::from(u32::MAX)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.roll()
    }

    fn choose<T: Copy>(&mut self, choices: &[T]) -> T {
        let last = choices.len() - 1;
        let place = (0..last).find(|_| self.roll() < 1.0 / f64::from(2_u8)).unwrap_or(last);
        choices[place]
    }
}

/// Houses with heat alone, or with cooling as well.
fn houses(dice: &mut Dice, rows: usize, cooled: bool) -> RecordBatch {
    let mut columns: Vec<(&str, ArrayRef)> = Vec::new();
    let numbers: [(&str, f64, f64); 21] = [
        ("wall_area_ft2", 400.0, 3500.0),
        ("framing_fraction", 0.15, 0.3),
        ("cavity_depth_in", 3.5, 5.5),
        ("series_r", 2.4, 6.0),
        ("batt_thickness_in", 0.0, 3.5),
        ("batt_missing_fraction", 0.0, 0.5),
        ("fill_density_lb_ft3", 3.2, 4.5),
        ("batt_compression", 0.0, 0.45),
        ("missed_fraction", 0.0, 0.1),
        ("heating_degree_days_f", 1500.0, 9000.0),
        ("heating_efficiency", 0.6, 0.97),
        ("fuel_price", 0.8, 2.4),
        ("cfm50_before", 3000.0, 6000.0),
        ("cfm50_after", 2000.0, 3000.0),
        ("elevation_ft", 0.0, 7000.0),
        ("billed_heating_fuel", 150.0, 1500.0),
        ("installed_cost", 3000.0, 9000.0),
        ("rebate", 0.0, 2500.0),
        ("discount_rate", 0.02, 0.07),
        ("fuel_escalation", 0.0, 0.04),
        ("electricity_escalation", 0.0, 0.03),
    ];
    let cooling: [(&str, f64, f64); 3] = [
        ("cooling_degree_days_f", 0.0, 2500.0),
        ("cooling_seer", 8.0, 20.0),
        ("electricity_price", 0.1, 0.35),
    ];
    for (name, low, high) in numbers.iter().chain(cooling.iter().filter(|_| cooled)) {
        let column: Float64Array = (0..rows).map(|_| Some(dice.between(*low, *high))).collect();
        columns.push((name, Arc::new(column)));
    }
    for (name, choices) in [("air_gap_level", [0, 1, 2]), ("life_years", [30, 20, 40])] {
        let column: Int64Array = (0..rows).map(|_| Some(dice.choose(&choices))).collect();
        columns.push((name, Arc::new(column)));
    }
    let words: [(&str, &[&str]); 6] = [
        ("fuel", &["natural_gas", "fuel_oil_2", "propane"]),
        ("knob_and_tube", &["no", "unknown", "yes"]),
        ("vermiculite", &["no", "unknown", "yes"]),
        ("moisture_problem", &["no", "unknown", "yes"]),
        ("loose_interior_finish", &["no", "unknown", "yes"]),
        ("spillage_test", &["none_needed", "passed", "not_done", "failed"]),
    ];
    for (name, choices) in words {
        let column: StringArray = (0..rows).map(|_| Some(dice.choose(choices))).collect();
        columns.push((name, Arc::new(column)));
    }
    let ids: StringArray = (0..rows).map(|row| Some(format!("H{row:09}"))).collect();
    columns.push(("house_id", Arc::new(ids)));
    RecordBatch::try_from_iter(columns).expect("columns of one length")
}

/// Reads every byte of a column.
fn read(column: &ArrayRef) -> u64 {
    let add = |sum: u64, word: u64| sum.wrapping_add(word);
    match column.data_type() {
        DataType::Float64 => {
            let values = column.as_primitive::<Float64Type>().values();
            values.iter().map(|value| value.to_bits()).fold(0, add)
        }
        DataType::Int64 => {
            let values = column.as_primitive::<Int64Type>().values();
            values.iter().map(|value| value.cast_unsigned()).fold(0, add)
        }
        _ => {
            let text = column.as_string::<i32>();
            let lengths = text.offsets().lengths().map(|length| length as u64).fold(0, add);
            text.values().iter().map(|byte| u64::from(*byte)).fold(lengths, add)
        }
    }
}

/// Where the floor writes: memory of its own for each batch, which serves again in every round, as
/// that of the results does.
struct Outputs {
    numbers: Vec<Vec<f64>>,
    texts: Vec<Vec<u8>>,
}

impl Outputs {
    /// Room for what scoring makes of a batch; columns without a value take none.
    fn like(scored: &RecordBatch) -> Self {
        let columns = || scored.columns().iter().skip(1).filter(|c| c.null_count() < c.len());
        let is_text = |column: &&ArrayRef| *column.data_type() == DataType::Utf8;
        let numbers = columns().filter(|column| !is_text(column)).map(|c| vec![0.0; c.len()]);
        let texts = columns().filter(is_text).map(|column| {
            let text = column.as_string::<i32>();
            vec![0; text.value_data().len() + 4 * text.value_offsets().len()]
        });
        Self { numbers: numbers.collect(), texts: texts.collect() }
    }
}

/// All inputs read, all outputs written.
fn floor(batch: &RecordBatch, outputs: &mut Outputs) {
    let seed = black_box(batch.columns().iter().map(read).fold(0, u64::wrapping_add));
    let numbers = batch.column(0).as_primitive::<Float64Type>().values();
    outputs.numbers.iter_mut().for_each(|column| column.copy_from_slice(numbers));
    let letter = if seed == 0 { b'a' } else { b'b' };
    outputs.texts.iter_mut().for_each(|text| text.fill(letter));
    black_box(outputs);
}

fn median(times: &mut [f64]) -> f64 {
    times.sort_unstable_by(f64::total_cmp);
    times[times.len() / 2]
}

fn seconds<T>(run: impl FnOnce() -> T) -> f64 {
    let begun = Instant::now();
    let result = run();
    let taken = begun.elapsed().as_secs_f64();
    drop(result);
    taken
}

fn measure(name: &str, batches: &[RecordBatch], threads: usize, rounds: usize) {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
    let schema = batches[0].schema();
    let scorer = ArrowScorer::new(&schema, UnitSystem::Ip).expect("a table of houses");
    let score = |batch| scorer.score(batch).expect("a batch of the table");
    let mut outputs: Vec<Outputs> =
        batches.iter().map(|batch| Outputs::like(&score(batch))).collect();
    // Results are kept until the end of a round, as a table in memory is.
    let kernel = || pool.install(|| batches.par_iter().map(score).collect::<Vec<_>>());
    let mut pass = || {
        let both = batches.par_iter().zip(&mut outputs);
        pool.install(|| both.for_each(|(batch, outputs)| floor(batch, outputs)));
    };
    let (mut kernels, mut floors) = (Vec::new(), Vec::new());
    for _ in 0..rounds {
        kernels.push(seconds(kernel));
        floors.push(seconds(&mut pass));
    }
    let rows: usize = batches.iter().map(RecordBatch::num_rows).sum();
    let per_row = |seconds: f64| seconds * 1e9 / f64::from(u32::try_from(rows).unwrap_or(u32::MAX));
    let (kernel, floor) = (per_row(median(&mut kernels)), per_row(median(&mut floors)));
    let share = 100.0 * floor / kernel;
    println!(
        "{name:24} {threads} threads: scored {kernel:7.1} ns/row, floor {floor:6.1}, {share:4.1} %"
    );
}

fn main() {
    // `cargo bench` adds an argument of its own.
    let mut given = std::env::args().skip(1).filter_map(|word| word.parse().ok());
    let rows: usize = given.next().unwrap_or(600_000);
    let rounds: usize = given.next().unwrap_or(9);
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    for (name, cooled) in [("heating alone", false), ("heating and cooling", true)] {
        let batches: Vec<RecordBatch> = (0..rows.div_ceil(BATCH_ROWS))
            .map(|place| houses(&mut dice, BATCH_ROWS.min(rows - place * BATCH_ROWS), cooled))
            .collect();
        for threads in [1, 2] {
            measure(name, &batches, threads, rounds);
        }
    }
}
