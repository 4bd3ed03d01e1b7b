//! Units of use, brought to the unit that the house's fuel is sold in.

use crate::house::Fuel;
use crate::tables::GAS_MMBTU_PER_FT3;
use crate::units::factor::{J_PER_BTU, KWH_PER_MMBTU, M_PER_FT};

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Measure {
    /// Heat, million Btu in one unit.
    Heat(f64),
    /// Volume of gas, ft³ in one unit.
    Gas(f64),
    /// Volume of a liquid, US gallons in one unit.
    Liquid(f64),
}

const FT3_PER_M3: f64 = 1.0 / (M_PER_FT * M_PER_FT * M_PER_FT);
/// A US gallon is 231 cubic inches by definition.
const GAL_PER_LITRE: f64 = 1000.0 / 231.0 / (25.4 * 25.4 * 25.4) * 1000.0;
const MMBTU_PER_MJ: f64 = 1.0 / J_PER_BTU;

/// The words that may be written, with what they mean.
const UNITS: [(&str, Measure); 16] = [
    ("therm", Measure::Heat(0.1)),
    ("dekatherm", Measure::Heat(1.0)),
    ("mmbtu", Measure::Heat(1.0)),
    ("kbtu", Measure::Heat(0.001)),
    ("kwh", Measure::Heat(1.0 / KWH_PER_MMBTU)),
    ("mwh", Measure::Heat(1000.0 / KWH_PER_MMBTU)),
    ("mj", Measure::Heat(MMBTU_PER_MJ)),
    ("gj", Measure::Heat(1000.0 * MMBTU_PER_MJ)),
    ("ft3", Measure::Gas(1.0)),
    ("ccf", Measure::Gas(100.0)),
    ("mcf", Measure::Gas(1000.0)),
    ("m3", Measure::Gas(FT3_PER_M3)),
    ("gal", Measure::Liquid(1.0)),
    ("gallon", Measure::Liquid(1.0)),
    ("l", Measure::Liquid(GAL_PER_LITRE)),
    ("litre", Measure::Liquid(GAL_PER_LITRE)),
];

/// How many of the fuel's own units one unit of this name is.
///
/// # Errors
/// A clause that says what is allowed: an unknown word, or one that does not measure this fuel.
pub fn fuel_units_in(unit: &str, fuel: Fuel) -> Result<f64, String> {
    let row = fuel.row();
    let word = unit.trim();
    let found = UNITS.iter().find(|(name, _)| {
        name.eq_ignore_ascii_case(word)
            || word.strip_suffix(['s', 'S']).is_some_and(|stem| name.eq_ignore_ascii_case(stem))
    });
    let factor = found.and_then(|(name, measure)| {
        let volume_of_gas = row.key == "natural_gas";
        let liquid = row.unit == "gal";
        match measure {
            // A meter of electricity counts in its own unit, whatever a kilowatt-hour is in Btu.
            Measure::Heat(_) if fuel.is_electricity() => match *name {
                "kwh" => Some(1.0),
                "mwh" => Some(1000.0),
                _ => None,
            },
            Measure::Heat(mmbtu) if volume_of_gas => Some(mmbtu / row.mmbtu_per_unit),
            Measure::Gas(ft3) if volume_of_gas => {
                Some(ft3 * GAS_MMBTU_PER_FT3.value / row.mmbtu_per_unit)
            }
            Measure::Liquid(gallons) if liquid => Some(*gallons),
            _ => None,
        }
    });
    factor.ok_or_else(|| {
        let allowed = match row.unit {
            "kWh" => "kWh, MWh".to_owned(),
            "gal" => "gal, litre".to_owned(),
            _ => "therm, dekatherm, MMBtu, kBtu, kWh, MWh, MJ, GJ, ft3, ccf, Mcf, m3".to_owned(),
        };
        format!("for {} must be one of {allowed}", row.key)
    })
}

/// The ratios by which a series jumps where its unit changed without a word: therms and
/// kilowatt-hours, hundreds of cubic feet and cubic metres or cubic feet, gallons and litres.
pub(super) fn slips(fuel: Fuel) -> impl Iterator<Item = (f64, &'static str)> {
    let pairs: &[(&str, &str, &str)] = match fuel.row().unit {
        "gal" => &[("litre", "gal", "litres and gallons")],
        "kWh" => &[("kwh", "mwh", "kilowatt-hours and megawatt-hours")],
        _ => &[
            ("kwh", "therm", "kilowatt-hours and therms"),
            ("m3", "ccf", "cubic metres and hundreds of cubic feet"),
            ("ft3", "ccf", "cubic feet and hundreds of cubic feet"),
            ("ccf", "mcf", "hundreds and thousands of cubic feet"),
        ],
    };
    pairs.iter().filter_map(move |(small, large, words)| {
        let ratio = fuel_units_in(large, fuel).ok()? / fuel_units_in(small, fuel).ok()?;
        Some((ratio, *words))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn units_come_to_those_of_the_fuel() {
        let gas = Fuel::from_key("natural_gas").unwrap();
        // 1.026e-3 million Btu per standard cubic foot (40 CFR 98 table C-1, seen).
        assert_relative_eq!(fuel_units_in("ccf", gas).unwrap(), 1.026, max_relative = 1e-12);
        assert_relative_eq!(fuel_units_in("Therms", gas).unwrap(), 1.0, max_relative = 1e-15);
        // A cubic metre is 35.3147 cubic feet; a therm is 29.3071 kWh (both from memory).
        assert_relative_eq!(fuel_units_in("m3", gas).unwrap(), 0.362_33, max_relative = 1e-4);
        assert_relative_eq!(1.0 / fuel_units_in("kWh", gas).unwrap(), 29.3071, max_relative = 1e-5);
        let oil = Fuel::from_key("fuel_oil_2").unwrap();
        assert_relative_eq!(
            fuel_units_in("litre", oil).unwrap(),
            1.0 / 3.785_411_784,
            max_relative = 1e-12
        );
        let power = Fuel::from_key("electricity").unwrap();
        assert_eq!(fuel_units_in("kwh", power), Ok(1.0));
    }

    #[test]
    fn a_unit_of_another_fuel_is_refused() {
        let oil = Fuel::from_key("fuel_oil_2").unwrap();
        assert!(fuel_units_in("ccf", oil).unwrap_err().contains("gal, litre"));
        assert!(fuel_units_in("", oil).is_err());
        assert!(fuel_units_in("s", oil).is_err());
    }
}
