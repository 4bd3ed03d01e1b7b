//! One field of a finished house, read and moved by its name in the registry: how what-ifs and
//! draws change a house without building it anew. Whoever moves a field keeps it in its range.

use super::surface::{Fill, Series, Surface};
use super::{AirGapLevel, Field, GridSource, House};
use crate::units::{
    Airflow, Area, DegreeDays, Density, Elevation, Fraction, Length, Mass, RValue, Resistivity,
};

impl Surface {
    /// The field's number, inch-pound; `None` where the surface has none.
    pub(crate) fn read(&self, field: Field) -> Option<f64> {
        let number = match (field, &self.fill) {
            (Field::Area | Field::WallArea, _) => self.area.ip(),
            (Field::TemperatureFactor, _) => self.temperature_factor.ip(),
            (Field::FramingFraction, _) => self.framing.fraction.ip(),
            (Field::CavityDepth, _) => self.framing.depth.ip(),
            (Field::FramingR, _) => self.framing.resistivity.ip(),
            (Field::SeriesR, _) => self.series_r().ip(),
            (Field::BattThickness, _) => self.batt.thickness.ip(),
            (Field::BattR, _) => self.batt.resistivity.ip(),
            (Field::BattMissing, _) => self.batt.missing.ip(),
            (Field::AirGapLevel, _) => f64::from(self.batt.air_gap_level as u8),
            (Field::AirSpaceR, Fill::Packed(fill)) => fill.air_space?.ip(),
            (Field::FillDensity, Fill::Packed(fill)) => fill.density.ip(),
            (Field::FillDensity, Fill::Open(fill)) => fill.settled_density.ip(),
            (Field::FillR, Fill::Packed(fill)) => fill.resistivity?.ip(),
            (Field::FillR, Fill::Open(fill)) => fill.resistivity?.ip(),
            (Field::BattCompression, Fill::Packed(fill)) => fill.batt_compression.ip(),
            (Field::Missed, Fill::Packed(fill)) => fill.missed.ip(),
            (Field::Missed, Fill::Open(fill)) => fill.missed.ip(),
            (Field::FillDepth, Fill::Open(fill)) => fill.depth.ip(),
            _ => return None,
        };
        Some(number)
    }

    /// Moves the field. What the surface does not have stays so; a batt never grows out of its
    /// cavity.
    pub(crate) fn write(&mut self, field: Field, ip: f64) {
        match (field, &mut self.fill) {
            (Field::Area | Field::WallArea, _) => self.area = Area::checked(ip),
            (Field::TemperatureFactor, _) => self.temperature_factor = Fraction::checked(ip),
            (Field::FramingFraction, _) => self.framing.fraction = Fraction::checked(ip),
            (Field::CavityDepth, _) => self.framing.depth = Length::checked(ip),
            (Field::FramingR, _) => self.framing.resistivity = Resistivity::checked(ip),
            (Field::SeriesR, _) => self.series = Series::Total(RValue::checked(ip)),
            (Field::BattThickness, Fill::Packed(_)) => {
                self.batt.thickness = Length::checked(ip.min(self.framing.depth.ip()));
            }
            (Field::BattThickness, Fill::Open(_)) => self.batt.thickness = Length::checked(ip),
            (Field::BattR, _) => self.batt.resistivity = Resistivity::checked(ip),
            (Field::BattMissing, _) => self.batt.missing = Fraction::checked(ip),
            (Field::AirGapLevel, _) => {
                self.batt.air_gap_level = match ip {
                    level if level < 0.5 => AirGapLevel::None,
                    level if level < 1.5 => AirGapLevel::Bridging,
                    _ => AirGapLevel::Circulating,
                };
            }
            (Field::AirSpaceR, Fill::Packed(fill)) => fill.air_space = Some(RValue::checked(ip)),
            (Field::FillDensity, Fill::Packed(fill)) => fill.density = Density::checked(ip),
            (Field::FillDensity, Fill::Open(fill)) => fill.settled_density = Density::checked(ip),
            (Field::FillR, Fill::Packed(fill)) => fill.resistivity = Some(Resistivity::checked(ip)),
            (Field::FillR, Fill::Open(fill)) => fill.resistivity = Some(Resistivity::checked(ip)),
            (Field::BattCompression, Fill::Packed(fill)) => {
                fill.batt_compression = Fraction::checked(ip);
            }
            (Field::Missed, Fill::Packed(fill)) => fill.missed = Fraction::checked(ip),
            (Field::Missed, Fill::Open(fill)) => fill.missed = Fraction::checked(ip),
            (Field::FillDepth, Fill::Open(fill)) => fill.depth = Length::checked(ip),
            _ => {}
        }
    }
}

impl House {
    /// Whether the heating fuel is bought at the price of electricity: one price for both.
    pub(crate) fn heats_at_electricity_price(&self) -> bool {
        self.plant.fuel.is_electricity() && !self.was_given(Field::FuelPrice)
    }

    /// The field's number, inch-pound, of the house itself or of its first surface that has it;
    /// `None` where the house has none.
    pub(crate) fn read(&self, field: Field) -> Option<f64> {
        let number = match field {
            Field::HeatingDegreeDays => self.climate.heating_degree_days.ip(),
            Field::CoolingDegreeDays => self.climate.cooling_degree_days.ip(),
            Field::Elevation => self.climate.elevation.ip(),
            Field::Cfm50Before => self.leakage.before?.ip(),
            Field::Cfm50After => self.leakage.after?.ip(),
            Field::LeakageDivisor => self.leakage.divisor,
            Field::HeatingEfficiency => self.plant.heating_efficiency,
            Field::FuelPrice => self.plant.fuel_price,
            Field::CoolingSeer => self.plant.cooling_seer?,
            Field::ElectricityPrice => self.plant.electricity_price,
            Field::BilledHeatingFuel => self.plant.billed_heating_fuel?,
            Field::RealizationRate => self.plant.realization_rate,
            Field::InstalledCost => self.offer.installed_cost,
            Field::Rebate => self.offer.rebate,
            Field::TaxCreditFraction => self.offer.tax_credit_fraction,
            Field::TaxCreditCap => self.offer.tax_credit_cap?,
            Field::LifeYears => f64::from(self.offer.life_years),
            Field::DiscountRate => self.offer.discount_rate,
            Field::FuelEscalation => self.offer.fuel_escalation,
            Field::ElectricityEscalation => self.offer.electricity_escalation,
            Field::GridFactor => match self.carbon.grid {
                GridSource::Factor(factor) => factor,
                GridSource::Region(..) => return None,
            },
            Field::GridDecline => self.carbon.grid_decline,
            Field::FillEmbodied => self.carbon.fill_embodied_kg_per_kg,
            Field::BagWeight => self.bag_weight.ip(),
            _ => return self.surfaces.as_slice().iter().find_map(|surface| surface.read(field)),
        };
        Some(number)
    }

    /// Moves the field: of the house itself, or of every surface that has it. A price of
    /// electricity that heats too is moved as one; a rebate never exceeds the cost.
    pub(crate) fn write(&mut self, field: Field, ip: f64) {
        match field {
            Field::HeatingDegreeDays => self.climate.heating_degree_days = DegreeDays::checked(ip),
            Field::CoolingDegreeDays => self.climate.cooling_degree_days = DegreeDays::checked(ip),
            Field::Elevation => self.climate.elevation = Elevation::checked(ip),
            Field::Cfm50Before => self.leakage.before = Some(Airflow::checked(ip)),
            Field::Cfm50After => self.leakage.after = Some(Airflow::checked(ip)),
            Field::LeakageDivisor => self.leakage.divisor = ip,
            Field::HeatingEfficiency => self.plant.heating_efficiency = ip,
            Field::FuelPrice => self.plant.fuel_price = ip,
            Field::CoolingSeer => self.plant.cooling_seer = Some(ip),
            Field::ElectricityPrice => {
                self.plant.electricity_price = ip;
                if self.heats_at_electricity_price() {
                    self.plant.fuel_price = ip;
                }
            }
            Field::BilledHeatingFuel => self.plant.billed_heating_fuel = Some(ip),
            Field::RealizationRate => self.plant.realization_rate = ip,
            Field::InstalledCost => self.offer.installed_cost = ip.max(self.offer.rebate),
            Field::Rebate => self.offer.rebate = ip.min(self.offer.installed_cost),
            Field::TaxCreditFraction => self.offer.tax_credit_fraction = ip,
            Field::TaxCreditCap => self.offer.tax_credit_cap = Some(ip),
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "the registry bounds years to 1..=100"
            )]
            Field::LifeYears => self.offer.life_years = ip.clamp(1.0, 100.0) as u8,
            Field::DiscountRate => self.offer.discount_rate = ip,
            Field::FuelEscalation => self.offer.fuel_escalation = ip,
            Field::ElectricityEscalation => self.offer.electricity_escalation = ip,
            Field::GridFactor => self.carbon.grid = GridSource::Factor(ip),
            Field::GridDecline => self.carbon.grid_decline = ip,
            Field::FillEmbodied => self.carbon.fill_embodied_kg_per_kg = ip,
            Field::BagWeight => self.bag_weight = Mass::checked(ip),
            _ => {
                for surface in self.surfaces.as_mut_slice() {
                    surface.write(field, ip);
                }
            }
        }
    }

    /// Moves the field of one surface, or of the house where there is none.
    pub(crate) fn write_at(&mut self, surface: Option<usize>, field: Field, ip: f64) {
        match surface {
            None => self.write(field, ip),
            Some(place) => {
                if let Some(surface) = self.surfaces.as_mut_slice().get_mut(place) {
                    surface.write(field, ip);
                }
            }
        }
    }

    /// The field's number at one surface, or in the house where there is none.
    pub(crate) fn read_at(&self, surface: Option<usize>, field: Field) -> Option<f64> {
        match surface {
            None => self.read(field),
            Some(place) => self.surfaces.as_slice().get(place)?.read(field),
        }
    }
}
