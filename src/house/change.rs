//! Another house, like this one but for some fields.
//!
//! Every what-if goes back through the records and the rules that the house itself was built by,
//! so that no change can make a house that a house file could not.

use super::build::{SurfaceParts, build_house, build_surface};
use super::fields::{FIELDS, Field, Kind, Scope};
use super::record::{Cell, Record};
use super::surface::{Fill, Series, Surface};
use super::{GridSource, House, Surfaces};
use crate::error::{InputError, Issue, IssueCode};
use crate::readiness::{Answer, SpillageTest};
use crate::tables::{CLADDING_PLACES, GRID, INTERIOR_FINISH_PLACES, SHEATHING_PLACES};

/// One field with its new value.
#[derive(Clone, Copy, Debug)]
pub struct Change<'a> {
    /// The surface, counted from 0; `None` for the head of the house. A house without a list of
    /// surfaces takes all of its fields at the head.
    pub surface: Option<usize>,
    /// The field's name in either unit system.
    pub name: &'a str,
    /// Its value.
    pub cell: Cell<'a>,
}

impl House {
    /// Whether the house lists its surfaces.
    pub fn lists_surfaces(&self) -> bool {
        matches!(self.surfaces, Surfaces::Many(_))
    }

    /// The number that a numeric field holds, inch-pound; `None` where it plays no part, and for
    /// a field that is no number.
    pub fn number(&self, field: Field, surface: Option<usize>) -> Option<f64> {
        if !matches!(field.def().kind, Kind::Number | Kind::Whole) {
            return None;
        }
        match surface.or((!self.lists_surfaces()).then_some(0)) {
            Some(index) => self
                .surfaces
                .as_slice()
                .get(index)
                .and_then(|surface| of_surface(surface, field))
                .or_else(|| self.of_head(field)),
            None => self.of_head(field),
        }
    }

    /// The same house with some fields changed, through the rules of every house.
    ///
    /// `series_r` takes the place of materials and layers, `grid_kg_per_kwh` that of a subregion.
    ///
    /// # Errors
    /// [`InputError`] with every fault, as for a house file: an unknown name, a value out of
    /// range, fields that cannot stand together, a surface that there is not.
    pub fn changed(&self, changes: &[Change<'_>]) -> Result<Self, InputError> {
        let mut issues = Vec::new();
        let listed = self.lists_surfaces();
        let mut head = self.head_record();
        let surfaces = self.surfaces.as_slice();
        let mut records: Vec<Record> = surfaces.iter().map(surface_record).collect();
        let mut by_number = vec![false; surfaces.len()];
        for change in changes {
            let issue = match (change.surface, Field::from_name(change.name)) {
                (_, None) => Some((IssueCode::UnknownName, "no field has this name")),
                (Some(index), _) if index >= surfaces.len() => {
                    Some((IssueCode::OutOfRange, "the house has no surface of this number"))
                }
                (place, Some((field, units))) => {
                    let scope = field.def().scope;
                    let of_surface = !matches!(scope, Scope::House);
                    let index = place.or((!listed && of_surface).then_some(0));
                    let fits = match (index, listed) {
                        (None, _) => !of_surface,
                        (Some(_), true) => matches!(scope, Scope::Wall | Scope::SurfaceOnly),
                        (Some(_), false) => matches!(scope, Scope::Wall | Scope::FlatOnly),
                    };
                    if !fits || field.def().kind == Kind::Text {
                        Some((IssueCode::Misplaced, "this field cannot be changed here"))
                    } else {
                        let record = match index.and_then(|index| records.get_mut(index)) {
                            Some(record) => record,
                            None => &mut head,
                        };
                        record.clear(field);
                        match field {
                            Field::SeriesR => {
                                for (field, _) in MATERIALS_BY_NAME {
                                    record.clear(field);
                                }
                                if let Some(slot) = index.and_then(|i| by_number.get_mut(i)) {
                                    *slot = true;
                                }
                            }
                            Field::GridFactor => {
                                record.clear(Field::GridRegion);
                                record.clear(Field::GridRate);
                            }
                            _ => {}
                        }
                        issues.extend(record.set(field, units, change.cell).err());
                        None
                    }
                }
            };
            if let Some((code, reason)) = issue {
                issues.push(Issue::new(code, change.name, change.cell.shown(), reason));
            }
        }
        // A flat house has one record for itself and its wall.
        if !listed && let Some(record) = records.first_mut() {
            head.join(record);
            record.clone_from(&head);
        }
        let mut built = Vec::with_capacity(surfaces.len());
        for (index, (old, record)) in surfaces.iter().zip(&records).enumerate() {
            let layers = match &old.series {
                Series::Layers(layers) if !by_number[index] => Some(layers.clone()),
                _ => None,
            };
            let area = if listed { Field::Area } else { Field::WallArea };
            let parts = SurfaceParts { name: old.name.clone(), record, layers, area };
            let mut faults = Vec::new();
            built.extend(
                build_surface(parts, &mut faults)
                    .map(|new| Surface { batt_removed: old.batt_removed, ..new }),
            );
            let path = if listed { format!("surfaces[{index}]") } else { String::new() };
            issues.extend(faults.into_iter().map(|issue| issue.within(&path)));
        }
        let whole = built.len() == surfaces.len();
        let built = match (listed, built.pop()) {
            (_, None) => None,
            (true, Some(last)) => {
                built.push(last);
                Some(Surfaces::Many(built))
            }
            (false, Some(only)) => Some(Surfaces::One(only)),
        };
        let house = build_house(&head, built.filter(|_| whole), &mut issues);
        match (house, issues.is_empty()) {
            (Some(house), true) => Ok(Self { house_id: self.house_id.clone(), ..house }),
            _ => Err(InputError { issues }),
        }
    }

    fn head_record(&self) -> Record {
        let mut record = Record::default();
        for def in FIELDS.iter().filter(|def| def.scope == Scope::House) {
            if self.given.contains(def.field)
                && let Some(value) = self.of_head(def.field)
            {
                record.put(def.field, value, self.given_si.contains(def.field));
            }
        }
        record
    }

    /// What a field at the head holds: numbers in inch-pound units, choices by their place.
    fn of_head(&self, field: Field) -> Option<f64> {
        let Self { climate, leakage, plant, offer, carbon, hazards, .. } = self;
        let answer = |answer: Answer| match answer {
            Answer::No => 0.0,
            Answer::Yes => 1.0,
            Answer::Unknown => 2.0,
        };
        Some(match field {
            Field::HeatingDegreeDays => climate.heating_degree_days.ip(),
            Field::CoolingDegreeDays => climate.cooling_degree_days.ip(),
            Field::Elevation => climate.elevation.ip(),
            Field::HeatingEfficiency => plant.heating_efficiency,
            Field::Fuel => f64::from(plant.fuel.0),
            Field::FuelPrice => plant.fuel_price,
            Field::CoolingSeer => return plant.cooling_seer,
            Field::ElectricityPrice => plant.electricity_price,
            Field::Cfm50Before => leakage.before?.ip(),
            Field::Cfm50After => leakage.after?.ip(),
            Field::LeakageDivisor => leakage.divisor,
            Field::BilledHeatingFuel => return plant.billed_heating_fuel,
            Field::RealizationRate => plant.realization_rate,
            Field::InstalledCost => offer.installed_cost,
            Field::Rebate => offer.rebate,
            Field::TaxCreditFraction => offer.tax_credit_fraction,
            Field::TaxCreditCap => return offer.tax_credit_cap,
            Field::LifeYears => f64::from(offer.life_years),
            Field::DiscountRate => offer.discount_rate,
            Field::FuelEscalation => offer.fuel_escalation,
            Field::ElectricityEscalation => offer.electricity_escalation,
            Field::GridFactor => carbon.grid.kg_per_kwh(),
            Field::GridRegion => match carbon.grid {
                GridSource::Region(row, _) => place(GRID.iter().position(|r| r == row)?),
                GridSource::Factor(_) => return None,
            },
            Field::GridRate => match carbon.grid {
                GridSource::Region(_, rate) => f64::from(rate as u8),
                GridSource::Factor(_) => 0.0,
            },
            Field::GridDecline => carbon.grid_decline,
            Field::FillEmbodied => carbon.fill_embodied_kg_per_kg,
            Field::BagWeight => self.bag_weight.ip(),
            Field::KnobAndTube => answer(hazards.knob_and_tube),
            Field::Vermiculite => answer(hazards.vermiculite),
            Field::MoistureProblem => answer(hazards.moisture_problem),
            Field::LooseInteriorFinish => answer(hazards.loose_interior_finish),
            Field::SpillageTest => match hazards.spillage_test {
                SpillageTest::NoneNeeded => 0.0,
                SpillageTest::Passed => 1.0,
                SpillageTest::Failed => 2.0,
                SpillageTest::NotDone => 3.0,
            },
            Field::HeatSources => answer(hazards.heat_sources),
            Field::YearBuilt => f64::from(hazards.year_built?),
            _ => return None,
        })
    }
}

/// Fields that name a material, and the places of those materials in the table.
const MATERIALS_BY_NAME: [(Field, &[usize]); 3] = [
    (Field::Cladding, CLADDING_PLACES),
    (Field::Sheathing, SHEATHING_PLACES),
    (Field::InteriorFinish, INTERIOR_FINISH_PLACES),
];

fn place(index: usize) -> f64 {
    u32::try_from(index).map_or(f64::NAN, f64::from)
}

fn surface_record(surface: &Surface) -> Record {
    let mut record = Record::default();
    for def in FIELDS.iter().filter(|def| def.scope != Scope::House) {
        if surface.given.contains(def.field)
            && let Some(value) = of_surface(surface, def.field)
        {
            record.put(def.field, value, surface.given_si.contains(def.field));
        }
    }
    record
}

/// What a field of a surface holds: numbers in inch-pound units, choices by their place.
fn of_surface(surface: &Surface, field: Field) -> Option<f64> {
    let Surface { framing, batt, fill, series, .. } = surface;
    let (packed, open) = match fill {
        Fill::Packed(packed) => (Some(packed), None),
        Fill::Open(open) => (None, Some(open)),
    };
    Some(match field {
        Field::WallArea | Field::Area => surface.area.ip(),
        Field::SurfaceKind => f64::from(surface.kind as u8),
        Field::TemperatureFactor => surface.temperature_factor.ip(),
        Field::FramingFraction => framing.fraction.ip(),
        Field::FramingMaterial => 0.0,
        Field::CavityDepth => framing.depth.ip(),
        Field::FramingR => framing.resistivity.ip(),
        Field::SeriesR => surface.series_r().ip(),
        Field::Cladding | Field::Sheathing | Field::InteriorFinish => {
            let Series::Materials(chosen) = series else { return None };
            let slot = MATERIALS_BY_NAME.iter().position(|(named, _)| *named == field)?;
            let material = (*chosen.get(slot)?)?;
            let (_, places) = MATERIALS_BY_NAME.get(slot)?;
            place(places.iter().position(|known| *known == material)?)
        }
        Field::BattThickness => batt.thickness.ip(),
        Field::BattR => batt.resistivity.ip(),
        Field::BattMissing => batt.missing.ip(),
        Field::AirGapLevel => f64::from(batt.air_gap_level as u8),
        Field::AirSpaceR => packed?.air_space?.ip(),
        Field::FillDensity => match (packed, open) {
            (Some(fill), _) => fill.density.ip(),
            (None, fill) => fill?.settled_density.ip(),
        },
        Field::FillR => match (packed, open) {
            (Some(fill), _) => fill.resistivity?.ip(),
            (None, fill) => fill?.resistivity?.ip(),
        },
        Field::BattCompression => packed?.batt_compression.ip(),
        Field::Missed => match (packed, open) {
            (Some(fill), _) => fill.missed.ip(),
            (None, fill) => fill?.missed.ip(),
        },
        Field::FillDepth => open?.depth.ip(),
        Field::Settling => open?.settling.ip(),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::samples::any_house;
    use proptest::prelude::*;

    proptest! {
        /// Nothing is lost on the way back: no change gives the same house.
        #[test]
        fn no_change_gives_the_same_house(house in any_house()) {
            let again = house.changed(&[]).map_err(|error| error.to_string());
            prop_assert_eq!(again, Ok(house));
        }

        #[test]
        fn a_number_that_is_changed_is_read_back(house in any_house(), cost in 600.0..9e4_f64) {
            let change =
                Change { surface: None, name: "installed_cost", cell: Cell::Number(cost) };
            let other = house.changed(&[change]);
            prop_assert_eq!(
                other.ok().and_then(|house| house.number(Field::InstalledCost, None)),
                Some(cost)
            );
        }
    }
}
