//! Published numbers, held as data in `src/tables/*.csv` with mark, source and locator beside
//! each row, and turned into constants when the crate is built.

#![expect(clippy::unreadable_literal, reason = "the included tables are written by a program")]

use crate::source::{Citation, Mark, Source, SourceId};

/// A layer that a wall, slope or floor may have, by the key that a user writes.
#[derive(Clone, Copy, Debug)]
pub struct Material {
    /// The key that a user writes.
    pub key: &'static str,
    /// What it is, in words.
    pub label: &'static str,
    /// Where in the wall it belongs.
    pub role: Role,
    /// The thickness that the resistance is for; `None` where it has no meaning.
    pub thickness_in: Option<f64>,
    /// Thermal resistance of the layer, h·ft²·°F/Btu.
    pub r_h_ft2_f_btu: f64,
    /// The least resistance that this product plausibly has.
    pub low: f64,
    /// The greatest.
    pub high: f64,
    /// Where the number comes from.
    pub citation: Citation,
}

/// Where in the wall a material belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Outermost: siding, stucco, brick.
    Cladding,
    /// Between cladding and frame.
    Sheathing,
    /// Facing the room.
    InteriorFinish,
    /// Anything else.
    Other,
}

/// A surface film.
#[derive(Clone, Copy, Debug)]
pub struct Film {
    /// Its key in the table.
    pub key: &'static str,
    /// Thermal resistance, h·ft²·°F/Btu.
    pub r_h_ft2_f_btu: f64,
    /// Where the number comes from.
    pub citation: Citation,
}

/// A fuel with its heat content and emission factor.
#[derive(Clone, Copy, Debug)]
pub struct FuelRow {
    /// The key that a user writes.
    pub key: &'static str,
    /// What it is, in words.
    pub label: &'static str,
    /// The unit it is sold in.
    pub unit: &'static str,
    /// Million Btu in one unit.
    pub mmbtu_per_unit: f64,
    /// kg CO2e per million Btu burned; `None` for electricity, which depends on the grid.
    pub kg_co2e_per_mmbtu: Option<f64>,
    /// Where the numbers come from.
    pub citation: Citation,
}

/// Emission rates of a grid subregion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridRow {
    /// The subregion's acronym, as a user writes it.
    pub region: &'static str,
    /// Where it is.
    pub label: &'static str,
    /// Average output rate, lb CO2e per MWh.
    pub average_lb_co2e_per_mwh: f64,
    /// Non-baseload output rate, lb of CO2 alone per MWh.
    pub non_baseload_lb_co2_per_mwh: f64,
    /// Non-baseload output rate, lb CO2e per MWh.
    pub non_baseload_lb_co2e_per_mwh: f64,
    /// The year of the data.
    pub data_year: &'static str,
    /// Where the numbers come from.
    pub citation: Citation,
}

/// A scalar constant of the method.
#[derive(Clone, Copy, Debug)]
pub struct Constant {
    /// Its name.
    pub key: &'static str,
    /// Its value.
    pub value: f64,
    /// Its unit, in words.
    pub unit: &'static str,
    /// Where it comes from.
    pub citation: Citation,
}

/// A way to get the fibre in, and the batt out. Shares and not amounts, so that they hold in any
/// currency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Access {
    /// The key that a user writes.
    pub key: &'static str,
    /// What is done, in words.
    pub label: &'static str,
    /// Drilling and making good, as a share of the price of the fill itself.
    pub repair_share: f64,
    /// Opening the wall, taking the batt out and closing the wall, as a share of the same price.
    pub removal_share: f64,
    /// Keys of the claddings that are usually worked so.
    pub claddings: &'static [&'static str],
    /// Where the shares come from.
    pub citation: Citation,
}

/// How far a field is commonly off.
#[derive(Clone, Copy, Debug)]
pub struct Spread {
    /// The field's inch-pound name.
    pub field: &'static str,
    /// How the ends are meant.
    pub mode: SpreadMode,
    /// The low end.
    pub low: f64,
    /// The most likely value; `None`: the house's own.
    pub likely: Option<f64>,
    /// The high end.
    pub high: f64,
    /// How it is spread between the ends.
    pub shape: SpreadShape,
    /// The field whose draw it shares, moving against it: one weather is behind both.
    pub moves_against: Option<&'static str>,
    /// The question in words, as in "how thick the batt is".
    pub words: &'static str,
    /// What settles it, as in "look into the wall before you sign".
    pub advice: &'static str,
    /// Where the spread comes from.
    pub citation: Citation,
}

/// How the ends of a spread are meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpreadMode {
    /// Times the value.
    Factor,
    /// Added to the value, in its inch-pound unit.
    Add,
    /// The value itself, in its inch-pound unit.
    Value,
}

/// How a field is spread between the ends of its spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpreadShape {
    /// Most at the likely value, in a straight line to nothing at the ends.
    Triangular,
    /// As likely anywhere.
    Uniform,
}

/// How readily a layer, a coat or an inch of a material lets water vapour through.
#[derive(Clone, Copy, Debug)]
pub struct PermeanceRow {
    /// The key: that of the material in the table of materials, where it is one.
    pub key: &'static str,
    /// What it is, in words.
    pub label: &'static str,
    /// What the number is for.
    pub role: PermeanceRole,
    /// Permeance in US perms; of an inch where the role is [`PermeanceRole::PerInch`].
    pub perms: f64,
    /// The least that it plausibly is.
    pub low: f64,
    /// The greatest.
    pub high: f64,
    /// Where the number comes from.
    pub citation: Citation,
}

/// What a permeance is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PermeanceRole {
    /// A whole layer of the table of materials.
    Layer,
    /// An inch of a material.
    PerInch,
    /// A paint or paper on a face of the wall.
    Coat,
    /// A sheet on the room side of the batt.
    Facing,
}

/// A number with its own citation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cited {
    /// The number.
    pub value: f64,
    /// Where it comes from.
    pub citation: Citation,
}

/// A place, for a first guess at its climate.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// The key that a user writes.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// State, province or territory.
    pub region: &'static str,
    /// `US` or `CA`.
    pub country: &'static str,
    /// Height above sea level, ft.
    pub elevation_ft: Cited,
    /// The base that the degree-days are for, °F.
    pub base_f: f64,
    /// Heating degree-days of a usual year, °F·day.
    pub heating: Cited,
    /// Cooling degree-days of a usual year, °F·day.
    pub cooling: Cited,
    /// Climate zone of its county, with the code that assigns it.
    pub zone: &'static str,
    /// Where the zone comes from.
    pub zone_citation: Citation,
    /// What else is to be known of the values; may be empty.
    pub note: &'static str,
}

include!(concat!(env!("OUT_DIR"), "/tables.rs"));

/// The material of this key.
pub fn material(key: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|material| material.key == key)
}

/// The permeance of this key.
pub fn permeance(key: &str) -> Option<&'static PermeanceRow> {
    PERMEANCES.iter().find(|row| row.key == key)
}
