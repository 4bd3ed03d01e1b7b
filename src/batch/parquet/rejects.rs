//! Rejects as a Parquet file.

use super::write::{TableOut, of_arrow};
use crate::batch::files::{Draft, FileError, Place, Pool, Reject};
use arrow_array::builder::StringBuilder;
use arrow_array::{ArrayRef, RecordBatch, StringArray, UInt64Array};
use arrow_schema::{DataType, Field, Schema, SchemaRef};
use std::path::PathBuf;
use std::sync::Arc;

/// Rejects as text are gathered up to this many rows.
const MOST_ROWS: usize = 4096;

/// A Parquet file of rejects in the making.
pub(crate) struct RejectTable {
    path: PathBuf,
    out: TableOut,
    pool: Pool,
    schema: SchemaRef,
    lines: bool,
    waiting: Vec<Reject>,
    cells: Vec<StringBuilder>,
}

impl RejectTable {
    /// Begins a file with these columns; the original ones are of the types of `types`, or text.
    pub(crate) fn create(
        place: &Place,
        names: &[String],
        lines: bool,
        types: Option<&SchemaRef>,
    ) -> Result<Self, FileError> {
        let own = if lines { 3 } else { 2 };
        let mut fields: Vec<Field> = Vec::with_capacity(names.len());
        for (index, name) in names.iter().enumerate() {
            let original = index.checked_sub(own);
            fields.push(match (original, types) {
                (None, _) if index + 1 < own => Field::new(name, DataType::UInt64, true),
                (Some(original), Some(types)) => types.field(original).clone(),
                (None, _) | (Some(_), None) => Field::new(name, DataType::Utf8, false),
            });
        }
        let schema: SchemaRef = Arc::new(Schema::new(fields));
        let out = TableOut::create(&place.path, &place.lies, &schema, place.force)?;
        let cells = (own..names.len()).map(|_| StringBuilder::new()).collect();
        let (path, pool) = (place.path.clone(), Pool::new(1));
        Ok(Self { path, out, pool, schema, lines, waiting: Vec::new(), cells })
    }

    /// Writes a reject whose cells are text.
    pub(crate) fn write_text(&mut self, reject: &Reject, cells: &[&str]) -> Result<(), FileError> {
        self.waiting.push(reject.clone());
        for (builder, cell) in self.cells.iter_mut().zip(cells) {
            builder.append_value(cell);
        }
        if self.waiting.len() == MOST_ROWS { self.flush() } else { Ok(()) }
    }

    fn flush(&mut self) -> Result<(), FileError> {
        if self.waiting.is_empty() {
            return Ok(());
        }
        let rejects = std::mem::take(&mut self.waiting);
        let finish = |builder: &mut StringBuilder| Arc::new(builder.finish()) as ArrayRef;
        let cells = self.cells.iter_mut().map(finish).collect();
        self.write(&rejects, cells)
    }

    /// Writes rejects with their original rows.
    pub(crate) fn write_rows(
        &mut self,
        rejects: &[Reject],
        rows: &RecordBatch,
    ) -> Result<(), FileError> {
        self.write(rejects, rows.columns().to_vec())
    }

    fn write(&mut self, rejects: &[Reject], cells: Vec<ArrayRef>) -> Result<(), FileError> {
        let mut columns: Vec<ArrayRef> = Vec::with_capacity(self.schema.fields().len());
        columns.push(Arc::new(UInt64Array::from_iter_values(rejects.iter().map(|r| r.row))));
        if self.lines {
            columns.push(Arc::new(rejects.iter().map(|r| r.line).collect::<UInt64Array>()));
        }
        let faults = rejects.iter().map(|reject| reject.faults.as_str());
        columns.push(Arc::new(StringArray::from_iter_values(faults)));
        columns.extend(cells);
        let batch = RecordBatch::try_new(Arc::clone(&self.schema), columns)
            .map_err(|error| of_arrow(&self.path, &error))?;
        self.out.write(&batch, &self.pool)
    }

    /// Ends the file, which still has no name.
    pub(crate) fn finish(mut self: Box<Self>) -> Result<Option<Draft>, FileError> {
        self.flush()?;
        let Self { out, pool, .. } = *self;
        out.finish(&pool).map(Some)
    }
}
