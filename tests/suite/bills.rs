//! Bills: known houses are found again, every bad reading is told, and the search for the change
//! point misses nothing that a brute search finds. All meters are invented.

#![allow(clippy::cast_precision_loss, reason = "days and meters are few")]

use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use studbay::bills::{
    Finding, Fit, Form, Meter, NormalYear, Options, Promise, Reading, Verdict, Weight, calibrate,
    fit_blocks, fit_readings, owner_sentence, proof_blocks, prove,
};
use studbay::climate::DailyMeans;
use studbay::error::IssueCode;
use studbay::house::{Cell, Fuel, House, assess};
use studbay::units::UnitSystem;

/// Numbers that look random, the same every time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    /// The sum of twelve is near enough to normal.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.roll()).sum::<f64>() - 6.0
    }
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn after(first: NaiveDate, days: u64) -> NaiveDate {
    first + Days::new(days)
}

fn gas() -> Fuel {
    Fuel::from_key("natural_gas").unwrap()
}

/// Days of a place with a cold winter, weather fronts with it.
fn weather(days: usize, seed: u64) -> DailyMeans {
    let mut dice = Dice(seed | 1);
    let mut front = 0.0;
    let means = (0..days)
        .map(|day| {
            front = 0.7 * front + 5.0 * dice.normal();
            // The year is coldest in the middle of January.
            52.0 - 22.0 * (std::f64::consts::TAU * (day as f64 - 15.0) / 365.25).cos() + front
        })
        .collect();
    DailyMeans::new(day("2021-01-01"), means)
}

/// What a house with these parameters uses over each period.
fn billed(
    weather: &DailyMeans,
    lengths: &[u64],
    first: NaiveDate,
    [base, slope, change_f]: [f64; 3],
    mut noise: impl FnMut() -> f64,
) -> Vec<Reading> {
    let mut start = first;
    lengths
        .iter()
        .map(|length| {
            let end = after(start, *length);
            let days = start.iter_days().take_while(|day| *day < end);
            let amount: f64 = days
                .map(|day| base + slope * (change_f - weather.mean_f(day).unwrap()).max(0.0))
                .sum();
            let reading = Reading {
                start,
                end,
                amount: amount * (1.0 + noise()),
                unit: None,
                estimated: false,
            };
            start = end;
            reading
        })
        .collect()
}

const MONTHS: [u64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
const TRUE: [f64; 3] = [0.6, 0.11, 61.3];

fn quick() -> Options {
    Options { resamples: 0, ..Options::default() }
}

fn codes(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

fn fit_of(readings: &[Reading], weather: &DailyMeans, options: &Options) -> Fit {
    fit_readings(gas(), readings, weather, options).unwrap()
}

#[test]
fn a_known_house_is_found_again_from_periods_of_any_length() {
    let weather = weather(800, 7);
    for lengths in [&MONTHS[..], &[61, 59, 33, 62, 28, 30, 31, 5, 90, 14], &[29; 24]] {
        let readings = billed(&weather, lengths, day("2021-01-01"), TRUE, || 0.0);
        let fit = fit_of(&readings, &weather, &quick());
        assert!((fit.params.base - TRUE[0]).abs() < 1e-9, "{:?}", fit.params);
        assert!((fit.params.heating_slope - TRUE[1]).abs() < 1e-10, "{:?}", fit.params);
        assert!((fit.params.heating_change_f - TRUE[2]).abs() < 1e-7, "{:?}", fit.params);
        assert!(fit.r2 > 1.0 - 1e-12);
        assert!(fit.nmbe.abs() < 1e-12);
    }
}

#[test]
fn a_house_with_cooling_is_found_again() {
    let weather = weather(800, 11);
    let mut readings = billed(&weather, &[30; 24], day("2021-01-01"), [9.0, 0.8, 58.0], || 0.0);
    for reading in &mut readings {
        let days = reading.start.iter_days().take_while(|day| *day < reading.end);
        reading.amount +=
            days.map(|day| 1.3 * (weather.mean_f(day).unwrap() - 69.5).max(0.0)).sum::<f64>();
    }
    let power = Fuel::from_key("electricity").unwrap();
    let options = Options { form: Form::HeatingCooling, ..quick() };
    let fit = fit_readings(power, &readings, &weather, &options).unwrap();
    let found = fit.params;
    for (found, expected) in [
        (found.base, 9.0),
        (found.heating_slope, 0.8),
        (found.heating_change_f, 58.0),
        (found.cooling_slope, 1.3),
        (found.cooling_change_f, 69.5),
    ] {
        assert!((found / expected - 1.0).abs() < 1e-6, "{found} for {expected}");
    }
    assert_eq!(fit.verdict(), Verdict::Sound, "{:?}", fit.findings);
}

#[test]
fn a_three_hundred_and_sixty_four_day_year_will_do() {
    let whole = weather(365, 5);
    let readings = billed(&whole, &MONTHS, day("2021-01-01"), TRUE, || 0.0);
    let short = DailyMeans::new(
        day("2021-01-01"),
        whole.days().take(364).map(|(_, mean)| mean.unwrap()).collect(),
    );
    let fit = fit_of(&readings, &short, &quick());
    assert_eq!(fit.readings(), 12);
    assert_eq!(codes(&fit.findings), ["weather_gaps"]);
    assert!((fit.params.heating_slope / TRUE[1] - 1.0).abs() < 0.01);
    // The usual year has 365 days all the same, December by the mean of its thirty.
    let (one, other) = (NormalYear::new(&whole).unwrap(), NormalYear::new(&short).unwrap());
    assert_eq!((one.days_seen(), other.days_seen()), (365, 364));
    let ratio = other.heating_degree_days_f(60.0) / one.heating_degree_days_f(60.0);
    assert!((ratio - 1.0).abs() < 0.004, "{ratio}");
}

/// NAC = 365 α + β H₀(τ) (Fels 1986, `fels_1986`, from memory), summed day by day.
#[test]
fn the_usual_year_is_the_sum_of_its_days() {
    let year = weather(365, 3);
    let readings = billed(&year, &MONTHS, day("2021-01-01"), TRUE, || 0.0);
    let total: f64 = readings.iter().map(|reading| reading.amount).sum();
    let normal = NormalYear::new(&year).unwrap();
    let fit = fit_of(&readings, &year, &quick());
    let annual = fit.annual(&normal);
    assert!((annual.total / total - 1.0).abs() < 1e-9);
    assert!((annual.base - 365.0 * TRUE[0]).abs() < 1e-6);
    let expected: f64 = year.days().map(|(_, mean)| (mean.unwrap() - 70.0).max(0.0)).sum();
    assert!((normal.cooling_degree_days_f(70.0) / expected - 1.0).abs() < 1e-9);
    // A month that is missing cannot be made up.
    let error = NormalYear::new(&weather(300, 3)).unwrap_err();
    assert_eq!(error.issues.len(), 2, "{error}");
    assert!(error.to_string().contains("November"), "{error}");
}

fn readings(rows: &[(&str, &str, f64)]) -> Vec<Reading> {
    rows.iter()
        .map(|(start, end, amount)| Reading {
            start: day(start),
            end: day(end),
            amount: *amount,
            unit: None,
            estimated: false,
        })
        .collect()
}

#[test]
fn estimated_readings_go_into_the_next_actual_one() {
    let mut rows = readings(&[
        ("2024-01-01", "2024-02-01", 100.0),
        ("2024-02-01", "2024-03-01", 90.0),
        ("2024-03-01", "2024-04-01", -20.0),
        ("2024-04-01", "2024-05-01", 30.0),
    ]);
    rows[1].estimated = true;
    rows[3].estimated = true;
    let meter = Meter::new(gas(), &rows).unwrap();
    assert_eq!(meter.periods.len(), 2);
    assert_eq!(meter.periods[1].amount, 70.0, "the estimate less the credit");
    assert_eq!(meter.periods[1].days(), 60);
    assert_eq!(codes(&meter.findings), ["estimated_merged", "estimated_left_out"]);
    // Without its estimate the credit is a fault.
    rows[1].estimated = false;
    let error = Meter::new(gas(), &rows).unwrap_err();
    assert_eq!(error.issues[0].field, "readings[2].use");
    assert!(error.to_string().contains("negative use"), "{error}");
}

#[test]
fn an_estimate_before_a_gap_is_left_out() {
    let mut rows = readings(&[
        ("2024-01-01", "2024-02-01", 100.0),
        ("2024-02-01", "2024-03-01", 90.0),
        ("2024-05-01", "2024-06-01", 20.0),
    ]);
    rows[1].estimated = true;
    let meter = Meter::new(gas(), &rows).unwrap();
    assert_eq!(meter.periods.len(), 2);
    assert_eq!(codes(&meter.findings), ["estimated_left_out", "gap"]);
}

#[test]
fn every_fault_of_the_readings_is_told_at_once() {
    let mut rows = readings(&[
        ("2024-01-01", "2024-01-01", 100.0),
        ("2024-03-01", "2024-02-01", 90.0),
        ("2024-03-01", "2024-04-01", f64::NAN),
        ("2020-03-01", "2024-04-01", 1.0),
        ("2024-04-01", "2024-05-01", 1.0),
    ]);
    rows[4].unit = Some("barrels".to_owned());
    let error = Meter::new(gas(), &rows).unwrap_err();
    let told: Vec<_> =
        error.issues.iter().map(|issue| (issue.field.as_str(), issue.code)).collect();
    assert_eq!(
        told,
        [
            ("readings[0].end", IssueCode::OutOfRange),
            ("readings[1].end", IssueCode::OutOfRange),
            ("readings[2].use", IssueCode::NotANumber),
            ("readings[3].end", IssueCode::OutOfRange),
            ("readings[4].unit", IssueCode::NotAChoice),
        ]
    );
    assert!(error.to_string().contains("a period of no days"), "{error}");
}

#[test]
fn overlaps_are_refused_and_disorder_is_mended() {
    let rows = readings(&[
        ("2024-02-01", "2024-03-01", 90.0),
        ("2024-01-01", "2024-02-01", 100.0),
        ("2024-03-01", "2024-04-01", 80.0),
    ]);
    let meter = Meter::new(gas(), &rows).unwrap();
    assert!(meter.periods.is_sorted_by_key(|period| period.start));
    assert_eq!(codes(&meter.findings), ["sorted"]);
    let mut overlapping = rows.clone();
    overlapping[2].start = day("2024-02-20");
    let error = Meter::new(gas(), &overlapping).unwrap_err();
    assert_eq!(error.issues[0].field, "readings[2].start");
    assert!(error.to_string().contains("may not overlap"), "{error}");
    let twice = [rows.clone(), rows].concat();
    let error = Meter::new(gas(), &twice).unwrap_err();
    assert_eq!(error.issues.len(), 3);
    assert!(error.to_string().contains("once too often"), "{error}");
    assert!(Meter::new(gas(), &[]).is_err());
}

#[test]
fn periods_that_end_on_their_last_day_are_understood() {
    let rows = readings(&[
        ("2024-01-01", "2024-01-31", 100.0),
        ("2024-02-01", "2024-02-29", 90.0),
        ("2024-03-01", "2024-03-31", 80.0),
    ]);
    let meter = Meter::new(gas(), &rows).unwrap();
    assert_eq!(codes(&meter.findings), ["ends_included"]);
    assert_eq!(meter.periods.iter().map(studbay::bills::Period::days).sum::<i64>(), 91);
}

#[test]
fn a_change_of_unit_that_is_told_changes_nothing() {
    let weather = weather(800, 7);
    let mut rows = billed(&weather, &MONTHS, day("2021-01-01"), TRUE, || 0.0);
    for row in rows.iter_mut().skip(6) {
        row.amount /= 1.026;
        row.unit = Some("ccf".to_owned());
    }
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(codes(&fit.findings), ["unit_changed"]);
    assert!((fit.params.heating_slope - TRUE[1]).abs() < 1e-9);
}

#[test]
fn a_change_of_unit_that_is_not_told_is_suspected() {
    let weather = weather(800, 7);
    let mut dice = Dice(3);
    let mut rows = billed(&weather, &[30; 14], day("2021-01-01"), TRUE, || 0.05 * dice.normal());
    rows.iter_mut().skip(8).for_each(|row| row.amount *= 29.3071);
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(fit.verdict(), Verdict::Unusable);
    let slip = fit.findings.iter().find(|finding| finding.code == "unit_slip").unwrap();
    assert!(slip.text.contains("2021-08-29"), "{}", slip.text);
    assert!(slip.text.contains("kilowatt-hours and therms"), "{}", slip.text);
}

#[test]
fn a_new_furnace_is_seen() {
    let weather = weather(800, 7);
    let mut dice = Dice(3);
    let mut rows =
        billed(&weather, &[30; 12], day("2021-01-01"), [0.6, 0.12, 61.0], || 0.03 * dice.normal());
    let second = rows[11].end;
    let better = billed(&weather, &[30; 12], second, [0.6, 0.08, 61.0], || 0.03 * dice.normal());
    rows.extend(better);
    let fit = fit_of(&rows, &weather, &quick());
    let change = fit.findings.iter().find(|finding| finding.code == "change_within");
    assert!(change.is_some(), "{:?}", fit.findings);
    // The same house throughout has none.
    let mut dice = Dice(3);
    let rows = billed(&weather, &[30; 24], day("2021-01-01"), TRUE, || 0.03 * dice.normal());
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(codes(&fit.findings), Vec::<&str>::new());
}

#[test]
fn one_season_and_few_readings_are_doubted() {
    let weather = weather(800, 7);
    let rows = billed(&weather, &[14, 14, 14, 14, 14], day("2021-01-01"), TRUE, || 0.0);
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(fit.verdict(), Verdict::Doubtful);
    for code in ["few_readings", "one_season", "no_summer"] {
        assert!(codes(&fit.findings).contains(&code), "{code}: {:?}", fit.findings);
    }
    let error = fit_readings(gas(), &rows[..3], &weather, &quick()).unwrap_err();
    assert!(error.to_string().contains("needs at least 4 readings"), "{error}");
    // A straight line is what such readings hold.
    let straight = Options { form: Form::Straight, ..quick() };
    let fit = fit_of(&rows, &weather, &straight);
    assert!((fit.params.heating_slope - TRUE[1]).abs() < 0.02, "{:?}", fit.params);
}

#[test]
fn summer_bills_hold_no_heating() {
    let weather = weather(800, 7);
    // Use that rises with the temperature.
    let rows: Vec<Reading> = billed(&weather, &MONTHS, day("2021-01-01"), TRUE, || 0.0)
        .into_iter()
        .map(|row| Reading { amount: 200.0 - row.amount, ..row })
        .collect();
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(fit.verdict(), Verdict::Unusable);
    assert!(codes(&fit.findings).contains(&"no_heating"), "{:?}", fit.findings);
    // Nothing but a base load.
    let rows: Vec<Reading> = rows
        .into_iter()
        .map(|row| Reading { amount: 2.0 * (row.end - row.start).num_days() as f64, ..row })
        .collect();
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(fit.verdict(), Verdict::Unusable);
    assert!((fit.params.base - 2.0).abs() < 1e-9, "{:?}", fit.params);
}

#[test]
fn readings_outside_the_weather_are_left_out_or_refused() {
    let weather = weather(400, 7);
    let lengths = [30; 13];
    let mut rows = billed(&weather, &lengths, day("2021-01-01"), TRUE, || 0.0);
    rows.push(Reading {
        start: day("2022-01-26"),
        end: day("2022-03-26"),
        amount: 150.0,
        unit: None,
        estimated: false,
    });
    let fit = fit_of(&rows, &weather, &quick());
    assert_eq!(codes(&fit.findings), ["outside_weather"]);
    assert_eq!(fit.readings(), 13);
    let late: Vec<Reading> = rows
        .iter()
        .map(|row| Reading {
            start: after(row.start, 5000),
            end: after(row.end, 5000),
            ..row.clone()
        })
        .collect();
    let error = fit_readings(gas(), &late, &weather, &quick()).unwrap_err();
    assert_eq!(error.issues[0].field, "weather");
    assert!(error.to_string().contains("the weather from 2021-01-01"), "{error}");
}

#[test]
fn draws_depend_on_seed_and_name_alone() {
    let weather = weather(400, 7);
    let mut dice = Dice(9);
    let rows = billed(&weather, &MONTHS, day("2021-01-01"), TRUE, || 0.05 * dice.normal());
    let options = Options { resamples: 203, ..Options::default() };
    let one = fit_of(&rows, &weather, &options);
    assert_eq!(one.draws.len(), 203);
    // A change point that does not exist is NaN, which equals nothing: compared as text.
    let same = |one: &Fit, other: &Fit| format!("{one:?}") == format!("{other:?}");
    assert!(same(&one, &fit_of(&rows, &weather, &options)));
    // More draws begin with the same ones.
    let more = fit_of(&rows, &weather, &Options { resamples: 300, ..options.clone() });
    let text = |fit: &Fit, draws: usize| format!("{:?}", &fit.draws[..draws]);
    assert!(text(&one, 200) == text(&more, 200));
    let named = fit_of(&rows, &weather, &Options { stream: "b".to_owned(), ..options.clone() });
    assert!(text(&one, 200) != text(&named, 200));
    let seeded = fit_of(&rows, &weather, &Options { seed: 2, ..options.clone() });
    assert!(text(&one, 200) != text(&seeded, 200));
    // A small sample is not called sure.
    let (low, high) = one.interval(|params| params.heating_slope).unwrap();
    assert!(low < one.params.heating_slope && one.params.heating_slope < high);
    for level in [0.2, 1.0, f64::NAN] {
        let options = Options { level, ..options.clone() };
        assert!(fit_readings(gas(), &rows, &weather, &options).is_err(), "{level}");
    }
}

/// Of intervals at 90 % about 90 % must hold the truth: 400 invented meters with 5 % noise.
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    let weather = weather(400, 7);
    let normal = NormalYear::new(&weather).unwrap();
    let mut dice = Dice(21);
    let (mut held, meters) = (0, 400);
    let truth = 365.0 * TRUE[0] + TRUE[1] * normal.heating_degree_days_f(TRUE[2]);
    for meter in 0..meters {
        // Errors of a use a day that do not grow with it, as the method has it.
        let mut rows = billed(&weather, &MONTHS, day("2021-01-01"), TRUE, || 0.0);
        for row in &mut rows {
            row.amount += 0.12 * 30.0 * dice.normal();
        }
        let options = Options { resamples: 200, stream: meter.to_string(), ..Options::default() };
        let fit = fit_of(&rows, &weather, &options);
        let (low, high) = fit.annual_total(&normal).interval.unwrap();
        held += usize::from(low <= truth && truth <= high);
    }
    let share = held as f64 / f64::from(meters);
    println!("of intervals at 90 %, {share:.3} hold the truth");
    // Three standard errors of a share of 400 are 0.045.
    assert!((0.855..=0.945).contains(&share), "{share}");
}

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
    assert!(promise.low < promise.value && promise.value < promise.high, "{promise:?}");
    assert_eq!(promise.value, assess(&house(&[])).fuel_saved);
}

fn squares(rates: &[f64], weights: &[f64], h: &[f64]) -> f64 {
    let weight: f64 = weights.iter().sum();
    let mean = |values: &[f64]| -> f64 {
        values.iter().zip(weights).map(|(v, w)| v * w).sum::<f64>() / weight
    };
    let (mean_h, mean_rate) = (mean(h), mean(rates));
    let (mut cross, mut square, mut all) = (0.0, 0.0, 0.0);
    for ((h, rate), weight) in h.iter().zip(rates).zip(weights) {
        cross += weight * (h - mean_h) * (rate - mean_rate);
        square += weight * (h - mean_h) * (h - mean_h);
        all += weight * (rate - mean_rate) * (rate - mean_rate);
    }
    if square < 1e-9 || cross <= 0.0 { all } else { all - cross * cross / square }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Nowhere between 40 and 80 °F is there a lower sum of squares than at the change point found.
    #[test]
    fn no_brute_search_finds_a_better_change_point(
        seed in any::<u64>(),
        lengths in prop::collection::vec(5_u64..70, 5..20),
        noise in 0.0..0.5,
        change in 45.0..75.0,
    ) {
        let weather = weather(1500, seed);
        let mut dice = Dice(seed | 3);
        let truth = [0.6, 0.11, change];
        let rows = billed(&weather, &lengths, day("2021-01-01"), truth, || noise * dice.normal());
        let rows: Vec<Reading> = rows
            .into_iter()
            .map(|row| Reading { amount: row.amount.max(0.0), ..row })
            .collect();
        let fit = fit_of(&rows, &weather, &quick());
        let weights: Vec<f64> = fit.samples.iter().map(|sample| sample.days).collect();
        let rates: Vec<f64> = fit.samples.iter().map(studbay::bills::Sample::rate).collect();
        let at = |base: f64| {
            let h: Vec<f64> = fit.samples.iter().map(|sample| sample.heating_f(base)).collect();
            squares(&rates, &weights, &h)
        };
        let scale = squares(&rates, &weights, &vec![0.0; rates.len()]);
        let found: f64 = fit
            .samples
            .iter()
            .map(|sample| {
                let error = sample.rate() - fit.fitted(sample);
                sample.days * error * error
            })
            .sum();
        for step in 0..=8000 {
            let base = 40.0 + f64::from(step) * 0.005;
            prop_assert!(found <= at(base) + 1e-9 * scale, "{found} at {:?}, {} at {base}", fit.params, at(base));
        }
    }

    /// Whatever the readings, there is a fit or an error, never a panic; and a fit is in words.
    #[test]
    fn any_readings_are_fitted_or_refused(
        rows in prop::collection::vec(
            (0_u64..900, 0_u64..900, prop_oneof![Just(0.0), -5.0..500.0, any::<f64>()], any::<bool>(),
             prop_oneof![Just(None), "[a-zA-Z0-9]{0,6}".prop_map(Some), Just(Some("ccf".to_owned()))]),
            0..30,
        ),
        ordered in any::<bool>(),
        form in prop_oneof![Just(Form::Straight), Just(Form::Heating), Just(Form::HeatingCooling)],
    ) {
        let weather = weather(700, 1);
        let mut start = day("2021-01-01");
        let rows: Vec<Reading> = rows
            .into_iter()
            .map(|(from, length, amount, estimated, unit)| {
                let first = if ordered { start } else { after(day("2021-01-01"), from) };
                let end = after(first, if ordered { 1 + length % 60 } else { length });
                start = end;
                Reading { start: first, end, amount, unit, estimated }
            })
            .collect();
        let options = Options { form, resamples: 9, ..Options::default() };
        match fit_readings(gas(), &rows, &weather, &options) {
            Ok(fit) => {
                let normal = NormalYear::new(&weather).unwrap();
                prop_assert!(!fit_blocks(&fit, Some(&normal), UnitSystem::Ip).is_empty());
                prop_assert!(!studbay::bills::explain(&fit, Some(&normal)).is_empty());
                prop_assert!(fit.findings.iter().all(|f| f.weight >= Weight::Note));
            }
            Err(error) => prop_assert!(!error.issues.is_empty()),
        }
    }
}
