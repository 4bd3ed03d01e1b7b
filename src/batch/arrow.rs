//! Arrow record batches in and out.

use super::Counts;
use super::columns::BLOCK_ROWS;
use super::data::{Data, sort};
use super::fill::{fill, words_of};
use super::kernel::Scorer;
use super::nested::{self, Surfaces};
use super::pages::{Pages, typed};
use super::plan::{Plan, Role, SchemaError};
use super::wide::all_finite;
use super::worded::{Lexicon, READINESS_BYTES};
use super::words::Words;
use crate::error::Issue;
use crate::house::{NUMBERS, RESULTS};
use crate::readiness::FindingSet;
use crate::units::UnitSystem;
use arrow_array::builder::StringBuilder;
use arrow_array::{ArrayRef, Float64Array, Int64Array, RecordBatch, StringArray};
use arrow_buffer::{BooleanBuffer, Buffer, NullBuffer, OffsetBuffer, ScalarBuffer};
use arrow_schema::{ArrowError, DataType, Field as ArrowField, Schema, SchemaRef};
use std::sync::{Arc, Mutex, PoisonError};

/// The name of the output column that says why a row could not be scored.
pub const FAULTS: &str = "faults";

/// Scores record batches of one schema.
///
/// Out comes a row for every row in: the house's name and the columns that are not of the
/// contract as they were, then every result, then [`FAULTS`]. Where a row cannot be scored, its
/// results are null and `faults` says every fault; elsewhere `faults` is null.
///
/// Numbers may be integers, floats of any width or decimals (cast to `f64`, the nearest), or text
/// that reads as a number; words may be any kind of string, dictionaries included; yes/no
/// questions also take booleans. Null is "not given"; NaN is a fault.
///
/// A table with a column `surfaces`, a list of structs, holds houses with several surfaces.
#[derive(Clone, Debug)]
pub struct ArrowScorer {
    plan: Arc<Plan>,
    carried: Vec<usize>,
    /// The column of the lists of surfaces, where the table has one.
    surfaces: Option<usize>,
    units: UnitSystem,
    schema: SchemaRef,
    benches: Benches,
}

/// What scoring a batch needs beside the batch, and may be used for the next one.
#[derive(Debug)]
struct Workbench {
    scorer: Scorer,
    /// The words that each column may hold.
    words: Vec<Option<Words>>,
    lexicon: Lexicon,
    findings: Vec<FindingSet>,
}

/// Workbenches that nobody is at: one for each thread that scores, in time.
#[derive(Debug, Default)]
struct Benches(Mutex<Vec<Workbench>>);

impl Clone for Benches {
    /// A clone makes its own.
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl Benches {
    fn take(&self, plan: &Arc<Plan>) -> Workbench {
        let idle = self.0.lock().unwrap_or_else(PoisonError::into_inner).pop();
        idle.unwrap_or_else(|| Workbench {
            scorer: Scorer::new(Arc::clone(plan)),
            words: plan.roles().iter().map(|role| words_of(*role)).collect(),
            lexicon: Lexicon::default(),
            findings: Vec::new(),
        })
    }

    fn put(&self, bench: Workbench) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).push(bench);
    }
}

impl ArrowScorer {
    /// A scorer for batches of this schema, with results in one unit system.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault of the columns: missing, twice, of a type that the field
    /// cannot hold.
    pub fn new(schema: &Schema, units: UnitSystem) -> Result<Self, SchemaError> {
        let names = schema.fields().iter().map(|field| field.name());
        let surfaces = nested::column(schema);
        let plan = if surfaces.is_some() { Plan::nested(names)? } else { Plan::new(names)? };
        let mut faults = Vec::new();
        if let Some(column) = surfaces {
            faults.extend(nested::faults(schema, column));
        }
        for (field, role) in schema.fields().iter().zip(plan.roles()) {
            if *role != Role::Pass && sort(field.data_type()).is_none() {
                let reason = "a number, text, or true and false was expected";
                faults.push(format!("{} is {}: {reason}", field.name(), field.data_type()));
            }
        }
        let mut carried = plan.carried();
        carried.retain(|column| Some(*column) != surfaces);
        let mut fields: Vec<Arc<ArrowField>> =
            carried.iter().map(|&column| Arc::clone(&schema.fields()[column])).collect();
        for (place, def) in RESULTS.iter().enumerate() {
            let data_type = match place {
                _ if place >= NUMBERS => DataType::Utf8,
                BAGS => DataType::Int64,
                _ => DataType::Float64,
            };
            fields.push(Arc::new(ArrowField::new(def.name(units), data_type, true)));
        }
        fields.push(Arc::new(ArrowField::new(FAULTS, DataType::Utf8, true)));
        for (place, field) in fields.iter().enumerate().skip(carried.len()) {
            if fields[..place].iter().any(|other| other.name() == field.name()) {
                faults.push(format!(
                    "the table has a column {}, a name that a result takes; rename it",
                    field.name()
                ));
            }
        }
        if !faults.is_empty() {
            return Err(SchemaError { faults });
        }
        let (plan, schema) = (Arc::new(plan), Arc::new(Schema::new(fields)));
        Ok(Self { plan, carried, surfaces, units, schema, benches: Benches::default() })
    }

    /// The schema of what comes out.
    pub fn schema(&self) -> &SchemaRef {
        &self.schema
    }

    /// Scores a batch, on one thread; rows keep their order and none is lost.
    ///
    /// # Errors
    /// [`ArrowError`] when the batch is not of the scorer's schema.
    pub fn score(&self, batch: &RecordBatch) -> Result<RecordBatch, ArrowError> {
        self.score_counted(batch).map(|(scored, _)| scored)
    }

    /// The same, and how many rows of each kind there were.
    pub(super) fn score_counted(
        &self,
        batch: &RecordBatch,
    ) -> Result<(RecordBatch, Counts), ArrowError> {
        if batch.num_columns() != self.plan.roles().len() {
            return Err(ArrowError::SchemaError(format!(
                "a batch has {} columns, the table {}",
                batch.num_columns(),
                self.plan.roles().len()
            )));
        }
        let data = batch
            .columns()
            .iter()
            .zip(self.plan.roles())
            .map(|(array, role)| match role {
                Role::Pass => Ok(Data::Nothing),
                Role::HouseId | Role::Field(..) => Data::cast(array),
            })
            .collect::<Result<Vec<_>, _>>()?;
        let surfaces = self.surfaces.map(|column| Surfaces::read(batch.column(column)));
        let surfaces = surfaces.transpose()?;
        let rows = batch.num_rows();
        let mut bench = self.benches.take(&self.plan);
        let mut pages = Pages::new(lengths(rows));
        let mut parts = pages.parts_mut();
        let (numbers, texts) = parts.split_at_mut(NUMBERS);
        let mut out = Output {
            numbers: numbers.iter_mut().map(|part| typed(part)).collect(),
            full: [true; NUMBERS],
            findings: std::mem::take(&mut bench.findings),
            rejects: Vec::new(),
        };
        out.findings.resize(rows, FindingSet::default());
        if let Some(surfaces) = &surfaces {
            self.nested(surfaces, &data, &mut out);
        } else {
            self.flat(&mut bench, &data, &mut out);
        }
        let Output { numbers, full, findings, rejects } = out;
        let number_nulls = finish_numbers(numbers, full);
        let nulls = rejected_rows(rows, &rejects);
        let words = bench.lexicon.read(&findings, nulls.as_ref());
        let on_hold = words.on_hold();
        let [readiness_ends, readiness, code_ends] = texts else {
            return Err(ArrowError::ComputeError("parts are missing".to_owned()));
        };
        let readiness_length = words.write_readiness(typed(readiness_ends), readiness)?;
        let codes = words.write_codes(typed(code_ends))?;
        bench.findings = findings;
        self.benches.put(bench);

        let mut columns: Vec<ArrayRef> =
            self.carried.iter().map(|&column| Arc::clone(batch.column(column))).collect();
        let mut buffers = pages.freeze().into_iter();
        let numbers = buffers.by_ref().take(NUMBERS).zip(number_nulls).enumerate();
        columns.extend(numbers.map(|(place, (buffer, nulls))| number_array(place, buffer, nulls)));
        let (Some(readiness_ends), Some(readiness), Some(code_ends)) =
            (buffers.next(), buffers.next(), buffers.next())
        else {
            return Err(ArrowError::ComputeError("parts are missing".to_owned()));
        };
        let readiness = readiness.slice_with_length(0, readiness_length);
        for (ends, bytes) in [(readiness_ends, readiness), (code_ends, codes)] {
            // Plain strings, since half of what pyarrow does is not there for views.
            let ends = OffsetBuffer::new(ScalarBuffer::from(ends));
            columns.push(Arc::new(StringArray::try_new(ends, bytes, nulls.clone())?));
        }
        columns.push(fault_array(rows, &rejects));
        let counts = Counts {
            read: rows as u64,
            scored: (rows - rejects.len()) as u64,
            rejected: rejects.len() as u64,
            on_hold,
        };
        Ok((RecordBatch::try_new(Arc::clone(&self.schema), columns)?, counts))
    }

    /// Scores houses with one wall, block by block.
    fn flat(&self, bench: &mut Workbench, data: &[Data], out: &mut Output<'_>) {
        let Workbench { scorer, words, .. } = bench;
        let rows = out.findings.len();
        for from in (0..rows).step_by(BLOCK_ROWS) {
            let block = from..rows.min(from + BLOCK_ROWS);
            scorer.columns.begin(block.len());
            for ((role, words), data) in self.plan.roles().iter().zip(&*words).zip(data) {
                fill(&mut scorer.columns, *role, words.as_ref(), data, block.clone());
            }
            let mut numbers: Vec<&mut [f64]> =
                out.numbers.iter_mut().map(|column| &mut column[block.clone()]).collect();
            scorer.score(&mut numbers, |column, row| data[column].cell(from + row));
            for ((column, full), def) in numbers.into_iter().zip(&mut out.full).zip(RESULTS) {
                if self.units == UnitSystem::Si && !def.quantity.is_shared() {
                    for value in &mut *column {
                        *value = def.quantity.si_from_ip(*value);
                    }
                }
                *full &= all_finite(column);
            }
            out.findings[block.clone()].copy_from_slice(&scorer.outcome.findings[..block.len()]);
            let rejects = scorer.outcome.rejects.iter();
            out.rejects.extend(rejects.map(|(row, issues)| (from + row, joined(issues))));
        }
    }

    /// The same for houses that list their surfaces, one by one through the scalar door.
    fn nested(&self, surfaces: &Surfaces, data: &[Data], out: &mut Output<'_>) {
        for (row, found) in out.findings.iter_mut().enumerate() {
            let scored = match surfaces.assess(&self.plan, data, row) {
                Ok(assessment) => {
                    *found = assessment.findings;
                    assessment.numbers()
                }
                Err(error) => {
                    out.rejects.push((row, joined(&error.issues)));
                    [f64::NAN; NUMBERS]
                }
            };
            for ((to, number), def) in out.numbers.iter_mut().zip(scored).zip(RESULTS) {
                to[row] = match self.units {
                    UnitSystem::Si if !def.quantity.is_shared() => def.quantity.si_from_ip(number),
                    UnitSystem::Si | UnitSystem::Ip => number,
                };
            }
        }
        for (full, column) in out.full.iter_mut().zip(&out.numbers) {
            *full = all_finite(column);
        }
    }
}

/// Every fault of a row.
fn joined(issues: &[Issue]) -> String {
    issues.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// What a batch becomes.
struct Output<'p> {
    numbers: Vec<&'p mut [f64]>,
    /// Whether a column has a number in every row.
    full: [bool; NUMBERS],
    findings: Vec<FindingSet>,
    /// Row and faults.
    rejects: Vec<(usize, String)>,
}

/// Bytes of what so many rows become: the numbers, then of the words of readiness their ends and
/// their text, then of the codes their ends. The text of the codes is as long as it happens to be.
fn lengths(rows: usize) -> Vec<usize> {
    let ends = (rows + 1) * size_of::<i32>();
    let mut lengths = vec![rows * size_of::<f64>(); NUMBERS];
    lengths.extend([ends, (rows + 1) * READINESS_BYTES, ends]);
    lengths
}

/// Place of `bags` among the results: a whole number.
const BAGS: usize = NUMBERS - 1;

/// What is not finite becomes null, as in an assessment; the bags become whole numbers where they
/// are, since both kinds have eight bytes.
fn finish_numbers(mut columns: Vec<&mut [f64]>, full: [bool; NUMBERS]) -> Vec<Option<NullBuffer>> {
    let nulls = columns.iter().zip(full).map(|(column, full)| {
        let valid = |row: usize| column[row].is_finite();
        (!full).then(|| NullBuffer::new(BooleanBuffer::collect_bool(column.len(), valid)))
    });
    let nulls = nulls.collect();
    for bags in columns.iter_mut().skip(BAGS).flat_map(|column| column.iter_mut()) {
        #[expect(clippy::cast_possible_truncation, reason = "a count of bags, saturating")]
        let whole = *bags as i64;
        *bags = f64::from_bits(whole.cast_unsigned());
    }
    nulls
}

fn number_array(place: usize, buffer: Buffer, nulls: Option<NullBuffer>) -> ArrayRef {
    match place {
        BAGS => Arc::new(Int64Array::new(ScalarBuffer::from(buffer), nulls)),
        _ => Arc::new(Float64Array::new(ScalarBuffer::from(buffer), nulls)),
    }
}

/// Which rows were rejected, as the nulls of the result columns that are words.
fn rejected_rows(rows: usize, rejects: &[(usize, String)]) -> Option<NullBuffer> {
    if rejects.is_empty() {
        return None;
    }
    let mut valid = vec![true; rows];
    for (row, _) in rejects {
        valid[*row] = false;
    }
    Some(NullBuffer::from(valid))
}

fn fault_array(rows: usize, rejects: &[(usize, String)]) -> ArrayRef {
    if rejects.is_empty() {
        return arrow_array::new_null_array(&DataType::Utf8, rows);
    }
    let bytes = rejects.iter().map(|(_, text)| text.len()).sum();
    let mut builder = StringBuilder::with_capacity(rows, bytes);
    let mut rejects = rejects.iter().peekable();
    for row in 0..rows {
        match rejects.next_if(|(rejected, _)| *rejected == row) {
            Some((_, text)) => builder.append_value(text),
            None => builder.append_null(),
        }
    }
    Arc::new(builder.finish())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{Cell, House, assess, samples::any_row};
    use arrow_array::Array;
    use proptest::prelude::*;

    /// Rows as one text table, the way a CSV file would hold them.
    fn batch(rows: &[Vec<(&'static str, String)>], numbers: bool) -> RecordBatch {
        let mut names: Vec<&'static str> = rows.iter().flatten().map(|(name, _)| *name).collect();
        names.sort_unstable();
        names.dedup();
        let columns = names.iter().map(|name| {
            let cells = rows
                .iter()
                .map(|row| row.iter().find(|(n, _)| n == name).map(|(_, text)| text.as_str()));
            let parsed: Option<Vec<Option<f64>>> =
                cells.clone().map(|c| c.map_or(Some(None), |t| t.parse().ok().map(Some))).collect();
            let array: ArrayRef = match parsed {
                Some(parsed) if numbers => Arc::new(Float64Array::from(parsed)),
                _ => Arc::new(cells.collect::<StringArray>()),
            };
            (*name, array, true)
        });
        RecordBatch::try_from_iter_with_nullable(columns).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Every door is the same calculation: a batch has the bits and the faults of the scalar
        /// door, row by row, whatever the columns' types.
        #[test]
        fn a_batch_has_the_bits_and_faults_of_the_scalar_door(
            rows in prop::collection::vec(any_row(), 1..700),
            numbers in any::<bool>(),
        ) {
            let batch = batch(&rows, numbers);
            let scorer = ArrowScorer::new(batch.schema_ref(), UnitSystem::Ip).unwrap();
            let scored = scorer.score(&batch).unwrap();
            prop_assert_eq!(scored.num_rows(), rows.len());
            let faults = scored.column_by_name(FAULTS).unwrap();
            let faults = faults.as_any().downcast_ref::<StringArray>().unwrap();
            for (place, row) in rows.iter().enumerate() {
                let mut house = House::builder();
                for name in batch.schema_ref().fields().iter().map(|f| f.name()) {
                    let cell = row.iter().find(|(n, _)| n == name).map(|(_, text)| text);
                    let parsed = cell.and_then(|text| text.parse::<f64>().ok());
                    let typed = batch.column_by_name(name).unwrap().data_type().is_numeric();
                    match (cell, parsed) {
                        (Some(_), Some(number)) if typed => house.give(name, Cell::Number(number)),
                        (Some(text), _) => house.give(name, Cell::Text(text)),
                        (None, _) => {}
                    }
                }
                match house.build() {
                    Err(error) => {
                        let texts: Vec<String> =
                            error.issues.iter().map(ToString::to_string).collect();
                        prop_assert_eq!(faults.value(place), texts.join("; "));
                    }
                    Ok(house) => {
                        prop_assert!(faults.is_null(place), "{}", faults.value(place));
                        let assessment = assess(&house);
                        for (number, def) in assessment.numbers().iter().zip(RESULTS) {
                            let column = scored.column_by_name(def.ip).unwrap();
                            let column = arrow_cast::cast(column, &DataType::Float64).unwrap();
                            let column = column.as_any().downcast_ref::<Float64Array>().unwrap();
                            if number.is_nan() {
                                prop_assert!(column.is_null(place), "{}", def.ip);
                            } else {
                                prop_assert_eq!(
                                    column.value(place).to_bits(), number.to_bits(), "{}", def.ip
                                );
                            }
                        }
                        let codes = scored.column_by_name("findings").unwrap();
                        let codes = codes.as_any().downcast_ref::<StringArray>().unwrap();
                        prop_assert_eq!(codes.value(place), assessment.findings.codes());
                    }
                }
            }
        }
    }
}
