//! Memory for results: large pieces that serve again and again.
//!
//! A fresh page costs the system more than filling it costs us. Pieces that nobody reads any more
//! are therefore kept, up to a limit, for the results of the next batch.

use arrow_buffer::Buffer;
use bytes::Bytes;
use memmap2::{MmapMut, MmapOptions};
use std::sync::Mutex;

/// Pieces from this size on are kept; smaller ones come from the allocator.
const LARGE: usize = 1 << 20;
/// What is kept at most, in bytes.
const MOST_KEPT: usize = 256 << 20;
/// The widest vector, and a line of the cache.
const LINE: usize = 64;

/// Pieces that nobody reads any more.
static KEPT: Mutex<Vec<MmapMut>> = Mutex::new(Vec::new());

/// A large piece, which comes back to those that are kept when its last reader is gone.
struct Piece(Option<MmapMut>);

impl Piece {
    /// A piece of at least so many bytes, with anything in it; `None` where the system gives none.
    fn new(length: usize) -> Option<Self> {
        // Whole units, so that pieces of nearly one size stand in for each other.
        let length = length.next_multiple_of(LARGE);
        let fits = |map: &MmapMut| (length..=2 * length).contains(&map.len());
        // Whoever has to wait for the list makes a new one: a lock that was held while the process
        // was forked is never opened again.
        let kept = KEPT.try_lock().ok().and_then(|mut kept| {
            let place = kept.iter().rposition(fits)?;
            Some(kept.swap_remove(place))
        });
        // All its pages at once are cheaper than one by one as they are touched.
        let fresh = || MmapOptions::new().len(length).populate().map_anon().ok();
        kept.or_else(fresh).map(|map| Self(Some(map)))
    }
}

impl AsRef<[u8]> for Piece {
    fn as_ref(&self) -> &[u8] {
        self.0.as_deref().unwrap_or_default()
    }
}

impl Drop for Piece {
    fn drop(&mut self) {
        if let (Some(map), Ok(mut kept)) = (self.0.take(), KEPT.try_lock()) {
            let held: usize = kept.iter().map(|map| map.len()).sum();
            if held + map.len() <= MOST_KEPT {
                kept.push(map);
            }
        }
    }
}

/// Bytes in parts, each of which begins where a vector may be loaded. There is anything in them
/// until they are written.
pub(super) struct Pages {
    memory: Memory,
    /// The first byte of the first part.
    start: usize,
    lengths: Vec<usize>,
}

enum Memory {
    Piece(Piece),
    Heap(Vec<u8>),
}

/// Bytes from the beginning of a part to that of the next: whole lines, and an odd number of them.
/// Columns of a round number of rows would otherwise all fall into the same few places of the cache.
const fn stride(length: usize) -> usize {
    (length.div_ceil(LINE) | 1) * LINE
}

impl Pages {
    /// Parts of these lengths.
    pub(super) fn new(lengths: Vec<usize>) -> Self {
        let whole: usize = lengths.iter().map(|length| stride(*length)).sum();
        if whole >= LARGE
            && let Some(piece) = Piece::new(whole)
        {
            // The system's pages begin where a line does.
            return Self { memory: Memory::Piece(piece), start: 0, lengths };
        }
        let heap = vec![0; whole + LINE];
        let start = heap.as_ptr().align_offset(LINE).min(LINE);
        Self { memory: Memory::Heap(heap), start, lengths }
    }

    /// The parts, to be written.
    pub(super) fn parts_mut(&mut self) -> Vec<&mut [u8]> {
        let whole: &mut [u8] = match &mut self.memory {
            Memory::Piece(piece) => piece.0.as_deref_mut().unwrap_or_default(),
            Memory::Heap(heap) => heap,
        };
        let mut rest = &mut whole[self.start..];
        let part = |length: &usize| {
            let (part, behind) = std::mem::take(&mut rest).split_at_mut(stride(*length));
            rest = behind;
            &mut part[..*length]
        };
        self.lengths.iter().map(part).collect()
    }

    /// The parts as they are now, for arrays to share.
    pub(super) fn freeze(self) -> Vec<Buffer> {
        let whole = match self.memory {
            Memory::Piece(piece) => Buffer::from(Bytes::from_owner(piece)),
            Memory::Heap(heap) => Buffer::from_vec(heap),
        };
        let mut start = self.start;
        let part = |length: &usize| {
            let part = whole.slice_with_length(start, *length);
            start += stride(*length);
            part
        };
        self.lengths.iter().map(part).collect()
    }
}

/// A part seen as numbers: parts begin where a number may, so that nothing is left over.
pub(super) fn typed<T: bytemuck::Pod>(part: &mut [u8]) -> &mut [T] {
    bytemuck::pod_align_to_mut(part).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_keep_what_is_written_into_them() {
        // Small ones and large ones, and the second of each finds what the first has left.
        for rows in [0, 1, 7, 512, 20_000, 20_000, 1, 19_000] {
            let lengths: Vec<usize> = (0..22).map(|place| rows * (8 + place % 3)).collect();
            let mut pages = Pages::new(lengths.clone());
            for (place, (part, length)) in pages.parts_mut().into_iter().zip(&lengths).enumerate() {
                assert_eq!(part.len(), *length);
                assert_eq!(typed::<f64>(part).len(), length / 8);
                part.fill(u8::try_from(place).unwrap());
            }
            for (place, (buffer, length)) in pages.freeze().iter().zip(&lengths).enumerate() {
                assert_eq!(buffer.len(), *length);
                assert_eq!(buffer.as_ptr().align_offset(LINE), 0);
                assert!(buffer.iter().all(|byte| usize::from(*byte) == place));
            }
        }
    }
}
