//! A page for each of many houses, into a folder or a zip.

use super::report::{PageError, Printer};
use super::zip::{Packed, Zip};
#[cfg(feature = "parquet")]
use crate::error::InputError;
use crate::house::House;
use std::fmt;
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::{Path, PathBuf};

/// Why there are no pages.
#[derive(Debug)]
#[non_exhaustive]
pub enum PagesError {
    /// A page that cannot be made.
    Page(PageError),
    /// A file or folder that cannot be written, or that is there already.
    Io {
        /// Which.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A table that cannot be read.
    Table(String),
}

impl fmt::Display for PagesError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Page(error) => write!(f, "{error}"),
            Self::Io { path, source } => write!(f, "{}: {source}", path.display()),
            Self::Table(reason) => f.write_str(reason),
        }
    }
}

impl std::error::Error for PagesError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Page(error) => Some(error),
            Self::Io { source, .. } => Some(source),
            Self::Table(_) => None,
        }
    }
}

/// What was written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bound {
    /// The names of the pages, in the order of the houses.
    pub names: Vec<String>,
    /// Rows that are no house: their row, from 1, and their faults. They stand whole in [`REJECTS`], beside the pages.
    pub rejects: Vec<(u64, String)>,
}

/// The file beside the pages that holds the rows that are no house, as they were, with row and faults.
pub const REJECTS: &str = "rejects.csv";

/// Where pages go while they are made.
#[derive(Debug)]
enum Place {
    Folder,
    Zip(Zip<BufWriter<File>>),
}

/// Writes pages into a new folder, or into a zip where the name ends in `.zip`.
///
/// A name is the place of the house, from 1, and what of its id a file name can hold, so that no two are the same. Folder or zip stand under
/// their name only when all is in them; what is there already is refused, or with `force` replaced: a folder only where it holds nothing but
/// pages of this kind. Given up before [`Binder::finish`], it leaves nothing. On every core where the feature `parallel` is on.
#[derive(Debug)]
pub struct Binder {
    out: PathBuf,
    draft: Option<PathBuf>,
    force: bool,
    place: Place,
    read: u64,
    bound: Bound,
    #[cfg(feature = "parquet")]
    rejected: Vec<arrow_array::RecordBatch>,
}

fn failed(path: &Path) -> impl Fn(io::Error) -> PagesError {
    let path = path.to_owned();
    move |source| PagesError::Io { path: path.clone(), source }
}

impl Binder {
    /// Begins.
    ///
    /// # Errors
    /// [`PagesError::Io`] for a place that cannot be written, or is taken.
    pub fn new(out: &Path, force: bool) -> Result<Self, PagesError> {
        let zip = out.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("zip"));
        taken(out, zip, force)?;
        let mut draft_name = std::ffi::OsString::from(".");
        draft_name.push(out.file_name().unwrap_or_default());
        draft_name.push(format!(".{}.draft", std::process::id()));
        let draft = out.with_file_name(draft_name);
        let place = if zip {
            let file = File::create_new(&draft).map_err(failed(out))?;
            Place::Zip(Zip::new(BufWriter::new(file)))
        } else {
            std::fs::create_dir(&draft).map_err(failed(out))?;
            Place::Folder
        };
        Ok(Self {
            out: out.to_owned(),
            draft: Some(draft),
            force,
            place,
            read: 0,
            bound: Bound::default(),
            #[cfg(feature = "parquet")]
            rejected: Vec::new(),
        })
    }

    /// Adds the pages of houses.
    ///
    /// # Errors
    /// [`PagesError`] of the first page that cannot be made or written.
    pub fn houses(&mut self, printer: &Printer, houses: &[&House]) -> Result<(), PagesError> {
        let numbered: Vec<(u64, &House)> = (self.read..).zip(houses.iter().copied()).collect();
        self.read += houses.len() as u64;
        self.add(printer, &numbered)
    }

    fn add(&mut self, printer: &Printer, houses: &[(u64, &House)]) -> Result<(), PagesError> {
        let draft = self.draft.as_deref().unwrap_or(&self.out);
        let at_fault = failed(&self.out);
        match &mut self.place {
            Place::Folder => {
                let names = each(houses, |(place, house)| {
                    let name = file_name(*place, house.house_id());
                    let page = printer.page(house).map_err(PagesError::Page)?;
                    std::fs::write(draft.join(&name), page).map_err(failed(&draft.join(&name)))?;
                    Ok::<_, PagesError>(name)
                })?;
                self.bound.names.extend(names);
            }
            Place::Zip(zip) => {
                // Packed pages wait for their turn; a few hundred take some megabytes.
                for some in houses.chunks(TOGETHER) {
                    let pages = each(some, |(place, house)| {
                        let page = printer.page(house).map_err(PagesError::Page)?;
                        let packed = Packed::new(page.as_bytes()).map_err(failed(Path::new("")))?;
                        Ok::<_, PagesError>((file_name(*place, house.house_id()), packed))
                    })?;
                    for (name, packed) in pages {
                        zip.add(&name, &packed).map_err(&at_fault)?;
                        self.bound.names.push(name);
                    }
                }
            }
        }
        Ok(())
    }

    /// Adds the pages of a batch of flat rows, a house with one wall in each; rows that are no house are kept apart.
    ///
    /// # Errors
    /// [`PagesError`]; [`PagesError::Table`] with every fault of the columns.
    #[cfg(feature = "parquet")]
    pub fn rows(
        &mut self,
        printer: &Printer,
        batch: &arrow_array::RecordBatch,
    ) -> Result<(), PagesError> {
        let table = |error: &dyn fmt::Display| PagesError::Table(error.to_string());
        let rows = crate::doubt::table::houses(batch).map_err(|error| table(&error))?;
        let mut houses = Vec::with_capacity(rows.len());
        let mut faulty = Vec::new();
        let mut faults = Vec::new();
        for (place, row) in rows.iter().enumerate() {
            let number = self.read + place as u64;
            match row {
                Ok(house) => houses.push((number, house)),
                Err(InputError { issues }) => {
                    let told: Vec<String> = issues.iter().map(ToString::to_string).collect();
                    faulty.push(place as u64);
                    faults.push((number + 1, told.join("; ")));
                }
            }
        }
        self.read += rows.len() as u64;
        self.add(printer, &houses)?;
        if !faults.is_empty() {
            let kept = apart(batch, faulty, &faults).map_err(|error| table(&error))?;
            self.rejected.push(kept);
            self.bound.rejects.extend(faults);
        }
        Ok(())
    }

    /// Puts all under its name.
    ///
    /// # Errors
    /// [`PagesError::Io`], and nothing stands there that did not before.
    pub fn finish(mut self) -> Result<Bound, PagesError> {
        let at_fault = failed(&self.out);
        let Some(draft) = self.draft.clone() else { return Ok(Bound::default()) };
        #[cfg(feature = "parquet")]
        if let Some(first) = self.rejected.first() {
            let table = |error: &dyn fmt::Display| PagesError::Table(error.to_string());
            let all = arrow_select::concat::concat_batches(&first.schema(), &self.rejected)
                .map_err(|error| table(&error))?;
            let text = crate::batch::table_file::csv_text(&all, Path::new(REJECTS))
                .map_err(|error| table(&error))?;
            match &mut self.place {
                Place::Folder => std::fs::write(draft.join(REJECTS), text).map_err(&at_fault)?,
                Place::Zip(zip) => Packed::new(&text)
                    .and_then(|packed| zip.add(REJECTS, &packed))
                    .map_err(&at_fault)?,
            }
        }
        let is_zip = match std::mem::replace(&mut self.place, Place::Folder) {
            Place::Folder => false,
            Place::Zip(zip) => {
                zip.finish().map_err(&at_fault)?;
                true
            }
        };
        // Another program may have been quicker.
        taken(&self.out, is_zip, self.force)?;
        let old = draft.with_extension("old");
        let replaced = !is_zip && self.out.symlink_metadata().is_ok();
        if replaced {
            std::fs::rename(&self.out, &old).map_err(&at_fault)?;
        }
        if let Err(error) = std::fs::rename(&draft, &self.out) {
            if replaced {
                let _ = std::fs::rename(&old, &self.out);
            }
            return Err(at_fault(error));
        }
        self.draft = None;
        if replaced {
            std::fs::remove_dir_all(&old).map_err(&at_fault)?;
        }
        Ok(std::mem::take(&mut self.bound))
    }
}

impl Drop for Binder {
    fn drop(&mut self) {
        if let Some(draft) = &self.draft {
            // There is nobody left to tell.
            let _ = if draft.is_dir() {
                std::fs::remove_dir_all(draft)
            } else {
                std::fs::remove_file(draft)
            };
        }
    }
}

/// Pages that are packed at a time.
const TOGETHER: usize = 256;

/// Refuses a place that holds something, unless it may be replaced.
fn taken(out: &Path, zip: bool, force: bool) -> Result<(), PagesError> {
    let Ok(there) = out.symlink_metadata() else { return Ok(()) };
    let refused = |kind, why: &str| Err(failed(out)(io::Error::new(kind, why)));
    if !force {
        // The system's own refusal, with its number.
        let made = if zip { File::create_new(out).map(|_| ()) } else { std::fs::create_dir(out) };
        return made.map_err(failed(out));
    }
    if zip {
        return if there.is_file() {
            Ok(())
        } else {
            refused(io::ErrorKind::AlreadyExists, "this is no file")
        };
    }
    let ours = |name: &std::ffi::OsStr| {
        let name = name.to_string_lossy();
        let number = name.split('-').next().unwrap_or_default();
        name == REJECTS
            || (name.ends_with(".html")
                && number.len() >= 6
                && number.bytes().all(|b| b.is_ascii_digit()))
    };
    if !there.is_dir() {
        return refused(io::ErrorKind::NotADirectory, "this is no folder");
    }
    for entry in std::fs::read_dir(out).map_err(failed(out))? {
        let name = entry.map_err(failed(out))?.file_name();
        if !ours(&name) {
            let why = format!("holds {}, which is no page", name.to_string_lossy());
            return refused(io::ErrorKind::DirectoryNotEmpty, &why);
        }
    }
    Ok(())
}

/// Rows as they were, with their number and their faults.
#[cfg(feature = "parquet")]
fn apart(
    batch: &arrow_array::RecordBatch,
    places: Vec<u64>,
    faults: &[(u64, String)],
) -> Result<arrow_array::RecordBatch, arrow_schema::ArrowError> {
    use arrow_array::{ArrayRef, Int64Array, RecordBatch, StringArray, UInt64Array};
    use std::sync::Arc;
    let places = UInt64Array::from(places);
    let schema = crate::batch::table::rejects_schema(&batch.schema());
    let numbers = faults.iter().map(|(row, _)| i64::try_from(*row).unwrap_or(i64::MAX));
    let mut columns: Vec<ArrayRef> = vec![Arc::new(Int64Array::from_iter_values(numbers))];
    for column in batch.columns() {
        columns.push(arrow_select::take::take(column, &places, None)?);
    }
    let told = faults.iter().map(|(_, faults)| faults);
    columns.push(Arc::new(StringArray::from_iter_values(told)));
    RecordBatch::try_new(schema, columns)
}

/// Writes the page of each house into a new folder, or a zip where the name ends in `.zip`, and says the names of the pages, in the order of
/// the houses. [`Binder`] says how.
///
/// # Errors
/// [`PagesError`], and no folder.
pub fn reports(
    printer: &Printer,
    houses: &[&House],
    out: &Path,
) -> Result<Vec<String>, PagesError> {
    let mut binder = Binder::new(out, false)?;
    binder.houses(printer, houses)?;
    Ok(binder.finish()?.names)
}

#[cfg(feature = "parallel")]
fn each<I: Sync, T: Send, E: Send>(
    items: &[I],
    make: impl Fn(&I) -> Result<T, E> + Sync,
) -> Result<Vec<T>, E> {
    use rayon::prelude::*;
    items.par_iter().map(&make).collect()
}

#[cfg(not(feature = "parallel"))]
fn each<I, T, E>(items: &[I], make: impl Fn(&I) -> Result<T, E>) -> Result<Vec<T>, E> {
    items.iter().map(make).collect()
}

/// `000012-harrow-mills-14.html`: letters, digits and hyphens alone, whatever the id holds.
fn file_name(place: u64, id: &str) -> String {
    const MOST: usize = 60;
    let sign = |letter: char| if letter.is_ascii_alphanumeric() { letter } else { '-' };
    let id: String = id.chars().take(MOST).map(sign).collect();
    format!("{:06}-{}.html", place + 1, id.trim_matches('-'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_holds_nothing_that_a_path_could_read() {
        assert_eq!(file_name(11, "harrow-mills-14"), "000012-harrow-mills-14.html");
        assert_eq!(file_name(0, "../../etc/<b>\u{202e}"), "000001-etc--b.html");
        assert_eq!(file_name(0, &"x".repeat(200)).len(), 72);
    }
    /// `cargo test --release --features page,parallel --lib pages_a_second -- --ignored --nocapture`
    #[test]
    #[ignore = "a measurement"]
    #[expect(clippy::print_stdout, reason = "the measurement")]
    fn pages_a_second() {
        use crate::page::{PageOptions, Printer};
        let house = House::from_toml(include_str!("../../demo-data/house.toml")).unwrap();
        let printer = Printer::new(PageOptions { live: false, ..PageOptions::default() }).unwrap();
        let houses = vec![&house; 2000];
        let folder = std::env::temp_dir().join(format!("studbay-pages-{}", std::process::id()));
        let start = std::time::Instant::now();
        let names = reports(&printer, &houses, &folder).unwrap();
        let seconds = start.elapsed().as_secs_f64();
        std::fs::remove_dir_all(&folder).unwrap();
        println!("{} pages in {seconds:.2} s", names.len());
    }
}
