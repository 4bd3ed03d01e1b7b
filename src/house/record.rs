//! A record: one value for each field of the registry, each validated as it comes in.
//!
//! Every door fills a record; what is in it is in range and in inch-pound units. Nothing is
//! allocated until something is wrong.

use super::fields::{Absent, FIELD_COUNT, FIELDS, Field, FieldSet, Kind};
use crate::error::{Issue, IssueCode, nearest, short};
use crate::units::UnitSystem;
use std::sync::LazyLock;

/// A value as a door hands it over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cell<'a> {
    /// A number.
    Number(f64),
    /// Text; a number in text is read as one.
    Text(&'a str),
    /// Yes or no.
    Bool(bool),
    /// Nothing: the same as not giving the field.
    Blank,
}

impl Cell<'_> {
    /// The value as a message prints it.
    pub(crate) fn shown(self) -> String {
        match self {
            Self::Number(number) => format!("{number}"),
            Self::Text(text) => text.to_owned(),
            Self::Bool(value) => format!("{value}"),
            Self::Blank => String::new(),
        }
    }
}

/// One value for each field: numbers in inch-pound units, choices by their place in the list.
#[derive(Clone, Debug)]
pub struct Record {
    values: [f64; FIELD_COUNT],
    given: FieldSet,
    si: FieldSet,
}

/// What a field holds when nothing is given; NaN where a rule fills it.
fn default_value(field: Field) -> f64 {
    let def = field.def();
    match (def.absent, def.kind) {
        (Absent::Number(number), _) => number,
        (Absent::Word(word), Kind::Choice(choices)) => {
            choices.find(word).map_or(f64::NAN, place_as_number)
        }
        _ => f64::NAN,
    }
}

fn place_as_number(place: usize) -> f64 {
    u32::try_from(place).map_or(f64::NAN, f64::from)
}

/// Worked out once: every house begins with them.
static DEFAULTS: LazyLock<[f64; FIELD_COUNT]> =
    LazyLock::new(|| std::array::from_fn(|index| default_value(FIELDS[index].field)));

impl Default for Record {
    fn default() -> Self {
        Self { values: *DEFAULTS, given: FieldSet::default(), si: FieldSet::default() }
    }
}

impl Record {
    /// Takes a value in under the name of one unit system.
    ///
    /// # Errors
    /// An [`Issue`] that names the field, the value and what is allowed.
    pub fn set(&mut self, field: Field, units: UnitSystem, cell: Cell<'_>) -> Result<(), Issue> {
        let def = field.def();
        let fault =
            |code, reason: String| Err(Issue::new(code, def.name(units), cell.shown(), reason));
        if matches!(cell, Cell::Blank) || matches!(cell, Cell::Text(text) if text.trim().is_empty())
        {
            return Ok(());
        }
        if self.given.contains(field) {
            let reason = match def.si {
                Some(si) => format!("given twice: write {} or {si}, not both", def.ip),
                None => "given twice".to_owned(),
            };
            return fault(IssueCode::GivenTwice, reason);
        }
        let value = match def.kind {
            Kind::Choice(choices) => {
                let place = match cell {
                    Cell::Text(text) => choices.find(text),
                    // A yes/no question takes true and false.
                    Cell::Bool(value) => choices.find(if value { "yes" } else { "no" }),
                    Cell::Number(_) | Cell::Blank => None,
                };
                match place {
                    Some(place) => place_as_number(place),
                    None => {
                        let hint = match cell {
                            Cell::Text(text) => {
                                nearest(text.trim(), choices.words().iter().copied())
                            }
                            _ => None,
                        };
                        let hint =
                            hint.map(|word| format!("; is {word} meant?")).unwrap_or_default();
                        return fault(
                            IssueCode::NotAChoice,
                            format!("must be {}{hint}", choices.listed()),
                        );
                    }
                }
            }
            Kind::Text => return fault(IssueCode::Misplaced, "is not a number".to_owned()),
            Kind::Number | Kind::Whole => {
                let number = match cell {
                    Cell::Number(number) => number,
                    Cell::Text(text) => match text.trim().parse() {
                        Ok(number) => number,
                        Err(_) => {
                            return fault(
                                IssueCode::NotANumber,
                                format!(
                                    "is not a number{}; allowed is {}",
                                    hint(text),
                                    def.range(units)
                                ),
                            );
                        }
                    },
                    Cell::Bool(_) | Cell::Blank => {
                        let allowed = def.range(units);
                        return fault(
                            IssueCode::NotANumber,
                            format!("is not a number; allowed is {allowed}"),
                        );
                    }
                };
                if !number.is_finite() {
                    let allowed = def.range(units);
                    return fault(
                        IssueCode::NotANumber,
                        format!("is not a finite number; allowed is {allowed}"),
                    );
                }
                let ip = match units {
                    UnitSystem::Ip => number,
                    UnitSystem::Si => def.quantity.ip_from_si(number),
                };
                // A negative conductivity would become a negative resistivity: out of range too.
                if !ip.is_finite() || !def.allows(ip, units) {
                    let allowed = def.range(units);
                    return fault(IssueCode::OutOfRange, format!("allowed is {allowed}"));
                }
                if def.kind == Kind::Whole && ip.fract() != 0.0 {
                    let allowed = def.range(units);
                    return fault(IssueCode::OutOfRange, format!("allowed is {allowed}"));
                }
                // Back inside by the rounding that `allows` forgave.
                ip.clamp(def.low, def.high)
            }
        };
        self.values[field as usize] = value;
        self.given.insert(field);
        if units == UnitSystem::Si && def.si.is_some() {
            self.si.insert(field);
        }
        Ok(())
    }

    /// Puts a value back that was in range when it first came in.
    pub(super) const fn put(&mut self, field: Field, value: f64, si: bool) {
        self.values[field as usize] = value;
        self.given.insert(field);
        if si {
            self.si.insert(field);
        }
    }

    /// Takes a value out again: the default holds.
    pub(super) fn clear(&mut self, field: Field) {
        self.values[field as usize] = DEFAULTS[field as usize];
        self.given.remove(field);
        self.si.remove(field);
    }

    /// Adds what is given in another record.
    pub(super) fn join(&mut self, other: &Self) {
        for def in FIELDS.iter().filter(|def| other.given.contains(def.field)) {
            self.put(def.field, other.get(def.field), other.si.contains(def.field));
        }
    }

    /// The value or its default; NaN where neither is.
    #[inline]
    pub fn get(&self, field: Field) -> f64 {
        self.values[field as usize]
    }

    /// The value, if it was given.
    #[inline]
    pub fn given(&self, field: Field) -> Option<f64> {
        self.given.contains(field).then(|| self.get(field))
    }

    /// The place in the list of a choice, or of its default.
    #[inline]
    pub fn place(&self, field: Field) -> Option<usize> {
        let value = self.get(field);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "places come from `place_as_number`"
        )]
        (value >= 0.0).then_some(value as usize)
    }

    /// Whether the field was given.
    pub const fn was_given(&self, field: Field) -> bool {
        self.given.contains(field)
    }

    /// The fields given, and those of them given in SI.
    pub(crate) const fn sets(&self) -> (FieldSet, FieldSet) {
        (self.given, self.si)
    }

    /// The field's value as a message prints it, under the name that the user wrote.
    pub(crate) fn shown(&self, field: Field) -> (&'static str, String) {
        let def = field.def();
        let units = if self.si.contains(field) { UnitSystem::Si } else { UnitSystem::Ip };
        let value = match def.kind {
            Kind::Choice(choices) => self
                .place(field)
                .and_then(|place| choices.words().get(place))
                .map_or_else(String::new, |word| (*word).to_owned()),
            _ if !self.was_given(field) => String::new(),
            _ => short(def.quantity.express(self.get(field), units)),
        };
        (def.name(units), value)
    }

    /// A fault of a field whose value is in the record.
    pub(crate) fn fault(&self, code: IssueCode, field: Field, reason: impl Into<String>) -> Issue {
        let (name, value) = self.shown(field);
        Issue::new(code, name, value, reason)
    }
}

/// What the user probably meant by text that is no number.
fn hint(text: &str) -> &'static str {
    let text = text.trim();
    if text.ends_with('%') {
        " (write 25 % as 0.25)"
    } else if text.contains(',') {
        " (write no comma in a number)"
    } else if text.starts_with(['$', '€', '£']) {
        " (write no currency sign)"
    } else {
        ""
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(field: Field, units: UnitSystem, cell: Cell<'_>) -> String {
        Record::default().set(field, units, cell).map_err(|e| e.to_string()).unwrap_err()
    }

    #[test]
    fn faults_name_field_value_and_range_in_the_unit_written() {
        assert_eq!(
            fault(Field::CavityDepth, UnitSystem::Si, Cell::Number(3.5)),
            "cavity_depth_mm = 3.5: allowed is 12.7 to 406.4 mm"
        );
        assert_eq!(
            fault(Field::FramingFraction, UnitSystem::Ip, Cell::Text("25%")),
            "framing_fraction = 25%: is not a number (write 25 % as 0.25); allowed is 0 to 0.6"
        );
        assert_eq!(
            fault(Field::KnobAndTube, UnitSystem::Ip, Cell::Text("yess")),
            "knob_and_tube = yess: must be one of no, yes, unknown; is yes meant?"
        );
        assert!(fault(Field::FuelPrice, UnitSystem::Ip, Cell::Number(f64::NAN)).contains("finite"));
        assert!(fault(Field::FuelPrice, UnitSystem::Ip, Cell::Text("-inf")).contains("finite"));
        assert!(
            fault(Field::LifeYears, UnitSystem::Ip, Cell::Number(30.5)).contains("whole number")
        );
    }

    #[test]
    fn the_printed_si_limit_is_let_in() {
        for def in FIELDS.iter().filter(|def| def.si.is_some() && !def.low_open) {
            for end in [def.low, def.high] {
                let printed = short(def.quantity.si_from_ip(end));
                let si: f64 = printed.parse().unwrap();
                let mut record = Record::default();
                assert!(
                    record.set(def.field, UnitSystem::Si, Cell::Number(si)).is_ok(),
                    "{}",
                    def.ip
                );
                assert!((def.low..=def.high).contains(&record.get(def.field)));
            }
        }
    }

    #[test]
    fn both_unit_names_are_refused() {
        let mut record = Record::default();
        assert!(record.set(Field::Area, UnitSystem::Ip, Cell::Number(100.0)).is_ok());
        let fault = record.set(Field::Area, UnitSystem::Si, Cell::Number(9.0)).unwrap_err();
        assert_eq!(fault.code, IssueCode::GivenTwice);
    }
}
