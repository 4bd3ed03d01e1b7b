//! Heat, fuel and electricity saved in a year.

use crate::numeric::{Calc, Label, Num, Plain};
use crate::source::{Citation, Mark};
use crate::tables::{AIR_DENSITY_EXPONENT, AIR_DENSITY_LAPSE, AIR_HEAT_CAPACITY};
use crate::units::Elevation;
use crate::units::Quantity::{Airflow, Conductance, Electricity, FuelUnits, Heat, Number};

/// What the arithmetic needs of the house, in inch-pound units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EnergyTerms<N: Num> {
    pub(crate) heating_degree_days_f: N,
    pub(crate) cooling_degree_days_f: N,
    pub(crate) elevation_ft: N,
    /// Whether both leakage tests were given.
    pub(crate) leakage_tested: N::Mask,
    pub(crate) cfm50_before: N,
    pub(crate) cfm50_after: N,
    pub(crate) leakage_divisor: N,
    pub(crate) heating_efficiency: N,
    pub(crate) mmbtu_per_unit: N,
    /// Whether cooling is counted.
    pub(crate) cooled: N::Mask,
    pub(crate) cooling_seer: N,
    pub(crate) realization_rate: N,
    /// Whether the bills' heating use was given.
    pub(crate) billed: N::Mask,
    pub(crate) billed_heating_fuel: N,
}

/// What is saved in a year.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EnergyFigures<N: Num> {
    /// Million Btu at the room.
    pub(crate) heat_saved: N,
    /// Million Btu of fuel at the meter, after the cap by the bills.
    pub(crate) fuel_saved_mmbtu: N,
    /// The fuel's own units.
    pub(crate) fuel_saved: N,
    /// Whether the bills held the saving down.
    pub(crate) capped: N::Mask,
    /// NaN without bills.
    pub(crate) saved_share: N,
    pub(crate) electricity_saved_kwh: N,
}

const DEGREE_DAY_METHOD: Citation =
    Citation::new("noaa_degree_days", "degree-day method", Mark::Memory);
static AIR_DENSITY: Label =
    Label::new("air_density_ratio", "density of air at this height over that at sea level", Number)
        .cite(AIR_DENSITY_LAPSE.citation);
static AIR_SAVED: Label =
    Label::new("air_saved_cfm", "natural air leakage saved, by the two tests", Airflow)
        .cite(Citation::new("sherman_1987", "natural leakage from a 50 Pa test", Mark::Memory));
static CONDUCTANCE_SAVED: Label =
    Label::new("conductance_saved", "heat flow saved for each degree, walls and air", Conductance)
        .cite(AIR_HEAT_CAPACITY.citation);
static HEAT_SAVED: Label =
    Label::new("heat_saved_mmbtu", "heat saved a year, at the room", Heat).cite(DEGREE_DAY_METHOD);
static FUEL_MODELLED: Label =
    Label::new("fuel_saved_modelled", "fuel saved a year at the meter, as modelled", FuelUnits);
static FUEL_SAVED: Label =
    Label::new("fuel_saved", "fuel saved a year, held to the bills where given", FuelUnits);
static FUEL_SAVED_MMBTU: Label = Label::new("fuel_saved_mmbtu", "the same as heat content", Heat);
static SAVED_SHARE: Label =
    Label::new("saved_share", "fuel saved over the bills' heating use", Number);
static ELECTRICITY_SAVED: Label =
    Label::new("electricity_saved_kwh", "electricity for cooling saved a year", Electricity)
        .cite(DEGREE_DAY_METHOD);

/// `conductance_ua` is what the surfaces save, Btu/h·°F.
#[inline(always)]
pub(crate) fn energy<C: Calc>(
    cx: &C,
    conductance_ua: C::N,
    t: &EnergyTerms<C::N>,
) -> EnergyFigures<C::N> {
    let lit = |value| cx.lit(value);
    // Without both tests there is no credit for air, and nothing of it is computed.
    let conductance = if C::N::any(t.leakage_tested) {
        // Sea level for the rows without tests: a power that is 1 for certain costs nothing.
        let elevation = C::N::select(t.leakage_tested, t.elevation_ft, lit(0.0));
        let density = air_density(cx, elevation);
        let air_saved = cx.named(&AIR_SAVED, (t.cfm50_before - t.cfm50_after) / t.leakage_divisor);
        let both = conductance_ua + cx.constant(&AIR_HEAT_CAPACITY) * density * air_saved;
        C::N::select(t.leakage_tested, both, conductance_ua)
    } else {
        conductance_ua
    };
    let conductance = cx.named(&CONDUCTANCE_SAVED, conductance);
    let heat_saved =
        cx.named(&HEAT_SAVED, lit(24.0) * t.heating_degree_days_f * conductance / lit(1e6));
    let modelled = cx.named(
        &FUEL_MODELLED,
        t.realization_rate * heat_saved / t.heating_efficiency / t.mmbtu_per_unit,
    );
    let capped = t.billed & t.billed_heating_fuel.less(modelled);
    let fuel_saved = cx.named(&FUEL_SAVED, C::N::select(capped, t.billed_heating_fuel, modelled));
    let fuel_saved_mmbtu = cx.named(&FUEL_SAVED_MMBTU, fuel_saved * t.mmbtu_per_unit);
    let share = C::N::select(t.billed, fuel_saved / t.billed_heating_fuel, lit(f64::NAN));
    let saved_share = cx.named(&SAVED_SHARE, share);
    let cooling = t.realization_rate * lit(24.0) * t.cooling_degree_days_f * conductance
        / (lit(1000.0) * t.cooling_seer);
    let electricity_saved_kwh =
        cx.named(&ELECTRICITY_SAVED, C::N::select(t.cooled, cooling, lit(0.0)));
    EnergyFigures {
        heat_saved,
        fuel_saved_mmbtu,
        fuel_saved,
        capped,
        saved_share,
        electricity_saved_kwh,
    }
}

/// Density of air over that at sea level, at the same temperature.
///
/// # Formula
/// `(1 − 6.8754e-6 z)^5.2559`, z in feet.
///
/// # Source
/// ASHRAE Handbook of Fundamentals, chapter 1 (from memory); within 0.0005 of table 6a of a United
/// States government HVAC design guide at 5900 to 8000 ft (seen).
pub fn air_density_ratio(elevation: Elevation) -> f64 {
    air_density(&Plain, elevation.ip())
}

#[inline(always)]
fn air_density<C: Calc>(cx: &C, elevation_ft: C::N) -> C::N {
    let base = cx.lit(1.0) - cx.constant(&AIR_DENSITY_LAPSE) * elevation_ft;
    cx.named(&AIR_DENSITY, base.power(cx.constant(&AIR_DENSITY_EXPONENT)))
}
