//! CSV in and out: whole records cut from a stream, scored in blocks, written in order.
//!
//! Cells hold text in UTF-8; a byte order mark, CRLF and CR are taken. A record with another number
//! of cells than the header, bytes that are not UTF-8, a NUL byte, a quote that is never closed or
//! more than 1 MiB cannot be scored and is rejected with its reason.

mod cells;
mod layout;
mod number;
mod rows;
mod score;
mod sink;
mod split;
mod text;

pub use rows::{HouseRow, ScoredRow, read_rows};
pub use split::MOST_RECORD_BYTES;

pub(crate) use layout::Layout;
pub(crate) use score::{Scored, Sink, Worker};
pub(crate) use sink::CsvSink;
pub(crate) use split::{Header, Piece, Splitter};
pub(crate) use text::{put_integer, put_text};
#[cfg(feature = "parquet")]
pub(crate) use {layout::BAGS, score::Block, sink::put_header, text::put_number};

/// The names of the columns, from the bytes of the header.
pub(crate) fn header_names(header: Vec<u8>) -> Result<Vec<String>, String> {
    if let Some(what) = disguise(&header) {
        return Err(what.to_owned());
    }
    let mut cells = cells::Cells::default();
    cells.begin(header);
    let count = cells.next_record().map_or(0, |place| place.cells);
    let names: Option<Vec<String>> = cells
        .last(count)
        .map(|cell| std::str::from_utf8(cell).ok().map(str::to_owned))
        .map(|name| name.filter(|name| !name.contains('\0')))
        .collect();
    let names = names.ok_or("the header is not UTF-8 text")?;
    if let [only] = names.as_slice() {
        for (separator, what) in [(';', "semicolons"), ('\t', "tabs")] {
            if only.contains(separator) {
                return Err(format!("the columns stand between {what}; they must be commas"));
            }
        }
    }
    Ok(names)
}

/// What other sort of file this is, by its first bytes.
fn disguise(bytes: &[u8]) -> Option<&'static str> {
    const KNOWN: [(&[u8], &str); 7] = [
        (b"\x1f\x8b", "this is gzip; the name must end in .csv.gz"),
        (b"\x28\xb5\x2f\xfd", "this is zstd; the name must end in .csv.zst"),
        (b"PAR1", "this is Parquet; the name must end in .parquet"),
        (b"PK\x03\x04", "this is a zip file or a spreadsheet; save it as CSV (UTF-8)"),
        (b"\xd0\xcf\x11\xe0", "this is an old spreadsheet; save it as CSV (UTF-8)"),
        (b"\xff\xfe", "this is UTF-16; save it as CSV (UTF-8)"),
        (b"\xfe\xff", "this is UTF-16; save it as CSV (UTF-8)"),
    ];
    KNOWN.iter().find(|(magic, _)| bytes.starts_with(magic)).map(|(_, what)| *what)
}
