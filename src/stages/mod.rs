//! One house file through every stage of a job: survey, offer, job, as built, follow-up.
//!
//! The text is the document: what is not changed stays as it was written, comments, order and
//! unknown keys included, and a change touches no other line. The plain house file of before is a
//! survey and stays valid.

mod changes;
mod json_text;
mod toml_text;

pub use changes::{Change, changes};

use crate::error::{InputError, Issue, IssueCode};
use crate::house::form::day;
use crate::house::{
    Cell, Format, House, HouseFileError, Raw, SCHEMA_VERSION, SCHEMA_VERSION_KEY, parse_json,
    parse_toml, read_house_file,
};
use chrono::NaiveDate;
use std::io::Write as _;
use std::path::Path;

/// The stages of a job, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// What the surveyor saw.
    Survey,
    /// What was promised, and for how much.
    Offer,
    /// The work.
    Job,
    /// What was done, with its evidence.
    AsBuilt,
    /// What the bills said afterwards.
    FollowUp,
}

impl Stage {
    /// Every stage, in order.
    pub const ALL: [Self; 5] =
        [Self::Survey, Self::Offer, Self::Job, Self::AsBuilt, Self::FollowUp];

    /// The name of its table.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Survey => "survey",
            Self::Offer => "offer",
            Self::Job => "job",
            Self::AsBuilt => "as_built",
            Self::FollowUp => "follow_up",
        }
    }

    /// The stage of this name.
    ///
    /// # Errors
    /// An [`Issue`] that lists the stages.
    pub fn from_key(key: &str) -> Result<Self, Issue> {
        Self::ALL.into_iter().find(|stage| stage.as_str() == key).ok_or_else(|| {
            let reason = "must be one of survey, offer, job, as_built, follow_up";
            Issue::new(IssueCode::NotAChoice, "stage", key, reason)
        })
    }
}

/// A value to be written into a house file.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Yes or no.
    Bool(bool),
    /// A number; a whole one is written without a point.
    Number(f64),
    /// Text.
    Text(String),
    /// A day.
    Date(NaiveDate),
}

impl Value {
    /// As a whole number, where it is one that text can hold exactly.
    #[expect(clippy::cast_possible_truncation, reason = "bounded before")]
    fn whole(number: f64) -> Option<i64> {
        let whole = (number - libm::trunc(number)).abs() <= 0.0 && number.abs() < 1e15;
        whole.then_some(number as i64)
    }
}

/// A house file with its text.
#[derive(Clone, Debug, PartialEq)]
pub struct HouseFile {
    text: String,
    json: bool,
    raw: Raw,
}

fn refused(issue: Issue) -> HouseFileError {
    HouseFileError::Input(issue.into())
}

impl HouseFile {
    /// Reads a house file from TOML text. Only its syntax is looked at.
    ///
    /// # Errors
    /// [`HouseFileError::Unreadable`] with line and column of what is no TOML.
    pub fn from_toml(text: &str) -> Result<Self, HouseFileError> {
        let raw = parse_toml(text)?;
        Ok(Self { text: text.to_owned(), json: false, raw })
    }

    /// Reads a house file from JSON text. Only its syntax is looked at.
    ///
    /// # Errors
    /// As for [`Self::from_toml`], and where the document is no table.
    pub fn from_json(text: &str) -> Result<Self, HouseFileError> {
        let raw = parse_json(text)?;
        let file = Self { text: text.to_owned(), json: true, raw };
        file.head()?;
        Ok(file)
    }

    /// A file of values that have no text: a row of a table.
    pub(crate) const fn of_values(raw: Raw) -> Self {
        Self { text: String::new(), json: false, raw }
    }

    /// Reads a house file, by its ending TOML or JSON.
    ///
    /// # Errors
    /// As for [`House::from_file`], but for faults of the house.
    pub fn from_file(path: impl AsRef<Path>) -> Result<Self, HouseFileError> {
        let (format, text) = read_house_file(path.as_ref())?;
        match format {
            Format::Toml => Self::from_toml(&text),
            Format::Json => Self::from_json(&text),
        }
    }

    /// Writes the file whole or not at all: beside its name first, then under it.
    ///
    /// # Errors
    /// [`HouseFileError::Io`] with what the system says; [`HouseFileError::Unreadable`] where the
    /// ending is that of the other format.
    pub fn save(&self, path: impl AsRef<Path>) -> Result<(), HouseFileError> {
        let path = path.as_ref();
        let ending = if self.json { "json" } else { "toml" };
        if !path.extension().is_some_and(|given| given.eq_ignore_ascii_case(ending)) {
            let reason = format!("this house file is {ending}: its name must end in .{ending}");
            return Err(HouseFileError::Unreadable { reason });
        }
        let io = |source| HouseFileError::Io { path: path.to_owned(), source };
        let mut draft = path.as_os_str().to_owned();
        draft.push(format!(".{}.part", std::process::id()));
        let written = std::fs::File::create(&draft)
            .and_then(|mut file| {
                file.write_all(self.text.as_bytes()).and_then(|()| file.sync_all())
            })
            .and_then(|()| std::fs::rename(&draft, path));
        written.map_err(|error| {
            // The draft is of no use; that it cannot be removed would hide the first error.
            let _ = std::fs::remove_file(&draft);
            io(error)
        })
    }

    /// The text, to the letter.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether it is JSON, and not TOML.
    pub const fn is_json(&self) -> bool {
        self.json
    }

    /// Its values.
    pub const fn raw(&self) -> &Raw {
        &self.raw
    }

    fn head(&self) -> Result<&[(String, Raw)], HouseFileError> {
        match &self.raw {
            Raw::Table(table) => Ok(table),
            other => {
                let reason =
                    format!("a house is a table of named values, this is {}", other.sort());
                Err(HouseFileError::Unreadable { reason })
            }
        }
    }

    /// A value at the head.
    pub fn get(&self, key: &str) -> Option<&Raw> {
        self.head().ok()?.iter().rev().find(|(known, _)| known == key).map(|(_, value)| value)
    }

    /// The table of a stage, where the file has one.
    ///
    /// # Errors
    /// [`InputError`] where something else than a table stands under the stage's name.
    pub fn stage(&self, stage: Stage) -> Result<Option<&[(String, Raw)]>, InputError> {
        match self.get(stage.as_str()) {
            None => Ok(None),
            Some(Raw::Table(table)) => Ok(Some(table)),
            Some(other) => {
                let reason = format!("must be a table of named values, this is {}", other.sort());
                Err(Issue::new(IssueCode::WrongType, stage.as_str(), "", reason).into())
            }
        }
    }

    /// The version that the file says it has; 1 where it says nothing.
    ///
    /// # Errors
    /// [`InputError`] where it is no whole number, or newer than this library.
    pub fn schema_version(&self) -> Result<u32, InputError> {
        let Some(value) = self.get(SCHEMA_VERSION_KEY) else { return Ok(1) };
        let known = (1..=SCHEMA_VERSION).find(|v| *value == Raw::Number(f64::from(*v)));
        known.ok_or_else(|| {
            let shown = value.cell().map(Cell::shown).unwrap_or_default();
            let reason = format!(
                "this version of the library reads 1 to {SCHEMA_VERSION}; a newer file needs a newer one"
            );
            Issue::new(IssueCode::OutOfRange, SCHEMA_VERSION_KEY, shown, reason).into()
        })
    }

    /// The house as it was promised: the survey with what the offer says instead.
    ///
    /// # Errors
    /// As for [`House::from_raw`].
    pub fn promised(&self) -> Result<House, HouseFileError> {
        House::from_raw(&self.raw)
    }

    /// Each stage that the file has, with its day where it says one.
    ///
    /// # Errors
    /// [`InputError`] where a day is no day, or the days are out of order.
    pub fn stages(&self) -> Result<Vec<(Stage, Option<NaiveDate>)>, InputError> {
        let mut issues = Vec::new();
        let mut stages = Vec::new();
        // A file without stages is a survey.
        if self.get(Stage::Survey.as_str()).is_none() {
            stages.push((Stage::Survey, None));
        }
        for stage in Stage::ALL {
            match self.stage(stage) {
                Ok(None) => {}
                Ok(Some(table)) => {
                    let date = table.iter().find(|(key, _)| key == "date");
                    let date = match date.map(|(_, value)| date_of(value)) {
                        Some(Err(issue)) => {
                            issues.push(issue.within("date").within(stage.as_str()));
                            None
                        }
                        Some(Ok(date)) => Some(date),
                        None => None,
                    };
                    stages.push((stage, date));
                }
                Err(error) => issues.extend(error.issues),
            }
        }
        let mut last: Option<(Stage, NaiveDate)> = None;
        for (stage, date) in stages.iter().filter_map(|(stage, date)| Some((*stage, (*date)?))) {
            if let Some((before, day)) = last.filter(|(_, day)| *day > date) {
                let reason = format!(
                    "is before {}.date = {day}: the stages follow each other; look at both dates",
                    before.as_str()
                );
                let field = format!("{}.date", stage.as_str());
                issues.push(Issue::new(IssueCode::Conflict, field, date.to_string(), reason));
            }
            last = Some((stage, date));
        }
        if issues.is_empty() { Ok(stages) } else { Err(InputError { issues }) }
    }

    /// The same file with one value changed or added: at the head, or in the table of a stage.
    ///
    /// # Errors
    /// [`HouseFileError::Input`] where the key is no plain word, or a table or a list stands there.
    pub fn with_value(
        &self,
        stage: Option<Stage>,
        key: &str,
        value: &Value,
    ) -> Result<Self, HouseFileError> {
        plain_key(key).map_err(refused)?;
        let stage = stage.map(Stage::as_str);
        let there = match stage {
            None => self.get(key),
            Some(stage) => self.member(stage, key)?,
        };
        if let Some(there @ (Raw::List(_) | Raw::Table(_))) = there {
            let reason = format!("is {}: it cannot become a single value", there.sort());
            return Err(refused(Issue::new(IssueCode::WrongType, key, "", reason)));
        }
        self.edited(|text| {
            if self.json {
                json_text::set(text, stage, key, value)
            } else {
                toml_text::set(text, stage, key, value)
            }
        })
    }

    /// The same file with a row added to a list of a stage, as in a check of the machine to
    /// `as_built.calibration`.
    ///
    /// # Errors
    /// [`HouseFileError::Input`] where a key is no plain word, or something else than a list of
    /// tables stands there.
    pub fn with_row(
        &self,
        stage: Stage,
        list: &str,
        row: &[(String, Value)],
    ) -> Result<Self, HouseFileError> {
        for key in std::iter::once(list).chain(row.iter().map(|(key, _)| key.as_str())) {
            plain_key(key).map_err(refused)?;
        }
        match self.member(stage.as_str(), list)? {
            None => {}
            Some(Raw::List(rows)) if rows.iter().all(|row| matches!(row, Raw::Table(_))) => {}
            Some(other) => {
                let reason = format!("must be a list of tables, this is {}", other.sort());
                let issue = Issue::new(IssueCode::WrongType, list, "", reason);
                return Err(refused(issue.within(stage.as_str())));
            }
        }
        self.edited(|text| {
            if self.json {
                json_text::push(text, Some(stage.as_str()), list, row)
            } else {
                toml_text::push(text, stage.as_str(), list, row)
            }
        })
    }

    /// The same file with the version of this library.
    ///
    /// # Errors
    /// [`HouseFileError::Input`] where the file is newer than this library.
    pub fn upgraded(&self) -> Result<Self, HouseFileError> {
        if self.schema_version()? == SCHEMA_VERSION {
            return Ok(self.clone());
        }
        self.with_value(None, SCHEMA_VERSION_KEY, &Value::Number(f64::from(SCHEMA_VERSION)))
    }

    fn member(&self, stage: &str, key: &str) -> Result<Option<&Raw>, HouseFileError> {
        let stage = Stage::from_key(stage).map_err(refused)?;
        let table = self.stage(stage)?.unwrap_or_default();
        Ok(table.iter().rev().find(|(known, _)| known == key).map(|(_, value)| value))
    }

    fn edited(
        &self,
        edit: impl Fn(&str) -> Result<String, String>,
    ) -> Result<Self, HouseFileError> {
        let text = edit(&self.text).map_err(|reason| HouseFileError::Unreadable { reason })?;
        if self.json { Self::from_json(&text) } else { Self::from_toml(&text) }
    }
}

/// JSON text with a row added to a list at its head, every other letter as it was.
///
/// # Errors
/// What is no JSON, or no list, in words.
pub(crate) fn json_with_row(
    text: &str,
    list: &str,
    row: &[(String, Value)],
) -> Result<String, String> {
    json_text::push(text, None, list, row)
}

/// Letters, digits, `_` and `-`: a key that TOML writes without quotes.
fn plain_key(key: &str) -> Result<(), Issue> {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    if (1..=100).contains(&key.len()) && key.chars().all(plain) {
        return Ok(());
    }
    let reason = "a key is 1 to 100 letters, digits, _ or -";
    Err(Issue::new(IssueCode::UnknownName, "key", key, reason))
}

/// A day: `2026-10-02`, as TOML's own or as text.
///
/// # Errors
/// An [`Issue`] without a field, to be put [`within`](Issue::within) one.
pub fn date_of(value: &Raw) -> Result<NaiveDate, Issue> {
    let date = match value {
        Raw::Text(text) => day(text),
        _ => None,
    };
    date.ok_or_else(|| {
        let shown = value.cell().map(Cell::shown).unwrap_or_default();
        Issue::new(IssueCode::WrongType, "", shown, "must be a day, as in 2026-10-02")
    })
}
