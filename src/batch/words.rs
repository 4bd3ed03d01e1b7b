//! The words of a choice, found by their bytes.

use crate::house::Choices;

/// The words of a choice, to be found by their bytes.
///
/// Words are scattered over slots so that no two fall into the same: a cell is compared with the
/// one word that it can be.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    choices: Choices,
    scatter: Scatter,
    slots: Vec<Slot>,
}

/// A word and its code.
#[derive(Clone, Copy, Debug)]
struct Slot {
    key: Key,
    place: usize,
    code: f64,
}

/// How keys are scattered.
#[derive(Clone, Copy, Debug)]
struct Scatter {
    factor: u64,
    bits: u32,
}

impl Scatter {
    #[inline]
    fn slot(self, key: Key) -> usize {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "the low half, the high half, few bits"
        )]
        {
            let (low, high) = (key.word as u64, (key.word >> 64) as u64);
            let mixed = (low ^ high.rotate_left(23)).wrapping_add(key.length as u64);
            (mixed.wrapping_mul(self.factor) >> (64 - self.bits)) as usize
        }
    }
}

/// The first bytes of a word, the rest of the sixteen 0, and its length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Key {
    word: u128,
    length: usize,
}

#[inline]
fn key(cell: &[u8]) -> Key {
    let length = cell.len();
    // Two reads that overlap in the middle cover any length between theirs, without a loop.
    let word = if let Some(word) = cell.first_chunk::<16>() {
        u128::from_le_bytes(*word)
    } else if let (Some(head), Some(tail)) = (cell.first_chunk::<8>(), cell.last_chunk::<8>()) {
        let (head, tail) = (u64::from_le_bytes(*head), u64::from_le_bytes(*tail));
        u128::from(head) | (u128::from(tail) << 64) >> (8 * (16 - length))
    } else if let (Some(head), Some(tail)) = (cell.first_chunk::<4>(), cell.last_chunk::<4>()) {
        let (head, tail) = (u32::from_le_bytes(*head), u32::from_le_bytes(*tail));
        u128::from(u64::from(head) | (u64::from(tail) << 32) >> (8 * (8 - length)))
    } else {
        cell.iter().rev().fold(0, |word, byte| word << 8 | u128::from(*byte))
    };
    Key { word, length }
}

/// Masks of the first so many bytes.
#[cfg(feature = "arrow")]
static FIRST_BYTES: [u128; 17] = {
    let mut masks = [0; 17];
    let mut length = 1;
    while length <= 16 {
        masks[length] = masks[length - 1] << 8 | 0xFF;
        length += 1;
    }
    masks
};

impl Words {
    pub(crate) fn new(choices: Choices) -> Self {
        let keys: Vec<Key> = choices.words().iter().map(|word| key(word.as_bytes())).collect();
        let mut factor = 0x9E37_79B9_7F4A_7C15_u64;
        // Room for each word, then twice as much, and so on: a few tries are enough.
        let found = (0..12 * 64).find_map(|attempt| {
            factor = factor.wrapping_mul(0xD134_2543_DE82_EF95).wrapping_add(1) | 1;
            let bits = keys.len().next_power_of_two().trailing_zeros() + 1 + attempt / 64;
            let scatter = Scatter { factor, bits };
            let none = Slot { key: Key { word: 0, length: 0 }, place: 0, code: f64::NAN };
            let mut slots = vec![none; 1 << bits];
            for (place, key) in keys.iter().enumerate() {
                let slot = slots.get_mut(scatter.slot(*key)).filter(|slot| slot.key.length == 0)?;
                *slot = Slot { key: *key, place, code: code_of(place) };
            }
            Some((scatter, slots))
        });
        // Words that begin with the same sixteen bytes cannot be told apart in this way: then every
        // cell goes the slow way round.
        let (scatter, slots) = found.unwrap_or((Scatter { factor: 0, bits: 1 }, Vec::new()));
        Self { choices, scatter, slots }
    }

    /// The places of the words that lie one after the other in `bytes`, cut at `offsets`: `codes`
    /// of them. NaN where a cell is none of them to the letter.
    #[cfg(feature = "arrow")]
    pub(crate) fn plain_codes<O: arrow_array::OffsetSizeTrait>(
        &self,
        bytes: &[u8],
        offsets: &[O],
        codes: &mut [f64],
    ) {
        let cells = codes.iter_mut().zip(offsets.iter().zip(offsets.iter().skip(1)));
        for (code, (from, to)) in cells {
            let (from, to) = (from.as_usize(), to.as_usize());
            let length = to.wrapping_sub(from);
            *code = match bytes.get(from..).and_then(<[u8]>::first_chunk::<16>) {
                Some(chunk) if length <= 16 => {
                    let word = u128::from_le_bytes(*chunk) & FIRST_BYTES[length];
                    self.plain(Key { word, length })
                }
                _ => bytes.get(from..to).map_or(f64::NAN, |cell| self.code(cell)),
            };
        }
    }

    /// The code of a word of up to sixteen bytes; NaN for none.
    #[cfg(feature = "arrow")]
    #[inline]
    fn plain(&self, key: Key) -> f64 {
        let slot = self.slots.get(self.scatter.slot(key));
        slot.filter(|slot| slot.key == key).map_or(f64::NAN, |slot| slot.code)
    }

    /// The place of a word in its list, as the number that a block holds; NaN where it has none.
    #[inline]
    pub(crate) fn code(&self, cell: &[u8]) -> f64 {
        let wanted = key(cell);
        if let Some(slot) = self.slots.get(self.scatter.slot(wanted)).filter(|s| s.key == wanted)
            // A key says all of a short word; a longer one is compared in full.
            && (wanted.length <= 16 || self.choices.words()[slot.place].as_bytes() == cell)
        {
            return slot.code;
        }
        self.otherwise(cell)
    }

    /// Capitals and surrounding space do not matter.
    #[cold]
    fn otherwise(&self, cell: &[u8]) -> f64 {
        let text = std::str::from_utf8(cell).ok();
        text.and_then(|text| self.choices.find(text)).map_or(f64::NAN, code_of)
    }
}

fn code_of(place: usize) -> f64 {
    u32::try_from(place).map_or(f64::NAN, f64::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_found_by_its_bytes() {
        for choices in [Choices::Fuel, Choices::Answer, Choices::GridRegion, Choices::Cladding] {
            let words = Words::new(choices);
            for (place, word) in choices.words().iter().enumerate() {
                assert_eq!(words.code(word.as_bytes()), code_of(place));
                let shouted = format!(" {} ", word.to_uppercase());
                assert_eq!(words.code(shouted.as_bytes()), code_of(place));
            }
            assert!(words.code(b"no such word").is_nan());
        }
    }
}
