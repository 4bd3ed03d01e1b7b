//! The words of a choice, found by their bytes.

use crate::house::Choices;

/// The words of a choice, to be found by their bytes.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    choices: Choices,
    keys: Vec<Key>,
}

/// The first and the last bytes of a word, and its length: up to sixteen bytes, all of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Key {
    head: u64,
    tail: u64,
    length: usize,
}

#[inline]
fn key(word: &[u8]) -> Key {
    let (head, tail) =
        if let (Some(head), Some(tail)) = (word.first_chunk::<8>(), word.last_chunk::<8>()) {
            (u64::from_le_bytes(*head), u64::from_le_bytes(*tail))
        } else if let (Some(head), Some(tail)) = (word.first_chunk::<4>(), word.last_chunk::<4>()) {
            (u64::from(u32::from_le_bytes(*head)), u64::from(u32::from_le_bytes(*tail)))
        } else if let [first, .., last] = word {
            // Two or three bytes: the one in the middle is the second or the last again.
            (u64::from(*first), u64::from(word[1]) << 8 | u64::from(*last))
        } else {
            (word.first().map_or(0, |byte| u64::from(*byte)), 0)
        };
    Key { head, tail, length: word.len() }
}

impl Words {
    pub(crate) fn new(choices: Choices) -> Self {
        let keys = choices.words().iter().map(|word| key(word.as_bytes())).collect();
        Self { choices, keys }
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
