//! Bills and weather as tables: whatever stands in them, there is a result or a fault.

use arrow_array::{ArrayRef, Float64Array, RecordBatch, StringArray};
use arrow_schema::{DataType, Field, Schema};
use proptest::prelude::*;
use std::num::NonZeroUsize;
use std::sync::Arc;
use studbay::bills::table::{TableError, date, mean_samples, meters, results_table, weather};
use studbay::bills::{Climate, Climates, NormalYear, Options, Workers, fit_meters};
use studbay::house::Fuel;

fn table(columns: Vec<(&str, ArrayRef)>) -> RecordBatch {
    let fields: Vec<Field> = columns
        .iter()
        .map(|(name, column)| Field::new(*name, column.data_type().clone(), true))
        .collect();
    let columns = columns.into_iter().map(|(_, column)| column).collect();
    RecordBatch::try_new(Arc::new(Schema::new(fields)), columns).unwrap()
}

fn text(cells: &[String]) -> ArrayRef {
    Arc::new(StringArray::from_iter_values(cells))
}

fn gas() -> Fuel {
    Fuel::from_key("natural_gas").unwrap()
}

/// A cell of a person in a hurry.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "20(20|21|22)-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9])",
        3 => "[0-9]{1,4}(\\.[0-9]{1,3})?",
        1 => "-[0-9]{1,3}",
        1 => Just(String::new()),
        1 => Just("NaN".to_owned()),
        1 => Just("1e999".to_owned()),
        1 => "\\PC{0,12}",
        1 => Just("yes".to_owned()),
        1 => Just("ccf".to_owned()),
        1 => Just("electricity".to_owned()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_text_is_a_date_or_none(text in "\\PC{0,14}") {
        if let Some(day) = date(&text) {
            prop_assert!(text.trim().starts_with(&day.to_string()));
        }
    }

    /// Every table of text gives meters, each with figures or faults, or an error.
    #[test]
    fn any_table_gives_figures_or_faults(
        rows in prop::collection::vec(prop::collection::vec(cell(), 7), 0..25),
    ) {
        let names = ["house_id", "fuel", "start", "end", "use", "unit", "estimated"];
        let column = |place: usize| {
            let cells: Vec<String> = rows.iter().map(|row: &Vec<String>| row[place].clone()).collect();
            text(&cells)
        };
        let batch = table(names.iter().enumerate().map(|(n, name)| (*name, column(n))).collect());
        match meters(&batch.schema(), [Ok(batch.clone())].into_iter(), Some(gas())) {
            Ok(found) => {
                let days = studbay::climate::DailyMeans::new(
                    "2020-01-01".parse().unwrap(),
                    (0..1200).map(|day| 50.0 + f64::from(day % 40)).collect(),
                );
                let normal = NormalYear::new(&days).unwrap();
                let climates =
                    Climates::one(Climate { weather: days, normal, findings: Vec::new() });
                let options = Options { resamples: 9, ..Options::default() };
                let workers = Workers::new(NonZeroUsize::new(1));
                let results = fit_meters(&found, &climates, &options, &workers);
                prop_assert_eq!(results.len(), found.len());
                let out = results_table(&results).unwrap();
                prop_assert_eq!(out.num_rows(), found.len());
                for result in &results {
                    if let Err(error) = &result.figures {
                        prop_assert!(!error.issues.is_empty());
                    }
                }
            }
            Err(TableError::Input(error)) => prop_assert!(!error.issues.is_empty()),
            Err(error) => prop_assert!(false, "{error:?}"),
        }
    }

    #[test]
    fn any_weather_is_read_or_told(
        rows in prop::collection::vec((cell(), cell()), 0..40),
        celsius in any::<bool>(),
    ) {
        let (dates, means): (Vec<String>, Vec<String>) = rows.into_iter().unzip();
        let name = if celsius { "mean_c" } else { "mean_f" };
        let batch = table(vec![("date", text(&dates)), (name, text(&means))]);
        let mut findings = Vec::new();
        match weather(&batch.schema(), [Ok(batch.clone())].into_iter(), &mut findings) {
            Ok(days) => prop_assert!(!days.is_empty()),
            Err(TableError::Input(error)) => prop_assert!(!error.issues.is_empty()),
            Err(error) => prop_assert!(false, "{error:?}"),
        }
        let batch = table(vec![("use", text(&dates)), (name, text(&means))]);
        let _ = mean_samples(&batch.schema(), [Ok(batch.clone())].into_iter());
    }
}

#[test]
fn a_column_of_another_type_is_told() {
    let numbers: ArrayRef = Arc::new(Float64Array::from(vec![1.0]));
    let batch = table(vec![
        ("start", Arc::clone(&numbers)),
        ("end", Arc::clone(&numbers)),
        ("use", numbers),
    ]);
    let error = meters(&batch.schema(), [Ok(batch.clone())].into_iter(), Some(gas())).unwrap_err();
    let TableError::Schema(error) = error else { panic!("{error:?}") };
    assert!(error.to_string().contains("column start: must hold dates"), "{error}");
    let schema = Schema::new(vec![Field::new("start", DataType::Utf8, true)]);
    let error = meters(&schema, std::iter::empty(), Some(gas())).unwrap_err();
    let TableError::Schema(error) = error else { panic!("{error:?}") };
    assert_eq!(error.faults, ["column end is missing", "column use is missing"]);
}

#[test]
fn a_fuel_that_is_not_given_is_asked_for() {
    let one = |cell: &str| text(&[cell.to_owned()]);
    let batch =
        table(vec![("start", one("2021-01-01")), ("end", one("2021-02-01")), ("use", one("5"))]);
    let error = meters(&batch.schema(), [Ok(batch.clone())].into_iter(), None).unwrap_err();
    let TableError::Input(error) = error else { panic!("{error:?}") };
    assert!(error.to_string().starts_with("row 1.fuel: must be one of natural_gas"), "{error}");
}
