//! Conversion factors, each derived from exact definitions.
//!
//! # Source
//! The foot (0.3048 m), the pound (0.453 592 37 kg) and the Fahrenheit degree (5/9 K) are exact by
//! definition (NIST Special Publication 811, appendix B, from memory); the International Table
//! British thermal unit is 1055.055 852 62 J exactly (the same, from memory).

/// Metres in a foot.
pub const M_PER_FT: f64 = 0.3048;
/// Kilometres in a mile of 5280 feet.
#[cfg(feature = "live")]
pub const KM_PER_MILE: f64 = 5280.0 * M_PER_FT / 1000.0;
/// Millimetres in an inch.
pub const MM_PER_IN: f64 = 25.4;
/// Kilograms in a pound.
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Joules in a British thermal unit (International Table).
pub const J_PER_BTU: f64 = 1_055.055_852_62;
/// Kelvins in a Fahrenheit degree.
pub const K_PER_F: f64 = 5.0 / 9.0;
/// Seconds in an hour.
pub const S_PER_H: f64 = 3600.0;
/// Square metres in a square foot.
pub const M2_PER_FT2: f64 = M_PER_FT * M_PER_FT;
/// m²K/W in 1 h·ft²·°F/Btu: 0.176 110...
pub const RSI_PER_R: f64 = M2_PER_FT2 * K_PER_F * S_PER_H / J_PER_BTU;
/// W/m²K in 1 Btu/h·ft²·°F: 5.678 263...
pub const USI_PER_U: f64 = 1.0 / RSI_PER_R;
/// A resistivity of 1 h·ft²·°F/Btu per inch is a conductivity of this many W/mK: 0.144 227...
pub const K_OF_R_PER_IN: f64 = (MM_PER_IN / 1000.0) / RSI_PER_R;
/// kg/m³ in 1 lb/ft³: 16.018 46...
pub const KG_M3_PER_LB_FT3: f64 = KG_PER_LB / (M_PER_FT * M_PER_FT * M_PER_FT);
/// m³/h in 1 ft³/min: 1.699 010...
pub const M3H_PER_CFM: f64 = M_PER_FT * M_PER_FT * M_PER_FT * 60.0;
/// Kilowatt-hours in a million Btu: 293.071...
pub const KWH_PER_MMBTU: f64 = J_PER_BTU / 3.6;
/// Btu in a watt-hour: a SEER is this many times the SCOP. 3.412 14...
pub const BTU_PER_WH: f64 = S_PER_H / J_PER_BTU;
/// W/K in 1 Btu/h·°F.
pub const W_K_PER_BTU_H_F: f64 = J_PER_BTU / S_PER_H / K_PER_F;
