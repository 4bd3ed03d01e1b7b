//! The model beside its bills, and the proof of a saving.

use crate::bills::{Dice, MONTHS, billed, codes, day, fit_of, gas, quick, weather};
use studbay::bills::{
    Fit, NormalYear, Options, Promise, Reading, calibrate, fit_blocks, fit_readings,
    owner_sentence, proof_blocks, prove,
};
use studbay::house::{Cell, Fuel, House, assess};
use studbay::units::UnitSystem;

fn house(fields: &[(&str, f64)]) -> House {
    let mut builder = House::builder().id("invented").named("fuel", Cell::Text("natural_gas"));
    let usual = [
        ("wall_area_ft2", 1500.0),
        ("series_r", 3.06),
        ("heating_degree_days_f", 5600.0),
        ("heating_efficiency", 0.8),
        ("fuel_price", 1.5),
        ("installed_cost", 4000.0),
    ];
    for (name, value) in usual {
        if !fields.iter().any(|(field, _)| *field == name) {
            builder = builder.named(name, Cell::Number(value));
        }
    }
    for (name, value) in fields {
        builder = builder.named(name, Cell::Number(*value));
    }
    builder.build().unwrap()
}

#[test]
fn a_model_is_laid_beside_its_bills() {
    let weather = weather(800, 7);
    let normal = NormalYear::new(&weather).unwrap();
    let house = house(&[]);
    let rows = billed(&weather, &MONTHS, day("2021-01-01"), [0.6, 0.3, 61.3], || 0.0);
    let fit = fit_of(&rows, &weather, &quick());
    let found = calibrate(&house, &fit, &normal).unwrap();
    // 0.3 therms a day for each °F at 80 %: 0.3 × 100,000 × 0.8 / 24 Btu/h·°F.
    assert!((found.house_loss_btu_h_f.value - 1000.0).abs() < 1e-3);
    let walls = 1500.0 * assess(&house).u_before.ip();
    assert!((found.walls_loss_btu_h_f - walls).abs() < 1e-9);
    assert!((found.walls_share - walls / 1000.0).abs() < 1e-6);
    // The saving goes with the degree-days where the bills do not hold it down.
    let factor = found.factor.unwrap();
    assert!((factor - found.degree_days_f / 5600.0).abs() < 1e-9, "{factor}");
    let billed = found.house.unwrap();
    assert_eq!(billed.plant().billed_heating_fuel, Some(found.heating_fuel.value));
    assert!(assess(&billed).saved_share.is_some());
}

#[test]
fn an_implausible_model_is_not_scaled() {
    let weather = weather(800, 7);
    let normal = NormalYear::new(&weather).unwrap();
    let rows = billed(&weather, &MONTHS, day("2021-01-01"), [0.6, 0.03, 61.3], || 0.0);
    let fit = fit_of(&rows, &weather, &quick());
    let found = calibrate(&house(&[]), &fit, &normal).unwrap();
    assert!(codes(&found.findings).contains(&"walls_exceed_house"), "{:?}", found.findings);
    assert!(found.house.is_none() && found.factor.is_none() && found.fuel_saved.is_none());
    // Too small a wall is doubted, and degree-days that were given in kelvin.
    let rows = billed(&weather, &MONTHS, day("2021-01-01"), [0.6, 0.3, 61.3], || 0.0);
    let fit = fit_of(&rows, &weather, &quick());
    let slight = calibrate(&house(&[("wall_area_ft2", 60.0)]), &fit, &normal).unwrap();
    assert!(codes(&slight.findings).contains(&"walls_slight"), "{:?}", slight.findings);
    let kelvin = calibrate(&house(&[("heating_degree_days_f", 1500.0)]), &fit, &normal).unwrap();
    assert!(codes(&kelvin.findings).contains(&"degree_days_differ"), "{:?}", kelvin.findings);
    let oil = Fuel::from_key("fuel_oil_2").unwrap();
    let other = fit_readings(oil, &rows, &weather, &quick()).unwrap();
    assert!(calibrate(&house(&[]), &other, &normal).is_err());
}

#[test]
fn a_saving_is_proved() {
    let weather = weather(1200, 7);
    let normal = NormalYear::new(&weather).unwrap();
    let mut dice = Dice(5);
    let options = Options { resamples: 400, ..Options::default() };
    let before =
        billed(&weather, &MONTHS, day("2021-01-01"), [0.6, 0.12, 62.0], || 0.03 * dice.normal());
    let later =
        billed(&weather, &MONTHS, day("2022-06-01"), [0.6, 0.09, 60.0], || 0.03 * dice.normal());
    let (one, other) = (fit_of(&before, &weather, &options), fit_of(&later, &weather, &options));
    let promise = Promise::new(150.0, 250.0, 400.0).unwrap();
    let proof = prove(one.clone(), other.clone(), &normal, Some(promise), &[]).unwrap();
    let days = |base| normal.heating_degree_days_f(base);
    let truth = 0.12 * days(62.0) - 0.09 * days(60.0);
    let (low, high) = proof.saved.interval.unwrap();
    assert!(low < truth && truth < high, "{truth} in {low}..{high}");
    assert_eq!(proof.realised.unwrap().value, proof.saved.value / 250.0);
    assert_eq!(codes(&proof.findings), ["no_comparison"]);
    let sentence = owner_sentence(&proof);
    assert!(sentence.contains("less than before"), "{sentence}");
    assert!(sentence.contains("9 chances in 10"), "{sentence}");
    assert!(sentence.contains("Promised were 250 therms"), "{sentence}");
    assert!(proof_blocks(&proof, UnitSystem::Si).len() >= 3);
    assert!(fit_blocks(&one, Some(&normal), UnitSystem::Ip).len() >= 2);
    // Where everyone uses a tenth less, that tenth is no merit of the fill.
    let neighbour = |share: f64, name: &str| {
        let scaled: Vec<Reading> = before
            .iter()
            .map(|row| Reading { amount: row.amount * share, ..row.clone() })
            .collect();
        fit_of(&scaled, &weather, &Options { stream: name.to_owned(), ..options.clone() })
    };
    let group: Vec<(Fit, Fit)> = (0..12)
        .map(|n| (neighbour(1.0, &format!("{n}a")), neighbour(0.9, &format!("{n}b"))))
        .collect();
    let adjusted = prove(one.clone(), other.clone(), &normal, Some(promise), &group).unwrap();
    let expected = 0.9 * proof.use_before.value - proof.use_after.value;
    assert!((adjusted.saved.value - expected).abs() < 1e-6);
    assert_eq!(adjusted.comparison.unwrap().houses, 12);
    let small = prove(one.clone(), other.clone(), &normal, None, &group[..2]).unwrap();
    assert!(codes(&small.findings).contains(&"small_comparison"));
    // The same bills twice have saved nothing.
    let same = prove(one.clone(), one.clone(), &normal, None, &[]).unwrap();
    assert_eq!(same.saved.value, 0.0);
    assert!(codes(&same.findings).contains(&"saving_not_told_from_nothing"));
    assert!(owner_sentence(&same).contains("cannot tell the saving from none"));
    for (low, value, high) in [(1.0, 0.0, 2.0), (3.0, 2.0, 4.0), (-1.0, 2.0, 4.0)] {
        assert!(Promise::new(low, value, high).is_err());
    }
    let oil = Fuel::from_key("fuel_oil_2").unwrap();
    let oil = fit_readings(oil, &later, &weather, &options).unwrap();
    assert!(prove(one, oil, &normal, None, &[]).is_err());
}

#[test]
fn a_promise_of_the_model_holds_its_figure() {
    let promise = Promise::of(&house(&[]), gas()).unwrap();
    assert!(promise.low < promise.value && promise.value <= promise.high, "{promise:?}");
    assert_eq!(promise.value, assess(&house(&[])).fuel_saved);
}
