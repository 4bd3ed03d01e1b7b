//! From the columns of a record batch into a block of rows.

use super::columns::{BLOCK_ROWS, Columns};
use super::data::{Data, blank, nearest};
use super::plan::Role;
use super::words::Words;
use crate::house::{Cell, Field, Kind};
use crate::units::UnitSystem;
use arrow_array::Array;
use std::ops::Range;

/// The words that a column may hold.
pub(super) fn words_of(role: Role) -> Option<Words> {
    match role {
        Role::Field(field, _) => match field.def().kind {
            Kind::Choice(choices) => Some(Words::new(choices)),
            _ => None,
        },
        Role::HouseId | Role::Pass => None,
    }
}

/// Fills one field of a block from one column.
pub(super) fn fill(
    columns: &mut Columns,
    role: Role,
    words: Option<&Words>,
    data: &Data,
    rows: Range<usize>,
) {
    let base = rows.start;
    match role {
        Role::Pass => {}
        Role::HouseId => {
            if matches!(data, Data::Text(text) if text.are_plain_ids(rows.clone())) {
                return;
            }
            for row in 0..rows.len() {
                if !is_id(data, base + row) {
                    columns.suspect(row);
                }
            }
        }
        Role::Field(field, units) => fill_field(columns, field, units, words, data, rows),
    }
}

/// Whether the scalar door would take this as a house's name without a second look.
fn is_id(data: &Data, row: usize) -> bool {
    match data {
        // Bytes are at least as many as characters: a long name is looked at again.
        Data::Text(text) => text.get(row).is_some_and(|text| text.len() <= 200 && !blank(text)),
        Data::Number(array) => array.is_valid(row) && array.value(row).is_finite(),
        Data::Whole(array) => array.is_valid(row),
        Data::Bool(_) | Data::Nothing => false,
    }
}

fn fill_field(
    columns: &mut Columns,
    field: Field,
    units: UnitSystem,
    words: Option<&Words>,
    data: &Data,
    rows: Range<usize>,
) {
    let base = rows.start;
    match (field.def().kind, words, data) {
        (Kind::Number | Kind::Whole, _, Data::Number(array)) => {
            let values = &array.values()[rows.clone()];
            match array.nulls().map(|nulls| nulls.slice(base, rows.len())) {
                Some(nulls) if nulls.null_count() > 0 => {
                    columns.fill(field, units, |row| values[row], |row| nulls.is_valid(row));
                }
                _ => columns.fill_all(field, units, values),
            }
        }
        (Kind::Number | Kind::Whole, _, Data::Whole(array)) => {
            let mut values = [f64::NAN; BLOCK_ROWS];
            let values = &mut values[..rows.len()];
            let whole = &array.values()[rows.clone()];
            values.iter_mut().zip(whole).for_each(|(value, whole)| *value = nearest(*whole));
            match array.nulls().map(|nulls| nulls.slice(base, rows.len())) {
                Some(nulls) if nulls.null_count() > 0 => {
                    columns.fill(field, units, |row| values[row], |row| nulls.is_valid(row));
                }
                _ => columns.fill_all(field, units, values),
            }
        }
        (Kind::Choice(_), Some(words), Data::Text(text)) => {
            let mut codes = [f64::NAN; BLOCK_ROWS];
            let codes = &mut codes[..rows.len()];
            if text.codes(words, rows, codes) {
                columns.fill_all(field, units, codes);
            } else {
                let given = |row: usize| text.get(base + row).is_some_and(|text| !blank(text));
                columns.fill(field, units, |row| codes[row], given);
            }
        }
        (Kind::Number | Kind::Whole, _, Data::Text(text)) => {
            let cell = |row: usize| text.get(base + row).filter(|text| !blank(text));
            let number = |row: usize| cell(row).and_then(|text| text.trim().parse().ok());
            let number = |row: usize| number(row).unwrap_or(f64::NAN);
            columns.fill(field, units, number, |row| cell(row).is_some());
        }
        (_, _, Data::Nothing) => columns.fill(field, units, |_| f64::NAN, |_| false),
        // A word where a number is meant, or the reverse: the scalar door says so; yes and no as
        // booleans go there too.
        (_, _, data) => {
            let given = |row: usize| !matches!(data.cell(base + row), Cell::Blank);
            columns.fill(field, units, |_| f64::NAN, given);
        }
    }
}
