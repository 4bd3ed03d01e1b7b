//! Scored rows of a CSV file as record batches.

use crate::batch::csv::{BAGS, Block, Layout, Sink};
use crate::house::{NUMBERS, RESULTS};
use crate::readiness::FindingSet;
use arrow_array::builder::StringBuilder;
use arrow_array::{ArrayRef, Float64Array, Int64Array, RecordBatch};
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use std::collections::HashMap;
use std::sync::Arc;

/// Gathers scored rows into a batch.
pub(crate) struct TableSink {
    schema: SchemaRef,
    /// The buffer that came with the piece: it is not needed, but may serve again.
    spare: Vec<u8>,
    carried: Vec<StringBuilder>,
    numbers: Vec<Vec<f64>>,
    readiness: StringBuilder,
    findings: StringBuilder,
    codes: HashMap<FindingSet, String>,
}

/// The columns of the output: text as it was, then the results.
pub(crate) fn schema(layout: &Layout) -> SchemaRef {
    let carried = layout
        .carried
        .iter()
        .map(|&column| Field::new(layout.plan.names()[column].as_str(), DataType::Utf8, false));
    let results = RESULTS.iter().enumerate().map(|(place, def)| {
        let data_type = match place {
            _ if place >= NUMBERS => DataType::Utf8,
            BAGS => DataType::Int64,
            _ => DataType::Float64,
        };
        Field::new(def.name(layout.units), data_type, true)
    });
    Arc::new(Schema::new(carried.chain(results).collect::<Vec<_>>()))
}

impl TableSink {
    /// A sink for the rows of a file.
    pub(crate) fn new(layout: &Layout) -> Self {
        Self {
            schema: schema(layout),
            spare: Vec::new(),
            carried: layout.carried.iter().map(|_| StringBuilder::new()).collect(),
            numbers: vec![Vec::new(); NUMBERS],
            readiness: StringBuilder::new(),
            findings: StringBuilder::new(),
            codes: HashMap::new(),
        }
    }

    /// The columns of the output.
    pub(crate) fn schema(&self) -> &SchemaRef {
        &self.schema
    }
}

impl Sink for TableSink {
    type Out = (Result<RecordBatch, ArrowError>, Vec<u8>);

    fn begin(&mut self, buffer: Vec<u8>) {
        self.spare = buffer;
    }

    fn block(&mut self, block: &Block<'_>) {
        let layout = block.layout;
        for (builder, &column) in self.carried.iter_mut().zip(&layout.carried) {
            for row in block.rows() {
                let text = std::str::from_utf8(block.cell(row, column));
                builder.append_value(text.unwrap_or_default());
            }
        }
        let results = self.numbers.iter_mut().zip(block.numbers).enumerate();
        for (place, (to, from)) in results {
            to.extend(block.rows().map(|row| layout.result(place, from[row])));
        }
        for row in block.rows() {
            let set = block.outcome.findings[row];
            self.readiness.append_value(set.readiness().as_str());
            self.findings.append_value(self.codes.entry(set).or_insert_with(|| set.codes()));
        }
    }

    fn end(&mut self) -> Self::Out {
        let mut columns: Vec<ArrayRef> = Vec::with_capacity(self.schema.fields().len());
        for builder in &mut self.carried {
            columns.push(Arc::new(builder.finish()));
        }
        for (place, column) in self.numbers.iter_mut().enumerate() {
            columns.push(number_array(place, column));
            column.clear();
        }
        columns.push(Arc::new(self.readiness.finish()));
        columns.push(Arc::new(self.findings.finish()));
        let batch = RecordBatch::try_new(Arc::clone(&self.schema), columns);
        (batch, std::mem::take(&mut self.spare))
    }
}

/// A column of results; NaN is none.
fn number_array(place: usize, column: &[f64]) -> ArrayRef {
    let some = column.iter().map(|value| (!value.is_nan()).then_some(*value));
    if place == BAGS {
        #[expect(clippy::cast_possible_truncation, reason = "a count of bags, saturating")]
        return Arc::new(some.map(|bags| bags.map(|bags| bags as i64)).collect::<Int64Array>());
    }
    if column.iter().any(|value| value.is_nan()) {
        Arc::new(some.collect::<Float64Array>())
    } else {
        Arc::new(Float64Array::from(column.to_vec()))
    }
}
