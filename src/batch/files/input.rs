//! CSV inputs, unpacked and watched.

use super::error::FileError;
use super::names::{Packing, is_stream};
use super::progress::{Meter, Pipe, Watched};
use flate2::read::MultiGzDecoder;
use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::Path;

/// Bytes read at a time where they have to be unpacked.
const PACKED_BYTES: usize = 1 << 16;

/// Opens a file that can be read.
pub(crate) fn open_file(path: &Path) -> Result<File, FileError> {
    let file = File::open(path).map_err(FileError::writing(path))?;
    let found = file.metadata().map_err(FileError::writing(path))?;
    if found.is_dir() {
        let source = io::Error::from(io::ErrorKind::IsADirectory);
        return Err(FileError::Io { path: path.to_owned(), source });
    }
    Ok(file)
}

/// Opens a CSV input.
pub(crate) fn open<'m>(
    path: &Path,
    packing: Packing,
    meter: &'m Meter<'m>,
) -> Result<Box<dyn Read + 'm>, FileError> {
    if is_stream(path) {
        return Ok(Box::new(Watched::new(Pipe::new(io::stdin(), meter), meter)));
    }
    let file = open_file(path)?;
    let found = file.metadata().map_err(FileError::writing(path))?;
    meter.total.set(found.is_file().then_some(found.len()));
    let source: Box<dyn Read + '_> =
        if found.is_file() { Box::new(file) } else { Box::new(Pipe::new(file, meter)) };
    let watched = Watched::new(source, meter);
    Ok(Box::new(Unpacked::new(path, watched, packing)?))
}

/// A CSV input without its packing.
pub(crate) enum Unpacked<R: Read> {
    Plain(R),
    Gzip(Box<MultiGzDecoder<BufReader<R>>>),
    Zstd(zstd::Decoder<'static, BufReader<R>>),
}

impl<R: Read> Unpacked<R> {
    /// Unpacks a source; `path` is for messages.
    pub(crate) fn new(path: &Path, source: R, packing: Packing) -> Result<Self, FileError> {
        let buffered = |source| BufReader::with_capacity(PACKED_BYTES, source);
        Ok(match packing {
            Packing::Plain => Self::Plain(source),
            Packing::Gzip => Self::Gzip(Box::new(MultiGzDecoder::new(buffered(source)))),
            Packing::Zstd => {
                let decoder = zstd::Decoder::with_buffer(buffered(source));
                Self::Zstd(decoder.map_err(|error| FileError::reading(path, error))?)
            }
        })
    }
}

impl<R: Read> Read for Unpacked<R> {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Plain(source) => source.read(bytes),
            Self::Gzip(decoder) => decoder.read(bytes),
            Self::Zstd(decoder) => decoder.read(bytes),
        }
    }
}
