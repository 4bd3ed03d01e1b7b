//! Files in, files out: the format by the ending of the name, the output in place only when whole.

mod csv_run;
mod error;
mod input;
#[cfg(feature = "house-file")]
mod lines_run;
mod names;
mod output;
mod pipeline;
mod progress;
mod rejects;
#[cfg(feature = "parquet")]
mod table_run;

pub use error::FileError;
pub use progress::{CancelToken, Progress};
pub use rejects::Reject;

#[cfg(feature = "parquet")]
pub(crate) use input::{Unpacked, open_file};
#[cfg(feature = "parquet")]
pub(crate) use names::rejects_of;
pub(crate) use names::{Format, check_output, is_stream};
pub(crate) use output::Draft;
#[cfg(feature = "parquet")]
pub(crate) use output::TextOut;
#[cfg(feature = "parquet")]
pub(crate) use pipeline::Pool;
#[cfg(feature = "parquet")]
pub(crate) use rejects::Place;

use super::Counts;
use super::csv::{CsvSink, Layout};
use crate::units::UnitSystem;
use csv_run::{CsvInput, Target};
use names::{Packing, default_rejects};
#[cfg(not(feature = "parquet"))]
use output::TextOut;
#[cfg(not(feature = "parquet"))]
use pipeline::Pool;
use progress::Meter;
#[cfg(not(feature = "parquet"))]
use rejects::Place;
use rejects::{Finished, Rejects};
use std::io::Read;
use std::path::{Path, PathBuf};

/// How a file is scored.
#[derive(Clone, Debug)]
pub struct FileOptions {
    /// The unit system of the results.
    pub units: UnitSystem,
    /// Where rejects go. Without it they go beside the output, under its name with the ending
    /// `.rejects.csv`, if there are any; when the output is standard output, nowhere.
    pub rejects: Option<PathBuf>,
    /// Whether outputs that are there already may be replaced.
    pub force: bool,
    /// Threads to score on; 0 for one on each core. The output is the same whatever it is.
    pub threads: usize,
    /// About so many bytes of CSV are taken at a time, at most 1 MiB. The output is the same
    /// whatever it is.
    pub piece_bytes: usize,
    /// Cancels the run from another thread.
    pub cancel: CancelToken,
}

impl Default for FileOptions {
    fn default() -> Self {
        Self {
            units: UnitSystem::Ip,
            rejects: None,
            force: false,
            threads: 0,
            piece_bytes: 1 << 18,
            cancel: CancelToken::default(),
        }
    }
}

/// What became of a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FileReport {
    /// How many rows were read and what became of them.
    pub counts: Counts,
    /// Where the rejects are; `None` where no such file was written.
    pub rejects: Option<PathBuf>,
    /// The first few rejects.
    pub first_rejects: Vec<Reject>,
}

/// Scores a file of flat rows into another file.
///
/// The format goes by the ending: `.csv`, `.csv.gz`, `.csv.zst`, `.parquet`; `-` is CSV on
/// standard input or output. JSON Lines (`.jsonl`, `.jsonl.gz`, `.jsonl.zst`), a house a line, go
/// to JSON Lines, and so do their rejects. The output has the house's name, then the columns that are not of the
/// contract, in order and as they were, then the results. In CSV, text that a spreadsheet would run
/// as a formula gets an apostrophe in front.
///
/// # Errors
/// [`FileError`]; no file is then left under the name of an output.
pub fn score_file(
    input: &Path,
    output: &Path,
    options: &FileOptions,
    progress: &dyn Progress,
) -> Result<FileReport, FileError> {
    #[cfg(feature = "house-file")]
    if lines_run::is_lines(input) {
        return lines_run::score(input, output, options, progress);
    }
    let source = Format::of_input(input)?;
    let format = Format::of(output)?;
    let (place, rejects) = places(input, output, options)?;
    let meter = Meter::new(progress, options.cancel.clone());
    let outputs = Outputs { path: output, place: &place, format, rejects, options };
    let (counts, scored, rejected) = match source {
        Format::Csv(packing) => from_csv(input, packing, &outputs, &meter)?,
        #[cfg(feature = "parquet")]
        Format::Parquet => table_run::from_parquet(input, &outputs, &meter)?,
        #[cfg(not(feature = "parquet"))]
        Format::Parquet => return Err(FileError::unusable(input, "Parquet is not built in")),
    };
    meter.tell()?;
    // The rejects first: an output without its rejects would hide them.
    let named = rejected.draft.map(Draft::commit).transpose()?;
    if let Some(scored) = scored
        && let Err(error) = scored.commit()
    {
        if let Some(named) = named {
            let _ = std::fs::remove_file(named);
        }
        return Err(error);
    }
    remove_stale(output, options, rejected.path.is_some());
    Ok(FileReport { counts, rejects: rejected.path, first_rejects: rejected.first })
}

/// Everything about where results go.
pub(crate) struct Outputs<'o> {
    path: &'o Path,
    place: &'o Path,
    format: Format,
    rejects: Option<Place>,
    options: &'o FileOptions,
}

/// What a run gives back: the counts, the output without its name yet, the rejects likewise.
type Ran = (Counts, Option<Draft>, Finished);

/// Where outputs truly lie, once it is sure that nothing is overwritten by mistake.
fn places(
    input: &Path,
    output: &Path,
    options: &FileOptions,
) -> Result<(PathBuf, Option<Place>), FileError> {
    let mut others = Vec::new();
    if !is_stream(input) {
        others.push((input, "input"));
    }
    let place = if is_stream(output) {
        output.to_owned()
    } else {
        check_output(output, &others, options.force)?
    };
    let path = match &options.rejects {
        None if is_stream(output) => return Ok((place, None)),
        None => default_rejects(output),
        Some(path) if rejects::both_streams(output, path) => {
            let reason = "results and rejects cannot both go to standard output";
            return Err(FileError::unusable(path, reason));
        }
        Some(path) => path.clone(),
    };
    let format = Format::of(&path)?;
    let always = options.rejects.is_some();
    let lies = if is_stream(&path) {
        path.clone()
    } else {
        if !is_stream(output) {
            others.push((output, "output"));
        }
        check_output(&path, &others, options.force)?
    };
    Ok((place, Some(Place { path, lies, format, force: options.force, always })))
}

/// Rejects of an earlier run beside a new output would mislead.
fn remove_stale(output: &Path, options: &FileOptions, written: bool) {
    if options.force && !written && options.rejects.is_none() && !is_stream(output) {
        let _ = std::fs::remove_file(default_rejects(output));
    }
}

fn from_csv(
    input: &Path,
    packing: Packing,
    outputs: &Outputs<'_>,
    meter: &Meter<'_>,
) -> Result<Ran, FileError> {
    let options = outputs.options;
    let stream = input::open(input, packing, meter)?;
    let table = CsvInput::open(input, stream, options, meter)?;
    let layout = Layout::new(table.names(), options.units)
        .map_err(|error| FileError::Schema { path: input.to_owned(), error })?;
    let rejects = Rejects::new(outputs.rejects.clone(), table.names(), true);
    match outputs.format {
        Format::Csv(packing) => to_csv(table, &layout, packing, outputs, rejects),
        #[cfg(feature = "parquet")]
        Format::Parquet => table_run::csv_to_parquet(table, &layout, outputs, rejects),
        #[cfg(not(feature = "parquet"))]
        Format::Parquet => Err(FileError::unusable(outputs.path, "Parquet is not built in")),
    }
}

fn to_csv<R: Read>(
    table: CsvInput<'_, R>,
    layout: &Layout,
    packing: Packing,
    outputs: &Outputs<'_>,
    rejects: Rejects,
) -> Result<Ran, FileError> {
    let mut text = TextOut::create(outputs.path, outputs.place, packing, outputs.options.force)?;
    text.write(&layout.header())?;
    let pool = Pool::new(outputs.options.threads);
    let (counts, finished) = table.run(layout, &pool, CsvSink::default, &mut text, rejects)?;
    Ok((counts, text.finish()?, finished))
}

impl Target for TextOut {
    type Out = Vec<u8>;

    fn write(&mut self, out: Vec<u8>) -> Result<Vec<u8>, FileError> {
        Self::write(self, &out)?;
        Ok(out)
    }
}
