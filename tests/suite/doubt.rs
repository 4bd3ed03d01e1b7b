//! Doubt: draws that are the assessments of changed houses, closed forms, what a house may say of
//! its own ranges, and what is refused.

mod closed_forms;
#[cfg(feature = "house-file")]
mod files;
mod realised;
mod refused;
mod returns;
#[cfg(feature = "arrow")]
mod tables;

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
