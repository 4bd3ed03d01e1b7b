//! How many meters are fitted in a second: twelve months each, with and without a bootstrap.
//!
//! `cargo bench --bench bills --features bills,parallel` prints rates; the number of meters may be
//! given behind `--`. Meters are invented.

#![allow(clippy::expect_used, clippy::print_stdout, reason = "a benchmark prints, and fails aloud")]

use chrono::{Days, NaiveDate};
use std::num::NonZeroUsize;
use std::time::Instant;
use studbay::bills::{
    Climate, Climates, MeterRows, NormalYear, Options, Reading, Workers, fit_meters,
};
use studbay::climate::DailyMeans;
use studbay::house::Fuel;

struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        f64::from(u32::try_from(self.0 >> 32).unwrap_or(0)) / f64::from(u32::MAX)
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.roll()).sum::<f64>() - 6.0
    }
}

fn main() {
    let count = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(2_000);
    let first = NaiveDate::from_ymd_opt(2021, 1, 1).expect("a date");
    let mut dice = Dice(7);
    let mut front = 0.0;
    let means: Vec<f64> = (0..400)
        .map(|day| {
            front = 0.7 * front + 5.0 * dice.normal();
            let turn = std::f64::consts::TAU * (f64::from(day) - 15.0) / 365.25;
            52.0 - 22.0 * turn.cos() + front
        })
        .collect();
    let weather = DailyMeans::new(first, means);
    let normal = NormalYear::new(&weather).expect("a year");
    let climates =
        Climates::one(Climate { weather: weather.clone(), normal, findings: Vec::new() });
    let fuel = Fuel::from_key("natural_gas").expect("a fuel");
    let meters: Vec<MeterRows> = (0..count)
        .map(|number: u32| {
            let (base, slope, change) =
                (0.3 + dice.roll(), 0.05 + 0.1 * dice.roll(), 55.0 + 10.0 * dice.roll());
            let mut start = first;
            let readings = (0..12)
                .map(|_| {
                    let end = start + Days::new(29 + u64::from(dice.roll() > 0.5) * 3);
                    let days = start.iter_days().take_while(|day| *day < end);
                    let amount: f64 = days
                        .filter_map(|day| weather.mean_f(day))
                        .map(|mean| base + slope * (change - mean).max(0.0))
                        .sum();
                    let amount = amount * (1.0 + 0.05 * dice.normal()).max(0.5);
                    let reading = Reading { start, end, amount, unit: None, estimated: false };
                    start = end;
                    reading
                })
                .collect();
            MeterRows {
                house_id: number.to_string(),
                fuel,
                readings,
                issues: Vec::new(),
                rows: Vec::new(),
            }
        })
        .collect();
    println!("{count} meters of 12 readings; fits a second, median (least to most) of 5 rounds");
    let cases = [(0, 1), (200, 1), (0, 2), (200, 2)];
    let mut rates = vec![Vec::new(); cases.len()];
    for _ in 0..5 {
        for (case, (resamples, threads)) in cases.iter().enumerate() {
            let options = Options { resamples: *resamples, ..Options::default() };
            let workers = Workers::new(NonZeroUsize::new(*threads));
            let start = Instant::now();
            let results = fit_meters(&meters, &climates, &options, &workers);
            let seconds = start.elapsed().as_secs_f64();
            assert!(results.iter().all(|result| result.figures.is_ok()));
            rates[case].push(f64::from(count) / seconds);
        }
    }
    for ((resamples, threads), mut rates) in cases.into_iter().zip(rates) {
        rates.sort_by(f64::total_cmp);
        println!(
            "{threads} thread(s), {resamples:>3} resamples: {:>8.0} ({:.0} to {:.0})",
            rates[2], rates[0], rates[4]
        );
    }
}
