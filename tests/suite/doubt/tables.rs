//! The bands of a table.

use super::*;
use arrow_array::cast::AsArray;
use arrow_array::types::Float64Type;
use arrow_array::{Array, ArrayRef, Float64Array, RecordBatch, StringArray};
use std::num::NonZeroUsize;
use std::sync::Arc;
use studbay::doubt::table::{TableSampling, bands, columns};

fn how(threads: usize) -> TableSampling {
    TableSampling { sampling: FEW, within_years: 12.0, threads: NonZeroUsize::new(threads) }
}

fn batch(rows: u32) -> RecordBatch {
    let text = |word: &str| Arc::new(StringArray::from(vec![word; rows as usize])) as ArrayRef;
    let number = |value: &dyn Fn(f64) -> f64| {
        let values = (0..rows).map(|row| value(f64::from(row)));
        Arc::new(values.collect::<Float64Array>()) as ArrayRef
    };
    let ids: StringArray = (0..rows).map(|row| Some(format!("h{row}"))).collect();
    RecordBatch::try_from_iter([
        ("county", text("Elm")),
        ("house_id", Arc::new(ids) as ArrayRef),
        ("wall_area_ft2", number(&|row| if row == 3.0 { -1.0 } else { 900.0 + row })),
        ("series_r", text("3.0")),
        ("batt_thickness_in", number(&|_| 1.5)),
        ("heating_degree_days_f", number(&|row| 4000.0 + 10.0 * row)),
        ("heating_efficiency", number(&|_| 0.8)),
        ("fuel", text("natural_gas")),
        ("fuel_price", number(&|_| 1.5)),
        ("installed_cost", number(&|row| 2000.0 + row)),
    ])
    .unwrap()
}

/// A row is a house: the same bits as by itself, whatever the threads.
#[test]
fn a_row_has_the_bits_of_its_house_whatever_the_threads() {
    let table = batch(40);
    let one = bands(&table, &how(1)).unwrap();
    for threads in [2, 5] {
        assert_eq!(one, bands(&table, &how(threads)).unwrap());
    }
    assert_eq!(one.num_rows(), 40);
    let names: Vec<String> = one.schema().fields().iter().map(|f| f.name().clone()).collect();
    let wanted = ["house_id", "county"].map(str::to_owned).into_iter().chain(columns());
    assert_eq!(names, wanted.chain(["faults".to_owned()]).collect::<Vec<_>>());
    let row = 17;
    let house = House::builder()
        .id("h17")
        .named("wall_area_ft2", Cell::Number(917.0))
        .named("series_r", Cell::Number(3.0))
        .named("batt_thickness_in", Cell::Number(1.5))
        .named("heating_degree_days_f", Cell::Number(4170.0))
        .named("heating_efficiency", Cell::Number(0.8))
        .named("fuel", Cell::Text("natural_gas"))
        .named("fuel_price", Cell::Number(1.5))
        .named("installed_cost", Cell::Number(2017.0))
        .build()
        .unwrap();
    let drawn = doubt(&house, &FEW);
    let at =
        |name: &str| one.column_by_name(name).unwrap().as_primitive::<Float64Type>().value(row);
    for figure in FIGURES {
        let band = drawn.band(figure);
        for (end, value) in [("p10", band.p10), ("p50", band.p50), ("p90", band.p90)] {
            assert_eq!(Some(at(&format!("{}_{end}", figure.name()))), value);
        }
    }
    assert_eq!(at("chance_of_payback"), drawn.chance_of_payback_within(12.0));
    assert_eq!(at("chance_of_gain"), drawn.chance_of_gain());
    // The row that is no house stays in its place with its fault.
    let faults = one.column_by_name("faults").unwrap().as_string::<i32>();
    assert_eq!(faults.null_count(), 39);
    assert!(faults.value(3).starts_with("wall_area_ft2 = -1"), "{}", faults.value(3));
    assert!(one.column_by_name("npv_p50").unwrap().is_null(3));
}

#[test]
fn a_table_without_its_columns_is_refused() {
    let table = batch(2).project(&[0, 1, 2, 3]).unwrap();
    let told = bands(&table, &how(1)).unwrap_err().to_string();
    assert!(told.contains("there is no column fuel"), "{told}");
}
