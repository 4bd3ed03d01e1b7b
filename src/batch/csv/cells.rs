//! From a piece of whole records to cells.

use super::split::quoted_end;
use memchr::memchr;

/// The records of a piece, one after the other. The cells of the records that are kept lie side by
/// side in [`Self::cell`].
#[derive(Debug, Default)]
pub(super) struct Cells {
    /// The piece, and behind it the text of cells that had to be freed of their quotes.
    text: Vec<u8>,
    piece: usize,
    at: usize,
    ranges: Vec<(u32, u32)>,
}

/// Where a record stands in the piece.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    /// Its first byte.
    pub(super) start: usize,
    /// Just after its last byte and its line end.
    pub(super) end: usize,
    /// How many cells it has.
    pub(super) cells: usize,
}

impl Cells {
    /// Begins a piece.
    pub(super) fn begin(&mut self, piece: Vec<u8>) {
        self.piece = piece.len();
        self.text = piece;
        self.at = 0;
        self.ranges.clear();
    }

    /// The buffer of the piece, to be used again.
    pub(super) fn take_buffer(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.text)
    }

    /// Forgets the cells that were kept, for the next block.
    pub(super) fn forget(&mut self) {
        self.ranges.clear();
        self.text.truncate(self.piece);
    }

    /// Forgets the cells of the last record.
    pub(super) fn drop_last(&mut self, count: usize) {
        self.ranges.truncate(self.ranges.len().saturating_sub(count));
    }

    /// The bytes of the piece.
    pub(super) fn bytes(&self) -> &[u8] {
        self.text.get(..self.piece).unwrap_or_default()
    }

    /// A cell by its place among all that are kept.
    #[inline]
    pub(super) fn cell(&self, place: usize) -> &[u8] {
        let (start, end) = self.ranges.get(place).copied().unwrap_or_default();
        self.text.get(start as usize..end as usize).unwrap_or_default()
    }

    /// The cells of the last record.
    pub(super) fn last(&self, count: usize) -> impl Iterator<Item = &[u8]> {
        let from = self.ranges.len().saturating_sub(count);
        (from..self.ranges.len()).map(|place| self.cell(place))
    }

    /// Reads the next record and keeps its cells; blank lines are no records.
    #[inline]
    pub(super) fn next_record(&mut self) -> Option<Place> {
        let mut at = self.at;
        while at < self.piece && matches!(self.text[at], b'\n' | b'\r') {
            at += 1;
        }
        if at == self.piece {
            self.at = at;
            return None;
        }
        let (start, before) = (at, self.ranges.len());
        loop {
            let end = match self.text.get(at) {
                Some(b'"') if at < self.piece => self.quoted(at),
                _ => {
                    let end = cell_end(&self.text[..self.piece], at);
                    self.keep(at, end);
                    end
                }
            };
            at = end + 1;
            if end >= self.piece || self.text[end] != b',' {
                break;
            }
        }
        self.at = at.min(self.piece);
        Some(Place { start, end: self.at, cells: self.ranges.len() - before })
    }

    #[inline]
    fn keep(&mut self, start: usize, end: usize) {
        #[expect(clippy::cast_possible_truncation, reason = "a piece is a few MiB at most")]
        self.ranges.push((start as u32, end as u32));
    }

    /// Keeps a cell that begins with a quote; gives the place of what ends it.
    fn quoted(&mut self, at: usize) -> usize {
        let bytes = &self.text[..self.piece];
        // A quote that is never closed reaches to the end.
        let closed = quoted_end(bytes, at + 1).unwrap_or(self.piece + 1);
        let (inner, rest) = (at + 1..closed - 1, closed.min(self.piece));
        let end = cell_end(bytes, rest);
        if end == rest && memchr(b'"', &bytes[inner.clone()]).is_none() {
            self.keep(inner.start, inner.end);
            return end;
        }
        let from = self.text.len();
        let mut skip = false;
        for place in inner {
            let byte = self.text[place];
            // Of two quotes the first is written.
            skip = byte == b'"' && !skip;
            if byte != b'"' || skip {
                self.text.push(byte);
            }
        }
        // What follows the closing quote belongs to the cell, as it is.
        self.text.extend_from_within(rest..end);
        self.keep(from, self.text.len());
        end
    }
}

/// The place of the comma or line end that ends a cell, or the end of the bytes.
#[inline]
fn cell_end(bytes: &[u8], from: usize) -> usize {
    const LOW: u64 = 0x0101_0101_0101_0101;
    const HIGH: u64 = 0x8080_8080_8080_8080;
    let every = |byte: u8| u64::from_le_bytes([byte; 8]);
    // The lowest set bit marks the first byte that is zero; higher ones may be false.
    let zero = |word: u64| word.wrapping_sub(LOW) & !word & HIGH;
    let mut at = from;
    while let Some(chunk) = bytes.get(at..).and_then(|rest| rest.first_chunk::<8>()) {
        let word = u64::from_le_bytes(*chunk);
        let found =
            zero(word ^ every(b',')) | zero(word ^ every(b'\n')) | zero(word ^ every(b'\r'));
        if found != 0 {
            return at + (found.trailing_zeros() / 8) as usize;
        }
        at += 8;
    }
    let rest = bytes.get(at..).unwrap_or_default();
    at + rest.iter().take_while(|byte| !matches!(**byte, b',' | b'\n' | b'\r')).count()
}

#[cfg(test)]
mod tests {
    use super::super::split::{Header, Piece, Splitter};
    use super::*;
    use proptest::prelude::*;

    type Rows = Vec<Vec<Vec<u8>>>;

    /// Text full of what matters to CSV.
    pub(crate) fn mangled() -> impl Strategy<Value = Vec<u8>> {
        let part = prop_oneof![
            4 => prop::sample::select(vec![",", "\n", "\r\n", "\"", "\"\"", "\r", ",\"", "\","]),
            3 => prop::sample::select(vec!["a", "12.5", "a long cell of text", "é", " ", "="]),
        ];
        prop::collection::vec(part, 0..60).prop_map(|parts| parts.concat().into_bytes())
    }

    fn rows_of(piece: Vec<u8>) -> Rows {
        let mut cells = Cells::default();
        cells.begin(piece);
        let mut rows = Vec::new();
        while let Some(place) = cells.next_record() {
            rows.push(cells.last(place.cells).map(<[u8]>::to_vec).collect());
        }
        rows
    }

    /// The independent road: the csv crate on the same bytes.
    fn rows_of_csv_crate(bytes: &[u8]) -> Rows {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
        let record = |record: Result<csv::ByteRecord, csv::Error>| {
            record.unwrap().iter().map(<[u8]>::to_vec).collect()
        };
        reader.byte_records().map(record).collect()
    }

    fn split(bytes: &[u8], piece_bytes: usize) -> (Rows, usize) {
        let mut splitter = Splitter::new(bytes, piece_bytes);
        let (mut rows, mut odd) = (Vec::new(), 0);
        match splitter.header().unwrap() {
            Header::Record(header) => rows.extend(rows_of(header)),
            Header::Empty => {}
            Header::TooLong | Header::Unclosed => return (rows, 1),
        }
        while let Some(piece) = splitter.next(Vec::new()).unwrap() {
            match piece {
                Piece::Records(piece) => rows.extend(rows_of(piece)),
                Piece::Unclosed(line) => {
                    odd += 1;
                    rows.extend(rows_of(line));
                }
                Piece::TooLong => odd += 1,
            }
        }
        (rows, odd)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4000))]

        #[test]
        fn the_csv_crate_reads_the_same_cells(bytes in mangled()) {
            let (rows, odd) = split(&bytes, 1 << 16);
            if odd == 0 {
                prop_assert_eq!(&rows, &rows_of_csv_crate(&bytes));
            }
        }

        #[test]
        fn pieces_of_any_size_hold_the_same_records(bytes in mangled(), size in 1_usize..80) {
            prop_assert_eq!(split(&bytes, size), split(&bytes, 1 << 16));
        }
    }

    #[test]
    fn an_unclosed_quote_costs_its_own_line_alone() {
        let (rows, odd) = split(b"a,b\n1,\"2\n3,4\n5,6", 1 << 16);
        assert_eq!(odd, 1);
        assert_eq!(rows.len(), 4);
        assert_eq!(rows[1], [b"1", b"2"]);
        assert_eq!(rows[3], [b"5", b"6"]);
    }
}
