//! Record batches as CSV text.

use crate::batch::csv::{put_integer, put_number, put_text};
use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int64Type};
use arrow_array::{
    Array, ArrayRef, Float64Array, Int64Array, LargeStringArray, RecordBatch, StringArray,
    StringViewArray,
};
use arrow_cast::display::{ArrayFormatter, FormatOptions};
use arrow_schema::{ArrowError, DataType};
use std::fmt::Write;

/// The columns of a batch, ready to be written as text.
pub(crate) struct Texts<'b> {
    columns: Vec<Text<'b>>,
    buffer: String,
}

enum Text<'b> {
    String(&'b StringArray),
    LargeString(&'b LargeStringArray),
    View(&'b StringViewArray),
    Float(&'b Float64Array),
    Integer(&'b Int64Array),
    Other(&'b ArrayRef, ArrayFormatter<'b>),
}

const FORMAT: FormatOptions<'static> = FormatOptions::new().with_display_error(true);

impl<'b> Text<'b> {
    fn new(array: &'b ArrayRef) -> Result<Self, ArrowError> {
        Ok(match array.data_type() {
            DataType::Utf8 => Self::String(array.as_string()),
            DataType::LargeUtf8 => Self::LargeString(array.as_string()),
            DataType::Utf8View => Self::View(array.as_string_view()),
            DataType::Float64 => Self::Float(array.as_primitive::<Float64Type>()),
            DataType::Int64 => Self::Integer(array.as_primitive::<Int64Type>()),
            _ => Self::Other(array, ArrayFormatter::try_new(array, &FORMAT)?),
        })
    }

    fn is_null(&self, row: usize) -> bool {
        match self {
            Self::String(array) => array.is_null(row),
            Self::LargeString(array) => array.is_null(row),
            Self::View(array) => array.is_null(row),
            Self::Float(array) => array.is_null(row),
            Self::Integer(array) => array.is_null(row),
            Self::Other(array, _) => array.is_null(row),
        }
    }

    #[inline]
    fn put(&self, out: &mut Vec<u8>, buffer: &mut String, row: usize) {
        if self.is_null(row) {
            return;
        }
        match self {
            Self::String(array) => put_text(out, array.value(row).as_bytes()),
            Self::LargeString(array) => put_text(out, array.value(row).as_bytes()),
            Self::View(array) => put_text(out, array.value(row).as_bytes()),
            Self::Float(array) if array.value(row).is_nan() => out.extend_from_slice(b"NaN"),
            Self::Float(array) => put_number(out, array.value(row)),
            Self::Integer(array) => put_integer(out, array.value(row)),
            Self::Other(_, formatter) => {
                buffer.clear();
                // Writing into a string cannot fail.
                let _ = write!(buffer, "{}", formatter.value(row));
                put_text(out, buffer.as_bytes());
            }
        }
    }
}

impl<'b> Texts<'b> {
    /// The columns of a batch.
    pub(crate) fn new(batch: &'b RecordBatch) -> Result<Self, ArrowError> {
        let columns = batch.columns().iter().map(Text::new).collect::<Result<_, _>>()?;
        Ok(Self { columns, buffer: String::new() })
    }

    /// Writes a row as CSV, with its line end.
    pub(crate) fn put_row(&mut self, out: &mut Vec<u8>, row: usize) {
        for (place, column) in self.columns.iter().enumerate() {
            if place > 0 {
                out.push(b',');
            }
            column.put(out, &mut self.buffer, row);
        }
        out.push(b'\n');
    }

    /// The cells of a row as text.
    pub(crate) fn row(&mut self, row: usize) -> Vec<String> {
        let cell = |column: &Text<'_>| {
            if column.is_null(row) {
                return String::new();
            }
            match column {
                Text::String(array) => array.value(row).to_owned(),
                Text::LargeString(array) => array.value(row).to_owned(),
                Text::View(array) => array.value(row).to_owned(),
                Text::Float(_) | Text::Integer(_) => {
                    let mut bytes = Vec::new();
                    column.put(&mut bytes, &mut String::new(), row);
                    String::from_utf8_lossy(&bytes).into_owned()
                }
                Text::Other(_, formatter) => formatter.value(row).to_string(),
            }
        };
        self.columns.iter().map(cell).collect()
    }
}
