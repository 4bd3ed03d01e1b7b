//! What threads share: the pieces of memory that batches of results leave to the next. Results that
//! are still read must not change while other threads take and give back pieces.

use arrow_array::{Array as _, ArrayRef, Float64Array, RecordBatch, StringArray};
use arrow_schema::{Field, Schema};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use studbay::batch::arrow::ArrowScorer;
use studbay::units::UnitSystem;

/// Rows enough that the results of a batch take a piece that is kept, and not the allocator's.
const ROWS: usize = 12_000;

/// Invented houses, other ones for every number.
fn houses(number: usize) -> RecordBatch {
    let text = |word: &str| Arc::new(StringArray::from(vec![word; ROWS])) as ArrayRef;
    let numbers = |of: &dyn Fn(f64) -> f64| {
        let places = 0..u32::try_from(ROWS).unwrap();
        Arc::new(Float64Array::from_iter_values(places.map(|row| of(f64::from(row))))) as ArrayRef
    };
    let shift = f64::from(u32::try_from(number).unwrap());
    let columns: Vec<(&str, ArrayRef)> = vec![
        ("house_id", text("x")),
        ("wall_area_ft2", numbers(&|row| 600.0 + row / 10.0 + shift)),
        ("series_r", text("3.06")),
        ("heating_degree_days_f", numbers(&|row| 3000.0 + row / 4.0 + 100.0 * shift)),
        ("heating_efficiency", text("0.8")),
        ("fuel", text("natural_gas")),
        ("fuel_price", text("1.5")),
        ("installed_cost", text("2400")),
    ];
    let fields: Vec<Field> =
        columns.iter().map(|(name, a)| Field::new(*name, a.data_type().clone(), true)).collect();
    let arrays = columns.into_iter().map(|(_, array)| array).collect();
    RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays).unwrap()
}

#[test]
fn results_that_are_read_stay_as_they_are() {
    const NUMBERS: usize = 5;
    let inputs: Vec<RecordBatch> = (0..NUMBERS).map(houses).collect();
    let schema = inputs[0].schema();
    let score = |batch: &RecordBatch| {
        ArrowScorer::new(&schema, UnitSystem::Ip).unwrap().score(batch).unwrap()
    };
    // Taken alone, and copied: nothing of a kept piece is in them.
    let alone: Vec<RecordBatch> = inputs
        .iter()
        .map(|batch| {
            let every: arrow_array::UInt32Array = (0..u32::try_from(ROWS).unwrap()).collect();
            arrow_select::take::take_record_batch(&score(batch), &every).unwrap()
        })
        .collect();
    let compared = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for thread in 0..6 {
            let (inputs, alone, score, compared) = (&inputs, &alone, &score, &compared);
            scope.spawn(move || {
                // Two results live at any time, so that pieces come back while others are read.
                let mut kept: Option<(usize, RecordBatch)> = None;
                for round in 0..8 {
                    let number = (thread + round * 3) % NUMBERS;
                    let scored = score(&inputs[number]);
                    if let Some((before, result)) = kept.replace((number, scored)) {
                        assert!(result == alone[before], "thread {thread}, round {round}");
                        compared.fetch_add(1, Ordering::Relaxed);
                    }
                }
            });
        }
    });
    assert_eq!(compared.load(Ordering::Relaxed), 6 * 7);
}
