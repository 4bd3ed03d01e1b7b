//! Files that appear under their names only when they are whole.

use super::error::FileError;
use super::names::{Packing, is_stream};
use flate2::write::GzEncoder;
use std::ffi::OsString;
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// A file in the making, beside its final name; removed unless it is committed.
#[derive(Debug)]
pub(crate) struct Draft {
    place: PathBuf,
    temporary: Option<PathBuf>,
    force: bool,
}

impl Draft {
    /// Begins a file.
    pub(crate) fn create(place: &Path, force: bool) -> Result<(Self, File), FileError> {
        static COUNT: AtomicU64 = AtomicU64::new(0);
        let mut name = OsString::from(".");
        name.push(place.file_name().unwrap_or_default());
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        name.push(format!(".{}-{count}.part", std::process::id()));
        let temporary = place.with_file_name(name);
        let file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&temporary)
            .map_err(FileError::writing(place))?;
        Ok((Self { place: place.to_owned(), temporary: Some(temporary), force }, file))
    }

    /// Gives the whole file its name.
    pub(crate) fn commit(mut self) -> Result<PathBuf, FileError> {
        // Another program may have been quicker.
        if !self.force && self.place.symlink_metadata().is_ok() {
            return Err(FileError::Exists { path: self.place.clone() });
        }
        if let Some(temporary) = &self.temporary {
            std::fs::rename(temporary, &self.place).map_err(FileError::writing(&self.place))?;
        }
        self.temporary = None;
        Ok(self.place.clone())
    }
}

impl Drop for Draft {
    fn drop(&mut self) {
        if let Some(temporary) = &self.temporary {
            // There is nobody left to tell.
            let _ = std::fs::remove_file(temporary);
        }
    }
}

/// A file, or standard output.
#[derive(Debug)]
pub(crate) enum Raw {
    File(File),
    Stdout(io::Stdout),
}

impl Write for Raw {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Self::File(file) => file.write(bytes),
            Self::Stdout(stdout) => stdout.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match self {
            Self::File(file) => file.flush(),
            Self::Stdout(stdout) => stdout.flush(),
        }
    }
}

enum Packer {
    Plain(Raw),
    Gzip(GzEncoder<Raw>),
    Zstd(zstd::Encoder<'static, Raw>),
}

/// A CSV output, packed or not.
pub(crate) struct TextOut {
    path: PathBuf,
    packer: Packer,
    draft: Option<Draft>,
}

impl TextOut {
    /// Begins an output; `place` is where the file of that name truly lies.
    pub(crate) fn create(
        path: &Path,
        place: &Path,
        packing: Packing,
        force: bool,
    ) -> Result<Self, FileError> {
        let (draft, raw) = if is_stream(path) {
            (None, Raw::Stdout(io::stdout()))
        } else {
            let (draft, file) = Draft::create(place, force)?;
            (Some(draft), Raw::File(file))
        };
        let packer = match packing {
            Packing::Plain => Packer::Plain(raw),
            Packing::Gzip => Packer::Gzip(GzEncoder::new(raw, flate2::Compression::new(4))),
            Packing::Zstd => {
                let encoder = zstd::Encoder::new(raw, 3).and_then(|mut encoder| {
                    encoder.include_checksum(true)?;
                    Ok(encoder)
                });
                Packer::Zstd(encoder.map_err(FileError::writing(path))?)
            }
        };
        Ok(Self { path: path.to_owned(), packer, draft })
    }

    pub(crate) fn write(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        match &mut self.packer {
            Packer::Plain(raw) => raw.write_all(bytes),
            Packer::Gzip(encoder) => encoder.write_all(bytes),
            Packer::Zstd(encoder) => encoder.write_all(bytes),
        }
        .map_err(FileError::writing(&self.path))
    }

    /// Writes what is still held back. The file still has no name; `None` for standard output.
    pub(crate) fn finish(self) -> Result<Option<Draft>, FileError> {
        let finished = match self.packer {
            Packer::Plain(raw) => Ok(raw),
            Packer::Gzip(encoder) => encoder.finish(),
            Packer::Zstd(encoder) => encoder.finish(),
        };
        finished.and_then(|mut raw| raw.flush()).map_err(FileError::writing(&self.path))?;
        Ok(self.draft)
    }
}
