//! Conductivity of softwood by density and moisture.

use crate::units::Quantity;

/// Conductivity of wood across the grain, W/mK.
///
/// # Formula
/// `k = G (0.1941 + 0.004064 M) + 0.01864`
///
/// # Units
/// `specific_gravity` on oven-dry mass and volume at the given moisture; `moisture_percent` in per
/// cent of oven-dry mass; the result in W/mK.
///
/// # Source
/// USDA Forest Products Laboratory, Wood Handbook, equation 4-15 (seen).
///
/// # Valid range
/// Specific gravity above 0.3 and moisture up to 25 %, about room temperature.
///
/// # Examples
/// ```
/// // Softwood of G 0.40 at 12 % moisture: R 1.25 an inch.
/// let r = studbay::assembly::wood_resistivity_ip(0.40, 12.0);
/// assert!((r - 1.25).abs() < 0.01);
/// ```
pub fn wood_conductivity_si(specific_gravity: f64, moisture_percent: f64) -> f64 {
    specific_gravity * (0.1941 + 0.004_064 * moisture_percent) + 0.018_64
}

/// Resistivity of wood, h·ft²·°F/Btu per inch: [`wood_conductivity_si`] in the trade's unit.
pub fn wood_resistivity_ip(specific_gravity: f64, moisture_percent: f64) -> f64 {
    Quantity::Resistivity.ip_from_si(wood_conductivity_si(specific_gravity, moisture_percent))
}
