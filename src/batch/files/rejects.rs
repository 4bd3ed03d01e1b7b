//! The second table: rows that could not be scored, with every fault and their original cells.

use super::error::FileError;
use super::names::{Format, is_stream};
use super::output::{Draft, TextOut};
use crate::batch::csv::{put_integer, put_text};
#[cfg(feature = "parquet")]
use crate::batch::parquet::RejectTable;
use std::path::{Path, PathBuf};

/// A row that could not be scored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reject {
    /// Its number among the rows of the table, counted from 1 after the header.
    pub row: u64,
    /// The line of the CSV file on which it begins.
    pub line: Option<u64>,
    /// Every fault, `field = value: reason`, with `; ` between them.
    pub faults: String,
}

/// So many rejects are kept for a message.
const FIRST: usize = 10;

/// Where the second table goes.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    /// As the user wrote it.
    pub(crate) path: PathBuf,
    /// Where it truly lies.
    pub(crate) lies: PathBuf,
    pub(crate) format: Format,
    pub(crate) force: bool,
    /// Whether the table is written even when it is empty.
    pub(crate) always: bool,
}

enum Out {
    Text(Box<TextOut>),
    #[cfg(feature = "parquet")]
    Table(Box<RejectTable>),
}

/// Writes the second table; opens it when there is something to write.
pub(crate) struct Rejects {
    place: Option<Place>,
    names: Vec<String>,
    lines: bool,
    out: Option<Out>,
    buffer: Vec<u8>,
    first: Vec<Reject>,
    #[cfg(feature = "parquet")]
    schema: Option<arrow_schema::SchemaRef>,
}

/// What a finished second table left behind.
pub(crate) struct Finished {
    pub(crate) draft: Option<Draft>,
    pub(crate) path: Option<PathBuf>,
    pub(crate) first: Vec<Reject>,
}

/// A name that is not taken yet.
fn free_name(name: &str, taken: &[String]) -> String {
    let is_taken = |name: &str| taken.iter().any(|other| other == name);
    let numbered = (2_u64..).map(|count| format!("{name}_{count}"));
    std::iter::once(name.to_owned())
        .chain(numbered)
        .find(|name| !is_taken(name))
        .unwrap_or_else(|| name.to_owned())
}

impl Rejects {
    /// A second table for a table with these columns; `lines` where rows stand on lines.
    pub(crate) fn new(place: Option<Place>, columns: &[String], lines: bool) -> Self {
        let mut names: Vec<String> = vec![free_name("row", columns)];
        if lines {
            names.push(free_name("line", columns));
        }
        names.push(free_name("faults", columns));
        names.extend_from_slice(columns);
        Self {
            place,
            names,
            lines,
            out: None,
            buffer: Vec::new(),
            first: Vec::new(),
            #[cfg(feature = "parquet")]
            schema: None,
        }
    }

    /// Says of what types the original columns are, where they are not text.
    #[cfg(feature = "parquet")]
    pub(crate) fn typed(mut self, schema: arrow_schema::SchemaRef) -> Self {
        self.schema = Some(schema);
        self
    }

    /// Opens the table where it is to be written whatever happens.
    pub(crate) fn begin(&mut self) -> Result<(), FileError> {
        if self.place.as_ref().is_some_and(|place| place.always) {
            self.open()?;
        }
        Ok(())
    }

    fn open(&mut self) -> Result<(), FileError> {
        let Some(place) = &self.place else { return Ok(()) };
        if self.out.is_some() {
            return Ok(());
        }
        self.out = Some(match place.format {
            Format::Csv(packing) => {
                let mut text = TextOut::create(&place.path, &place.lies, packing, place.force)?;
                let mut header = Vec::new();
                for (index, name) in self.names.iter().enumerate() {
                    if index > 0 {
                        header.push(b',');
                    }
                    put_text(&mut header, name.as_bytes());
                }
                header.push(b'\n');
                text.write(&header)?;
                Out::Text(Box::new(text))
            }
            #[cfg(feature = "parquet")]
            Format::Parquet => {
                let types = self.schema.as_ref();
                let table = RejectTable::create(place, &self.names, self.lines, types)?;
                Out::Table(Box::new(table))
            }
            #[cfg(not(feature = "parquet"))]
            Format::Parquet => {
                return Err(FileError::unusable(&place.path, "Parquet is not built in"));
            }
        });
        Ok(())
    }

    /// Keeps the first rejects for a message.
    fn note(&mut self, reject: &Reject) {
        if self.first.len() < FIRST {
            self.first.push(reject.clone());
        }
    }

    /// Writes a reject whose cells are text.
    pub(crate) fn write(
        &mut self,
        reject: &Reject,
        cells: &[impl AsRef<str>],
    ) -> Result<(), FileError> {
        self.note(reject);
        self.open()?;
        match &mut self.out {
            None => Ok(()),
            Some(Out::Text(text)) => {
                let out = &mut self.buffer;
                out.clear();
                put_integer(out, i64::try_from(reject.row).unwrap_or(i64::MAX));
                if self.lines {
                    out.push(b',');
                    if let Some(line) = reject.line {
                        put_integer(out, i64::try_from(line).unwrap_or(i64::MAX));
                    }
                }
                out.push(b',');
                put_text(out, reject.faults.as_bytes());
                for cell in cells {
                    out.push(b',');
                    put_text(out, cell.as_ref().as_bytes());
                }
                out.push(b'\n');
                text.write(out)
            }
            #[cfg(feature = "parquet")]
            Some(Out::Table(table)) => {
                let cells: Vec<&str> = cells.iter().map(AsRef::as_ref).collect();
                table.write_text(reject, &cells)
            }
        }
    }

    /// Whether the original rows are to be handed over as they are.
    #[cfg(feature = "parquet")]
    pub(crate) fn wants_rows(&self) -> bool {
        self.place.as_ref().is_some_and(|place| place.format == Format::Parquet)
    }

    /// Writes rejects with their original rows.
    #[cfg(feature = "parquet")]
    pub(crate) fn write_rows(
        &mut self,
        rejects: &[Reject],
        rows: &arrow_array::RecordBatch,
    ) -> Result<(), FileError> {
        for reject in rejects {
            self.note(reject);
        }
        self.open()?;
        match &mut self.out {
            Some(Out::Table(table)) => table.write_rows(rejects, rows),
            Some(Out::Text(_)) | None => Ok(()),
        }
    }

    /// Ends the table; it still has no name.
    pub(crate) fn finish(self) -> Result<Finished, FileError> {
        let path = self.place.as_ref().map(|place| place.path.clone());
        let written = self.out.is_some();
        let draft = match self.out {
            None => None,
            Some(Out::Text(text)) => text.finish()?,
            #[cfg(feature = "parquet")]
            Some(Out::Table(table)) => table.finish()?,
        };
        Ok(Finished { draft, path: path.filter(|_| written), first: self.first })
    }
}

/// Whether both go to standard output.
pub(crate) fn both_streams(output: &Path, rejects: &Path) -> bool {
    is_stream(output) && is_stream(rejects)
}
