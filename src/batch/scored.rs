//! Reading a table that has results, whoever wrote it: by the scorer, by a CSV reader that left
//! every cell as text, or by a join with the user's own columns.

use super::plan::SchemaError;
use crate::error::nearest;
use crate::house::RESULTS;
use crate::readiness::{FINDINGS, FindingSet, Readiness};
use arrow_array::cast::AsArray;
use arrow_array::types::Float64Type;
use arrow_array::{Array, ArrayRef, Float64Array, RecordBatch, StringArray};
use arrow_cast::{CastOptions, cast_with_options};
use arrow_schema::{ArrowError, DataType, Schema};

/// Where the result columns that a portfolio is reckoned from stand in a table.
#[derive(Clone, Debug)]
pub(super) struct Places {
    pub(super) house_id: Option<usize>,
    pub(super) readiness: usize,
    pub(super) findings: Option<usize>,
    pub(super) faults: Option<usize>,
    numbers: Vec<(&'static str, usize)>,
}

/// What a scored table cannot be without.
pub(super) const READINESS: &str = "readiness";
const FINDING_CODES: &str = "findings";

/// A fault of the table as a whole.
pub(super) fn unusable(fault: impl Into<String>) -> SchemaError {
    SchemaError::from(fault.into())
}

/// What Arrow says about a batch.
pub(super) fn unreadable(error: &ArrowError) -> SchemaError {
    unusable(format!("the table cannot be read: {error}"))
}

/// The column of a name; twice is a fault.
pub(super) fn find(schema: &Schema, name: &str, faults: &mut Vec<String>) -> Option<usize> {
    let mut found = schema.fields().iter().enumerate().filter(|(_, f)| f.name().trim() == name);
    let first = found.next().map(|(place, _)| place);
    if found.next().is_some() {
        faults.push(format!("the column {name} stands twice"));
    }
    first
}

/// A column that must be there.
pub(super) fn must_find(schema: &Schema, name: &str, faults: &mut Vec<String>) -> usize {
    find(schema, name, faults).unwrap_or_else(|| {
        let known = schema.fields().iter().map(|field| field.name().trim());
        let hint = nearest(name, known).map(|near| format!("; is it the column {near}?"));
        faults.push(format!("there is no column {name}{}", hint.unwrap_or_default()));
        0
    })
}

impl Places {
    /// Finds the columns of these numbers and of the words.
    pub(super) fn new(schema: &Schema, numbers: &[&'static str], faults: &mut Vec<String>) -> Self {
        debug_assert!(numbers.iter().all(|name| RESULTS.iter().any(|def| def.ip == *name)));
        let known = faults.len();
        let places = Self {
            house_id: find(schema, crate::house::Field::HouseId.def().ip, faults),
            readiness: must_find(schema, READINESS, faults),
            findings: find(schema, FINDING_CODES, faults),
            faults: find(schema, super::arrow::FAULTS, faults),
            numbers: numbers.iter().map(|name| (*name, must_find(schema, name, faults))).collect(),
        };
        if faults.len() > known {
            faults.push("a table of results is expected: score the houses first".to_owned());
        }
        places
    }

    /// The numbers of a batch, in the order in which they were asked for.
    pub(super) fn numbers(
        &self,
        batch: &RecordBatch,
        before: u64,
    ) -> Result<Vec<Float64Array>, SchemaError> {
        let read = |(name, place): &(&str, usize)| numbers(batch.column(*place), name, before);
        self.numbers.iter().map(read).collect()
    }
}

/// A number, or none: null, NaN and blank are none.
pub(super) fn some(array: &Float64Array, row: usize) -> Option<f64> {
    (array.is_valid(row) && !array.value(row).is_nan()).then(|| array.value(row))
}

/// The text of a cell, or none: null and blank are none.
pub(super) fn text(array: &StringArray, row: usize) -> Option<&str> {
    (array.is_valid(row) && !array.value(row).trim().is_empty()).then(|| array.value(row))
}

fn exactly<'o>() -> CastOptions<'o> {
    CastOptions { safe: false, ..CastOptions::default() }
}

/// A column as text; `before` rows of the table came earlier.
pub(super) fn words(array: &ArrayRef, name: &str) -> Result<StringArray, SchemaError> {
    let wrong = || unusable(format!("{name} is {}: text was expected", array.data_type()));
    if array.data_type().is_nested() && !matches!(array.data_type(), DataType::Dictionary(..)) {
        return Err(wrong());
    }
    let cast = cast_with_options(array, &DataType::Utf8, &exactly()).map_err(|_| wrong())?;
    Ok(cast.as_string::<i32>().clone())
}

fn numbers(array: &ArrayRef, name: &str, before: u64) -> Result<Float64Array, SchemaError> {
    let values = match array.data_type() {
        DataType::Dictionary(_, values) => values,
        other => other,
    };
    match values {
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => {
            let words = words(array, name)?;
            let number = |row| match text(&words, row) {
                None => Ok(None),
                Some(cell) => cell.trim().parse().map(Some).map_err(|_| {
                    let row = before + row as u64 + 1;
                    unusable(format!("{name} in row {row} is not a number: {cell}"))
                }),
            };
            (0..words.len()).map(number).collect()
        }
        DataType::Null => Ok(Float64Array::new_null(array.len())),
        other if other.is_numeric() => {
            let cast = cast_with_options(array, &DataType::Float64, &exactly())
                .map_err(|error| unreadable(&error))?;
            Ok(cast.as_primitive::<Float64Type>().clone())
        }
        other => Err(unusable(format!("{name} is {other}: a number was expected"))),
    }
}

/// The readiness of each row; none where the row could not be scored. Any other word is refused:
/// a hold that is spelled otherwise must not count as clear.
pub(super) fn readiness(
    array: &ArrayRef,
    before: u64,
) -> Result<Vec<Option<Readiness>>, SchemaError> {
    let words = words(array, READINESS)?;
    let one = |row| match text(&words, row) {
        None => Ok(None),
        Some("hold") => Ok(Some(Readiness::Hold)),
        Some("check") => Ok(Some(Readiness::Check)),
        Some("clear") => Ok(Some(Readiness::Clear)),
        Some(word) => {
            let row = before + row as u64 + 1;
            Err(unusable(format!(
                "readiness in row {row} is {word}: hold, check or clear is expected"
            )))
        }
    };
    (0..words.len()).map(one).collect()
}

/// The findings of codes with `;` between them; what is no code is passed over.
pub(super) fn findings(codes: &str) -> FindingSet {
    let mut set = FindingSet::default();
    for code in codes.split(';') {
        if let Some(def) = FINDINGS.iter().find(|def| def.code == code.trim()) {
            set.add(def.finding);
        }
    }
    set
}
