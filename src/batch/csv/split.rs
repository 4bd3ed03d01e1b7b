//! From a stream of bytes to pieces of whole records.
//!
//! A quote counts only where it opens a cell; within quotes a doubled one stands for itself. A
//! record ends at LF, CR or CRLF outside quotes. What a record is depends on the bytes after its
//! own beginning alone, never on where a piece happens to end.

use memchr::{memchr, memchr2, memchr3, memrchr2};
use std::io::{self, Read};

/// The longest record that is read, in bytes.
pub const MOST_RECORD_BYTES: usize = 1 << 20;

/// What a splitter hands out.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Piece {
    /// Whole records; the last one of the stream may lack its line end.
    Records(Vec<u8>),
    /// One line that holds a quote which is not closed. The next piece begins on the next line.
    Unclosed(Vec<u8>),
    /// In place of a record that is too long to be kept.
    TooLong,
}

/// The first record of a stream.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Header {
    /// Its bytes.
    Record(Vec<u8>),
    /// There is none.
    Empty,
    /// It does not end within [`MOST_RECORD_BYTES`].
    TooLong,
    /// It holds a quote that is not closed.
    Unclosed,
}

/// Cuts a stream into pieces.
#[derive(Debug)]
pub(crate) struct Splitter<R> {
    input: R,
    /// Read, but not handed out yet; begins where a record begins.
    kept: Vec<u8>,
    ended: bool,
    piece_bytes: usize,
    /// What ends a line: LF, or CR where the header ends in CR alone.
    line_end: u8,
}

/// Where the records of a buffer end.
#[derive(Debug, PartialEq, Eq)]
struct Ends {
    first: Option<usize>,
    last: Option<usize>,
    /// Whether the buffer ends within quotes.
    open: bool,
}

fn is_line_end(byte: u8) -> bool {
    matches!(byte, b'\n' | b'\r')
}

/// Walks a buffer from the beginning of a record; stops after `most` records.
fn record_ends(buffer: &[u8], most: usize) -> Ends {
    let mut ends = Ends { first: None, last: None, open: false };
    let (mut at, mut count) = (0, 0);
    while let Some(step) = memchr3(b'"', b'\n', b'\r', &buffer[at..]) {
        let place = at + step;
        at = place + 1;
        if buffer[place] == b'"' {
            if place > 0 && buffer[place - 1] != b',' && !is_line_end(buffer[place - 1]) {
                continue;
            }
            match quoted_end(buffer, at) {
                Some(end) => at = end,
                None => return Ends { open: true, ..ends },
            }
            continue;
        }
        ends.first = ends.first.or(Some(at));
        ends.last = Some(at);
        count += 1;
        if count == most {
            break;
        }
    }
    ends
}

/// Just after the quote that closes a cell, whose text begins at `from`.
pub(super) fn quoted_end(buffer: &[u8], from: usize) -> Option<usize> {
    let mut at = from;
    loop {
        let place = at + memchr(b'"', buffer.get(at..)?)?;
        if buffer.get(place + 1) != Some(&b'"') {
            return Some(place + 1);
        }
        at = place + 2;
    }
}

impl<R: Read> Splitter<R> {
    /// Pieces of about so many bytes.
    pub(crate) fn new(input: R, piece_bytes: usize) -> Self {
        let piece_bytes = piece_bytes.clamp(1, MOST_RECORD_BYTES);
        Self { input, kept: Vec::new(), ended: false, piece_bytes, line_end: b'\n' }
    }

    /// What ends a line in this stream.
    pub(crate) const fn line_end(&self) -> u8 {
        self.line_end
    }

    /// Reads until the buffer holds so many bytes, or the stream ends.
    fn fill(&mut self, buffer: &mut Vec<u8>, wanted: usize) -> io::Result<()> {
        if !self.ended && buffer.len() < wanted {
            let missing = wanted - buffer.len();
            let read = (&mut self.input).take(missing as u64).read_to_end(buffer)?;
            self.ended = read < missing;
        }
        Ok(())
    }

    /// The first record, without a byte order mark. To be called once, before [`Self::next`].
    pub(crate) fn header(&mut self) -> io::Result<Header> {
        let mut buffer = std::mem::take(&mut self.kept);
        self.fill(&mut buffer, self.piece_bytes.max(3))?;
        if buffer.starts_with(b"\xef\xbb\xbf") {
            buffer.drain(..3);
        }
        let mut skipped = 0;
        let header = loop {
            skipped += buffer[skipped..].iter().take_while(|byte| is_line_end(**byte)).count();
            let ends = record_ends(&buffer[skipped..], 1);
            let end = match ends.first {
                Some(end) => skipped + end,
                None if self.ended && skipped == buffer.len() => break Header::Empty,
                None if self.ended && ends.open => break Header::Unclosed,
                None if self.ended => buffer.len(),
                None if buffer.len() > MOST_RECORD_BYTES => {
                    break if ends.open { Header::Unclosed } else { Header::TooLong };
                }
                None => {
                    let wanted = (2 * buffer.len()).clamp(64, MOST_RECORD_BYTES + 1);
                    self.fill(&mut buffer, wanted)?;
                    continue;
                }
            };
            // Whether CR stands alone is seen by what follows it.
            if end == buffer.len() && buffer[end - 1] == b'\r' && !self.ended {
                self.fill(&mut buffer, end + 1)?;
            }
            let lone = buffer[end - 1] == b'\r' && buffer.get(end) != Some(&b'\n');
            self.line_end = if lone { b'\r' } else { b'\n' };
            self.kept = buffer.split_off(end);
            break Header::Record(buffer);
        };
        Ok(header)
    }

    /// The next piece, in a buffer that may have served before.
    pub(crate) fn next(&mut self, mut buffer: Vec<u8>) -> io::Result<Option<Piece>> {
        buffer.clear();
        buffer.append(&mut self.kept);
        let mut wanted = self.piece_bytes;
        loop {
            self.fill(&mut buffer, wanted)?;
            if buffer.is_empty() {
                return Ok(None);
            }
            let ends = self.last_end(&buffer);
            if let Some(end) = ends.last {
                self.kept.extend_from_slice(&buffer[end..]);
                buffer.truncate(end);
                return Ok(Some(Piece::Records(buffer)));
            }
            if ends.open && (self.ended || buffer.len() > MOST_RECORD_BYTES) {
                return self.unclosed(buffer).map(Some);
            }
            if buffer.len() > MOST_RECORD_BYTES {
                return self.too_long().map(Some);
            }
            wanted = (2 * buffer.len()).clamp(64, MOST_RECORD_BYTES + 1);
        }
    }

    /// Where the last whole record of a buffer ends.
    fn last_end(&self, buffer: &[u8]) -> Ends {
        let ends = if memchr(b'"', buffer).is_some() {
            record_ends(buffer, usize::MAX)
        } else {
            let last = memrchr2(b'\n', b'\r', buffer).map(|place| place + 1);
            Ends { first: None, last, open: false }
        };
        if self.ended && !ends.open { Ends { last: Some(buffer.len()), ..ends } } else { ends }
    }

    /// A quote is open to the end of what a record may be: its line alone is given up.
    fn unclosed(&mut self, mut buffer: Vec<u8>) -> io::Result<Piece> {
        match memchr2(b'\n', b'\r', &buffer) {
            Some(end) => {
                self.kept.extend_from_slice(&buffer[end..]);
                buffer.truncate(end);
                Ok(Piece::Unclosed(buffer))
            }
            None if self.ended => Ok(Piece::Unclosed(buffer)),
            None => self.too_long(),
        }
    }

    /// Passes over the rest of a line without keeping it.
    fn too_long(&mut self) -> io::Result<Piece> {
        let mut part = Vec::new();
        while !self.ended {
            part.clear();
            self.fill(&mut part, 1 << 16)?;
            if let Some(end) = memchr2(b'\n', b'\r', &part) {
                self.kept.extend_from_slice(&part[end..]);
                break;
            }
        }
        Ok(Piece::TooLong)
    }
}
