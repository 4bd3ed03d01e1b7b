//! What gives rise to findings: answers about hazards, and figures that call for a second look.

use super::House;
use super::figures::Figures;
use super::surface::Fill;
use crate::readiness::{Finding, FindingSet, Hazards};
use crate::tables::{MIN_FILL_DENSITY, SAVED_SHARE_LIMIT};
use crate::units::Airflow;

/// What the findings are found from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Circumstances {
    pub(crate) hazards: Hazards,
    /// The least density to which a cavity is packed, lb/ft³; infinite where none is.
    pub(crate) least_density: f64,
    /// NaN where not tested.
    pub(crate) cfm50_before: f64,
    /// NaN where not tested.
    pub(crate) cfm50_after: f64,
    pub(crate) life_years: f64,
    pub(crate) cooling_degree_days_f: f64,
    /// Whether an efficiency of the cooling is given.
    pub(crate) cooled: bool,
    pub(crate) annual_savings: f64,
    pub(crate) simple_payback_years: f64,
    pub(crate) saved_share: f64,
    pub(crate) held_to_bills: bool,
}

impl Circumstances {
    /// What the reader must know.
    #[inline]
    pub(crate) fn findings(&self) -> FindingSet {
        let mut set = self.hazards.findings();
        set.add_if(self.least_density < MIN_FILL_DENSITY.value, Finding::FillDensityLow);
        set.add_if(self.annual_savings <= 0.0, Finding::NoSaving);
        set.add_if(self.held_to_bills, Finding::HeldToBills);
        set.add_if(self.saved_share > SAVED_SHARE_LIMIT.value, Finding::SavedShareHigh);
        set.add_if(self.simple_payback_years > self.life_years, Finding::PaybackBeyondLife);
        set.add_if(self.cfm50_after > self.cfm50_before, Finding::LeakageRose);
        let one_test = self.cfm50_after.is_nan() != self.cfm50_before.is_nan();
        set.add_if(one_test, Finding::LeakageTestIncomplete);
        let cooling_left_out = self.cooling_degree_days_f > 0.0 && !self.cooled;
        set.add_if(cooling_left_out, Finding::CoolingNotCounted);
        set
    }
}

#[inline]
pub(crate) fn findings(house: &House, figures: &Figures<f64>) -> FindingSet {
    let densities = house.surfaces.as_slice().iter().map(|surface| match surface.fill {
        Fill::Packed(fill) => fill.density.ip(),
        Fill::Open(_) => f64::INFINITY,
    });
    let tested = |flow: Option<Airflow>| flow.map_or(f64::NAN, Airflow::ip);
    let set = Circumstances {
        hazards: house.hazards,
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
    }
    .findings();
    #[cfg(feature = "house-file")]
    if let Some(site) = house.site.as_deref() {
        return set.without(site.cleared).with(site.raised);
    }
    set
}
