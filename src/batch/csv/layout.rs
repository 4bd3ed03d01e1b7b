//! What the header of a CSV file says, and how each column is read.

use crate::batch::plan::{Plan, Role, SchemaError};
use crate::batch::words::Words;
use crate::house::{Field, Kind, NUMBERS, RESULTS};
use crate::units::{Quantity, UnitSystem};
use std::sync::Arc;

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

/// What each column of a CSV file is, and what is written for it.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) plan: Arc<Plan>,
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
        let plan = Arc::new(plan);
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
}
