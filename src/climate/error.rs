//! Why a weather file gives no figures.

use crate::error::{InputError, Issue, IssueCode};
use std::fmt;
use std::path::PathBuf;

/// Why a weather file, or a question to it, gives nothing.
#[derive(Debug)]
#[non_exhaustive]
pub enum ClimateError {
    /// The file cannot be opened or read.
    Io {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The file is read but is no weather file, or not one that can be understood without help.
    Unreadable {
        /// What is wrong with it and what would help.
        reason: String,
    },
    /// The file is understood and what is asked of it would mislead.
    Refused {
        /// Why.
        reason: String,
    },
    /// What is asked is out of range.
    Input(InputError),
}

impl ClimateError {
    pub(super) fn unreadable(reason: impl Into<String>) -> Self {
        Self::Unreadable { reason: reason.into() }
    }

    pub(super) fn refused(reason: impl Into<String>) -> Self {
        Self::Refused { reason: reason.into() }
    }

    /// A number outside what is allowed.
    pub(super) fn range(name: &str, value: f64, allowed: &str) -> Self {
        let reason = format!("allowed is {allowed}");
        Self::Input(Issue::new(IssueCode::OutOfRange, name, value.to_string(), reason).into())
    }

    /// A word that is not among those allowed.
    pub(super) fn choice(name: &str, value: &str, allowed: &str) -> Self {
        let reason = format!("must be one of {allowed}");
        Self::Input(Issue::new(IssueCode::NotAChoice, name, value, reason).into())
    }
}

/// The value, when it is a finite number from `low` to `high`.
pub(super) fn within(
    name: &str,
    value: f64,
    low: f64,
    high: f64,
    unit: &str,
) -> Result<f64, ClimateError> {
    if value.is_finite() && (low..=high).contains(&value) {
        return Ok(value);
    }
    Err(ClimateError::range(name, value, &format!("{low} to {high} {unit}")))
}

impl fmt::Display for ClimateError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io { path, source } => write!(f, "{}: cannot be read: {source}", path.display()),
            Self::Unreadable { reason } | Self::Refused { reason } => f.write_str(reason),
            Self::Input(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for ClimateError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } => Some(source),
            Self::Unreadable { .. } | Self::Refused { .. } => None,
            Self::Input(error) => Some(error),
        }
    }
}

impl From<InputError> for ClimateError {
    fn from(error: InputError) -> Self {
        Self::Input(error)
    }
}
