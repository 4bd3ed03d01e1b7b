//! Columns of words that depend on the findings alone.

use super::pages::Pages;
use crate::readiness::{FindingSet, Readiness};
use arrow_buffer::{Buffer, NullBuffer};
use arrow_schema::ArrowError;
use std::collections::HashMap;

/// Slots of the table of what was seen last: most rows find their set there at once.
const SLOTS: usize = 1 << 12;
/// More distinct sets than this are not kept: they are forgotten, and written anew.
const MOST_SETS: usize = 1 << 16;

/// The distinct sets of findings that were met so far, each written once.
#[derive(Debug)]
pub(super) struct Lexicon {
    places: HashMap<FindingSet, u32>,
    recent: Vec<(FindingSet, u32)>,
    entries: Vec<Entry>,
    /// The entry of each row that was looked up last.
    rows: Vec<u32>,
}

#[derive(Debug)]
struct Entry {
    readiness: Readiness,
    codes: String,
    /// The bytes of `codes`, and zeros to a multiple of [`CHUNK`].
    padded: Vec<u8>,
}

/// The longest word of readiness fits in.
pub(super) const READINESS_BYTES: usize = 8;

/// Words are copied in chunks of so many bytes: the room behind the last is cut off again.
const CHUNK: usize = 32;

/// The rows of a batch by their entries.
pub(super) struct Worded<'l> {
    lexicon: &'l Lexicon,
    rejected: Option<&'l NullBuffer>,
}

impl Default for Lexicon {
    fn default() -> Self {
        Self {
            places: HashMap::new(),
            recent: vec![(FindingSet::default(), u32::MAX); SLOTS],
            entries: Vec::new(),
            rows: Vec::new(),
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
        let mut rows = std::mem::take(&mut self.rows);
        rows.clear();
        rows.extend(findings.iter().map(|set| self.place(*set)));
        self.rows = rows;
        Worded { lexicon: self, rejected }
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

    /// Writes the words of readiness one after the other, and where each ends; gives their length.
    /// `bytes` holds [`READINESS_BYTES`] for each row, `offsets` one number more than rows.
    pub(super) fn write_readiness(
        &self,
        offsets: &mut [i32],
        bytes: &mut [u8],
    ) -> Result<usize, ArrowError> {
        let mut padded = [[0; READINESS_BYTES]; 3];
        for word in [Readiness::Clear, Readiness::Check, Readiness::Hold] {
            let word_bytes = word.as_str().as_bytes();
            padded[word as usize][..word_bytes.len()].copy_from_slice(word_bytes);
        }
        let words = || {
            self.entries().map(|entry| match entry.map(|entry| entry.readiness) {
                Some(word) => (&padded[word as usize][..], word.as_str().len()),
                None => (&[][..], 0),
            })
        };
        let length = write_offsets(offsets, words())?;
        write_words::<READINESS_BYTES>(bytes, words());
        Ok(length)
    }

    /// Writes where the codes of each row end; gives them one after the other.
    pub(super) fn write_codes(&self, offsets: &mut [i32]) -> Result<Buffer, ArrowError> {
        let words = || self.entries().map(padded_codes);
        let length = write_offsets(offsets, words())?;
        let mut pages = Pages::new(vec![length + CHUNK]);
        for bytes in pages.parts_mut() {
            write_words::<CHUNK>(bytes, words());
        }
        Ok(pages.freeze().swap_remove(0).slice_with_length(0, length))
    }

    /// What each row says; `None` for a reject.
    fn entries(&self) -> impl Iterator<Item = Option<&Entry>> {
        self.lexicon.rows.iter().enumerate().map(|(row, place)| {
            let scored = self.rejected.is_none_or(|nulls| nulls.is_valid(row));
            self.lexicon.entries.get(*place as usize).filter(|_| scored)
        })
    }
}

fn padded_codes(entry: Option<&Entry>) -> (&[u8], usize) {
    entry.map_or((&[], 0), |entry| (&entry.padded, entry.codes.len()))
}

/// Ends of words that lie one after the other; gives the last.
fn write_offsets<'w>(
    offsets: &mut [i32],
    words: impl Iterator<Item = (&'w [u8], usize)>,
) -> Result<usize, ArrowError> {
    let mut end = 0_usize;
    offsets.iter_mut().take(1).for_each(|first| *first = 0);
    for (offset, (_, length)) in offsets.iter_mut().skip(1).zip(words) {
        end += length;
        *offset = i32::try_from(end).map_err(|_| {
            let reason = "a batch has too many rows for its findings";
            ArrowError::InvalidArgumentError(reason.into())
        })?;
    }
    Ok(end)
}

/// Words one after the other. Each comes filled up to a multiple of `CHUNK`; what stands behind its
/// length is written over by the next, so that `bytes` has room for a chunk more.
fn write_words<'w, const CHUNK: usize>(
    bytes: &mut [u8],
    words: impl Iterator<Item = (&'w [u8], usize)>,
) {
    let mut at = 0;
    for (padded, length) in words {
        let (chunks, _) = padded.as_chunks::<CHUNK>();
        let (places, _) = bytes[at..].as_chunks_mut::<CHUNK>();
        places.iter_mut().zip(chunks).for_each(|(to, chunk)| *to = *chunk);
        at += length;
    }
}
