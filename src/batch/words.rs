//! The words of a choice, found by their bytes.

use crate::house::Choices;

/// The words of a choice, to be found by their bytes.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    choices: Choices,
    keys: Vec<Key>,
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
        let keys = choices.words().iter().map(|word| key(word.as_bytes())).collect();
        Self { choices, keys }
    }

    /// The places of plain words that lie one after the other in `bytes`, cut at `offsets`: `codes`
    /// of them. NaN where a cell is none of them to the letter.
    ///
    /// No row decides where the loop goes on: each word of a short list is compared, and none is
    /// jumped over.
    #[cfg(feature = "arrow")]
    pub(crate) fn plain_codes<O: arrow_array::OffsetSizeTrait>(
        &self,
        bytes: &[u8],
        offsets: &[O],
        codes: &mut [f64],
    ) {
        let cells = codes.iter_mut().zip(offsets.iter().zip(offsets.iter().skip(1)));
        let short = self.keys.len() <= 8 && self.keys.iter().all(|key| key.length <= 16);
        for (code, (from, to)) in cells {
            let (from, to) = (from.as_usize(), to.as_usize());
            let length = to.wrapping_sub(from);
            *code = match bytes.get(from..).and_then(<[u8]>::first_chunk::<16>) {
                Some(chunk) if short => {
                    let whole = u128::from_le_bytes(*chunk);
                    // What is longer than any word is none of them by its length.
                    self.match_all(whole & FIRST_BYTES[length.min(16)], length)
                }
                _ => bytes.get(from..to).map_or(f64::NAN, |cell| self.code(cell)),
            };
        }
    }

    #[cfg(feature = "arrow")]
    #[inline(always)]
    fn match_all(&self, word: u128, length: usize) -> f64 {
        let mut code = f64::NAN;
        for (place, key) in self.keys.iter().enumerate() {
            let same = (key.word == word) & (key.length == length);
            code = if same { code_of(place) } else { code };
        }
        code
    }

    /// The place of a word in its list, as the number that a block holds; NaN where it has none.
    #[inline]
    pub(crate) fn code(&self, cell: &[u8]) -> f64 {
        let wanted = key(cell);
        let words = self.choices.words();
        for (place, key) in self.keys.iter().enumerate() {
            // A key says all of a short word; a longer one is compared in full.
            if *key == wanted && (wanted.length <= 16 || words[place].as_bytes() == cell) {
                return code_of(place);
            }
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
