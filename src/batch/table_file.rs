//! Scored files read back as tables, and tables written as files.

use super::csv::put_text;
use super::files::{
    Draft, FileError, Format, Pool, TextOut, Unpacked, check_output, is_stream, open_file,
    rejects_of,
};
use super::parquet::{TableOut, Texts};
use arrow_array::{ArrayRef, RecordBatch, RecordBatchReader, StringArray};
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Rows that are read at a time.
const BATCH_ROWS: usize = 8192;

/// Bytes of text that are written at a time.
const HELD_BYTES: usize = 1 << 16;

/// Where `studbay score` puts the rejects of an output without being told.
pub fn rejects_beside(path: &Path) -> Option<PathBuf> {
    rejects_of(path)
}

/// Opens a table: CSV, packed or not, with every cell as text, or Parquet.
///
/// # Errors
/// [`FileError`] for what cannot be opened, or is not what its name says.
pub fn open(path: &Path) -> Result<Box<dyn RecordBatchReader + Send>, FileError> {
    let format = Format::of(path)?;
    if is_stream(path) {
        return text(path, Box::new(io::stdin()));
    }
    let file = open_file(path)?;
    match format {
        Format::Csv(packing) => text(path, Box::new(Unpacked::new(path, file, packing)?)),
        Format::Parquet => {
            let builder = ParquetRecordBatchReaderBuilder::try_new(file);
            let reader = builder.and_then(|builder| builder.with_batch_size(BATCH_ROWS).build());
            Ok(Box::new(reader.map_err(|error| FileError::unusable(path, error.to_string()))?))
        }
    }
}

/// A CSV table whose cells stay text.
struct TextReader {
    path: PathBuf,
    rows: csv::Reader<Box<dyn Read + Send>>,
    schema: SchemaRef,
    record: csv::StringRecord,
}

fn text(
    path: &Path,
    input: Box<dyn Read + Send>,
) -> Result<Box<dyn RecordBatchReader + Send>, FileError> {
    let mut rows = csv::Reader::from_reader(input);
    let header = rows.headers().map_err(|error| FileError::unusable(path, error.to_string()))?;
    if header.is_empty() {
        return Err(FileError::unusable(
            path,
            "the file is empty: a row with the columns' names is expected",
        ));
    }
    let fields: Vec<Field> =
        header.iter().map(|name| Field::new(name, DataType::Utf8, true)).collect();
    Ok(Box::new(TextReader {
        path: path.to_owned(),
        rows,
        schema: Arc::new(Schema::new(fields)),
        record: csv::StringRecord::new(),
    }))
}

impl Iterator for TextReader {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut cells: Vec<Vec<String>> = vec![Vec::new(); self.schema.fields().len()];
        while cells.first().is_some_and(|column| column.len() < BATCH_ROWS) {
            match self.rows.read_record(&mut self.record) {
                Ok(true) => {
                    for (column, cell) in cells.iter_mut().zip(&self.record) {
                        column.push(cell.to_owned());
                    }
                }
                Ok(false) => break,
                Err(error) => {
                    let text = format!("{}: {error}", self.path.display());
                    return Some(Err(ArrowError::CsvError(text)));
                }
            }
        }
        if cells.first().is_none_or(Vec::is_empty) {
            return None;
        }
        let columns =
            cells.into_iter().map(|column| Arc::new(StringArray::from(column)) as ArrayRef);
        Some(RecordBatch::try_new(Arc::clone(&self.schema), columns.collect()))
    }
}

impl RecordBatchReader for TextReader {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }
}

/// Writes a table; the file appears under its name when it is whole. In CSV, text that a
/// spreadsheet would run as a formula gets an apostrophe in front.
///
/// # Errors
/// [`FileError`], also where the file is there already and `force` is not given, or is one of
/// those that were read.
pub fn write(
    path: &Path,
    batch: &RecordBatch,
    force: bool,
    read: &[&Path],
) -> Result<(), FileError> {
    let others: Vec<(&Path, &str)> = read.iter().map(|read| (*read, "input")).collect();
    let place = if is_stream(path) { path.to_owned() } else { check_output(path, &others, force)? };
    let draft = match Format::of(path)? {
        Format::Csv(packing) => {
            let mut out = TextOut::create(path, &place, packing, force)?;
            put_csv(batch, path, |lines| out.write(lines))?;
            out.finish()?
        }
        Format::Parquet => {
            let pool = Pool::new(1);
            let mut out = TableOut::create(path, &place, batch.schema_ref(), force)?;
            out.write(batch, &pool)?;
            Some(out.finish(&pool)?)
        }
    };
    draft.map(Draft::commit).transpose()?;
    Ok(())
}

/// A table as CSV text.
///
/// # Errors
/// [`FileError`] for a column that cannot be written; `path` is for its message.
#[cfg(feature = "page")]
pub(crate) fn csv_text(batch: &RecordBatch, path: &Path) -> Result<Vec<u8>, FileError> {
    let mut text = Vec::new();
    put_csv(batch, path, |lines| {
        text.extend_from_slice(lines);
        Ok(())
    })?;
    Ok(text)
}

/// Hands on a table as CSV, some lines at a time.
fn put_csv(
    batch: &RecordBatch,
    path: &Path,
    mut put: impl FnMut(&[u8]) -> Result<(), FileError>,
) -> Result<(), FileError> {
    let failed = |error: ArrowError| FileError::unusable(path, error.to_string());
    let mut lines = Vec::new();
    for (place, field) in batch.schema_ref().fields().iter().enumerate() {
        if place > 0 {
            lines.push(b',');
        }
        put_text(&mut lines, field.name().as_bytes());
    }
    lines.push(b'\n');
    let mut texts = Texts::new(batch).map_err(failed)?;
    for row in 0..batch.num_rows() {
        texts.put_row(&mut lines, row);
        if lines.len() >= HELD_BYTES {
            put(&lines)?;
            lines.clear();
        }
    }
    put(&lines)
}
