//! A temperature, and how a person gives one.

use crate::error::{Issue, IssueCode};
use crate::units::UnitSystem;
use crate::units::factor::K_PER_F;

/// A temperature. It is kept in degrees Celsius, in which the vapour formulas are written.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

/// Fahrenheit degrees at 0 °C.
const ICE_F: f64 = 32.0;

impl Temperature {
    /// From degrees Celsius; `None` where it is not finite or below absolute zero.
    pub fn from_c(celsius: f64) -> Option<Self> {
        (celsius.is_finite() && celsius >= -273.15).then_some(Self(celsius))
    }

    /// From degrees Fahrenheit; `None` where it is not finite or below absolute zero.
    pub fn from_f(fahrenheit: f64) -> Option<Self> {
        Self::from_c((fahrenheit - ICE_F) * K_PER_F)
    }

    pub(crate) const fn of_c(celsius: f64) -> Self {
        Self(celsius)
    }

    /// Degrees Celsius.
    pub const fn c(self) -> f64 {
        self.0
    }

    /// Degrees Fahrenheit.
    pub fn f(self) -> f64 {
        self.0 / K_PER_F + ICE_F
    }

    /// In a unit system.
    pub fn express(self, units: UnitSystem) -> f64 {
        match units {
            UnitSystem::Ip => self.f(),
            UnitSystem::Si => self.c(),
        }
    }
}

/// A temperature as given: under its Fahrenheit or its Celsius name, never both.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Given {
    /// Degrees Fahrenheit.
    pub f: Option<f64>,
    /// Degrees Celsius.
    pub c: Option<f64>,
}

impl Given {
    /// The temperature, within a range in °C that its faults name in the unit that was written.
    pub(crate) fn check(
        self,
        stem: &str,
        low: f64,
        high: f64,
    ) -> Result<Option<Temperature>, Issue> {
        let (name, value, temperature) = match (self.f, self.c) {
            (None, None) => return Ok(None),
            (Some(f), Some(_)) => {
                let reason = format!("given twice, as {stem}_f and as {stem}_c");
                return Err(Issue::new(
                    IssueCode::GivenTwice,
                    format!("{stem}_f"),
                    show(f),
                    reason,
                ));
            }
            (Some(f), None) => (format!("{stem}_f"), f, Temperature::from_f(f)),
            (None, Some(c)) => (format!("{stem}_c"), c, Temperature::from_c(c)),
        };
        let (least, most) = (Temperature(low), Temperature(high));
        let in_unit = |t: Temperature| if self.f.is_some() { t.f() } else { t.c() };
        let allowed = format!("allowed is {} to {}", show(in_unit(least)), show(in_unit(most)));
        if !value.is_finite() {
            return Err(Issue::new(IssueCode::NotANumber, name, show(value), allowed));
        }
        match temperature.filter(|t| (low..=high).contains(&t.0)) {
            Some(temperature) => Ok(Some(temperature)),
            None => Err(Issue::new(IssueCode::OutOfRange, name, show(value), allowed)),
        }
    }
}

fn show(value: f64) -> String {
    format!("{}", (value * 1e6).round() / 1e6)
}
