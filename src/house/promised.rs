//! What a house file holds beside the house: its version and the stages of the job; and the house
//! as it was promised, the survey with what the offer says instead.

use super::Raw;
use super::document::wrong_sort;
use super::fields::{FIELDS, Field};
use super::record::Cell;
use crate::error::{InputError, Issue, IssueCode, nearest};

/// The version of house files that this library writes; it reads all before it.
pub const SCHEMA_VERSION: u32 = 2;

pub(crate) const SCHEMA_VERSION_KEY: &str = "schema_version";
const OFFER: &str = "offer";

/// Keys at the head of a house file that are read beside the house, not as a part of it.
const STAGE_KEYS: [&str; 5] = [
    SCHEMA_VERSION_KEY,
    OFFER,
    "as_built",
    "follow_up",
    // For whatever the user wants to keep; never read.
    "notes",
];

fn is_stage_key(key: &str) -> bool {
    STAGE_KEYS.contains(&key)
}

/// The head of the file without the stages, and with what the offer says instead; `None` where the
/// file has no stage. The other stages are for others to read.
///
/// # Errors
/// [`InputError`] for a version that is newer than this library, for a stage that is no table, and
/// for a slip in the offer.
pub(super) fn promised(table: &[(String, Raw)]) -> Result<Option<Vec<(String, Raw)>>, InputError> {
    if !table.iter().any(|(key, _)| is_stage_key(key)) {
        return Ok(None);
    }
    let mut issues = Vec::new();
    let mut offered: Vec<(String, Raw)> = Vec::new();
    for (key, value) in table {
        match (key.as_str(), value) {
            (SCHEMA_VERSION_KEY, value) => issues.extend(version_fault(value)),
            (OFFER, Raw::Table(offer)) => {
                for (key, value) in offer {
                    match Field::from_name(key) {
                        Some(_) => offered.push((key.clone(), value.clone())),
                        None => issues.extend(misspelt(key, value)),
                    }
                }
            }
            ("notes", _) => {}
            (key, other) if is_stage_key(key) && !matches!(other, Raw::Table(_)) => {
                issues.push(wrong_sort(key, other, "a table of named values"));
            }
            _ => {}
        }
    }
    if !issues.is_empty() {
        return Err(InputError { issues });
    }
    let fields: Vec<Field> =
        offered.iter().filter_map(|(key, _)| Some(Field::from_name(key)?.0)).collect();
    let replaced = |key: &str| Field::from_name(key).is_some_and(|(f, _)| fields.contains(&f));
    let head = table.iter().filter(|(key, _)| !is_stage_key(key) && !replaced(key));
    Ok(Some(head.cloned().chain(offered).collect()))
}

fn version_fault(value: &Raw) -> Option<Issue> {
    let known = (1..=SCHEMA_VERSION).any(|known| *value == Raw::Number(f64::from(known)));
    match value {
        _ if known => None,
        other => {
            let value = other.cell().map(Cell::shown).unwrap_or_default();
            let reason = format!(
                "this version of the library reads 1 to {SCHEMA_VERSION}; a newer file needs a newer one"
            );
            Some(Issue::new(IssueCode::OutOfRange, SCHEMA_VERSION_KEY, value, reason))
        }
    }
}

/// A key of the offer that is nearly a field: taken for what it says it would be lost.
fn misspelt(key: &str, value: &Raw) -> Option<Issue> {
    let known = FIELDS.iter().flat_map(|def| std::iter::once(def.ip).chain(def.si));
    let near = nearest(key, known)?;
    if key == "date" {
        return None;
    }
    let value = value.cell().map(Cell::shown).unwrap_or_default();
    let reason = format!("no field has this name; is {near} meant?");
    Some(Issue::new(IssueCode::UnknownName, key, value, reason).within(OFFER))
}
