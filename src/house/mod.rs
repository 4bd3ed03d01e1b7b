//! A house: its surfaces, its climate, its fuel, its money, and what stands in the way.

mod assess;
mod assessment;
mod build;
mod builder;
mod change;
mod circumstances;
#[cfg(feature = "house-file")]
mod document;
mod fields;
mod figures;
mod idle;
mod knob;
mod layer;
mod limits;
#[cfg(feature = "house-file")]
mod promised;
#[cfg(feature = "house-file")]
mod range_file;
mod ranges;
mod record;
#[cfg(test)]
pub(crate) mod samples;
#[cfg(feature = "house-file")]
pub(crate) mod site;
mod surface;
mod terms;
#[cfg(feature = "house-file")]
mod to_json;

pub(crate) use terms::{Body, Terms};
#[cfg(any(feature = "arrow", feature = "csv"))]
pub(crate) use terms::{HouseTerms, materials_r};

pub(crate) use assess::money_of;
#[cfg(feature = "live")]
pub(crate) use assess::notes;
pub(crate) use assess::{Judged, cash, judged, returns};
pub use assess::{SurfaceFill, assess, explain, surface_fills};
pub use assessment::{Assessment, RESULTS, ResultDef, ResultValue};
#[cfg(any(feature = "arrow", feature = "csv"))]
pub(crate) use build::heating_price;
pub use builder::{HouseBuilder, SurfaceBuilder};
pub use change::Change;
#[cfg(feature = "house-file")]
pub(crate) use document::LAYERS;
#[cfg(any(feature = "evidence", feature = "python"))]
pub(crate) use document::{Format, read_house_file};
#[cfg(feature = "house-file")]
pub use document::{HouseFileError, MOST_FILE_BYTES, Raw, read_raw};
#[cfg(feature = "house-file")]
pub(crate) use document::{INCENTIVES, LOANS, OPTIONS, SURFACES, beside, parse_toml};
pub use fields::{Absent, Choices, FIELD_COUNT, FIELDS, Field, FieldDef, FieldSet, Kind, Scope};
pub use idle::{IdleCost, idle_cost};
#[cfg(feature = "house-file")]
pub use promised::SCHEMA_VERSION;
#[cfg(feature = "python")]
pub(crate) use ranges::RANGES;
pub use ranges::{FieldRange, GivenRange};
pub use record::{Cell, Record};
#[cfg(feature = "house-file")]
pub(crate) use site::form;
#[cfg(feature = "house-file")]
pub use site::{
    Access, Clearance, FillBy, JobPlan, Place, QUESTIONS, Question, QuestionDef, Raises, Reach,
    Requirement, Role, SitePoint, Standing, SurfacePlan, requirement,
};
#[cfg(feature = "house-file")]
pub(crate) use site::{CLEARANCES, SURVEY};
pub use surface::{
    AirGapLevel, Batt, Fill, Framing, Layer, LayerBody, OpenFill, PackedFill, Series, Surface,
    SurfaceKind,
};
#[cfg(any(feature = "arrow", feature = "csv"))]
pub(crate) use {
    assess::one_surface,
    circumstances::Circumstances,
    figures::{Figures, NUMBERS},
};
#[cfg(feature = "evidence")]
pub(crate) use {document::parse_json, promised::SCHEMA_VERSION_KEY};

use crate::readiness::Hazards;
use crate::tables::{FUELS, FuelRow, GRID, GridRow};
use crate::units::{Airflow, DegreeDays, Elevation, Mass};

/// A fuel of the table of fuels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fuel(pub(crate) u8);

impl Fuel {
    /// The fuel of this key.
    pub fn from_key(key: &str) -> Option<Self> {
        FUELS.iter().position(|row| row.key == key).and_then(|i| u8::try_from(i).ok()).map(Self)
    }

    /// Its row in the table.
    pub fn row(self) -> &'static FuelRow {
        &FUELS[usize::from(self.0)]
    }

    /// Whether it is electricity, whose carbon depends on the grid.
    pub fn is_electricity(self) -> bool {
        self.row().kg_co2e_per_mmbtu.is_none()
    }
}

/// The climate that the house stands in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climate {
    /// Heating degree-days at the house's base temperature.
    pub heating_degree_days: DegreeDays,
    /// Cooling degree-days.
    pub cooling_degree_days: DegreeDays,
    /// Height above sea level.
    pub elevation: Elevation,
}

/// Air leakage at 50 Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leakage {
    /// Before the work.
    pub before: Option<Airflow>,
    /// After the work.
    pub after: Option<Airflow>,
    /// From 50 Pa to natural pressure.
    pub divisor: f64,
}

/// How the house is heated and cooled, and what energy costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plant {
    /// The heating fuel.
    pub fuel: Fuel,
    /// Seasonal efficiency of the heating.
    pub heating_efficiency: f64,
    /// Price of a unit of the heating fuel, in the user's currency.
    pub fuel_price: f64,
    /// Seasonal efficiency of the cooling, Btu/Wh; `None`: no cooling is counted.
    pub cooling_seer: Option<f64>,
    /// Price of a kilowatt-hour.
    pub electricity_price: f64,
    /// Heating use by the bills, in the fuel's unit a year.
    pub billed_heating_fuel: Option<f64>,
    /// Share of the modelled saving that is expected.
    pub realization_rate: f64,
}

/// The price of the job and the rates that value its savings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offer {
    /// Price of the job.
    pub installed_cost: f64,
    /// Rebate.
    pub rebate: f64,
    /// Tax credit as a share of the price after the rebate.
    pub tax_credit_fraction: f64,
    /// The most that it can be.
    pub tax_credit_cap: Option<f64>,
    /// Years counted.
    pub life_years: u8,
    /// Real discount rate.
    pub discount_rate: f64,
    /// Real rise of the fuel price.
    pub fuel_escalation: f64,
    /// Real rise of the electricity price.
    pub electricity_escalation: f64,
}

/// Which of a subregion's emission rates.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum GridRate {
    /// All plants.
    #[default]
    Average,
    /// The plants that follow demand: the EPA advises it for avoided emissions.
    NonBaseload,
}

/// Where the emissions of a kilowatt-hour come from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GridSource {
    /// Given as kg CO2e per kWh, or the default.
    Factor(f64),
    /// A subregion's rate.
    Region(&'static GridRow, GridRate),
}

impl GridSource {
    /// By a number, or by a subregion's and a rate's places in their lists; the contract's US
    /// average where nothing is given, the US rate where only a rate is. `None` where a number
    /// stands beside a subregion or a rate.
    pub(crate) fn resolve(
        factor: Option<f64>,
        region: Option<usize>,
        rate: Option<usize>,
    ) -> Option<Self> {
        let chosen = if rate == Some(1) { GridRate::NonBaseload } else { GridRate::Average };
        let fallback = Self::Factor(crate::tables::GRID_DEFAULT_KG_PER_KWH.value);
        match (factor, region, chosen) {
            (Some(factor), None, _) if rate.is_none() => Some(Self::Factor(factor)),
            (Some(_), ..) => None,
            (None, Some(place), chosen) => GRID.get(place).map(|row| Self::Region(row, chosen)),
            (None, None, GridRate::NonBaseload) => {
                Some(grid_region("US").map_or(fallback, |row| Self::Region(row, chosen)))
            }
            (None, None, GridRate::Average) => Some(fallback),
        }
    }

    /// kg CO2e per kWh.
    pub fn kg_per_kwh(self) -> f64 {
        use crate::units::factor::KG_PER_LB;
        let lb_per_mwh = match self {
            Self::Factor(factor) => return factor,
            Self::Region(row, GridRate::Average) => row.average_lb_co2e_per_mwh,
            Self::Region(row, GridRate::NonBaseload) => row.non_baseload_lb_co2e_per_mwh,
        };
        lb_per_mwh * KG_PER_LB / 1000.0
    }

    /// Which factor a figure used, in words.
    pub fn words(self) -> String {
        match self {
            Self::Factor(factor) => format!("{factor} kg CO2e/kWh"),
            Self::Region(row, rate) => {
                let rate = match rate {
                    GridRate::Average => "average",
                    GridRate::NonBaseload => "non-baseload",
                };
                format!("{} ({}), {rate} rate, data of {}", row.region, row.label, row.data_year)
            }
        }
    }
}

/// The subregion of this acronym.
pub fn grid_region(region: &str) -> Option<&'static GridRow> {
    GRID.iter().find(|row| row.region == region)
}

/// What carbon is counted by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carbon {
    /// Emissions of a kilowatt-hour.
    pub grid: GridSource,
    /// Share by which they fall each year.
    pub grid_decline: f64,
    /// kg CO2e of making a kilogram of fibre.
    pub fill_embodied_kg_per_kg: f64,
}

/// A house that can be assessed: everything in it has been validated.
///
/// Made by [`House::builder`], [`House::from_toml`] and [`House::from_json`]; a flat table row is
/// a house with one wall.
#[expect(clippy::struct_field_names, reason = "the contract calls it house_id")]
#[derive(Clone, Debug, PartialEq)]
pub struct House {
    pub(crate) house_id: String,
    pub(crate) surfaces: Surfaces,
    pub(crate) climate: Climate,
    pub(crate) leakage: Leakage,
    pub(crate) plant: Plant,
    pub(crate) offer: Offer,
    pub(crate) carbon: Carbon,
    pub(crate) bag_weight: Mass,
    pub(crate) hazards: Hazards,
    pub(crate) given: FieldSet,
    pub(crate) given_si: FieldSet,
    /// How the job is to be done and who has looked at what.
    #[cfg(feature = "house-file")]
    pub(crate) site: Option<Box<site::Site>>,
    /// How far its own fields may be off; [`assess`] does not read them.
    pub(crate) ranges: Vec<FieldRange>,
}

/// One surface without a list, or many.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Surfaces {
    One(Surface),
    Many(Vec<Surface>),
}

impl Surfaces {
    pub(crate) fn as_slice(&self) -> &[Surface] {
        match self {
            Self::One(surface) => std::slice::from_ref(surface),
            Self::Many(surfaces) => surfaces,
        }
    }

    pub(crate) fn as_mut_slice(&mut self) -> &mut [Surface] {
        match self {
            Self::One(surface) => std::slice::from_mut(surface),
            Self::Many(surfaces) => surfaces,
        }
    }
}

impl House {
    /// Begins a house.
    pub fn builder() -> HouseBuilder {
        HouseBuilder::default()
    }

    /// The user's own name for the house.
    pub fn house_id(&self) -> &str {
        &self.house_id
    }

    /// Its surfaces, at least one.
    pub fn surfaces(&self) -> &[Surface] {
        self.surfaces.as_slice()
    }

    /// Its climate.
    pub fn climate(&self) -> &Climate {
        &self.climate
    }

    /// Its air leakage.
    pub fn leakage(&self) -> &Leakage {
        &self.leakage
    }

    /// Its heating, cooling and energy prices.
    pub fn plant(&self) -> &Plant {
        &self.plant
    }

    /// The price of the job and the rates that value its savings.
    pub fn offer(&self) -> &Offer {
        &self.offer
    }

    /// What carbon is counted by.
    pub fn carbon(&self) -> &Carbon {
        &self.carbon
    }

    /// What was answered about hazards.
    pub fn hazards(&self) -> &Hazards {
        &self.hazards
    }

    /// What the house says of how far its own fields may be off.
    pub fn ranges(&self) -> &[FieldRange] {
        &self.ranges
    }

    /// Weight of a bag of fibre.
    pub fn bag_weight(&self) -> Mass {
        self.bag_weight
    }

    /// Whether the field was given, at the head of the house or in its flat row.
    pub fn was_given(&self, field: Field) -> bool {
        self.given.contains(field)
    }
}
