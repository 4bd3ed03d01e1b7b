//! Writes a look into the text of a house file, and leaves the rest of the text as it is.

use crate::error::{InputError, Issue, IssueCode};
use crate::house::{House, HouseFileError};
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

/// The text of a TOML house file with a look at its end.
///
/// # Errors
/// [`HouseFileError`] where the text is no house file, or is none any more with the look: what the
/// look lacks, who may not clear it, a day before the survey.
pub fn recorded(house_file: &str, entry: &Entry) -> Result<String, HouseFileError> {
    House::from_toml(house_file)?;
    let mut text = house_file.trim_end().to_owned();
    text.push_str("\n\n[[clearances]]\n");
    for (name, value) in [
        ("finding", &entry.finding),
        ("surface", &entry.surface),
        ("answer", &entry.answer),
        ("cleared_by", &entry.cleared_by),
        ("date", &entry.date),
        ("evidence", &entry.evidence),
    ] {
        if !value.trim().is_empty() {
            let _ = writeln!(text, "{name} = {}", quoted(value.trim()));
        }
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
