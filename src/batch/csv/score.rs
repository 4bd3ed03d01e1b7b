//! From a piece of a CSV file to scored rows and rejects.

use super::cells::{Cells, Place};
use super::layout::{Layout, Reader};
use super::number::number;
use super::split::{MOST_RECORD_BYTES, Piece};
use crate::batch::columns::BLOCK_ROWS;
use crate::batch::kernel::{Outcome, Scorer};
use crate::batch::plan::Role;
use crate::error::{Issue, IssueCode};
use crate::house::{Cell, House, NUMBERS};
use crate::readiness::{FindingSet, Weight};
use memchr::{memchr, memchr_iter};
use std::sync::Arc;

/// What is made of the rows that were scored.
pub(crate) trait Sink {
    /// What a piece becomes.
    type Out: Send;

    /// Begins a piece, in a buffer that may have served before.
    fn begin(&mut self, buffer: Vec<u8>);
    /// Takes the rows of a block that were not rejected.
    fn block(&mut self, block: &Block<'_>);
    /// Ends the piece.
    fn end(&mut self) -> Self::Out;
}

/// A block of rows and its results.
pub(crate) struct Block<'b> {
    cells: &'b Cells,
    pub(crate) layout: &'b Layout,
    /// A column for each number of the results.
    pub(crate) numbers: &'b [[f64; BLOCK_ROWS]],
    pub(crate) outcome: &'b Outcome,
    rejected: &'b [bool],
}

impl Block<'_> {
    /// The rows that were scored.
    pub(crate) fn rows(&self) -> impl Iterator<Item = usize> {
        self.rejected.iter().enumerate().filter(|(_, rejected)| !**rejected).map(|(row, _)| row)
    }

    /// A cell of a row.
    #[inline]
    pub(crate) fn cell(&self, row: usize, column: usize) -> &[u8] {
        self.cells.cell(row * self.layout.columns() + column)
    }
}

/// A row that could not be scored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct RejectRow {
    /// Its number among the records of the piece, counted from 1.
    pub(crate) record: u64,
    /// The line ends of the piece that stand before it.
    pub(crate) lines_before: u64,
    /// Every fault.
    pub(crate) faults: String,
    /// Its cells under the columns of the table.
    pub(crate) cells: Vec<String>,
}

/// What a piece became.
#[derive(Debug)]
pub(crate) struct Scored<O> {
    pub(crate) out: O,
    pub(crate) rejects: Vec<RejectRow>,
    /// All records, scored and rejected.
    pub(crate) records: u64,
    /// Of the scored ones, those on hold.
    pub(crate) on_hold: u64,
    pub(crate) lines: u64,
    /// The buffer of the piece, to be used again.
    pub(crate) buffer: Vec<u8>,
}

/// Scores pieces, one after the other, in buffers of its own.
pub(crate) struct Worker<'l, S> {
    layout: &'l Layout,
    line_end: u8,
    scorer: Scorer,
    cells: Cells,
    /// The kept rows of the block: number of the record, first byte.
    places: Vec<(u64, usize)>,
    rejected: Vec<bool>,
    results: Vec<[f64; BLOCK_ROWS]>,
    numbers: Box<[f64; BLOCK_ROWS]>,
    given: Box<[bool; BLOCK_ROWS]>,
    rejects: Vec<RejectRow>,
    records: u64,
    on_hold: u64,
    /// Up to this byte so many lines have ended.
    counted: (usize, u64),
    sink: S,
}

impl<'l, S: Sink> Worker<'l, S> {
    pub(crate) fn new(layout: &'l Layout, line_end: u8, sink: S) -> Self {
        Self {
            layout,
            line_end,
            scorer: Scorer::new(Arc::clone(&layout.plan)),
            cells: Cells::default(),
            places: Vec::with_capacity(BLOCK_ROWS),
            rejected: Vec::with_capacity(BLOCK_ROWS),
            results: vec![[f64::NAN; BLOCK_ROWS]; NUMBERS],
            numbers: Box::new([f64::NAN; BLOCK_ROWS]),
            given: Box::new([false; BLOCK_ROWS]),
            rejects: Vec::new(),
            records: 0,
            on_hold: 0,
            counted: (0, 0),
            sink,
        }
    }

    /// Scores a piece; `buffer` is for what comes out.
    pub(crate) fn score(&mut self, piece: Piece, buffer: Vec<u8>) -> Scored<S::Out> {
        (self.records, self.on_hold, self.counted) = (0, 0, (0, 0));
        self.sink.begin(buffer);
        match piece {
            Piece::Records(bytes) => {
                self.cells.begin(bytes);
                self.blocks();
            }
            Piece::Unclosed(bytes) => {
                self.cells.begin(bytes);
                if let Some(place) = self.cells.next_record() {
                    let reason = "a cell opens a quote that is never closed";
                    self.reject_record(place, row_fault(reason.to_owned()));
                }
            }
            Piece::TooLong => {
                self.cells.begin(Vec::new());
                let place = Place { start: 0, end: 0, cells: 0 };
                self.reject_record(place, too_long());
            }
        }
        let lines = memchr_iter(self.line_end, self.cells.bytes()).count() as u64;
        Scored {
            out: self.sink.end(),
            rejects: std::mem::take(&mut self.rejects),
            records: self.records,
            on_hold: self.on_hold,
            lines,
            buffer: self.cells.take_buffer(),
        }
    }

    fn blocks(&mut self) {
        let bytes = self.cells.bytes();
        let clean = memchr(0, bytes).is_none() && std::str::from_utf8(bytes).is_ok();
        loop {
            let from = self.rejects.len();
            self.read_block(clean);
            if !self.places.is_empty() {
                self.score_block();
            }
            self.rejects[from..].sort_by_key(|reject| reject.record);
            if self.places.len() < BLOCK_ROWS {
                return;
            }
        }
    }

    /// Keeps the next rows that have the right number of cells; the others are rejected at once.
    fn read_block(&mut self, clean: bool) {
        self.cells.forget();
        self.places.clear();
        let columns = self.layout.columns();
        while self.places.len() < BLOCK_ROWS {
            let Some(place) = self.cells.next_record() else { return };
            if place.cells != columns {
                self.reject_record(place, ragged(place.cells, columns));
            } else if !clean && self.is_unclean(place) {
                let faults = self.encoding_faults(place);
                self.reject_record(place, faults);
            } else {
                self.records += 1;
                self.places.push((self.records, place.start));
            }
        }
    }

    fn score_block(&mut self) {
        let (rows, columns) = (self.places.len(), self.layout.columns());
        self.scorer.columns.begin(rows);
        for (column, reader) in self.layout.readers.iter().enumerate() {
            self.fill(column, reader);
        }
        let cells = &self.cells;
        let mut results: Vec<&mut [f64]> =
            self.results.iter_mut().map(<[f64; BLOCK_ROWS]>::as_mut_slice).collect();
        self.scorer.score(&mut results, |column, row| {
            let text = std::str::from_utf8(cells.cell(row * columns + column));
            Cell::Text(text.unwrap_or_default())
        });
        self.rejected.clear();
        self.rejected.resize(rows, false);
        let rejects = std::mem::take(&mut self.scorer.outcome.rejects);
        for (row, issues) in &rejects {
            self.rejected[*row] = true;
            let (record, start) = self.places[*row];
            let cells = (row * columns..(row + 1) * columns).map(|at| text(self.cells.cell(at)));
            let cells = cells.collect();
            let lines_before = self.lines_before(start);
            self.rejects.push(RejectRow { record, lines_before, faults: joined(issues), cells });
        }
        let block = Block {
            cells: &self.cells,
            layout: self.layout,
            numbers: &self.results,
            outcome: &self.scorer.outcome,
            rejected: &self.rejected,
        };
        let on_hold = block.rows().filter(|row| is_on_hold(block.outcome.findings[*row]));
        self.on_hold += on_hold.count() as u64;
        self.sink.block(&block);
    }

    /// Fills one field of the block from one column.
    fn fill(&mut self, column: usize, reader: &Reader) {
        let (rows, columns) = (self.places.len(), self.layout.columns());
        let cells = (0..rows).map(|row| self.cells.cell(row * columns + column));
        let slots = cells.zip(self.numbers.iter_mut().zip(self.given.iter_mut()));
        let (field, units) = match reader {
            Reader::Pass => return,
            Reader::HouseId => {
                for row in 0..rows {
                    if !is_id(self.cells.cell(row * columns + column)) {
                        self.scorer.columns.suspect(row);
                    }
                }
                return;
            }
            Reader::Number(field, units) => {
                for (cell, (slot, given)) in slots {
                    *given = !is_blank(cell);
                    *slot = if *given { number(cell) } else { f64::NAN };
                }
                (*field, *units)
            }
            Reader::Choice(field, units, words) => {
                for (cell, (slot, given)) in slots {
                    *given = !is_blank(cell);
                    *slot = if *given { words.code(cell) } else { f64::NAN };
                }
                (*field, *units)
            }
        };
        let (numbers, given) = (&self.numbers[..rows], &self.given[..rows]);
        if given.contains(&false) {
            self.scorer.columns.fill(field, units, |row| numbers[row], |row| given[row]);
        } else {
            self.scorer.columns.fill_all(field, units, numbers);
        }
    }

    fn is_unclean(&self, place: Place) -> bool {
        let bytes = self.cells.bytes().get(place.start..place.end).unwrap_or_default();
        memchr(0, bytes).is_some() || std::str::from_utf8(bytes).is_err()
    }

    /// Every fault of a row that holds bytes which are not text, those of its other cells too.
    fn encoding_faults(&self, place: Place) -> String {
        let mut house = House::builder();
        let roles = self.layout.plan.names().iter().zip(self.layout.plan.roles());
        for ((name, role), cell) in roles.zip(self.cells.last(place.cells)) {
            let name = name.trim();
            match std::str::from_utf8(cell) {
                Ok(text) if !text.contains('\0') => {
                    if *role != Role::Pass {
                        house.give(name, Cell::Text(text));
                    }
                }
                Ok(text) => {
                    let reason = "holds a NUL byte";
                    house.fault(Issue::new(IssueCode::Unreadable, name, text, reason));
                }
                Err(_) => {
                    let reason = "is not UTF-8; shown as Latin-1";
                    house.fault(Issue::new(IssueCode::Unreadable, name, text(cell), reason));
                }
            }
        }
        match house.build() {
            Err(error) => joined(&error.issues),
            Ok(_) => row_fault("holds bytes that are not text".to_owned()),
        }
    }

    /// Rejects the record that was read last.
    fn reject_record(&mut self, place: Place, faults: String) {
        let columns = self.layout.columns();
        let mut cells: Vec<String> = self.cells.last(place.cells).map(text).collect();
        if cells.len() > columns {
            let surplus = cells.split_off(columns.saturating_sub(1));
            cells.push(surplus.join(","));
        }
        cells.resize(columns, String::new());
        self.cells.drop_last(place.cells);
        self.records += 1;
        let (record, lines_before) = (self.records, self.lines_before(place.start));
        self.rejects.push(RejectRow { record, lines_before, faults, cells });
    }

    /// How many lines of the piece end before a byte.
    fn lines_before(&mut self, start: usize) -> u64 {
        let (mut at, mut lines) = self.counted;
        if start < at {
            (at, lines) = (0, 0);
        }
        let between = self.cells.bytes().get(at..start).unwrap_or_default();
        lines += memchr_iter(self.line_end, between).count() as u64;
        self.counted = (start, lines);
        lines
    }
}

/// The text of a cell; bytes that are not UTF-8 are read as Latin-1, in which every byte is one
/// character, so that nothing is lost.
fn text(cell: &[u8]) -> String {
    match std::str::from_utf8(cell) {
        Ok(text) => text.to_owned(),
        Err(_) => cell.iter().map(|byte| char::from(*byte)).collect(),
    }
}

/// Findings are in order of weight: the first one decides.
#[inline]
pub(crate) fn is_on_hold(findings: FindingSet) -> bool {
    findings.iter().next().is_some_and(|finding| finding.def().weight == Weight::Hold)
}

/// Faults as a table carries them.
pub(crate) fn joined(issues: &[Issue]) -> String {
    let texts: Vec<String> = issues.iter().map(ToString::to_string).collect();
    texts.join("; ")
}

fn row_fault(reason: String) -> String {
    Issue::new(IssueCode::Unreadable, "row", "", reason).to_string()
}

#[cold]
fn too_long() -> String {
    let most = MOST_RECORD_BYTES >> 20;
    row_fault(format!("longer than {most} MiB; its cells are not repeated here"))
}

#[cold]
fn ragged(cells: usize, columns: usize) -> String {
    let surplus = if cells > columns { "; the surplus is put into the last column" } else { "" };
    let plural = if cells == 1 { "cell" } else { "cells" };
    row_fault(format!("has {cells} {plural}, the header {columns}{surplus}"))
}

/// Whether a cell is as good as not given.
#[inline]
fn is_blank(cell: &[u8]) -> bool {
    match cell.first() {
        None => true,
        Some(b'!'..=b'~') => false,
        Some(_) => std::str::from_utf8(cell).is_ok_and(|text| text.trim().is_empty()),
    }
}

/// Whether the scalar door would take this as a house's name without a second look.
#[inline]
fn is_id(cell: &[u8]) -> bool {
    // Bytes are at least as many as characters: a long name is looked at again.
    cell.len() <= 200 && !is_blank(cell)
}
