//! What kind of number a field or a result is, and how it reads in each unit system.

use super::factor;

/// The two unit systems that every door accepts and every result can be given in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// Inch-pound units.
    #[default]
    Ip,
    /// International System units.
    Si,
}

impl UnitSystem {
    /// Reads `ip` or `si`.
    pub fn from_key(key: &str) -> Option<Self> {
        match key {
            "ip" => Some(Self::Ip),
            "si" => Some(Self::Si),
            _ => None,
        }
    }
}

/// A kind of number with one unit in each system.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// A pure number or a share.
    Number,
    /// ft² / m².
    Area,
    /// in / mm.
    Length,
    /// ft / m.
    Elevation,
    /// h·ft²·°F/Btu / m²K/W.
    Resistance,
    /// h·ft²·°F/Btu per inch; in SI its reciprocal, the conductivity in W/mK.
    Resistivity,
    /// Btu/h·ft²·°F / W/m²K.
    Transmittance,
    /// Btu/h·°F / W/K.
    Conductance,
    /// lb/ft³ / kg/m³.
    Density,
    /// °F·day / K·day.
    DegreeDays,
    /// ft³/min / m³/h.
    Airflow,
    /// Btu/Wh (SEER) / W/W (SCOP).
    CoolingEfficiency,
    /// lb / kg.
    Mass,
    /// kg in both systems.
    Kilograms,
    /// ft³ / m³.
    Volume,
    /// Million Btu / kWh.
    Heat,
    /// kWh in both systems.
    Electricity,
    /// The fuel's own unit in both systems.
    FuelUnits,
    /// The user's currency.
    Money,
    /// A rate a year.
    Rate,
    /// Years.
    Years,
    /// kg CO2e in both systems.
    Co2e,
    /// kg CO2e per kWh in both systems.
    GridFactor,
    /// kg CO2e per million Btu in both systems.
    FuelFactor,
    /// Million Btu per unit of fuel in both systems.
    HeatContent,
    /// Btu/h per (ft³/min · °F) in both systems.
    AirHeatCapacity,
}

/// How an inch-pound number becomes an SI number.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Conversion {
    /// The same number.
    Same,
    /// SI = factor × IP.
    Times(f64),
    /// SI = factor / IP.
    Over(f64),
}

impl Quantity {
    pub(crate) const fn conversion(self) -> Conversion {
        use Conversion::{Over, Times};
        match self {
            Self::Area => Times(factor::M2_PER_FT2),
            Self::Length => Times(factor::MM_PER_IN),
            Self::Elevation => Times(factor::M_PER_FT),
            Self::Resistance => Times(factor::RSI_PER_R),
            Self::Resistivity => Over(factor::K_OF_R_PER_IN),
            Self::Transmittance => Times(factor::USI_PER_U),
            Self::Conductance => Times(factor::W_K_PER_BTU_H_F),
            Self::Density => Times(factor::KG_M3_PER_LB_FT3),
            Self::DegreeDays => Times(factor::K_PER_F),
            Self::Airflow => Times(factor::M3H_PER_CFM),
            Self::CoolingEfficiency => Times(1.0 / factor::BTU_PER_WH),
            Self::Mass => Times(factor::KG_PER_LB),
            Self::Volume => Times(factor::M2_PER_FT2 * factor::M_PER_FT),
            Self::Heat => Times(factor::KWH_PER_MMBTU),
            Self::Number
            | Self::Kilograms
            | Self::Electricity
            | Self::FuelUnits
            | Self::Money
            | Self::Rate
            | Self::Years
            | Self::Co2e
            | Self::GridFactor
            | Self::FuelFactor
            | Self::HeatContent
            | Self::AirHeatCapacity => Conversion::Same,
        }
    }

    /// An SI number in inch-pound units.
    pub fn ip_from_si(self, si: f64) -> f64 {
        match self.conversion() {
            Conversion::Same => si,
            Conversion::Times(f) => si / f,
            Conversion::Over(f) => f / si,
        }
    }

    /// An inch-pound number in SI units.
    pub fn si_from_ip(self, ip: f64) -> f64 {
        match self.conversion() {
            Conversion::Same => ip,
            Conversion::Times(f) => ip * f,
            Conversion::Over(f) => f / ip,
        }
    }

    /// An inch-pound number in the wanted system.
    pub fn express(self, ip: f64, units: UnitSystem) -> f64 {
        match units {
            UnitSystem::Ip => ip,
            UnitSystem::Si => self.si_from_ip(ip),
        }
    }

    /// Whether a larger inch-pound number is a smaller SI number (resistivity and conductivity).
    pub const fn is_reciprocal(self) -> bool {
        matches!(self.conversion(), Conversion::Over(_))
    }

    /// Whether both systems write the same number.
    pub const fn is_shared(self) -> bool {
        matches!(self.conversion(), Conversion::Same)
    }

    /// The unit's symbol in the wanted system; empty for a pure number.
    #[expect(clippy::too_many_lines, reason = "a table")]
    pub const fn unit(self, units: UnitSystem) -> &'static str {
        let ip = matches!(units, UnitSystem::Ip);
        match self {
            Self::Number | Self::Money | Self::FuelUnits => "",
            Self::Area => {
                if ip {
                    "ft²"
                } else {
                    "m²"
                }
            }
            Self::Length => {
                if ip {
                    "in"
                } else {
                    "mm"
                }
            }
            Self::Elevation => {
                if ip {
                    "ft"
                } else {
                    "m"
                }
            }
            Self::Resistance => {
                if ip {
                    "h·ft²·°F/Btu"
                } else {
                    "m²K/W"
                }
            }
            Self::Resistivity => {
                if ip {
                    "h·ft²·°F/Btu per in"
                } else {
                    "W/mK"
                }
            }
            Self::Transmittance => {
                if ip {
                    "Btu/h·ft²·°F"
                } else {
                    "W/m²K"
                }
            }
            Self::Conductance => {
                if ip {
                    "Btu/h·°F"
                } else {
                    "W/K"
                }
            }
            Self::Density => {
                if ip {
                    "lb/ft³"
                } else {
                    "kg/m³"
                }
            }
            Self::DegreeDays => {
                if ip {
                    "°F·day"
                } else {
                    "K·day"
                }
            }
            Self::Airflow => {
                if ip {
                    "ft³/min"
                } else {
                    "m³/h"
                }
            }
            Self::CoolingEfficiency => {
                if ip {
                    "Btu/Wh"
                } else {
                    "W/W"
                }
            }
            Self::Mass => {
                if ip {
                    "lb"
                } else {
                    "kg"
                }
            }
            Self::Volume => {
                if ip {
                    "ft³"
                } else {
                    "m³"
                }
            }
            Self::Heat => {
                if ip {
                    "million Btu"
                } else {
                    "kWh"
                }
            }
            Self::Kilograms => "kg",
            Self::Electricity => "kWh",
            Self::Rate => "a year",
            Self::Years => "years",
            Self::Co2e => "kg CO2e",
            Self::GridFactor => "kg CO2e/kWh",
            Self::FuelFactor => "kg CO2e/million Btu",
            Self::HeatContent => "million Btu/unit",
            Self::AirHeatCapacity => "Btu/h per ft³/min·°F",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn factors_agree_with_printed_ones() {
        // 5.678263 W/m2K per Btu/h ft2 F and 0.1442279 W/mK per Btu in/h ft2 F: printed in many
        // handbooks to these digits, from memory; the exact definitions give them.
        assert_relative_eq!(factor::USI_PER_U, 5.678_263_341, max_relative = 1e-9);
        assert_relative_eq!(factor::K_OF_R_PER_IN, 0.144_227_9, max_relative = 1e-6);
        assert_relative_eq!(factor::KG_M3_PER_LB_FT3, 16.018_463, max_relative = 1e-7);
        assert_relative_eq!(factor::KWH_PER_MMBTU, 293.071_07, max_relative = 1e-7);
        assert_relative_eq!(factor::M3H_PER_CFM, 1.699_011, max_relative = 1e-6);
        assert_relative_eq!(factor::BTU_PER_WH, 3.412_142, max_relative = 1e-6);
    }

    #[test]
    fn conductivity_is_the_reciprocal_of_resistivity() {
        // Softwood: R 1.25 an inch is 0.115 W/mK (Wood Handbook eq. 4-15 gives 0.1153 at G 0.40).
        let k = Quantity::Resistivity.si_from_ip(1.25);
        assert_relative_eq!(k, 0.115_382, max_relative = 1e-5);
        assert_relative_eq!(Quantity::Resistivity.ip_from_si(k), 1.25, max_relative = 1e-15);
    }
}
