//! A Parquet output that is encoded column by column, on every thread.

use crate::batch::files::{Draft, FileError, Pool};
use crate::house::Field as HouseField;
use arrow_array::RecordBatch;
use arrow_schema::{ArrowError, DataType, SchemaRef};
use parquet::arrow::arrow_writer::{
    ArrowColumnWriter, ArrowLeafColumn, ArrowRowGroupWriterFactory, compute_leaves,
};
use parquet::arrow::{ArrowWriter, arrow_writer::ArrowWriterOptions};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::errors::ParquetError;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::ColumnPath;
use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};

/// Rows of a row group: what is held, encoded, until it can be written.
const GROUP_ROWS: usize = 1 << 17;

/// A Parquet file in the making.
pub(crate) struct TableOut {
    path: PathBuf,
    draft: Draft,
    writer: SerializedFileWriter<BufWriter<File>>,
    factory: ArrowRowGroupWriterFactory,
    schema: SchemaRef,
    columns: Vec<ArrowColumnWriter>,
    /// Rows in the group that is begun.
    rows: usize,
}

/// Numbers that look random in their low bytes are best split into streams of bytes; words are best
/// written once each.
fn properties(schema: &SchemaRef) -> WriterProperties {
    let level = ZstdLevel::try_new(1).unwrap_or_default();
    let mut properties = WriterProperties::builder()
        .set_created_by(concat!("studbay ", env!("CARGO_PKG_VERSION")).to_owned())
        .set_compression(Compression::ZSTD(level))
        .set_statistics_enabled(EnabledStatistics::Chunk);
    for field in schema.fields() {
        let path = ColumnPath::from(field.name().as_str());
        match field.data_type() {
            DataType::Float32 | DataType::Float64 => {
                properties = properties
                    .set_column_dictionary_enabled(path.clone(), false)
                    .set_column_compression(path.clone(), Compression::LZ4_RAW)
                    .set_column_encoding(path, Encoding::BYTE_STREAM_SPLIT);
            }
            _ if field.name() == HouseField::HouseId.def().ip => {
                properties = properties.set_column_dictionary_enabled(path, false);
            }
            _ => {}
        }
    }
    properties.build()
}

impl TableOut {
    /// Begins a file; `place` is where the file of that name truly lies.
    pub(crate) fn create(
        path: &Path,
        place: &Path,
        schema: &SchemaRef,
        force: bool,
    ) -> Result<Self, FileError> {
        if let Some(twice) = twice(schema) {
            let reason = format!("the column {twice} stands twice, which Parquet does not allow");
            return Err(FileError::unusable(path, reason));
        }
        let (draft, file) = Draft::create(place, force)?;
        let options = ArrowWriterOptions::new().with_properties(properties(schema));
        let buffered = BufWriter::with_capacity(1 << 16, file);
        let writer = ArrowWriter::try_new_with_options(buffered, SchemaRef::clone(schema), options);
        let split = writer.and_then(ArrowWriter::into_serialized_writer);
        let (writer, factory) = split.map_err(|error| writing(path, error))?;
        let (path, schema) = (path.to_owned(), SchemaRef::clone(schema));
        Ok(Self { path, draft, writer, factory, schema, columns: Vec::new(), rows: 0 })
    }

    /// Writes a batch; row groups do not depend on how rows come in batches.
    pub(crate) fn write(&mut self, batch: &RecordBatch, pool: &Pool) -> Result<(), FileError> {
        let mut from = 0;
        while from < batch.num_rows() {
            let rows = (batch.num_rows() - from).min(GROUP_ROWS - self.rows);
            let part = batch.slice(from, rows);
            self.encode(&part, pool).map_err(|error| writing(&self.path, error))?;
            from += rows;
            self.rows += rows;
            if self.rows == GROUP_ROWS {
                self.end_group(pool).map_err(|error| writing(&self.path, error))?;
            }
        }
        Ok(())
    }

    fn encode(&mut self, batch: &RecordBatch, pool: &Pool) -> Result<(), ParquetError> {
        if self.columns.is_empty() {
            let group = self.writer.flushed_row_groups().len();
            self.columns = self.factory.create_column_writers(group)?;
        }
        let mut leaves: Vec<ArrowLeafColumn> = Vec::with_capacity(self.columns.len());
        for (field, array) in self.schema.fields().iter().zip(batch.columns()) {
            leaves.extend(compute_leaves(field, array)?);
        }
        let jobs: Vec<_> = self.columns.iter_mut().zip(leaves).collect();
        let done = pool.map(jobs, |(column, leaf)| column.write(&leaf));
        done.into_iter().collect()
    }

    fn end_group(&mut self, pool: &Pool) -> Result<(), ParquetError> {
        if self.rows == 0 {
            return Ok(());
        }
        self.rows = 0;
        let columns = std::mem::take(&mut self.columns);
        let mut group = self.writer.next_row_group()?;
        for chunk in pool.map(columns, ArrowColumnWriter::close) {
            chunk?.append_to_row_group(&mut group)?;
        }
        group.close()?;
        Ok(())
    }

    /// Ends the file, which still has no name.
    pub(crate) fn finish(mut self, pool: &Pool) -> Result<Draft, FileError> {
        let ended = self.end_group(pool);
        ended.map_err(|error| writing(&self.path, error))?;
        let buffered = self.writer.into_inner().map_err(|error| writing(&self.path, error))?;
        buffered.into_inner().map_err(|error| FileError::Io {
            path: self.path.clone(),
            source: error.into_error(),
        })?;
        Ok(self.draft)
    }
}

/// A name that stands twice.
fn twice(schema: &SchemaRef) -> Option<&str> {
    let names: Vec<&str> = schema.fields().iter().map(|field| field.name().as_str()).collect();
    names.iter().enumerate().find(|(place, name)| names[..*place].contains(name)).map(|(_, n)| *n)
}

/// What went wrong while a Parquet file was written: mostly what the system says.
fn writing(path: &Path, error: ParquetError) -> FileError {
    match error {
        ParquetError::External(source) => match source.downcast::<std::io::Error>() {
            Ok(source) => FileError::Io { path: path.to_owned(), source: *source },
            Err(source) => FileError::unusable(path, source.to_string()),
        },
        other => FileError::unusable(path, format!("it cannot be written: {other}")),
    }
}

/// What went wrong while an Arrow table was made.
pub(crate) fn of_arrow(path: &Path, error: &ArrowError) -> FileError {
    FileError::unusable(path, error.to_string())
}
