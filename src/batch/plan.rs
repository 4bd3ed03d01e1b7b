//! What each column of a table is, by its name.

use crate::error::nearest;
use crate::house::{Absent, FIELDS, Field, FieldDef, Scope};
use crate::units::UnitSystem;
use std::fmt;

/// What a column of a flat table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// The user's own name for the house.
    HouseId,
    /// A field, under its name in this unit system.
    Field(Field, UnitSystem),
    /// Not of the contract: handed through untouched.
    Pass,
}

/// What each column of a flat table is.
#[derive(Clone, Debug)]
pub struct Plan {
    names: Vec<String>,
    roles: Vec<Role>,
}

/// Why a table as a whole cannot be scored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SchemaError {
    /// Every fault of the columns, a sentence each.
    pub faults: Vec<String>,
}

impl fmt::Display for SchemaError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.faults.join("\n"))
    }
}

impl std::error::Error for SchemaError {}

impl From<String> for SchemaError {
    fn from(fault: String) -> Self {
        Self { faults: vec![fault] }
    }
}

/// Whether a field may be a column of a flat table.
fn is_flat(def: &FieldDef) -> bool {
    matches!(def.scope, Scope::House | Scope::Wall | Scope::FlatOnly)
}

fn role(name: &str) -> Role {
    match Field::from_name(name) {
        Some((Field::HouseId, _)) => Role::HouseId,
        Some((field, units)) if is_flat(field.def()) => Role::Field(field, units),
        _ => Role::Pass,
    }
}

impl Plan {
    /// Reads the columns' names, in any order.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault: a field's column that stands twice under one name, a
    /// required column that is missing. A field may have a column in each unit system; a row may
    /// fill only one of them.
    pub fn new<S: AsRef<str>>(names: impl IntoIterator<Item = S>) -> Result<Self, SchemaError> {
        Self::read(names, false)
    }

    /// Reads the columns' names of a table whose houses list their surfaces: what belongs to a
    /// wall need not be a column.
    #[cfg(feature = "arrow")]
    pub(super) fn nested<S: AsRef<str>>(
        names: impl IntoIterator<Item = S>,
    ) -> Result<Self, SchemaError> {
        Self::read(names, true)
    }

    fn read<S: AsRef<str>>(
        names: impl IntoIterator<Item = S>,
        nested: bool,
    ) -> Result<Self, SchemaError> {
        let names: Vec<String> = names.into_iter().map(|name| name.as_ref().to_owned()).collect();
        let roles: Vec<Role> = names.iter().map(|name| role(name.trim())).collect();
        let plan = Self { names, roles };
        let faults = plan.faults(nested);
        if faults.is_empty() { Ok(plan) } else { Err(SchemaError { faults }) }
    }

    fn faults(&self, nested: bool) -> Vec<String> {
        let mut faults = Vec::new();
        for (place, role) in self.roles.iter().enumerate() {
            if *role != Role::Pass && self.roles[..place].contains(role) {
                faults.push(format!("the column {} stands twice", self.names[place]));
            }
        }
        let wanted = |def: &&FieldDef| {
            if nested { def.scope == Scope::House } else { is_flat(def) }
        };
        for def in FIELDS.iter().filter(wanted) {
            if def.absent == Absent::Refused && !self.has(def.field) {
                faults.push(self.missing(def, ""));
            }
        }
        let materials = [Field::Cladding, Field::Sheathing, Field::InteriorFinish];
        if !nested && !self.has(Field::SeriesR) && !materials.iter().all(|field| self.has(*field)) {
            let or = ", nor cladding, sheathing and interior_finish";
            faults.push(self.missing(Field::SeriesR.def(), or));
        }
        if !self.has(Field::FuelPrice) && !self.has(Field::ElectricityPrice) {
            faults.push(self.missing(Field::FuelPrice.def(), ""));
        }
        faults
    }

    fn missing(&self, def: &FieldDef, or: &str) -> String {
        let also = def.si.map(|si| format!(" or {si}")).unwrap_or_default();
        let unknown = || {
            let pass = self.names.iter().zip(&self.roles).filter(|(_, role)| **role == Role::Pass);
            pass.map(|(name, _)| name.trim())
        };
        let hint = nearest(def.ip, unknown())
            .or_else(|| def.si.and_then(|si| nearest(si, unknown())))
            .map(|near| format!("; is it the column {near}?"))
            .unwrap_or_default();
        format!("there is no column {}{also}{or}{hint}", def.ip)
    }

    fn has(&self, field: Field) -> bool {
        if field == Field::HouseId {
            return self.roles.contains(&Role::HouseId);
        }
        self.roles.iter().any(|role| matches!(role, Role::Field(f, _) if *f == field))
    }

    /// The columns' names as they stand.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// What each column is.
    pub fn roles(&self) -> &[Role] {
        &self.roles
    }

    /// The columns that go into the output before the results: the house's name, then those not
    /// of the contract, in their order.
    pub fn carried(&self) -> Vec<usize> {
        let of = |wanted: Role| (0..self.roles.len()).filter(move |&i| self.roles[i] == wanted);
        of(Role::HouseId).chain(of(Role::Pass)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const REQUIRED: [&str; 8] = [
        "house_id",
        "wall_area_m2",
        "series_r",
        "heating_degree_days_f",
        "heating_efficiency",
        "fuel",
        "fuel_price",
        "installed_cost",
    ];

    #[test]
    fn names_in_any_order_and_unit_system() {
        let plan = Plan::new(REQUIRED.iter().rev().copied().chain(["county"])).unwrap();
        assert_eq!(plan.roles()[6], Role::Field(Field::WallArea, UnitSystem::Si));
        assert_eq!(plan.carried(), [7, 8]);
    }

    #[test]
    fn every_fault_of_the_columns_at_once() {
        let names = REQUIRED.iter().copied().filter(|name| *name != "fuel");
        let error = Plan::new(names.chain(["feul", "rebate", "rebate"])).unwrap_err();
        assert_eq!(
            error.faults,
            ["the column rebate stands twice", "there is no column fuel; is it the column feul?"]
        );
    }
}
