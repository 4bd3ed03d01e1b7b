//! Laws of money and carbon, with the flows built by hand.

use crate::samples::house;
use crate::spec::Spec;
use proptest::collection::vec;
use proptest::prelude::*;
use studbay::house::{Assessment, House, assess};
use studbay::money::{growing_annuity, internal_rate_of_return, net_present_value};

/// Fuel and electricity saved in each year, in the money of that year.
fn flows(house: &House, a: &Assessment) -> Vec<(f64, f64)> {
    let (plant, offer) = (house.plant(), house.offer());
    let fuel_rise = if plant.fuel.is_electricity() {
        offer.electricity_escalation
    } else {
        offer.fuel_escalation
    };
    let (mut fuel, mut power) =
        (a.fuel_saved * plant.fuel_price, a.electricity_saved_kwh * plant.electricity_price);
    (0..offer.life_years)
        .map(|_| {
            fuel *= 1.0 + fuel_rise;
            power *= 1.0 + offer.electricity_escalation;
            (fuel, power)
        })
        .collect()
}

/// Worth today, and the sum of what goes into it without its sign.
fn worth(flows: &[(f64, f64)], rate: f64) -> (f64, f64) {
    let (mut sum, mut gross, mut factor) = (0.0, 0.0, 1.0);
    for (fuel, power) in flows {
        factor *= 1.0 + rate;
        sum += (fuel + power) / factor;
        gross += (fuel.abs() + power.abs()) / factor;
    }
    (sum, gross)
}

fn assessed(spec: &Spec) -> (House, Assessment) {
    let house = spec.build();
    let assessment = assess(&house);
    (house, assessment)
}

proptest! {
    #[test]
    fn payback_times_saving_is_the_cost(spec in house()) {
        let (_, a) = assessed(&spec);
        prop_assert_eq!(a.simple_payback_years.is_some(), a.annual_savings > 0.0);
        if let Some(years) = a.simple_payback_years {
            prop_assert!((years * a.annual_savings - a.net_cost).abs() <= 1e-14 * a.net_cost);
        }
    }

    /// Net present value, ratio, adjusted rate and lifetime sum, year by year.
    #[test]
    fn the_money_is_that_of_the_flows(spec in house()) {
        let (house, a) = assessed(&spec);
        let flows = flows(&house, &a);
        let offer = house.offer();
        let (value, gross) = worth(&flows, offer.discount_rate);
        let room = 1e-12 * (gross + a.net_cost);
        prop_assert!((a.npv - (value - a.net_cost)).abs() <= room, "{} {}", a.npv, value);
        let (sum, gross_sum) = worth(&flows, 0.0);
        prop_assert!((a.lifetime_savings - sum).abs() <= 1e-12 * gross_sum);
        prop_assert_eq!(a.sir.is_some(), a.net_cost > 0.0);
        if let Some(sir) = a.sir {
            prop_assert!((sir * a.net_cost - value).abs() <= room);
        }
        // 10 CFR 436.22 (S): SIR once invested at the discount rate grows to AIRR.
        if let (Some(airr), Some(sir)) = (a.airr, a.sir) {
            let years = f64::from(offer.life_years);
            let grown = ((1.0 + airr) / (1.0 + offer.discount_rate)).powf(years);
            // A rate close to -1 has few digits left above it.
            let room = years * (1e-12 + f64::EPSILON / (1.0 + airr));
            prop_assert!((grown / sir - 1.0).abs() <= room, "{} {}", grown, sir);
        }
    }

    /// 10 CFR 436.18 (S): cost-effective when SIR is above 1, which is when NPV is above 0 and
    /// when the adjusted rate is above the discount rate.
    #[test]
    fn the_three_tests_of_worth_agree(spec in house()) {
        let (house, a) = assessed(&spec);
        if let Some(sir) = a.sir {
            prop_assert_eq!(sir > 1.0, a.npv > 0.0);
            if let Some(airr) = a.airr {
                let above = airr - house.offer().discount_rate;
                prop_assert!(above.abs() < 1e-12 || (above > 0.0) == (sir > 1.0));
            }
        }
    }

    /// At the internal rate of return the flows are worth the cost.
    #[test]
    fn npv_at_the_irr_is_zero(spec in house()) {
        let (house, a) = assessed(&spec);
        prop_assert_eq!(a.irr.is_some(), a.net_cost > 0.0 && a.annual_savings > 0.0);
        if let Some(irr) = a.irr {
            prop_assert!(irr > -1.0);
            let flows = flows(&house, &a);
            // A part in 10^14 of the rate is at most `life` parts of the worth, for flows that are
            // all savings; a fuel and an electricity part of opposite sign can do worse.
            let (value, gross) = worth(&flows, irr);
            let years = f64::from(house.offer().life_years);
            // A rate close to -1 has few digits left above it.
            let share = 1e-13 * years.max(10.0) + years * f64::EPSILON / (1.0 + irr);
            let room = share * (gross + a.net_cost);
            prop_assert!((value - a.net_cost).abs() <= room, "irr {}: {}", irr, value);
            let later: Vec<f64> = flows.iter().map(|(fuel, power)| fuel + power).collect();
            let all: Vec<f64> = std::iter::once(-a.net_cost).chain(later).collect();
            prop_assert!(net_present_value(irr, &all).abs() <= room);
        }
    }

    /// The discounted payback is when the sum year by year reaches the cost.
    #[test]
    fn the_discounted_payback_is_that_of_the_flows(spec in house()) {
        let (house, a) = assessed(&spec);
        let flows = flows(&house, &a);
        let rate = house.offer().discount_rate;
        let (mut paid, mut factor) = (0.0, 1.0);
        let mut expected = None;
        for (year, (fuel, power)) in flows.iter().enumerate() {
            factor *= 1.0 + rate;
            let flow = (fuel + power) / factor;
            if a.annual_savings > 0.0 && flow > 0.0 && paid + flow >= a.net_cost {
                let year = f64::from(u32::try_from(year).unwrap());
                expected = Some((year + (a.net_cost - paid) / flow, flow));
                break;
            }
            paid += flow;
        }
        match (a.discounted_payback_years, expected) {
            (Some(found), Some((expected, flow))) => {
                // A rounding of the sum is so much of a year as the year's flow is small.
                let room = 1e-12 * (1.0 + expected + a.net_cost / flow);
                prop_assert!((found - expected).abs() <= room, "{} {}", found, expected);
            }
            (None, None) => {}
            // Reached, or not, by a rounding in the last year.
            (found, expected) => {
                let (value, gross) = worth(&flows, rate);
                let near = (value - a.net_cost).abs() <= 1e-12 * (gross + a.net_cost);
                prop_assert!(near, "{:?} {:?}", found, expected);
            }
        }
    }

    /// Waiting costs: without a price rise, and money not cheaper tomorrow than today, the
    /// discounted payback is never the shorter one.
    #[test]
    fn the_discounted_payback_is_never_shorter(spec in house(), rate in 0.0..0.5_f64) {
        let spec = spec
            .with("discount_rate", rate)
            .with("fuel_escalation", 0.0)
            .with("electricity_escalation", 0.0);
        let (_, a) = assessed(&spec);
        if let (Some(simple), Some(discounted)) =
            (a.simple_payback_years, a.discounted_payback_years)
        {
            prop_assert!(discounted >= simple * (1.0 - 1e-12), "{} {}", discounted, simple);
        }
    }

    /// What is dearer pays back later; a higher discount rate is worth less; a longer life more.
    #[test]
    fn money_is_monotone(spec in house(), more in 1.0..2.0_f64, rise in 0.0..0.1_f64) {
        let (_, base) = assessed(&spec);
        let mut dearer = spec.clone().without("rebate").without("tax_credit_cap");
        let (_, cheap) = assessed(&dearer);
        dearer.head.scale("installed_cost", more);
        let (_, dear) = assessed(&dearer);
        prop_assert!(dear.net_cost >= cheap.net_cost && dear.npv <= cheap.npv);
        if let (Some(cheap), Some(dear)) = (cheap.simple_payback_years, dear.simple_payback_years) {
            prop_assert!(dear >= cheap);
        }
        // Only where nothing is lost on the way: both parts are savings.
        if base.fuel_saved >= 0.0 && base.electricity_saved_kwh >= 0.0 {
            let rate = spec.head.number("discount_rate").unwrap();
            let rate = (rate + rise).min(0.5);
            let (_, later) = assessed(&spec.clone().with("discount_rate", rate));
            let room = 1e-12 * (base.npv.abs() + base.net_cost);
            prop_assert!(later.npv <= base.npv + room);
            let life = spec.head.number("life_years").unwrap_or(30.0);
            let (_, longer) = assessed(&spec.with("life_years", life + 5.0));
            prop_assert!(longer.npv >= base.npv - room);
            prop_assert!(longer.lifetime_savings >= base.lifetime_savings * (1.0 - 1e-12));
        }
    }

    /// Support never makes the job dearer, and nobody is paid to fill a wall.
    #[test]
    fn support_lies_between_nothing_and_the_price(spec in house()) {
        let (house, a) = assessed(&spec);
        let offer = house.offer();
        prop_assert!((0.0..=offer.installed_cost).contains(&a.net_cost));
        if let Some(cap) = offer.tax_credit_cap {
            prop_assert!(a.net_cost >= offer.installed_cost - offer.rebate - cap - 1e-9);
        }
    }

    /// Carbon, year by year.
    #[test]
    fn the_carbon_is_that_of_the_years(spec in house()) {
        let (house, a) = assessed(&spec);
        let fuel = a.fuel.row();
        let grid = house.carbon().grid.kg_per_kwh();
        let (burned, heating_kwh) = match fuel.kg_co2e_per_mmbtu {
            Some(factor) => (a.fuel_saved * fuel.mmbtu_per_unit * factor, 0.0),
            None => (0.0, a.fuel_saved),
        };
        let power = (heating_kwh + a.electricity_saved_kwh) * grid;
        let gross = burned.abs() + (heating_kwh.abs() + a.electricity_saved_kwh.abs()) * grid;
        prop_assert!((a.annual_co2e_kg - (burned + power)).abs() <= 1e-13 * gross);
        let (mut sum, mut share) = (-a.embodied_co2e_kg, 1.0);
        for _ in 0..house.offer().life_years {
            sum += burned + power * share;
            share *= 1.0 - house.carbon().grid_decline;
        }
        let room = 1e-12 * (gross * f64::from(house.offer().life_years) + a.embodied_co2e_kg);
        prop_assert!((a.lifetime_co2e_kg - sum).abs() <= room);
        prop_assert_eq!(a.carbon_payback_years.is_some(), a.annual_co2e_kg > 0.0);
        prop_assert_eq!(a.cost_per_tonne.is_some(), a.lifetime_co2e_kg > 0.0);
        let embodied = a.fill_mass.si() * house.carbon().fill_embodied_kg_per_kg;
        prop_assert!((a.embodied_co2e_kg - embodied).abs() <= 1e-14 * embodied);
        let bags = a.fill_mass.ip() / house.bag_weight().ip();
        prop_assert!(a.bags.fract() == 0.0 && a.bags >= bags * (1.0 - 1e-11));
        prop_assert!(a.bags < bags + 1.0);
    }

    /// NIST Handbook 135 (M), uniform present value: the sum year by year; `n` exactly at d = e.
    #[test]
    fn the_annuity_is_a_sum(d in -0.2..0.5_f64, e in -0.2..0.5_f64, years in 0_u8..=100) {
        let (mut sum, mut term) = (0.0, 1.0);
        for _ in 0..years {
            term *= (1.0 + e) / (1.0 + d);
            sum += term;
        }
        prop_assert!((growing_annuity(d, e, years) - sum).abs() <= 1e-12 * sum);
        prop_assert_eq!(growing_annuity(d, d, years), f64::from(years));
    }

    /// The rate of any outlay and savings: found, and found to be one.
    #[test]
    fn the_free_irr_solves_its_equation(
        outlay in 1.0..1e6_f64, savings in vec(0.0..1e6_f64, 1..60)
    ) {
        let flows: Vec<f64> = std::iter::once(-outlay).chain(savings).collect();
        match internal_rate_of_return(&flows) {
            Some(rate) => {
                let gross: f64 = flows.iter().map(|flow| flow.abs()).sum();
                let value = net_present_value(rate, &flows);
                let scale = gross.max(net_present_value(rate, &flows[1..]).abs()).max(outlay);
                prop_assert!(value.abs() <= 1e-11 * scale, "{} at {}", value, rate);
            }
            None => prop_assert!(flows[1..].iter().all(|flow| *flow <= 1e-6 * outlay)),
        }
    }

    /// None rather than one of several, and never a panic.
    #[test]
    fn odd_flows_have_no_rate(flows in vec(prop::num::f64::ANY, 0..12)) {
        if let Some(rate) = internal_rate_of_return(&flows) {
            prop_assert!(rate.is_finite() && rate >= -1.0, "{}", rate);
        }
    }
}

/// Two changes of sign have two rates, none has none.
#[test]
fn more_than_one_change_of_sign_has_no_rate() {
    assert_eq!(internal_rate_of_return(&[-100.0, 230.0, -132.0]), None);
    assert_eq!(internal_rate_of_return(&[100.0, -50.0]), None);
    assert_eq!(internal_rate_of_return(&[]), None);
    assert_eq!(internal_rate_of_return(&[-100.0]), None);
    assert_eq!(internal_rate_of_return(&[f64::NAN, 1.0]), None);
    assert_eq!(internal_rate_of_return(&[-f64::INFINITY, 1.0]), None);
}
