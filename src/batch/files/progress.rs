//! How a long run is watched and stopped.

use super::error::FileError;
use std::cell::Cell;
use std::io::{self, Read};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::time::{Duration, Instant};

/// Watches a run. Called on the thread that started it, every 50 milliseconds or so.
pub trait Progress {
    /// Told how far the run is; [`ControlFlow::Break`] cancels it. `bytes_done` and `bytes_total`
    /// are of the input as it lies on the disk; the total is `None` for a pipe.
    fn advance(
        &self,
        rows_read: u64,
        rejects: u64,
        bytes_done: u64,
        bytes_total: Option<u64>,
    ) -> ControlFlow<()>;
}

/// Nobody watches.
impl Progress for () {
    fn advance(&self, _: u64, _: u64, _: u64, _: Option<u64>) -> ControlFlow<()> {
        ControlFlow::Continue(())
    }
}

/// Cancels a run from any thread.
#[derive(Clone, Debug, Default)]
pub struct CancelToken(Arc<AtomicBool>);

impl CancelToken {
    /// Asks the run to stop; it ends with [`FileError::Cancelled`] and leaves no file.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether that was asked.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Time between two calls of [`Progress::advance`].
pub(crate) const BEAT: Duration = Duration::from_millis(50);

/// How far a run is, and who wants to know.
pub(crate) struct Meter<'p> {
    progress: &'p dyn Progress,
    cancel: CancelToken,
    stopped: Cell<bool>,
    last: Cell<Instant>,
    pub(crate) rows: Cell<u64>,
    pub(crate) rejects: Cell<u64>,
    pub(crate) bytes: Cell<u64>,
    pub(crate) total: Cell<Option<u64>>,
}

impl<'p> Meter<'p> {
    pub(crate) fn new(progress: &'p dyn Progress, cancel: CancelToken) -> Self {
        Self {
            progress,
            cancel,
            stopped: Cell::new(false),
            last: Cell::new(Instant::now()),
            rows: Cell::new(0),
            rejects: Cell::new(0),
            bytes: Cell::new(0),
            total: Cell::new(None),
        }
    }

    /// To be called often; tells whoever watches now and then.
    pub(crate) fn tick(&self) -> Result<(), FileError> {
        if self.cancel.is_cancelled() {
            self.stopped.set(true);
        } else if self.last.get().elapsed() >= BEAT {
            return self.tell();
        }
        self.verdict()
    }

    /// Tells whoever watches at once.
    pub(crate) fn tell(&self) -> Result<(), FileError> {
        self.last.set(Instant::now());
        let (rows, rejects, bytes) = (self.rows.get(), self.rejects.get(), self.bytes.get());
        if self.progress.advance(rows, rejects, bytes, self.total.get()).is_break() {
            self.stopped.set(true);
        }
        self.verdict()
    }

    fn verdict(&self) -> Result<(), FileError> {
        if self.stopped.get() { Err(FileError::Cancelled) } else { Ok(()) }
    }

    /// Whether the run is to stop.
    pub(crate) fn is_stopped(&self) -> bool {
        self.stopped.get()
    }
}

/// Counts what is read.
pub(crate) struct Watched<'m, 'p, R> {
    input: R,
    meter: &'m Meter<'p>,
}

impl<'m, 'p, R> Watched<'m, 'p, R> {
    pub(crate) const fn new(input: R, meter: &'m Meter<'p>) -> Self {
        Self { input, meter }
    }
}

impl<R: Read> Read for Watched<'_, '_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.input.read(buffer)?;
        self.meter.bytes.set(self.meter.bytes.get() + read as u64);
        Ok(read)
    }
}

/// Bytes that a pipe hands over at a time.
const PART_BYTES: usize = 1 << 16;

/// A pipe, read on a thread of its own: whoever waits for more can look up in between. Where the
/// run is stopped, the thread ends with the pipe.
pub(crate) struct Pipe<'m, 'p> {
    parts: Receiver<io::Result<Vec<u8>>>,
    part: io::Cursor<Vec<u8>>,
    meter: &'m Meter<'p>,
}

impl<'m, 'p> Pipe<'m, 'p> {
    pub(crate) fn new(mut input: impl Read + Send + 'static, meter: &'m Meter<'p>) -> Self {
        let (sender, parts) = sync_channel(8);
        std::thread::spawn(move || {
            loop {
                let mut part = vec![0; PART_BYTES];
                let read = match input.read(&mut part) {
                    Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                    other => other,
                };
                let ended = !matches!(read, Ok(1..));
                let sent = sender.send(read.map(|read| {
                    part.truncate(read);
                    part
                }));
                if ended || sent.is_err() {
                    return;
                }
            }
        });
        Self { parts, part: io::Cursor::default(), meter }
    }
}

impl Read for Pipe<'_, '_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.part.read(buffer)?;
        if read > 0 || buffer.is_empty() {
            return Ok(read);
        }
        let part = loop {
            match self.parts.recv_timeout(BEAT) {
                Ok(part) => break part?,
                Err(RecvTimeoutError::Timeout) => self.meter.tick().map_err(io::Error::other)?,
                // The end was handed over before.
                Err(RecvTimeoutError::Disconnected) => return Ok(0),
            }
        };
        self.part = io::Cursor::new(part);
        self.part.read(buffer)
    }
}
