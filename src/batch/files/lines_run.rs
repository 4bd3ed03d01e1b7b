//! Runs from JSON Lines to JSON Lines.

use super::error::FileError;
use super::names::{Packing, check_output, is_stream};
use super::output::{Draft, TextOut};
use super::progress::{Meter, Progress};
use super::rejects::Reject;
use super::{FileOptions, FileReport, input};
use crate::batch::lines::score_json_lines;
use std::io::{self, BufReader, Write};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

const ENDINGS: [(&str, Packing); 3] =
    [(".jsonl", Packing::Plain), (".jsonl.gz", Packing::Gzip), (".jsonl.zst", Packing::Zstd)];

/// Bytes read at a time.
const READ_BYTES: usize = 1 << 18;

fn by_ending(path: &Path) -> Option<(Packing, usize)> {
    let name = path.file_name()?.to_string_lossy().to_ascii_lowercase();
    let found = ENDINGS.iter().find(|(ending, _)| name.ends_with(ending) && name != *ending);
    found.map(|(ending, packing)| (*packing, ending.len()))
}

/// Whether the file is JSON Lines, by its ending.
pub(super) fn is_lines(path: &Path) -> bool {
    by_ending(path).is_some()
}

fn packing(path: &Path) -> Result<Packing, FileError> {
    match by_ending(path) {
        Some((packing, _)) => Ok(packing),
        None if is_stream(path) => Ok(Packing::Plain),
        None => Err(FileError::unusable(
            path,
            "JSON Lines go to JSON Lines: the name must end in .jsonl, .jsonl.gz or .jsonl.zst",
        )),
    }
}

/// Where rejects go when the user does not say: the output's name with another ending.
fn default_rejects(output: &Path) -> PathBuf {
    let mut name = output.file_name().unwrap_or_default().to_string_lossy().into_owned();
    name.truncate(name.len() - by_ending(output).map_or(0, |(_, length)| length));
    output.with_file_name(name + ".rejects.jsonl")
}

/// A text output that begins with its first byte, or at once; keeps what goes wrong.
struct Late<'l> {
    path: &'l Path,
    place: PathBuf,
    packing: Packing,
    force: bool,
    out: Option<TextOut>,
    error: Option<FileError>,
}

impl Late<'_> {
    fn begin(&mut self) -> Result<&mut TextOut, FileError> {
        if self.out.is_none() {
            let out = TextOut::create(self.path, &self.place, self.packing, self.force)?;
            self.out = Some(out);
        }
        match &mut self.out {
            Some(out) => Ok(out),
            None => Err(FileError::unusable(self.path, "cannot be begun")),
        }
    }

    fn finish(self) -> Result<Option<Draft>, FileError> {
        self.out.map_or(Ok(None), TextOut::finish)
    }
}

impl Write for Late<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self.begin().and_then(|out| out.write(bytes)) {
            Ok(()) => Ok(bytes.len()),
            Err(error) => {
                self.error = Some(error);
                Err(io::Error::other("not written"))
            }
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Scores JSON Lines; rejects go apart as in every run over files.
pub(super) fn score(
    input: &Path,
    output: &Path,
    options: &FileOptions,
    progress: &dyn Progress,
) -> Result<FileReport, FileError> {
    let late = |path, place, packing| Late {
        path,
        place,
        packing,
        force: options.force,
        out: None,
        error: None,
    };
    let packed = packing(input)?;
    let place = |path: &Path, others: &[(&Path, &str)]| {
        if is_stream(path) {
            Ok(path.to_owned())
        } else {
            check_output(path, others, options.force)
        }
    };
    let path = options.rejects.clone().unwrap_or_else(|| default_rejects(output));
    let lost = options.rejects.is_none() && is_stream(output);
    let mut rejects = if lost {
        None
    } else if is_stream(&path) && is_stream(output) {
        let reason = "results and rejects cannot both go to standard output";
        return Err(FileError::unusable(&path, reason));
    } else {
        let others = [(input, "input"), (output, "output")];
        Some(late(&path, place(&path, &others)?, packing(&path)?))
    };
    let mut out = late(output, place(output, &[(input, "input")])?, packing(output)?);
    let meter = Meter::new(progress, options.cancel.clone());
    let reader = BufReader::with_capacity(READ_BYTES, input::open(input, packed, &meter)?);
    out.begin()?;
    if let Some(rejects) = rejects.as_mut().filter(|_| options.rejects.is_some()) {
        rejects.begin()?;
    }
    let mut nowhere = io::sink();
    let apart: &mut dyn Write = match rejects.as_mut() {
        Some(rejects) => rejects,
        None => &mut nowhere,
    };
    let threads = NonZeroUsize::new(options.threads);
    let ran = score_json_lines(reader, &mut out, Some(apart), options.units, threads, |counts| {
        meter.rows.set(counts.read);
        meter.rejects.set(counts.rejected);
        meter.tick().map_err(|_| io::Error::other("stopped"))
    });
    if meter.is_stopped() {
        return Err(FileError::Cancelled);
    }
    if let Some(error) = out.error.take().or_else(|| rejects.as_mut()?.error.take()) {
        return Err(error);
    }
    let report = ran.map_err(|error| FileError::reading(input, error))?;
    meter.tell()?;
    // The rejects first: an output without its rejects would hide them.
    let written = rejects.as_ref().is_some_and(|rejects| rejects.out.is_some());
    let named = rejects.map(Late::finish).transpose()?.flatten().map(Draft::commit).transpose()?;
    if let Some(scored) = out.finish()?
        && let Err(error) = scored.commit()
    {
        if let Some(named) = named {
            let _ = std::fs::remove_file(named);
        }
        return Err(error);
    }
    if options.force && !written && !lost && options.rejects.is_none() {
        // Rejects of an earlier run beside a new output would mislead.
        let _ = std::fs::remove_file(&path);
    }
    let first = report.first.into_iter();
    Ok(FileReport {
        counts: report.counts,
        rejects: written.then_some(path),
        first_rejects: first
            .map(|(row, line, faults)| Reject { row, line: Some(line), faults })
            .collect(),
    })
}
