//! Parquet in and out, batch by batch.

mod cells;
mod rejects;
mod sink;
mod write;

pub(crate) use cells::Texts;
pub(crate) use rejects::RejectTable;
pub(crate) use sink::TableSink;
pub(crate) use write::{TableOut, of_arrow};
