//! JSON Lines: one house a line, in and out.
//!
//! A line holds an object with the names of a house file. Out comes an object a line: the house's
//! name, the keys that are no field as they were, then the results; or, for a house that cannot be
//! scored, its faults. Blank lines are passed over.

use super::Counts;
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{
    Assessment, CLEARANCES, Field, House, HouseFileError, RESULTS, Raw, ResultValue, SURFACES,
    SURVEY, assess,
};
use crate::readiness::{Finding, Readiness};
use crate::units::UnitSystem;
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;
#[cfg(feature = "parallel")]
use std::cell::OnceCell;
use std::fmt;
use std::io::{self, BufRead, Write};
use std::num::NonZeroUsize;

/// A longer line is no house.
pub const MOST_LINE_BYTES: usize = 1 << 20;

/// So much of a line that is too long is kept to be shown.
const SHOWN_BYTES: usize = 200;

/// Lines that are scored together.
const GROUP_LINES: usize = 4096;
const GROUP_BYTES: usize = 8 << 20;

/// So few lines are not worth another thread.
#[cfg(feature = "parallel")]
const FEW_LINES: usize = 64;
/// So many rejects are kept for a message.
const FIRST_REJECTS: usize = 10;

/// The key that says why a house could not be scored.
const FAULTS: &str = "faults";
/// The result that is a list of codes.
const CODES: &str = "findings";

/// How JSON Lines are scored.
#[derive(Clone, Copy, Debug)]
struct JsonLines {
    /// Of the results.
    units: UnitSystem,
    /// Whether rejects go to a writer of their own.
    apart: bool,
}

/// A line of the input.
#[derive(Debug, Default)]
struct Line {
    number: u64,
    bytes: Vec<u8>,
    /// Its whole length where it is too long to be kept.
    too_long: Option<u64>,
}

/// What became of a line: an object in JSON.
struct Outcome {
    json: Vec<u8>,
    /// Of a reject.
    faults: Option<String>,
    on_hold: bool,
}

/// What became of JSON Lines.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LinesReport {
    /// How many houses were read and what became of them.
    pub counts: Counts,
    /// The first few rejects: place among the houses and line, both counted from 1, and faults.
    pub first: Vec<(u64, u64, String)>,
}

/// Scores houses from JSON Lines.
///
/// With `rejects`, what cannot be scored goes there: its line number, the object as it was (or the
/// text, where it is no JSON), its faults. `tick` is asked now and then whether to go on.
///
/// # Errors
/// Of reading, of writing, and of `tick`.
pub fn score_json_lines<R: BufRead, W: Write, E: From<io::Error>>(
    mut reader: R,
    writer: &mut W,
    mut rejects: Option<&mut dyn Write>,
    units: UnitSystem,
    threads: Option<NonZeroUsize>,
    mut tick: impl FnMut(Counts) -> Result<(), E>,
) -> Result<LinesReport, E> {
    let lines = JsonLines { units, apart: rejects.is_some() };
    let mut report = LinesReport::default();
    let mut number = 0;
    let crew = Crew::new(threads);
    loop {
        let group = read_group(&mut reader, &mut number)?;
        if group.is_empty() {
            break;
        }
        for (outcome, line) in crew.score(lines, &group).into_iter().zip(&group) {
            let counts = &mut report.counts;
            counts.read += 1;
            counts.on_hold += u64::from(outcome.on_hold);
            match outcome.faults {
                None => counts.scored += 1,
                Some(faults) => {
                    counts.rejected += 1;
                    if report.first.len() < FIRST_REJECTS {
                        report.first.push((counts.read, line.number, faults));
                    }
                    if let Some(rejects) = rejects.as_mut() {
                        rejects.write_all(&outcome.json)?;
                        continue;
                    }
                }
            }
            writer.write_all(&outcome.json)?;
        }
        tick(report.counts)?;
    }
    writer.flush()?;
    if let Some(rejects) = rejects {
        rejects.flush()?;
    }
    Ok(report)
}

/// The threads that score. They are made when they are first needed.
struct Crew {
    #[cfg(feature = "parallel")]
    threads: Option<NonZeroUsize>,
    #[cfg(feature = "parallel")]
    pool: OnceCell<Option<rayon::ThreadPool>>,
}

impl Crew {
    #[cfg(feature = "parallel")]
    fn new(threads: Option<NonZeroUsize>) -> Self {
        Self { threads, pool: OnceCell::new() }
    }

    #[cfg(not(feature = "parallel"))]
    fn new(_: Option<NonZeroUsize>) -> Self {
        Self {}
    }

    #[cfg(feature = "parallel")]
    fn score(&self, lines: JsonLines, group: &[Line]) -> Vec<Outcome> {
        use rayon::prelude::*;
        let alone = self.threads == Some(NonZeroUsize::MIN) || group.len() < FEW_LINES;
        let make = || {
            let threads = self.threads.map_or(0, NonZeroUsize::get);
            rayon::ThreadPoolBuilder::new().num_threads(threads).build().ok()
        };
        match Some(()).filter(|()| !alone).and_then(|()| self.pool.get_or_init(make).as_ref()) {
            Some(pool) => pool.install(|| {
                let lines = group.par_iter().with_min_len(FEW_LINES).map(|line| lines.score(line));
                lines.collect()
            }),
            None => group.iter().map(|line| lines.score(line)).collect(),
        }
    }

    #[cfg(not(feature = "parallel"))]
    #[expect(clippy::unused_self, reason = "the crew of a build without threads is empty")]
    fn score(&self, lines: JsonLines, group: &[Line]) -> Vec<Outcome> {
        group.iter().map(|line| lines.score(line)).collect()
    }
}

fn read_group(reader: &mut impl BufRead, number: &mut u64) -> io::Result<Vec<Line>> {
    let (mut group, mut bytes) = (Vec::new(), 0);
    while group.len() < GROUP_LINES && bytes < GROUP_BYTES {
        let Some(line) = read_line(reader, number)? else { break };
        bytes += line.bytes.len();
        if line.too_long.is_some() || !line.bytes.trim_ascii().is_empty() {
            group.push(line);
        }
    }
    Ok(group)
}

/// The next line; a long one is read past and not kept.
fn read_line(reader: &mut impl BufRead, number: &mut u64) -> io::Result<Option<Line>> {
    let mut line = Line::default();
    let mut length = 0u64;
    let mut ended = false;
    while !ended {
        let chunk = match reader.fill_buf() {
            Ok(chunk) => chunk,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        if chunk.is_empty() {
            break;
        }
        let end = chunk.iter().position(|byte| *byte == b'\n');
        let (text, used) = end.map_or((chunk, chunk.len()), |end| (&chunk[..end], end + 1));
        length += text.len() as u64;
        if length <= MOST_LINE_BYTES as u64 {
            line.bytes.extend_from_slice(text);
        } else {
            let room = SHOWN_BYTES.saturating_sub(line.bytes.len()).min(text.len());
            line.bytes.extend_from_slice(&text[..room]);
            line.bytes.truncate(SHOWN_BYTES);
            line.too_long = Some(length);
        }
        ended = end.is_some();
        reader.consume(used);
    }
    if !ended && length == 0 {
        return Ok(None);
    }
    *number += 1;
    line.number = *number;
    if *number == 1 && line.bytes.starts_with(b"\xef\xbb\xbf") {
        line.bytes.drain(..3);
    }
    Ok(Some(line))
}

/// The keys of an object with their values as they are written.
struct Entries<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Entries<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Keys;
        impl<'de> Visitor<'de> for Keys {
            type Value = Vec<(String, &'de RawValue)>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object with the fields of a house")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut entries = Vec::new();
                while let Some(entry) = map.next_entry()? {
                    entries.push(entry);
                }
                Ok(entries)
            }
        }
        deserializer.deserialize_map(Keys).map(Entries)
    }
}

/// Whether a key is of the contract.
fn is_field(key: &str) -> bool {
    key == SURFACES || Field::from_name(key).is_some()
}

/// Whether a key tells of looks at the house: it bears on the answer, and is handed through as well.
fn is_look(key: &str, text: &str) -> bool {
    key == CLEARANCES || (key == SURVEY && text.starts_with('{'))
}

fn is_id(key: &str) -> bool {
    key == Field::HouseId.def().ip
}

/// A whole number as a house's name keeps its digits, however many.
fn is_whole(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-')
}

impl JsonLines {
    fn score(self, line: &Line) -> Outcome {
        let mut outcome = Outcome { json: Vec::new(), faults: None, on_hold: false };
        let (entries, fault) = match read(line) {
            Ok(entries) => (entries, None),
            Err(reason) => (Vec::new(), Some(reason)),
        };
        let assessed = match fault {
            Some(reason) => Err(Issue::new(IssueCode::Unreadable, "", "", reason).into()),
            None => self.assess(&entries),
        };
        let whole = assessed.is_err() && entries.is_empty() && !is_empty_object(line);
        let mut object = Object::begin(&mut outcome.json);
        match assessed {
            Ok((house, assessment)) => {
                outcome.on_hold = assessment.readiness() == Readiness::Hold;
                object.text(Field::HouseId.def().ip, house.house_id());
                object.pass(&entries);
                object.results(&assessment, self.units);
            }
            Err(error) => {
                let faults: Vec<String> = error.issues.iter().map(ToString::to_string).collect();
                outcome.faults = Some(faults.join("; "));
                if self.apart || whole {
                    if !self.apart {
                        object.raw(Field::HouseId.def().ip, "null");
                    }
                    object.raw("line", &line.number.to_string());
                    match std::str::from_utf8(&line.bytes) {
                        Ok(text) if !whole => object.raw("house", text.trim()),
                        _ => object.text("text", &shown(line)),
                    }
                } else {
                    let id = entries.iter().find(|(key, _)| is_id(key));
                    let id = id.map_or("null", |(_, value)| value.get());
                    object.raw(Field::HouseId.def().ip, id);
                    object.pass(&entries);
                }
                object.faults(&error);
            }
        }
        object.end();
        outcome
    }

    fn assess(self, entries: &[(String, &RawValue)]) -> Result<(House, Assessment), InputError> {
        let mut issues = Vec::new();
        let mut table = Vec::with_capacity(entries.len());
        for (key, value) in entries {
            let text = value.get();
            if !is_field(key) && !is_look(key, text) {
                let taken = RESULTS.iter().any(|def| def.name(self.units) == key);
                if taken || key == FAULTS {
                    let reason = "a name that a result takes; rename it";
                    issues.push(Issue::new(IssueCode::Conflict, key.as_str(), text, reason));
                }
            } else if is_id(key) && is_whole(text) {
                table.push((key.clone(), Raw::Text(text.to_owned())));
            } else {
                match serde_json::from_str(text) {
                    Ok(raw) => table.push((key.clone(), raw)),
                    Err(error) => {
                        let reason = format!("cannot be read: {}", message(&error));
                        issues.push(Issue::new(IssueCode::Unreadable, key.as_str(), text, reason));
                    }
                }
            }
        }
        match House::from_raw(&Raw::Table(table)) {
            Ok(house) if issues.is_empty() => {
                let assessment = assess(&house);
                Ok((house, assessment))
            }
            Ok(_) => Err(InputError { issues }),
            Err(HouseFileError::Input(error)) => {
                issues.extend(error.issues);
                Err(InputError { issues })
            }
            Err(other) => {
                issues.push(Issue::new(IssueCode::Unreadable, "", "", other.to_string()));
                Err(InputError { issues })
            }
        }
    }
}

/// What serde says, without its place.
fn message(error: &serde_json::Error) -> String {
    let whole = error.to_string();
    whole.rsplit_once(" at line ").map_or(whole.as_str(), |(message, _)| message).to_owned()
}

fn read(line: &Line) -> Result<Vec<(String, &RawValue)>, String> {
    if let Some(length) = line.too_long {
        return Err(format!(
            "the line has {length} bytes, a house at most {MOST_LINE_BYTES}: this is none"
        ));
    }
    let text = std::str::from_utf8(&line.bytes).map_err(|error| {
        let place = error.valid_up_to();
        format!("not UTF-8 text: the byte at {place} does not belong to it")
    })?;
    serde_json::from_str(text)
        .map(|Entries(entries)| entries)
        .map_err(|error| format!("not valid JSON, column {}: {}", error.column(), message(&error)))
}

fn is_empty_object(line: &Line) -> bool {
    read(line).is_ok()
}

/// The text of a line that is no object.
fn shown(line: &Line) -> String {
    let mut text = String::from_utf8_lossy(&line.bytes).into_owned();
    if line.too_long.is_some() {
        text.push('…');
    }
    text.trim_end_matches('\r').to_owned()
}

/// An object that is being written. Writing into memory does not fail.
struct Object<'o> {
    out: &'o mut Vec<u8>,
    first: bool,
}

impl<'o> Object<'o> {
    fn begin(out: &'o mut Vec<u8>) -> Self {
        out.push(b'{');
        Self { out, first: true }
    }

    fn key(&mut self, key: &str) {
        if !std::mem::take(&mut self.first) {
            self.out.push(b',');
        }
        self.value(key);
        self.out.push(b':');
    }

    fn value<T: serde::Serialize + ?Sized>(&mut self, value: &T) {
        let written = serde_json::to_writer(&mut *self.out, value);
        debug_assert!(written.is_ok());
    }

    fn text(&mut self, key: &str, text: &str) {
        self.key(key);
        self.value(text);
    }

    fn raw(&mut self, key: &str, json: &str) {
        self.key(key);
        self.out.extend_from_slice(json.as_bytes());
    }

    /// What is no field, as it was.
    fn pass(&mut self, entries: &[(String, &RawValue)]) {
        for (key, value) in entries.iter().filter(|(key, _)| !is_field(key)) {
            self.raw(key, value.get());
        }
    }

    fn results(&mut self, assessment: &Assessment, units: UnitSystem) {
        for (name, value) in assessment.results(units) {
            self.key(name);
            match value {
                _ if name == CODES => {
                    let codes: Vec<&str> = assessment.findings.iter().map(Finding::code).collect();
                    self.value(&codes);
                }
                ResultValue::Number(number) => self.value(&number),
                ResultValue::Word(word) => self.value(word),
                ResultValue::Words(words) => self.value(&words),
            }
        }
    }

    fn faults(&mut self, error: &InputError) {
        self.key(FAULTS);
        self.value(&error.issues);
    }

    fn end(self) {
        self.out.extend_from_slice(b"}\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    const HOUSE: &str = r#""heating_degree_days_f":5600,"heating_efficiency":0.8,"fuel":"natural_gas","fuel_price":1.5,"installed_cost":2400"#;

    fn run(text: &[u8], apart: bool) -> (Vec<Value>, Vec<Value>, Counts) {
        let (mut out, mut rejects) = (Vec::new(), Vec::new());
        let counts = score_json_lines(
            io::BufReader::with_capacity(7, text),
            &mut out,
            apart.then_some(&mut rejects as &mut dyn Write),
            UnitSystem::Ip,
            None,
            |_| Ok::<_, io::Error>(()),
        )
        .unwrap()
        .counts;
        let read = |bytes: &[u8]| {
            let text = std::str::from_utf8(bytes).unwrap();
            text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
        };
        (read(&out), read(&rejects), counts)
    }

    fn nested(id: &str, more: &str) -> String {
        format!(
            r#"{{"house_id":{id},{HOUSE},"surfaces":[{{"area_ft2":600,"layers":[0.6,{{"material":"plaster_wood_lath_3_4in"}}]}},{{"area_m2":30,"series_r":4}}]{more}}}"#
        )
    }

    #[test]
    fn a_line_has_the_bits_of_a_house_file_and_keeps_what_is_no_field() {
        let line = nested(r#""a""#, r#","county":"Elm","note":{"b":[1.50,1e3]}"#);
        let (out, _, counts) = run(line.as_bytes(), false);
        let house = House::from_json(&nested(r#""a""#, "")).unwrap();
        let expected = assess(&house);
        for (name, value) in expected.results(UnitSystem::Ip) {
            if let ResultValue::Number(Some(number)) = value {
                let found = out[0][name].as_f64().unwrap();
                assert_eq!(found.to_bits(), number.to_bits(), "{name}");
            }
        }
        assert_eq!(out[0]["county"], "Elm");
        assert_eq!(counts.scored, 1);
        let mut raw = Vec::new();
        score_json_lines(line.as_bytes(), &mut raw, None, UnitSystem::Ip, None, |_| {
            Ok::<_, io::Error>(())
        })
        .unwrap();
        assert!(String::from_utf8(raw).unwrap().contains(r#""note":{"b":[1.50,1e3]}"#));
    }

    #[test]
    fn nothing_is_lost() {
        let long = format!(r#"{{"house_id":"{}"}}"#, "x".repeat(2 * MOST_LINE_BYTES));
        let lines: Vec<Vec<u8>> = vec![
            [b"\xef\xbb\xbf".as_slice(), nested("1", "").as_bytes()].concat(),
            b"  \r".to_vec(),
            b"{\"house_id\": \"broken\"".to_vec(),
            b"[1, 2]\r".to_vec(),
            b"caf\xe9".to_vec(),
            b"{\"house_id\":\"nul\0\"}".to_vec(),
            long.into_bytes(),
            b"{}".to_vec(),
            nested("12345678901234567890", r#","npv":1"#).into_bytes(),
            nested("12345678901234567890", r#","fuel_price":-1"#).into_bytes(),
            nested("12345678901234567890", "").into_bytes(),
        ];
        let text = lines.join(&b'\n');
        let (out, none, counts) = run(&text, false);
        assert_eq!((out.len(), none.len()), (10, 0));
        assert_eq!((counts.read, counts.scored, counts.rejected), (10, 2, 8));
        assert_eq!(out[9]["house_id"], "12345678901234567890");
        assert_eq!(out[1]["line"], 3);
        assert_eq!(out[1]["text"], "{\"house_id\": \"broken\"");

        let (out, rejects, counts) = run(&text, true);
        assert_eq!((out.len(), rejects.len(), counts.read), (2, 8, 10));
        let places: Vec<u64> = rejects.iter().map(|r| r["line"].as_u64().unwrap()).collect();
        assert_eq!(places, [3, 4, 5, 6, 7, 8, 9, 10]);
        for reject in &rejects {
            assert!(!reject[FAULTS].as_array().unwrap().is_empty(), "{reject}");
        }
        assert!(rejects[4]["text"].as_str().unwrap().len() < 300);
        assert_eq!(rejects[5]["house"], serde_json::json!({}));
        assert_eq!(rejects[6][FAULTS][0]["field"], "npv");
    }

    #[test]
    fn a_number_that_no_double_holds_is_a_fault_of_its_field() {
        let line = Line {
            number: 1,
            bytes: nested("1", r#","rebate":1e999"#).into_bytes(),
            too_long: None,
        };
        let outcome = JsonLines { units: UnitSystem::Ip, apart: false }.score(&line);
        let text = String::from_utf8(outcome.json).unwrap();
        assert!(text.contains(r#""field":"rebate","value":"1e999","reason":"cannot be read"#));
    }
}
