//! Tables of record batches, whole and as a stream: cut into slices, each scored on one thread.
//!
//! The slices depend on the table alone, so what comes out is the same whatever the threads.

use super::arrow::{ArrowScorer, FAULTS};
use super::{Counts, SchemaError};
use crate::units::UnitSystem;
use arrow_array::cast::AsArray;
use arrow_array::{
    Array, ArrayRef, BooleanArray, GenericStringArray, Int64Array, LargeListArray, ListArray,
    OffsetSizeTrait, RecordBatch, RecordBatchReader, StringViewArray, StructArray, UInt64Array,
};
use arrow_buffer::BooleanBuffer;
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use std::collections::VecDeque;
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
#[cfg(feature = "parallel")]
use std::sync::OnceLock;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// A reader of record batches that may move between threads.
pub type Reader = Box<dyn RecordBatchReader + Send>;

/// Rows that one thread takes at a time: their results fill a few large pages of memory.
const SLICE_ROWS: usize = 1 << 15;
/// The same where little may wait: the results of a stream are handed on and forgotten.
const STREAM_ROWS: usize = 1 << 14;

/// How long scoring may go on before somebody is asked whether to go on.
const WAVE: Duration = Duration::from_millis(50);

/// Slices for each thread before the first question: some 20 ms.
const FIRST_SLICES: usize = 4;
/// Slices for each thread between two questions, at most.
const MOST_SLICES: usize = 64;

/// The name of the column of rejects that holds the row, counted from 1.
pub const ROW: &str = "row";

/// A slice of a table with the number of its first row, counted from 1.
#[derive(Clone, Debug)]
struct Slice {
    first: u64,
    batch: RecordBatch,
}

/// What became of a slice.
#[derive(Debug)]
struct Piece {
    scored: RecordBatch,
    rejects: Option<RecordBatch>,
    counts: Counts,
}

/// Scores the slices of a table.
#[derive(Debug)]
struct Slices {
    scorer: ArrowScorer,
    rejects: SchemaRef,
    threads: NonZeroUsize,
    /// Made when it is first needed, and our own: a pool shared by the whole process would not
    /// survive a fork.
    #[cfg(feature = "parallel")]
    pool: OnceLock<Option<rayon::ThreadPool>>,
}

impl Slices {
    fn new(
        input: &Schema,
        units: UnitSystem,
        threads: Option<NonZeroUsize>,
    ) -> Result<Self, SchemaError> {
        let scorer = ArrowScorer::new(input, units)?;
        let threads = threads
            .or_else(|| std::thread::available_parallelism().ok())
            .unwrap_or(NonZeroUsize::MIN);
        let rejects = rejects_schema(input);
        Ok(Self {
            scorer,
            rejects,
            threads,
            #[cfg(feature = "parallel")]
            pool: OnceLock::new(),
        })
    }

    /// Scores slices, each on one thread; what comes out is in their order.
    fn score(&self, slices: Vec<Slice>, keep: bool) -> Result<Vec<Piece>, ArrowError> {
        #[cfg(feature = "parallel")]
        if slices.len() > 1 && self.threads.get() > 1 {
            use rayon::prelude::*;
            let make = || {
                let builder = rayon::ThreadPoolBuilder::new().num_threads(self.threads.get());
                builder.thread_name(|place| format!("studbay {place}")).build().ok()
            };
            // A system that gives no more threads still gets its results.
            if let Some(pool) = self.pool.get_or_init(make) {
                return pool.install(|| {
                    slices.into_par_iter().map(|slice| self.piece(slice, keep)).collect()
                });
            }
        }
        slices.into_iter().map(|slice| self.piece(slice, keep)).collect()
    }

    /// Scores one slice; `keep` asks for the rejects apart.
    fn piece(&self, slice: Slice, keep: bool) -> Result<Piece, ArrowError> {
        let Slice { first, batch } = slice;
        let batch = readable(batch)?;
        let (scored, counts) = self.scorer.score_counted(&batch)?;
        let faults = scored.column(scored.num_columns() - 1);
        let rejects = if keep && counts.rejected > 0 {
            Some(self.rejects(first, &batch, faults)?)
        } else {
            None
        };
        Ok(Piece { scored, rejects, counts })
    }

    fn rejects(
        &self,
        first: u64,
        batch: &RecordBatch,
        faults: &ArrayRef,
    ) -> Result<RecordBatch, ArrowError> {
        let places: Vec<u64> = match faults.nulls() {
            None => (0..batch.num_rows() as u64).collect(),
            Some(nulls) => nulls.valid_indices().map(|place| place as u64).collect(),
        };
        let row = |place: &u64| i64::try_from(first + place).unwrap_or(i64::MAX);
        let rows: Int64Array = places.iter().map(row).collect::<Vec<_>>().into();
        let places = UInt64Array::from(places);
        let take = |column: &ArrayRef| arrow_select::take::take(column, &places, None);
        let mut columns: Vec<ArrayRef> = vec![Arc::new(rows)];
        for column in batch.columns().iter().chain([faults]) {
            columns.push(take(column)?);
        }
        RecordBatch::try_new(Arc::clone(&self.rejects), columns)
    }
}

/// The row, the table's own columns, what is wrong.
pub(crate) fn rejects_schema(input: &Schema) -> SchemaRef {
    let taken = |name: &str| input.fields().iter().any(|field| field.name() == name);
    let mut row = ROW.to_owned();
    for number in 2.. {
        if !taken(&row) {
            break;
        }
        row = format!("{ROW}_{number}");
    }
    let mut fields = vec![Arc::new(Field::new(row, DataType::Int64, false))];
    fields.extend(input.fields().iter().map(Arc::clone));
    fields.push(Arc::new(Field::new(FAULTS, DataType::Utf8, false)));
    Arc::new(Schema::new(fields))
}

/// The batch with text that can be read as text: a stranger's bytes may be anything, and are not
/// checked on the way in. Bytes that are no UTF-8 become the replacement character.
pub(crate) fn readable(batch: RecordBatch) -> Result<RecordBatch, ArrowError> {
    let columns: Vec<Option<ArrayRef>> =
        batch.columns().iter().map(mended).collect::<Result<_, _>>()?;
    if columns.iter().all(Option::is_none) {
        return Ok(batch);
    }
    let columns = columns.into_iter().zip(batch.columns());
    let columns = columns.map(|(new, old)| new.unwrap_or_else(|| Arc::clone(old))).collect();
    RecordBatch::try_new(batch.schema(), columns)
}

/// The array with its text mended, where it has to be.
fn mended(array: &ArrayRef) -> Result<Option<ArrayRef>, ArrowError> {
    Ok(match array.data_type() {
        DataType::Utf8 => mended_text::<i32>(array),
        DataType::LargeUtf8 => mended_text::<i64>(array),
        DataType::Utf8View => {
            let text = array.as_string_view();
            let bytes = text.clone().to_binary_view();
            let sound = bytes.iter().flatten().all(|bytes| std::str::from_utf8(bytes).is_ok());
            (!sound).then(|| {
                let texts = bytes.iter().map(|bytes| bytes.map(String::from_utf8_lossy));
                Arc::new(texts.collect::<StringViewArray>()) as ArrayRef
            })
        }
        DataType::Dictionary(..) => match array.as_any_dictionary_opt() {
            Some(dictionary) => {
                mended(dictionary.values())?.map(|values| dictionary.with_values(values))
            }
            None => None,
        },
        DataType::Struct(fields) => {
            let table = array.as_struct();
            let new: Vec<_> = table.columns().iter().map(mended).collect::<Result<_, _>>()?;
            if new.iter().all(Option::is_none) {
                return Ok(None);
            }
            let new = new.into_iter().zip(table.columns());
            let new = new.map(|(new, old)| new.unwrap_or_else(|| Arc::clone(old))).collect();
            let table = StructArray::try_new(fields.clone(), new, table.nulls().cloned())?;
            Some(Arc::new(table))
        }
        DataType::List(field) => {
            let list: &ListArray = array.as_list();
            let (offsets, nulls) = (list.offsets().clone(), list.nulls().cloned());
            let new = |values| ListArray::try_new(Arc::clone(field), offsets, values, nulls);
            mended(list.values())?.map(new).transpose()?.map(|list| Arc::new(list) as ArrayRef)
        }
        DataType::LargeList(field) => {
            let list: &LargeListArray = array.as_list();
            let (offsets, nulls) = (list.offsets().clone(), list.nulls().cloned());
            let new = |values| LargeListArray::try_new(Arc::clone(field), offsets, values, nulls);
            mended(list.values())?.map(new).transpose()?.map(|list| Arc::new(list) as ArrayRef)
        }
        _ => None,
    })
}

fn mended_text<O: OffsetSizeTrait>(array: &ArrayRef) -> Option<ArrayRef> {
    let text: &GenericStringArray<O> = array.as_string();
    let offsets = text.value_offsets();
    let place = |offset: &O| offset.as_usize();
    let (first, last) = (offsets.first().map_or(0, place), offsets.last().map_or(0, place));
    let bytes = text.values().get(first..last).unwrap_or_default();
    let sound = bytes.is_ascii()
        || std::str::from_utf8(bytes).is_ok_and(|whole| {
            offsets.iter().all(|offset| whole.is_char_boundary(place(offset) - first))
        });
    if sound {
        return None;
    }
    let cell = |row: usize| {
        let bytes = text.values().get(place(&offsets[row])..place(&offsets[row + 1]));
        text.is_valid(row).then(|| String::from_utf8_lossy(bytes.unwrap_or_default()))
    };
    let texts: GenericStringArray<O> = (0..text.len()).map(cell).collect();
    Some(Arc::new(texts))
}

/// Cuts the batches of a reader.
struct Cutter {
    reader: Reader,
    rest: Option<RecordBatch>,
    next: u64,
    most_rows: usize,
}

impl Cutter {
    fn new(reader: Reader, most_rows: usize) -> Self {
        Self { reader, rest: None, next: 1, most_rows }
    }

    /// The next slice; `None` at the end.
    fn slice(&mut self) -> Result<Option<Slice>, ArrowError> {
        let batch = loop {
            match self.rest.take() {
                Some(batch) if batch.num_rows() > 0 => break batch,
                _ => match self.read()? {
                    Some(batch) => self.rest = Some(batch),
                    None => return Ok(None),
                },
            }
        };
        let rows = batch.num_rows().min(self.most_rows);
        if rows < batch.num_rows() {
            self.rest = Some(batch.slice(rows, batch.num_rows() - rows));
        }
        let first = self.next;
        self.next += rows as u64;
        Ok(Some(Slice { first, batch: batch.slice(0, rows) }))
    }

    /// Asks the reader. A stranger's stream that breaks its own rules must not end the process.
    fn read(&mut self) -> Result<Option<RecordBatch>, ArrowError> {
        let reader = &mut self.reader;
        match catch_unwind(AssertUnwindSafe(|| reader.next())) {
            Ok(batch) => batch.transpose(),
            Err(_) => Err(ArrowError::CDataInterface("the stream failed without a word".into())),
        }
    }

    /// Up to so many slices.
    fn slices(&mut self, most: usize) -> Result<Vec<Slice>, ArrowError> {
        let mut slices = Vec::with_capacity(most);
        while slices.len() < most {
            match self.slice()? {
                Some(slice) => slices.push(slice),
                None => break,
            }
        }
        Ok(slices)
    }
}

/// A table that is being scored, wave by wave.
pub struct Scoring {
    slices: Slices,
    cutter: Cutter,
    wave: usize,
    done: Scored,
}

/// A scored table.
#[derive(Clone, Debug)]
pub struct Scored {
    schema: SchemaRef,
    batches: Vec<RecordBatch>,
    rejects_schema: SchemaRef,
    rejects: Vec<RecordBatch>,
    counts: Counts,
}

impl Scoring {
    /// Begins with a reader.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault of the columns.
    pub fn new(
        reader: Reader,
        units: UnitSystem,
        threads: Option<NonZeroUsize>,
    ) -> Result<Self, SchemaError> {
        let slices = Slices::new(&reader.schema(), units, threads)?;
        let done = Scored {
            schema: Arc::clone(slices.scorer.schema()),
            batches: Vec::new(),
            rejects_schema: Arc::clone(&slices.rejects),
            rejects: Vec::new(),
            counts: Counts::default(),
        };
        Ok(Self {
            wave: slices.threads.get() * FIRST_SLICES,
            slices,
            cutter: Cutter::new(reader, SLICE_ROWS),
            done,
        })
    }

    /// Scores on for a twentieth of a second or so; false at the end of the table.
    ///
    /// # Errors
    /// [`ArrowError`] where the reader fails.
    pub fn advance(&mut self) -> Result<bool, ArrowError> {
        let slices = self.cutter.slices(self.wave)?;
        if slices.is_empty() {
            return Ok(false);
        }
        let begun = Instant::now();
        for piece in self.slices.score(slices, true)? {
            self.done.counts += piece.counts;
            self.done.batches.push(piece.scored);
            self.done.rejects.extend(piece.rejects);
        }
        let (taken, threads) = (begun.elapsed(), self.slices.threads.get());
        if taken < WAVE / 2 {
            self.wave = (self.wave * 2).min(threads * MOST_SLICES);
        } else if taken > WAVE {
            self.wave = (self.wave / 2).max(threads);
        }
        Ok(true)
    }

    /// What is done so far.
    pub fn counts(&self) -> Counts {
        self.done.counts
    }

    /// What is done.
    pub fn finish(self) -> Scored {
        self.done
    }
}

impl Scored {
    /// Rows in all.
    pub fn counts(&self) -> Counts {
        self.counts
    }

    /// A row for every row of the table: nulls and faults where it could not be scored.
    pub fn rows(&self) -> (&SchemaRef, &[RecordBatch]) {
        (&self.schema, &self.batches)
    }

    /// The rows that could not be scored: their numbers, counted from 1, their cells, their faults.
    pub fn rejects(&self) -> (&SchemaRef, &[RecordBatch]) {
        (&self.rejects_schema, &self.rejects)
    }

    /// The rows with results, without the column of faults.
    ///
    /// # Errors
    /// [`ArrowError`] where a column has a type whose rows cannot be picked.
    pub fn results(&self) -> Result<(SchemaRef, Vec<RecordBatch>), ArrowError> {
        let columns: Vec<usize> = (0..self.schema.fields().len() - 1).collect();
        let schema = Arc::new(self.schema.project(&columns)?);
        let mut batches = Vec::with_capacity(self.batches.len());
        for batch in &self.batches {
            let faults = batch.column(columns.len());
            let kept = batch.project(&columns)?;
            if faults.null_count() == faults.len() {
                batches.push(kept);
                continue;
            }
            let scored = match faults.nulls() {
                Some(nulls) => !nulls.inner(),
                None => BooleanBuffer::new_unset(faults.len()),
            };
            let scored = BooleanArray::new(scored, None);
            let kept = arrow_select::filter::filter_record_batch(&kept, &scored)?;
            if kept.num_rows() > 0 {
                batches.push(kept);
            }
        }
        Ok((schema, batches))
    }
}

/// Scores record batches as they are read: a row out for every row in, and memory flat.
pub struct ScoringReader {
    slices: Slices,
    cutter: Cutter,
    ready: VecDeque<RecordBatch>,
    counts: Arc<Mutex<Counts>>,
    failed: bool,
}

impl ScoringReader {
    /// A reader of results.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault of the columns.
    pub fn new(
        reader: Reader,
        units: UnitSystem,
        threads: Option<NonZeroUsize>,
    ) -> Result<Self, SchemaError> {
        let slices = Slices::new(&reader.schema(), units, threads)?;
        Ok(Self {
            slices,
            cutter: Cutter::new(reader, STREAM_ROWS),
            ready: VecDeque::new(),
            counts: Arc::default(),
            failed: false,
        })
    }

    /// What is done so far, to be looked at while the reader is elsewhere.
    pub fn counts(&self) -> Arc<Mutex<Counts>> {
        Arc::clone(&self.counts)
    }

    fn more(&mut self) -> Result<(), ArrowError> {
        // Two slices a thread keep every thread at work, and little waits.
        let slices = self.cutter.slices(2 * self.slices.threads.get())?;
        for piece in self.slices.score(slices, false)? {
            *self.counts.lock().unwrap_or_else(PoisonError::into_inner) += piece.counts;
            self.ready.push_back(piece.scored);
        }
        Ok(())
    }
}

impl Iterator for ScoringReader {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.ready.is_empty() && !self.failed {
            // Whoever reads may be across a boundary that no panic can pass, nor a NUL in a text.
            let outcome = catch_unwind(AssertUnwindSafe(|| self.more())).unwrap_or_else(|_| {
                Err(ArrowError::ComputeError("scoring failed; please report it".into()))
            });
            if let Err(error) = outcome {
                self.failed = true;
                let text = error.to_string().replace('\0', "\u{fffd}");
                return Some(Err(ArrowError::ComputeError(text)));
            }
        }
        self.ready.pop_front().map(Ok)
    }
}

impl RecordBatchReader for ScoringReader {
    fn schema(&self) -> SchemaRef {
        Arc::clone(self.slices.scorer.schema())
    }
}
