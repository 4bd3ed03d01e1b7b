//! What the names of files say.

use super::error::FileError;
use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};

/// How a CSV file is packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Packing {
    Plain,
    Gzip,
    Zstd,
}

/// What a file is, by the ending of its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Csv(Packing),
    Parquet,
}

const ENDINGS: [(&str, Format); 4] = [
    (".csv", Format::Csv(Packing::Plain)),
    (".csv.gz", Format::Csv(Packing::Gzip)),
    (".csv.zst", Format::Csv(Packing::Zstd)),
    (".parquet", Format::Parquet),
];

/// Whether the name stands for standard input or output.
pub(crate) fn is_stream(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn by_ending(path: &Path) -> Option<(Format, usize)> {
    let name = path.file_name()?.to_string_lossy().to_ascii_lowercase();
    let found = ENDINGS.iter().find(|(ending, _)| name.ends_with(ending) && name != *ending);
    found.map(|(ending, format)| (*format, ending.len()))
}

impl Format {
    /// The format of a file; a standard stream is CSV.
    pub(crate) fn of(path: &Path) -> Result<Self, FileError> {
        if is_stream(path) {
            return Ok(Self::Csv(Packing::Plain));
        }
        match by_ending(path) {
            #[cfg(not(feature = "parquet"))]
            Some((Self::Parquet, _)) => {
                Err(FileError::unusable(path, "Parquet is not built into this studbay"))
            }
            Some((format, _)) => Ok(format),
            None => Err(FileError::unusable(
                path,
                "the name must end in .csv, .csv.gz, .csv.zst or .parquet",
            )),
        }
    }

    /// The format of an input; what is no regular file, as a named pipe, may have any name.
    pub(crate) fn of_input(path: &Path) -> Result<Self, FileError> {
        let special = || path.metadata().is_ok_and(|found| !found.is_file() && !found.is_dir());
        match Self::of(path) {
            Err(_) if by_ending(path).is_none() && special() => Ok(Self::Csv(Packing::Plain)),
            found => found,
        }
    }
}

/// Where rejects go when the user does not say: the output's name with another ending.
pub(crate) fn default_rejects(output: &Path) -> PathBuf {
    let mut name = output.file_name().map(OsString::from).unwrap_or_default();
    if let (Some((_, ending)), Some(text)) = (by_ending(output), name.to_str()) {
        name = OsString::from(&text[..text.len() - ending]);
    }
    name.push(".rejects.csv");
    output.with_file_name(name)
}

/// Where rejects lie of a scored file of this name; `None` where no scored file has such a name.
#[cfg(feature = "parquet")]
pub(crate) fn rejects_of(scored: &Path) -> Option<PathBuf> {
    by_ending(scored).map(|_| default_rejects(scored))
}

/// Where a file lies once all links are followed; its folder must exist, it need not.
fn true_place(path: &Path) -> io::Result<PathBuf> {
    match path.canonicalize() {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            let folder = match path.parent() {
                Some(folder) if !folder.as_os_str().is_empty() => folder,
                _ => Path::new("."),
            };
            let name = path.file_name().ok_or(error)?;
            Ok(folder.canonicalize()?.join(name))
        }
        other => other,
    }
}

#[cfg(unix)]
fn same_file(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (one.metadata(), other.metadata()) {
        (Ok(one), Ok(other)) => one.dev() == other.dev() && one.ino() == other.ino(),
        _ => false,
    }
}

#[cfg(not(unix))]
fn same_file(_: &Path, _: &Path) -> bool {
    false
}

/// Checks a place to be written to; gives where it truly lies.
pub(crate) fn check_output(
    path: &Path,
    others: &[(&Path, &str)],
    force: bool,
) -> Result<PathBuf, FileError> {
    let place = true_place(path).map_err(FileError::writing(path))?;
    for (other, what) in others {
        let same = true_place(other).is_ok_and(|other| other == place) || same_file(other, &place);
        if same {
            return Err(FileError::unusable(path, format!("this file is also the {what}")));
        }
    }
    match place.metadata() {
        Ok(found) if found.is_dir() => {
            let source = io::Error::from(io::ErrorKind::IsADirectory);
            Err(FileError::Io { path: path.to_owned(), source })
        }
        Ok(found) if !found.is_file() => {
            let reason = "this is no regular file; write - for standard output";
            Err(FileError::unusable(path, reason))
        }
        Ok(_) if !force => Err(FileError::Exists { path: path.to_owned() }),
        Ok(_) | Err(_) => Ok(place),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_by_ending() {
        for (name, format) in [
            ("a.csv", Some(Format::Csv(Packing::Plain))),
            ("a.b.CSV", Some(Format::Csv(Packing::Plain))),
            ("folder.csv/a.csv.gz", Some(Format::Csv(Packing::Gzip))),
            ("a.csv.zst", Some(Format::Csv(Packing::Zstd))),
            ("-", Some(Format::Csv(Packing::Plain))),
            ("a.txt", None),
            (".csv", None),
            ("csv", None),
            ("a.gz", None),
            ("", None),
        ] {
            assert_eq!(Format::of(Path::new(name)).ok(), format, "{name}");
        }
        #[cfg(feature = "parquet")]
        assert_eq!(Format::of(Path::new("a.parquet")).ok(), Some(Format::Parquet));
    }

    #[test]
    fn rejects_beside_the_output() {
        for (output, rejects) in [
            ("out.csv", "out.rejects.csv"),
            ("in/out.csv.gz", "in/out.rejects.csv"),
            ("out.v2.parquet", "out.v2.rejects.csv"),
        ] {
            assert_eq!(default_rejects(Path::new(output)), Path::new(rejects));
        }
    }
}
