//! A page for each of many houses, into a folder.

use super::report::{PageError, Printer};
use crate::house::House;
use std::fmt;
use std::path::{Path, PathBuf};

/// Why there is no folder of pages.
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
        source: std::io::Error,
    },
}

impl fmt::Display for PagesError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Page(error) => write!(f, "{error}"),
            Self::Io { path, source } => write!(f, "{}: {source}", path.display()),
        }
    }
}

impl std::error::Error for PagesError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Page(error) => Some(error),
            Self::Io { source, .. } => Some(source),
        }
    }
}

/// Writes the page of each house into a new folder and says the names of the files, in the order of the houses.
///
/// A name is the place of the house, from 1, and what of its id a file name can hold, so that no two are the same. The folder stands under
/// its name only when all pages are in it; one that is there already is refused. On every core where the feature `parallel` is on.
///
/// # Errors
/// [`PagesError`], and no folder.
pub fn reports(
    printer: &Printer,
    houses: &[&House],
    folder: &Path,
) -> Result<Vec<String>, PagesError> {
    let io = |path: &Path| {
        let path = path.to_owned();
        move |source| PagesError::Io { path, source }
    };
    if folder.symlink_metadata().is_ok() {
        // The system's own refusal, with its number.
        std::fs::create_dir(folder).map_err(io(folder))?;
    }
    let mut draft_name = std::ffi::OsString::from(".");
    draft_name.push(folder.file_name().unwrap_or_default());
    draft_name.push(format!(".{}.draft", std::process::id()));
    let draft = folder.with_file_name(draft_name);
    std::fs::create_dir(&draft).map_err(io(&draft))?;
    let written = each(houses, |place, house| {
        let name = file_name(place, house.house_id());
        let page = printer.page(house).map_err(PagesError::Page)?;
        let path = draft.join(&name);
        std::fs::write(&path, page).map_err(io(&path))?;
        Ok(name)
    });
    let done = written
        .and_then(|names| std::fs::rename(&draft, folder).map_err(io(folder)).map(|()| names));
    if done.is_err() {
        // Best effort: the error that is told is the first one.
        let _ = std::fs::remove_dir_all(&draft);
    }
    done
}

#[cfg(feature = "parallel")]
fn each<T: Send, E: Send>(
    houses: &[&House],
    make: impl Fn(usize, &House) -> Result<T, E> + Sync,
) -> Result<Vec<T>, E> {
    use rayon::prelude::*;
    houses.par_iter().enumerate().map(|(place, house)| make(place, house)).collect()
}

#[cfg(not(feature = "parallel"))]
fn each<T, E>(
    houses: &[&House],
    make: impl Fn(usize, &House) -> Result<T, E>,
) -> Result<Vec<T>, E> {
    houses.iter().enumerate().map(|(place, house)| make(place, house)).collect()
}

/// `000012-harrow-mills-14.html`: letters, digits and hyphens alone, whatever the id holds.
fn file_name(place: usize, id: &str) -> String {
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
