//! Money: constant money, real rates, end-of-year flows, as in NIST Handbook 135 and 10 CFR 436.

use crate::numeric::geometric::{Ladder, annuity_and_slope, geometric_sum};
use crate::numeric::{Bracket, Calc, Function, Label, Num, Rising, rising_root};
use crate::source::{Citation, Mark};
use crate::units::Quantity::{Money, Number, Rate, Years};

/// What the arithmetic needs of the house.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MoneyTerms<N> {
    pub(crate) installed_cost: N,
    pub(crate) rebate: N,
    pub(crate) tax_credit_fraction: N,
    /// Infinite where there is no cap.
    pub(crate) tax_credit_cap: N,
    /// Of one unit of the fuel that heats.
    pub(crate) fuel_price: N,
    /// Of the fuel that heats: the electricity's where that is electricity.
    pub(crate) fuel_escalation: N,
    pub(crate) electricity_price: N,
    pub(crate) electricity_escalation: N,
    pub(crate) discount_rate: N,
    pub(crate) life_years: N,
}

/// Figures in the user's currency, and rates. NaN stands for "there is none".
#[derive(Clone, Copy, Debug)]
pub(crate) struct MoneyFigures<N> {
    pub(crate) net_cost: N,
    pub(crate) annual_savings: N,
    pub(crate) simple_payback_years: N,
    pub(crate) discounted_payback_years: N,
    pub(crate) npv: N,
    pub(crate) sir: N,
    pub(crate) airr: N,
    pub(crate) irr: N,
    pub(crate) lifetime_savings: N,
}

const HANDBOOK: Citation =
    Citation::new("nist_hb135", "uniform present value, end-of-year flows", Mark::Memory);
const AIRR_RULE: Citation = Citation::new("doe_10cfr436", "436.22", Mark::Seen);
const PAYBACK_RULE: Citation = Citation::new("doe_10cfr436", "436.23", Mark::Seen);
const SIR_RULE: Citation = Citation::new("doe_10cfr436", "436.21", Mark::Memory);

static NET_COST: Label = Label::new("net_cost", "cost after rebate and tax credit", Money);
static FUEL_PART: Label = Label::new("fuel_money", "fuel saved a year at today's price", Money);
static ELECTRICITY_PART: Label =
    Label::new("electricity_money", "electricity saved a year at today's price", Money);
static ANNUAL: Label = Label::new("annual_savings", "saved a year at today's prices", Money);
static SIMPLE: Label =
    Label::new("simple_payback_years", "net cost over yearly savings", Years).cite(PAYBACK_RULE);
static DISCOUNTED: Label =
    Label::new("discounted_payback_years", "when the discounted savings reach the net cost", Years);
static PRESENT_VALUE: Label =
    Label::new("present_value", "discounted savings over the life", Money).cite(HANDBOOK);
static NPV: Label = Label::new("npv", "net present value", Money).cite(HANDBOOK);
static SIR: Label = Label::new("sir", "savings-to-investment ratio", Number).cite(SIR_RULE);
static AIRR: Label = Label::new("airr", "adjusted internal rate of return", Rate).cite(AIRR_RULE);
static IRR: Label = Label::new("irr", "internal rate of return", Rate);
static LIFETIME: Label =
    Label::new("lifetime_savings", "saved over the life, not discounted", Money);

/// Present value of 1 a year, at today's price, over the life.
struct GrowingAnnuity;

impl Function<3> for GrowingAnnuity {
    const NAME: &'static str = "annuity";
    const FORMULA: &'static str = "annuity(d, e, n) = sum of ((1 + e)/(1 + d))^t for t = 1 to n";

    #[inline(always)]
    fn eval<N: Num>([discount, escalation, years]: [N; 3]) -> N {
        let q = ratio(discount, escalation);
        q * geometric_sum(q, years)
    }
}

#[inline(always)]
fn ratio<N: Num>(discount: N, escalation: N) -> N {
    let one = discount.like(1.0);
    (one + escalation) / (one + discount)
}

/// The first year, and the share of it, at which the discounted flows reach the cost.
struct DiscountedPayback;

impl Function<7> for DiscountedPayback {
    const NAME: &'static str = "payback";
    const FORMULA: &'static str = "payback(cost, fuel, electricity, e_fuel, e_electricity, d, n) = \
        first t at which the sum of fuel × ((1 + e_fuel)/(1 + d))^t + electricity × \
        ((1 + e_electricity)/(1 + d))^t reaches cost, linear inside the year";

    #[inline(always)]
    fn eval<N: Num>(args: [N; 7]) -> N {
        let electricity = args[2];
        let zero = electricity.like(0.0);
        // A part that is 0 everywhere is not computed; where it is 0 it adds 0.
        if N::any(zero.less(electricity) | electricity.less(zero)) {
            payback_year::<N, true>(args)
        } else {
            payback_year::<N, false>(args)
        }
    }
}

#[inline(always)]
fn payback_year<N: Num, const BOTH: bool>(
    [cost, fuel, electricity, e_fuel, e_electricity, d, years]: [N; 7],
) -> N {
    let (q_fuel, q_electricity) = (ratio(d, e_fuel), ratio(d, e_electricity));
    let ladder_fuel = Ladder::new(q_fuel, years);
    let ladder_electricity = if BOTH { Ladder::new(q_electricity, years) } else { ladder_fuel };
    let (mut at_fuel, mut at_electricity) = (ladder_fuel.start(), ladder_electricity.start());
    let zero = cost.like(0.0);
    let mut paid = zero;
    let mut year = zero;
    // The greatest whole year at which the sum is still below the cost, bit by bit.
    for bit in (0..ladder_fuel.height()).rev() {
        let next_fuel = ladder_fuel.ahead(at_fuel, bit);
        let mut sum = fuel * (q_fuel * next_fuel.sum);
        let next_electricity =
            if BOTH { ladder_electricity.ahead(at_electricity, bit) } else { at_electricity };
        if BOTH {
            sum = sum + electricity * (q_electricity * next_electricity.sum);
        }
        let next_year = year + cost.like(f64::from(1_u32 << bit));
        let take = next_year.at_most(years) & sum.less(cost);
        year = N::select(take, next_year, year);
        paid = N::select(take, sum, paid);
        at_fuel.power = N::select(take, next_fuel.power, at_fuel.power);
        at_fuel.sum = N::select(take, next_fuel.sum, at_fuel.sum);
        if BOTH {
            at_electricity.power = N::select(take, next_electricity.power, at_electricity.power);
            at_electricity.sum = N::select(take, next_electricity.sum, at_electricity.sum);
        }
    }
    let mut flow = fuel * (q_fuel * at_fuel.power);
    if BOTH {
        flow = flow + electricity * (q_electricity * at_electricity.power);
    }
    let paid_back = year.less(years) & zero.less(flow);
    N::select(paid_back, year + (cost - paid) / flow, cost.like(f64::NAN))
}

/// The rate at which the flows are just worth the cost.
struct InternalRate;

impl Function<6> for InternalRate {
    const NAME: &'static str = "irr";
    const FORMULA: &'static str = "irr(cost, fuel, electricity, e_fuel, e_electricity, n) = the d \
        at which fuel × annuity(d, e_fuel, n) + electricity × annuity(d, e_electricity, n) = cost";

    /// Solved for `v = 1/(1 + d)`, in which the present value rises and bends upwards, so that
    /// Newton's method comes to the root from one side. With `P` the cost over the yearly saving
    /// and `x = (1 + e) v`, the root of `x S_n(x) = P` is bracketed by
    /// `P/(1 + P) <= x` (the endless sum is greater) and by
    /// `x <= 1` for `P <= n`, `x <= (P/n)^(2/(n+1))` for `P > n` (the mean of powers is at least
    /// the power of the mean).
    #[inline(always)]
    fn eval<N: Num>([cost, fuel, electricity, e_fuel, e_electricity, years]: [N; 6]) -> N {
        let lit = |value| cost.like(value);
        let (zero, one) = (lit(0.0), lit(1.0));
        let (g_fuel, g_electricity) = (one + e_fuel, one + e_electricity);
        let payback = cost / (fuel + electricity);
        let solvable =
            zero.less(cost) & zero.less(fuel + electricity) & cost.less(lit(f64::INFINITY));
        // Anything will do where there is no answer; it is thrown away below.
        let p = N::select(solvable, payback, years);
        let late = years.less(p);
        // Where it is not late the power is that of 1, which costs nothing.
        let beyond = N::select(late & solvable, p / years, one);
        let x_high = beyond.power(lit(2.0) / (years + one));
        let x_low = p / (one + p);
        let growth_least = g_fuel.lesser(g_electricity);
        let growth_most = g_fuel.greater(g_electricity);
        // A part in 10^12 on either side: the bounds are met exactly in the simplest cases.
        let low = x_low / growth_most * lit(1.0 - 1e-12);
        let high = x_high / growth_least * lit(1.0 + 1e-12);
        let start = N::select(late, high, low.greater(zero));
        let savings = Savings { fuel, electricity, g_fuel, g_electricity, years };
        let v = rising_root(cost, Bracket { low, high, start }, &savings);
        N::select(solvable, one / v - one, lit(f64::NAN))
    }
}

/// Two savings that grow, seen as a function of `v = 1/(1 + d)`.
struct Savings<N> {
    fuel: N,
    electricity: N,
    g_fuel: N,
    g_electricity: N,
    years: N,
}

impl<N: Num> Rising<N> for Savings<N> {
    #[inline(always)]
    fn at(&self, v: N) -> (N, N) {
        let Self { fuel, electricity, g_fuel, g_electricity, years } = *self;
        let (worth, slope) = annuity_and_slope(g_fuel * v, years);
        let (mut value, mut rise) = (fuel * worth, fuel * g_fuel * slope);
        if N::any(v.like(0.0).less(electricity)) {
            let (worth, slope) = annuity_and_slope(g_electricity * v, years);
            value = value + electricity * worth;
            rise = rise + electricity * g_electricity * slope;
        }
        (value, rise)
    }
}

/// The present value of flows, the first at the start, as a function of `v = 1/(1 + rate)`.
struct Flows<'f>(&'f [f64]);

impl Rising<f64> for Flows<'_> {
    fn at(&self, v: f64) -> (f64, f64) {
        let value = self.0.iter().rev().fold(0.0, |sum, flow| sum * v + flow);
        let later = self.0.iter().enumerate().skip(1).rev();
        let slope = later.fold(0.0, |sum, (t, flow)| {
            sum * v + f64::from(u32::try_from(t).unwrap_or(u32::MAX)) * flow
        });
        (value, slope)
    }
}

/// Savings of all years at a discount rate; a part that is 0 is not computed.
#[inline(always)]
fn savings_over_life<C: Calc>(
    cx: &C,
    fuel: C::N,
    electricity: C::N,
    rate: C::N,
    t: &MoneyTerms<C::N>,
) -> C::N {
    let annuity = |escalation| cx.call::<GrowingAnnuity, 3>([rate, escalation, t.life_years]);
    let fuel_worth = fuel * annuity(t.fuel_escalation);
    let zero = cx.lit(0.0);
    let both = zero.less(electricity) | electricity.less(zero);
    if !C::N::any(both) {
        return fuel_worth;
    }
    let sum = fuel_worth + electricity * annuity(t.electricity_escalation);
    C::N::select(both, sum, fuel_worth)
}

/// What the fuel and what the electricity saved is worth a year, at today's prices.
#[inline(always)]
fn yearly<C: Calc>(cx: &C, fuel_saved: C::N, kwh: C::N, t: &MoneyTerms<C::N>) -> [C::N; 2] {
    let fuel = cx.named(&FUEL_PART, fuel_saved * t.fuel_price);
    [fuel, cx.named(&ELECTRICITY_PART, kwh * t.electricity_price)]
}

/// Savings of all years of the life, discounted and not: `fuel_saved` in the fuel's units.
#[inline(always)]
pub(crate) fn worth_after<C: Calc>(
    cx: &C,
    [fuel_saved, electricity_kwh]: [C::N; 2],
    t: &MoneyTerms<C::N>,
) -> [C::N; 2] {
    let [fuel, electricity] = yearly(cx, fuel_saved, electricity_kwh, t);
    [t.discount_rate, cx.lit(0.0)].map(|rate| savings_over_life(cx, fuel, electricity, rate, t))
}

/// `fuel_saved` in the fuel's units, `electricity_kwh` for cooling.
#[inline(always)]
pub(crate) fn money<C: Calc>(
    cx: &C,
    fuel_saved: C::N,
    electricity_kwh: C::N,
    t: &MoneyTerms<C::N>,
) -> MoneyFigures<C::N> {
    let lit = |value| cx.lit(value);
    let (zero, none) = (lit(0.0), lit(f64::NAN));
    let after_rebate = t.installed_cost - t.rebate;
    let credit = t.tax_credit_fraction * after_rebate;
    let is_capped = t.tax_credit_cap.less(lit(f64::INFINITY));
    let credit = C::N::select(is_capped, credit.lesser(t.tax_credit_cap), credit);
    let net_cost = cx.named(&NET_COST, after_rebate - credit);
    let [fuel, electricity] = yearly(cx, fuel_saved, electricity_kwh, t);
    let annual_savings = cx.named(&ANNUAL, fuel + electricity);

    let saves = zero.less(annual_savings);
    let costs = zero.less(net_cost);
    let simple = cx.named(&SIMPLE, C::N::select(saves, net_cost / annual_savings, none));
    let reached = cx.call::<DiscountedPayback, 7>([
        net_cost,
        fuel,
        electricity,
        t.fuel_escalation,
        t.electricity_escalation,
        t.discount_rate,
        t.life_years,
    ]);
    let discounted = cx.named(&DISCOUNTED, C::N::select(saves, reached, none));

    let over_life = |rate: C::N| savings_over_life(cx, fuel, electricity, rate, t);
    let worth = cx.named(&PRESENT_VALUE, over_life(t.discount_rate));
    let npv = cx.named(&NPV, worth - net_cost);
    let sir = cx.named(&SIR, C::N::select(costs, worth / net_cost, none));
    let growth = adjusted_rate(t.discount_rate, sir, t.life_years);
    let airr = cx.named(&AIRR, C::N::select(costs & zero.less(sir), growth, none));
    let rate = cx.call::<InternalRate, 6>([
        net_cost,
        fuel,
        electricity,
        t.fuel_escalation,
        t.electricity_escalation,
        t.life_years,
    ]);
    let irr = cx.named(&IRR, rate);
    let lifetime_savings = cx.named(&LIFETIME, over_life(zero));
    MoneyFigures {
        net_cost,
        annual_savings,
        simple_payback_years: simple,
        discounted_payback_years: discounted,
        npv,
        sir,
        airr,
        irr,
        lifetime_savings,
    }
}

#[inline(always)]
fn adjusted_rate<N: Num>(discount_rate: N, sir: N, years: N) -> N {
    let one = discount_rate.like(1.0);
    (one + discount_rate) * sir.power(one / years) - one
}

/// Present value of 1 at the end of each of `years` years, growing by `escalation` a year.
///
/// # Formula
/// `sum of ((1 + e)/(1 + d))^t for t = 1 to n`, by doubling: exactly `n` where `d = e`.
///
/// # Units
/// Rates as shares a year, both real or both nominal; `years` from 0 to 127.
///
/// # Source
/// NIST Handbook 135, uniform present value with escalation (from memory).
///
/// # Examples
/// ```
/// let upv = studbay::money::growing_annuity(0.03, 0.0, 20);
/// assert!((upv - 14.877).abs() < 0.0005); // NIST Handbook 135 tables, 3 %, 20 years
/// assert_eq!(studbay::money::growing_annuity(0.03, 0.03, 20), 20.0);
/// ```
pub fn growing_annuity(discount_rate: f64, escalation: f64, years: u8) -> f64 {
    GrowingAnnuity::eval([discount_rate, escalation, f64::from(years.min(127))])
}

/// Net present value of a flow at the start and then at the end of each year.
///
/// # Formula
/// `sum of flows[t]/(1 + rate)^t for t = 0, 1, ...`, from the last flow inwards (Horner).
///
/// # Source
/// NIST Handbook 135 (from memory).
///
/// # Examples
/// ```
/// // An outlay of 100 that gives back 110 a year later is worth nothing at 10 %.
/// let npv = studbay::money::net_present_value(0.10, &[-100.0, 110.0]);
/// assert!(npv.abs() < 1e-12);
/// ```
pub fn net_present_value(rate: f64, flows: &[f64]) -> f64 {
    Flows(flows).at(1.0 / (1.0 + rate)).0
}

/// Internal rate of return of an outlay and the savings that follow.
///
/// # Formula
/// The rate at which [`net_present_value`] is 0.
///
/// # Valid range
/// One change of sign, an outlay first: then there is exactly one rate. `None` otherwise, rather
/// than one of several rates.
///
/// # Examples
/// ```
/// // numpy-financial documentation, example of irr.
/// let flows = [-250_000.0, 100_000.0, 150_000.0, 200_000.0, 250_000.0, 300_000.0];
/// let irr = studbay::money::internal_rate_of_return(&flows).expect("one change of sign");
/// assert!((irr - 0.567_230_334_435_853_6).abs() < 1e-14);
/// ```
pub fn internal_rate_of_return(flows: &[f64]) -> Option<f64> {
    let savings = flows.iter().position(|flow| *flow > 0.0)?;
    let (outlays, savings) = flows.split_at(savings);
    let regular = outlays.iter().any(|flow| *flow < 0.0)
        && outlays.iter().all(|flow| *flow <= 0.0)
        && savings.iter().all(|flow| *flow >= 0.0)
        && flows.iter().all(|flow| flow.is_finite());
    if !regular {
        return None;
    }
    let worth = Flows(flows);
    let mut high = 1.0;
    while worth.at(high).0 < 0.0 {
        high *= 2.0;
        if high > 1e12 {
            return None;
        }
    }
    let v = rising_root(0.0, Bracket { low: 0.0, high, start: high }, &worth);
    let rate = 1.0 / v - 1.0;
    rate.is_finite().then_some(rate)
}

/// Adjusted internal rate of return.
///
/// # Formula
/// `(1 + d) SIR^(1/n) − 1`
///
/// # Source
/// 10 CFR 436.22 (seen).
///
/// # Examples
/// ```
/// // What only earns the discount rate has a ratio of 1.
/// let rate = studbay::money::adjusted_internal_rate(0.03, 1.0, 25).expect("a ratio above 0");
/// assert!((rate - 0.03).abs() < 1e-15);
/// ```
pub fn adjusted_internal_rate(discount_rate: f64, sir: f64, years: u8) -> Option<f64> {
    (sir > 0.0 && years > 0).then(|| adjusted_rate(discount_rate, sir, f64::from(years)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worth_and_slope_of_flows_by_hand() {
        // -100 + 60/2 + 50/4 + 30/8; 60 + 2*50/2 + 3*30/4.
        assert_eq!(Flows(&[-100.0, 60.0, 50.0, 30.0]).at(0.5), (-53.75, 132.5));
    }

    #[test]
    fn rates_at_the_ends_of_their_bracket() {
        // Savings for ever at rate d are worth 1/d of a year's; after 100 years at 10 no bit is missing.
        let rate = InternalRate::eval([100.0, 1000.0, 0.0, 0.0, 0.0, 100.0]);
        assert!((rate - 10.0).abs() < 1e-13, "{rate}");
        // As many years of savings as the cost: the rate is 0.
        let rate = InternalRate::eval([3000.0, 100.0, 0.0, 0.0, 0.0, 30.0]);
        assert!(rate.abs() < 2e-14, "{rate}");
    }

    #[test]
    fn flows_without_one_rate_have_none() {
        assert_eq!(internal_rate_of_return(&[-100.0, 230.0, -100.0]), None);
        assert_eq!(internal_rate_of_return(&[0.0, 100.0]), None);
        assert_eq!(internal_rate_of_return(&[f64::NAN, -100.0, 200.0]), None);
        assert_eq!(internal_rate_of_return(&[-100.0, f64::INFINITY]), None);
        // All but lost: no number near -1 would say more.
        assert_eq!(internal_rate_of_return(&[-1e15, 1.0]), None);
        // A year in which nothing happens shifts nothing but the dates.
        for flows in [&[-100.0, 0.0, 121.0][..], &[0.0, -100.0, 0.0, 121.0]] {
            let rate = internal_rate_of_return(flows);
            assert!(rate.is_some_and(|rate| (rate - 0.1).abs() < 1e-14), "{rate:?}");
        }
    }

    #[test]
    fn nothing_saved_and_no_years_have_no_adjusted_rate() {
        assert_eq!(adjusted_internal_rate(0.03, 0.0, 10), None);
        assert_eq!(adjusted_internal_rate(0.03, -1.0, 10), None);
        assert_eq!(adjusted_internal_rate(0.03, 1.5, 0), None);
        assert_eq!(adjusted_internal_rate(0.03, 1.0, 10), Some(0.030_000_000_000_000_027));
    }
}
