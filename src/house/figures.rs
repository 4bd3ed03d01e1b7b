//! Every figure of a house, before it becomes an assessment.

use crate::carbon::CarbonFigures;
use crate::energy::EnergyFigures;
use crate::money::MoneyFigures;
use crate::numeric::Num;

/// How many of the results are numbers; they stand first in `RESULTS`.
pub(crate) const NUMBERS: usize = 22;

/// Every figure of a house.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Figures<N: Num> {
    pub(crate) u_before: N,
    pub(crate) u_after: N,
    pub(crate) energy: EnergyFigures<N>,
    pub(crate) money: MoneyFigures<N>,
    pub(crate) carbon: CarbonFigures<N>,
    pub(crate) fill_mass_lb: N,
    pub(crate) bags: N,
}

impl<N: Num> Figures<N> {
    /// Every figure, in the order of the numbers in `RESULTS`.
    #[inline(always)]
    pub(crate) fn all(&self) -> [N; NUMBERS] {
        let Self { u_before, u_after, energy, money, carbon, fill_mass_lb, bags } = *self;
        [
            u_before,
            u_after,
            energy.heat_saved,
            energy.fuel_saved,
            energy.electricity_saved_kwh,
            energy.saved_share,
            money.annual_savings,
            money.net_cost,
            money.simple_payback_years,
            money.discounted_payback_years,
            money.npv,
            money.sir,
            money.airr,
            money.irr,
            money.lifetime_savings,
            carbon.annual_co2e_kg,
            carbon.lifetime_co2e_kg,
            carbon.embodied_co2e_kg,
            carbon.carbon_payback_years,
            carbon.cost_per_tonne,
            fill_mass_lb,
            bags,
        ]
    }
}
