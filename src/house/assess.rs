//! The one calculation: from a house to its figures.

use super::assessment::Assessment;
use super::circumstances::findings;
use super::figures::Figures;
use super::surface::Surface;
use super::terms::{Body, HouseTerms, Terms};
use super::{Field, House};
use crate::assembly::{PackedCavity, SurfaceOutcome, open_attic, packed_cavity};
use crate::carbon::carbon;
use crate::energy::{EnergyFigures, energy};
use crate::job::bags;
use crate::money::{MoneyFigures, MoneyTerms, money, worth_after};
use crate::numeric::tape::Tape;
use crate::numeric::{Calc, Label, Num, Plain, Read, Step};
use crate::units::{Mass, Quantity};

/// What a surface adds to the house.
#[derive(Clone, Copy, Debug)]
struct Share<N> {
    area_ft2: N,
    u_before: N,
    u_after: N,
    conductance_saved: N,
    fill_volume_ft3: N,
    fill_mass_lb: N,
}

static UA_SAVED: Label = Label::new(
    "ua_saved",
    "heat flow saved for each degree of indoor-outdoor difference",
    Quantity::Conductance,
);
static FILL_VOLUME: Label =
    Label::new("fill_volume_ft3", "volume that the fibre takes", Quantity::Volume);
static FILL_MASS: Label = Label::new("fill_mass_lb", "fibre in this surface", Quantity::Mass);
static FILL_MASS_SUM: Label =
    Label::new("fill_mass_sum_lb", "fibre in the whole house", Quantity::Mass);
static UA_SUM: Label = Label::new(
    "ua_saved_sum",
    "heat flow saved for each degree, all surfaces",
    Quantity::Conductance,
);
static U_SAVED_WITHOUT_BATT: Label = Label::new(
    "u_saved_without_batt",
    "transmittance saved by taking the batt out and filling the whole cavity",
    Quantity::Transmittance,
);
static U_BEFORE: Label =
    Label::new("u_before_mean", "transmittance now, mean by area", Quantity::Transmittance);
static U_AFTER: Label =
    Label::new("u_after_mean", "transmittance after, mean by area", Quantity::Transmittance);

#[inline(always)]
fn share<C: Calc>(cx: &C, terms: &Terms<C::N>) -> Share<C::N> {
    let outcome = match &terms.body {
        Body::Packed(packed) => packed_cavity(cx, packed),
        Body::Open(open) => open_attic(cx, open),
    };
    share_of(cx, terms, &outcome)
}

/// The batt is there before and gone after: a missed cavity is left with nothing in it.
fn share_without_batt<C: Calc>(cx: &C, terms: &Terms<C::N>) -> Share<C::N> {
    let Body::Packed(packed) = &terms.body else { return share(cx, terms) };
    let none = cx.lit(0.0);
    let emptied = PackedCavity {
        batt_thickness_in: none,
        batt_missing_fraction: none,
        gap_delta_u: none,
        ..*packed
    };
    let now = packed_cavity(cx, packed);
    let then = packed_cavity(cx, &emptied);
    let u_saved = cx.named(&U_SAVED_WITHOUT_BATT, now.u_before - then.u_after);
    share_of(cx, terms, &SurfaceOutcome { u_before: now.u_before, u_saved, ..then })
}

#[inline(always)]
fn share_of<C: Calc>(cx: &C, terms: &Terms<C::N>, outcome: &SurfaceOutcome<C::N>) -> Share<C::N> {
    let conductance_saved =
        cx.named(&UA_SAVED, terms.temperature_factor * terms.area_ft2 * outcome.u_saved);
    let volume = cx.named(&FILL_VOLUME, terms.area_ft2 * outcome.mean_fill_depth / cx.lit(12.0));
    let fill_mass_lb = cx.named(&FILL_MASS, volume * terms.fill_density_lb_ft3);
    Share {
        area_ft2: terms.area_ft2,
        u_before: outcome.u_before,
        u_after: outcome.u_after,
        conductance_saved,
        fill_volume_ft3: volume,
        fill_mass_lb,
    }
}

/// Sums over surfaces. A mean is taken round the first surface's value, so that a single surface
/// keeps its own to the bit.
struct Sums<N> {
    first: Share<N>,
    area: N,
    conductance: N,
    mass: N,
    excess_before: N,
    excess_after: N,
    many: bool,
}

impl<N: Num> Sums<N> {
    #[inline(always)]
    fn new(first: Share<N>) -> Self {
        Self {
            first,
            area: first.area_ft2,
            conductance: first.conductance_saved,
            mass: first.fill_mass_lb,
            excess_before: first.area_ft2.like(0.0),
            excess_after: first.area_ft2.like(0.0),
            many: false,
        }
    }

    fn add(&mut self, next: Share<N>) {
        self.excess_before =
            self.excess_before + next.area_ft2 * (next.u_before - self.first.u_before);
        self.excess_after = self.excess_after + next.area_ft2 * (next.u_after - self.first.u_after);
        self.area = self.area + next.area_ft2;
        self.conductance = self.conductance + next.conductance_saved;
        self.mass = self.mass + next.fill_mass_lb;
        self.many = true;
    }

    #[inline(always)]
    fn means<C: Calc<N = N>>(&self, cx: &C) -> (N, N) {
        if !self.many {
            return (self.first.u_before, self.first.u_after);
        }
        (
            cx.named(&U_BEFORE, self.first.u_before + self.excess_before / self.area),
            cx.named(&U_AFTER, self.first.u_after + self.excess_after / self.area),
        )
    }
}

#[inline(always)]
fn house_figures<C: Calc>(cx: &C, sums: &Sums<C::N>, terms: &HouseTerms<C::N>) -> Figures<C::N> {
    let (u_before, u_after) = sums.means(cx);
    let conductance =
        if sums.many { cx.named(&UA_SUM, sums.conductance) } else { sums.conductance };
    let energy = energy(cx, conductance, &terms.energy);
    let money = money(cx, energy.fuel_saved, energy.electricity_saved_kwh, &terms.money);
    let fill_mass_lb = if sums.many { cx.named(&FILL_MASS_SUM, sums.mass) } else { sums.mass };
    let bags = bags(cx, fill_mass_lb, terms.bag_weight_lb);
    let carbon = carbon(
        cx,
        [energy.fuel_saved_mmbtu, energy.fuel_saved, energy.electricity_saved_kwh],
        fill_mass_lb,
        money.net_cost,
        &terms.carbon,
    );
    Figures { u_before, u_after, energy, money, carbon, fill_mass_lb, bags }
}

#[cfg(any(feature = "arrow", feature = "csv"))]
/// The figures of a house with one surface, whose terms are read already.
#[inline(always)]
pub(crate) fn one_surface<C: Calc>(
    cx: &C,
    surface: &Terms<C::N>,
    house: &HouseTerms<C::N>,
) -> Figures<C::N> {
    house_figures(cx, &Sums::new(share(cx, surface)), house)
}

#[inline]
fn figures<C: Read>(cx: &C, house: &House) -> Figures<C::N> {
    let read = |index: usize, surface: &Surface| {
        cx.enter(Some(index));
        let terms = Terms::read(cx, surface);
        if surface.batt_removed { share_without_batt(cx, &terms) } else { share(cx, &terms) }
    };
    let surfaces = house.surfaces.as_slice();
    let mut sums = Sums::new(read(0, &surfaces[0]));
    for (index, surface) in surfaces.iter().enumerate().skip(1) {
        sums.add(read(index, surface));
    }
    cx.enter(None);
    house_figures(cx, &sums, &HouseTerms::read(cx, house))
}

/// Assesses a house: what it loses now and after the fill, what that saves, what it costs, what it
/// takes, and whether the work may start. Allocates nothing.
///
/// # Examples
/// ```
/// use studbay::house::{Cell, House, assess};
///
/// let house = House::builder()
///     .id("example-1")
///     .named("wall_area_ft2", Cell::Number(1200.0))
///     .named("series_r", Cell::Number(3.06))
///     .named("heating_degree_days_f", Cell::Number(5600.0))
///     .named("heating_efficiency", Cell::Number(0.8))
///     .named("fuel", Cell::Text("natural_gas"))
///     .named("fuel_price", Cell::Number(1.5))
///     .named("installed_cost", Cell::Number(2400.0))
///     .build()?;
/// let assessment = assess(&house);
/// let payback = assessment.simple_payback_years.expect("it saves");
/// let product = payback * assessment.annual_savings;
/// assert!((product - assessment.net_cost).abs() < 1e-9);
/// # Ok::<(), studbay::error::InputError>(())
/// ```
#[inline]
pub fn assess(house: &House) -> Assessment {
    let figures = figures(&Plain, house);
    Assessment::new(house, &figures, findings(house, &figures))
}

/// What the surfaces lose as they stand, in energy and money of a year: the same formulas, with
/// the whole of their heat flow in the place of what is saved, all leakage where it was tested
/// before and after, and nothing paid.
pub(super) fn lost(house: &House) -> (EnergyFigures<f64>, MoneyFigures<f64>) {
    let of_surface = |surface: &Surface| {
        let terms = Terms::read(&Plain, surface);
        terms.temperature_factor * terms.area_ft2 * share(&Plain, &terms).u_before
    };
    let conductance = house.surfaces.as_slice().iter().map(of_surface).sum();
    let mut terms = HouseTerms::read(&Plain, house);
    terms.energy.cfm50_after = 0.0;
    let energy = energy(&Plain, conductance, &terms.energy);
    let terms = MoneyTerms { installed_cost: 0.0, rebate: 0.0, ..terms.money };
    let money = money(&Plain, energy.fuel_saved, energy.electricity_saved_kwh, &terms);
    (energy, money)
}

/// Money of any saving and cost at the prices, rates and life of a house, when the work is done
/// `delay` years from now and its savings are counted to the same last year.
pub(crate) fn money_of(
    house: &House,
    fuel_saved: f64,
    electricity_kwh: f64,
    net_cost: f64,
    delay: u8,
) -> MoneyFigures<f64> {
    let mut terms = HouseTerms::read(&Plain, house).money;
    (terms.installed_cost, terms.rebate, terms.tax_credit_fraction) = (net_cost, 0.0, 0.0);
    for _ in 0..delay {
        terms.fuel_price *= 1.0 + terms.fuel_escalation;
        terms.electricity_price *= 1.0 + terms.electricity_escalation;
    }
    terms.life_years = (terms.life_years - f64::from(delay)).max(0.0);
    money(&Plain, fuel_saved, electricity_kwh, &terms)
}

/// The fibre of one surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceFill {
    /// Volume that the fibre takes, ft³.
    pub volume_ft3: f64,
    /// Its mass; the masses of the surfaces, added in their order, are the house's to the bit.
    pub mass: Mass,
}

/// The fibre of each surface, in their order: what [`assess`] adds up.
pub fn surface_fills(house: &House) -> Vec<SurfaceFill> {
    let fill = |surface: &Surface| {
        let share = share(&Plain, &Terms::read(&Plain, surface));
        SurfaceFill { volume_ft3: share.fill_volume_ft3, mass: Mass::checked(share.fill_mass_lb) }
    };
    house.surfaces().iter().map(fill).collect()
}

/// The derivation of every figure of [`assess`], line by line: each input with where it came from,
/// each intermediate figure with its formula, its numbers, its unit and its source. It is the record
/// of the same calculation, not a second one.
pub fn explain(house: &House) -> Vec<Step> {
    let tape = Tape::default();
    let figures = figures(&&tape, house);
    tape.steps(&figures.all())
}

/// The figures that a sample of houses is judged by; NaN for none.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Judged {
    pub(crate) fuel_saved: f64,
    pub(crate) annual_savings: f64,
    pub(crate) net_cost: f64,
    pub(crate) simple_payback_years: f64,
    pub(crate) npv: f64,
    pub(crate) annual_co2e_kg: f64,
    pub(crate) lifetime_co2e_kg: f64,
}

/// A few figures of [`assess`], by the same calculation: what nobody asks for (rates of return, the
/// discounted payback) the compiler leaves out.
#[inline]
pub(crate) fn judged(house: &House) -> Judged {
    let Figures { energy, money, carbon, .. } = figures(&Plain, house);
    Judged {
        fuel_saved: energy.fuel_saved,
        annual_savings: money.annual_savings,
        net_cost: money.net_cost,
        simple_payback_years: money.simple_payback_years,
        npv: money.npv,
        annual_co2e_kg: carbon.annual_co2e_kg,
        lifetime_co2e_kg: carbon.lifetime_co2e_kg,
    }
}

/// Discounted payback, savings-to-investment ratio and internal rate of return of [`assess`], by the
/// same calculation; NaN for none.
pub(crate) fn returns(house: &House) -> [f64; 3] {
    let Figures { money, .. } = figures(&Plain, house);
    [money.discounted_payback_years, money.sir, money.irr]
}

/// What has come back by the end of each year, the cost taken off: discounted and not. `year` is
/// called with the year, from 1 to the house's life, and both sums.
///
/// The present value of a life of so many years, by the function that gives `npv`.
pub(crate) fn cash(house: &House, mut year: impl FnMut(u8, f64, f64)) {
    let Figures { energy, money, .. } = figures(&Plain, house);
    let mut terms = HouseTerms::read(&Plain, house).money;
    let parts = [energy.fuel_saved, energy.electricity_saved_kwh];
    for life in 1..=house.offer.life_years {
        terms.life_years = f64::from(life);
        let [discounted, plain] = worth_after(&Plain, parts, &terms);
        year(life, discounted - money.net_cost, plain - money.net_cost);
    }
}

/// The figures on the way to those of [`assess`], by surface and symbol.
#[cfg(feature = "live")]
pub(crate) fn notes(house: &House) -> crate::numeric::notes::Notes {
    let notes = crate::numeric::notes::Notes::default();
    figures(&&notes, house);
    notes
}

impl House {
    /// Whether a surface-level or house-level field was given anywhere.
    pub fn was_given_anywhere(&self, field: Field) -> bool {
        self.was_given(field) || self.surfaces().iter().any(|s| s.given.contains(field))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::samples::any_house;
    use crate::numeric::tape::Traced;
    use proptest::prelude::*;

    proptest! {
        /// The derivation is the calculation: the same bits, figure by figure.
        #[test]
        fn the_record_has_the_bits_of_the_calculation(house in any_house()) {
            let tape = Tape::default();
            let traced = figures(&&tape, &house).all().map(Traced::value);
            let plain = figures(&Plain, &house).all();
            prop_assert_eq!(plain.map(f64::to_bits), traced.map(f64::to_bits));
        }
    }
}
