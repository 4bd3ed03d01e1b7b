//! Which value of an input just meets a goal: the batt above which a fill no longer pays, the
//! price of fuel below which it does not, the dearest price of the job.
//!
//! The input is moved through its range, the house built anew at each value and put through
//! [`assess`]; where the goal turns from met to not met, the value is found by halving. Nothing is
//! inverted by hand, so that any field can be asked for.

mod curve;
mod seek;
pub(crate) mod words;

pub use curve::{Curve, CurvePoint, MOST_POINTS, batt_thickness, curve};
pub use seek::{Breaks, Span, seek};
pub use words::{blocks, curve_blocks};

use crate::error::{Issue, IssueCode, nearest};
use crate::house::{Assessment, Cell, Change, FIELDS, Field, FieldDef, House, Kind, Scope, assess};
use crate::units::{Quantity, UnitSystem};

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Goal {
    /// A net present value of at least 0.
    Npv,
    /// A simple payback of at most so many years.
    Payback(f64),
    /// A savings-to-investment ratio of at least 1.
    Sir,
}

/// Longest payback that may be asked for.
const MOST_YEARS: f64 = 1000.0;

impl Goal {
    /// A goal by its word: `npv`, `sir`, or `payback` with the years.
    ///
    /// # Errors
    /// An [`Issue`] for another word, and for years that are missing or out of range.
    pub fn from_key(key: &str, years: Option<f64>) -> Result<Self, Issue> {
        match (key, years) {
            ("payback", Some(years)) if years > 0.0 && years <= MOST_YEARS => {
                Ok(Self::Payback(years))
            }
            ("payback", years) => {
                let reason = format!("a payback needs its years: above 0 to {MOST_YEARS}");
                let (code, value) = match years {
                    Some(years) => (IssueCode::OutOfRange, years.to_string()),
                    None => (IssueCode::Missing, String::new()),
                };
                Err(Issue::new(code, "years", value, reason))
            }
            ("npv" | "sir", Some(years)) => {
                let reason = "years are for the goal payback";
                Err(Issue::new(IssueCode::Conflict, "years", years.to_string(), reason))
            }
            ("npv", None) => Ok(Self::Npv),
            ("sir", None) => Ok(Self::Sir),
            _ => {
                let reason = "must be one of npv, payback, sir";
                Err(Issue::new(IssueCode::NotAChoice, "goal", key, reason))
            }
        }
    }

    /// How far a house is on the good side of the goal, in money of today: 0 where it is just met,
    /// negative where it is not. `None` where there is no such figure.
    fn margin(self, a: &Assessment) -> Option<f64> {
        match self {
            Self::Npv => Some(a.npv),
            Self::Sir => a.sir.map(|_| a.npv),
            // A payback of N years is a cost of N yearly savings: as a product it has no pole.
            Self::Payback(years) if a.annual_savings > 0.0 => {
                Some(years * a.annual_savings - a.net_cost)
            }
            Self::Payback(_) => Some(-a.net_cost.max(f64::MIN_POSITIVE)),
        }
    }
}

/// A number of a house that can be moved: a field, or the price by the area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    field: Field,
    units: UnitSystem,
    surface: Option<usize>,
    /// Inch-pound area that a price by the area is multiplied by.
    area: Option<f64>,
}

/// The price of a square foot and of a square metre, which is no field.
const PRICE_BY_AREA: [(&str, UnitSystem); 2] =
    [("cost_per_ft2", UnitSystem::Ip), ("cost_per_m2", UnitSystem::Si)];

impl Input {
    /// An input of a house by its name: any numeric field in either unit system, or
    /// `cost_per_ft2` and `cost_per_m2`, the price of the job over the area.
    ///
    /// A field of a surface needs the surface where the house lists more than one: by its name, or
    /// by its place counted from 1.
    ///
    /// # Errors
    /// An [`Issue`] for a name that is no numeric field, and for a surface that there is not.
    pub fn named(house: &House, name: &str, surface: Option<&str>) -> Result<Self, Issue> {
        if let Some((_, units)) = PRICE_BY_AREA.iter().find(|(known, _)| *known == name) {
            let area = house.surfaces().iter().map(|surface| surface.area().ip()).sum();
            let field = Field::InstalledCost;
            return Ok(Self { field, units: *units, surface: None, area: Some(area) });
        }
        let Some((field, units)) = Field::from_name(name) else {
            let numeric = FIELDS.iter().filter(|def| is_number(def));
            let known = numeric.flat_map(|def| std::iter::once(def.ip).chain(def.si));
            let hint = nearest(name, known.chain(PRICE_BY_AREA.map(|(name, _)| name)))
                .map(|near| format!("; is {near} meant?"))
                .unwrap_or_default();
            let reason = format!("no field has this name{hint}");
            return Err(Issue::new(IssueCode::UnknownName, "field", name, reason));
        };
        if !is_number(field.def()) {
            let reason = "is no number: there is nothing between its values";
            return Err(Issue::new(IssueCode::WrongType, "field", name, reason));
        }
        let listed = house.lists_surfaces();
        let scope = field.def().scope;
        let fits = match (scope, listed) {
            (Scope::House | Scope::Wall, _) => true,
            (Scope::FlatOnly, listed) => !listed,
            (Scope::SurfaceOnly, listed) => listed,
        };
        if !fits {
            let reason = "a house of this shape has no such field";
            return Err(Issue::new(IssueCode::Misplaced, "field", name, reason));
        }
        let surface = match (scope, listed, surface) {
            (Scope::House, ..) | (_, false, _) => None,
            (_, true, Some(wanted)) => Some(surface_called(house, wanted)?),
            (_, true, None) if house.surfaces().len() == 1 => Some(0),
            (_, true, None) => {
                let reason = format!("which surface? The house has {}", surface_names(house));
                return Err(Issue::new(IssueCode::Missing, "surface", "", reason));
            }
        };
        Ok(Self { field, units, surface, area: None })
    }

    /// The name that was written.
    pub fn name(&self) -> &'static str {
        match (self.area, self.units) {
            (Some(_), UnitSystem::Ip) => PRICE_BY_AREA[0].0,
            (Some(_), UnitSystem::Si) => PRICE_BY_AREA[1].0,
            (None, units) => self.field.def().name(units),
        }
    }

    /// What it means, in a sentence.
    pub fn help(&self) -> &'static str {
        if self.area.is_some() {
            "Price of the whole job over its area."
        } else {
            self.field.def().help
        }
    }

    /// The surface that it is of.
    pub fn surface(&self) -> Option<usize> {
        self.surface
    }

    /// Whether the question is how thick the batt is.
    fn asks_for_batt(&self) -> bool {
        self.field == Field::BattThickness
    }

    /// Its unit.
    pub fn unit(&self) -> &'static str {
        if self.area.is_some() { "" } else { self.field.def().quantity.unit(self.units) }
    }

    /// The value that the house has now, in the unit of the name; `None` where it has none.
    pub fn now(&self, house: &House) -> Option<f64> {
        house.number(self.field, self.surface).map(|ip| self.shown(ip))
    }

    /// The house with this value, in the unit of the name.
    ///
    /// # Errors
    /// As for [`House::changed`].
    pub fn put(&self, house: &House, value: f64) -> Result<House, crate::error::InputError> {
        self.at(house, self.inner(value))
    }

    fn at(&self, house: &House, ip: f64) -> Result<House, crate::error::InputError> {
        let name = self.field.def().ip;
        house.changed(&[Change { surface: self.surface, name, cell: Cell::Number(ip) }])
    }

    /// From the unit of the name to inch-pound, and a price by the area to a price.
    fn inner(&self, value: f64) -> f64 {
        match (self.area, self.units) {
            (Some(area), UnitSystem::Ip) => value * area,
            (Some(area), UnitSystem::Si) => value * Quantity::Area.si_from_ip(area),
            (None, UnitSystem::Ip) => value,
            (None, UnitSystem::Si) => self.field.def().quantity.ip_from_si(value),
        }
    }

    fn shown(&self, ip: f64) -> f64 {
        match (self.area, self.units) {
            (Some(area), UnitSystem::Ip) => ip / area,
            (Some(area), UnitSystem::Si) => ip / Quantity::Area.si_from_ip(area),
            (None, units) => self.field.def().quantity.express(ip, units),
        }
    }

    fn whole(&self) -> bool {
        self.field.def().kind == Kind::Whole
    }

    /// The range to look in, inch-pound: what is asked for, or the field's own, and never beyond
    /// what the house itself allows.
    fn range(&self, house: &House, asked: [Option<f64>; 2]) -> Result<[f64; 2], Issue> {
        let def = self.field.def();
        let (low, mut high) = (def.low.max(f64::MIN), def.high.min(f64::MAX));
        let low = if def.low_open { low.next_up() } else { low };
        if self.field == Field::BattThickness
            && let Some(surface) = house.surfaces().get(self.surface.unwrap_or(0))
            && matches!(surface.fill(), crate::house::Fill::Packed(_))
        {
            high = surface.framing().depth.ip();
        }
        for (name, value) in [("low", asked[0]), ("high", asked[1])] {
            let Some(value) = value else { continue };
            let ip = self.inner(value);
            // A printed limit of SI is let in, as in a house file.
            let room = 5e-6 * ip.abs();
            if !value.is_finite() || ip < def.low - room || ip > def.high + room {
                let reason = format!("allowed is {}", def.range(self.units));
                return Err(Issue::new(IssueCode::OutOfRange, name, value.to_string(), reason));
            }
        }
        let mut ends = asked.map(|end| end.map(|value| self.inner(value)));
        // A conductivity rises as its resistivity falls.
        if let [Some(a), Some(b)] = ends
            && a > b
            && self.inner(1.0) > self.inner(2.0)
        {
            ends.swap(0, 1);
        } else if self.inner(1.0) > self.inner(2.0) {
            ends.swap(0, 1);
        }
        let [a, b] =
            [ends[0].unwrap_or(low).clamp(low, high), ends[1].unwrap_or(high).clamp(low, high)];
        if a < b || (a <= b && self.whole()) {
            return Ok([a, b]);
        }
        let reason = "must be above low, inside what the field and the house allow";
        let value = asked[1].map(|value| value.to_string()).unwrap_or_default();
        Err(Issue::new(IssueCode::OutOfRange, "high", value, reason))
    }

    /// The figures of the house with this value; `None` where no such house can be.
    fn figures(&self, house: &House, ip: f64) -> Option<Assessment> {
        self.at(house, ip).ok().map(|house| assess(&house))
    }
}

fn is_number(def: &FieldDef) -> bool {
    matches!(def.kind, Kind::Number | Kind::Whole)
}

fn surface_names(house: &House) -> String {
    let surfaces = house.surfaces().iter().enumerate();
    let names: Vec<String> = surfaces
        .map(|(i, s)| s.name().map_or_else(|| (i + 1).to_string(), str::to_owned))
        .collect();
    names.join(", ")
}

fn surface_called(house: &House, wanted: &str) -> Result<usize, Issue> {
    let wanted = wanted.trim();
    let surfaces = house.surfaces();
    let by_name: Vec<usize> =
        (0..surfaces.len()).filter(|i| surfaces[*i].name() == Some(wanted)).collect();
    let by_place = wanted.parse::<usize>().ok().filter(|n| (1..=surfaces.len()).contains(n));
    match (by_name.as_slice(), by_place) {
        ([only], _) => Ok(*only),
        ([], Some(place)) => Ok(place - 1),
        ([], None) => {
            let reason = format!("the house has no such surface; it has {}", surface_names(house));
            Err(Issue::new(IssueCode::NotAChoice, "surface", wanted, reason))
        }
        _ => {
            let reason = "several surfaces have this name: give the place, counted from 1";
            Err(Issue::new(IssueCode::NotAChoice, "surface", wanted, reason))
        }
    }
}
