//! What a house says of how far its own fields may be off: a distribution for each, in the unit of
//! the name that it was given under.

use super::fields::{Field, FieldDef, Kind};
use super::surface::Fill;
use super::{House, SurfaceKind};
use crate::distribution::Distribution;
use crate::error::{Issue, IssueCode, nearest, short};
use crate::tables::{REFUSAL_DENSITY_ENCLOSED, REFUSAL_DENSITY_OPEN_ATTIC};
use crate::units::UnitSystem;

/// The key under which a house file holds ranges.
pub(crate) const RANGES: &str = "ranges";

/// A range as a door hands it over.
#[derive(Clone, Debug, PartialEq)]
pub struct GivenRange {
    /// How the field is spread, in the unit of the name that it is given under.
    pub distribution: Distribution,
    /// The name of a field whose draw this one shares, and whether it moves against it.
    pub moves: Option<(String, bool)>,
}

impl From<Distribution> for GivenRange {
    fn from(distribution: Distribution) -> Self {
        Self { distribution, moves: None }
    }
}

/// The range of one field of a house.
#[derive(Clone, Debug, PartialEq)]
pub struct FieldRange {
    pub(crate) field: Field,
    /// The surface of a list; `None` for the house itself and for its one wall.
    pub(crate) surface: Option<usize>,
    pub(crate) units: UnitSystem,
    pub(crate) distribution: Distribution,
    pub(crate) moves: Option<(Field, bool)>,
}

impl FieldRange {
    /// The field.
    pub fn field(&self) -> Field {
        self.field
    }

    /// The place of its surface in the list; `None` for the house itself and for its one wall.
    pub fn surface(&self) -> Option<usize> {
        self.surface
    }

    /// The unit system of the name that it was given under, in whose unit the distribution is.
    pub fn units(&self) -> UnitSystem {
        self.units
    }

    /// How the field is spread.
    pub fn distribution(&self) -> &Distribution {
        &self.distribution
    }

    /// The field whose draw it shares, and whether it moves against it.
    pub fn moves(&self) -> Option<(Field, bool)> {
        self.moves
    }

    /// The field's value at the share `u`, inch-pound.
    #[inline]
    pub(crate) fn at(&self, u: f64) -> f64 {
        let def = self.field.def();
        let value = self.distribution.quantile(u);
        let ip = match self.units {
            UnitSystem::Ip => value,
            UnitSystem::Si => def.quantity.ip_from_si(value),
        };
        ip.clamp(def.low, def.high)
    }

    /// The least and the greatest value, inch-pound.
    fn span(&self) -> (f64, f64) {
        let (a, b) = self.distribution.ends();
        let ip = |value: f64| match self.units {
            UnitSystem::Ip => value,
            UnitSystem::Si => self.field.def().quantity.ip_from_si(value),
        };
        (ip(a).min(ip(b)), ip(a).max(ip(b)))
    }

    fn name(&self) -> &'static str {
        self.field.def().name(self.units)
    }

    fn fault(&self, code: IssueCode, reason: impl Into<String>) -> Issue {
        let field = format!("{RANGES}.{}", self.name());
        let issue = Issue::new(code, field, self.distribution.to_string(), reason);
        match self.surface {
            Some(place) => issue.within(&format!("surfaces[{place}]")),
            None => issue,
        }
    }
}

/// Whether a figure depends on the field, so that a range of it means something.
pub(crate) fn may_be_spread(field: Field) -> bool {
    let number = matches!(field.def().kind, Kind::Number | Kind::Whole);
    number && !matches!(field, Field::YearBuilt | Field::Settling)
}

/// The registry's bounds in the unit of a name.
fn bounds(def: &FieldDef, units: UnitSystem) -> (f64, f64) {
    let (low, high) = def.bounds(units);
    let (a, b) = (def.quantity.express(low, units), def.quantity.express(high, units));
    (a.min(b), a.max(b))
}

/// A range under a name that is known to be in its place.
///
/// # Errors
/// An [`Issue`] that names the field, its range and what is allowed.
pub(super) fn checked(
    field: Field,
    units: UnitSystem,
    surface: Option<usize>,
    given: GivenRange,
) -> Result<FieldRange, Issue> {
    let def = field.def();
    let name = def.name(units);
    let shown = given.distribution.to_string();
    let fault =
        |code, reason: String| Err(Issue::new(code, format!("{RANGES}.{name}"), &*shown, reason));
    if !may_be_spread(field) {
        return fault(IssueCode::Misplaced, "no figure depends on how far this is off".to_owned());
    }
    let (low, high) = bounds(def, units);
    let distribution = match given.distribution.cut_to(low, high) {
        Ok(distribution) => distribution,
        Err(error) => return fault(IssueCode::OutOfRange, error.reason),
    };
    let (least, most) = distribution.ends();
    if least < low || most > high {
        return fault(IssueCode::OutOfRange, format!("allowed is {}", def.range(units)));
    }
    if def.kind == Kind::Whole {
        let whole = |values: &[f64]| values.iter().all(|value| value.fract() == 0.0);
        if !distribution.values().is_some_and(whole) {
            let reason = format!(
                "is a whole number: give a discrete distribution of whole values; allowed is {}",
                def.range(units)
            );
            return fault(IssueCode::OutOfRange, reason);
        }
    }
    let moves = match given.moves {
        None => None,
        Some((other, against)) => match Field::from_name(&other) {
            Some((tied, _)) if tied != field && may_be_spread(tied) => Some((tied, against)),
            Some(_) => {
                let reason =
                    format!("cannot move with {other}: another field that varies is meant");
                return fault(IssueCode::NotAChoice, reason);
            }
            None => {
                let names = super::FIELDS.iter().flat_map(|d| std::iter::once(d.ip).chain(d.si));
                let hint = nearest(&other, names).map(|near| format!("; is {near} meant?"));
                let reason = format!("moves with {other}, no field{}", hint.unwrap_or_default());
                return fault(IssueCode::UnknownName, reason);
            }
        },
    };
    Ok(FieldRange { field, surface, units, distribution, moves })
}

/// What ranges must agree with: the house's own values, and the limits that one field sets another.
pub(super) fn faults(house: &House, ranges: &[FieldRange]) -> Vec<Issue> {
    ranges.iter().filter_map(|range| fault(house, ranges, range)).collect()
}

/// The span of a field at the same place, by its range or by its value alone.
fn span(
    house: &House,
    ranges: &[FieldRange],
    surface: Option<usize>,
    field: Field,
) -> Option<(f64, f64)> {
    let own = ranges.iter().find(|range| range.field == field && range.surface == surface);
    match own {
        Some(range) => Some(range.span()),
        None => house.read_at(surface, field).map(|value| (value, value)),
    }
}

fn fault(house: &House, ranges: &[FieldRange], range: &FieldRange) -> Option<Issue> {
    let (field, def) = (range.field, range.field.def());
    let name = range.name();
    let Some(value) = house.read_at(range.surface, field) else {
        let reason = if field == Field::GridFactor {
            "grid_region is given, so that no number stands for the range to lie about".to_owned()
        } else {
            format!("{name} itself must be given too: the range lies about it")
        };
        return Some(range.fault(IssueCode::Conflict, reason));
    };
    let (low, high) = range.span();
    let near = 1e-9 * value.abs().max(low.abs());
    let holds = match range.distribution.values() {
        Some(values) => {
            let own = def.quantity.express(value, range.units);
            values.iter().any(|one| (one - own).abs() <= 1e-9 * own.abs())
        }
        None => low - near <= value && value <= high + near,
    };
    if !holds {
        let own = short(def.quantity.express(value, range.units));
        let reason = format!("must hold the house's own value, {name} = {own}");
        return Some(range.fault(IssueCode::OutOfRange, reason));
    }
    let limit = |other: Field| span(house, ranges, range.surface, other);
    let beside = |other: Field, ip: f64| {
        let def = other.def();
        format!("{} = {}", def.name(range.units), short(def.quantity.express(ip, range.units)))
    };
    let surface = house.surfaces.as_slice().get(range.surface.unwrap_or(0))?;
    let packed = matches!(surface.fill, Fill::Packed(_));
    let reason = match field {
        Field::BattThickness if surface.kind != SurfaceKind::AtticFloor => {
            let (depth, _) = limit(Field::CavityDepth)?;
            (high > depth * (1.0 + 1e-9)).then(|| {
                format!(
                    "must not exceed the depth of the cavity, {}",
                    beside(Field::CavityDepth, depth)
                )
            })
        }
        Field::CavityDepth if surface.kind != SurfaceKind::AtticFloor => {
            let (_, batt) = limit(Field::BattThickness)?;
            (low < batt * (1.0 - 1e-9)).then(|| {
                format!("must leave room for the batt, {}", beside(Field::BattThickness, batt))
            })
        }
        Field::Rebate => {
            let (cost, _) = limit(Field::InstalledCost)?;
            (high > cost).then(|| format!("must not exceed {}", beside(Field::InstalledCost, cost)))
        }
        Field::InstalledCost => {
            let (_, rebate) = limit(Field::Rebate)?;
            (low < rebate)
                .then(|| format!("must cover the rebate, {}", beside(Field::Rebate, rebate)))
        }
        Field::FillDensity if packed && low < REFUSAL_DENSITY_ENCLOSED.value => Some(
            "fibre under 3.0 lb/ft³ (48.1 kg/m³) in an enclosed cavity is not packed".to_owned(),
        ),
        Field::FillDensity if !packed && high > REFUSAL_DENSITY_OPEN_ATTIC.value => Some(
            "fibre blown over an open attic floor does not reach 2.2 lb/ft³ (35.2 kg/m³)"
                .to_owned(),
        ),
        _ => None,
    };
    reason.map(|reason| range.fault(IssueCode::OutOfRange, reason))
}
