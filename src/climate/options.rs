//! What a reader is told besides the file.

use super::columns::Role;
use super::weather::{Format, TemperatureUnit};

/// What a reader is told besides the file. With nothing said, the form is told by the content,
/// columns by their usual names, and the unit by the names of the columns.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadOptions {
    /// The form; told by the content where it is not given.
    pub format: Option<Format>,
    /// Unit of the temperatures of a table; the other forms have °C.
    pub unit: Option<TemperatureUnit>,
    /// Which columns of a table are what.
    pub columns: Vec<(Role, String)>,
    /// Only rows of a table with this text in this column: one station of several.
    pub only: Option<(String, String)>,
    /// What the place is called, where the file does not say.
    pub name: String,
}
