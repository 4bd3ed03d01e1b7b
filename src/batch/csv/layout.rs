//! What the header of a CSV file says, and how each column is read.

use crate::batch::plan::{Plan, Role, SchemaError};
use crate::house::{Choices, Field, Kind, NUMBERS, RESULTS};
use crate::units::{Quantity, UnitSystem};

/// Place of `bags` among the results: a whole number.
pub(crate) const BAGS: usize = NUMBERS - 1;

/// How the cells of a column are read.
#[derive(Clone, Debug)]
pub(super) enum Reader {
    Pass,
    HouseId,
    Number(Field, UnitSystem),
    Choice(Field, UnitSystem, Words),
}

/// The words of a choice, to be found by their bytes.
#[derive(Clone, Debug)]
pub(super) struct Words {
    choices: Choices,
    /// The first eight bytes and the length of each.
    keys: Vec<(u64, usize)>,
}

/// The first eight bytes of a word, or all of a shorter one.
#[inline]
fn key(word: &[u8]) -> (u64, usize) {
    let head = match word.first_chunk::<8>() {
        Some(head) => u64::from_le_bytes(*head),
        None => word.iter().rev().fold(0, |key, byte| key << 8 | u64::from(*byte)),
    };
    (head, word.len())
}

impl Words {
    fn new(choices: Choices) -> Self {
        let keys = choices.words().iter().map(|word| key(word.as_bytes())).collect();
        Self { choices, keys }
    }

    /// The place of a word in its list, as the number that a block holds; NaN where it has none.
    #[inline]
    pub(super) fn code(&self, cell: &[u8]) -> f64 {
        let wanted = key(cell);
        let words = self.choices.words();
        for (place, key) in self.keys.iter().enumerate() {
            if *key == wanted && words.get(place).is_some_and(|word| word.as_bytes() == cell) {
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

/// What each column of a CSV file is, and what is written for it.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) plan: Plan,
    /// The columns that go into the output before the results.
    pub(crate) carried: Vec<usize>,
    /// The unit system of the results.
    pub(crate) units: UnitSystem,
    /// The quantity of each result that is to be turned into its SI unit.
    pub(super) convert: [Option<Quantity>; NUMBERS],
    pub(super) readers: Vec<Reader>,
}

/// Says so when a column has the name of a result: the output could not have both.
pub(crate) fn clashes<'n>(names: impl Iterator<Item = &'n str>, units: UnitSystem) -> Vec<String> {
    names
        .filter(|name| RESULTS.iter().any(|def| def.name(units) == *name))
        .map(|name| format!("the table has a column {name}, a name that a result takes; rename it"))
        .collect()
}

impl Layout {
    /// Reads the names of the columns.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault of the columns.
    pub(crate) fn new(names: &[String], units: UnitSystem) -> Result<Self, SchemaError> {
        let plan = Plan::new(names)?;
        let carried = plan.carried();
        let faults = clashes(carried.iter().map(|&column| plan.names()[column].trim()), units);
        if !faults.is_empty() {
            return Err(SchemaError { faults });
        }
        let mut convert = [None; NUMBERS];
        for (slot, def) in convert.iter_mut().zip(RESULTS) {
            *slot = (units == UnitSystem::Si && !def.quantity.is_shared()).then_some(def.quantity);
        }
        let readers = plan
            .roles()
            .iter()
            .map(|role| match role {
                Role::Pass => Reader::Pass,
                Role::HouseId => Reader::HouseId,
                Role::Field(field, units) => match field.def().kind {
                    Kind::Choice(choices) => Reader::Choice(*field, *units, Words::new(choices)),
                    Kind::Number | Kind::Whole | Kind::Text => Reader::Number(*field, *units),
                },
            })
            .collect();
        Ok(Self { plan, carried, units, convert, readers })
    }

    pub(crate) fn columns(&self) -> usize {
        self.readers.len()
    }

    /// A result in the unit in which it is written.
    #[inline]
    pub(crate) fn result(&self, place: usize, ip: f64) -> f64 {
        match self.convert.get(place) {
            Some(Some(quantity)) => quantity.si_from_ip(ip),
            _ => ip,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bags_are_where_they_are_thought_to_be() {
        assert_eq!(RESULTS[BAGS].ip, "bags");
    }

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
