//! Collects the parts of a house from any door, and every fault in them.

use super::build::{SurfaceParts, build_house, build_surface, missing, named_already};
use super::fields::{FIELDS, Field, FieldDef, Scope};
use super::ranges::{self, FieldRange, GivenRange, RANGES};
use super::record::{Cell, Record};
use super::surface::Layer;
use super::{House, Surfaces};
use crate::error::{InputError, Issue, IssueCode, nearest};
use crate::units::UnitSystem;

/// Surfaces that one house may have.
pub(crate) const MOST_SURFACES: usize = 200;

/// Collects the parts of a house and every fault in them.
///
/// # Examples
/// ```
/// use studbay::house::{Cell, House, assess};
///
/// let house = House::builder()
///     .id("example-1")
///     .named("wall_area_ft2", Cell::Number(1200.0))
///     .named("series_r", Cell::Number(3.06))
///     .named("heating_degree_days_f", Cell::Number(5600.0))
///     .named("heating_efficiency", Cell::Number(0.8))
///     .named("fuel", Cell::Text("natural_gas"))
///     .named("fuel_price", Cell::Number(1.5))
///     .named("installed_cost", Cell::Number(2400.0))
///     .build()?;
/// assert!(assess(&house).annual_savings > 0.0);
///
/// // Every fault is told at once.
/// let refused = House::builder().named("fuel", Cell::Text("gas")).build();
/// assert!(refused.is_err_and(|error| error.issues.len() > 1));
/// # Ok::<(), studbay::error::InputError>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct HouseBuilder {
    id: Option<String>,
    record: Record,
    surfaces: Vec<SurfaceBuilder>,
    nested: bool,
    ranges: Vec<FieldRange>,
    issues: Vec<Issue>,
}

/// Collects the parts of a surface.
#[derive(Clone, Debug, Default)]
pub struct SurfaceBuilder {
    name: Option<String>,
    record: Record,
    layers: Option<Vec<Layer>>,
    ranges: Vec<FieldRange>,
    issues: Vec<Issue>,
}

/// The checks of text that a person gives: something visible, and not too much.
fn checked_text(def: &FieldDef, cell: Cell<'_>) -> Result<Option<String>, Issue> {
    const MOST: usize = 200;
    let text = match cell {
        Cell::Text(text) => text.trim(),
        Cell::Blank => return Ok(None),
        // A house called 1234 in a column of numbers.
        Cell::Number(number) if number.is_finite() => return Ok(Some(format!("{number}"))),
        Cell::Number(_) | Cell::Bool(_) => {
            let reason = format!("must be text of {}", def.range(UnitSystem::Ip));
            return Err(Issue::new(IssueCode::NotText, def.ip, cell.shown(), reason));
        }
    };
    if text.is_empty() {
        return Ok(None);
    }
    if text.chars().count() > MOST {
        let reason = format!("allowed is {}", def.range(UnitSystem::Ip));
        return Err(Issue::new(IssueCode::OutOfRange, def.ip, text, reason));
    }
    Ok(Some(text.to_owned()))
}

/// A fault for a name that no field has, or that stands in the wrong place.
fn unknown_name(
    name: &str,
    cell: Cell<'_>,
    allowed: impl Fn(Scope) -> bool,
    extra: &[&str],
) -> Issue {
    if let Some((field, _)) = Field::from_name(name) {
        let place = match field.def().scope {
            Scope::House => "stands at the head of the house file, not in a surface",
            Scope::Wall => "belongs inside a surface, since the house lists its surfaces",
            Scope::FlatOnly => "is for a house without a list of surfaces; a surface has area_ft2",
            Scope::SurfaceOnly => "belongs inside a surface of the list `surfaces`",
        };
        return Issue::new(IssueCode::Misplaced, name, cell.shown(), place);
    }
    let known = FIELDS
        .iter()
        .filter(|def| allowed(def.scope))
        .flat_map(|def| std::iter::once(def.ip).chain(def.si))
        .chain(extra.iter().copied());
    let hint = nearest(name, known).map(|near| format!("; is {near} meant?")).unwrap_or_default();
    Issue::new(IssueCode::UnknownName, name, cell.shown(), format!("no field has this name{hint}"))
}

impl HouseBuilder {
    /// The user's own name for the house.
    #[must_use]
    pub fn id(self, id: &str) -> Self {
        self.named(Field::HouseId.def().ip, Cell::Text(id))
    }

    /// Gives a field by its name in either unit system.
    #[must_use]
    pub fn named(mut self, name: &str, cell: Cell<'_>) -> Self {
        self.give(name, cell);
        self
    }

    /// Adds a surface: the house then has a list of them instead of one flat wall.
    #[must_use]
    pub fn surface(mut self, surface: SurfaceBuilder) -> Self {
        self.add_surface(surface);
        self
    }

    /// [`Self::named`] by reference.
    pub fn give(&mut self, name: &str, cell: Cell<'_>) {
        let allowed = |scope| match scope {
            Scope::House => true,
            Scope::Wall | Scope::FlatOnly => !self.nested,
            Scope::SurfaceOnly => false,
        };
        let outcome = match Field::from_name(name) {
            Some((Field::HouseId, _)) if self.id.is_some() && !matches!(cell, Cell::Blank) => {
                Err(Issue::new(IssueCode::GivenTwice, name, cell.shown(), "given twice"))
            }
            Some((Field::HouseId, _)) => checked_text(Field::HouseId.def(), cell).map(|id| {
                self.id = id.or(self.id.take());
            }),
            Some((field, units)) if allowed(field.def().scope) => {
                self.record.set(field, units, cell)
            }
            _ => Err(unknown_name(name, cell, allowed, &["surfaces"])),
        };
        self.issues.extend(outcome.err());
    }

    /// [`Self::surface`] by reference.
    pub fn add_surface(&mut self, surface: SurfaceBuilder) {
        self.list_surfaces();
        self.surfaces.push(surface);
    }

    /// Says that the house has a list of surfaces: fields of a flat wall are then out of place.
    /// To be called before fields are given.
    pub fn list_surfaces(&mut self) {
        self.nested = true;
    }

    /// Says how far a field may be off, under its name in either unit system: the distribution is in
    /// the unit of the name.
    #[must_use]
    pub fn ranged(mut self, name: &str, range: impl Into<GivenRange>) -> Self {
        self.give_range(name, range.into());
        self
    }

    /// [`Self::ranged`] by reference.
    pub fn give_range(&mut self, name: &str, range: GivenRange) {
        let allowed = |scope| match scope {
            Scope::House => true,
            Scope::Wall | Scope::FlatOnly => !self.nested,
            Scope::SurfaceOnly => false,
        };
        let taken = take_range(name, range, allowed, &mut self.ranges);
        self.issues.extend(taken.err());
    }

    /// Notes a fault that a door found.
    pub fn fault(&mut self, issue: Issue) {
        self.issues.push(issue);
    }

    /// The house, or everything that is wrong with it.
    ///
    /// # Errors
    /// [`InputError`] with every fault: of single fields, of fields together, of each surface.
    pub fn build(self) -> Result<House, InputError> {
        let Self { id, record, mut surfaces, nested, ranges: mut spread, mut issues } = self;
        if id.is_none() && !named_already(&issues, Field::HouseId.def()) {
            issues.push(missing(Field::HouseId));
        }
        for (place, surface) in surfaces.iter_mut().enumerate() {
            spread.extend(
                surface.ranges.drain(..).map(|range| FieldRange { surface: Some(place), ..range }),
            );
        }
        let built = if nested {
            build_list(surfaces, &record, &mut issues)
        } else {
            build_surface(SurfaceParts::flat(&record), &mut issues).map(Surfaces::One)
        };
        let house = build_house(&record, built, &mut issues);
        match (house, issues.is_empty()) {
            (Some(mut house), true) => {
                house.house_id = id.unwrap_or_default();
                if !spread.is_empty() {
                    issues.extend(ranges::faults(&house, &spread));
                    house.ranges = spread;
                }
                if issues.is_empty() { Ok(house) } else { Err(InputError { issues }) }
            }
            _ => Err(InputError { issues }),
        }
    }
}

impl SurfaceBuilder {
    /// Gives a field by its name in either unit system.
    #[must_use]
    pub fn named(mut self, name: &str, cell: Cell<'_>) -> Self {
        self.give(name, cell);
        self
    }

    /// Adds a layer outside the cavity; the films of the surface's kind are added by themselves.
    #[must_use]
    pub fn layer(mut self, layer: Layer) -> Self {
        self.add_layer(layer);
        self
    }

    /// [`Self::named`] by reference.
    pub fn give(&mut self, name: &str, cell: Cell<'_>) {
        let allowed = |scope| matches!(scope, Scope::Wall | Scope::SurfaceOnly);
        let outcome = match Field::from_name(name) {
            Some((Field::SurfaceName, _)) => {
                checked_text(Field::SurfaceName.def(), cell).map(|name| self.name = name)
            }
            Some((field, units)) if allowed(field.def().scope) => {
                self.record.set(field, units, cell)
            }
            _ => Err(unknown_name(name, cell, allowed, &["layers"])),
        };
        self.issues.extend(outcome.err());
    }

    /// [`Self::layer`] by reference.
    pub fn add_layer(&mut self, layer: Layer) {
        self.layers.get_or_insert_with(Vec::new).push(layer);
    }

    /// Says that layers are listed, even if none follows.
    pub fn list_layers(&mut self) {
        self.layers.get_or_insert_with(Vec::new);
    }

    /// Says how far a field may be off, as [`HouseBuilder::ranged`] does.
    #[must_use]
    pub fn ranged(mut self, name: &str, range: impl Into<GivenRange>) -> Self {
        self.give_range(name, range.into());
        self
    }

    /// [`Self::ranged`] by reference.
    pub fn give_range(&mut self, name: &str, range: GivenRange) {
        let allowed = |scope| matches!(scope, Scope::Wall | Scope::SurfaceOnly);
        let taken = take_range(name, range, allowed, &mut self.ranges);
        self.issues.extend(taken.err());
    }

    /// Notes a fault that a door found.
    pub fn fault(&mut self, issue: Issue) {
        self.issues.push(issue);
    }
}

/// Puts a range beside the others: its name, its place and its ends are checked here, what depends
/// on the rest of the house when that is built.
fn take_range(
    name: &str,
    range: GivenRange,
    allowed: impl Fn(Scope) -> bool + Copy,
    ranges: &mut Vec<FieldRange>,
) -> Result<(), Issue> {
    let shown = range.distribution.to_string();
    match Field::from_name(name) {
        Some((field, units)) if allowed(field.def().scope) => {
            let taken = ranges::checked(field, units, None, range)?;
            if ranges.iter().any(|other| other.field == field) {
                let path = format!("{RANGES}.{name}");
                return Err(Issue::new(IssueCode::GivenTwice, path, shown, "given twice"));
            }
            ranges.push(taken);
            Ok(())
        }
        _ => Err(unknown_name(name, Cell::Text(&shown), allowed, &[]).within(RANGES)),
    }
}

fn build_list(
    surfaces: Vec<SurfaceBuilder>,
    head: &Record,
    issues: &mut Vec<Issue>,
) -> Option<Surfaces> {
    for def in FIELDS.iter().filter(|def| matches!(def.scope, Scope::Wall | Scope::FlatOnly)) {
        if head.was_given(def.field) {
            let (name, value) = head.shown(def.field);
            let reason = "belongs inside a surface, since the house lists its surfaces";
            issues.push(Issue::new(IssueCode::Misplaced, name, value, reason));
        }
    }
    if surfaces.is_empty() || surfaces.len() > MOST_SURFACES {
        let reason = format!("a house has 1 to {MOST_SURFACES} surfaces");
        issues.push(Issue::new(
            IssueCode::OutOfRange,
            "surfaces",
            format!("{} surfaces", surfaces.len()),
            reason,
        ));
        return None;
    }
    let mut built = Vec::with_capacity(surfaces.len());
    for (index, surface) in surfaces.into_iter().enumerate() {
        let mut faults = surface.issues;
        let parts = SurfaceParts {
            name: surface.name,
            record: &surface.record,
            layers: surface.layers,
            area: Field::Area,
        };
        built.extend(build_surface(parts, &mut faults));
        let path = format!("surfaces[{index}]");
        issues.extend(faults.into_iter().map(|issue| issue.within(&path)));
    }
    Some(Surfaces::Many(built))
}
