//! Runs with a Parquet file at either end.

use super::csv_run::{CsvInput, Target};
use super::error::FileError;
use super::input::open_file;
use super::names::{Format, Packing};
use super::output::TextOut;
use super::pipeline::{Feed, Pool};
use super::progress::Meter;
use super::rejects::{Reject, Rejects};
use super::{Outputs, Ran};
use crate::batch::Counts;
use crate::batch::arrow::{ArrowScorer, FAULTS};
use crate::batch::csv::{Layout, put_header};
use crate::batch::parquet::{TableOut, TableSink, Texts, of_arrow};
use crate::house::NUMBERS;
use crate::readiness::Readiness;
use arrow_array::cast::AsArray;
use arrow_array::{Array, ArrayRef, BooleanArray, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, Schema, SchemaRef};
use arrow_select::filter::filter_record_batch;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use std::io::Read;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, sync_channel};

/// Rows of a batch: no more than the Arrow door scores on one thread, and little to hold.
const BATCH_ROWS: usize = 1 << 13;

/// A Parquet output and the threads that encode it.
struct TableTarget<'t> {
    out: TableOut,
    pool: &'t Pool,
    input: &'t Path,
}

impl Target for TableTarget<'_> {
    type Out = (Result<RecordBatch, ArrowError>, Vec<u8>);

    fn write(&mut self, (batch, spare): Self::Out) -> Result<Vec<u8>, FileError> {
        let batch = batch.map_err(|error| of_arrow(self.input, &error))?;
        self.out.write(&batch, self.pool)?;
        Ok(spare)
    }
}

/// CSV to Parquet.
pub(super) fn csv_to_parquet<R: Read>(
    table: CsvInput<'_, R>,
    layout: &Layout,
    outputs: &Outputs<'_>,
    rejects: Rejects,
) -> Result<Ran, FileError> {
    let pool = Pool::new(outputs.options.threads);
    let schema = Arc::clone(TableSink::new(layout).schema());
    let out = TableOut::create(outputs.path, outputs.place, &schema, outputs.options.force)?;
    let mut target = TableTarget { out, pool: &pool, input: outputs.path };
    let (counts, finished) =
        table.run(layout, &pool, || TableSink::new(layout), &mut target, rejects)?;
    Ok((counts, Some(target.out.finish(&pool)?), finished))
}

/// Where the scored batches of a Parquet input go.
enum Out {
    Text(Box<TextOut>),
    Table(Box<TableOut>),
}

/// What a batch became.
enum Written {
    Text(Vec<u8>),
    Table(RecordBatch),
}

/// A scored batch.
struct Done {
    written: Written,
    rows: u64,
    on_hold: u64,
    /// Rows of the batch that could not be scored, with their faults.
    rejects: Vec<(u64, String)>,
    /// Those rows as they came.
    rejected: RecordBatch,
}

/// What is the same for every batch.
struct Work<'w> {
    scorer: &'w ArrowScorer,
    /// The input under names of which no result's is one.
    renamed: SchemaRef,
    /// The columns that come out.
    schema: SchemaRef,
    text: bool,
}

impl Work<'_> {
    fn score(&self, batch: &RecordBatch) -> Result<Done, ArrowError> {
        let renamed = RecordBatch::try_new(Arc::clone(&self.renamed), batch.columns().to_vec())?;
        let scored = self.scorer.score(&renamed)?;
        let mut columns = scored.columns().to_vec();
        // The last column is `faults`; the two before it are readiness and findings.
        let words = |column: Option<ArrayRef>| {
            let column = column.ok_or_else(|| ArrowError::SchemaError("no results".to_owned()))?;
            arrow_cast::cast(&column, &DataType::Utf8)
        };
        let faults = words(columns.pop())?;
        let mut scored = RecordBatch::try_new(Arc::clone(&self.schema), columns)?;
        let faults = faults.as_string::<i32>();
        let mut rejects = Vec::new();
        let mut rejected = batch.slice(0, 0);
        if faults.null_count() < faults.len() {
            let texts = faults.iter().zip(0_u64..);
            rejects.extend(texts.filter_map(|(text, row)| Some((row, text?.to_owned()))));
            let is_rejected: BooleanArray =
                faults.iter().map(|text| Some(text.is_some())).collect();
            let is_scored: BooleanArray = faults.iter().map(|text| Some(text.is_none())).collect();
            rejected = filter_record_batch(batch, &is_rejected)?;
            scored = filter_record_batch(&scored, &is_scored)?;
        }
        let place = scored.num_columns().saturating_sub(2);
        let readiness = words(scored.columns().get(place).map(Arc::clone))?;
        let hold = Some(Readiness::Hold.as_str());
        let readiness = readiness.as_string::<i32>().iter();
        let on_hold = readiness.filter(|word| *word == hold).count() as u64;
        let rows = batch.num_rows() as u64;
        let written = if self.text {
            let mut texts = Texts::new(&scored)?;
            let mut out = Vec::with_capacity(512 * scored.num_rows());
            for row in 0..scored.num_rows() {
                texts.put_row(&mut out, row);
            }
            Written::Text(out)
        } else {
            Written::Table(scored)
        };
        Ok(Done { written, rows, on_hold, rejects, rejected })
    }
}

/// A Parquet input.
pub(super) fn from_parquet(
    input: &Path,
    outputs: &Outputs<'_>,
    meter: &Meter<'_>,
) -> Result<Ran, FileError> {
    let file = open_file(input)?;
    let bytes = file.metadata().map_err(FileError::writing(input))?.len();
    let builder = ParquetRecordBatchReaderBuilder::try_new(file)
        .map_err(|error| unreadable(input, &error.to_string()))?;
    let rows = u64::try_from(builder.metadata().file_metadata().num_rows()).unwrap_or(0);
    let reader = builder
        .with_batch_size(BATCH_ROWS)
        .build()
        .map_err(|error| unreadable(input, &error.to_string()))?;
    let schema = reader.schema();
    let renamed = rename(&schema, FAULTS, HIDDEN);
    let options = outputs.options;
    let scorer = ArrowScorer::new(&renamed, options.units)
        .map_err(|error| FileError::Schema { path: input.to_owned(), error })?;
    let mut fields = scorer.schema().fields().to_vec();
    fields.pop();
    let scored = rename(&Arc::new(Schema::new(fields)), HIDDEN, FAULTS);
    let names: Vec<String> = schema.fields().iter().map(|field| field.name().clone()).collect();
    let rejects = Rejects::new(outputs.rejects.clone(), &names, false).typed(schema);
    let pool = Pool::new(options.threads);
    let out = match outputs.format {
        Format::Csv(packing) => text_out(outputs, packing, &scored)?,
        Format::Parquet => {
            let table = TableOut::create(outputs.path, outputs.place, &scored, options.force)?;
            Out::Table(Box::new(table))
        }
    };
    meter.total.set(Some(bytes));
    let text = matches!(out, Out::Text(_));
    let work = Work { scorer: &scorer, renamed, schema: scored, text };
    let counts = Counts::default();
    let reader = Batches::new(reader, &pool);
    let mut feed =
        TableFeed { input, meter, reader, out, pool: &pool, rejects, counts, size: (rows, bytes) };
    feed.rejects.begin()?;
    pool.run(&mut feed, || (), |(), batch| work.score(&batch))?;
    let TableFeed { out, rejects, counts, .. } = feed;
    let draft = match out {
        Out::Text(text) => text.finish()?,
        Out::Table(table) => Some(table.finish(&pool)?),
    };
    Ok((counts, draft, rejects.finish()?))
}

fn text_out(outputs: &Outputs<'_>, packing: Packing, schema: &SchemaRef) -> Result<Out, FileError> {
    let mut text = TextOut::create(outputs.path, outputs.place, packing, outputs.options.force)?;
    let carried = schema.fields().len().saturating_sub(NUMBERS + 2);
    let names = schema.fields().iter().take(carried).map(|field| field.name().as_str());
    let mut header = Vec::new();
    put_header(&mut header, names, outputs.options.units);
    text.write(&header)?;
    Ok(Out::Text(Box::new(text)))
}

/// Stands for a column of the user's that has the name of the Arrow door's own last column.
const HIDDEN: &str = "\u{1}faults";

fn rename(schema: &SchemaRef, from: &str, to: &str) -> SchemaRef {
    let fields = schema.fields().iter().map(|field| {
        if field.name() == from {
            Arc::new(field.as_ref().clone().with_name(to))
        } else {
            Arc::clone(field)
        }
    });
    Arc::new(Schema::new_with_metadata(fields.collect::<Vec<_>>(), schema.metadata().clone()))
}

fn unreadable(path: &Path, reason: &str) -> FileError {
    let reason = reason.lines().next().unwrap_or_default();
    FileError::unusable(path, format!("this is no whole Parquet file: {reason}"))
}

/// The batches of a file, decoded ahead where there are threads for it.
enum Batches {
    Here(ParquetRecordBatchReader),
    /// `None` is the end: a thread that breaks off says nothing.
    Ahead(Receiver<Option<Result<RecordBatch, ArrowError>>>),
    Ended,
}

/// Batches that wait, decoded, to be scored.
const AHEAD: usize = 4;

impl Batches {
    fn new(reader: ParquetRecordBatchReader, pool: &Pool) -> Self {
        if !pool.has_threads() {
            return Self::Here(reader);
        }
        let (sender, receiver) = sync_channel(AHEAD);
        // It ends with the file, or when nobody listens any more.
        std::thread::spawn(move || {
            let mut ends = reader.map(Some).chain([None]);
            ends.try_for_each(|batch| sender.send(batch))
        });
        Self::Ahead(receiver)
    }

    fn next(&mut self) -> Result<Option<RecordBatch>, ArrowError> {
        match self {
            Self::Here(reader) => reader.next().transpose(),
            Self::Ahead(receiver) => {
                let broken = |_| ArrowError::ParquetError("decoding broke off".to_owned());
                let next = receiver.recv().map_err(broken)?;
                if next.is_none() {
                    *self = Self::Ended;
                }
                next.transpose()
            }
            Self::Ended => Ok(None),
        }
    }
}

struct TableFeed<'f> {
    input: &'f Path,
    meter: &'f Meter<'f>,
    reader: Batches,
    out: Out,
    pool: &'f Pool,
    rejects: Rejects,
    counts: Counts,
    /// Rows and bytes of the file.
    size: (u64, u64),
}

impl Feed for TableFeed<'_> {
    type Job = RecordBatch;
    type Done = Result<Done, ArrowError>;

    fn next(&mut self) -> Result<Option<RecordBatch>, FileError> {
        self.reader.next().map_err(|error| unreadable(self.input, &error.to_string()))
    }

    fn take(&mut self, done: Self::Done) -> Result<(), FileError> {
        let done = done.map_err(|error| of_arrow(self.input, &error))?;
        match (&mut self.out, &done.written) {
            (Out::Text(out), Written::Text(text)) => out.write(text)?,
            (Out::Table(out), Written::Table(batch)) => out.write(batch, self.pool)?,
            _ => {}
        }
        let rejects: Vec<Reject> = done
            .rejects
            .into_iter()
            .map(|(row, faults)| Reject { row: self.counts.read + row + 1, line: None, faults })
            .collect();
        if !rejects.is_empty() {
            self.write_rejects(&rejects, &done.rejected)?;
        }
        let rejected = rejects.len() as u64;
        let scored = done.rows - rejected;
        self.counts += Counts { read: done.rows, scored, rejected, on_hold: done.on_hold };
        self.meter.rows.set(self.counts.read);
        self.meter.rejects.set(self.counts.rejected);
        let (rows, bytes) = self.size;
        let share = u128::from(bytes) * u128::from(self.counts.read) / u128::from(rows.max(1));
        self.meter.bytes.set(u64::try_from(share).unwrap_or(bytes));
        Ok(())
    }

    fn idle(&mut self) -> Result<(), FileError> {
        self.meter.tick()
    }
}

impl TableFeed<'_> {
    fn write_rejects(&mut self, rejects: &[Reject], rows: &RecordBatch) -> Result<(), FileError> {
        if self.rejects.wants_rows() {
            return self.rejects.write_rows(rejects, rows);
        }
        let mut texts = Texts::new(rows).map_err(|error| of_arrow(self.input, &error))?;
        for (row, reject) in rejects.iter().enumerate() {
            self.rejects.write(reject, &texts.row(row))?;
        }
        Ok(())
    }
}
