//! A house as a house file again: what was given, under inch-pound names, to the bit.

use super::fields::{FIELDS, Field, Kind, Scope};
use super::ranges::RANGES;
use super::site::{CLEARANCES, Clearance, Place, Reach};
use super::surface::{Fill, Layer, LayerBody, Series, Surface};
use super::{GridRate, GridSource, House, LAYERS, SURFACES, Surfaces};
use crate::readiness::{Answer, SpillageTest};
use crate::units::{Airflow, UnitSystem};
use serde_json::{Map, Value, json};

impl House {
    /// The house as the text of a JSON house file that gives the same house again, so that its figures have the same bits. Fields that
    /// were not given stay away; those given in SI stand under their inch-pound names.
    pub fn to_json(&self) -> String {
        let mut file = Map::new();
        for def in FIELDS.iter().filter(|def| def.scope == Scope::House) {
            if let Some(value) = self.given_at_head(def.field) {
                file.insert(def.ip.to_owned(), value);
            }
        }
        match &self.surfaces {
            Surfaces::One(surface) => surface.write_json(&mut file),
            Surfaces::Many(surfaces) => {
                let list = surfaces.iter().enumerate().map(|(place, surface)| {
                    let mut table = Map::new();
                    surface.write_json(&mut table);
                    self.write_ranges(Some(place), &mut table);
                    Value::Object(table)
                });
                file.insert(SURFACES.to_owned(), Value::Array(list.collect()));
            }
        }
        self.write_ranges(None, &mut file);
        if !self.clearances().is_empty() {
            let looks = self.clearances().iter().map(|look| self.look(look));
            file.insert(CLEARANCES.to_owned(), looks.collect());
        }
        Value::Object(file).to_string()
    }

    /// The ranges of the house itself, or of a surface of its list.
    fn write_ranges(&self, surface: Option<usize>, table: &mut Map<String, Value>) {
        let mut ranges = Map::new();
        for range in self.ranges.iter().filter(|range| range.surface == surface) {
            let mut parts = range.distribution.parts();
            if let Some((other, against)) = range.moves {
                let key = if against { "moves_against" } else { "moves_with" };
                parts.insert(key.to_owned(), json!(other.def().ip));
            }
            let def = range.field.def();
            let name = match range.units {
                UnitSystem::Ip => def.ip,
                UnitSystem::Si => def.si.unwrap_or(def.ip),
            };
            ranges.insert(name.to_owned(), Value::Object(parts));
        }
        if !ranges.is_empty() {
            table.insert(RANGES.to_owned(), Value::Object(ranges));
        }
    }

    fn look(&self, look: &Clearance) -> Value {
        let mut table = Map::new();
        let mut put = |key: &str, value: Value| table.insert(key.to_owned(), value);
        put("finding", json!(look.question.def().code));
        if let Place::Surface(place) = look.place {
            put("surface", json!(self.surface_label(place)));
        } else if look.question.def().reach != Reach::House {
            put("surface", json!("all"));
        }
        put("answer", json!(word(look.answer)));
        if let Some(role) = look.cleared_by {
            put("cleared_by", json!(role.key()));
        }
        put("date", json!(look.date.to_string()));
        if let Some(evidence) = &look.evidence {
            put("evidence", json!(evidence));
        }
        Value::Object(table)
    }

    fn given_at_head(&self, field: Field) -> Option<Value> {
        let Self { climate, leakage, plant, offer, carbon, hazards, .. } = self;
        if field == Field::HouseId {
            return Some(json!(self.house_id));
        }
        if !self.given.contains(field) {
            return None;
        }
        let answer = |answer: Answer| json!(word(answer));
        Some(match field {
            Field::HeatingDegreeDays => json!(climate.heating_degree_days.ip()),
            Field::CoolingDegreeDays => json!(climate.cooling_degree_days.ip()),
            Field::Elevation => json!(climate.elevation.ip()),
            Field::HeatingEfficiency => json!(plant.heating_efficiency),
            Field::Fuel => json!(plant.fuel.row().key),
            Field::FuelPrice => json!(plant.fuel_price),
            Field::CoolingSeer => json!(plant.cooling_seer),
            Field::ElectricityPrice => json!(plant.electricity_price),
            Field::Cfm50Before => json!(leakage.before.map(Airflow::ip)),
            Field::Cfm50After => json!(leakage.after.map(Airflow::ip)),
            Field::LeakageDivisor => json!(leakage.divisor),
            Field::BilledHeatingFuel => json!(plant.billed_heating_fuel),
            Field::RealizationRate => json!(plant.realization_rate),
            Field::InstalledCost => json!(offer.installed_cost),
            Field::Rebate => json!(offer.rebate),
            Field::TaxCreditFraction => json!(offer.tax_credit_fraction),
            Field::TaxCreditCap => json!(offer.tax_credit_cap),
            Field::LifeYears => json!(offer.life_years),
            Field::DiscountRate => json!(offer.discount_rate),
            Field::FuelEscalation => json!(offer.fuel_escalation),
            Field::ElectricityEscalation => json!(offer.electricity_escalation),
            Field::GridFactor => json!(carbon.grid.kg_per_kwh()),
            Field::GridRegion => match carbon.grid {
                GridSource::Region(row, _) => json!(row.region),
                GridSource::Factor(_) => return None,
            },
            Field::GridRate => match carbon.grid {
                GridSource::Region(_, GridRate::NonBaseload) => json!("non_baseload"),
                _ => json!("average"),
            },
            Field::GridDecline => json!(carbon.grid_decline),
            Field::FillEmbodied => json!(carbon.fill_embodied_kg_per_kg),
            Field::BagWeight => json!(self.bag_weight.ip()),
            Field::KnobAndTube => answer(hazards.knob_and_tube),
            Field::Vermiculite => answer(hazards.vermiculite),
            Field::MoistureProblem => answer(hazards.moisture_problem),
            Field::LooseInteriorFinish => answer(hazards.loose_interior_finish),
            Field::HeatSources => answer(hazards.heat_sources),
            Field::SpillageTest => json!(match hazards.spillage_test {
                SpillageTest::NoneNeeded => "none_needed",
                SpillageTest::Passed => "passed",
                SpillageTest::Failed => "failed",
                SpillageTest::NotDone => "not_done",
            }),
            Field::YearBuilt => json!(hazards.year_built),
            _ => return None,
        })
    }
}

const fn word(answer: Answer) -> &'static str {
    match answer {
        Answer::No => "no",
        Answer::Yes => "yes",
        Answer::Unknown => "unknown",
    }
}

impl Surface {
    fn write_json(&self, table: &mut Map<String, Value>) {
        for def in FIELDS.iter().filter(|def| def.scope != Scope::House && def.kind != Kind::Text) {
            if self.given.contains(def.field)
                && let Some(value) = self.given_here(def.field)
            {
                table.insert(def.ip.to_owned(), value);
            }
        }
        if let Some(name) = &self.name {
            table.insert(Field::SurfaceName.def().ip.to_owned(), json!(name));
        }
        if let Series::Layers(layers) = &self.series {
            table.insert(LAYERS.to_owned(), layers.iter().map(layer).collect());
        }
    }

    fn given_here(&self, field: Field) -> Option<Value> {
        let Self { framing, batt, fill, .. } = self;
        let (packed, open) = match fill {
            Fill::Packed(packed) => (Some(packed), None),
            Fill::Open(open) => (None, Some(open)),
        };
        Some(match field {
            Field::WallArea | Field::Area => json!(self.area.ip()),
            Field::SurfaceKind => json!(self.kind.as_str()),
            Field::TemperatureFactor => json!(self.temperature_factor.ip()),
            Field::FramingFraction => json!(framing.fraction.ip()),
            Field::FramingMaterial => json!("wood"),
            Field::CavityDepth => json!(framing.depth.ip()),
            Field::FramingR => json!(framing.resistivity.ip()),
            Field::SeriesR => match self.series {
                Series::Total(r) => json!(r.ip()),
                _ => return None,
            },
            Field::Cladding | Field::Sheathing | Field::InteriorFinish => {
                json!(material_of(&self.series, field)?)
            }
            Field::BattThickness => json!(batt.thickness.ip()),
            Field::BattR => json!(batt.resistivity.ip()),
            Field::BattMissing => json!(batt.missing.ip()),
            Field::AirGapLevel => json!(batt.air_gap_level as u8),
            Field::AirSpaceR => json!(packed?.air_space?.ip()),
            Field::FillDensity => {
                json!(packed.map_or_else(
                    || open.map(|fill| fill.settled_density.ip()),
                    |fill| Some(fill.density.ip())
                )?)
            }
            Field::FillR => {
                let r = packed.map_or_else(
                    || open.and_then(|fill| fill.resistivity),
                    |fill| fill.resistivity,
                );
                json!(r?.ip())
            }
            Field::BattCompression => json!(packed?.batt_compression.ip()),
            Field::Missed => {
                json!(packed.map_or_else(
                    || open.map(|fill| fill.missed.ip()),
                    |fill| Some(fill.missed.ip())
                )?)
            }
            Field::FillDepth => json!(open?.depth.ip()),
            Field::Settling => json!(open?.settling.ip()),
            _ => return None,
        })
    }
}

/// The material that stands in the list of words of this field.
fn material_of(series: &Series, field: Field) -> Option<&'static str> {
    let (Series::Materials(places), Kind::Choice(choices)) = (series, field.def().kind) else {
        return None;
    };
    let words = choices.words();
    Series::materials(*places).map(|material| material.key).find(|key| words.contains(key))
}

fn layer(layer: &Layer) -> Value {
    let mut table = Map::new();
    if let Some(name) = &layer.name {
        table.insert("name".to_owned(), json!(name));
    }
    match layer.body {
        LayerBody::Resistance(r) => {
            table.insert("r".to_owned(), json!(r.ip()));
        }
        LayerBody::Material(material) => {
            table.insert("material".to_owned(), json!(material.key));
        }
        LayerBody::Slab(thickness, resistivity) => {
            table.insert("thickness_in".to_owned(), json!(thickness.ip()));
            table.insert("r_per_in".to_owned(), json!(resistivity.ip()));
        }
    }
    Value::Object(table)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::assess;
    use crate::house::samples::any_house;
    use crate::units::UnitSystem;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_file_gives_the_same_figures_to_the_bit(house in any_house()) {
            let again = House::from_json(&house.to_json()).map_err(|e| e.to_string()).unwrap();
            prop_assert_eq!(again.given, house.given);
            for ((name, a), (_, b)) in assess(&house).results(UnitSystem::Ip).zip(assess(&again).results(UnitSystem::Ip)) {
                prop_assert_eq!(a, b, "{}", name);
            }
        }
    }
}
