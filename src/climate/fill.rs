//! Degree-days of a weather file or a place, put into a house file.

use super::degree_days::{Count, USUAL_BASE_F, UsualYear};
use super::error::ClimateError;
use super::places::FROM_MEMORY;
use super::remark::Gravity;
use super::weather::Weather;
use crate::house::{Field, Raw};
use crate::source::Mark;
use crate::tables::Place;
use crate::words::grouped;

/// A house document whose climate was filled in, and what was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Filled {
    /// The document.
    pub house: Raw,
    /// Where its degree-days come from, a sentence each, without a full stop.
    pub notes: Vec<String>,
}

/// The values of the house file under either name of a field.
fn given<'r>(table: &'r [(String, Raw)], field: Field) -> Vec<&'r (String, Raw)> {
    let def = field.def();
    let named = |(name, value): &&'r (String, Raw)| {
        (name == def.ip || Some(name.as_str()) == def.si) && *value != Raw::Null
    };
    table.iter().filter(named).collect()
}

fn remove(table: &mut Vec<(String, Raw)>, field: Field) {
    let def = field.def();
    table.retain(|(name, _)| name != def.ip && Some(name.as_str()) != def.si);
}

fn shown(value: &Raw) -> String {
    match value {
        Raw::Number(number) => format!("{number}"),
        Raw::Text(text) => text.clone(),
        other => format!("{other:?}"),
    }
}

fn table(house: &Raw) -> Result<Vec<(String, Raw)>, ClimateError> {
    match house {
        Raw::Table(table) => Ok(table.clone()),
        _ => Err(ClimateError::unreadable("a house is a table of named values")),
    }
}

/// The values that a filling changes.
struct Filling {
    table: Vec<(String, Raw)>,
    notes: Vec<String>,
}

impl Filling {
    /// Sets a field, whatever was given, and says so.
    fn replace(&mut self, field: Field, value: f64, from: &str) {
        let name = field.def().ip;
        let was: Vec<String> = given(&self.table, field)
            .into_iter()
            .map(|(name, value)| format!("{name} = {}", shown(value)))
            .collect();
        remove(&mut self.table, field);
        self.table.push((name.to_owned(), Raw::Number(value)));
        let value = grouped(value, 1);
        let instead = if was.is_empty() {
            String::new()
        } else {
            format!(", in place of {} of the house file", was.join(" and "))
        };
        self.notes.push(format!("{from}: {name} = {value}{instead}"));
    }

    /// Sets a field where it is not given.
    fn supply(&mut self, field: Field, value: f64, from: &str) {
        match given(&self.table, field).first() {
            None => self.replace(field, value, from),
            Some((name, was)) => {
                let note = format!("from the house file, as it stands: {name} = {}", shown(was));
                self.notes.push(note);
            }
        }
    }
}

/// Degree-days of the weather file in place of whatever the house file says, and the height of the
/// station where the house file says none. The weather file always wins.
///
/// # Errors
/// [`ClimateError`] where the weather has no whole year or must not be used for a house.
pub fn fill_from_weather(
    house: &Raw,
    weather: &Weather,
    count: Count,
) -> Result<(Filled, UsualYear), ClimateError> {
    let year = weather.usual_year(count)?;
    let mut filling = Filling { table: table(house)?, notes: Vec::new() };
    let from = format!("from the weather of {}", weather.site().name);
    filling.replace(Field::HeatingDegreeDays, year.heating, &from);
    // Cooling has no balance point here: whatever the base of heating, it is counted at 65 °F.
    let cooling = weather.usual_year(count.at(USUAL_BASE_F)?)?.cooling;
    filling.replace(Field::CoolingDegreeDays, cooling, &from);
    if let Some(elevation) = weather.site().elevation_ft
        && given(&filling.table, Field::Elevation).is_empty()
    {
        filling.replace(Field::Elevation, libm::round(elevation), "height of the weather station");
    }
    filling.notes.push(format!("counted as: {}; {}", count.words(), year.basis_words()));
    if count.base_f() != USUAL_BASE_F {
        filling.notes.push(format!("cooling is counted at {USUAL_BASE_F} °F all the same"));
    }
    if year.missing > 0 {
        filling.notes.push(format!(
            "the missing days would add {} °F·day of heating to a year at most",
            grouped(year.missing_at_most, 0)
        ));
    }
    for remark in weather.remarks().iter().filter(|remark| remark.gravity == Gravity::Warning) {
        filling.notes.push(format!("of the weather file: {}", remark.text));
    }
    Ok((Filled { house: Raw::Table(filling.table), notes: filling.notes }, year))
}

/// Degree-days and height of a place, where the house file says none: a first guess, which nothing
/// that is given gives way to.
///
/// # Errors
/// [`ClimateError`] where the document is no table.
pub fn fill_from_place(house: &Raw, place: &Place) -> Result<Filled, ClimateError> {
    let mut filling = Filling { table: table(house)?, notes: Vec::new() };
    let mut supply = |field, cited: &crate::tables::Cited, base: &str| {
        let check = match cited.citation.mark {
            Mark::Memory => FROM_MEMORY.to_owned(),
            _ => cited.citation.to_string(),
        };
        let from = format!("from the table of places, {}{base} ({check})", place.full_name());
        filling.supply(field, cited.value, &from);
    };
    let base = format!(", base {} °F", place.base_f);
    supply(Field::HeatingDegreeDays, &place.heating, &base);
    supply(Field::CoolingDegreeDays, &place.cooling, &base);
    supply(Field::Elevation, &place.elevation_ft, "");
    if !place.note.is_empty() {
        filling.notes.push(format!("of the table of places: {}", place.note));
    }
    filling.notes.push("a first guess: a weather file of the place always wins over it".to_owned());
    Ok(Filled { house: Raw::Table(filling.table), notes: filling.notes })
}
