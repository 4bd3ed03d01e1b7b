//! Doubt of many houses: P10, P50 and P90 of every figure for each row of a table.
//!
//! Every row is a house with one wall, built as the scalar door builds it and drawn as a single house
//! is: the numbers of a row are those of [`doubt`](super::doubt) of that house, to the bit, whatever
//! the other rows and the threads.

use super::run::{Streams, doubt_with};
use super::{FIGURES, Figure, Sampling};
use crate::batch::{Plan, Role, SchemaError};
use crate::error::InputError;
use crate::house::{Cell, House, SURFACES};
use arrow_array::cast::AsArray;
use arrow_array::types::Float64Type;
use arrow_array::{Array, ArrayRef, Float64Array, LargeStringArray, RecordBatch, StringArray};
use arrow_cast::cast;
use arrow_schema::{ArrowError, DataType, Field, Schema};
use std::num::NonZeroUsize;
use std::sync::Arc;

/// The columns of chances, after the bands.
pub const CHANCES: [&str; 3] = ["chance_of_payback", "chance_of_no_payback", "chance_of_gain"];

/// The share, its name at the end of a column.
const ENDS: [&str; 3] = ["p10", "p50", "p90"];

/// Rows that one thread draws before it takes others.
#[cfg(feature = "parallel")]
const TASK_ROWS: usize = 16;

/// A column of cells as the scalar door takes them.
enum Cells {
    Numbers(Float64Array),
    Text(LargeStringArray),
    Flags(arrow_array::BooleanArray),
    Nothing,
}

impl Cells {
    fn read(column: &ArrayRef) -> Result<Self, ArrowError> {
        let values = match column.data_type() {
            DataType::Dictionary(_, values) => values,
            other => other,
        };
        Ok(match values {
            DataType::Null => Self::Nothing,
            DataType::Boolean => Self::Flags(column.as_boolean().clone()),
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => {
                Self::Text(cast(column, &DataType::LargeUtf8)?.as_string::<i64>().clone())
            }
            _ => Self::Numbers(
                cast(column, &DataType::Float64)?.as_primitive::<Float64Type>().clone(),
            ),
        })
    }

    fn at(&self, row: usize) -> Cell<'_> {
        match self {
            // Null is not given; NaN is a fault, as at the other doors.
            Self::Numbers(column) if column.is_valid(row) => Cell::Number(column.value(row)),
            Self::Text(column) if column.is_valid(row) => Cell::Text(column.value(row)),
            Self::Flags(column) if column.is_valid(row) => Cell::Bool(column.value(row)),
            _ => Cell::Blank,
        }
    }
}

/// Every number of a row, so far none.
const NO_NUMBERS: [Option<f64>; FIGURES.len() * ENDS.len() + CHANCES.len()] =
    [None; FIGURES.len() * ENDS.len() + CHANCES.len()];

/// What a row comes to.
struct Row {
    numbers: [Option<f64>; NO_NUMBERS.len()],
    faults: Option<String>,
}

/// How the rows of a table are drawn.
#[derive(Clone, Copy, Debug)]
pub struct TableSampling {
    /// How each row is sampled.
    pub sampling: Sampling,
    /// The years that `chance_of_payback` is for.
    pub within_years: f64,
    /// Threads; by itself as many as the machine has. The numbers do not depend on it.
    pub threads: Option<NonZeroUsize>,
}

/// The columns that the bands have, in their order: `npv_p10`, `npv_p50` and so on, then
/// [`CHANCES`].
pub fn columns() -> impl Iterator<Item = String> {
    let bands = FIGURES.iter().flat_map(|f| ENDS.iter().map(|end| format!("{}_{end}", f.name())));
    bands.chain(CHANCES.iter().map(|name| (*name).to_owned()))
}

/// The bands of a batch of flat rows: a row out for every row in. First `house_id` and the columns
/// that are no fields, as they came; then [`columns`], with nothing where a figure lies beyond every
/// number; then `faults`, with every fault of a row that is no house.
///
/// # Errors
/// [`ArrowError::SchemaError`] with every fault of the columns; what a cast says.
pub fn bands(batch: &RecordBatch, how: &TableSampling) -> Result<RecordBatch, ArrowError> {
    let schema = batch.schema();
    let plan = plan(&schema).map_err(|error| ArrowError::SchemaError(error.to_string()))?;
    let mut cells = Vec::new();
    for (place, role) in plan.roles().iter().enumerate() {
        if *role != Role::Pass {
            let name = plan.names()[place].trim();
            cells.push((name, Cells::read(batch.column(place))?));
        }
    }
    let rows = drawn(batch.num_rows(), &cells, how);
    let mut fields: Vec<Field> = Vec::new();
    let mut out: Vec<ArrayRef> = Vec::new();
    for place in plan.carried() {
        fields.push(schema.field(place).clone());
        out.push(Arc::clone(batch.column(place)));
    }
    for (place, name) in columns().enumerate() {
        fields.push(Field::new(name, DataType::Float64, true));
        out.push(Arc::new(rows.iter().map(|row| row.numbers[place]).collect::<Float64Array>()));
    }
    fields.push(Field::new("faults", DataType::Utf8, true));
    out.push(Arc::new(rows.iter().map(|row| row.faults.as_deref()).collect::<StringArray>()));
    RecordBatch::try_new(Arc::new(Schema::new(fields)), out)
}

/// The houses of a batch of flat rows, as the scalar door builds them, or every fault of a row that is none.
///
/// # Errors
/// [`ArrowError::SchemaError`] with every fault of the columns; what a cast says.
#[cfg(all(feature = "page", feature = "parquet"))]
pub(crate) fn houses(batch: &RecordBatch) -> Result<Vec<Result<House, InputError>>, ArrowError> {
    let schema = batch.schema();
    let plan = plan(&schema).map_err(|error| ArrowError::SchemaError(error.to_string()))?;
    let mut cells = Vec::new();
    for (place, role) in plan.roles().iter().enumerate() {
        if *role != Role::Pass {
            cells.push((plan.names()[place].trim(), Cells::read(batch.column(place))?));
        }
    }
    Ok((0..batch.num_rows()).map(|row| house(row, &cells)).collect())
}

fn house(row: usize, cells: &[(&str, Cells)]) -> Result<House, InputError> {
    let mut house = House::builder();
    for (name, column) in cells {
        house.give(name, column.at(row));
    }
    house.build()
}

/// What each column is.
///
/// # Errors
/// [`SchemaError`] with every fault of the columns; a column of lists of surfaces is one.
pub fn plan(schema: &Schema) -> Result<Plan, SchemaError> {
    let plan = Plan::new(schema.fields().iter().map(|field| field.name()))?;
    let mut faults = Vec::new();
    for (field, role) in schema.fields().iter().zip(plan.roles()) {
        let known = match field.data_type() {
            DataType::Dictionary(_, values) => !values.is_nested() && **values != DataType::Boolean,
            DataType::Null
            | DataType::Boolean
            | DataType::Utf8
            | DataType::LargeUtf8
            | DataType::Utf8View => true,
            other => other.is_numeric(),
        };
        if *role != Role::Pass && !known {
            faults.push(format!(
                "{} is {}: a number, text, or true and false was expected",
                field.name(),
                field.data_type()
            ));
        }
        if field.name().trim() == SURFACES {
            faults.push(format!("{SURFACES}: a row is a house with one wall here"));
        }
    }
    if faults.is_empty() { Ok(plan) } else { Err(SchemaError { faults }) }
}

#[cfg(feature = "parallel")]
fn drawn(rows: usize, cells: &[(&str, Cells)], how: &TableSampling) -> Vec<Row> {
    use rayon::prelude::*;
    let threads = how.threads.or_else(|| std::thread::available_parallelism().ok());
    let threads = threads.map_or(1, NonZeroUsize::get);
    if threads > 1 && rows > TASK_ROWS {
        // Our own pool: one shared by the whole process would not survive a fork.
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        if let Ok(pool) = pool {
            return pool.install(|| {
                (0..rows)
                    .into_par_iter()
                    .with_min_len(TASK_ROWS)
                    .map_init(Streams::default, |streams, row| one(row, cells, how, streams))
                    .collect()
            });
        }
    }
    in_turn(rows, cells, how)
}

#[cfg(not(feature = "parallel"))]
fn drawn(rows: usize, cells: &[(&str, Cells)], how: &TableSampling) -> Vec<Row> {
    in_turn(rows, cells, how)
}

fn in_turn(rows: usize, cells: &[(&str, Cells)], how: &TableSampling) -> Vec<Row> {
    let mut streams = Streams::default();
    (0..rows).map(|row| one(row, cells, how, &mut streams)).collect()
}

fn one(row: usize, cells: &[(&str, Cells)], how: &TableSampling, streams: &mut Streams) -> Row {
    let mut found = Row { numbers: NO_NUMBERS, faults: None };
    match house(row, cells) {
        Ok(house) => {
            let drawn = doubt_with(&house, &how.sampling, streams);
            let bands = FIGURES.iter().flat_map(|figure: &Figure| {
                let band = drawn.band(*figure);
                [band.p10, band.p50, band.p90]
            });
            let chances = [
                drawn.chance_of_payback_within(how.within_years),
                drawn.chance_of_no_payback(),
                drawn.chance_of_gain(),
            ];
            for (slot, number) in found.numbers.iter_mut().zip(bands.chain(chances.map(Some))) {
                *slot = number;
            }
        }
        Err(InputError { issues }) => {
            let faults: Vec<String> = issues.iter().map(ToString::to_string).collect();
            found.faults = Some(faults.join("; "));
        }
    }
    found
}
