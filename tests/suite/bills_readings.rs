//! Readings of a meter: every bad one is told, what can be mended is mended and said.

#![allow(clippy::cast_precision_loss, reason = "small counts")]

use crate::bills::{Dice, MONTHS, TRUE, after, billed, codes, day, fit_of, gas, quick, weather};
use studbay::bills::{Form, Meter, Options, Reading, Verdict, fit_readings};
use studbay::error::IssueCode;

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
