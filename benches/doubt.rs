//! What ten thousand draws of one house cost, beside ten thousand plain assessments of it.
//!
//! `cargo bench --bench doubt` prints milliseconds and the ratio of the two, measured in turns in the
//! same run.

#![allow(clippy::expect_used, clippy::print_stdout, reason = "a benchmark prints, and must fail")]

use std::hint::black_box;
use std::time::Instant;
use studbay::doubt::{Band, FIGURES, Figure, Sampling, doubt, shares};
use studbay::house::{Cell, House, assess};

const DRAWS: u32 = 10_000;
const ROUNDS: usize = 21;

fn house() -> House {
    let n = Cell::Number;
    House::builder()
        .id("bench")
        .named("wall_area_ft2", n(1850.0))
        .named("cavity_depth_in", n(3.75))
        .named("cladding", Cell::Text("wood_bevel_siding_1_2in"))
        .named("sheathing", Cell::Text("board_sheathing_3_4in"))
        .named("interior_finish", Cell::Text("plaster_wood_lath_3_4in"))
        .named("batt_thickness_in", n(1.5))
        .named("batt_missing_fraction", n(0.2))
        .named("air_gap_level", n(2.0))
        .named("missed_fraction", n(0.02))
        .named("heating_degree_days_f", n(5650.0))
        .named("fuel", Cell::Text("fuel_oil_2"))
        .named("fuel_price", n(3.6))
        .named("heating_efficiency", n(0.72))
        .named("installed_cost", n(4600.0))
        .named("rebate", n(1400.0))
        .named("life_years", n(40.0))
        .build()
        .expect("a valid house")
}

/// Milliseconds of one run.
fn clock(run: impl FnOnce()) -> f64 {
    let start = Instant::now();
    run();
    start.elapsed().as_secs_f64() * 1e3
}

/// The middle of the rounds.
fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn main() {
    let house = house();
    let sampling = Sampling { draws: DRAWS, ..Sampling::default() };
    let drawn = doubt(&house, &sampling);
    let mut times: [Vec<f64>; 5] = Default::default();
    for _ in 0..ROUNDS {
        times[0].push(clock(|| {
            for _ in 0..DRAWS {
                black_box(assess(black_box(&house)));
            }
        }));
        times[1].push(clock(|| {
            black_box(doubt(black_box(&house), &sampling));
        }));
        times[2].push(clock(|| {
            let drawn = doubt(black_box(&house), &sampling);
            let bands: Vec<Band> = FIGURES.iter().map(|figure| drawn.band(*figure)).collect();
            black_box((bands, drawn.chance_of_gain(), drawn.chance_of_payback_within(10.0)));
        }));
        times[3].push(clock(|| {
            black_box(drawn.cash());
        }));
        times[4].push(clock(|| {
            let base = Sampling { draws: 1024, ..sampling };
            let _ = black_box(shares(black_box(&house), &base, Figure::Npv));
        }));
    }
    let [plain, draws, bands, cash, variance] = times.map(median);
    let inputs = drawn.inputs().len();
    println!("one house, {DRAWS} draws of {inputs} inputs, one core, median of {ROUNDS} rounds");
    println!("{plain:8.2} ms  {DRAWS} plain assessments");
    println!("{draws:8.2} ms  {DRAWS} draws              {:.2} times as long", draws / plain);
    println!("{bands:8.2} ms  draws, bands, chances     {:.2} times as long", bands / plain);
    println!("{cash:8.2} ms  cash by year with its band");
    println!("{variance:8.2} ms  shares of variance, {} assessments", 1024 * (inputs + 2));
}
