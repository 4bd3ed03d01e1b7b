//! Weather files: opened, unpacked, told apart.

use super::assemble::assemble;
use super::error::ClimateError;
use super::options::ReadOptions;
use super::weather::{Format, TemperatureUnit, Weather};
use super::{epw, table, tmy3};
use flate2::read::MultiGzDecoder;
use std::io::Read;
use std::path::Path;

/// A weather file larger than this, unpacked, is not one: 30 years of hours take 10 MB.
pub const MOST_WEATHER_BYTES: u64 = 1 << 28;

impl Weather {
    /// Reads a weather file: TMY3, EPW, or a table with named columns; `.gz` is unpacked.
    ///
    /// # Errors
    /// [`ClimateError`] where the file cannot be read, is none of these, has rows of which most
    /// cannot be understood, holds several stations, or is a table whose unit nothing says.
    pub fn from_file(path: impl AsRef<Path>, options: &ReadOptions) -> Result<Self, ClimateError> {
        let path = path.as_ref();
        let io = |source| ClimateError::Io { path: path.to_owned(), source };
        let file = std::fs::File::open(path).map_err(io)?;
        if path.is_dir() {
            // Reading it gives the system's own error, with its number.
            let error = std::fs::read(path).err();
            return Err(io(error.unwrap_or_else(|| std::io::ErrorKind::IsADirectory.into())));
        }
        let packed = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("gz"));
        let mut bytes = Vec::new();
        if packed {
            let unpacked =
                MultiGzDecoder::new(file).take(MOST_WEATHER_BYTES + 1).read_to_end(&mut bytes);
            unpacked.map_err(|error| {
                ClimateError::unreadable(format!("cannot be unpacked as gzip: {error}"))
            })?;
        } else {
            file.take(MOST_WEATHER_BYTES + 1).read_to_end(&mut bytes).map_err(io)?;
        }
        if bytes.len() as u64 > MOST_WEATHER_BYTES {
            return Err(ClimateError::unreadable(format!(
                "larger than {MOST_WEATHER_BYTES} bytes: this is not a weather file"
            )));
        }
        let mut options = options.clone();
        if options.name.is_empty() {
            options.name = path
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default();
        }
        Self::from_bytes(&bytes, &options)
    }

    /// Reads a weather file that is in memory already, unpacked.
    ///
    /// # Errors
    /// As for [`Self::from_file`].
    pub fn from_bytes(bytes: &[u8], options: &ReadOptions) -> Result<Self, ClimateError> {
        if bytes.iter().all(u8::is_ascii_whitespace) {
            return Err(ClimateError::unreadable("the file is empty"));
        }
        let format = options.format.unwrap_or_else(|| told(bytes));
        if format != Format::Table {
            if options.unit.is_some_and(|unit| unit != TemperatureUnit::Celsius) {
                return Err(ClimateError::refused("TMY3 and EPW files have degrees Celsius"));
            }
            if !options.columns.is_empty() || options.only.is_some() {
                return Err(ClimateError::refused(
                    "columns are named and rows picked in a table only, not in TMY3 or EPW",
                ));
            }
        }
        let (head, readings) = match format {
            Format::Tmy3 => tmy3::read(bytes)?,
            Format::Epw => epw::read(bytes)?,
            Format::Table => table::read(bytes, options)?,
        };
        assemble(head, readings)
    }
}

/// The form, by how the file begins.
fn told(bytes: &[u8]) -> Format {
    let mut lines = bytes.split(|byte| *byte == b'\n');
    let begins = |line: Option<&[u8]>, with: &str| {
        line.is_some_and(|line| {
            line.get(..with.len()).is_some_and(|l| l.eq_ignore_ascii_case(with.as_bytes()))
        })
    };
    if begins(lines.next(), epw::LOCATION) {
        Format::Epw
    } else if begins(lines.next(), tmy3::DATE) {
        Format::Tmy3
    } else {
        Format::Table
    }
}
