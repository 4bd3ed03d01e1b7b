//! From records to a house: what spans several fields is checked here, once, for every door.

use super::fields::{Field, FieldDef};
use super::record::Record;
use super::surface::{
    AirGapLevel, Batt, Fill, Framing, Layer, OpenFill, PackedFill, Series, Surface, SurfaceKind,
};
use super::terms::LAYER_SYMBOLS;
use super::{Carbon, Climate, Fuel, GridSource, House, Leakage, Offer, Plant, Surfaces};
use crate::error::{Issue, IssueCode};
use crate::readiness::{Answer, Hazards, SpillageTest};
use crate::tables::{
    ATTIC_SETTLED_DENSITY, GRID_DEFAULT_KG_PER_KWH, REFUSAL_DENSITY_ENCLOSED,
    REFUSAL_DENSITY_OPEN_ATTIC,
};
use crate::tables::{CLADDING_PLACES, INTERIOR_FINISH_PLACES, SHEATHING_PLACES};
use crate::units::{
    Airflow, Area, DegreeDays, Density, Elevation, Fraction, Length, Mass, RValue, Resistivity,
    UnitSystem,
};

/// Framing share of a slope, floor or attic floor that does not say (joists and rafters, from
/// memory of ASHRAE 90.1 appendix A).
const JOIST_FRACTION: f64 = 0.10;
/// Layers that one surface may list.
pub(crate) const MOST_LAYERS: usize = LAYER_SYMBOLS.len();
/// What a surface is made from: its own record, or the flat row of a house with one wall.
pub(super) struct SurfaceParts<'r> {
    pub(super) name: Option<String>,
    pub(super) record: &'r Record,
    pub(super) layers: Option<Vec<Layer>>,
    pub(super) area: Field,
}

impl<'r> SurfaceParts<'r> {
    pub(super) const fn flat(record: &'r Record) -> Self {
        Self { name: None, record, layers: None, area: Field::WallArea }
    }
}

pub(super) fn named_already(issues: &[Issue], def: &FieldDef) -> bool {
    issues.iter().any(|issue| issue.field == def.ip || Some(issue.field.as_str()) == def.si)
}

pub(super) fn missing(field: Field) -> Issue {
    let def = field.def();
    let also = def.si.map(|si| format!(" (or {si})")).unwrap_or_default();
    let range = def.range(UnitSystem::Ip);
    Issue::new(IssueCode::Missing, def.ip, "", format!("must be given{also}: {range}"))
}

/// A required field; its absence is a fault unless it was given and refused already.
fn required(record: &Record, field: Field, issues: &mut Vec<Issue>) -> Option<f64> {
    let given = record.given(field);
    if given.is_none() && !named_already(issues, field.def()) {
        issues.push(missing(field));
    }
    given
}

/// Never inlined into the hot path: it only runs when something is wrong.
#[cold]
fn refuse(issues: &mut Vec<Issue>, record: &Record, code: IssueCode, field: Field, reason: &str) {
    issues.push(record.fault(code, field, reason));
}

pub(super) fn build_surface(parts: SurfaceParts<'_>, issues: &mut Vec<Issue>) -> Option<Surface> {
    let SurfaceParts { name, record, layers, area } = parts;
    let r = |field| record.get(field);
    let kind = record.place(Field::SurfaceKind).map_or(SurfaceKind::Wall, |p| SurfaceKind::ALL[p]);
    let open = kind == SurfaceKind::AtticFloor;
    let area = required(record, area, issues);

    if record.place(Field::FramingMaterial) == Some(1) {
        let reason = "metal framing is not covered: heat runs along its flanges, so parallel paths \
                      do not hold and the figures would flatter the wall";
        refuse(issues, record, IssueCode::Refused, Field::FramingMaterial, reason);
    }
    let fraction = match record.given(Field::FramingFraction) {
        None if kind != SurfaceKind::Wall => JOIST_FRACTION,
        _ => r(Field::FramingFraction),
    };
    let depth = r(Field::CavityDepth);
    let mut thickness = r(Field::BattThickness);
    // 88.9 mm of batt in 3.5 in of cavity are equal but for the rounding of the conversion.
    if !open && thickness > depth && thickness <= depth * (1.0 + 1e-9) {
        thickness = depth;
    }
    if !open && thickness > depth {
        let (name, shown) = record.shown(Field::CavityDepth);
        let depth_text = if shown.is_empty() { format!("{depth} in by default") } else { shown };
        let reason = format!("must not exceed the depth of the cavity, {name} = {depth_text}");
        refuse(issues, record, IssueCode::OutOfRange, Field::BattThickness, &reason);
    }
    let series = build_series(record, layers, kind, issues);
    let fill = if open { build_open(record, issues) } else { build_packed(record, issues) };
    let (given, given_si) = record.sets();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the registry bounds the level to 0, 1, 2"
    )]
    let level = r(Field::AirGapLevel) as usize;
    Some(Surface {
        name,
        kind,
        area: Area::checked(area?),
        temperature_factor: Fraction::checked(r(Field::TemperatureFactor)),
        framing: Framing {
            fraction: Fraction::checked(fraction),
            depth: Length::checked(depth),
            resistivity: Resistivity::checked(r(Field::FramingR)),
        },
        series: series?,
        batt: Batt {
            thickness: Length::checked(thickness),
            resistivity: Resistivity::checked(r(Field::BattR)),
            missing: Fraction::checked(r(Field::BattMissing)),
            air_gap_level: AirGapLevel::ALL[level],
        },
        fill: fill?,
        batt_removed: false,
        given,
        given_si,
    })
}

fn build_packed(record: &Record, issues: &mut Vec<Issue>) -> Option<Fill> {
    let r = |field| record.get(field);
    for field in [Field::FillDepth, Field::Settling] {
        if record.was_given(field) {
            let reason = "is for an attic floor; a packed cavity is filled to its depth";
            refuse(issues, record, IssueCode::Misplaced, field, reason);
        }
    }
    let density = r(Field::FillDensity);
    if density < REFUSAL_DENSITY_ENCLOSED.value {
        let reason = "fibre under 3.0 lb/ft³ (48.1 kg/m³) in an enclosed cavity is not packed: it \
                      settles and leaves the top of the wall empty";
        refuse(issues, record, IssueCode::Refused, Field::FillDensity, reason);
        return None;
    }
    Some(Fill::Packed(PackedFill {
        density: Density::checked(density),
        resistivity: record.given(Field::FillR).map(Resistivity::checked),
        batt_compression: Fraction::checked(r(Field::BattCompression)),
        missed: Fraction::checked(r(Field::Missed)),
        air_space: record.given(Field::AirSpaceR).map(RValue::checked),
    }))
}

fn build_open(record: &Record, issues: &mut Vec<Issue>) -> Option<Fill> {
    let r = |field| record.get(field);
    for field in [Field::BattCompression, Field::AirSpaceR] {
        if record.was_given(field) {
            let reason = "is for an enclosed cavity; an attic floor is open";
            refuse(issues, record, IssueCode::Misplaced, field, reason);
        }
    }
    let density = record.given(Field::FillDensity).unwrap_or(ATTIC_SETTLED_DENSITY.value);
    if density > REFUSAL_DENSITY_OPEN_ATTIC.value {
        let reason = "fibre blown over an open attic floor does not reach 2.2 lb/ft³ (35.2 kg/m³): \
                      this is the density of a packed wall";
        refuse(issues, record, IssueCode::Refused, Field::FillDensity, reason);
        return None;
    }
    let depth = required(record, Field::FillDepth, issues)?;
    Some(Fill::Open(OpenFill {
        depth: Length::checked(depth),
        settled_density: Density::checked(density),
        resistivity: record.given(Field::FillR).map(Resistivity::checked),
        settling: Fraction::checked(r(Field::Settling)),
        missed: Fraction::checked(r(Field::Missed)),
    }))
}

/// Exactly one of: the number, the materials that the kind has, a list of layers.
fn build_series(
    record: &Record,
    layers: Option<Vec<Layer>>,
    kind: SurfaceKind,
    issues: &mut Vec<Issue>,
) -> Option<Series> {
    const NAMES: [(Field, &[usize]); 3] = [
        (Field::Cladding, CLADDING_PLACES),
        (Field::Sheathing, SHEATHING_PLACES),
        (Field::InteriorFinish, INTERIOR_FINISH_PLACES),
    ];
    let named = NAMES.iter().any(|(field, _)| record.was_given(*field));
    let total = record.given(Field::SeriesR);
    let ways = u8::from(named) + u8::from(total.is_some()) + u8::from(layers.is_some());
    if ways > 1 {
        let reason = "give series_r, or materials by name, or layers: only one of them";
        let by_name = NAMES.iter().map(|(field, _)| *field).find(|field| record.was_given(*field));
        let field = by_name.unwrap_or(Field::SeriesR);
        refuse(issues, record, IssueCode::GivenTwice, field, reason);
        return None;
    }
    if let Some(r) = total {
        return Some(Series::Total(RValue::checked(r)));
    }
    if let Some(layers) = layers {
        if layers.len() > MOST_LAYERS {
            let reason = format!("a surface lists at most {MOST_LAYERS} layers");
            let value = format!("{} layers", layers.len());
            issues.push(Issue::new(IssueCode::OutOfRange, "layers", value, reason));
            return None;
        }
        return Some(Series::Layers(layers));
    }
    // A ceiling has a finish and nothing else; a floor has layers that no list here names.
    let wanted: &[usize] = match kind {
        SurfaceKind::Wall | SurfaceKind::Slope => &[0, 1, 2],
        SurfaceKind::AtticFloor => &[2],
        SurfaceKind::Floor => &[],
    };
    if !named {
        if !named_already(issues, Field::SeriesR.def())
            && !NAMES.iter().any(|(field, _)| named_already(issues, field.def()))
        {
            let or = match kind {
                SurfaceKind::Wall | SurfaceKind::Slope => {
                    "or cladding, sheathing and interior_finish"
                }
                SurfaceKind::AtticFloor => "or interior_finish, or layers",
                SurfaceKind::Floor => "or layers",
            };
            let range = Field::SeriesR.def().range(UnitSystem::Ip);
            let reason = format!("must be given (or series_rsi, {or}): {range}");
            issues.push(Issue::new(IssueCode::Missing, Field::SeriesR.def().ip, "", reason));
        }
        return None;
    }
    let mut places = [None; 3];
    for (slot, (field, materials)) in NAMES.iter().enumerate() {
        match (record.given(*field).and_then(|_| record.place(*field)), wanted.contains(&slot)) {
            (Some(place), true) => places[slot] = Some(materials[place]),
            (Some(_), false) => {
                let reason = format!("is not for this kind of surface ({})", kind.as_str());
                refuse(issues, record, IssueCode::Misplaced, *field, &reason);
            }
            (None, true) if !named_already(issues, field.def()) => issues.push(missing(*field)),
            (None, _) => {}
        }
    }
    Some(Series::Materials(places))
}

fn answer(record: &Record, field: Field) -> Answer {
    match record.place(field) {
        Some(0) => Answer::No,
        Some(1) => Answer::Yes,
        _ => Answer::Unknown,
    }
}

pub(super) fn build_house(
    record: &Record,
    surfaces: Option<Surfaces>,
    issues: &mut Vec<Issue>,
) -> Option<House> {
    let r = |field| record.get(field);
    let degree_days = required(record, Field::HeatingDegreeDays, issues);
    let efficiency = required(record, Field::HeatingEfficiency, issues);
    let fuel = required(record, Field::Fuel, issues)
        .and_then(|_| record.place(Field::Fuel))
        .and_then(|place| u8::try_from(place).ok())
        .map(Fuel);
    let electric = fuel.is_some_and(Fuel::is_electricity);
    let fuel_price = heating_price(
        electric,
        record.given(Field::FuelPrice),
        record.given(Field::ElectricityPrice),
    );
    if fuel_price.is_none() && !named_already(issues, Field::FuelPrice.def()) {
        let reason = if electric {
            "must be given, or electricity_price: 0 or more"
        } else {
            "must be given: 0 or more"
        };
        issues.push(Issue::new(IssueCode::Missing, Field::FuelPrice.def().ip, "", reason));
    }
    let cost = required(record, Field::InstalledCost, issues);
    let rebate = r(Field::Rebate);
    if cost.is_some_and(|cost| rebate > cost) {
        let reason = format!("must not exceed installed_cost = {}", r(Field::InstalledCost));
        refuse(issues, record, IssueCode::OutOfRange, Field::Rebate, &reason);
    }
    let grid = build_grid(record, issues);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the registry bounds years to 1..=100 and the year built to 1600..=2100"
    )]
    let (life_years, year_built) =
        (r(Field::LifeYears) as u8, record.given(Field::YearBuilt).map(|year| year as u16));
    let surfaces = surfaces?;
    let heat_sources = match record.given(Field::HeatSources) {
        Some(_) => answer(record, Field::HeatSources),
        None if surfaces.as_slice().iter().all(|s| s.kind == SurfaceKind::Wall) => Answer::No,
        None => Answer::Unknown,
    };
    let (given, given_si) = record.sets();
    Some(House {
        house_id: String::new(),
        surfaces,
        climate: Climate {
            heating_degree_days: DegreeDays::checked(degree_days?),
            cooling_degree_days: DegreeDays::checked(r(Field::CoolingDegreeDays)),
            elevation: Elevation::checked(r(Field::Elevation)),
        },
        leakage: Leakage {
            before: record.given(Field::Cfm50Before).map(Airflow::checked),
            after: record.given(Field::Cfm50After).map(Airflow::checked),
            divisor: r(Field::LeakageDivisor),
        },
        plant: Plant {
            fuel: fuel?,
            heating_efficiency: efficiency?,
            fuel_price: fuel_price?,
            cooling_seer: record.given(Field::CoolingSeer),
            electricity_price: r(Field::ElectricityPrice),
            billed_heating_fuel: record.given(Field::BilledHeatingFuel),
            realization_rate: r(Field::RealizationRate),
        },
        offer: Offer {
            installed_cost: cost?,
            rebate,
            tax_credit_fraction: r(Field::TaxCreditFraction),
            tax_credit_cap: record.given(Field::TaxCreditCap),
            life_years,
            discount_rate: r(Field::DiscountRate),
            fuel_escalation: r(Field::FuelEscalation),
            electricity_escalation: r(Field::ElectricityEscalation),
        },
        carbon: Carbon {
            grid,
            grid_decline: r(Field::GridDecline),
            fill_embodied_kg_per_kg: r(Field::FillEmbodied),
        },
        bag_weight: Mass::checked(r(Field::BagWeight)),
        hazards: Hazards {
            knob_and_tube: answer(record, Field::KnobAndTube),
            vermiculite: answer(record, Field::Vermiculite),
            moisture_problem: answer(record, Field::MoistureProblem),
            loose_interior_finish: answer(record, Field::LooseInteriorFinish),
            spillage_test: match record.place(Field::SpillageTest) {
                Some(1) => SpillageTest::Passed,
                Some(2) => SpillageTest::Failed,
                Some(3) => SpillageTest::NotDone,
                _ => SpillageTest::NoneNeeded,
            },
            heat_sources,
            year_built,
        },
        given,
        given_si,
        #[cfg(feature = "house-file")]
        site: None,
        ranges: Vec::new(),
    })
}

/// Which grid factor holds; a fault where a number and a subregion are both given.
fn build_grid(record: &Record, issues: &mut Vec<Issue>) -> GridSource {
    let place = |field| record.given(field).and_then(|_| record.place(field));
    let factor = record.given(Field::GridFactor);
    let (region, rate) = (place(Field::GridRegion), place(Field::GridRate));
    let resolved = GridSource::resolve(factor, region, rate);
    if resolved.is_none() {
        for field in [Field::GridRegion, Field::GridRate] {
            if record.was_given(field) {
                let reason = "give grid_kg_per_kwh, or grid_region with grid_rate, not both";
                refuse(issues, record, IssueCode::GivenTwice, field, reason);
            }
        }
    }
    resolved.unwrap_or(GridSource::Factor(GRID_DEFAULT_KG_PER_KWH.value))
}

/// The price of the heating fuel: its own, or the electricity's where that heats; `None` where
/// neither is given.
#[inline]
pub(crate) fn heating_price(
    electric: bool,
    fuel_price: Option<f64>,
    electricity_price: Option<f64>,
) -> Option<f64> {
    fuel_price.or(if electric { electricity_price } else { None })
}
