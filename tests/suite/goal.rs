//! Break-even values: put back into the assessment they give the goal.

use crate::samples::{house, plain};
use crate::spec::Spec;
use proptest::prelude::*;
use studbay::error::IssueCode;
use studbay::goal::{Breaks, Goal, Input, batt_thickness, blocks, curve, curve_blocks, seek};
use studbay::house::{Assessment, Field, House, assess};
use studbay::money::growing_annuity;
use studbay::readiness::Readiness;
use studbay::units::Quantity;

fn sought(house: &House, name: &str, goal: Goal) -> Breaks {
    let input = Input::named(house, name, None).unwrap_or_else(|issue| panic!("{issue}"));
    seek(house, input, goal, None, None).unwrap_or_else(|error| panic!("{error}"))
}

fn at(house: &House, breaks: &Breaks, value: f64) -> Assessment {
    assess(&breaks.input.put(house, value).unwrap())
}

/// A wall with a batt whose fill is worth its cost only while the batt is thin.
fn thin() -> Spec {
    plain()
        .with("wall_area_ft2", 1200.0)
        .with("series_r", 3.06)
        .with("heating_degree_days_f", 5600.0)
        .with("heating_efficiency", 0.8)
        .with("fuel", "natural_gas")
        .with("fuel_price", 1.5)
        .with("installed_cost", 2400.0)
        .with("batt_thickness_in", 1.0)
}

/// How far the goal is missed, relative to the money in it.
fn miss(goal: Goal, a: &Assessment) -> f64 {
    match goal {
        Goal::Npv => a.npv.abs() / a.net_cost.max(1.0),
        Goal::Sir => (a.sir.unwrap() - 1.0).abs(),
        Goal::Payback(years) => (a.simple_payback_years.unwrap() / years - 1.0).abs(),
    }
}

const GOALS: [Goal; 3] = [Goal::Npv, Goal::Sir, Goal::Payback(12.0)];

#[test]
fn put_back_it_gives_the_goal() {
    let house = thin().build();
    let mut found = 0;
    for name in [
        "batt_thickness_in",
        "batt_thickness_mm",
        "batt_missing_fraction",
        "fuel_price",
        "installed_cost",
        "cost_per_ft2",
        "cost_per_m2",
        "heating_degree_days_f",
        "heating_degree_days_c",
        "heating_efficiency",
        "wall_area_ft2",
        "series_r",
        "series_rsi",
        "framing_fraction",
        "framing_k_w_mk",
        "missed_fraction",
        "realization_rate",
        "rebate",
        "tax_credit_fraction",
        "fill_r_per_in",
    ] {
        for goal in GOALS {
            let breaks = sought(&house, name, goal);
            for value in &breaks.values {
                let error = miss(goal, &at(&house, &breaks, *value));
                assert!(error < 1e-9, "{name} = {value}, {goal:?}: {error:e}");
                found += 1;
            }
        }
    }
    assert!(found > 40, "{found} values found");
}

/// The price at which a payback is N years is N yearly savings; the price of fuel at which the net
/// present value is 0 is the cost over fuel and annuity.
#[test]
fn closed_forms_are_met() {
    let house = thin().build();
    let a = assess(&house);
    let cost = sought(&house, "installed_cost", Goal::Payback(9.0));
    assert!((cost.values[0] / (9.0 * a.annual_savings) - 1.0).abs() < 1e-12);
    assert!(cost.spans[0].turns_at_to && !cost.spans[0].turns_at_from);
    let by_area = sought(&house, "cost_per_ft2", Goal::Payback(9.0));
    assert!((by_area.values[0] * 1200.0 / cost.values[0] - 1.0).abs() < 1e-12);
    let by_metre = sought(&house, "cost_per_m2", Goal::Payback(9.0));
    let area = Quantity::Area.si_from_ip(1200.0);
    assert!((by_metre.values[0] * area / cost.values[0] - 1.0).abs() < 1e-12);
    let price = sought(&house, "fuel_price", Goal::Npv);
    let by_hand = a.net_cost / (a.fuel_saved * growing_annuity(0.03, 0.0, 30));
    assert!((price.values[0] / by_hand - 1.0).abs() < 1e-12, "{} {by_hand}", price.values[0]);
    let sir = sought(&house, "fuel_price", Goal::Sir);
    assert_eq!(sir.values, price.values);
    let days = sought(&house, "heating_degree_days_f", Goal::Payback(9.0));
    let by_hand = 5600.0 * a.simple_payback_years.unwrap() / 9.0;
    assert!((days.values[0] / by_hand - 1.0).abs() < 1e-12);
    let si = sought(&house, "heating_degree_days_c", Goal::Payback(9.0));
    assert!((si.values[0] * 1.8 / days.values[0] - 1.0).abs() < 1e-12);
    // The discount rate at which the net present value is 0 is the internal rate of return.
    let rate = sought(&house, "discount_rate", Goal::Npv);
    assert!((rate.values[0] - a.irr.unwrap()).abs() < 1e-12);
    // The first whole life that pays is the discounted payback rounded up.
    let life = sought(&house, "life_years", Goal::Npv);
    assert_eq!(life.values, [a.discounted_payback_years.unwrap().ceil()]);
    assert!(life.spans[0].turns_at_from && life.spans[0].to == 100.0);
}

#[test]
fn no_such_value_is_said_clearly() {
    let house = thin().build();
    let free = thin().with("installed_cost", 0.0).build();
    let missed =
        sought(&thin().with("installed_cost", 1e7).build(), "batt_thickness_in", Goal::Npv);
    assert!(missed.values.is_empty() && missed.spans.is_empty() && missed.defined);
    let title = &blocks(&missed, "$")[0].title;
    assert!(title.contains("no such value between 0 in and 3.5 in, the goal is missed"), "{title}");
    let met = sought(&thin().with("installed_cost", 1.0).build(), "fuel_price", Goal::Npv);
    assert_eq!(met.values.len(), 1, "below some price it does not pay");
    let met =
        sought(&thin().with("installed_cost", 1.0).build(), "batt_missing_fraction", Goal::Npv);
    assert!(met.values.is_empty() && met.spans.len() == 1);
    assert!(blocks(&met, "$")[0].title.contains("the goal is met throughout"));
    // Where nothing is paid there is no ratio.
    let none = sought(&free, "batt_thickness_in", Goal::Sir);
    assert!(!none.defined && none.met_now.is_none());
    assert!(blocks(&none, "$")[0].title.contains("there is no such figure"));
    // A part of the range.
    let input = Input::named(&house, "batt_thickness_in", None).unwrap();
    let whole = seek(&house, input, Goal::Npv, None, None).unwrap();
    assert_eq!(whole.range, [0.0, 3.5]);
    let beyond = whole.values[0] + 0.1;
    assert!(seek(&house, input, Goal::Npv, Some(beyond), None).unwrap().values.is_empty());
}

/// A poor batt that nearly fills the cavity is worse than one that leaves a little air: the saving
/// falls and rises again, and a goal between has more than one value.
#[test]
fn several_values_are_all_told() {
    let house = thin()
        .with("batt_r_per_in", 1.5)
        .with("fill_r_per_in", 2.0)
        .with("batt_missing_fraction", 0.3)
        .build();
    let input = batt_thickness(&house, None, false).unwrap();
    let saving = |t: f64| assess(&input.put(&house, t).unwrap()).annual_savings;
    let valley =
        (0..=350).map(|i| f64::from(i) / 100.0).min_by(|a, b| saving(*a).total_cmp(&saving(*b)));
    let valley = valley.unwrap();
    assert!(valley < 3.45 && saving(3.5) > saving(valley) * 1.001, "{valley}");
    let between = 0.5 * (saving(valley) + saving(3.5));
    let cost = assess(&house).net_cost;
    let goal = Goal::Payback(cost / between);
    let breaks = seek(&house, input, goal, None, None).unwrap();
    assert!(breaks.values.len() >= 2, "{:?}", breaks.values);
    for value in &breaks.values {
        assert!(miss(goal, &at(&house, &breaks, *value)) < 1e-9);
    }
    assert!(breaks.spans.len() >= 2);
    let told = &blocks(&breaks, "$")[0];
    assert!(told.title.contains(", and "), "{}", told.title);
}

#[test]
fn a_surface_of_a_list_is_named() {
    let spec = thin().listed();
    let mut two = spec.clone();
    two.surfaces[0].fields.set("name", "north");
    two.surfaces.push(two.surfaces[0].clone());
    two.surfaces[1].fields.set("name", "south");
    let house = two.build();
    let missing = Input::named(&house, "batt_thickness_in", None).unwrap_err();
    assert_eq!((missing.code, missing.field.as_str()), (IssueCode::Missing, "surface"));
    assert!(missing.reason.contains("north, south"), "{missing}");
    assert!(Input::named(&house, "batt_thickness_in", Some("roof")).is_err());
    assert!(Input::named(&house, "batt_thickness_in", Some("3")).is_err());
    let south = Input::named(&house, "batt_thickness_in", Some("south")).unwrap();
    assert_eq!((south.surface(), south.now(&house)), (Some(1), Some(1.0)));
    assert_eq!(Input::named(&house, "batt_thickness_in", Some("2")).unwrap(), south);
    let other = south.put(&house, 2.0).unwrap();
    assert_eq!(other.number(Field::BattThickness, Some(0)), Some(1.0));
    assert_eq!(other.number(Field::BattThickness, Some(1)), Some(2.0));
    // One surface needs no name.
    assert!(Input::named(&spec.build(), "batt_thickness_in", None).is_ok());
}

#[test]
fn bad_questions_are_refused() {
    let house = thin().build();
    let code = |name: &str| Input::named(&house, name, None).unwrap_err().code;
    assert_eq!(code("batt_thicknes_in"), IssueCode::UnknownName);
    assert_eq!(code("fuel"), IssueCode::WrongType);
    assert_eq!(code("house_id"), IssueCode::WrongType);
    assert_eq!(code("fill_depth_in"), IssueCode::Misplaced);
    for (key, years, code) in [
        ("profit", None, IssueCode::NotAChoice),
        ("payback", None, IssueCode::Missing),
        ("payback", Some(0.0), IssueCode::OutOfRange),
        ("payback", Some(f64::NAN), IssueCode::OutOfRange),
        ("npv", Some(3.0), IssueCode::Conflict),
    ] {
        assert_eq!(Goal::from_key(key, years).unwrap_err().code, code, "{key} {years:?}");
    }
    let input = Input::named(&house, "batt_thickness_in", None).unwrap();
    let range = |low, high| seek(&house, input, Goal::Npv, low, high).unwrap_err().issues[0].code;
    assert_eq!(range(Some(3.0), Some(2.0)), IssueCode::OutOfRange);
    assert_eq!(range(Some(-1.0), None), IssueCode::OutOfRange);
    assert_eq!(range(None, Some(f64::NAN)), IssueCode::OutOfRange);
    assert_eq!(range(None, Some(99.0)), IssueCode::OutOfRange);
    for points in [0, 1, 2001] {
        assert!(curve(&house, input, None, None, points).is_err());
    }
    let price = Input::named(&house, "fuel_price", None).unwrap();
    let endless = curve(&house, price, None, None, 10).unwrap_err();
    assert_eq!(endless.issues[0].field, "high");
    assert!(curve(&house, price, None, Some(4.0), 10).is_ok());
}

#[test]
fn the_curve_is_the_assessment_point_by_point() {
    let house = thin().build();
    let input = batt_thickness(&house, None, false).unwrap();
    let drawn = curve(&house, input, None, None, 36).unwrap();
    assert_eq!(drawn.points.len(), 36);
    assert_eq!((drawn.points[0].value, drawn.points[35].value), (0.0, 3.5));
    for point in &drawn.points {
        let a = assess(&thin().with("batt_thickness_in", point.value).build());
        assert_eq!(point.simple_payback_years, a.simple_payback_years);
        assert_eq!((point.npv, point.sir), (a.npv, a.sir));
        if let Some(short) = point.payback_short {
            assert!(point.payback_long.is_none_or(|long| long > short));
        }
    }
    // A thicker batt pays back later, as long as there is air beside it.
    let paybacks: Vec<f64> = drawn.points.iter().filter_map(|p| p.simple_payback_years).collect();
    assert!(paybacks[..33].windows(2).skip(3).all(|pair| pair[0] < pair[1]), "{paybacks:?}");
    assert_eq!(drawn.break_even.len(), 1);
    let told = curve_blocks(&drawn, "$", Readiness::Clear);
    assert!(
        told[0]
            .title
            .starts_with("The batt is not too thick for the fill to pay: it is at 1 in, the turn"),
        "{}",
        told[0].title
    );
    assert_eq!(
        curve_blocks(&drawn, "$", Readiness::Hold)[0].title,
        "HOLD: the work must not start"
    );
    let si = curve(&house, batt_thickness(&house, None, true).unwrap(), None, None, 36).unwrap();
    assert!((si.break_even[0] / 25.4 / drawn.break_even[0] - 1.0).abs() < 1e-12);
    assert!((si.points[35].value - 88.9).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Any house, several inputs, any goal: each value gives the goal, or the figure jumps there.
    #[test]
    fn any_value_found_is_a_turn(spec in house(), place in 0..5_usize, years in 0.5..60.0_f64) {
        let house = spec.build();
        let name =
            ["fuel_price", "installed_cost", "heating_efficiency", "discount_rate", "realization_rate"][place];
        for goal in [Goal::Npv, Goal::Payback(years)] {
            let breaks = sought(&house, name, goal);
            for value in &breaks.values {
                let a = at(&house, &breaks, *value);
                let margin = match goal {
                    Goal::Payback(years) => years * a.annual_savings - a.net_cost,
                    _ => a.npv,
                };
                let size = a.net_cost + a.lifetime_savings.abs() + years * a.annual_savings.abs()
                    + (a.npv + a.net_cost).abs();
                prop_assert!(margin.abs() <= 1e-9 * size.max(1e-6), "{} = {}: {}", name, value, margin);
            }
            // In the middle of each span the goal is met.
            for span in &breaks.spans {
                let middle = span.from + 0.5 * (span.to - span.from);
                let a = at(&house, &breaks, middle);
                let met = match goal {
                    Goal::Payback(years) => a.simple_payback_years.is_some_and(|p| p <= years * (1.0 + 1e-9)),
                    _ => a.npv >= -1e-9 * (a.net_cost + (a.npv + a.net_cost).abs()),
                };
                prop_assert!(met || span.to <= span.from * (1.0 + 1e-9), "{} {:?}", name, span);
            }
        }
    }
}
