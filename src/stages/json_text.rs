//! Changes of JSON text that leave every other letter as it was: the new value is put between the
//! letters of the old text.

use super::Value;
use serde::de::{Deserializer as _, MapAccess, SeqAccess, Visitor};
use serde_json::value::RawValue;
use std::fmt;
use std::ops::Range;

fn written(value: &Value) -> String {
    match value {
        Value::Bool(value) => value.to_string(),
        Value::Number(number) => match Value::whole(*number) {
            Some(whole) => whole.to_string(),
            None => serde_json::Value::from(*number).to_string(),
        },
        Value::Text(text) => serde_json::Value::from(text.as_str()).to_string(),
        Value::Date(date) => format!("\"{date}\""),
    }
}

fn row_text(row: &[(String, Value)]) -> String {
    let members: Vec<String> =
        row.iter().map(|(key, value)| format!("\"{key}\": {}", written(value))).collect();
    format!("{{ {} }}", members.join(", "))
}

/// The text with a value at the head, or in a table of the head.
pub(super) fn set(
    text: &str,
    stage: Option<&str>,
    key: &str,
    value: &Value,
) -> Result<String, String> {
    match stage {
        None => put(text, key, &written(value), 1),
        Some(stage) => within(text, stage, |table| put(table, key, &written(value), 2)),
    }
}

/// The text with a row at the end of a list of tables: in a table of the head, or at the head.
pub(super) fn push(
    text: &str,
    stage: Option<&str>,
    list: &str,
    row: &[(String, Value)],
) -> Result<String, String> {
    let row = row_text(row);
    match stage {
        None => grown(text, list, &row, 1),
        Some(stage) => within(text, stage, |table| grown(table, list, &row, 2)),
    }
}

/// An object with a row at the end of one of its lists; the list is added where it is not there.
fn grown(object: &str, list: &str, row: &str, depth: usize) -> Result<String, String> {
    let Some(span) = member(object, list)? else {
        return put(object, list, &format!("[{row}]"), depth);
    };
    let rows = object.get(span.clone()).unwrap_or_default();
    let last = items(rows)?.last().cloned();
    let longer = match last {
        Some(last) => spliced(rows, last.end..last.end, &format!("{}{row}", gap(rows, depth + 1))),
        None => format!("[{row}]"),
    };
    Ok(spliced(object, span, &longer))
}

/// The text with a table of the head changed; it is added where it is not there.
fn within(
    text: &str,
    stage: &str,
    change: impl Fn(&str) -> Result<String, String>,
) -> Result<String, String> {
    match member(text, stage)? {
        Some(span) => {
            let changed = change(text.get(span.clone()).unwrap_or_default())?;
            Ok(spliced(text, span, &changed))
        }
        None => put(text, stage, &change("{}")?, 1),
    }
}

/// An object with a member replaced, or added behind the last.
fn put(object: &str, key: &str, value: &str, depth: usize) -> Result<String, String> {
    if let Some(span) = member(object, key)? {
        return Ok(spliced(object, span, value));
    }
    Ok(match members(object)?.last() {
        Some((_, last)) => {
            let added = format!("{}\"{key}\": {value}", gap(object, depth));
            spliced(object, last.end..last.end, &added)
        }
        None => {
            // Nothing but space can stand between the braces.
            let (open, close) = (object.find('{').unwrap_or(0), object.rfind('}').unwrap_or(0));
            spliced(object, open..close + 1, &format!("{{\"{key}\": {value}}}"))
        }
    })
}

/// What stands between two members: a new line where the text has lines.
fn gap(text: &str, depth: usize) -> String {
    if text.contains('\n') { format!(",\n{}", "  ".repeat(depth)) } else { ", ".to_owned() }
}

fn spliced(text: &str, span: Range<usize>, new: &str) -> String {
    let before = text.get(..span.start).unwrap_or_default();
    let after = text.get(span.end..).unwrap_or_default();
    format!("{before}{new}{after}")
}

/// The last member of this name counts, as for every reader.
fn member(object: &str, key: &str) -> Result<Option<Range<usize>>, String> {
    let found = members(object)?.into_iter().rev().find(|(known, _)| known == key);
    Ok(found.map(|(_, span)| span))
}

/// Where a part of a text stands in it.
fn place(whole: &str, part: &str) -> Range<usize> {
    let start = part.as_ptr().addr().saturating_sub(whole.as_ptr().addr());
    start..start + part.len()
}

struct Members;
impl<'de> Visitor<'de> for Members {
    type Value = Vec<(String, &'de RawValue)>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a table")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let mut members = Vec::new();
        while let Some(member) = map.next_entry()? {
            members.push(member);
        }
        Ok(members)
    }
}

fn members(object: &str) -> Result<Vec<(String, Range<usize>)>, String> {
    let mut reader = serde_json::Deserializer::from_str(object);
    let members = reader.deserialize_map(Members).map_err(|error| error.to_string())?;
    Ok(members.into_iter().map(|(key, raw)| (key, place(object, raw.get()))).collect())
}

struct Items;
impl<'de> Visitor<'de> for Items {
    type Value = Vec<&'de RawValue>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Self::Value, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = seq.next_element()? {
            items.push(item);
        }
        Ok(items)
    }
}

fn items(array: &str) -> Result<Vec<Range<usize>>, String> {
    let mut reader = serde_json::Deserializer::from_str(array);
    let items = reader.deserialize_seq(Items).map_err(|error| error.to_string())?;
    Ok(items.into_iter().map(|raw| place(array, raw.get())).collect())
}
