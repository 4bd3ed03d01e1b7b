//! Scored files read back as tables, and tables written as files.

use super::csv::{put_integer, put_number, put_text};
use super::files::{Draft, FileError};
use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int64Type};
use arrow_array::{Array, ArrayRef, RecordBatch, RecordBatchReader, StringArray};
use arrow_cast::cast;
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use flate2::read::MultiGzDecoder;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use std::ffi::OsString;
use std::fs::File;
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Rows that are read at a time.
const BATCH_ROWS: usize = 8192;

/// What a file is, by the ending of its name; a standard stream is CSV.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Format {
    Csv,
    Gzip,
    Zstd,
    Parquet,
}

fn format(path: &Path) -> Result<Format, FileError> {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
    let endings = [
        (".csv", Format::Csv),
        (".csv.gz", Format::Gzip),
        (".csv.zst", Format::Zstd),
        (".parquet", Format::Parquet),
    ];
    if name == "-" {
        return Ok(Format::Csv);
    }
    let found = endings.iter().find(|(ending, _)| name.ends_with(ending));
    found.map(|(_, format)| *format).ok_or_else(|| FileError::Unusable {
        path: path.to_owned(),
        reason: "the name must end in .csv, .csv.gz, .csv.zst or .parquet".to_owned(),
    })
}

fn io_error(path: &Path) -> impl Fn(io::Error) -> FileError {
    move |source| FileError::Io { path: path.to_owned(), source }
}

fn unusable(path: &Path, reason: impl Into<String>) -> FileError {
    FileError::Unusable { path: path.to_owned(), reason: reason.into() }
}

/// Where `studbay score` puts the rejects of an output without being told.
pub fn rejects_beside(path: &Path) -> Option<PathBuf> {
    let name = path.file_name()?.to_string_lossy();
    let lower = name.to_ascii_lowercase();
    let endings = [".csv.gz", ".csv.zst", ".csv", ".parquet"];
    let ending = endings.into_iter().find(|ending| lower.ends_with(ending))?;
    let stem = name.get(..name.len() - ending.len())?;
    Some(path.with_file_name(format!("{stem}.rejects.csv")))
}

/// Opens a table: CSV, packed or not, with every cell as text, or Parquet.
///
/// # Errors
/// [`FileError`] for what cannot be opened, or is not what its name says.
pub fn open(path: &Path) -> Result<Box<dyn RecordBatchReader + Send>, FileError> {
    let format = format(path)?;
    if path.as_os_str() == "-" {
        return text(path, Box::new(io::stdin()));
    }
    let file = File::open(path).map_err(io_error(path))?;
    if file.metadata().map_err(io_error(path))?.is_dir() {
        return Err(io_error(path)(io::Error::from(io::ErrorKind::IsADirectory)));
    }
    match format {
        Format::Csv => text(path, Box::new(file)),
        Format::Gzip => text(path, Box::new(MultiGzDecoder::new(BufReader::new(file)))),
        Format::Zstd => {
            let decoder =
                zstd::Decoder::new(file).map_err(|error| unusable(path, error.to_string()))?;
            text(path, Box::new(decoder))
        }
        Format::Parquet => {
            let builder = ParquetRecordBatchReaderBuilder::try_new(file);
            let reader = builder.and_then(|builder| builder.with_batch_size(BATCH_ROWS).build());
            Ok(Box::new(reader.map_err(|error| unusable(path, error.to_string()))?))
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
    let header = rows.headers().map_err(|error| unusable(path, error.to_string()))?;
    if header.is_empty() {
        return Err(unusable(path, "the file is empty: a row with the columns' names is expected"));
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
    let format = format(path)?;
    let failed = io_error(path);
    if path.as_os_str() == "-" {
        return csv_text(batch, io::stdout().lock(), path)?.flush().map_err(&failed);
    }
    let place = true_place(path).map_err(&failed)?;
    if read.iter().any(|read| true_place(read).is_ok_and(|read| read == place)) {
        return Err(unusable(path, "this file is also an input"));
    }
    match place.metadata() {
        Ok(found) if !found.is_file() => return Err(unusable(path, "this is no regular file")),
        Ok(_) if !force => return Err(FileError::Exists { path: path.to_owned() }),
        _ => {}
    }
    let (draft, file) = Draft::create(&place, force)?;
    let file = BufWriter::new(file);
    let mut file = match format {
        Format::Csv => csv_text(batch, file, path)?,
        Format::Gzip => {
            let packed = flate2::write::GzEncoder::new(file, flate2::Compression::new(4));
            csv_text(batch, packed, path)?.finish().map_err(&failed)?
        }
        Format::Zstd => {
            let packed = zstd::Encoder::new(file, 3).map_err(&failed)?;
            csv_text(batch, packed, path)?.finish().map_err(&failed)?
        }
        Format::Parquet => {
            let writer = ArrowWriter::try_new(file, batch.schema(), None);
            let written = writer.and_then(|mut writer| {
                writer.write(batch)?;
                writer.into_inner()
            });
            written.map_err(|error| unusable(path, error.to_string()))?
        }
    };
    file.flush().map_err(&failed)?;
    draft.commit()?;
    Ok(())
}

/// Where a name truly lies, its links followed.
fn true_place(path: &Path) -> io::Result<PathBuf> {
    if let Ok(place) = path.canonicalize() {
        return Ok(place);
    }
    let name: OsString = path.file_name().unwrap_or_default().to_owned();
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    Ok(folder.unwrap_or(Path::new(".")).canonicalize()?.join(name))
}

/// The cells of a column as CSV text.
enum Cells {
    Number(arrow_array::Float64Array),
    Whole(arrow_array::Int64Array),
    Text(StringArray),
}

impl Cells {
    fn new(array: &ArrayRef) -> Result<Self, ArrowError> {
        Ok(match array.data_type() {
            DataType::Float64 => Self::Number(array.as_primitive::<Float64Type>().clone()),
            DataType::Int64 => Self::Whole(array.as_primitive::<Int64Type>().clone()),
            _ => Self::Text(cast(array, &DataType::Utf8)?.as_string().clone()),
        })
    }

    fn put(&self, out: &mut Vec<u8>, row: usize) {
        match self {
            Self::Number(array) if array.is_valid(row) => put_number(out, array.value(row)),
            Self::Whole(array) if array.is_valid(row) => put_integer(out, array.value(row)),
            Self::Text(array) if array.is_valid(row) => put_text(out, array.value(row).as_bytes()),
            _ => {}
        }
    }
}

/// Writes a table as CSV; gives the writer back, to be finished.
pub(crate) fn csv_text<W: Write>(
    batch: &RecordBatch,
    mut out: W,
    path: &Path,
) -> Result<W, FileError> {
    let columns: Vec<Cells> = batch
        .columns()
        .iter()
        .map(Cells::new)
        .collect::<Result<_, _>>()
        .map_err(|error| unusable(path, error.to_string()))?;
    let mut line = Vec::new();
    for field in batch.schema_ref().fields() {
        put_text(&mut line, field.name().as_bytes());
        line.push(b',');
    }
    for row in 0..=batch.num_rows() {
        line.pop();
        line.push(b'\n');
        out.write_all(&line).map_err(io_error(path))?;
        line.clear();
        if row < batch.num_rows() {
            for column in &columns {
                column.put(&mut line, row);
                line.push(b',');
            }
        }
    }
    Ok(out)
}
