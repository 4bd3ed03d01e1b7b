//! Memory for results, in large pages where the system has them.
//!
//! A fresh page costs the system more than filling it costs us: a page of 2 MiB is asked for once
//! where 512 small ones are asked for one by one.

use arrow_buffer::Buffer;
use bytes::Bytes;
use memmap2::MmapMut;

/// A large page of the common machines.
const LARGE_PAGE: usize = 2 << 20;
/// The widest vector, and a line of the cache.
const LINE: usize = 64;

/// Zeroed bytes in parts, each of which begins where a vector may be loaded.
pub(super) struct Pages {
    memory: Memory,
    /// The first byte of the first part.
    start: usize,
    lengths: Vec<usize>,
}

enum Memory {
    Mapped(MmapMut),
    Heap(Vec<u8>),
}

/// Bytes from the beginning of a part to that of the next: whole lines, and an odd number of them.
/// Columns of a round number of rows would otherwise all fall into the same few places of the cache.
const fn stride(length: usize) -> usize {
    (length.div_ceil(LINE) | 1) * LINE
}

impl Pages {
    /// Parts of these lengths, all 0.
    pub(super) fn zeroed(lengths: Vec<usize>) -> Self {
        let whole: usize = lengths.iter().map(|length| stride(*length)).sum();
        if whole >= LARGE_PAGE
            && let Ok(map) = MmapMut::map_anon(whole.next_multiple_of(LARGE_PAGE) + LARGE_PAGE)
        {
            // A system that has no large pages gives small ones.
            #[cfg(target_os = "linux")]
            let _ = map.advise(memmap2::Advice::HugePage);
            let start = map.as_ptr().align_offset(LARGE_PAGE);
            if start <= LARGE_PAGE {
                return Self { memory: Memory::Mapped(map), start, lengths };
            }
        }
        let heap = vec![0; whole + LINE];
        let start = heap.as_ptr().align_offset(LINE).min(LINE);
        Self { memory: Memory::Heap(heap), start, lengths }
    }

    /// The parts, to be written.
    pub(super) fn parts_mut(&mut self) -> Vec<&mut [u8]> {
        let whole: &mut [u8] = match &mut self.memory {
            Memory::Mapped(map) => map,
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
            Memory::Mapped(map) => Buffer::from(Bytes::from_owner(map)),
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
        // Small ones, and some of more than a large page.
        for rows in [0, 1, 7, 512, 20_000] {
            let lengths: Vec<usize> = (0..22).map(|place| rows * (8 + place % 3)).collect();
            let mut pages = Pages::zeroed(lengths.clone());
            for (place, (part, length)) in pages.parts_mut().into_iter().zip(&lengths).enumerate() {
                assert_eq!(part.len(), *length);
                assert!(part.iter().all(|byte| *byte == 0));
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
