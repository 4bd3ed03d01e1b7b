//! Changes of TOML text that leave every other letter as it was.

use super::Value;
use chrono::Datelike as _;
use toml_edit::{
    Array, ArrayOfTables, Date, Datetime, DocumentMut, InlineTable, Item, Table, TableLike,
};

fn written(value: &Value) -> toml_edit::Value {
    match value {
        Value::Bool(value) => (*value).into(),
        Value::Number(number) => match Value::whole(*number) {
            Some(whole) => whole.into(),
            None => (*number).into(),
        },
        Value::Text(text) => text.as_str().into(),
        Value::Date(date) => {
            let part = |number: u32| u8::try_from(number).unwrap_or(1);
            let date = Date {
                year: u16::try_from(date.year()).unwrap_or(1),
                month: part(date.month()),
                day: part(date.day()),
            };
            Datetime { date: Some(date), time: None, offset: None }.into()
        }
    }
}

fn document(text: &str) -> Result<DocumentMut, String> {
    text.parse().map_err(|error: toml_edit::TomlError| error.message().to_owned())
}

/// Line ends as the file has them: the parser makes every one of them plain.
fn as_before(text: &str, edited: &DocumentMut) -> String {
    let edited = edited.to_string();
    if text.contains("\r\n") { edited.replace("\r\n", "\n").replace('\n', "\r\n") } else { edited }
}

fn stage_table<'d>(
    document: &'d mut DocumentMut,
    stage: &str,
) -> Result<&'d mut dyn TableLike, String> {
    let item = document.entry(stage).or_insert_with(|| Item::Table(Table::new()));
    item.as_table_like_mut().ok_or_else(|| format!("{stage} is no table"))
}

fn put(table: &mut dyn TableLike, key: &str, value: &Value) {
    let mut new = written(value);
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            // The comment behind the value stays.
            *new.decor_mut() = old.decor().clone();
            *old = new;
        }
        None => {
            table.insert(key, Item::Value(new));
        }
    }
}

/// The text with a value at the head, or in a table of the head.
pub(super) fn set(
    text: &str,
    stage: Option<&str>,
    key: &str,
    value: &Value,
) -> Result<String, String> {
    let mut document = document(text)?;
    match stage {
        None => put(document.as_table_mut(), key, value),
        Some(stage) => put(stage_table(&mut document, stage)?, key, value),
    }
    Ok(as_before(text, &document))
}

/// The text with a row at the end of a list of tables.
pub(super) fn push(
    text: &str,
    stage: &str,
    list: &str,
    row: &[(String, Value)],
) -> Result<String, String> {
    let mut document = document(text)?;
    let in_line = document.get(stage).is_some_and(Item::is_inline_table);
    let table = stage_table(&mut document, stage)?;
    let short = || -> InlineTable {
        row.iter().map(|(key, value)| (key.as_str(), written(value))).collect()
    };
    match table.get_mut(list) {
        Some(Item::ArrayOfTables(rows)) => rows.push(long(row)),
        Some(Item::Value(toml_edit::Value::Array(rows))) => rows.push(short()),
        Some(_) => return Err(format!("{stage}.{list} is no list of tables")),
        None if in_line => {
            let rows: Array = std::iter::once(short()).collect();
            table.insert(list, Item::Value(rows.into()));
        }
        None => {
            let mut rows = ArrayOfTables::new();
            rows.push(long(row));
            table.insert(list, Item::ArrayOfTables(rows));
        }
    }
    Ok(as_before(text, &document))
}

fn long(row: &[(String, Value)]) -> Table {
    let mut table = Table::new();
    for (key, value) in row {
        table.insert(key, Item::Value(written(value)));
    }
    table
}
