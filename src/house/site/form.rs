//! Reads a table of a file that stands beside the registry of fields: `[job]`, `[[clearances]]`, a
//! file of rates. Each value is checked as it is taken; what is wrong is kept, all of it.

use crate::error::{Issue, IssueCode, nearest, short};
use crate::house::Raw;
use crate::units::{Quantity, UnitSystem};
use chrono::NaiveDate;

/// How a number under its SI name becomes the inch-pound number.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Convert {
    /// As the quantity does.
    By(Quantity),
    /// Times a factor, for money for each metre and the like.
    Times(f64),
}

/// A number that a table may hold.
#[derive(Clone, Copy, Debug)]
pub(crate) struct NumberDef {
    /// Its name, with the inch-pound unit where it has one.
    pub(crate) ip: &'static str,
    /// Its name with the SI unit.
    pub(crate) si: Option<(&'static str, Convert)>,
    /// Least and greatest allowed value, inch-pound.
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) whole: bool,
}

impl NumberDef {
    pub(crate) const fn new(ip: &'static str, low: f64, high: f64) -> Self {
        Self { ip, si: None, low, high, whole: false }
    }

    pub(crate) const fn si(mut self, name: &'static str, convert: Convert) -> Self {
        self.si = Some((name, convert));
        self
    }

    pub(crate) const fn whole(mut self) -> Self {
        self.whole = true;
        self
    }

    /// The allowed range in the unit of the name that was written.
    pub(crate) fn range(&self, units: UnitSystem) -> String {
        let express = |ip: f64| match (units, self.si) {
            (UnitSystem::Si, Some((_, Convert::By(quantity)))) => quantity.si_from_ip(ip),
            (UnitSystem::Si, Some((_, Convert::Times(factor)))) => ip / factor,
            _ => ip,
        };
        let whole = if self.whole { "a whole number, " } else { "" };
        if self.high >= MOST_MONEY {
            format!("{whole}{} or more", short(express(self.low)))
        } else {
            format!("{whole}{} to {}", short(express(self.low)), short(express(self.high)))
        }
    }
}

/// No price is larger in any currency.
pub(crate) const MOST_MONEY: f64 = 1e12;

/// A table while it is read.
pub(crate) struct Form<'r> {
    entries: &'r [(String, Raw)],
    known: Vec<&'static str>,
    pub(crate) issues: Vec<Issue>,
}

impl<'r> Form<'r> {
    /// Begins to read a table; anything else is a fault and reads as an empty one.
    pub(crate) fn new(raw: &'r Raw) -> Self {
        let mut form = Self { entries: &[], known: Vec::new(), issues: Vec::new() };
        match raw {
            Raw::Table(entries) => form.entries = entries,
            other => {
                let reason = format!("must be a table of named values, this is {}", other.sort());
                form.fault(IssueCode::WrongType, "", "", reason);
            }
        }
        form
    }

    pub(crate) fn fault(
        &mut self,
        code: IssueCode,
        name: &str,
        value: impl Into<String>,
        reason: impl Into<String>,
    ) {
        self.issues.push(Issue::new(code, name, value, reason));
    }

    /// The value of a name, blank text counted as nothing; twice is a fault.
    fn take(&mut self, name: &'static str) -> Option<&'r Raw> {
        self.known.push(name);
        let mut found = self.entries.iter().filter(|(key, _)| key == name).map(|(_, raw)| raw);
        let first = found.next();
        if found.next().is_some() {
            self.fault(IssueCode::GivenTwice, name, "", "given twice");
        }
        match first {
            Some(Raw::Null) => None,
            Some(Raw::Text(text)) if text.trim().is_empty() => None,
            other => other,
        }
    }

    /// A number in inch-pound units, under either of its names.
    pub(crate) fn number(&mut self, def: &NumberDef) -> Option<f64> {
        let ip = self.take(def.ip);
        let si = def.si.and_then(|(name, convert)| Some((self.take(name)?, name, convert)));
        let (raw, name, convert) = match (ip, si) {
            (Some(_), Some((_, name, _))) => {
                let reason = format!("given twice: write {} or {name}, not both", def.ip);
                self.fault(IssueCode::GivenTwice, name, "", reason);
                return None;
            }
            (Some(raw), None) => (raw, def.ip, None),
            (None, Some((raw, name, convert))) => (raw, name, Some(convert)),
            (None, None) => return None,
        };
        let units = if convert.is_some() { UnitSystem::Si } else { UnitSystem::Ip };
        let number = match raw {
            Raw::Number(number) => Some(*number),
            Raw::Text(text) => text.trim().parse().ok(),
            _ => None,
        };
        let Some(number) = number.filter(|number| number.is_finite()) else {
            let reason = format!("is not a number; allowed is {}", def.range(units));
            self.fault(IssueCode::NotANumber, name, shown(raw), reason);
            return None;
        };
        let value = match convert {
            None => number,
            Some(Convert::By(quantity)) => quantity.ip_from_si(number),
            Some(Convert::Times(factor)) => number * factor,
        };
        // A range end is printed in SI with six digits; who types the printed limit is let in.
        let slack = if convert.is_some() { 5e-6 } else { 0.0 };
        let inside = def.low - slack * def.low.abs() <= value
            && value <= def.high + slack * def.high.abs()
            && !(def.whole && number.fract() != 0.0);
        if !inside {
            let reason = format!("allowed is {}", def.range(units));
            self.fault(IssueCode::OutOfRange, name, shown(raw), reason);
            return None;
        }
        Some(value.clamp(def.low, def.high))
    }

    /// The place of a word in a list.
    pub(crate) fn word(&mut self, name: &'static str, words: &[&'static str]) -> Option<usize> {
        let raw = self.take(name)?;
        let word = match raw {
            Raw::Text(text) => text.trim().to_ascii_lowercase().replace(['-', ' '], "_"),
            Raw::Bool(true) => "yes".to_owned(),
            Raw::Bool(false) => "no".to_owned(),
            _ => String::new(),
        };
        let place = words.iter().position(|known| *known == word);
        if place.is_none() {
            let hint = nearest(&word, words.iter().copied());
            let hint = hint.map(|word| format!("; is {word} meant?")).unwrap_or_default();
            let reason = format!("must be one of {}{hint}", words.join(", "));
            self.fault(IssueCode::NotAChoice, name, shown(raw), reason);
        }
        place
    }

    /// Text of at most so many characters.
    pub(crate) fn text(&mut self, name: &'static str, most: usize) -> Option<String> {
        let raw = self.take(name)?;
        match raw {
            Raw::Text(text) if text.trim().chars().count() <= most => Some(text.trim().to_owned()),
            Raw::Text(_) => {
                let reason = format!("allowed is text of 1 to {most} characters");
                self.fault(IssueCode::OutOfRange, name, shown(raw), reason);
                None
            }
            other => {
                let reason = format!("must be text, this is {}", other.sort());
                self.fault(IssueCode::NotText, name, shown(raw), reason);
                None
            }
        }
    }

    /// A day of the calendar, as in 2026-03-02.
    pub(crate) fn day(&mut self, name: &'static str) -> Option<NaiveDate> {
        let raw = self.take(name)?;
        let day = match raw {
            Raw::Text(text) => day(text),
            _ => None,
        };
        if day.is_none() {
            let reason = "must be a day of the calendar written as in 2026-03-02";
            self.fault(IssueCode::WrongType, name, shown(raw), reason);
        }
        day
    }

    /// The tables of a list.
    pub(crate) fn list(&mut self, name: &'static str) -> &'r [Raw] {
        match self.take(name) {
            Some(Raw::List(items)) => items,
            None => &[],
            Some(other) => {
                let reason = format!("must be a list of tables, this is {}", other.sort());
                self.fault(IssueCode::WrongType, name, "", reason);
                &[]
            }
        }
    }

    /// A name that others read.
    pub(crate) fn leave(&mut self, name: &'static str) {
        self.known.push(name);
    }

    /// Whether a name stands in the table, whatever it holds.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.entries.iter().any(|(key, _)| key == name)
    }

    /// Ends the reading. A name that is nearly a known one is a fault; another one belongs to
    /// somebody else, and is handed back so that it can be told.
    pub(crate) fn finish(mut self, strict: bool) -> (Vec<Issue>, Vec<String>) {
        let mut others = Vec::new();
        for (key, _) in self.entries {
            if self.known.iter().any(|known| known == key) {
                continue;
            }
            let near = if strict {
                nearest(key, self.known.iter().copied())
            } else {
                self.known.iter().copied().find(|known| slip(key, known))
            };
            match near {
                Some(near) => {
                    let reason = format!("no value has this name; is {near} meant?");
                    self.issues.push(Issue::new(IssueCode::UnknownName, key.as_str(), "", reason));
                }
                None if strict => {
                    let known = self.known.join(", ");
                    let reason = format!("no value has this name; known are {known}");
                    self.issues.push(Issue::new(IssueCode::UnknownName, key.as_str(), "", reason));
                }
                None => others.push(key.clone()),
            }
        }
        (self.issues, others)
    }
}

/// Whether a key is a slip of the pen for a known one; a short name of somebody else's is not.
fn slip(key: &str, known: &str) -> bool {
    strsim::damerau_levenshtein(key, known) <= (known.len() / 5).max(1)
}

/// A day written year first, with a year of four digits.
pub(crate) fn day(text: &str) -> Option<NaiveDate> {
    let text = text.trim();
    (text.len() == 10).then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok()).flatten()
}

fn shown(raw: &Raw) -> String {
    match raw {
        Raw::Number(number) => format!("{number}"),
        Raw::Text(text) => text.clone(),
        Raw::Bool(value) => format!("{value}"),
        Raw::Null | Raw::List(_) | Raw::Table(_) | Raw::Other(_) => String::new(),
    }
}
