//! Writes a look into the text of a house file, and leaves the rest of the text as it is.

use crate::error::{InputError, Issue, IssueCode};
use crate::house::{House, HouseFileError};
#[cfg(feature = "evidence")]
use crate::stages::{Value, json_with_row};
use std::fmt::Write as _;

/// A look as it is to be written.
#[derive(Clone, Debug, Default)]
pub struct Entry {
    /// Code of the finding or the question.
    pub finding: String,
    /// Name of the surface, or `all`; empty where the house has one surface.
    pub surface: String,
    /// no, yes or unknown.
    pub answer: String,
    /// Key of the role.
    pub cleared_by: String,
    /// The day, as in 2026-03-02.
    pub date: String,
    /// What it rests on.
    pub evidence: String,
}

impl Entry {
    /// What is to be written, in the order in which a person reads it.
    fn given(&self) -> impl Iterator<Item = (&'static str, &str)> {
        [
            ("finding", &self.finding),
            ("surface", &self.surface),
            ("answer", &self.answer),
            ("cleared_by", &self.cleared_by),
            ("date", &self.date),
            ("evidence", &self.evidence),
        ]
        .into_iter()
        .map(|(name, value)| (name, value.trim()))
        .filter(|(_, value)| !value.is_empty())
    }
}

/// The text of a house file with a look at its end, TOML or JSON: a text that begins with a brace
/// is JSON, which takes the feature `evidence`.
///
/// # Errors
/// [`HouseFileError`] where the text is no house file, or is none any more with the look: what the
/// look lacks, who may not clear it, a day before the survey.
pub fn recorded(house_file: &str, entry: &Entry) -> Result<String, HouseFileError> {
    let house_file = house_file.strip_prefix('\u{feff}').unwrap_or(house_file);
    if house_file.trim_start().starts_with('{') {
        return in_json(house_file, entry);
    }
    House::from_toml(house_file)?;
    let mut text = house_file.trim_end().to_owned();
    text.push_str("\n\n[[clearances]]\n");
    for (name, value) in entry.given() {
        let _ = writeln!(text, "{name} = {}", quoted(value));
    }
    match House::from_toml(&text) {
        Ok(_) => Ok(text),
        // Only an inline list can stand in the way of a table of the same name.
        Err(HouseFileError::Unreadable { .. }) => Err(InputError::one(Issue::new(
            IssueCode::Conflict,
            "clearances",
            "",
            "are written as an inline list here: write them as [[clearances]], one below another",
        ))
        .into()),
        Err(error) => Err(error),
    }
}

/// Every other letter stays as it was.
#[cfg(feature = "evidence")]
fn in_json(house_file: &str, entry: &Entry) -> Result<String, HouseFileError> {
    House::from_json(house_file)?;
    let row: Vec<(String, Value)> = entry
        .given()
        .map(|(name, value)| (name.to_owned(), Value::Text(value.to_owned())))
        .collect();
    let text = json_with_row(house_file, "clearances", &row)
        .map_err(|reason| HouseFileError::Unreadable { reason })?;
    House::from_json(&text)?;
    Ok(text)
}

/// Changes of JSON text come with the feature `evidence`.
#[cfg(not(feature = "evidence"))]
fn in_json(_: &str, _: &Entry) -> Result<String, HouseFileError> {
    let reason = "this is JSON: without the feature `evidence` a look is written into TOML only";
    Err(HouseFileError::Unreadable { reason: reason.to_owned() })
}

/// A basic string of TOML.
fn quoted(value: &str) -> String {
    let mut out = String::from("\"");
    for letter in value.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            control if control.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(control));
            }
            other => out.push(other),
        }
    }
    out.push('"');
    out
}
