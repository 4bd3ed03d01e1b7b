//! Why a file could not be scored.

use crate::batch::plan::SchemaError;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Why a file could not be scored as a whole. Nothing is left under the names of the outputs.
#[derive(Debug)]
#[non_exhaustive]
pub enum FileError {
    /// What the system says about a file: missing, a folder, no space left.
    Io {
        /// The file; `-` for a standard stream.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file that is not what its name says.
    Unusable {
        /// The file; `-` for a standard stream.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// A table whose columns do not do.
    Schema {
        /// The file; `-` for a standard stream.
        path: PathBuf,
        /// Every fault of the columns.
        error: SchemaError,
    },
    /// An output that is there already and may not be replaced.
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// The run was cancelled.
    Cancelled,
}

impl FileError {
    pub(crate) fn unusable(path: &Path, reason: impl Into<String>) -> Self {
        Self::Unusable { path: path.to_owned(), reason: reason.into() }
    }

    /// What went wrong while a file was written.
    pub(crate) fn writing(path: &Path) -> impl Fn(io::Error) -> Self {
        move |source| Self::Io { path: path.to_owned(), source }
    }

    /// What went wrong while a file was read, unpacked as it may be.
    pub(crate) fn reading(path: &Path, source: io::Error) -> Self {
        match (source.raw_os_error(), source.kind()) {
            (Some(_), _) => Self::Io { path: path.to_owned(), source },
            (None, io::ErrorKind::UnexpectedEof) => {
                Self::unusable(path, "the file is cut short: its packed data end too early")
            }
            (None, _) => Self::unusable(path, format!("the file cannot be unpacked: {source}")),
        }
    }
}

/// What the system says, without its number.
pub(crate) fn plain(source: &io::Error) -> String {
    let text = source.to_string();
    match text.find(" (os error ") {
        Some(end) => text[..end].to_owned(),
        None => text,
    }
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io { path, source } => write!(f, "{}: {}", shown(path), plain(source)),
            Self::Unusable { path, reason } => write!(f, "{}: {reason}", shown(path)),
            Self::Schema { path, error } => {
                write!(f, "{}: {}", shown(path), error.faults.join("; "))
            }
            Self::Exists { path } => write!(f, "{}: the file exists already", shown(path)),
            Self::Cancelled => f.write_str("cancelled; no file was written"),
        }
    }
}

fn shown(path: &Path) -> String {
    if path.as_os_str() == "-" { "standard stream".to_owned() } else { path.display().to_string() }
}

impl std::error::Error for FileError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } => Some(source),
            Self::Schema { error, .. } => Some(error),
            Self::Unusable { .. } | Self::Exists { .. } | Self::Cancelled => None,
        }
    }
}
