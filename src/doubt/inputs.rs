//! What may be off in a house, and by how much: its own ranges first, the usual spreads for the rest.

use super::sample::Stream;
use crate::distribution::Distribution;
use crate::house::{Field, FieldRange, Fill, House, Surface, Surfaces, judged};
use crate::source::Citation;
use crate::tables::{
    REALISED_IN_PROGRAMME, SPREADS, Spread, SpreadMode, SpreadShape, USE_AFTER_ABOVE_RATED,
    USE_BEFORE_OF_RATED,
};
use crate::units::UnitSystem;

/// Where an input's range comes from.
#[derive(Clone, Copy, Debug)]
pub enum Origin {
    /// The house says it itself.
    Own,
    /// The usual spread of the field.
    Usual(&'static Spread),
}

/// Something that may be off.
#[derive(Clone, Debug)]
pub struct Input {
    field: Field,
    origin: Origin,
    /// Whether the house's own bills stand for what was published of other houses.
    by_bills: bool,
    /// The stream of shares that it draws from: another field's where it moves with that.
    pub(crate) stream: Stream,
    /// Whether it moves against its stream.
    pub(crate) against: bool,
    /// The other field that it moves with or against.
    tied: Option<Field>,
    /// The field in each place where it stands: the house, or surfaces.
    pub(crate) places: Vec<FieldRange>,
}

impl Input {
    /// The field.
    pub fn field(&self) -> Field {
        self.field
    }

    /// Where its range comes from.
    pub fn origin(&self) -> Origin {
        self.origin
    }

    /// The field in each place where it stands; never empty.
    pub fn places(&self) -> &[FieldRange] {
        &self.places
    }

    /// The field that it moves with, and whether against it.
    pub fn moves(&self) -> Option<(Field, bool)> {
        self.tied.map(|field| (field, self.against))
    }

    /// Its name: the field's, inch-pound, with the surface before it where it is of one alone.
    pub fn name(&self) -> String {
        let name = self.field.def().ip;
        match self.places.as_slice() {
            [one] if matches!(self.origin, Origin::Own) => match one.surface() {
                Some(place) => format!("surfaces[{place}].{name}"),
                None => name.to_owned(),
            },
            _ => name.to_owned(),
        }
    }

    /// The question in words, as in "how thick the batt is".
    pub fn words(&self) -> &'static str {
        self.usual().map_or(self.field.def().ip, |spread| spread.words)
    }

    /// What settles it; empty where nothing is known.
    pub fn advice(&self) -> &'static str {
        if self.by_bills {
            return "look at the bills again a year after the work";
        }
        self.usual().map_or("", |spread| spread.advice)
    }

    /// Where the range comes from; `None` for the house's own.
    pub fn citation(&self) -> Option<Citation> {
        match self.origin {
            Origin::Own => None,
            Origin::Usual(_) if self.by_bills => Some(USE_AFTER_ABOVE_RATED.citation),
            Origin::Usual(spread) => Some(spread.citation),
        }
    }

    fn usual(&self) -> Option<&'static Spread> {
        SPREADS.iter().find(|spread| spread_field(spread) == Some(self.field))
    }

    /// The share on its own scale: mirrored where it moves against its stream.
    #[inline]
    pub(crate) fn share(&self, u: f64) -> f64 {
        if self.against { 1.0 - u } else { u }
    }

    /// The shares at which it is moved alone: its ends, or where it has no natural ends those that
    /// a twentieth of all draws lie beyond.
    pub(crate) fn end_shares(&self) -> [f64; 2] {
        let endless =
            |place: &FieldRange| matches!(place.distribution().name(), "normal" | "lognormal");
        if self.places.iter().any(endless) { [0.05, 0.95] } else { [0.0, 1.0] }
    }

    /// Puts the draw of the share into the house.
    #[inline]
    pub(crate) fn write(&self, house: &mut House, u: f64) {
        let share = self.share(u);
        for place in &self.places {
            house.write_at(place.surface(), self.field, place.at(share));
        }
    }
}

/// Inputs that share their draws together, the one that the others move with first: one source of
/// doubt each.
pub(crate) fn groups(inputs: Vec<Input>) -> Vec<(Stream, Vec<Input>)> {
    let mut groups: Vec<(Stream, Vec<Input>)> = Vec::new();
    for input in inputs {
        match groups.iter_mut().find(|(stream, _)| *stream == input.stream) {
            Some((_, group)) if input.tied.is_none() => group.insert(0, input),
            Some((_, group)) => group.push(input),
            None => groups.push((input.stream, vec![input])),
        }
    }
    groups
}

/// The wall of a flat row and the surface of a list have one field for their area.
const fn one_area(field: Field) -> Field {
    match field {
        Field::WallArea => Field::Area,
        other => other,
    }
}

/// The field of a spread.
fn spread_field(spread: &Spread) -> Option<Field> {
    Field::from_name(spread.field).map(|(field, _)| one_area(field))
}

fn place_number(surface: Option<usize>) -> u16 {
    surface.and_then(|place| u16::try_from(place + 1).ok()).unwrap_or(0)
}

/// Everything that may be off, in the order of the registry; a field that plays no part, or cannot
/// move, is not among them.
pub(crate) fn inputs(house: &House, own_only: bool) -> Vec<Input> {
    let mut inputs: Vec<Input> = house
        .ranges()
        .iter()
        .map(|range| input(house, Origin::Own, one_area(range.field()), vec![range.clone()]))
        .collect();
    if !own_only {
        for spread in SPREADS {
            let Some(field) = spread_field(spread).filter(|field| plays_a_part(house, *field))
            else {
                continue;
            };
            let places: Vec<FieldRange> =
                free_places(house, field).filter_map(|place| usual(house, spread, place)).collect();
            if !places.is_empty() {
                inputs.push(input(house, Origin::Usual(spread), field, places));
            }
        }
    }
    inputs.retain(|input| input.places.iter().any(|place| !place.distribution().is_fixed()));
    // A cavity before its batt, a cost before its rebate: the order of the registry.
    inputs.sort_by_key(|input| (input.field, input.places[0].surface()));
    inputs
}

fn input(house: &House, origin: Origin, field: Field, places: Vec<FieldRange>) -> Input {
    let surface = match origin {
        Origin::Own => places.first().and_then(FieldRange::surface),
        Origin::Usual(_) => None,
    };
    // Whom it moves with may move with another one in turn; nobody moves with himself.
    let (mut root, mut against, mut tied) = (field, false, None);
    let mut seen = vec![field];
    while let Some((next, turned)) = tie(house, root) {
        if seen.contains(&next) {
            break;
        }
        seen.push(next);
        tied = tied.or(Some(next));
        root = next;
        against ^= turned;
    }
    let place = if root == field { place_number(surface) } else { 0 };
    let stream = Stream::new(root as u8, place, 0);
    let by_bills = field == Field::RealizationRate && house.plant.billed_heating_fuel.is_some();
    Input { field, origin, by_bills, stream, against, tied, places }
}

/// The field that this one moves with by the house's word, or by its usual spread.
fn tie(house: &House, field: Field) -> Option<(Field, bool)> {
    let own = house.ranges().iter().find(|range| one_area(range.field()) == field);
    if let Some(range) = own {
        return range.moves().map(|(other, against)| (one_area(other), against));
    }
    let spread = SPREADS.iter().find(|spread| spread_field(spread) == Some(field))?;
    let (other, _) = Field::from_name(spread.moves_against?)?;
    Some((one_area(other), true))
}

/// The places of a field that the house gives no range of its own for.
fn free_places(house: &House, field: Field) -> impl Iterator<Item = Option<usize>> {
    let taken: Vec<Option<usize>> = house
        .ranges()
        .iter()
        .filter(|range| one_area(range.field()) == field)
        .map(FieldRange::surface)
        .collect();
    let surfaces = match &house.surfaces {
        Surfaces::Many(list) if list.iter().any(|surface| surface.read(field).is_some()) => {
            list.len()
        }
        _ => 0,
    };
    let all = if surfaces > 0 { None } else { Some(None) };
    all.into_iter().chain((0..surfaces).map(Some)).filter(move |place| !taken.contains(place))
}

/// Whether the field can move a figure of this house.
fn plays_a_part(house: &House, field: Field) -> bool {
    let cooled = house.plant.cooling_seer.is_some() && house.climate.cooling_degree_days.ip() > 0.0;
    match field {
        Field::CoolingDegreeDays | Field::CoolingSeer => cooled,
        Field::ElectricityPrice => cooled || house.heats_at_electricity_price(),
        // It is the price of electricity that moves.
        Field::FuelPrice => !house.heats_at_electricity_price(),
        _ => true,
    }
}

fn surface(house: &House, place: Option<usize>) -> Option<&Surface> {
    house.surfaces().get(place.unwrap_or(0))
}

/// The least and the greatest value that a draw may take there.
fn limits(house: &House, field: Field, place: Option<usize>) -> Option<(f64, f64)> {
    let def = field.def();
    let (low, high) = (def.low, def.high);
    Some(match field {
        Field::BattThickness => match surface(house, place)?.fill() {
            Fill::Packed(_) => (low, surface(house, place)?.framing.depth.ip()),
            Fill::Open(_) => (low, high),
        },
        Field::InstalledCost => {
            let rebate = house.ranges().iter().find(|range| range.field() == Field::Rebate);
            let most = rebate.map_or(house.offer.rebate, |range| range.at(1.0));
            (most.max(house.offer.rebate), high)
        }
        _ => (low, high),
    })
}

/// The usual spread about the house's own value; `None` where nothing can move.
fn usual(house: &House, spread: &Spread, place: Option<usize>) -> Option<FieldRange> {
    let field = spread_field(spread)?;
    let own = house.read_at(place, field)?;
    // An empty cavity has no batt that could be missing.
    if field == Field::BattMissing && surface(house, place)?.batt.thickness.ip() <= 0.0 {
        return None;
    }
    let (least, most) = limits(house, field, place)?;
    let end = |number: f64| match spread.mode {
        SpreadMode::Factor => own * number,
        SpreadMode::Add => own + number,
        SpreadMode::Value => number,
    };
    let (mut low, mut likely, mut high) =
        (end(spread.low), spread.likely.map_or(own, end), end(spread.high));
    if field == Field::RealizationRate {
        (low, likely, high) = realised(house, high);
    }
    let within = |value: f64| value.max(least).min(most);
    (low, likely, high) = (within(low), within(likely), within(high));
    let distribution = match spread.shape {
        SpreadShape::Triangular => Distribution::triangular(low, likely, high),
        SpreadShape::Uniform => Distribution::uniform(low, high),
    };
    let distribution = distribution.ok().filter(|made| !made.is_fixed())?;
    Some(FieldRange { field, surface: place, units: UnitSystem::Ip, distribution, moves: None })
}

/// What is realised of the modelled saving: least, most likely, most.
///
/// Without bills, what was published of other houses. Fowlie and others 2018 (seen): 39 % of the
/// modelled savings measured. Sunikka-Blank and Galvin 2012 (seen): 30 % less use than rated before
/// any work, so that there is less to save.
///
/// With the house's own bills, the use before is no longer that of strangers, and every draw of the
/// saving is held to it. What is left is the use after: Cozza and others 2020 (seen) found it 2 %
/// above the rated one. Of a saving that is the share `s` of the bills this takes
/// `0.02 (1/s − 1)` (derived here): that is the most likely, and the least is what was the most
/// likely without bills.
///
/// Where the house says what it expects, that is the most likely.
fn realised(house: &House, high: f64) -> (f64, f64, f64) {
    let (mut low, mut likely) = (REALISED_IN_PROGRAMME.value, USE_BEFORE_OF_RATED.value);
    if let Some(billed) = house.plant.billed_heating_fuel {
        let mut whole = house.clone();
        whole.write(Field::RealizationRate, 1.0);
        let share = (judged(&whole).fuel_saved / billed).clamp(0.0, 1.0);
        low = likely;
        let above = USE_AFTER_ABOVE_RATED.value;
        likely = if share > 0.0 { 1.0 - above * (1.0 / share - 1.0) } else { low };
        likely = likely.clamp(low, high);
    }
    if house.was_given(Field::RealizationRate) {
        likely = house.plant.realization_rate;
    }
    (low.min(likely), likely, high.max(likely))
}
