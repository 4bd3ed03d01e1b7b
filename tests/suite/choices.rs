//! Options side by side: against figures by hand, against houses of their own, and laws.

use crate::samples::{house, plain};
use crate::spec::{Spec, SurfaceSpec};
use proptest::prelude::*;
use studbay::choices::{Comparison, OptionSpec, Row, Work, blocks, compare, side_by_side, usual};
use studbay::error::{Issue, IssueCode};
use studbay::house::{Cell, House, assess, idle_cost};
use studbay::readiness::Finding;
use studbay::words::Tone;

/// An invented wall with a thin batt and materials by name.
fn with_batt() -> Spec {
    plain()
        .without("series_r")
        .with("cladding", "wood_bevel_siding_1_2in")
        .with("sheathing", "board_sheathing_3_4in")
        .with("interior_finish", "plaster_wood_lath_3_4in")
        .with("batt_thickness_in", 1.5)
        .with("batt_missing_fraction", 0.2)
        .with("installed_cost", 3000.0)
        .with("knob_and_tube", "no")
        .with("vermiculite", "no")
        .with("moisture_problem", "no")
        .with("loose_interior_finish", "no")
}

fn top_up() -> OptionSpec {
    OptionSpec::new("fill", Work::TopUp)
}

fn removal() -> OptionSpec {
    OptionSpec::new("batt out", Work::RemoveAndFill)
}

fn give(option: OptionSpec, name: &str, value: f64) -> OptionSpec {
    option.with(name, Cell::Number(value)).unwrap()
}

fn compared(house: &House, options: &[OptionSpec]) -> Comparison {
    compare(house, options).unwrap_or_else(|error| panic!("{error}"))
}

fn row<'c>(comparison: &'c Comparison, name: &str) -> &'c Row {
    comparison.rows.iter().find(|row| row.choice.name == name).unwrap()
}

fn refused(house: &House, options: &[OptionSpec]) -> Vec<Issue> {
    compare(house, options).map_or_else(|error| error.issues, |_| panic!("accepted"))
}

/// By hand: 1000 ft² of empty 2x4 wall. Frame path 3 + 3.5 × 1.25 = 7.375; void path 3 + 1.022
/// (0.18 m²K/W of air); U = 0.25/7.375 + 0.75/4.0221 = 0.22037.
#[test]
fn doing_nothing_is_priced_by_hand() {
    let house = Spec::flat(&[])
        .with("house_id", "by-hand")
        .with("wall_area_ft2", 1000.0)
        .with("series_r", 3.0)
        .with("heating_degree_days_f", 6000.0)
        .with("heating_efficiency", 0.8)
        .with("fuel", "natural_gas")
        .with("fuel_price", 1.5)
        .with("installed_cost", 2500.0)
        .build();
    let air = 0.18 / 0.176_110_184;
    let u = 0.25 / 7.375 + 0.75 / (3.0 + air);
    let annual = 24.0 * 6000.0 * 1000.0 * u / 1e6 / 0.8 / 0.1 * 1.5;
    let now = idle_cost(&house);
    assert!((now.annual_cost / annual - 1.0).abs() < 1e-6, "{} {annual}", now.annual_cost);
    assert!((now.lifetime_cost - 30.0 * now.annual_cost).abs() < 1e-9);
    // NIST Handbook 135 (M): uniform present value, 3 %, 30 years: 19.600.
    assert!((now.present_cost / now.annual_cost - 19.600).abs() < 0.0005);
    let comparison = compared(&house, &[top_up()]);
    let nothing = &comparison.rows[0];
    assert_eq!(nothing.choice.work, Work::Nothing);
    assert_eq!((nothing.assessment.annual_savings, nothing.assessment.net_cost), (0.0, 0.0));
    assert_eq!(nothing.running_cost, now.annual_cost);
    assert_eq!(nothing.life_cycle_cost, now.present_cost);
    assert_eq!(nothing.assessment.fill_mass.ip(), 0.0);
}

/// Without its batt, a wall ends as an empty one that is filled, and begins as it stands.
#[test]
fn taking_the_batt_out_ends_as_an_empty_wall_filled() {
    for missed in [0.0, 0.1] {
        let spec = with_batt().with("missed_fraction", missed).with("batt_compression", 0.2);
        let house = spec.build();
        let empty = assess(
            &spec.clone().without("batt_thickness_in").without("batt_missing_fraction").build(),
        );
        let now = assess(&house);
        let comparison = compared(&house, &[top_up(), removal()]);
        let out = &row(&comparison, "batt out").assessment;
        assert_eq!(out.u_before.ip().to_bits(), now.u_before.ip().to_bits());
        assert!((out.u_after.ip() - empty.u_after.ip()).abs() < 1e-15);
        assert_eq!(out.fill_mass.ip().to_bits(), empty.fill_mass.ip().to_bits());
        let days = house.climate().heating_degree_days.ip();
        let area = house.surfaces()[0].area().ip();
        let heat = 24.0 * days * area * (now.u_before.ip() - empty.u_after.ip()) / 1e6;
        assert!((out.heat_saved.ip() / heat - 1.0).abs() < 1e-12);
        // Saved over the empty wall: less, for the batt was worth something.
        assert!(out.annual_savings < empty.annual_savings);
        let over = row(&comparison, "fill");
        // With every bay filled it saves more than filling over a batt that insulates less.
        assert!(missed > 0.0 || out.annual_savings > over.assessment.annual_savings);
    }
}

/// The default extra of taking the batt out: a share of the price of the fill, by the access that
/// goes with the cladding, and said so.
#[test]
fn default_costs_are_shares_and_are_told() {
    let comparison = compared(&with_batt().build(), &usual(&with_batt().build()));
    let names: Vec<&str> = comparison.rows.iter().map(|row| row.choice.name.as_str()).collect();
    assert_eq!(
        names,
        ["leave it as it is", "fill over what is there", "take the batt out and fill"]
    );
    let over = row(&comparison, "fill over what is there");
    assert!(over.choice.assumptions.is_empty());
    assert_eq!(over.assessment.net_cost, 3000.0);
    let out = row(&comparison, "take the batt out and fill");
    // Painted wood siding: 1.20 times the fill (judgement).
    assert!((out.choice.removal_cost - 3600.0).abs() < 1e-9);
    assert!((out.choice.house.offer().installed_cost - 6600.0).abs() < 1e-9);
    assert_eq!(out.choice.assumptions.len(), 1);
    assert!(out.choice.assumptions[0].citation.to_string().contains("judgement"));
    // Another way in costs the difference of the two.
    let inside = top_up().with("access", Cell::Text("from_inside")).unwrap();
    let comparison = compared(&with_batt().build(), &[inside]);
    let repair = row(&comparison, "fill").choice.repair_cost;
    assert!((repair - (0.25 - 0.15) * 3000.0).abs() < 1e-9, "{repair}");
    // A stated price is the whole price.
    let stated = give(removal(), "installed_cost", 5000.0);
    let stated = compared(&with_batt().build(), &[give(stated, "repair_cost", 250.0)]);
    let stated = &row(&stated, "batt out").choice;
    assert_eq!(stated.house.offer().installed_cost, 5250.0);
    assert!(stated.assumptions.is_empty());
    // An empty wall has no batt to take out, and the usual options know it.
    let empty = plain().build();
    assert!(usual(&empty).iter().all(|option| option.work != Work::RemoveAndFill));
    let issue = &refused(&empty, &[removal()])[0];
    assert_eq!((issue.code, issue.field.as_str()), (IssueCode::Conflict, "options[0].work"));
}

fn two_surfaces() -> Spec {
    let flat = with_batt().with("recessed_lights_or_flues", "no");
    let mut listed = flat.listed();
    let walls = &mut listed.surfaces[0].fields;
    walls.set("name", "walls");
    let attic = crate::spec::Fields::default()
        .with("name", "attic")
        .with("kind", "attic_floor")
        .with("area_ft2", 650.0)
        .with("cavity_depth_in", 5.5)
        .with("batt_thickness_in", 3.0)
        .with("interior_finish", "plaster_wood_lath_3_4in")
        .with("fill_depth_in", 10.0);
    listed.surfaces.push(SurfaceSpec { fields: attic, layers: Vec::new() });
    listed
}

/// A surface that is left alone adds nothing: the option saves what a house with only the treated
/// surface saves.
#[test]
fn a_part_saves_what_it_saves_alone() {
    let spec = two_surfaces();
    let comparison = compared(&spec.build(), &usual(&spec.build()));
    for (name, place) in [("the attic floor alone", 1), ("all but the attic floor", 0)] {
        let alone =
            Spec { head: spec.head.clone(), surfaces: vec![spec.surfaces[place].clone()] }.build();
        let alone = assess(&alone);
        let part = &row(&comparison, name).assessment;
        assert!((part.annual_savings - alone.annual_savings).abs() < 1e-9, "{name}");
        assert!((part.fill_mass.ip() - alone.fill_mass.ip()).abs() < 1e-9, "{name}");
    }
    let whole = row(&comparison, "fill over what is there");
    let parts = ["the attic floor alone", "all but the attic floor"]
        .map(|name| row(&comparison, name).assessment.annual_savings);
    assert!((whole.assessment.annual_savings - parts[0] - parts[1]).abs() < 1e-9);
    // Both parts are priced by area, and say so.
    let prices = ["the attic floor alone", "all but the attic floor"].map(|name| {
        let choice = &row(&comparison, name).choice;
        assert_eq!(choice.assumptions.len(), 1);
        choice.house.offer().installed_cost
    });
    assert!((prices[0] + prices[1] - 3000.0).abs() < 1e-9);
}

/// Savings, cost and discount by hand: the first year's saving is lost, the price is paid later.
#[test]
fn waiting_costs_the_first_year_less_the_interest() {
    for (rate, rise) in [(0.03, 0.0), (0.05, 0.02), (0.0, 0.0)] {
        let house = with_batt().with("discount_rate", rate).with("fuel_escalation", rise).build();
        let comparison = compared(&house, &[top_up()]);
        let fill = row(&comparison, "fill");
        let a = &fill.assessment;
        let by_hand = (a.annual_savings * (1.0 + rise) - a.net_cost * rate) / (1.0 + rate);
        assert!(
            (fill.cost_of_waiting - by_hand).abs() < 1e-9,
            "{} {by_hand}",
            fill.cost_of_waiting
        );
    }
    // Where the price earns more than the work saves, waiting pays.
    let dear = with_batt().with("installed_cost", 200_000.0).build();
    assert!(row(&compared(&dear, &[top_up()]), "fill").cost_of_waiting < 0.0);
}

#[test]
fn a_hold_rules_out_every_fill_but_the_one_that_clears_it() {
    let house = with_batt().with("knob_and_tube", "yes").build();
    let rewired = give(OptionSpec::new("rewire, then fill", Work::TopUp), "installed_cost", 9000.0)
        .with("knob_and_tube", Cell::Text("no"))
        .unwrap();
    let comparison = compared(&house, &[top_up(), removal(), rewired]);
    assert!(comparison.rows[0].ruled_out.is_empty(), "nothing holds doing nothing");
    for name in ["fill", "batt out"] {
        assert_eq!(row(&comparison, name).ruled_out, [Finding::KnobAndTube]);
        assert!(row(&comparison, name).assessment.annual_savings > 0.0, "its figures are shown");
    }
    let open = row(&comparison, "rewire, then fill");
    assert!(open.ruled_out.is_empty());
    // What is ruled out is no stepping stone, and never the best.
    let step = open.step.unwrap();
    assert_eq!(comparison.rows[step.over].choice.work, Work::Nothing);
    assert!(comparison.rows[comparison.best].ruled_out.is_empty());
    let told = blocks(&comparison, "$");
    assert_eq!(told[0].tone, Tone::Hold);
    assert!(told[0].lines.iter().any(|(_, text)| text.contains("fill; batt out")), "{told:?}");
    // All held: what is left is doing nothing.
    let held = compared(&house, &[top_up()]);
    assert_eq!(held.rows[held.best].choice.work, Work::Nothing);
}

#[test]
fn what_costs_more_and_saves_less_is_outdone() {
    let house = with_batt().build();
    let dear = give(OptionSpec::new("dear", Work::TopUp), "installed_cost", 4000.0);
    let dear = give(dear, "missed_fraction", 0.3);
    let best = give(OptionSpec::new("best", Work::TopUp), "installed_cost", 4500.0);
    let best = give(best, "fill_r_per_in", 4.5);
    let comparison = compared(&house, &[dear, top_up(), best]);
    let place = |name: &str| comparison.rows.iter().position(|r| r.choice.name == name).unwrap();
    assert_eq!(comparison.rows[place("dear")].outdone_by, Some(place("fill")));
    // The step from it leads nowhere: the next dearer one is compared with what outdoes it.
    assert_eq!(comparison.rows[place("best")].step.unwrap().over, place("fill"));
    let worse = comparison.rows[place("dear")].step.unwrap();
    assert!(worse.annual_savings < 0.0 && worse.simple_payback_years.is_none());
}

#[test]
fn every_fault_is_told_with_its_path() {
    let house = two_surfaces().build();
    let issue = |option: OptionSpec| {
        let issues = refused(&house, &[top_up(), option]);
        assert_eq!(issues.len(), 1, "{issues:?}");
        issues.into_iter().next().unwrap()
    };
    let thin = issue(give(OptionSpec::new("x", Work::TopUp), "fill_density_lb_ft3", 2.0));
    assert!(thin.field.starts_with("options[1].surfaces["), "{thin}");
    let unknown = issue(OptionSpec::new("x", Work::TopUp).on(["roof"]));
    assert_eq!((unknown.code, unknown.value.as_str()), (IssueCode::NotAChoice, "roof"));
    assert!(unknown.reason.contains("walls, attic"), "{unknown}");
    let none: [&str; 0] = [];
    assert_eq!(issue(OptionSpec::new("x", Work::TopUp).on(none)).field, "options[1].surfaces");
    assert_eq!(issue(top_up()).code, IssueCode::GivenTwice, "two of one name");
    let attic = give(OptionSpec::new("x", Work::TopUp), "batt_compression", 0.2);
    assert_eq!(issue(attic.on(["attic"])).code, IssueCode::Misplaced);
    let idle = give(OptionSpec::new("x", Work::Nothing), "installed_cost", 5.0);
    assert_eq!(issue(idle).code, IssueCode::Conflict);
    let rebate = give(OptionSpec::new("x", Work::TopUp), "rebate", 1e6);
    assert_eq!(issue(rebate).field, "options[1].rebate");
    let many: Vec<OptionSpec> =
        (0..51).map(|i| OptionSpec::new(format!("{i}"), Work::TopUp)).collect();
    assert_eq!(refused(&house, &many)[0].code, IssueCode::OutOfRange);

    let given = |name: &str, cell: Cell<'_>| top_up().with(name, cell).unwrap_err();
    let code = |name, cell| given(name, cell).code;
    assert_eq!(code("fuel_price", Cell::Number(3.0)), IssueCode::Misplaced);
    assert_eq!(code("batt_thickness_in", Cell::Number(3.0)), IssueCode::Misplaced);
    assert!(given("instaled_cost", Cell::Number(3.0)).reason.contains("is installed_cost meant?"));
    assert!(given("work", Cell::Text("topup")).reason.contains("is top_up meant?"));
    assert!(given("access", Cell::Text("frominside")).reason.contains("from_inside"));
    assert_eq!(code("repair_cost", Cell::Number(-1.0)), IssueCode::OutOfRange);
    assert_eq!(code("removal_cost", Cell::Number(f64::NAN)), IssueCode::NotANumber);
    assert_eq!(code("installed_cost", Cell::Text("dear")), IssueCode::NotANumber);
    assert_eq!(code("name", Cell::Number(3.0)), IssueCode::NotText);
    let twice = give(top_up(), "fill_density_lb_ft3", 4.0);
    let twice = twice.with("fill_density_kg_m3", Cell::Number(60.0)).unwrap_err();
    assert_eq!(twice.code, IssueCode::GivenTwice);
}

#[cfg(feature = "house-file")]
#[test]
fn a_house_file_states_its_options() {
    use studbay::choices::stated;
    use studbay::house::Raw;
    let toml = format!(
        "{}\n[[options]]\nname = \"now\"\nwork = \"nothing\"\n\
         [[options]]\nname = \"fill\"\ninstalled_cost = 2800\n\
         [[options]]\nname = \"out\"\nwork = \"remove_and_fill\"\nremoval_cost = 2000\n\
         access = \"from_inside\"\nfill_density_kg_m3 = 60\n",
        with_batt().to_toml()
    );
    let house = House::from_toml(&toml).unwrap();
    assert_eq!(house, with_batt().build(), "the house is the same");
    let raw: Raw = toml::from_str(&toml).unwrap();
    let options = stated(&raw).unwrap();
    let comparison = compared(&house, &options);
    assert_eq!(comparison.rows.len(), 3);
    assert_eq!(row(&comparison, "fill").assessment.net_cost, 2800.0);
    let out = &row(&comparison, "out").choice;
    assert_eq!(out.removal_cost, 2000.0);
    assert_ne!(out.house.surfaces()[0].fill(), house.surfaces()[0].fill());
    for (lines, field) in [
        ("[[options]]\nwork = \"top_up\"", "options[0].name"),
        ("[[options]]\nname = \"a\"\nsurfaces = [true]", "options[0].surfaces"),
        ("[[options]]\nname = \"a\"\nfill_density_lb_ft3 = [4]", "options[0].fill_density_lb_ft3"),
        ("options = [3]", "options[0]"),
    ] {
        let raw: Raw = toml::from_str(lines).unwrap();
        let error = stated(&raw).unwrap_err();
        assert_eq!(error.issues[0].field, field, "{error}");
    }
    let wrong = House::from_toml(&format!("options = 3\n{}", with_batt().to_toml())).unwrap_err();
    assert!(wrong.to_string().contains("must be a list of tables"), "{wrong}");
}

proptest! {
    #[test]
    fn the_rows_add_up(spec in house()) {
        let house = spec.build();
        let now = idle_cost(&house);
        let comparison = compared(&house, &usual(&house));
        prop_assert_eq!(comparison.rows[0].choice.work, Work::Nothing);
        let least = comparison
            .rows
            .iter()
            .filter(|row| row.ruled_out.is_empty())
            .map(|row| row.life_cycle_cost)
            .fold(f64::INFINITY, f64::min);
        prop_assert_eq!(comparison.rows[comparison.best].life_cycle_cost, least);
        for (place, row) in comparison.rows.iter().enumerate() {
            let a = &row.assessment;
            prop_assert_eq!(row.running_cost, now.annual_cost - a.annual_savings);
            prop_assert_eq!(row.life_cycle_cost, now.present_cost - a.npv);
            prop_assert_eq!(row.step.is_some(), place > 0);
            let Some(step) = row.step else { continue };
            prop_assert!(step.over < place);
            let from = &comparison.rows[step.over].assessment;
            let size = a.npv.abs() + from.npv.abs() + a.net_cost + now.present_cost.abs()
                + a.lifetime_savings.abs() + from.lifetime_savings.abs();
            prop_assert!((step.npv - (a.npv - from.npv)).abs() <= 1e-9 * size);
            prop_assert!(step.net_cost >= 0.0);
            if let Some(years) = step.simple_payback_years {
                let by_hand = (a.net_cost - from.net_cost) / (a.annual_savings - from.annual_savings);
                prop_assert!((years - by_hand).abs() <= 1e-9 * by_hand.abs().max(1e-3) * (size / step.annual_savings.abs().max(1e-9)).max(1.0));
            }
        }
        // The first step is over doing nothing: the figures of the assessment itself.
        if let Some(row) = comparison.rows.get(1) {
            let step = row.step.unwrap();
            prop_assert_eq!(step.over, 0);
            prop_assert_eq!(step.npv.to_bits(), row.assessment.npv.to_bits());
            prop_assert_eq!(step.sir, row.assessment.sir);
            prop_assert_eq!(step.simple_payback_years, row.assessment.simple_payback_years);
            prop_assert_eq!(step.discounted_payback_years, row.assessment.discounted_payback_years);
        }
    }

    #[test]
    fn a_hold_comes_first_and_every_payback_is_called_modelled(spec in house()) {
        let house = spec.build();
        let comparison = compared(&house, &usual(&house));
        let told = blocks(&comparison, "$");
        let held = comparison.rows.iter().any(|row| !row.ruled_out.is_empty());
        prop_assert_eq!(told[0].tone == Tone::Hold, held);
        for block in &told {
            let text = format!("{} {:?}", block.title, block.lines).to_lowercase();
            if text.contains("payback") || text.contains("pays back") {
                prop_assert!(text.contains("modelled"), "{}", text);
            }
            prop_assert!(!text.contains("nan") && !text.contains("inf "), "{}", text);
        }
        let (names, table) = side_by_side(&comparison, "$");
        prop_assert!(table.iter().all(|(_, cells)| cells.len() == names.len()));
    }
}
