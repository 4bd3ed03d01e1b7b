//! House files: TOML and JSON with the contract's names.

use super::House;
use super::builder::{HouseBuilder, SurfaceBuilder};
use super::promised::promised;
use super::range_file::{RANGES_ARE, range};
use super::ranges::RANGES;
use super::record::Cell;
use super::site::SiteDraft;
use super::surface::Layer;
use crate::error::{InputError, Issue, IssueCode};
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde::ser::{Serialize, Serializer};
use std::fmt;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A house file larger than this is not one.
pub const MOST_FILE_BYTES: u64 = 1 << 20;

/// A value of a house file. Tables keep their keys in order, and twice where they stand twice.
#[derive(Clone, Debug, PartialEq)]
pub enum Raw {
    /// Nothing.
    Null,
    /// Yes or no.
    Bool(bool),
    /// A number.
    Number(f64),
    /// Text.
    Text(String),
    /// A list.
    List(Vec<Raw>),
    /// Named values.
    Table(Vec<(String, Raw)>),
    /// Something that no house file can hold, by what it is: for doors that meet other values.
    Other(String),
}

impl Raw {
    /// The value as a single cell; `None` for a list or a table.
    pub(crate) fn cell(&self) -> Option<Cell<'_>> {
        match self {
            Self::Null => Some(Cell::Blank),
            Self::Bool(value) => Some(Cell::Bool(*value)),
            Self::Number(number) => Some(Cell::Number(*number)),
            Self::Text(text) => Some(Cell::Text(text)),
            Self::List(_) | Self::Table(_) | Self::Other(_) => None,
        }
    }

    pub(crate) fn sort(&self) -> &str {
        match self {
            Self::Null => "nothing",
            Self::Bool(_) => "true or false",
            Self::Number(_) => "a number",
            Self::Text(_) => "text",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
            Self::Other(sort) => sort,
        }
    }
}

impl Serialize for Raw {
    /// As a house file has it; what no house file can hold is nothing.
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Null | Self::Other(_) => out.serialize_unit(),
            Self::Bool(value) => out.serialize_bool(*value),
            Self::Number(number) => out.serialize_f64(*number),
            Self::Text(text) => out.serialize_str(text),
            Self::List(list) => out.collect_seq(list),
            Self::Table(table) => out.collect_map(table.iter().map(|(key, value)| (key, value))),
        }
    }
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value of a house file")
    }
    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Null)
    }
    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Null)
    }
    fn visit_bool<E>(self, value: bool) -> Result<Raw, E> {
        Ok(Raw::Bool(value))
    }
    #[expect(clippy::cast_precision_loss, reason = "no field needs more than 53 bits")]
    fn visit_i64<E>(self, value: i64) -> Result<Raw, E> {
        Ok(Raw::Number(value as f64))
    }
    #[expect(clippy::cast_precision_loss, reason = "no field needs more than 53 bits")]
    fn visit_u64<E>(self, value: u64) -> Result<Raw, E> {
        Ok(Raw::Number(value as f64))
    }
    fn visit_f64<E>(self, value: f64) -> Result<Raw, E> {
        Ok(Raw::Number(value))
    }
    fn visit_str<E>(self, value: &str) -> Result<Raw, E> {
        Ok(Raw::Text(value.to_owned()))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Raw, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = seq.next_element()? {
            list.push(item);
        }
        Ok(Raw::List(list))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Raw, A::Error> {
        let mut table = Vec::new();
        while let Some(entry) = map.next_entry()? {
            table.push(entry);
        }
        // A day or a time of TOML comes as a table with this one key.
        if let [(key, Raw::Text(day))] = table.as_slice()
            && key == "$__toml_private_datetime"
        {
            return Ok(Raw::Text(day.clone()));
        }
        Ok(Raw::Table(table))
    }
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

/// Why a house file gives no house.
#[derive(Debug)]
#[non_exhaustive]
pub enum HouseFileError {
    /// The file cannot be opened or read.
    Io {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The file is read but is no house file: its ending, size, encoding or syntax.
    Unreadable {
        /// What is wrong with it.
        reason: String,
    },
    /// The file is well formed and what it says is not.
    Input(InputError),
}

impl fmt::Display for HouseFileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io { path, source } => write!(f, "{}: cannot be read: {source}", path.display()),
            Self::Unreadable { reason } => f.write_str(reason),
            Self::Input(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for HouseFileError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } => Some(source),
            Self::Unreadable { .. } => None,
            Self::Input(error) => Some(error),
        }
    }
}

impl From<InputError> for HouseFileError {
    fn from(error: InputError) -> Self {
        Self::Input(error)
    }
}

fn unreadable(reason: impl Into<String>) -> HouseFileError {
    HouseFileError::Unreadable { reason: reason.into() }
}

/// A syntax error on one line, with where it is.
fn syntax(format: &str, message: &str, line: usize, column: usize) -> HouseFileError {
    let message =
        message.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>().join(", ");
    unreadable(format!("not valid {format}, line {line}, column {column}: {message}"))
}

/// The formats of a house file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Toml,
    Json,
}

/// The text of a house file and what it is written in, by its ending.
pub(crate) fn read_house_file(path: &Path) -> Result<(Format, String), HouseFileError> {
    let io = |source| HouseFileError::Io { path: path.to_owned(), source };
    // A missing file or a folder is said first: the ending is then beside the point.
    let file = std::fs::File::open(path).map_err(io)?;
    if path.is_dir() {
        return Err(unreadable("this is a folder, a house file was expected"));
    }
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
    let format = match ending.as_str() {
        "toml" => Format::Toml,
        "json" => Format::Json,
        _ => return Err(unreadable("a house file ends in .toml or .json")),
    };
    let mut bytes = Vec::new();
    file.take(MOST_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(io)?;
    if bytes.len() as u64 > MOST_FILE_BYTES {
        return Err(unreadable(format!(
            "larger than {MOST_FILE_BYTES} bytes: this is not a house file"
        )));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        unreadable(format!("not UTF-8 text: the byte at {place} does not belong to it"))
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    if text.trim().is_empty() {
        return Err(unreadable("the file is empty"));
    }
    Ok((format, text.to_owned()))
}

/// TOML text as raw values, or the place of what is no TOML.
pub(crate) fn parse_toml(text: &str) -> Result<Raw, HouseFileError> {
    toml::from_str(text).map_err(|error| {
        let before = error.span().and_then(|span| text.get(..span.start)).unwrap_or("");
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
        syntax("TOML", error.message(), line, column)
    })
}

/// The values of JSON text.
pub(crate) fn parse_json(text: &str) -> Result<Raw, HouseFileError> {
    serde_json::from_str(text).map_err(|error| {
        let whole = error.to_string();
        let message = whole.rsplit_once(" at line ").map_or(whole.as_str(), |(m, _)| m);
        syntax("JSON", message, error.line(), error.column())
    })
}

/// The values of a house file, before they make a house: for a door that adds to them.
///
/// # Errors
/// As for [`House::from_file`], the faults of the house excepted.
pub fn read_raw(path: impl AsRef<Path>) -> Result<Raw, HouseFileError> {
    let (format, text) = read_house_file(path.as_ref())?;
    match format {
        Format::Toml => parse_toml(&text),
        Format::Json => parse_json(&text),
    }
}

impl House {
    /// Reads a house from TOML text.
    ///
    /// # Errors
    /// [`HouseFileError`] with the place of a syntax error, or every fault of the house.
    pub fn from_toml(text: &str) -> Result<Self, HouseFileError> {
        Self::from_raw(&parse_toml(text)?)
    }

    /// Reads a house from JSON text.
    ///
    /// # Errors
    /// As for [`Self::from_toml`].
    pub fn from_json(text: &str) -> Result<Self, HouseFileError> {
        Self::from_raw(&parse_json(text)?)
    }

    /// Reads a house from a file that ends in `.toml` or `.json`.
    ///
    /// # Errors
    /// As for [`Self::from_toml`], and for a file that cannot be read, is larger than
    /// [`MOST_FILE_BYTES`], is not UTF-8, or has another ending.
    pub fn from_file(path: impl AsRef<Path>) -> Result<Self, HouseFileError> {
        let (format, text) = read_house_file(path.as_ref())?;
        match format {
            Format::Toml => Self::from_toml(&text),
            Format::Json => Self::from_json(&text),
        }
    }

    /// Makes a house from the values of a document. Of a file with stages it is the house as
    /// promised: the survey with what the offer says instead.
    ///
    /// # Errors
    /// [`HouseFileError::Input`] with every fault and its path, or
    /// [`HouseFileError::Unreadable`] when the document is no table.
    pub fn from_raw(raw: &Raw) -> Result<Self, HouseFileError> {
        let Raw::Table(table) = raw else {
            return Err(unreadable(format!(
                "a house is a table of named values, this is {}",
                raw.sort()
            )));
        };
        let promised = promised(table)?;
        let table = promised.as_ref().unwrap_or(table);
        let mut house = HouseBuilder::default();
        // Known before the other keys are read, since it decides which of them are in place.
        if table.iter().any(|(key, _)| key == SURFACES) {
            house.list_surfaces();
        }
        let mut listed = false;
        let mut beside: Vec<&str> = Vec::new();
        let mut site = SiteDraft::default();
        for (key, value) in table {
            match (key.as_str(), value, value.cell()) {
                (SURFACES, _, _) if std::mem::replace(&mut listed, true) => {
                    house.fault(Issue::new(IssueCode::GivenTwice, SURFACES, "", "given twice"));
                }
                (SURFACES, Raw::List(items), _) => {
                    for item in items {
                        house.add_surface(surface(item));
                    }
                }
                (SURFACES, other, _) => {
                    house.fault(wrong_sort(SURFACES, other, "a list of surfaces"));
                }
                // Read where they are asked for; here they must only be lists.
                (key, value, _) if BESIDE.contains(&key) => {
                    if beside.contains(&key) {
                        house.fault(Issue::new(IssueCode::GivenTwice, key, "", "given twice"));
                    }
                    beside.push(key);
                    if !matches!(value, Raw::List(_) | Raw::Null) {
                        house.fault(wrong_sort(key, value, "a list of tables"));
                    }
                }
                (key, value, _) if SiteDraft::takes(key) => site.read(key, value),
                (RANGES, Raw::Table(ranges), _) => {
                    for (name, raw) in ranges {
                        match range(raw) {
                            Ok(range) => house.give_range(name, range),
                            Err(issues) => issues.into_iter().for_each(|issue| {
                                house.fault(issue.within(name).within(RANGES));
                            }),
                        }
                    }
                }
                (RANGES, Raw::Null, _) => {}
                (RANGES, other, _) => house.fault(wrong_sort(RANGES, other, RANGES_ARE)),
                (key, _, Some(cell)) => house.give(key, cell),
                (key, other, None) => house.fault(wrong_sort(key, other, "a single value")),
            }
        }
        for issue in std::mem::take(&mut site.issues) {
            house.fault(issue);
        }
        let mut house = house.build()?;
        site.join(&mut house)?;
        Ok(house)
    }
}

pub(crate) const SURFACES: &str = "surfaces";
pub(crate) const LAYERS: &str = "layers";
/// Lists that a house file may hold beside the house itself: what could be done, and what with.
pub(crate) const OPTIONS: &str = "options";
pub(crate) const LOANS: &str = "loans";
pub(crate) const INCENTIVES: &str = "incentives";
const BESIDE: [&str; 3] = [OPTIONS, LOANS, INCENTIVES];

/// Each item of a list that stands beside the house, read by `read`.
///
/// # Errors
/// Every fault of every item, with its path.
pub(crate) fn beside<T>(
    raw: &Raw,
    list: &str,
    read: impl Fn(&Raw) -> Result<T, Vec<Issue>>,
) -> Result<Vec<T>, InputError> {
    let Raw::Table(table) = raw else { return Ok(Vec::new()) };
    let Some((_, Raw::List(items))) = table.iter().find(|(key, _)| key == list) else {
        return Ok(Vec::new());
    };
    let (mut made, mut issues) = (Vec::new(), Vec::new());
    for (index, item) in items.iter().enumerate() {
        match read(item) {
            Ok(item) => made.push(item),
            Err(faults) => {
                let path = format!("{list}[{index}]");
                issues.extend(faults.into_iter().map(|issue| issue.within(&path)));
            }
        }
    }
    if issues.is_empty() { Ok(made) } else { Err(InputError { issues }) }
}

pub(super) fn wrong_sort(key: &str, value: &Raw, wanted: &str) -> Issue {
    let reason = format!("must be {wanted}, this is {}", value.sort());
    Issue::new(IssueCode::WrongType, key, "", reason)
}

fn surface(raw: &Raw) -> SurfaceBuilder {
    let mut surface = SurfaceBuilder::default();
    let Raw::Table(table) = raw else {
        surface.fault(wrong_sort("", raw, "a table of named values"));
        return surface;
    };
    for (key, value) in table {
        match (key.as_str(), value, value.cell()) {
            (LAYERS, Raw::List(items), _) => {
                surface.list_layers();
                for (index, item) in items.iter().enumerate() {
                    match layer(item) {
                        Ok(layer) => surface.add_layer(layer),
                        Err(issues) => {
                            let path = format!("{LAYERS}[{index}]");
                            for issue in issues {
                                surface.fault(issue.within(&path));
                            }
                        }
                    }
                }
            }
            (LAYERS, other, _) => surface.fault(wrong_sort(LAYERS, other, "a list of layers")),
            (RANGES, Raw::Table(ranges), _) => {
                for (name, raw) in ranges {
                    match range(raw) {
                        Ok(range) => surface.give_range(name, range),
                        Err(issues) => issues.into_iter().for_each(|issue| {
                            surface.fault(issue.within(name).within(RANGES));
                        }),
                    }
                }
            }
            (RANGES, Raw::Null, _) => {}
            (RANGES, other, _) => surface.fault(wrong_sort(RANGES, other, RANGES_ARE)),
            (key, _, Some(cell)) => surface.give(key, cell),
            (key, other, None) => surface.fault(wrong_sort(key, other, "a single value")),
        }
    }
    surface
}

/// A table of names, or shortly a material's key, or a resistance.
fn layer(raw: &Raw) -> Result<Layer, Vec<Issue>> {
    match raw {
        Raw::Text(key) => Layer::from_cells([("material", Cell::Text(key))]),
        Raw::Number(r) => Layer::from_cells([("r", Cell::Number(*r))]),
        Raw::Table(table) => {
            let nested = table.iter().find(|(_, value)| value.cell().is_none());
            if let Some((key, value)) = nested {
                return Err(vec![wrong_sort(key, value, "a single value")]);
            }
            Layer::from_cells(
                table.iter().filter_map(|(key, value)| Some((key.as_str(), value.cell()?))),
            )
        }
        other => Err(vec![wrong_sort("", other, "a table, a material's key or a resistance")]),
    }
}
