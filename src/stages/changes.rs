//! What differs between two house files, value by value.

use super::HouseFile;
use crate::house::{Cell, Raw};
use std::collections::BTreeMap;
use std::fmt;

/// One value that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Where, as in `as_built.surfaces[0].bags`.
    pub path: String,
    /// The value before; `None` where there was none.
    pub before: Option<String>,
    /// The value after; `None` where there is none.
    pub after: Option<String>,
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.before, &self.after) {
            (Some(before), Some(after)) => write!(f, "{}: {before} -> {after}", self.path),
            (None, Some(after)) => write!(f, "{}: + {after}", self.path),
            (Some(before), None) => write!(f, "{}: - {before}", self.path),
            (None, None) => f.write_str(&self.path),
        }
    }
}

/// Every value that differs, in the order of the first file, then what only the second has.
/// Comments, order and spelling of a number are no values.
pub fn changes(before: &HouseFile, after: &HouseFile) -> Vec<Change> {
    let (old, new) = (flat(before.raw()), flat(after.raw()));
    let by_path =
        |list: &[(String, String)]| -> BTreeMap<String, String> { list.iter().cloned().collect() };
    let (old_by, new_by) = (by_path(&old), by_path(&new));
    let gone_or_other = old.iter().filter(|(path, value)| new_by.get(path) != Some(value));
    let mut found: Vec<Change> = gone_or_other
        .map(|(path, value)| Change {
            path: path.clone(),
            before: Some(value.clone()),
            after: new_by.get(path).cloned(),
        })
        .collect();
    let added = new.iter().filter(|(path, _)| !old_by.contains_key(path));
    found.extend(added.map(|(path, value)| Change {
        path: path.clone(),
        before: None,
        after: Some(value.clone()),
    }));
    found
}

/// Every single value with its path; an empty list or table is one too.
pub(crate) fn flat(raw: &Raw) -> Vec<(String, String)> {
    let mut out = Vec::new();
    walk(raw, String::new(), &mut out);
    out
}

fn walk(raw: &Raw, path: String, out: &mut Vec<(String, String)>) {
    match raw {
        Raw::Table(table) if !table.is_empty() => {
            for (key, value) in table {
                let dot = if path.is_empty() { "" } else { "." };
                walk(value, format!("{path}{dot}{key}"), out);
            }
        }
        Raw::List(items) if !items.is_empty() => {
            for (index, value) in items.iter().enumerate() {
                walk(value, format!("{path}[{index}]"), out);
            }
        }
        Raw::Table(_) => out.push((path, "{}".to_owned())),
        Raw::List(_) => out.push((path, "[]".to_owned())),
        Raw::Null => out.push((path, "null".to_owned())),
        Raw::Text(text) => out.push((path, format!("{text:?}"))),
        Raw::Other(sort) => out.push((path, sort.clone())),
        Raw::Bool(_) | Raw::Number(_) => {
            out.push((path, raw.cell().map(Cell::shown).unwrap_or_default()));
        }
    }
}
