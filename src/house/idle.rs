//! What a house costs as it stands: doing nothing is a choice with a price.

use super::House;
use super::assess::lost;
use crate::units::Energy;

/// What the surfaces of a house lose as they stand, and what that costs at today's prices.
/// Modelled, not measured; leakage of air is in it where it was tested before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IdleCost {
    /// Heat lost a year, at the room.
    pub heat_lost: Energy,
    /// Fuel that this takes a year, in the fuel's unit: held to the bills where they are given.
    pub fuel: f64,
    /// Electricity for cooling that it takes a year, kWh.
    pub electricity_kwh: f64,
    /// What it costs a year, at today's prices.
    pub annual_cost: f64,
    /// What it costs over the life, not discounted.
    pub lifetime_cost: f64,
    /// The same, discounted to today.
    pub present_cost: f64,
}

/// The cost of leaving a house as it is, over the years that an assessment counts.
pub fn idle_cost(house: &House) -> IdleCost {
    let (energy, money) = lost(house);
    IdleCost {
        heat_lost: Energy::checked(energy.heat_saved),
        fuel: energy.fuel_saved,
        electricity_kwh: energy.electricity_saved_kwh,
        annual_cost: money.annual_savings,
        lifetime_cost: money.lifetime_savings,
        present_cost: money.npv,
    }
}
