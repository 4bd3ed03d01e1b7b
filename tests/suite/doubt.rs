//! Doubt: draws that are the assessments of changed houses, closed forms, what a house may say of
//! its own ranges, and what is refused.

use studbay::distribution::Distribution;
use studbay::doubt::{Band, FIGURES, Figure, Input, Origin, Sampling, doubt, quantile, shares};
use studbay::error::InputError;
use studbay::house::{
    Assessment, Cell, Field, GivenRange, House, HouseBuilder, ResultValue, SurfaceBuilder, assess,
};
use studbay::units::UnitSystem;

const FEW: Sampling = Sampling { draws: 400, seed: 3, own_only: false };

fn begun() -> HouseBuilder {
    let n = Cell::Number;
    House::builder()
        .id("doubted")
        .named("wall_area_ft2", n(1500.0))
        .named("cavity_depth_in", n(3.75))
        .named("series_r", n(3.0))
        .named("batt_thickness_in", n(1.5))
        .named("batt_missing_fraction", n(0.2))
        .named("heating_degree_days_f", n(5600.0))
        .named("heating_efficiency", n(0.8))
        .named("fuel", Cell::Text("natural_gas"))
        .named("fuel_price", n(1.5))
        .named("installed_cost", n(3200.0))
}

fn ranged(name: &str, distribution: Distribution) -> HouseBuilder {
    begun().ranged(name, distribution)
}

fn triangular(low: f64, likely: f64, high: f64) -> Distribution {
    Distribution::triangular(low, likely, high).unwrap()
}

fn uniform(low: f64, high: f64) -> Distribution {
    Distribution::uniform(low, high).unwrap()
}

fn figure_of(assessment: &Assessment, figure: Figure) -> f64 {
    let def = figure.def().unwrap_or_else(|| panic!("{} is no result", figure.name()));
    match (def.get)(assessment) {
        ResultValue::Number(number) => number.unwrap_or(f64::INFINITY),
        other => panic!("{other:?}"),
    }
}

fn own_only(draws: u32) -> Sampling {
    Sampling { draws, own_only: true, ..Sampling::default() }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / f64::from(u32::try_from(values.len()).unwrap())
}

fn input(inputs: &[Input], field: Field) -> &Input {
    inputs.iter().find(|input| input.field() == field).unwrap_or_else(|| panic!("no {field:?}"))
}

/// A heat pump with cooling and both leakage tests, and several surfaces: the parts that a simple
/// house does not reach.
fn varied() -> Vec<House> {
    let n = Cell::Number;
    let cooled = begun()
        .named("cooling_degree_days_f", n(900.0))
        .named("cooling_seer", n(13.0))
        .named("electricity_price", n(0.2))
        .named("cfm50_before", n(3000.0))
        .named("cfm50_after", n(2400.0))
        .named("billed_heating_fuel", n(900.0))
        .ranged("cfm50_after", triangular(2000.0, 2400.0, 2800.0))
        .ranged("life_years", Distribution::discrete(&[20.0, 30.0, 40.0], None).unwrap())
        .ranged("air_gap_level", Distribution::discrete(&[0.0, 2.0], None).unwrap());
    let surface = |kind: &'static str| {
        SurfaceBuilder::default()
            .named("kind", Cell::Text(kind))
            .named("area_ft2", n(600.0))
            .named("series_r", n(3.0))
            .named("batt_thickness_in", n(2.0))
    };
    let mut nested = HouseBuilder::default();
    nested.list_surfaces();
    let nested = nested
        .named("house_id", Cell::Text("nested"))
        .named("heating_degree_days_f", n(5600.0))
        .named("heating_efficiency", n(0.8))
        .named("fuel", Cell::Text("electricity"))
        .named("electricity_price", n(0.2))
        .named("installed_cost", n(7000.0))
        .named("rebate", n(6900.0))
        .surface(surface("wall").ranged("batt_thickness_in", uniform(0.5, 3.0)))
        .surface(surface("wall"))
        .surface(surface("attic_floor").named("fill_depth_in", n(8.0)));
    vec![begun().build().unwrap(), cooled.build().unwrap(), nested.build().unwrap()]
}

/// A draw is nothing but the assessment of another house: the same bits.
#[test]
fn a_draw_has_the_bits_of_the_assessment_of_its_house() {
    for house in varied() {
        let drawn = doubt(&house, &FEW);
        for draw in 0..drawn.draws() {
            let assessment = assess(&drawn.house_of(draw).unwrap());
            for figure in FIGURES {
                let wanted = figure_of(&assessment, figure);
                let found = drawn.values(figure)[draw];
                assert_eq!(
                    found.to_bits(),
                    wanted.to_bits(),
                    "{} {draw} {}",
                    house.house_id(),
                    figure.name()
                );
            }
        }
        assert!(drawn.house_of(drawn.draws()).is_none());
        for figure in FIGURES {
            let wanted = figure_of(&assess(&house), figure);
            assert_eq!(drawn.point(figure).to_bits(), wanted.to_bits(), "{}", figure.name());
        }
    }
}

/// The same draw through the front door: the drawn numbers, given to a builder by name.
#[test]
fn a_draw_is_the_house_that_one_would_write() {
    let house = begun().build().unwrap();
    let drawn = doubt(&house, &FEW);
    for draw in [0, 1, 17, 399] {
        let mut written = HouseBuilder::default();
        let n = Cell::Number;
        let names = ["cavity_depth_in"];
        written.give("house_id", Cell::Text("written"));
        written.give("fuel", Cell::Text("natural_gas"));
        written.give(names[0], n(3.75));
        for (place, input) in drawn.inputs().iter().enumerate() {
            let name = match input.field() {
                Field::Area => "wall_area_ft2",
                field => field.def().ip,
            };
            written.give(name, n(drawn.drawn(place)[draw]));
        }
        let assessment = assess(&written.build().unwrap());
        for figure in FIGURES {
            let wanted = figure_of(&assessment, figure);
            assert_eq!(drawn.values(figure)[draw].to_bits(), wanted.to_bits(), "{}", figure.name());
        }
    }
}

#[test]
fn every_draw_is_a_house_that_the_registry_allows() {
    for house in varied() {
        let drawn = doubt(&house, &FEW);
        for (place, input) in drawn.inputs().iter().enumerate() {
            let def = input.field().def();
            for value in drawn.drawn(place) {
                assert!(def.allows(value, UnitSystem::Ip), "{} = {value}", def.ip);
            }
        }
        for draw in 0..drawn.draws() {
            let house = drawn.house_of(draw).unwrap();
            assert!(house.offer().rebate <= house.offer().installed_cost);
            for surface in house.surfaces() {
                let open = matches!(surface.fill(), studbay::house::Fill::Open(_));
                assert!(open || surface.batt().thickness <= surface.framing().depth);
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_bits_and_another_seed_others() {
    let house = begun().build().unwrap();
    let one = doubt(&house, &FEW);
    let threads: Vec<_> = (0..4)
        .map(|_| {
            let house = house.clone();
            std::thread::spawn(move || doubt(&house, &FEW).values(Figure::Npv).to_vec())
        })
        .collect();
    for thread in threads {
        assert_eq!(thread.join().unwrap(), one.values(Figure::Npv));
    }
    let other = doubt(&house, &Sampling { seed: 4, ..FEW });
    assert_ne!(one.values(Figure::Npv), other.values(Figure::Npv));
}

/// A range more leaves the draws of all other fields as they were: what differs is what was said.
#[test]
fn a_range_more_changes_no_other_draw() {
    let plain = doubt(&begun().build().unwrap(), &FEW);
    let more = doubt(&ranged("discount_rate", uniform(0.01, 0.05)).build().unwrap(), &FEW);
    assert_eq!(more.inputs().len(), plain.inputs().len() + 1);
    for (place, known) in plain.inputs().iter().enumerate() {
        let same = more.inputs().iter().position(|input| input.field() == known.field()).unwrap();
        assert_eq!(plain.drawn(place), more.drawn(same), "{}", known.name());
    }
    assert_eq!(plain.values(Figure::SimplePayback), more.values(Figure::SimplePayback));
    assert_ne!(plain.values(Figure::Npv), more.values(Figure::Npv));
}

/// What is proportional to one input has the mean and the quantiles of that input.
#[test]
fn closed_forms_of_what_is_proportional() {
    let house = ranged("fuel_price", triangular(1.0, 1.5, 3.0)).build().unwrap();
    let point = assess(&house);
    let drawn = doubt(&house, &own_only(10_000));
    let each = point.annual_savings / 1.5;
    // Triangular: mean (a + b + c)/3; median b − sqrt((b − a)(b − c)/2) for c below the middle.
    let found = mean(drawn.values(Figure::AnnualSavings)) / each;
    assert!((found - 5.5 / 3.0).abs() < 2e-5, "{found}");
    let median: f64 = 3.0 - (2.0_f64 * 1.5 / 2.0).sqrt();
    let band = drawn.band(Figure::AnnualSavings);
    assert!((band.p50.unwrap() / each - median).abs() < 5e-4);
    let ten = 1.0 + (0.1_f64 * 2.0 * 0.5).sqrt();
    assert!((band.p10.unwrap() / each - ten).abs() < 5e-4);
    // The payback falls as the price rises: its P90 is that of the price's P10.
    let payback = drawn.band(Figure::SimplePayback);
    assert!((payback.p90.unwrap() - point.net_cost / (each * ten)).abs() < 5e-3);

    // NPV = worth × price − cost: P(NPV > 0) is the share of prices above cost over worth.
    let worth = (point.npv + point.net_cost) / 1.5;
    let house = ranged("fuel_price", uniform(0.5, 2.5)).build().unwrap();
    let drawn = doubt(&house, &own_only(10_000));
    let breaks_even = point.net_cost / worth;
    let wanted = ((2.5 - breaks_even) / 2.0).clamp(0.0, 1.0);
    assert!((drawn.chance_of_gain() - wanted).abs() < 2e-4, "{wanted}");
    // And so is the chance of paying back within N years.
    let years = 15.0;
    let wanted = ((2.5 - point.net_cost / (each * years)) / 2.0).clamp(0.0, 1.0);
    assert!(0.05 < wanted && wanted < 0.95, "{wanted}");
    assert!((drawn.chance_of_payback_within(years) - wanted).abs() < 2e-4);
}

/// Fuel saved is the product of independent inputs over a third: the mean of a product is the
/// product of means, and the variance of a product of independents is known.
#[test]
fn closed_forms_of_a_product() {
    let house = ranged("fuel_price", uniform(1.0, 2.0))
        .ranged("heating_degree_days_f", triangular(5000.0, 5600.0, 6500.0))
        .build()
        .unwrap();
    let each = assess(&house).annual_savings / 1.5 / 5600.0;
    let drawn = doubt(&house, &own_only(40_000));
    let values = drawn.values(Figure::AnnualSavings);
    let (price, days) = (1.5, 17_100.0 / 3.0);
    let average = mean(values) / each;
    assert!((average / (price * days) - 1.0).abs() < 5e-4, "{average}");
    let squares: Vec<f64> = values.iter().map(|v| (v / each) * (v / each)).collect();
    let variance = mean(&squares) - average * average;
    let (a, c, b): (f64, f64, f64) = (5000.0, 5600.0, 6500.0);
    let spread_days = (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0;
    let spread_price = 1.0 / 12.0;
    let wanted =
        spread_price * spread_days + spread_price * days * days + spread_days * price * price;
    assert!((variance / wanted - 1.0).abs() < 0.01, "{variance} {wanted}");
    // Their shares: first order in closed form, the rest by both together.
    let found = shares(&house, &own_only(20_000), Figure::AnnualSavings).unwrap();
    let share = |name: &str| found.shares.iter().find(|s| s.names == [name]).unwrap();
    let first = spread_price * days * days / wanted;
    let total = (spread_price * days * days + spread_price * spread_days) / wanted;
    let price = share("fuel_price");
    assert!((price.first - first).abs() < 4.0 * price.first_error + 0.01, "{price:?} {first}");
    assert!((price.total - total).abs() < 4.0 * price.total_error + 0.01, "{price:?} {total}");
    assert!(found.shares[0].names == ["fuel_price"], "sorted");
}

/// A latin hypercube keeps every input's own quantiles: each of n equal parts has one draw.
#[test]
fn each_input_has_one_draw_in_each_part() {
    let house = ranged("fuel_price", uniform(1.0, 2.0)).build().unwrap();
    let drawn = doubt(&house, &own_only(500));
    let mut prices = drawn.drawn(0);
    prices.sort_by(f64::total_cmp);
    for (part, price) in (0_u32..).zip(prices) {
        let low = 1.0 + f64::from(part) / 500.0;
        assert!((low..=low + 0.002 + 1e-12).contains(&price), "{part}: {price}");
    }
}

#[test]
fn quantiles_are_those_of_sorted_draws() {
    let drawn = doubt(&begun().build().unwrap(), &FEW);
    let mut sorted = drawn.values(Figure::Npv).to_vec();
    sorted.sort_by(f64::total_cmp);
    // Type 7 at 0.1 of 400: rank 39.9.
    let wanted = sorted[39] + 0.9 * (sorted[40] - sorted[39]);
    let found = drawn.quantile(Figure::Npv, 0.1).unwrap();
    assert!((found - wanted).abs() < 1e-6 * wanted.abs(), "{found} {wanted}");
    assert_eq!(quantile(&mut sorted.clone(), 0.0), Some(sorted[0]));
    assert_eq!(quantile(&mut sorted.clone(), 1.0), Some(sorted[399]));
}

/// One fuel price, one weather.
#[test]
fn what_physics_moves_together_moves_together() {
    let houses = varied();
    // The price of electricity is that of the heat: no other price is drawn.
    let drawn = doubt(&houses[2], &FEW);
    assert!(drawn.inputs().iter().all(|input| input.field() != Field::FuelPrice));
    let house = drawn.house_of(5).unwrap();
    assert_eq!(house.plant().fuel_price, house.plant().electricity_price);
    assert_ne!(house.plant().fuel_price, houses[2].plant().fuel_price);
    // A cold winter and a hot summer do not come from one temperature.
    let drawn = doubt(&houses[1], &FEW);
    let place = |field| drawn.inputs().iter().position(|input| input.field() == field).unwrap();
    let (cold, hot) = (
        drawn.drawn(place(Field::HeatingDegreeDays)),
        drawn.drawn(place(Field::CoolingDegreeDays)),
    );
    let mut pairs: Vec<(f64, f64)> = cold.into_iter().zip(hot).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    assert!(pairs.windows(2).all(|pair| pair[0].1 >= pair[1].1));
    // The surveyor is off by the same on every surface; the one with its own range is apart.
    let drawn = doubt(&houses[2], &FEW);
    let names: Vec<String> = drawn.inputs().iter().map(Input::name).collect();
    assert!(names.contains(&"surfaces[0].batt_thickness_in".to_owned()), "{names:?}");
    let rest = &drawn.inputs()[names.iter().position(|name| name == "batt_thickness_in").unwrap()];
    assert_eq!(rest.places().len(), 2);
    let house = drawn.house_of(7).unwrap();
    let thick = |place: usize| house.surfaces()[place].batt().thickness.ip();
    assert_eq!(thick(1), thick(2));
    assert_ne!(thick(0), thick(1));
}

#[test]
fn a_range_may_move_with_or_against_another() {
    for (against, sign) in [(false, 1.0), (true, -1.0)] {
        let moves = Some(("fuel_price".to_owned(), against));
        let range = GivenRange { distribution: uniform(0.0, 0.04), moves };
        let mut house = ranged("fuel_price", uniform(1.0, 2.0));
        house.give_range("fuel_escalation", range);
        let drawn = doubt(&house.build().unwrap(), &own_only(300));
        let place = |field| drawn.inputs().iter().position(|input| input.field() == field).unwrap();
        let price = drawn.drawn(place(Field::FuelPrice));
        let rise = drawn.drawn(place(Field::FuelEscalation));
        for (price, rise) in price.iter().zip(&rise) {
            let share = if sign > 0.0 { price - 1.0 } else { 2.0 - price };
            assert!((rise / 0.04 - share).abs() < 1e-9, "{price} {rise}");
        }
        // Together they are one source of doubt.
        let found = shares(drawn.house(), &own_only(500), Figure::Npv).unwrap();
        assert_eq!(found.shares.len(), 1);
        assert!((found.shares[0].total - 1.0).abs() < 0.1);
        assert_eq!(found.shares[0].names, ["fuel_price", "fuel_escalation"]);
    }
}

#[test]
fn a_house_that_may_save_nothing_has_no_number_for_its_long_end() {
    // A third of the draws miss the whole wall.
    let house = begun()
        .named("missed_fraction", Cell::Number(0.0))
        .ranged("missed_fraction", Distribution::discrete(&[0.0, 1.0], Some(&[2.0, 1.0])).unwrap())
        .build()
        .unwrap();
    let drawn = doubt(&house, &own_only(3000));
    assert!((drawn.chance_of_no_payback() - 1.0 / 3.0).abs() < 1e-3);
    let band = drawn.band(Figure::SimplePayback);
    assert!(band.p10.is_some() && band.p50.is_some());
    assert_eq!(band.p90, None);
    let rest = drawn.chance_of_payback_within(1e9);
    assert!((rest + drawn.chance_of_no_payback() - 1.0).abs() < 1e-12);
    let told = studbay::doubt::words::report(&drawn, None, UnitSystem::Ip, "$");
    assert!(told.iter().any(|block| block.title.contains("to no payback at all")), "{told:?}");
    // A payback without a number has no variance; the net present value has one.
    let error = shares(&house, &own_only(200), Figure::SimplePayback).unwrap_err().to_string();
    assert!(error.contains("does not exist in") && error.contains("npv"), "{error}");
    assert!(shares(&house, &own_only(200), Figure::Npv).is_ok());
}

#[test]
fn a_house_without_any_doubt_says_so() {
    let house = begun().build().unwrap();
    let drawn = doubt(&house, &own_only(10));
    assert!(drawn.inputs().is_empty());
    let point = assess(&house).npv;
    assert_eq!(
        drawn.band(Figure::Npv),
        Band { p10: Some(point), p50: Some(point), p90: Some(point) }
    );
    let error = shares(&house, &own_only(10), Figure::Npv).unwrap_err().to_string();
    assert!(error.contains("nothing that may be off moves it"), "{error}");
    // One draw, and none at all: still one.
    assert_eq!(doubt(&house, &Sampling { draws: 0, ..FEW }).draws(), 1);
}

/// Money by the end of each year is the net present value of a life of so many years.
#[test]
fn cash_is_the_net_present_value_of_a_shorter_life() {
    let house = begun()
        .named("fuel_escalation", Cell::Number(0.02))
        .named("life_years", Cell::Number(12.0))
        .build()
        .unwrap();
    let drawn = doubt(&house, &FEW);
    let cash = drawn.cash();
    assert_eq!(cash.len(), 13);
    assert_eq!(cash[0].point, -assess(&house).net_cost);
    for year in &cash[1..] {
        let years = f64::from(year.year);
        let shorter = begun()
            .named("fuel_escalation", Cell::Number(0.02))
            .named("life_years", Cell::Number(years))
            .build()
            .unwrap();
        let wanted = assess(&shorter);
        assert_eq!(year.discounted_point.to_bits(), wanted.npv.to_bits(), "year {years}");
        assert_eq!(year.point, wanted.lifetime_savings - wanted.net_cost);
        let band = doubt(&shorter, &FEW).band(Figure::Npv);
        assert_eq!(year.discounted, band, "year {years}");
        assert!(year.band.p10 < year.band.p50 && year.band.p50 < year.band.p90);
    }
    // Where the life itself is drawn, what has come back stays.
    let lives = Distribution::discrete(&[5.0, 12.0], None).unwrap();
    let house = begun()
        .named("life_years", Cell::Number(12.0))
        .ranged("life_years", lives)
        .build()
        .unwrap();
    let drawn = doubt(&house, &own_only(100));
    let cash = drawn.cash();
    assert_eq!(cash.len(), 13);
    assert_eq!(cash[12].discounted, drawn.band(Figure::Npv));
}

// Realisation: check values section 7.

fn realised(house: &House) -> (f64, f64, f64) {
    let drawn = doubt(house, &Sampling { draws: 20_000, ..Sampling::default() });
    let input = input(drawn.inputs(), Field::RealizationRate).clone();
    assert!(matches!(input.origin(), Origin::Usual(_)));
    let distribution = input.places()[0].distribution();
    let (low, high) = distribution.ends();
    // The most likely value of a triangular one, from its mean.
    let place = drawn.inputs().iter().position(|i| i.field() == Field::RealizationRate).unwrap();
    (low, 3.0 * mean(&drawn.drawn(place)) - low - high, high)
}

fn near(found: (f64, f64, f64), wanted: (f64, f64, f64)) {
    let off = |a: f64, b: f64| (a - b).abs() < 2e-4;
    assert!(
        off(found.0, wanted.0) && off(found.1, wanted.1) && off(found.2, wanted.2),
        "{found:?}"
    );
}

/// Fowlie, Greenstone and Wolfram 2018 (seen): 39 % of the modelled savings; Sunikka-Blank and
/// Galvin 2012 (seen): 30 % less use than rated; 1 is the model as it stands.
#[test]
fn without_bills_what_was_published_is_drawn() {
    let house = begun().build().unwrap();
    near(realised(&house), (0.39, 0.70, 1.0));
}

/// Cozza and others 2020 (seen): 2 % above the rated use after the work. Of a saving of a tenth of
/// the bill that is 0.02 × 0.9 of the bill, 18 % of the saving; of a third, 4 %.
#[test]
fn the_own_bills_take_the_place_of_other_houses() {
    let saved = assess(&begun().build().unwrap()).fuel_saved;
    for share in [0.1, 1.0 / 3.0] {
        let house =
            begun().named("billed_heating_fuel", Cell::Number(saved / share)).build().unwrap();
        let likely = 1.0 - 0.02 * (1.0 - share) / share;
        near(realised(&house), (0.70, likely, 1.0));
        // And no draw saves more than the bills.
        let most = doubt(&house, &FEW).quantile(Figure::FuelSaved, 1.0).unwrap();
        assert!(most <= saved / share);
    }
    // A saving that is tiny beside the bill: the least likely value of strangers is kept.
    let house = begun().named("billed_heating_fuel", Cell::Number(saved * 1000.0)).build().unwrap();
    near(realised(&house), (0.70, 0.70, 1.0));
    let narrow =
        realised(&begun().named("billed_heating_fuel", Cell::Number(saved * 5.0)).build().unwrap());
    assert!(narrow.2 - narrow.0 < 1.0 - 0.39);
}

#[test]
fn what_the_house_expects_is_the_most_likely_and_its_own_range_replaces_the_published_one() {
    let expects = begun().named("realization_rate", Cell::Number(0.8)).build().unwrap();
    near(realised(&expects), (0.39, 0.8, 1.0));
    let low = begun().named("realization_rate", Cell::Number(0.3)).build().unwrap();
    near(realised(&low), (0.3, 0.3, 1.0));
    // The default of 1 is the house's own value, and lies within its own range.
    let own = ranged("realization_rate", triangular(0.6, 0.9, 1.1)).build().unwrap();
    let drawn = doubt(&own, &FEW);
    let input = input(drawn.inputs(), Field::RealizationRate);
    assert!(matches!(input.origin(), Origin::Own));
    assert_eq!(input.places()[0].distribution(), &triangular(0.6, 0.9, 1.1));
    let told = format!("{:?}", studbay::doubt::words::report(&drawn, None, UnitSystem::Ip, "$"));
    assert!(told.contains("The house's own range, in place of the published one."), "{told}");
}

#[test]
fn the_realised_share_is_never_hidden() {
    for house in varied() {
        let drawn = doubt(&house, &FEW);
        assert!(drawn.inputs().iter().any(|input| input.field() == Field::RealizationRate));
        let told = format!("{:?}", studbay::doubt::words::report(&drawn, None, UnitSystem::Si, ""));
        for source in ["Fowlie", "Sunikka-Blank", "Cozza", "39 %", "30 %", "23 %"] {
            assert!(told.contains(source), "{source}");
        }
        let bills = house.plant().billed_heating_fuel.is_some();
        assert_eq!(told.contains("Narrowed by the house's own bills"), bills);
        assert!(told.contains("modelled, not measured"));
    }
}

// What is refused.

fn refused(built: Result<House, InputError>) -> String {
    built.expect_err("it is faulty").to_string()
}

#[test]
fn a_bad_range_is_told_with_field_value_and_limits() {
    let batt = |low, high| ranged("batt_thickness_in", uniform(low, high)).build();
    assert_eq!(
        refused(batt(0.5, 30.0)),
        "ranges.batt_thickness_in = 0.5 to 30, all as likely: allowed is 0 to 24 in"
    );
    assert_eq!(
        refused(ranged("batt_thickness_mm", uniform(10.0, 900.0)).build()),
        "ranges.batt_thickness_mm = 10 to 900, all as likely: allowed is 0 to 609.6 mm"
    );
    assert_eq!(
        refused(batt(2.0, 3.0)),
        "ranges.batt_thickness_in = 2 to 3, all as likely: must hold the house's own value, \
         batt_thickness_in = 1.5"
    );
    assert_eq!(
        refused(batt(1.0, 5.0)),
        "ranges.batt_thickness_in = 1 to 5, all as likely: must not exceed the depth of the cavity, \
         cavity_depth_in = 3.75"
    );
    let both = begun()
        .ranged("batt_thickness_in", uniform(1.0, 3.7))
        .ranged("cavity_depth_in", uniform(3.5, 4.0));
    let told = refused(both.build());
    assert!(
        told.contains("must not exceed the depth of the cavity, cavity_depth_in = 3.5"),
        "{told}"
    );
    assert!(told.contains("must leave room for the batt, batt_thickness_in = 3.7"), "{told}");
    for (name, distribution, part) in [
        ("fuel_prise", uniform(1.0, 2.0), "no field has this name; is fuel_price meant?"),
        ("fuel", uniform(1.0, 2.0), "no figure depends on how far this is off"),
        ("house_id", uniform(1.0, 2.0), "no figure depends on how far this is off"),
        ("year_built", uniform(1900.0, 1950.0), "no figure depends on how far this is off"),
        ("area_ft2", uniform(1.0, 2.0), "belongs inside a surface"),
        ("life_years", uniform(20.0, 40.0), "whole number: give a discrete distribution"),
        ("cooling_seer", uniform(10.0, 14.0), "cooling_seer itself must be given too"),
        ("fill_r_per_in", uniform(3.0, 4.0), "fill_r_per_in itself must be given too"),
        ("fill_density_lb_ft3", uniform(2.0, 5.0), "is not packed"),
        (
            "installed_cost",
            uniform(4000.0, 5000.0),
            "must hold the house's own value, installed_cost = 3200",
        ),
    ] {
        let told = refused(ranged(name, distribution).build());
        assert!(told.starts_with(&format!("ranges.{name} = ")) && told.contains(part), "{told}");
    }
    let twice = ranged("fuel_price", uniform(1.0, 2.0)).ranged("fuel_price", uniform(1.0, 2.0));
    assert!(refused(twice.build()).contains("given twice"));
    let both = ranged("batt_thickness_in", uniform(1.0, 2.0))
        .ranged("batt_thickness_mm", uniform(30.0, 50.0));
    assert!(refused(both.build()).contains("given twice"));
    let rebate =
        begun().named("rebate", Cell::Number(500.0)).ranged("rebate", uniform(0.0, 4000.0));
    assert!(refused(rebate.build()).contains("must not exceed installed_cost = 3200"));
    let moves = |to: &str| GivenRange {
        distribution: uniform(1.0, 2.0),
        moves: Some((to.to_owned(), false)),
    };
    assert!(
        refused(begun().ranged("fuel_price", moves("fuel_prise")).build())
            .contains("is fuel_price meant?")
    );
    assert!(
        refused(begun().ranged("fuel_price", moves("fuel_price")).build())
            .contains("another field")
    );
}

/// A normal one without ends ends where the registry does, and is a whole again.
#[test]
fn an_endless_distribution_ends_where_the_registry_does() {
    let normal = Distribution::normal(0.8, 0.5, None, None).unwrap();
    let house = ranged("heating_efficiency", normal).build().unwrap();
    let (low, high) = house.ranges()[0].distribution().ends();
    assert_eq!((low, high), (0.2, 6.0));
    let drawn = doubt(&house, &own_only(2000)).drawn(0);
    assert!(drawn.iter().all(|value| (0.2..=6.0).contains(value)));
    assert!(drawn.iter().filter(|value| **value == 0.2).count() <= 1);
    let far = Distribution::normal(-900.0, 1.0, None, None).unwrap();
    let told = refused(ranged("heating_efficiency", far).build());
    assert!(told.contains("hardly anything of it lies between its ends"), "{told}");
}

/// In SI the distribution is of the SI number: a conductivity is not a resistivity.
#[test]
fn a_range_is_in_the_unit_of_its_name() {
    let house = begun()
        .named("batt_k_w_mk", Cell::Number(0.046))
        .ranged("batt_k_w_mk", uniform(0.040, 0.060))
        .build()
        .unwrap();
    let drawn = doubt(&house, &own_only(2000)).drawn(0);
    let k: Vec<f64> = drawn.iter().map(|r| 0.144_227_889 / r).collect();
    assert!((mean(&k) - 0.05).abs() < 1e-6, "{}", mean(&k));
    assert!(k.iter().all(|k| (0.04 - 1e-9..=0.06 + 1e-9).contains(k)));
}

#[cfg(feature = "house-file")]
mod files {
    use super::*;

    fn file(ranges: &str) -> Result<House, String> {
        let toml = format!(
            "house_id = 'filed'\nwall_area_ft2 = 1500\nseries_r = 3.0\nbatt_thickness_in = 1.5\n\
             heating_degree_days_f = 5600\nheating_efficiency = 0.8\nfuel = 'natural_gas'\n\
             fuel_price = 1.5\ninstalled_cost = 3200\n[ranges]\n{ranges}\n"
        );
        House::from_toml(&toml).map_err(|error| error.to_string())
    }

    #[test]
    fn a_file_may_say_its_ranges_in_short_or_by_name() {
        let short = file("fuel_price = [1.2, 1.5, 2.0]\nbatt_thickness_in = [1, 2]").unwrap();
        let named = file(
            "fuel_price = { distribution = 'triangular', low = 1.2, likely = 1.5, high = 2.0 }\n\
             batt_thickness_in = { low = 1, high = 2 }",
        )
        .unwrap();
        assert_eq!(short, named);
        let json = r#"{"house_id": "filed", "wall_area_ft2": 1500, "series_r": 3, "batt_thickness_in": 1.5,
            "heating_degree_days_f": 5600, "heating_efficiency": 0.8, "fuel": "natural_gas", "fuel_price": 1.5,
            "installed_cost": 3200, "ranges": {"fuel_price": [1.2, 1.5, 2.0], "batt_thickness_in": ["1", "2"]}}"#;
        assert_eq!(House::from_json(json).unwrap(), short);
        assert_eq!(short.ranges().len(), 2);
        let more = file(
            "fuel_price = { distribution = 'lognormal', median = 1.5, gsd = 1.3 }\n\
             heating_efficiency = { distribution = 'Normal', mean = 0.8, sd = 0.05, high = 0.95 }\n\
             air_gap_level = { values = [0, 1, 2], weights = [1, 2, 1] }\n\
             fuel_escalation = { low = -0.01, high = 0.03, moves_with = 'fuel_price' }",
        )
        .unwrap();
        let names: Vec<_> = more.ranges().iter().map(|r| r.distribution().name()).collect();
        assert_eq!(names, ["lognormal", "normal", "discrete", "uniform"]);
        assert_eq!(more.ranges()[3].moves(), Some((Field::FuelPrice, false)));
    }

    #[test]
    fn every_fault_of_the_ranges_of_a_file_at_once() {
        let told = file(
            "fuel_price = [2, 1]\n\
             series_r = [1]\n\
             installed_cost = 'some'\n\
             heating_efficiency = { distribution = 'gausian', mean = 0.8 }\n\
             framing_fraction = { distribution = 'normal', mean = 0.2 }\n\
             missed_fraction = { distribution = 'uniform', low = 0, high = 0.1, sd = 2 }\n\
             batt_thickness_in = { low = 1, hihg = 2 }\n\
             realization_rate = { low = 'x', high = 1 }\n\
             air_gap_level = { values = 3 }\n\
             fuel_escalation = [0, 'much']",
        )
        .unwrap_err();
        for line in [
            "ranges.fuel_price = 2, 1: low = 2 must not be above high = 1",
            "ranges.series_r = 1 number: must be [low, high], [low, likely, high], or a table",
            "ranges.installed_cost: must be [low, high]",
            "ranges.heating_efficiency.distribution = gausian: must be one of uniform, triangular, \
             normal, lognormal, discrete",
            "ranges.framing_fraction.sd: must be given for a normal distribution",
            "ranges.missed_fraction.sd = 2: is no part of a uniform distribution",
            "ranges.batt_thickness_in.hihg: a range has no such part; is high meant?",
            "ranges.realization_rate.low = x: is not a number",
            "ranges.air_gap_level.values = 3: must be a list of numbers",
            "ranges.fuel_escalation = much: is not a number",
        ] {
            assert!(told.contains(line), "{line} is not in:\n{told}");
        }
        assert_eq!(told.lines().count(), 10, "{told}");
        let told = House::from_toml("house_id = 'x'\nranges = 3").unwrap_err().to_string();
        assert!(
            told.contains("ranges: must be a table of field names, each with its range"),
            "{told}"
        );
    }

    #[test]
    fn a_surface_has_its_own_ranges() {
        let toml = |more: &str| {
            format!(
                "house_id = 'n'\nheating_degree_days_f = 5600\nheating_efficiency = 0.8\n\
                 fuel = 'natural_gas'\nfuel_price = 1.5\ninstalled_cost = 3200\n\
                 [[surfaces]]\narea_ft2 = 500\nseries_r = 3.0\nbatt_thickness_in = 1.5\n{more}\n"
            )
        };
        let house =
            House::from_toml(&toml("[surfaces.ranges]\nbatt_thickness_in = [1, 1.5, 2]")).unwrap();
        assert_eq!(house.ranges()[0].surface(), Some(0));
        let told = House::from_toml(&toml("[surfaces.ranges]\nbatt_thickness_in = [2, 3]"))
            .unwrap_err()
            .to_string();
        assert!(told.starts_with("surfaces[0].ranges.batt_thickness_in = 2 to 3"), "{told}");
        let told = House::from_toml(&toml("[surfaces.ranges]\nfuel_price = [1, 2]"))
            .unwrap_err()
            .to_string();
        assert!(
            told.contains("surfaces[0].ranges.fuel_price") && told.contains("head of the house"),
            "{told}"
        );
        let told = House::from_toml(&toml("[ranges]\nbatt_thickness_in = [1, 2]"))
            .unwrap_err()
            .to_string();
        assert!(
            told.contains("ranges.batt_thickness_in") && told.contains("inside a surface"),
            "{told}"
        );
    }
}

#[cfg(feature = "arrow")]
mod tables {
    use super::*;
    use arrow_array::cast::AsArray;
    use arrow_array::types::Float64Type;
    use arrow_array::{Array, ArrayRef, Float64Array, RecordBatch, StringArray};
    use std::num::NonZeroUsize;
    use std::sync::Arc;
    use studbay::doubt::table::{TableSampling, bands, columns};

    fn how(threads: usize) -> TableSampling {
        TableSampling { sampling: FEW, within_years: 12.0, threads: NonZeroUsize::new(threads) }
    }

    fn batch(rows: u32) -> RecordBatch {
        let text = |word: &str| Arc::new(StringArray::from(vec![word; rows as usize])) as ArrayRef;
        let number = |value: &dyn Fn(f64) -> f64| {
            let values = (0..rows).map(|row| value(f64::from(row)));
            Arc::new(values.collect::<Float64Array>()) as ArrayRef
        };
        let ids: StringArray = (0..rows).map(|row| Some(format!("h{row}"))).collect();
        RecordBatch::try_from_iter([
            ("county", text("Elm")),
            ("house_id", Arc::new(ids) as ArrayRef),
            ("wall_area_ft2", number(&|row| if row == 3.0 { -1.0 } else { 900.0 + row })),
            ("series_r", text("3.0")),
            ("batt_thickness_in", number(&|_| 1.5)),
            ("heating_degree_days_f", number(&|row| 4000.0 + 10.0 * row)),
            ("heating_efficiency", number(&|_| 0.8)),
            ("fuel", text("natural_gas")),
            ("fuel_price", number(&|_| 1.5)),
            ("installed_cost", number(&|row| 2000.0 + row)),
        ])
        .unwrap()
    }

    /// A row is a house: the same bits as by itself, whatever the threads.
    #[test]
    fn a_row_has_the_bits_of_its_house_whatever_the_threads() {
        let table = batch(40);
        let one = bands(&table, &how(1)).unwrap();
        for threads in [2, 5] {
            assert_eq!(one, bands(&table, &how(threads)).unwrap());
        }
        assert_eq!(one.num_rows(), 40);
        let names: Vec<String> = one.schema().fields().iter().map(|f| f.name().clone()).collect();
        let wanted = ["house_id", "county"].map(str::to_owned).into_iter().chain(columns());
        assert_eq!(names, wanted.chain(["faults".to_owned()]).collect::<Vec<_>>());
        let row = 17;
        let house = House::builder()
            .id("h17")
            .named("wall_area_ft2", Cell::Number(917.0))
            .named("series_r", Cell::Number(3.0))
            .named("batt_thickness_in", Cell::Number(1.5))
            .named("heating_degree_days_f", Cell::Number(4170.0))
            .named("heating_efficiency", Cell::Number(0.8))
            .named("fuel", Cell::Text("natural_gas"))
            .named("fuel_price", Cell::Number(1.5))
            .named("installed_cost", Cell::Number(2017.0))
            .build()
            .unwrap();
        let drawn = doubt(&house, &FEW);
        let at =
            |name: &str| one.column_by_name(name).unwrap().as_primitive::<Float64Type>().value(row);
        for figure in FIGURES {
            let band = drawn.band(figure);
            for (end, value) in [("p10", band.p10), ("p50", band.p50), ("p90", band.p90)] {
                assert_eq!(Some(at(&format!("{}_{end}", figure.name()))), value);
            }
        }
        assert_eq!(at("chance_of_payback"), drawn.chance_of_payback_within(12.0));
        assert_eq!(at("chance_of_gain"), drawn.chance_of_gain());
        // The row that is no house stays in its place with its fault.
        let faults = one.column_by_name("faults").unwrap().as_string::<i32>();
        assert_eq!(faults.null_count(), 39);
        assert!(faults.value(3).starts_with("wall_area_ft2 = -1"), "{}", faults.value(3));
        assert!(one.column_by_name("npv_p50").unwrap().is_null(3));
    }

    #[test]
    fn a_table_without_its_columns_is_refused() {
        let table = batch(2).project(&[0, 1, 2, 3]).unwrap();
        let told = bands(&table, &how(1)).unwrap_err().to_string();
        assert!(told.contains("there is no column fuel"), "{told}");
    }
}
