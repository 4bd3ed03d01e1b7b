//! Carbon: what is not emitted, what the fibre cost to make, and what is stored, each apart.

use crate::numeric::geometric::geometric_sum;
use crate::numeric::{Calc, Function, Label, Num};
use crate::source::{Citation, Mark};
use crate::units::Quantity::{Co2e, Kilograms, Money, Years};
use crate::units::factor::KG_PER_LB;

/// What the arithmetic needs of the house.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CarbonTerms<N: Num> {
    /// Whether electricity heats: then its carbon is the grid's.
    pub(crate) electric_heat: N::Mask,
    pub(crate) kg_co2e_per_mmbtu: N,
    pub(crate) grid_kg_per_kwh: N,
    pub(crate) grid_decline: N,
    pub(crate) fill_embodied_kg_per_kg: N,
    pub(crate) life_years: N,
}

/// Figures in kg CO2e. NaN stands for "there is none".
#[derive(Clone, Copy, Debug)]
pub(crate) struct CarbonFigures<N> {
    pub(crate) annual_co2e_kg: N,
    pub(crate) lifetime_co2e_kg: N,
    pub(crate) embodied_co2e_kg: N,
    pub(crate) carbon_payback_years: N,
    pub(crate) cost_per_tonne: N,
}

const FACTORS: Citation =
    Citation::new("epa_40cfr98", "tables C-1 and C-2 with potentials 28 and 265", Mark::Seen);
static FUEL_CO2E: Label =
    Label::new("fuel_co2e_kg", "emissions of the fuel saved a year", Co2e).cite(FACTORS);
static ELECTRICITY_CO2E: Label =
    Label::new("electricity_co2e_kg", "emissions of the electricity saved in the first year", Co2e);
static ANNUAL: Label = Label::new("annual_co2e_kg", "avoided in the first year", Co2e);
static FILL_KG: Label = Label::new("fill_mass_kg", "fibre, in kilograms", Kilograms);
static EMBODIED: Label = Label::new("embodied_co2e_kg", "emissions of making the fibre", Co2e)
    .cite(Citation::new(
        "embodied_carbon_literature",
        "cradle to gate, low confidence",
        Mark::Memory,
    ));
static LIFETIME: Label =
    Label::new("lifetime_co2e_kg", "avoided over the life, making the fibre taken off", Co2e);
static PAYBACK: Label =
    Label::new("carbon_payback_years", "emissions of making the fibre over those avoided", Years);
static PER_TONNE: Label =
    Label::new("cost_per_tonne", "net cost of a tonne of CO2e avoided", Money);

/// Sum of what a falling grid still emits, in units of the first year.
struct DecliningYears;

impl Function<2> for DecliningYears {
    const NAME: &'static str = "declining";
    const FORMULA: &'static str =
        "declining(decline, n) = sum of (1 − decline)^(t − 1) for t = 1 to n";

    #[inline(always)]
    fn eval<N: Num>([decline, years]: [N; 2]) -> N {
        geometric_sum(decline.like(1.0) - decline, years)
    }
}

/// `fuel_mmbtu` and `fuel_units` are the same fuel in two units; `electricity_kwh` is for cooling.
#[inline(always)]
pub(crate) fn carbon<C: Calc>(
    cx: &C,
    [fuel_mmbtu, fuel_units, electricity_kwh]: [C::N; 3],
    fill_mass_lb: C::N,
    net_cost: C::N,
    t: &CarbonTerms<C::N>,
) -> CarbonFigures<C::N> {
    let lit = |value| cx.lit(value);
    let (zero, none) = (lit(0.0), lit(f64::NAN));
    let burned = C::N::select(t.electric_heat, zero, fuel_mmbtu * t.kg_co2e_per_mmbtu);
    let fuel = cx.named(&FUEL_CO2E, burned);
    let kwh = C::N::select(t.electric_heat, fuel_units + electricity_kwh, electricity_kwh);
    let electricity = cx.named(&ELECTRICITY_CO2E, kwh * t.grid_kg_per_kwh);
    let annual = cx.named(&ANNUAL, fuel + electricity);
    let fill_kg = cx.named(&FILL_KG, fill_mass_lb * lit(KG_PER_LB));
    let embodied = cx.named(&EMBODIED, fill_kg * t.fill_embodied_kg_per_kg);
    let burned_in_all = fuel * t.life_years;
    let both = zero.less(kwh) | kwh.less(zero);
    let avoided = if C::N::any(both) {
        let years = cx.call::<DecliningYears, 2>([t.grid_decline, t.life_years]);
        C::N::select(both, burned_in_all + electricity * years, burned_in_all)
    } else {
        burned_in_all
    };
    let lifetime = cx.named(&LIFETIME, avoided - embodied);
    let avoids = zero.less(annual);
    let payback = cx.named(&PAYBACK, C::N::select(avoids, embodied / annual, none));
    let tonnes = zero.less(lifetime);
    let per_tonne =
        cx.named(&PER_TONNE, C::N::select(tonnes, net_cost / (lifetime / lit(1000.0)), none));
    CarbonFigures {
        annual_co2e_kg: annual,
        lifetime_co2e_kg: lifetime,
        embodied_co2e_kg: embodied,
        carbon_payback_years: payback,
        cost_per_tonne: per_tonne,
    }
}
