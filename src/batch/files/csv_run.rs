//! A run over a CSV input.

use super::FileOptions;
use super::error::FileError;
use super::pipeline::{Feed, Pool};
use super::progress::Meter;
use super::rejects::{Finished, Reject, Rejects};
use crate::batch::Counts;
use crate::batch::csv::{Header, Layout, Piece, Scored, Sink, Splitter, Worker, header_names};
use std::io::Read;
use std::path::Path;

/// A buffer that has grown beyond this is given back to the system.
const MOST_SPARE_BYTES: usize = 8 << 20;

/// Takes what pieces become, in order; gives a buffer back that may serve again.
pub(crate) trait Target {
    /// What a piece becomes.
    type Out: Send;

    fn write(&mut self, out: Self::Out) -> Result<Vec<u8>, FileError>;
}

/// A CSV input whose header has been read.
pub(crate) struct CsvInput<'r, R> {
    path: &'r Path,
    meter: &'r Meter<'r>,
    splitter: Splitter<R>,
    /// The line on which the first row begins.
    line: u64,
    names: Vec<String>,
}

impl<'r, R: Read> CsvInput<'r, R> {
    /// Reads the header.
    pub(crate) fn open(
        path: &'r Path,
        input: R,
        options: &FileOptions,
        meter: &'r Meter<'r>,
    ) -> Result<Self, FileError> {
        let mut splitter = Splitter::new(input, options.piece_bytes);
        let header = match splitter.header() {
            Ok(Header::Record(header)) => header,
            Ok(Header::Empty) => return Err(FileError::unusable(path, "the file is empty")),
            Ok(Header::Unclosed) => {
                let reason = "the header opens a quote that is never closed";
                return Err(FileError::unusable(path, reason));
            }
            Ok(Header::TooLong) => {
                return Err(FileError::unusable(path, "the header is longer than 1 MiB"));
            }
            Err(_) if meter.is_stopped() => return Err(FileError::Cancelled),
            Err(error) => return Err(FileError::reading(path, error)),
        };
        let ends = memchr::memchr_iter(splitter.line_end(), &header).count() as u64;
        let names = header_names(header).map_err(|reason| FileError::unusable(path, reason))?;
        Ok(Self { path, meter, splitter, line: 1 + ends, names })
    }

    /// The names of the columns.
    pub(crate) fn names(&self) -> &[String] {
        &self.names
    }

    /// Scores every row.
    pub(crate) fn run<S: Sink + Send, T: Target<Out = S::Out>>(
        self,
        layout: &Layout,
        pool: &Pool,
        sink: impl Fn() -> S + Sync,
        target: &mut T,
        rejects: Rejects,
    ) -> Result<(Counts, Finished), FileError> {
        let line_end = self.splitter.line_end();
        let mut feed =
            CsvFeed { input: self, target, rejects, counts: Counts::default(), spare: Vec::new() };
        feed.rejects.begin()?;
        pool.run(
            &mut feed,
            || Worker::new(layout, line_end, sink()),
            |worker, (piece, buffer)| worker.score(piece, buffer),
        )?;
        Ok((feed.counts, feed.rejects.finish()?))
    }
}

struct CsvFeed<'f, 'r, R, T> {
    input: CsvInput<'r, R>,
    target: &'f mut T,
    rejects: Rejects,
    counts: Counts,
    /// Buffers that may serve again.
    spare: Vec<Vec<u8>>,
}

impl<R: Read, T: Target> Feed for CsvFeed<'_, '_, R, T> {
    type Job = (Piece, Vec<u8>);
    type Done = Scored<T::Out>;

    fn next(&mut self) -> Result<Option<Self::Job>, FileError> {
        let buffer = self.spare.pop().unwrap_or_default();
        match self.input.splitter.next(buffer) {
            Ok(Some(piece)) => Ok(Some((piece, self.spare.pop().unwrap_or_default()))),
            Ok(None) => Ok(None),
            Err(_) if self.input.meter.is_stopped() => Err(FileError::Cancelled),
            Err(error) => Err(FileError::reading(self.input.path, error)),
        }
    }

    fn take(&mut self, done: Scored<T::Out>) -> Result<(), FileError> {
        let written = self.target.write(done.out)?;
        let counts = &mut self.counts;
        for reject in &done.rejects {
            let row = counts.read + reject.record;
            let line = Some(self.input.line + reject.lines_before);
            let faults = reject.faults.clone();
            self.rejects.write(&Reject { row, line, faults }, &reject.cells)?;
        }
        let rejected = done.rejects.len() as u64;
        self.input.line += done.lines;
        counts.read += done.records;
        counts.rejected += rejected;
        counts.scored += done.records - rejected;
        counts.on_hold += done.on_hold;
        self.input.meter.rows.set(counts.read);
        self.input.meter.rejects.set(counts.rejected);
        // Buffers of both sorts are of about one size.
        for buffer in [done.buffer, written] {
            if buffer.capacity() <= MOST_SPARE_BYTES {
                self.spare.push(buffer);
            }
        }
        Ok(())
    }

    fn idle(&mut self) -> Result<(), FileError> {
        self.input.meter.tick()
    }
}
