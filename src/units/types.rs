//! Newtypes for the public interface: a number that knows its unit and cannot be out of bounds.

use super::Quantity;
use std::fmt;

/// A number that the physics of its type does not allow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfBounds {
    /// The type's name.
    pub kind: &'static str,
    /// The number that was refused.
    pub value: f64,
    /// The least allowed number, in inch-pound units.
    pub low: f64,
    /// The greatest allowed number, in inch-pound units.
    pub high: f64,
}

impl fmt::Display for OutOfBounds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} is {}, allowed is {} to {}", self.kind, self.value, self.low, self.high)
    }
}

impl std::error::Error for OutOfBounds {}

macro_rules! newtype {
    ($(#[$doc:meta])* $name:ident, $quantity:ident, $low:expr, $high:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        #[repr(transparent)]
        pub struct $name(f64);

        impl $name {
            /// The quantity that this type measures.
            pub const QUANTITY: Quantity = Quantity::$quantity;

            /// From a number in inch-pound units.
            ///
            /// # Errors
            /// [`OutOfBounds`] when the number is not finite or outside what the type allows.
            pub fn from_ip(value: f64) -> Result<Self, OutOfBounds> {
                let (low, high): (f64, f64) = ($low, $high);
                if value.is_finite() && value >= low && value <= high {
                    Ok(Self(value))
                } else {
                    Err(OutOfBounds { kind: stringify!($name), value, low, high })
                }
            }

            /// From a number in SI units.
            ///
            /// # Errors
            /// [`OutOfBounds`] as for [`Self::from_ip`].
            pub fn from_si(value: f64) -> Result<Self, OutOfBounds> {
                Self::from_ip(Self::QUANTITY.ip_from_si(value))
            }

            /// A number that the field registry or the arithmetic has already bounded.
            pub(crate) const fn checked(value: f64) -> Self {
                Self(value)
            }

            /// The number in inch-pound units.
            pub const fn ip(self) -> f64 {
                self.0
            }

            /// The number in SI units.
            pub fn si(self) -> f64 {
                Self::QUANTITY.si_from_ip(self.0)
            }
        }
    };
}

newtype!(
    /// An area: ft² / m².
    Area, Area, 0.0, f64::MAX
);
newtype!(
    /// A thickness or depth: in / mm.
    Length, Length, 0.0, f64::MAX
);
newtype!(
    /// Height above sea level: ft / m.
    Elevation, Elevation, -1500.0, 30_000.0
);
newtype!(
    /// Thermal resistance of an area: h·ft²·°F/Btu / m²K/W.
    RValue, Resistance, 0.0, f64::MAX
);
newtype!(
    /// Resistance of one inch: h·ft²·°F/Btu per in; SI gives the conductivity in W/mK.
    Resistivity, Resistivity, f64::MIN_POSITIVE, f64::MAX
);
newtype!(
    /// Thermal transmittance: Btu/h·ft²·°F / W/m²K.
    UValue, Transmittance, 0.0, f64::MAX
);
newtype!(
    /// Heat flow per degree: Btu/h·°F / W/K. May be negative: a difference of two.
    Conductance, Conductance, f64::MIN, f64::MAX
);
newtype!(
    /// Mass in a volume: lb/ft³ / kg/m³.
    Density, Density, 0.0, f64::MAX
);
newtype!(
    /// Degree-days of a year: °F·day / K·day.
    DegreeDays, DegreeDays, 0.0, f64::MAX
);
newtype!(
    /// Flow of air: ft³/min / m³/h.
    Airflow, Airflow, 0.0, f64::MAX
);
newtype!(
    /// Mass: lb / kg.
    Mass, Mass, 0.0, f64::MAX
);
newtype!(
    /// Heat of a year: million Btu / kWh. May be negative: a saving that is a loss.
    Energy, Heat, f64::MIN, f64::MAX
);
newtype!(
    /// A share from 0 to 1.
    Fraction, Number, 0.0, 1.0
);

impl RValue {
    /// The transmittance of this resistance.
    pub fn to_u(self) -> UValue {
        UValue::checked(1.0 / self.0)
    }
}

impl UValue {
    /// The resistance of this transmittance.
    pub fn to_r(self) -> RValue {
        RValue::checked(1.0 / self.0)
    }
}

impl std::ops::Add for RValue {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl std::iter::Sum for RValue {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self(0.0), std::ops::Add::add)
    }
}

impl std::ops::Mul<Area> for UValue {
    type Output = Conductance;
    fn mul(self, area: Area) -> Conductance {
        Conductance::checked(self.0 * area.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_cannot_be() {
        assert!(RValue::from_ip(f64::NAN).is_err());
        assert!(Area::from_ip(-1.0).is_err());
        assert!(Fraction::from_ip(1.01).is_err());
        let fault = RValue::from_si(f64::INFINITY).map_err(|e| e.to_string());
        assert!(fault.is_err_and(|text| text.starts_with("RValue is inf, allowed is 0 to")));
    }
}
