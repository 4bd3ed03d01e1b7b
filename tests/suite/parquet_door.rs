//! Parquet files in and out: the same bits as CSV, rejects with their rows.

use crate::tabular::{Expected, Folder, Table, holds, records, score, table};
use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int64Type, UInt64Type};
use arrow_array::{Array, ArrayRef, Float64Array, Int32Array, RecordBatch, StringArray};
use arrow_schema::DataType;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use std::path::Path;
use std::sync::Arc;
use studbay::batch::files::FileOptions;
use studbay::house::ResultValue;
use studbay::units::UnitSystem;

/// Columns of numbers where every cell is one or empty, else text.
fn batch(table: &Table) -> RecordBatch {
    let columns = table.names.iter().enumerate().map(|(place, name)| {
        let cells = table.rows.iter().map(|row| row[place].as_str());
        let numbers: Option<Vec<Option<f64>>> = cells
            .clone()
            .map(|cell| if cell.is_empty() { Some(None) } else { cell.parse().ok().map(Some) })
            .collect();
        let array: ArrayRef = match numbers {
            Some(numbers) if name != "ref no" => Arc::new(Float64Array::from(numbers)),
            _ => Arc::new(StringArray::from_iter_values(cells)),
        };
        (name.as_str(), array, true)
    });
    RecordBatch::try_from_iter_with_nullable(columns).unwrap()
}

fn write(path: &Path, batch: &RecordBatch) {
    let mut writer =
        ArrowWriter::try_new(std::fs::File::create(path).unwrap(), batch.schema(), None).unwrap();
    writer.write(batch).unwrap();
    writer.close().unwrap();
}

fn read(path: &Path) -> RecordBatch {
    let file = std::fs::File::open(path).unwrap();
    let reader = ParquetRecordBatchReaderBuilder::try_new(file).unwrap().build().unwrap();
    let schema = arrow_array::RecordBatchReader::schema(&reader);
    let batches: Vec<RecordBatch> = reader.map(Result::unwrap).collect();
    arrow_select::concat::concat_batches(&schema, &batches).unwrap()
}

fn text(column: &ArrayRef, row: usize) -> String {
    let column = arrow_cast::cast(column, &DataType::Utf8).unwrap();
    let column = column.as_string::<i32>();
    if column.is_null(row) { String::new() } else { column.value(row).to_owned() }
}

fn same(column: &ArrayRef, row: usize, value: &ResultValue) -> bool {
    match (value, column.data_type()) {
        (ResultValue::Number(None), _) => column.is_null(row),
        (ResultValue::Number(Some(number)), DataType::Float64) => {
            let column = column.as_primitive::<Float64Type>();
            column.is_valid(row) && column.value(row).to_bits() == number.to_bits()
        }
        (ResultValue::Number(Some(number)), DataType::Int64) => {
            let column = column.as_primitive::<Int64Type>();
            column.is_valid(row) && column.value(row).to_string() == number.to_string()
        }
        (word, _) => holds(&text(column, row), word),
    }
}

fn check(table: &Table, units: UnitSystem, scored: &RecordBatch) -> u64 {
    let (mut row, mut rejected) = (0, 0);
    for expected in table.expected(units) {
        match expected {
            Expected::Scored { carried, results } => {
                for (column, cell) in scored.columns().iter().zip(&carried) {
                    assert_eq!(&text(column, row), cell);
                }
                for (column, value) in scored.columns()[carried.len()..].iter().zip(&results) {
                    assert!(same(column, row, value), "row {row}: {value:?}");
                }
                row += 1;
            }
            Expected::Rejected { .. } => rejected += 1,
        }
    }
    assert_eq!(scored.num_rows(), row);
    rejected
}

#[test]
fn csv_and_parquet_agree_to_the_bit() {
    let table = table(900);
    let folder = Folder::new();
    let csv = folder.write("in.csv", &table.csv());
    for units in [UnitSystem::Ip, UnitSystem::Si] {
        for threads in [1, 2, 4] {
            let options = FileOptions { units, threads, force: true, ..FileOptions::default() };
            let report = score(&csv, &folder.at("out.parquet"), &options).unwrap();
            let scored = read(&folder.at("out.parquet"));
            assert_eq!(check(&table, units, &scored), report.counts.rejected);
        }
    }
}

/// A table whose typed columns read back as the cells that the table holds.
#[test]
fn parquet_in_has_the_bits_of_the_scalar_door() {
    let table = table(1200);
    let folder = Folder::new();
    write(&folder.at("in.parquet"), &batch(&table));
    for units in [UnitSystem::Ip, UnitSystem::Si] {
        let options = FileOptions { units, force: true, ..FileOptions::default() };
        let input = folder.at("in.parquet");
        let report = score(&input, &folder.at("out.parquet"), &options).unwrap();
        assert_eq!(report.counts.read, 1200);
        let rejected = check(&table, units, &read(&folder.at("out.parquet")));
        assert_eq!(rejected, report.counts.rejected);
        // Parquet to CSV, beside CSV to CSV.
        score(&input, &folder.at("a.csv"), &options).unwrap();
        let csv = folder.write("in.csv", &table.csv());
        let other = score(&csv, &folder.at("b.csv"), &options).unwrap();
        assert_eq!(other.counts, report.counts);
        let text = |name: &str| std::fs::read_to_string(folder.at(name)).unwrap();
        assert!(text("a.csv") == text("b.csv"));
    }
}

#[test]
fn rejects_keep_their_cells_and_types() {
    let folder = Folder::new();
    let float =
        |numbers: [Option<f64>; 3]| Arc::new(Float64Array::from(numbers.to_vec())) as ArrayRef;
    let words = |words: [&str; 3]| Arc::new(StringArray::from_iter_values(words)) as ArrayRef;
    let batch = RecordBatch::try_from_iter_with_nullable([
        ("house_id", words(["a", "b", "c"]), true),
        ("faults", words(["old", "older", "oldest"]), true),
        ("wall_area_ft2", float([Some(1200.0), Some(-1.0), None]), true),
        ("series_r", float([Some(3.06); 3]), true),
        ("heating_degree_days_f", Arc::new(Int32Array::from(vec![5600; 3])) as ArrayRef, true),
        ("heating_efficiency", float([Some(0.8); 3]), true),
        ("fuel", words(["natural_gas"; 3]), true),
        ("fuel_price", float([Some(1.5); 3]), true),
        ("installed_cost", float([Some(2400.0); 3]), true),
    ])
    .unwrap();
    write(&folder.at("in.parquet"), &batch);
    let rejects = folder.at("r.parquet");
    let options = FileOptions { rejects: Some(rejects.clone()), ..FileOptions::default() };
    let report = score(&folder.at("in.parquet"), &folder.at("out.parquet"), &options).unwrap();
    assert_eq!((report.counts.scored, report.counts.rejected), (1, 2));
    let scored = read(&folder.at("out.parquet"));
    assert_eq!(text(scored.column_by_name("faults").unwrap(), 0), "old");
    let rejects = read(&rejects);
    assert_eq!(rejects.column(0).as_primitive::<UInt64Type>().values(), &[2, 3]);
    assert_eq!(rejects.schema().field(1).name(), "faults_2");
    assert_eq!(text(rejects.column(1), 0), "wall_area_ft2 = -1: allowed is above 0 to 1000000 ft²");
    assert_eq!(rejects.slice(0, 2).columns()[2..], batch.slice(1, 2).columns()[..]);
    // As CSV.
    let options = FileOptions { force: true, ..FileOptions::default() };
    score(&folder.at("in.parquet"), &folder.at("out.parquet"), &options).unwrap();
    let rows = records(&std::fs::read(folder.at("out.rejects.csv")).unwrap());
    assert_eq!(rows[0][..3], ["row", "faults_2", "house_id"]);
    assert_eq!(rows[2][0], "3");
    assert_eq!(rows[2][4..6], ["", "3.06"]);
    // Text cells of a CSV file, as Parquet.
    let csv = folder.write(
        "in.csv",
        b"house_id,wall_area_ft2,series_r,heating_degree_days_f,\
heating_efficiency,fuel,fuel_price,installed_cost\na,x,3,1,1,propane,1,1\nb\n",
    );
    let options = FileOptions { rejects: Some(folder.at("s.parquet")), ..FileOptions::default() };
    score(&csv, &folder.at("none.csv"), &options).unwrap();
    let rejects = read(&folder.at("s.parquet"));
    assert_eq!((rejects.num_rows(), text(rejects.column(4), 0)), (2, "x".to_owned()));
    assert_eq!(rejects.column(1).as_primitive::<UInt64Type>().values(), &[2, 3]);
}

#[test]
fn files_that_are_not_whole_are_refused() {
    let folder = Folder::new();
    write(&folder.at("in.parquet"), &batch(&table(50)));
    let whole = std::fs::read(folder.at("in.parquet")).unwrap();
    std::fs::remove_file(folder.at("in.parquet")).unwrap();
    let mut holed = whole.clone();
    let length = holed.len();
    holed[length / 4..length / 2].fill(0xff);
    let cases = [vec![], b"PAR1".to_vec(), whole[..whole.len() / 2].to_vec(), holed];
    for bytes in cases {
        let input = folder.write("in.parquet", &bytes);
        let result = score(&input, &folder.at("out.parquet"), &FileOptions::default());
        let text = result.unwrap_err().to_string();
        assert!(text.contains("this is no whole Parquet file") && !text.contains('\n'), "{text}");
        assert_eq!(folder.names(), ["in.parquet"]);
    }
    // No rows are fine.
    write(&folder.at("in.parquet"), &batch(&table(50)).slice(0, 0));
    let report =
        score(&folder.at("in.parquet"), &folder.at("o.parquet"), &FileOptions::default()).unwrap();
    assert_eq!(report.counts.read, 0);
    assert_eq!(read(&folder.at("o.parquet")).num_rows(), 0);
}
