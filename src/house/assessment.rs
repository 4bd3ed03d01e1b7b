//! The figures of a house, and their names in the contract.

use super::figures::Figures;
use super::{Fuel, GridSource, House};
use crate::readiness::{FindingSet, Readiness};
use crate::units::{Energy, Mass, Quantity, UValue, UnitSystem};

/// What a house loses now and after the fill, what that saves, costs and takes, and whether the
/// work may start. Modelled, not measured.
///
/// Money is in the user's currency, at today's prices; `None` means that there is no such figure
/// (no payback where nothing is saved), never that it is unknown.
#[derive(Clone, Copy, Debug)]
pub struct Assessment {
    /// Mean transmittance of the surfaces now.
    pub u_before: UValue,
    /// Mean transmittance of the surfaces after the fill.
    pub u_after: UValue,
    /// Heat saved a year, at the room.
    pub heat_saved: Energy,
    /// The heating fuel, in whose unit `fuel_saved` is.
    pub fuel: Fuel,
    /// Fuel saved a year at the meter.
    pub fuel_saved: f64,
    /// Electricity for cooling saved a year, kWh.
    pub electricity_saved_kwh: f64,
    /// `fuel_saved` over the bills' heating use; `None` without bills.
    pub saved_share: Option<f64>,
    /// Saved a year at today's prices.
    pub annual_savings: f64,
    /// Cost after rebate and tax credit.
    pub net_cost: f64,
    /// Net cost over yearly savings; `None` where nothing is saved.
    pub simple_payback_years: Option<f64>,
    /// When the discounted savings reach the net cost; `None` when not within the life.
    pub discounted_payback_years: Option<f64>,
    /// Net present value over the life.
    pub npv: f64,
    /// Savings-to-investment ratio; `None` where nothing is paid.
    pub sir: Option<f64>,
    /// Adjusted internal rate of return; `None` where nothing is paid or saved.
    pub airr: Option<f64>,
    /// Internal rate of return; `None` where nothing is paid or saved.
    pub irr: Option<f64>,
    /// Saved over the life, not discounted.
    pub lifetime_savings: f64,
    /// Avoided in the first year, kg CO2e.
    pub annual_co2e_kg: f64,
    /// Avoided over the life, making the fibre taken off, kg CO2e.
    pub lifetime_co2e_kg: f64,
    /// Emissions of making the fibre, kg CO2e.
    pub embodied_co2e_kg: f64,
    /// `embodied_co2e_kg` over `annual_co2e_kg`; `None` where nothing is avoided.
    pub carbon_payback_years: Option<f64>,
    /// Net cost of a tonne of CO2e avoided over the life; `None` where nothing is avoided.
    pub cost_per_tonne: Option<f64>,
    /// Fibre in the whole house.
    pub fill_mass: Mass,
    /// Bags of fibre; the chart on the bag governs.
    pub bags: f64,
    /// What the reader must know.
    pub findings: FindingSet,
    /// Where the emissions of a kilowatt-hour come from.
    pub grid: GridSource,
}

/// NaN inside the arithmetic is "none" outside, and so is what no number can hold (the return on
/// a cost of 1e-310).
fn some(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

impl Assessment {
    #[inline]
    pub(crate) fn new(house: &House, figures: &Figures<f64>, findings: FindingSet) -> Self {
        let Figures { u_before, u_after, energy, money, carbon, fill_mass_lb, bags } = figures;
        Self {
            u_before: UValue::checked(*u_before),
            u_after: UValue::checked(*u_after),
            heat_saved: Energy::checked(energy.heat_saved),
            fuel: house.plant.fuel,
            fuel_saved: energy.fuel_saved,
            electricity_saved_kwh: energy.electricity_saved_kwh,
            saved_share: some(energy.saved_share),
            annual_savings: money.annual_savings,
            net_cost: money.net_cost,
            simple_payback_years: some(money.simple_payback_years),
            discounted_payback_years: some(money.discounted_payback_years),
            npv: money.npv,
            sir: some(money.sir),
            airr: some(money.airr),
            irr: some(money.irr),
            lifetime_savings: money.lifetime_savings,
            annual_co2e_kg: carbon.annual_co2e_kg,
            lifetime_co2e_kg: carbon.lifetime_co2e_kg,
            embodied_co2e_kg: carbon.embodied_co2e_kg,
            carbon_payback_years: some(carbon.carbon_payback_years),
            cost_per_tonne: some(carbon.cost_per_tonne),
            fill_mass: Mass::checked(*fill_mass_lb),
            bags: *bags,
            findings,
            grid: house.carbon.grid,
        }
    }

    /// Whether the work may start.
    pub fn readiness(&self) -> Readiness {
        self.findings.readiness()
    }

    #[cfg(any(feature = "arrow", feature = "csv"))]
    /// The numbers of the results in their order, inch-pound; NaN for none.
    pub(crate) fn numbers(&self) -> [f64; super::NUMBERS] {
        let mut numbers = [f64::NAN; super::NUMBERS];
        for (number, def) in numbers.iter_mut().zip(RESULTS) {
            if let ResultValue::Number(Some(value)) = (def.get)(self) {
                *number = value;
            }
        }
        numbers
    }

    /// The results under their contract names in one unit system, in the contract's order.
    pub fn results(
        &self,
        units: UnitSystem,
    ) -> impl Iterator<Item = (&'static str, ResultValue)> + '_ {
        RESULTS.iter().map(move |def| (def.name(units), def.value(self, units)))
    }
}

/// A result as a door hands it out.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "house-file", derive(serde::Serialize), serde(untagged))]
pub enum ResultValue {
    /// A number, or none.
    Number(Option<f64>),
    /// A word.
    Word(&'static str),
    /// Words with `;` between them.
    Words(String),
}

/// The definition of a result.
#[derive(Clone, Copy, Debug)]
pub struct ResultDef {
    /// Its name, with the inch-pound unit where it has one.
    pub ip: &'static str,
    /// Its name with the SI unit, where SI writes another number.
    pub si: Option<&'static str>,
    /// What kind of number it is.
    pub quantity: Quantity,
    /// What it means.
    pub help: &'static str,
    /// Reads it from an assessment, in inch-pound units.
    pub get: fn(&Assessment) -> ResultValue,
}

impl ResultDef {
    /// The result's name in a unit system.
    pub fn name(&self, units: UnitSystem) -> &'static str {
        match (units, self.si) {
            (UnitSystem::Si, Some(si)) => si,
            _ => self.ip,
        }
    }

    /// Reads it from an assessment, in the unit of its name.
    pub fn value(&self, assessment: &Assessment, units: UnitSystem) -> ResultValue {
        match (self.get)(assessment) {
            ResultValue::Number(Some(ip)) => {
                ResultValue::Number(Some(self.quantity.express(ip, units)))
            }
            other => other,
        }
    }
}

macro_rules! results {
    ($($ip:literal $(/ $si:literal)? : $quantity:ident, $help:literal, |$a:ident| $get:expr;)*) => {
        /// Every result, in the order in which tables carry them.
        pub static RESULTS: &[ResultDef] = &[
            $(ResultDef {
                ip: $ip,
                si: results!(@si $($si)?),
                quantity: Quantity::$quantity,
                help: $help,
                get: |$a| ResultValue::from($get),
            },)*
        ];
    };
    (@si) => { None };
    (@si $si:literal) => { Some($si) };
}

impl From<f64> for ResultValue {
    fn from(value: f64) -> Self {
        Self::Number(Some(value))
    }
}

impl From<Option<f64>> for ResultValue {
    fn from(value: Option<f64>) -> Self {
        Self::Number(value)
    }
}

impl From<&'static str> for ResultValue {
    fn from(word: &'static str) -> Self {
        Self::Word(word)
    }
}

impl From<String> for ResultValue {
    fn from(words: String) -> Self {
        Self::Words(words)
    }
}

results! {
    "u_before_btu_h_ft2_f" / "u_before_w_m2k": Transmittance,
        "Mean transmittance of the surfaces now.", |a| a.u_before.ip();
    "u_after_btu_h_ft2_f" / "u_after_w_m2k": Transmittance,
        "Mean transmittance of the surfaces after the fill.", |a| a.u_after.ip();
    "heat_saved_mmbtu" / "heat_saved_kwh": Heat,
        "Heat saved a year, at the room.", |a| a.heat_saved.ip();
    "fuel_saved": FuelUnits,
        "Fuel saved a year at the meter, in the fuel's unit.", |a| a.fuel_saved;
    "electricity_saved_kwh": Electricity,
        "Electricity for cooling saved a year.", |a| a.electricity_saved_kwh;
    "saved_share": Number,
        "Fuel saved over the bills' heating use; none without bills.", |a| a.saved_share;
    "annual_savings": Money,
        "Saved a year at today's prices.", |a| a.annual_savings;
    "net_cost": Money,
        "Cost after rebate and tax credit.", |a| a.net_cost;
    "simple_payback_years": Years,
        "Net cost over yearly savings; none where nothing is saved.", |a| a.simple_payback_years;
    "discounted_payback_years": Years,
        "When the discounted savings reach the net cost; none when not within the life.",
        |a| a.discounted_payback_years;
    "npv": Money,
        "Net present value over the life.", |a| a.npv;
    "sir": Number,
        "Savings-to-investment ratio; none where nothing is paid.", |a| a.sir;
    "airr": Rate,
        "Adjusted internal rate of return; none where nothing is paid or saved.", |a| a.airr;
    "irr": Rate,
        "Internal rate of return; none where nothing is paid or saved.", |a| a.irr;
    "lifetime_savings": Money,
        "Saved over the life, not discounted.", |a| a.lifetime_savings;
    "annual_co2e_kg": Co2e,
        "Avoided in the first year.", |a| a.annual_co2e_kg;
    "lifetime_co2e_kg": Co2e,
        "Avoided over the life, making the fibre taken off.", |a| a.lifetime_co2e_kg;
    "embodied_co2e_kg": Co2e,
        "Emissions of making the fibre.", |a| a.embodied_co2e_kg;
    "carbon_payback_years": Years,
        "Emissions of making the fibre over those avoided a year; none where nothing is avoided.",
        |a| a.carbon_payback_years;
    "cost_per_tonne": Money,
        "Net cost of a tonne of CO2e avoided over the life; none where nothing is avoided.",
        |a| a.cost_per_tonne;
    "fill_mass_lb" / "fill_mass_kg": Mass,
        "Fibre in the whole house.", |a| a.fill_mass.ip();
    "bags": Number,
        "Bags of fibre; the chart on the bag governs.", |a| a.bags;
    "readiness": Number,
        "hold, check or clear: whether the work may start.", |a| a.readiness().as_str();
    "findings": Number,
        "Codes of what the reader must know, gravest first, with ; between them.",
        |a| a.findings.codes();
}
