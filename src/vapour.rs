//! Water vapour in air: saturation and dew point.

use crate::tables::{
    SATURATION_A_ICE, SATURATION_A_WATER, SATURATION_B_ICE, SATURATION_B_WATER,
    SATURATION_PRESSURE_0C,
};

/// Saturation pressure of water vapour, Pa.
///
/// # Formula
/// `610.5 exp(17.269 t/(237.3 + t))` from 0 °C up, `610.5 exp(21.875 t/(265.5 + t))` below.
///
/// # Units
/// `celsius` in °C, the result in Pa.
///
/// # Source
/// ISO 13788, annex on saturation pressure (from memory).
///
/// # Valid range
/// Temperatures of rooms and weather, -60 to 60 °C.
///
/// # Examples
/// ```
/// let p = studbay::moisture::saturation_pressure_pa(20.0);
/// assert!((p - 2337.0).abs() < 0.5);
/// ```
pub fn saturation_pressure_pa(celsius: f64) -> f64 {
    let (a, b) = if celsius >= 0.0 {
        (SATURATION_A_WATER.value, SATURATION_B_WATER.value)
    } else {
        (SATURATION_A_ICE.value, SATURATION_B_ICE.value)
    };
    SATURATION_PRESSURE_0C.value * libm::exp(a * celsius / (b + celsius))
}

/// The temperature, °C, at which vapour of this pressure (Pa) saturates: the inverse of
/// [`saturation_pressure_pa`].
pub fn dew_point_c(pressure_pa: f64) -> f64 {
    let log = libm::log(pressure_pa / SATURATION_PRESSURE_0C.value);
    let (a, b) = if log >= 0.0 {
        (SATURATION_A_WATER.value, SATURATION_B_WATER.value)
    } else {
        (SATURATION_A_ICE.value, SATURATION_B_ICE.value)
    };
    b * log / (a - log)
}
