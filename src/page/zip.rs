//! Pages in one file: a zip archive, each page deflated, no times in it, so that the same pages give the same bytes.
//!
//! The format is PKWARE's APPNOTE 6.3 (from memory), without its extensions for large files; a test reads it with another program.

use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};
use std::io::{self, Write};

/// A page, packed.
#[derive(Debug)]
pub(super) struct Packed {
    bytes: Vec<u8>,
    sum: u32,
    size: u32,
}

impl Packed {
    pub(super) fn new(text: &[u8]) -> io::Result<Self> {
        let mut sum = Crc::new();
        sum.update(text);
        let size = u32::try_from(text.len()).map_err(io::Error::other)?;
        let mut packed =
            DeflateEncoder::new(Vec::with_capacity(text.len() / 3), Compression::new(3));
        packed.write_all(text)?;
        Ok(Self { bytes: packed.finish()?, sum: sum.sum(), size })
    }
}

/// An archive under way.
#[derive(Debug)]
pub(super) struct Zip<W: Write> {
    out: W,
    at: u64,
    directory: Vec<u8>,
    entries: u16,
}

/// Deflated; names in UTF-8; 1 January 1980, the earliest day there is.
const VERSION: u16 = 20;
const UTF8: u16 = 1 << 11;
const DEFLATED: u16 = 8;
const DAY: u16 = 1 << 5 | 1;

impl<W: Write> Zip<W> {
    pub(super) fn new(out: W) -> Self {
        Self { out, at: 0, directory: Vec::new(), entries: 0 }
    }

    /// Adds a page under a name.
    pub(super) fn add(&mut self, name: &str, page: &Packed) -> io::Result<()> {
        let full = || io::Error::other("a zip holds at most 65,535 pages and 4 GB: write a folder");
        let at = u32::try_from(self.at).map_err(|_| full())?;
        self.entries = self.entries.checked_add(1).ok_or_else(full)?;
        let packed = u32::try_from(page.bytes.len()).map_err(|_| full())?;
        let length = u16::try_from(name.len()).map_err(io::Error::other)?;
        let mut about = Vec::with_capacity(26);
        for half in [VERSION, UTF8, DEFLATED, 0, DAY] {
            about.extend(half.to_le_bytes());
        }
        for whole in [page.sum, packed, page.size] {
            about.extend(whole.to_le_bytes());
        }
        about.extend(length.to_le_bytes());
        about.extend(0_u16.to_le_bytes());
        self.put(b"PK\x03\x04")?;
        self.put(&about)?;
        self.put(name.as_bytes())?;
        self.put(&page.bytes)?;
        self.directory.extend(b"PK\x01\x02");
        self.directory.extend(VERSION.to_le_bytes());
        self.directory.extend(about);
        // No comment, disk 0, no attributes.
        self.directory.extend([0; 10]);
        self.directory.extend(at.to_le_bytes());
        self.directory.extend(name.as_bytes());
        Ok(())
    }

    /// Ends the archive and gives the writer back.
    pub(super) fn finish(mut self) -> io::Result<W> {
        let at = u32::try_from(self.at).map_err(io::Error::other)?;
        let directory = std::mem::take(&mut self.directory);
        let length = u32::try_from(directory.len()).map_err(io::Error::other)?;
        self.put(&directory)?;
        self.put(b"PK\x05\x06\0\0\0\0")?;
        let entries = self.entries.to_le_bytes();
        self.put(&entries)?;
        self.put(&entries)?;
        self.put(&length.to_le_bytes())?;
        self.put(&at.to_le_bytes())?;
        self.put(&[0, 0])?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.at += bytes.len() as u64;
        self.out.write_all(bytes)
    }
}
