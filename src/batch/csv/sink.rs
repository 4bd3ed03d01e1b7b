//! Scored rows as CSV text.

use super::layout::{BAGS, Layout};
use super::score::{Block, Sink};
use super::text::{put_number, put_text, put_whole};
use crate::house::{NUMBERS, RESULTS};
use crate::readiness::FindingSet;
use crate::units::UnitSystem;
use std::collections::HashMap;

/// Writes scored rows as CSV.
#[derive(Debug, Default)]
pub(crate) struct CsvSink {
    out: Vec<u8>,
    words: WordCells,
}

impl Sink for CsvSink {
    type Out = Vec<u8>;

    fn begin(&mut self, mut buffer: Vec<u8>) {
        buffer.clear();
        self.out = buffer;
    }

    fn block(&mut self, block: &Block<'_>) {
        let layout = block.layout;
        for row in block.rows() {
            for (place, column) in layout.carried.iter().enumerate() {
                if place > 0 {
                    self.out.push(b',');
                }
                put_text(&mut self.out, block.cell(row, *column));
            }
            let column = |place: usize| block.numbers.get(place).map_or(f64::NAN, |c| c[row]);
            for place in 0..NUMBERS {
                self.out.push(b',');
                if place == BAGS {
                    put_whole(&mut self.out, column(place));
                } else {
                    put_number(&mut self.out, layout.result(place, column(place)));
                }
            }
            self.out.extend_from_slice(self.words.of(block.outcome.findings[row]));
        }
    }

    fn end(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.out)
    }
}

/// The last cells of a row: they depend on the findings alone, so each is written once.
#[derive(Debug, Default)]
pub(crate) struct WordCells {
    known: HashMap<FindingSet, usize>,
    texts: Vec<Vec<u8>>,
    last: Option<(FindingSet, usize)>,
}

impl WordCells {
    /// Readiness and codes, with the comma before and the line end after them.
    #[inline]
    pub(crate) fn of(&mut self, findings: FindingSet) -> &[u8] {
        let place = match self.last {
            Some((same, place)) if same == findings => place,
            _ => self.look_up(findings),
        };
        self.last = Some((findings, place));
        self.texts.get(place).map(Vec::as_slice).unwrap_or_default()
    }

    fn look_up(&mut self, findings: FindingSet) -> usize {
        let texts = &mut self.texts;
        *self.known.entry(findings).or_insert_with(|| {
            let words = format!(",{},{}\n", findings.readiness().as_str(), findings.codes());
            texts.push(words.into_bytes());
            texts.len() - 1
        })
    }
}

/// The header of the output: the carried columns, then the results.
pub(crate) fn put_header<'n>(
    out: &mut Vec<u8>,
    carried: impl Iterator<Item = &'n str>,
    units: UnitSystem,
) {
    for (place, name) in carried.chain(RESULTS.iter().map(|def| def.name(units))).enumerate() {
        if place > 0 {
            out.push(b',');
        }
        put_text(out, name.as_bytes());
    }
    out.push(b'\n');
}

impl Layout {
    /// The header of a CSV output.
    pub(crate) fn header(&self) -> Vec<u8> {
        let mut out = Vec::new();
        let carried = self.carried.iter().map(|&column| self.plan.names()[column].as_str());
        put_header(&mut out, carried, self.units);
        out
    }
}
