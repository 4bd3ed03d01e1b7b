//! Columns of words that depend on the findings alone.

use crate::readiness::{FindingSet, Readiness};
use arrow_array::{ArrayRef, StringArray};
use arrow_buffer::{Buffer, NullBuffer, OffsetBuffer, ScalarBuffer};
use arrow_schema::ArrowError;
use std::collections::HashMap;
use std::sync::Arc;

/// Slots of the table of what was seen last: most rows find their set there at once.
const SLOTS: usize = 1 << 12;
/// More distinct sets than this are not kept: they are forgotten, and written anew.
const MOST_SETS: usize = 1 << 16;

/// The distinct sets of findings that were met so far, each written once.
#[derive(Debug)]
pub(super) struct Lexicon {
    places: HashMap<FindingSet, u32>,
    recent: Box<[(FindingSet, u32); SLOTS]>,
    entries: Vec<Entry>,
}

#[derive(Debug)]
struct Entry {
    readiness: Readiness,
    codes: String,
    /// The bytes of `codes`, and zeros to a multiple of [`CHUNK`].
    padded: Vec<u8>,
}

/// Words are copied in chunks of so many bytes: the room behind the last is cut off again.
const CHUNK: usize = 32;

/// The rows of a batch by their entries.
pub(super) struct Worded<'l> {
    lexicon: &'l Lexicon,
    rows: Vec<u32>,
    rejected: Option<&'l NullBuffer>,
}

impl Default for Lexicon {
    fn default() -> Self {
        Self {
            places: HashMap::new(),
            recent: Box::new([(FindingSet::default(), u32::MAX); SLOTS]),
            entries: Vec::new(),
        }
    }
}

impl Lexicon {
    /// Looks every row up; `rejected` says which rows are null.
    pub(super) fn read<'l>(
        &'l mut self,
        findings: &[FindingSet],
        rejected: Option<&'l NullBuffer>,
    ) -> Worded<'l> {
        if self.entries.len() > MOST_SETS {
            *self = Self::default();
        }
        let rows = findings.iter().map(|set| self.place(*set)).collect();
        Worded { lexicon: self, rows, rejected }
    }

    #[inline]
    fn place(&mut self, set: FindingSet) -> u32 {
        // The odd number nearest to 2^32 over the golden ratio scatters the flags.
        let slot = set.flags().wrapping_mul(0x9E37_79B9) >> (32 - SLOTS.trailing_zeros());
        let (known, place) = self.recent[slot as usize % SLOTS];
        if known == set && place != u32::MAX {
            return place;
        }
        let place = self.look_up(set);
        self.recent[slot as usize % SLOTS] = (set, place);
        place
    }

    fn look_up(&mut self, set: FindingSet) -> u32 {
        let entries = &mut self.entries;
        *self.places.entry(set).or_insert_with(|| {
            let codes = set.codes();
            let mut padded = codes.clone().into_bytes();
            padded.resize(codes.len().next_multiple_of(CHUNK), 0);
            entries.push(Entry { readiness: set.readiness(), codes, padded });
            u32::try_from(entries.len() - 1).unwrap_or(u32::MAX)
        })
    }
}

impl Worded<'_> {
    /// How many scored rows are on hold.
    pub(super) fn on_hold(&self) -> u64 {
        self.entries().filter(|e| e.is_some_and(|e| e.readiness == Readiness::Hold)).count() as u64
    }

    /// The column of readiness.
    pub(super) fn readiness(&self) -> Result<ArrayRef, ArrowError> {
        let mut padded = [[0; 8]; 3];
        for word in [Readiness::Clear, Readiness::Check, Readiness::Hold] {
            let bytes = word.as_str().as_bytes();
            padded[word as usize][..bytes.len()].copy_from_slice(bytes);
        }
        self.column::<8>(|entry| {
            (padded[entry.readiness as usize].as_slice(), entry.readiness.as_str().len())
        })
    }

    /// The column of codes.
    pub(super) fn codes(&self) -> Result<ArrayRef, ArrowError> {
        self.column::<CHUNK>(|entry| (entry.padded.as_slice(), entry.codes.len()))
    }

    /// What each row says; `None` for a reject.
    fn entries(&self) -> impl Iterator<Item = Option<&Entry>> {
        self.rows.iter().enumerate().map(|(row, place)| {
            let scored = self.rejected.is_none_or(|nulls| nulls.is_valid(row));
            self.lexicon.entries.get(*place as usize).filter(|_| scored)
        })
    }

    /// Plain strings, since half of what pyarrow does is not there for views. `word` gives a word's
    /// bytes, filled up to a multiple of `CHUNK`, and its length.
    fn column<'w, const CHUNK: usize>(
        &'w self,
        word: impl Fn(&'w Entry) -> (&'w [u8], usize),
    ) -> Result<ArrayRef, ArrowError> {
        let words = || self.entries().map(|entry| entry.map_or((&[][..], 0), &word));
        let mut offsets: Vec<i32> = Vec::with_capacity(self.rows.len() + 1);
        let mut end = 0_usize;
        offsets.push(0);
        for (_, length) in words() {
            end += length;
            offsets.push(i32::try_from(end).map_err(|_| {
                let reason = "a batch has too many rows for its findings";
                ArrowError::InvalidArgumentError(reason.into())
            })?);
        }
        let mut bytes = vec![0_u8; end + CHUNK];
        let mut at = 0;
        for (padded, length) in words() {
            let (chunks, _) = padded.as_chunks::<CHUNK>();
            let (places, _) = bytes[at..].as_chunks_mut::<CHUNK>();
            places.iter_mut().zip(chunks).for_each(|(to, chunk)| *to = *chunk);
            at += length;
        }
        bytes.truncate(end);
        let offsets = OffsetBuffer::new(ScalarBuffer::from(offsets));
        let array = StringArray::try_new(offsets, Buffer::from_vec(bytes), self.rejected.cloned())?;
        Ok(Arc::new(array))
    }
}
