//! What gives rise to findings: answers about hazards, and figures that call for a second look.

use super::House;
use super::figures::Figures;
use super::surface::Fill;
use crate::numeric::Num;
use crate::readiness::{Finding, FindingSet, HazardCodes, raise};
use crate::tables::{MIN_FILL_DENSITY, SAVED_SHARE_LIMIT};
use crate::units::Airflow;

/// What the findings of one house are found from, or of several side by side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Circumstances<N: Num> {
    pub(crate) hazards: HazardCodes<N>,
    /// The least density to which a cavity is packed, lb/ft³; infinite where none is.
    pub(crate) least_density: N,
    /// NaN where not tested.
    pub(crate) cfm50_before: N,
    /// NaN where not tested.
    pub(crate) cfm50_after: N,
    pub(crate) life_years: N,
    pub(crate) cooling_degree_days_f: N,
    /// Whether an efficiency of the cooling is given.
    pub(crate) cooled: N::Mask,
    pub(crate) annual_savings: N,
    pub(crate) simple_payback_years: N,
    pub(crate) saved_share: N,
    pub(crate) held_to_bills: N::Mask,
}

impl<N: Num> Circumstances<N> {
    /// What the reader must know, as flags.
    #[inline(always)]
    pub(crate) fn findings(&self) -> N::Flags {
        let lit = |value| self.least_density.like(value);
        let zero = lit(0.0);
        let (before, after) = (self.cfm50_before, self.cfm50_after);
        let (tested_before, tested_after) = (before.at_most(before), after.at_most(after));
        let one_test = (tested_before & !tested_after) | (tested_after & !tested_before);
        let cooling_left_out = zero.less(self.cooling_degree_days_f) & !self.cooled;
        self.hazards.findings()
            | raise::<N>(
                self.least_density.less(lit(MIN_FILL_DENSITY.value)),
                Finding::FillDensityLow,
            )
            | raise::<N>(self.annual_savings.at_most(zero), Finding::NoSaving)
            | raise::<N>(self.held_to_bills, Finding::HeldToBills)
            | raise::<N>(
                lit(SAVED_SHARE_LIMIT.value).less(self.saved_share),
                Finding::SavedShareHigh,
            )
            | raise::<N>(
                self.life_years.less(self.simple_payback_years),
                Finding::PaybackBeyondLife,
            )
            | raise::<N>(before.less(after), Finding::LeakageRose)
            | raise::<N>(one_test, Finding::LeakageTestIncomplete)
            | raise::<N>(cooling_left_out, Finding::CoolingNotCounted)
    }
}

#[inline]
pub(crate) fn findings(house: &House, figures: &Figures<f64>) -> FindingSet {
    let densities = house.surfaces.as_slice().iter().map(|surface| match surface.fill {
        Fill::Packed(fill) => fill.density.ip(),
        Fill::Open(_) => f64::INFINITY,
    });
    let tested = |flow: Option<Airflow>| flow.map_or(f64::NAN, Airflow::ip);
    let circumstances = Circumstances {
        hazards: house.hazards.codes(),
        least_density: densities.fold(f64::INFINITY, f64::min),
        cfm50_before: tested(house.leakage.before),
        cfm50_after: tested(house.leakage.after),
        life_years: f64::from(house.offer.life_years),
        cooling_degree_days_f: house.climate.cooling_degree_days.ip(),
        cooled: house.plant.cooling_seer.is_some(),
        annual_savings: figures.money.annual_savings,
        simple_payback_years: figures.money.simple_payback_years,
        saved_share: figures.energy.saved_share,
        held_to_bills: figures.energy.capped,
    };
    let set = FindingSet::from_flags(circumstances.findings());
    #[cfg(feature = "house-file")]
    if let Some(site) = house.site.as_deref() {
        return set.without(site.cleared).with(site.raised);
    }
    set
}
