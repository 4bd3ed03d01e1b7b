//! Fits of bills: known houses are found again, draws and intervals keep what they promise, and
//! the search for the change point misses nothing that a brute search finds. All meters are invented.

#![allow(clippy::cast_precision_loss, reason = "small counts")]

use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use studbay::bills::{
    Finding, Fit, Form, NormalYear, Options, Reading, Verdict, Weight, fit_blocks, fit_readings,
};
use studbay::climate::DailyMeans;
use studbay::house::Fuel;
use studbay::units::UnitSystem;

/// Numbers that look random, the same every time.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    /// The sum of twelve is near enough to normal.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.roll()).sum::<f64>() - 6.0
    }
}

pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub(crate) fn after(first: NaiveDate, days: u64) -> NaiveDate {
    first + Days::new(days)
}

pub(crate) fn gas() -> Fuel {
    Fuel::from_key("natural_gas").unwrap()
}

/// Days of a place with a cold winter, weather fronts with it.
pub(crate) fn weather(days: usize, seed: u64) -> DailyMeans {
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
pub(crate) fn billed(
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

pub(crate) const MONTHS: [u64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
pub(crate) const TRUE: [f64; 3] = [0.6, 0.11, 61.3];

pub(crate) fn quick() -> Options {
    Options { resamples: 0, ..Options::default() }
}

pub(crate) fn codes(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

pub(crate) fn fit_of(readings: &[Reading], weather: &DailyMeans, options: &Options) -> Fit {
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
