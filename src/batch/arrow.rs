//! Arrow record batches in and out.

use super::Counts;
use super::columns::{BLOCK_ROWS, Columns};
use super::decimal;
use super::kernel::Scorer;
use super::nested::{self, Surfaces};
use super::pages::{Pages, typed};
use super::plan::{Plan, Role, SchemaError};
use super::wide::all_finite;
use super::worded::{Lexicon, READINESS_BYTES};
use super::words::Words;
use crate::error::Issue;
use crate::house::{Cell, Field, Kind, NUMBERS, RESULTS};
use crate::readiness::FindingSet;
use crate::units::UnitSystem;
use arrow_array::builder::StringBuilder;
use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, GenericStringArray, Int64Array, LargeStringArray,
    OffsetSizeTrait, RecordBatch, StringArray, StringViewArray,
};
use arrow_buffer::{BooleanBuffer, Buffer, NullBuffer, OffsetBuffer, ScalarBuffer};
use arrow_schema::{ArrowError, DataType, Field as ArrowField, Schema, SchemaRef};
use std::ops::Range;
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

/// A column in one of the few types that the blocks are filled from.
pub(super) enum Data {
    Number(Float64Array),
    Whole(Int64Array),
    Text(Text),
    Bool(BooleanArray),
    Surfaces(Box<Surfaces>),
    Nothing,
}

/// A column of text as it came: no string is copied.
pub(super) enum Text {
    Small(StringArray),
    Large(LargeStringArray),
    View(StringViewArray),
    /// Places in a list of distinct strings.
    Coded(Int64Array, Box<Text>),
}

impl Text {
    fn read(array: &ArrayRef) -> Result<Self, ArrowError> {
        use arrow_array::cast::AsArray;
        Ok(match array.data_type() {
            DataType::Utf8 => Self::Small(array.as_string().clone()),
            DataType::LargeUtf8 => Self::Large(array.as_string().clone()),
            DataType::Utf8View => Self::View(array.as_string_view().clone()),
            _ => {
                let Some(coded) = array.as_any_dictionary_opt() else {
                    let text = arrow_cast::cast(array, &DataType::Utf8)?;
                    return Ok(Self::Small(text.as_string().clone()));
                };
                let places = arrow_cast::cast(coded.keys(), &DataType::Int64)?;
                let words = Self::read(coded.values())?;
                Self::Coded(places.as_primitive().clone(), Box::new(words))
            }
        })
    }

    fn len(&self) -> usize {
        match self {
            Self::Small(array) => array.len(),
            Self::Large(array) => array.len(),
            Self::View(array) => array.len(),
            Self::Coded(places, _) => places.len(),
        }
    }

    /// The text of a row; `None` for null.
    #[inline]
    fn get(&self, row: usize) -> Option<&str> {
        match self {
            Self::Small(array) => array.is_valid(row).then(|| array.value(row)),
            Self::Large(array) => array.is_valid(row).then(|| array.value(row)),
            Self::View(array) => array.is_valid(row).then(|| array.value(row)),
            Self::Coded(places, words) => {
                let place = places.is_valid(row).then(|| places.value(row))?;
                words.get(usize::try_from(place).ok()?)
            }
        }
    }
}

impl Text {
    /// The places of words in their list. False where some row has no plain word of the list: then
    /// its code is NaN where it has none at all, and each row has to be looked at.
    fn codes(&self, words: &Words, rows: Range<usize>, codes: &mut [f64]) -> bool {
        let code = |text: Option<&str>| match text {
            Some(text) if !blank(text) => words.code(text.as_bytes()),
            _ => f64::NAN,
        };
        let base = rows.start;
        match self {
            // A short list of distinct words is looked up once, and not for each row.
            Self::Coded(places, distinct) if distinct.len() <= 64 => {
                let known: Vec<f64> = (0..distinct.len()).map(|i| code(distinct.get(i))).collect();
                for (slot, row) in codes.iter_mut().zip(rows) {
                    let place = places.is_valid(row).then(|| places.value(row));
                    let place = place.and_then(|place| usize::try_from(place).ok());
                    *slot = place.and_then(|p| known.get(p)).copied().unwrap_or(f64::NAN);
                }
            }
            Self::Small(array) if array.null_count() == 0 => {
                words.plain_codes(array.value_data(), &array.value_offsets()[base..], codes);
            }
            Self::Large(array) if array.null_count() == 0 => {
                words.plain_codes(array.value_data(), &array.value_offsets()[base..], codes);
            }
            _ => {
                for (slot, row) in codes.iter_mut().zip(rows.clone()) {
                    *slot = code(self.get(row));
                }
            }
        }
        if !all_finite(codes) {
            // Capitals, spaces: what is no plain word may still be a word.
            for (row, slot) in codes.iter_mut().enumerate() {
                if slot.is_nan() {
                    *slot = code(self.get(base + row));
                }
            }
        }
        all_finite(codes)
    }

    /// Whether all of these are plainly names of houses: neither missing, long nor blank.
    fn are_plain_ids(&self, rows: Range<usize>) -> bool {
        fn plain<O: OffsetSizeTrait>(array: &GenericStringArray<O>, rows: Range<usize>) -> bool {
            let (offsets, bytes) = (array.value_offsets(), array.value_data());
            array.null_count() == 0
                && rows.fold(true, |plain, row| {
                    let (from, to) = (offsets[row].as_usize(), offsets[row + 1].as_usize());
                    let first = bytes.get(from).copied().unwrap_or(b' ');
                    plain & (1..=200).contains(&(to - from)) & first.is_ascii_graphic()
                })
        }
        match self {
            Self::Small(array) => plain(array, rows),
            Self::Large(array) => plain(array, rows),
            Self::View(_) | Self::Coded(..) => false,
        }
    }
}

/// The nearest `f64`.
#[expect(clippy::cast_precision_loss, reason = "the declared rule beyond 2^53")]
const fn nearest(whole: i64) -> f64 {
    whole as f64
}

impl Data {
    /// Casts a column by the declared rules. Integers beyond 2^53 and decimals take the nearest
    /// `f64`.
    pub(super) fn cast(array: &ArrayRef) -> Result<Self, ArrowError> {
        use arrow_array::cast::AsArray;
        let cast = |to: &DataType| arrow_cast::cast(array, to);
        Ok(match sort(array.data_type()) {
            Some(Sort::Number) => Self::Number(match array.data_type() {
                DataType::Dictionary(_, values) => {
                    // A cast of its own first: from there the rules are those of the values.
                    return Self::cast(&cast(values)?);
                }
                DataType::Int64 => return Ok(Self::Whole(array.as_primitive().clone())),
                kind if kind.is_decimal() => decimal::nearest(array)?,
                _ => cast(&DataType::Float64)?.as_primitive().clone(),
            }),
            Some(Sort::Text) => Self::Text(Text::read(array)?),
            Some(Sort::Bool) => Self::Bool(array.as_boolean().clone()),
            Some(Sort::Nothing) | None => Self::Nothing,
        })
    }

    pub(super) fn cell(&self, row: usize) -> Cell<'_> {
        match self {
            Self::Number(array) if array.is_valid(row) => Cell::Number(array.value(row)),
            Self::Whole(array) if array.is_valid(row) => Cell::Number(nearest(array.value(row))),
            Self::Text(text) => text.get(row).map_or(Cell::Blank, Cell::Text),
            Self::Bool(array) if array.is_valid(row) => Cell::Bool(array.value(row)),
            _ => Cell::Blank,
        }
    }
}

pub(super) enum Sort {
    Number,
    Text,
    Bool,
    Nothing,
}

/// What a type is read as; `None` for what no field can hold.
pub(super) fn sort(data_type: &DataType) -> Option<Sort> {
    Some(match data_type {
        DataType::Null => Sort::Nothing,
        DataType::Boolean => Sort::Bool,
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => Sort::Text,
        DataType::Decimal32(..)
        | DataType::Decimal64(..)
        | DataType::Decimal128(..)
        | DataType::Decimal256(..) => Sort::Number,
        other if other.is_numeric() => Sort::Number,
        DataType::Dictionary(_, values) => match sort(values)? {
            Sort::Bool => return None,
            sort => sort,
        },
        _ => return None,
    })
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
            .enumerate()
            .map(|(column, (array, role))| match role {
                Role::Pass if Some(column) == self.surfaces => {
                    Surfaces::read(array).map(|surfaces| Data::Surfaces(Box::new(surfaces)))
                }
                Role::Pass => Ok(Data::Nothing),
                Role::HouseId | Role::Field(..) => Data::cast(array),
            })
            .collect::<Result<Vec<_>, _>>()?;
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
        if let Some(Data::Surfaces(surfaces)) = self.surfaces.and_then(|column| data.get(column)) {
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

/// The words that a column may hold.
fn words_of(role: Role) -> Option<Words> {
    match role {
        Role::Field(field, _) => match field.def().kind {
            Kind::Choice(choices) => Some(Words::new(choices)),
            _ => None,
        },
        Role::HouseId | Role::Pass => None,
    }
}

/// Fills one field of a block from one column.
fn fill(columns: &mut Columns, role: Role, words: Option<&Words>, data: &Data, rows: Range<usize>) {
    let base = rows.start;
    match role {
        Role::Pass => {}
        Role::HouseId => {
            if matches!(data, Data::Text(text) if text.are_plain_ids(rows.clone())) {
                return;
            }
            for row in 0..rows.len() {
                if !is_id(data, base + row) {
                    columns.suspect(row);
                }
            }
        }
        Role::Field(field, units) => fill_field(columns, field, units, words, data, rows),
    }
}

/// Whether the scalar door would take this as a house's name without a second look.
fn is_id(data: &Data, row: usize) -> bool {
    match data {
        // Bytes are at least as many as characters: a long name is looked at again.
        Data::Text(text) => text.get(row).is_some_and(|text| text.len() <= 200 && !blank(text)),
        Data::Number(array) => array.is_valid(row) && array.value(row).is_finite(),
        Data::Whole(array) => array.is_valid(row),
        Data::Bool(_) | Data::Surfaces(_) | Data::Nothing => false,
    }
}

fn fill_field(
    columns: &mut Columns,
    field: Field,
    units: UnitSystem,
    words: Option<&Words>,
    data: &Data,
    rows: Range<usize>,
) {
    let base = rows.start;
    match (field.def().kind, words, data) {
        (Kind::Number | Kind::Whole, _, Data::Number(array)) => {
            let values = &array.values()[rows.clone()];
            match array.nulls().map(|nulls| nulls.slice(base, rows.len())) {
                Some(nulls) if nulls.null_count() > 0 => {
                    columns.fill(field, units, |row| values[row], |row| nulls.is_valid(row));
                }
                _ => columns.fill_all(field, units, values),
            }
        }
        (Kind::Number | Kind::Whole, _, Data::Whole(array)) => {
            let mut values = [f64::NAN; BLOCK_ROWS];
            let values = &mut values[..rows.len()];
            let whole = &array.values()[rows.clone()];
            values.iter_mut().zip(whole).for_each(|(value, whole)| *value = nearest(*whole));
            match array.nulls().map(|nulls| nulls.slice(base, rows.len())) {
                Some(nulls) if nulls.null_count() > 0 => {
                    columns.fill(field, units, |row| values[row], |row| nulls.is_valid(row));
                }
                _ => columns.fill_all(field, units, values),
            }
        }
        (Kind::Choice(_), Some(words), Data::Text(text)) => {
            let mut codes = [f64::NAN; BLOCK_ROWS];
            let codes = &mut codes[..rows.len()];
            if text.codes(words, rows, codes) {
                columns.fill_all(field, units, codes);
            } else {
                let given = |row: usize| text.get(base + row).is_some_and(|text| !blank(text));
                columns.fill(field, units, |row| codes[row], given);
            }
        }
        (Kind::Number | Kind::Whole, _, Data::Text(text)) => {
            let cell = |row: usize| text.get(base + row).filter(|text| !blank(text));
            let number = |row: usize| cell(row).and_then(|text| text.trim().parse().ok());
            let number = |row: usize| number(row).unwrap_or(f64::NAN);
            columns.fill(field, units, number, |row| cell(row).is_some());
        }
        (_, _, Data::Nothing) => columns.fill(field, units, |_| f64::NAN, |_| false),
        // A word where a number is meant, or the reverse: the scalar door says so; yes and no as
        // booleans go there too.
        (_, _, data) => {
            let given = |row: usize| !matches!(data.cell(base + row), Cell::Blank);
            columns.fill(field, units, |_| f64::NAN, given);
        }
    }
}

fn blank(text: &str) -> bool {
    // Most cells show what they are by their first byte.
    text.as_bytes().first().is_none_or(|first| !first.is_ascii_graphic()) && text.trim().is_empty()
}

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
    use crate::house::{House, assess, samples::any_row};
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
