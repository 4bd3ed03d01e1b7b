//! Discounted payback, ratio and rate of return of the draws, and the draws that have none.

use super::*;
use studbay::doubt::{RETURNS, Return};

#[test]
fn a_figure_of_return_has_the_bits_of_the_assessment_of_its_draw() {
    for house in varied() {
        let drawn = doubt(&house, &FEW);
        for draw in (0..drawn.draws()).step_by(7) {
            let assessment = assess(&drawn.house_of(draw).unwrap());
            let wanted = [assessment.discounted_payback_years, assessment.sir, assessment.irr];
            for (figure, wanted) in RETURNS.into_iter().zip(wanted) {
                let found = drawn.returns(figure)[draw];
                let found = found.is_finite().then_some(found.to_bits());
                assert_eq!(found, wanted.map(f64::to_bits), "{} of draw {draw}", figure.name());
            }
        }
        let point = assess(&house);
        assert_eq!(drawn.return_point(Return::Irr), point.irr);
        assert_eq!(drawn.return_point(Return::Sir), point.sir);
        assert_eq!(drawn.return_point(Return::DiscountedPayback), point.discounted_payback_years);
    }
}

/// With no escalation the ratio is the yearly saving times the uniform present value over the cost:
/// 19.600 for 3 % and 30 years (NIST Handbook 135 tables; from memory, recomputed). Only the cost is
/// drawn, evenly from 2000 to 4000, so that its quantiles are 2000 + 2000 p.
#[test]
fn the_ratio_over_a_drawn_cost_is_the_closed_form() {
    let house = ranged("installed_cost", uniform(2000.0, 4000.0)).build().unwrap();
    let drawn = doubt(&house, &own_only(20_000));
    let annual = assess(&house).annual_savings;
    let upv = (1.0 - 1.03_f64.powi(-30)) / 0.03;
    assert!((upv - 19.600).abs() < 5e-4);
    let band = drawn.return_band(Return::Sir);
    // The dearest tenth has the smallest ratios.
    for (found, cost) in [(band.p10, 3800.0), (band.p50, 3000.0), (band.p90, 2200.0)] {
        let wanted = annual * upv / cost;
        assert!((found.unwrap() / wanted - 1.0).abs() < 2e-4, "{found:?} {wanted}");
    }
    // At the rate of return a life of savings is worth the cost.
    let rates = drawn.return_band(Return::Irr);
    for (found, cost) in [(rates.p10, 3800.0), (rates.p50, 3000.0), (rates.p90, 2200.0)] {
        let rate = found.unwrap();
        let worth = annual * (1.0 - (1.0 + rate).powi(-30)) / rate;
        assert!((worth / cost - 1.0).abs() < 2e-4, "{rate} {worth} {cost}");
    }
    // The discounted payback is reached where the annuity is the cost, linear inside its year.
    let late = drawn.return_band(Return::DiscountedPayback).p50.unwrap();
    let sum = |years: f64| annual * (1.0 - libm::pow(1.03, -years)) / 0.03;
    assert!((sum(late) / 3000.0 - 1.0).abs() < 1e-3, "{late}");
    for figure in RETURNS {
        assert_eq!(drawn.share_without(figure), 0.0);
    }
}

#[test]
fn draws_without_a_figure_are_counted_and_never_averaged() {
    // A third of the draws miss the whole wall, and save nothing.
    let house = begun()
        .named("missed_fraction", Cell::Number(0.0))
        .ranged("missed_fraction", Distribution::discrete(&[0.0, 1.0], Some(&[2.0, 1.0])).unwrap())
        .build()
        .unwrap();
    let drawn = doubt(&house, &own_only(3000));
    let third = |share: f64| (share - 1.0 / 3.0).abs() < 1e-3;
    assert!(third(drawn.share_without(Return::Irr)), "no rate where nothing is saved");
    assert!(third(drawn.share_without(Return::DiscountedPayback)));
    // Something is paid in every draw: nothing saved is a ratio of 0.
    assert_eq!(drawn.share_without(Return::Sir), 0.0);
    assert_eq!(drawn.return_band(Return::Sir).p10, Some(0.0));
    // The rate is that of the draws that have one; the payback of all, its long end without a number.
    let whole = assess(&house);
    let rate = drawn.return_band(Return::Irr);
    assert_eq!((rate.p10, rate.p90), (whole.irr, whole.irr));
    let late = drawn.return_band(Return::DiscountedPayback);
    assert_eq!((late.p10, late.p90), (whole.discounted_payback_years, None));
    let told = studbay::doubt::words::report(&drawn, None, UnitSystem::Ip, "$");
    let line = |name: &str| {
        let lines = told.iter().flat_map(|block| &block.lines);
        lines.into_iter().find(|(label, _)| label == name).map(|(_, text)| text.clone()).unwrap()
    };
    assert!(line("Discounted payback").contains("33 % not within the life"), "{told:?}");
    assert!(line("Internal rate of return").contains("33 % have none"), "{told:?}");
}

#[test]
fn where_nothing_is_paid_there_is_no_ratio_and_no_rate() {
    let house = begun().named("rebate", Cell::Number(3200.0)).build().unwrap();
    let drawn = doubt(&house, &own_only(50));
    for figure in [Return::Sir, Return::Irr] {
        assert_eq!(drawn.share_without(figure), 1.0);
        let band = drawn.return_band(figure);
        assert_eq!((band.p10, band.p50, band.p90), (None, None, None));
        assert_eq!(drawn.return_quantile(figure, 0.5), None);
    }
    assert_eq!(drawn.return_band(Return::DiscountedPayback).p90, Some(0.0));
}
