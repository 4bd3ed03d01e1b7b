//! Places by name, for a first guess.

use super::error::ClimateError;
use crate::error::{Issue, IssueCode, nearest};
use crate::source::Mark;
use crate::tables::{PLACES, Place};

/// What stands beside every figure that rests on a value known from memory.
pub const FROM_MEMORY: &str = "from memory, check locally";

impl Place {
    /// Name and region.
    pub fn full_name(&self) -> String {
        format!("{}, {}", self.name, self.region)
    }

    /// Whether a value that a house would take from it is known from memory only.
    pub fn is_from_memory(&self) -> bool {
        let marks = [
            self.heating.citation.mark,
            self.cooling.citation.mark,
            self.elevation_ft.citation.mark,
        ];
        marks.contains(&Mark::Memory)
    }
}

/// The place of this key, or of this name.
///
/// # Errors
/// [`ClimateError::Input`] with the nearest key where there is none.
pub fn place(key: &str) -> Result<&'static Place, ClimateError> {
    let wanted = key.trim().to_lowercase();
    let found = PLACES.iter().find(|place| {
        place.key == wanted
            || place.name.to_lowercase() == wanted
            || place.full_name().to_lowercase() == wanted
    });
    found.ok_or_else(|| {
        let near = nearest(&wanted, PLACES.iter().map(|place| place.key));
        let hint = near.map(|near| format!("; is {near} meant?")).unwrap_or_default();
        let reason = format!("no place of the table has this key or name{hint}");
        ClimateError::Input(Issue::new(IssueCode::NotAChoice, "place", key, reason).into())
    })
}

/// The places of which key, name or region holds a word.
pub fn places(word: &str) -> impl Iterator<Item = &'static Place> {
    let word = word.trim().to_lowercase();
    PLACES.iter().filter(move |place| {
        place.key.contains(&word) || place.full_name().to_lowercase().contains(&word)
    })
}
