//! Evidence: shares and their intervals, the machine's chart, density, scan, as built, receipt, jobs.

use proptest::prelude::*;
use studbay::evidence::{
    Chart, Confidence, Count, JobRecord, JobStanding, Manner, Proof, ProofFinding, Receipt,
    ScanStanding, Signal, fill_volume_ft3, jobs_account, proof_account, prove, receipt_account,
    review_jobs,
};
use studbay::house::{House, assess};
use studbay::readiness::Weight;
use studbay::source::Mark;
use studbay::stages::HouseFile;
use studbay::tables::{
    DENSITY_CHECK_DAYS, FILL_DENSITY_DEFAULT, MAKER_DENSITY, MOVING_RANGE_D2, MOVING_RANGE_D4,
    SCAN_DIFFERENCE_F, SCAN_SUN_FREE_HOURS, SCAN_WIND_MPH,
};
use studbay::units::UnitSystem;
use studbay::words::Tone;

const DOLLARS: Manner<'static> = Manner { units: UnitSystem::Ip, currency: "$" };

fn read(path: &str) -> String {
    let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// The invented house before the work, with nothing in the way.
fn house() -> String {
    read("demo-data/house.toml")
        .replace("loose_interior_finish = \"unknown\"", "loose_interior_finish = \"no\"")
        .replace("spillage_test = \"not_done\"", "spillage_test = \"passed\"")
}

fn record(text: &str) -> Result<JobRecord, String> {
    let file = HouseFile::from_toml(text).map_err(|error| error.to_string())?;
    JobRecord::read(&file).map_err(|error| error.to_string())
}

/// The house with what was written down of the work.
fn proof(as_built: &str) -> Proof {
    let text = format!("{}\n{as_built}", house());
    prove(&record(&text).unwrap_or_else(|error| panic!("{error}")), Confidence::default())
}

fn faults(as_built: &str) -> String {
    record(&format!("{}\n{as_built}", house())).unwrap_err()
}

fn codes(proof: &Proof) -> Vec<&'static str> {
    proof.findings.iter().map(studbay::evidence::Found::code).collect()
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "{found}, wanted {wanted} within {within}");
}

const GOOD_SCAN: &str =
    "[as_built.scan]\ninside_f = 68\noutside_f = 40\nwind_mph = 5\nsun_free_hours = 6\n";

fn surface(rest: &str) -> String {
    format!("[as_built]\ndate = 2026-10-02\n[[as_built.surfaces]]\n{rest}\n{GOOD_SCAN}")
}

// ---------------------------------------------------------------- shares

/// Newcombe 1998, Statistics in Medicine 17, the worked table (M), `newcombe_1998`: Wilson without
/// continuity correction and Clopper-Pearson, 95 %, four decimals.
#[test]
fn the_intervals_are_the_published_ones() {
    for (found, seen, wilson, exact) in [
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
        (0, 20, (0.0000, 0.1611), (0.0000, 0.1684)),
        (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
    ] {
        let count = Count::new(found, seen).unwrap();
        let (w, e) = (count.wilson(Confidence::default()), count.exact(Confidence::default()));
        for (got, printed) in
            [(w.low, wilson.0), (w.high, wilson.1), (e.low, exact.0), (e.high, exact.1)]
        {
            near(got, printed, 0.000_051);
        }
    }
}

/// Closed forms of the exact interval: none of n has the upper end 1 − (α/2)^(1/n).
#[test]
fn none_found_has_a_closed_form() {
    for seen in [1_u32, 5, 30, 96, 2_000] {
        let end = Count::new(0, seen).unwrap().exact(Confidence::default()).high;
        near(end, 1.0 - 0.025_f64.powf(1.0 / f64::from(seen)), 1e-12);
        let full = Count::new(seen, seen).unwrap().exact(Confidence::default());
        near(full.low, 0.025_f64.powf(1.0 / f64::from(seen)), 1e-12);
    }
}

/// Five of ten seen, none cold: by hand, K cold of ten escape with chance C(10−K,5)/C(10,5):
/// 126/252, 56/252, 21/252, 6/252 = 0.0238 for K = 1, 2, 3, 4. So at 95 % three may be cold.
#[test]
fn a_finite_wall_by_hand() {
    let ends = Count::new(0, 5).unwrap().of_finite(10, Confidence::default()).unwrap();
    assert_eq!(ends, (0, 3));
    let ends = Count::new(0, 5).unwrap().of_finite(10, Confidence::new(0.9).unwrap()).unwrap();
    assert_eq!(ends, (0, 3)); // 21/252 = 0.083 > 0.05
    let ends = Count::new(0, 5).unwrap().of_finite(10, Confidence::new(0.8).unwrap()).unwrap();
    assert_eq!(ends, (0, 2)); // 0.083 < 0.1
}

// ---------------------------------------------------------------- the machine

/// Standard tables (S2), and the closed forms behind them: the range of two normal values has the
/// mean 2/√π and the standard deviation √(2 − 4/π).
#[test]
fn the_constants_of_the_chart_are_those_of_the_tables() {
    let d2 = 2.0 / std::f64::consts::PI.sqrt();
    let d3 = (2.0 - 4.0 / std::f64::consts::PI).sqrt();
    assert_eq!((MOVING_RANGE_D2.value, MOVING_RANGE_D4.value), (1.128, 3.267));
    near(MOVING_RANGE_D2.value, d2, 0.000_5);
    near(MOVING_RANGE_D4.value, 1.0 + 3.0 * d3 / d2, 0.000_5);
}

/// Common practice, no source; and C1060's conditions, seen quoted.
#[test]
fn practice_facts_are_marked_so() {
    for (constant, value) in
        [(&MAKER_DENSITY, 3.1), (&FILL_DENSITY_DEFAULT, 4.0), (&DENSITY_CHECK_DAYS, 7.0)]
    {
        assert_eq!((constant.value, constant.citation.mark), (value, Mark::Practice));
    }
    for (constant, value) in
        [(&SCAN_DIFFERENCE_F, 18.0), (&SCAN_WIND_MPH, 15.0), (&SCAN_SUN_FREE_HOURS, 3.0)]
    {
        assert_eq!((constant.value, constant.citation.mark), (value, Mark::SecondHand));
        assert_eq!(constant.citation.source.0, "astm_c1060");
    }
}

/// A government handbook's example of an individuals chart, ten flow rates (M): mean 50.81, mean
/// range 1.8778, limits 45.8159 and 55.8041.
#[test]
fn a_published_chart() {
    let values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let chart = Chart::new(&values, None);
    let limits = chart.limits.unwrap();
    near(limits.centre, 50.81, 1e-9);
    near(limits.range_mean, 1.8778, 0.000_05);
    near(limits.low, 45.8159, 0.000_05);
    near(limits.high, 55.8041, 0.000_05);
    assert!(chart.signals.is_empty());
}

fn log(masses: &[f64], machine: &str) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2026, 6, 1).unwrap();
    masses.iter().enumerate().fold(String::new(), |out, (week, mass)| {
        let date = first + chrono::Days::new(7 * week as u64);
        format!("{out}[[as_built.calibration]]\ndate = {date}\n{machine}box_volume_ft3 = 1.5\nbox_mass_lb = {mass}\n")
    })
}

#[test]
fn a_machine_out_of_its_limits_must_not_work() {
    let steady = [6.0, 6.1, 5.9, 6.05, 5.95, 6.0, 6.1, 5.9];
    for (last, wanted) in [
        (vec![6.02], None),
        // 5.0/1.5 = 3.33: under 3.5, and below the lower limit.
        (vec![5.0], Some("machine_low")),
        (vec![5.4], Some("machine_out")),
        (vec![6.7], Some("machine_out")),
        (vec![6.02, 6.03, 6.04, 6.05, 6.06, 6.07], Some("machine_drift")),
        // Mended: the step back is no reason to stop.
        (vec![5.3, 6.0], None),
    ] {
        let masses = [steady.as_slice(), last.as_slice()].concat();
        let proof = proof(&format!("[as_built]\n{}", log(&masses, "machine = \"a\"\n")));
        let stops: Vec<&str> = proof
            .findings
            .iter()
            .filter(|found| found.weight() == Weight::Hold)
            .map(studbay::evidence::Found::code)
            .collect();
        match wanted {
            None => assert!(stops.is_empty(), "{last:?}: {stops:?}"),
            Some(code) => assert!(stops.contains(&code), "{last:?}: {stops:?}"),
        }
        if wanted.is_some() {
            let blocks = proof_account(&proof, DOLLARS);
            assert_eq!(blocks[0].tone, Tone::Hold);
            assert_eq!(blocks[0].title, "DO NOT WORK until the machine is adjusted");
        }
    }
}

/// Each machine and setting by itself; the figures of open blowing are not those of a wall.
#[test]
fn settings_are_kept_apart() {
    let walls = log(&[6.0, 6.1, 5.9], "machine = \"a\"\nsetting = \"wall\"\n");
    let attic = log(&[2.4, 2.5, 2.3], "machine = \"a\"\nsetting = \"open attic\"\n");
    let loose = log(&[2.4, 2.5, 2.3], "machine = \"b\"\n");
    let one = |log: &str| proof(&format!("[as_built]\n{log}"));
    // The days of the second log begin before those of the first end.
    assert!(faults(&format!("[as_built]\n{walls}{attic}")).contains("the log is in order of days"));
    assert_eq!(one(&walls).machines.len(), 1);
    assert!(!codes(&one(&attic)).contains(&"machine_low"));
    // Who does not say that it is an attic has packed a wall far too loosely.
    assert!(codes(&one(&loose)).contains(&"machine_low"));
}

#[test]
fn a_box_is_weighed_in_the_week_before() {
    // The log's last day is 8 June.
    for (date, wanted) in
        [("2026-06-08", false), ("2026-06-15", false), ("2026-06-16", true), ("2026-06-07", false)]
    {
        let text = format!("[as_built]\ndate = {date}\n{}", log(&[6.0, 6.0], ""));
        assert_eq!(codes(&proof(&text)).contains(&"machine_unchecked"), wanted, "{date}");
    }
    assert!(codes(&proof("[as_built]\n")).contains(&"machine_unchecked"));
}

// ---------------------------------------------------------------- density

/// By hand: 1850 × 0.75 × 89/96 × (0.8 × 2.25 + 0.2 × 3.75)/12 = 273.345 ft³; 45.5 × 25 = 1137.5 lb.
#[test]
fn the_density_of_the_demo_house_by_hand() {
    let text = read("demo-data/house-as-built.toml");
    let proof = prove(&record(&text).unwrap(), Confidence::default());
    let [found] = proof.densities.as_slice() else { panic!("{:?}", proof.densities) };
    near(found.volume_ft3, 273.345, 0.000_5);
    near(found.density.ip(), 1137.5 / 273.345, 0.000_02);
}

proptest! {
    /// Bags worked out from a density give that density back, whatever was missed.
    #[test]
    fn density_and_bags_are_each_other_s_inverse(
        density in 3.0..6.0_f64, missed in 0.0..0.9_f64, weight in 20.0..40.0_f64,
    ) {
        let text = house()
            .replace("fill_density_lb_ft3 = 4.0", &format!("fill_density_lb_ft3 = {density}"))
            .replace("missed_fraction = 0.02", &format!("missed_fraction = {missed}\nbag_weight_lb = {weight}"));
        let promised = House::from_toml(&text).unwrap();
        let bags = assess(&promised).fill_mass.ip() / weight;
        let text = format!("{text}\n[as_built]\n[[as_built.surfaces]]\nbags = {bags}\n");
        let proof = prove(&record(&text).unwrap(), Confidence::default());
        let found = &proof.densities[0];
        prop_assert!((found.density.ip() / density - 1.0).abs() < 1e-12);
        let volume = fill_volume_ft3(&promised, &promised.surfaces()[0], missed);
        prop_assert!((found.volume_ft3 / volume - 1.0).abs() < 1e-12);
        // As built as promised: the same figures.
        let (a, b) = (proof.promised_figures, proof.built_figures.unwrap());
        prop_assert!((a.npv - b.npv).abs() < 1e-6 * a.npv.abs().max(1.0));
    }
}

/// What each density of the demo wall gives rise to; 98 % of it is filled, 289 ft³.
#[test]
fn a_density_is_held_against_what_the_wall_bears() {
    let with = |pounds_in_a_foot: f64, finish: &str| {
        let bags = pounds_in_a_foot * 1850.0 * 0.75 * 0.98 * 2.55 / 12.0 / 25.0;
        let text = house().replace("plaster_wood_lath_3_4in", finish);
        let text = format!("{text}\n[as_built]\n[[as_built.surfaces]]\nbags = {bags}\n");
        prove(&record(&text).unwrap(), Confidence::default())
    };
    let plaster = "plaster_wood_lath_3_4in";
    for (density, finish, wanted) in [
        (6.1, plaster, Some("density_beyond_wall")),
        (4.6, plaster, Some("density_blow_out")),
        (4.4, plaster, None),
        // Thin board is taken to bear less.
        (4.4, "gypsum_board_3_8in", Some("density_blow_out")),
        (4.0, "gypsum_board_3_8in", None),
        (3.7, plaster, Some("density_under_target")),
        (3.4, plaster, Some("density_low")),
        (2.9, plaster, Some("density_not_packed")),
        (0.0, plaster, Some("density_not_packed")),
    ] {
        let proof = with(density, finish);
        let found: Vec<&str> =
            codes(&proof).into_iter().filter(|code| code.starts_with("density")).collect();
        assert_eq!(found, wanted.into_iter().collect::<Vec<_>>(), "{density} in {finish}");
        // A wall that is not packed has no figures, and nothing is said of going back.
        let packed = wanted != Some("density_not_packed");
        assert_eq!(proof.built_figures.is_some(), packed);
        assert_eq!(proof.going_back.is_some(), packed);
        let blocks = proof_account(&proof, DOLLARS);
        assert_eq!(blocks.iter().any(|b| b.title == "No figures as built"), !packed);
        if wanted == Some("density_beyond_wall") {
            let built = proof.built.as_ref().unwrap();
            assert_eq!(built.surfaces()[0].fill(), proof.promised.surfaces()[0].fill());
        }
    }
    // A finish that nobody looked at is not called sound.
    let text =
        house().replace("loose_interior_finish = \"no\"", "loose_interior_finish = \"unknown\"");
    let bags = 4.3 * 1850.0 * 0.75 * 0.98 * 2.55 / 12.0 / 25.0;
    let text = format!("{text}\n[as_built]\n[[as_built.surfaces]]\nbags = {bags}\n");
    assert!(
        codes(&prove(&record(&text).unwrap(), Confidence::default())).contains(&"density_blow_out")
    );
}

// ---------------------------------------------------------------- the scan

#[test]
fn a_scan_counts_only_where_a_camera_can_tell() {
    let with = |scan: &str, cladding: &str| {
        let text = house().replace("wood_bevel_siding_1_2in", cladding);
        let text = format!(
            "{text}\n[as_built]\n[[as_built.surfaces]]\nbays = 100\nbays_scanned = 100\ncold_after = 0\n[as_built.scan]\n{scan}"
        );
        prove(&record(&text).unwrap(), Confidence::default())
    };
    let wood = "wood_bevel_siding_1_2in";
    let good = "inside_f = 68\noutside_f = 50\nwind_mph = 15\nsun_free_hours = 3\n";
    assert_eq!(with(good, wood).scan, Some(ScanStanding::Valid));
    // The same in SI: 10 K, 24.1 km/h.
    let si = "inside_c = 20\noutside_c = 10\nwind_kmh = 24.1\nsun_free_hours = 3\n";
    assert_eq!(with(si, wood).scan, Some(ScanStanding::Valid));
    // Summer: warmer outside by as much.
    let summer = good.replace("outside_f = 50", "outside_f = 90");
    assert_eq!(with(&summer, wood).scan, Some(ScanStanding::Valid));
    for (scan, cladding, why) in [
        (good.replace("= 50", "= 51"), wood, "between inside and outside"),
        (good.replace("= 15", "= 16"), wood, "wind"),
        (good.replace("hours = 3", "hours = 2"), wood, "sun on the wall"),
        // Masonry keeps the sun's heat: eight hours.
        (good.to_owned(), "face_brick_4in", "sun on the wall"),
    ] {
        let proof = with(&scan, cladding);
        let Some(ScanStanding::NotValid(found)) = &proof.scan else {
            panic!("{scan}: {:?}", proof.scan)
        };
        assert!(found.len() == 1 && found[0].contains(why), "{found:?}");
        assert!(codes(&proof).contains(&"scan_not_valid"));
        // It does not count, so no cold bay is no proof: the promise's 2 % stand.
        assert_eq!((proof.missed[0].used, proof.missed[0].shown), (0.02, false));
    }
    let proof = with("inside_f = 68\n", wood);
    let wanted = vec!["temperatures", "wind", "hours since the sun stood on the wall"];
    assert_eq!(proof.scan, Some(ScanStanding::Unknown(wanted)));
    assert!(codes(&proof).contains(&"scan_unknown"));
    assert_eq!(proof.missed[0].used, 0.02);
}

#[test]
fn a_scan_that_does_not_count_can_make_the_figure_worse_only() {
    let cold = |cold: u32, scan: &str| {
        proof(&format!(
            "[as_built]\n[[as_built.surfaces]]\nbays = 100\nbays_scanned = 100\ncold_after = {cold}\n{scan}"
        ))
    };
    assert_eq!(cold(20, "").missed[0].used, 0.20);
    assert_eq!(cold(1, "").missed[0].used, 0.02);
    assert_eq!(cold(1, GOOD_SCAN).missed[0].used, 0.01);
    assert!(cold(1, GOOD_SCAN).missed[0].shown);
}

#[test]
fn a_part_that_was_scanned_is_an_estimate_and_says_so() {
    let proof = proof(&surface("bays = 118\nbays_scanned = 96\ncold_after = 7"));
    let (tally, missed) = (&proof.tallies[0], &proof.missed[0]);
    assert!(codes(&proof).contains(&"scan_part") && codes(&proof).contains(&"bays_missed"));
    near(missed.used, 7.0 / 96.0, 1e-15);
    // At least the seven that were seen, at most those and all that nobody saw.
    let (low, high) = tally.of_all.unwrap();
    assert!(7 <= low && low <= high && high <= 7 + 22, "{low} to {high}");
    near(missed.range.high, f64::from(high) / 118.0, 1e-15);
    // Bays that were never counted leave the exact interval.
    let proof = self::proof(&surface("bays_scanned = 96\ncold_after = 7"));
    assert_eq!(proof.missed[0].range, proof.tallies[0].exact);
    let proof = self::proof(&surface("bays = 96\nbays_scanned = 96\ncold_after = 7"));
    assert_eq!((proof.missed[0].range.low, proof.missed[0].range.high), (7.0 / 96.0, 7.0 / 96.0));
    assert!(!codes(&proof).contains(&"scan_part"));
}

// ---------------------------------------------------------------- as built

/// The house as built is the house that a person would write with what was found in it.
#[test]
fn as_built_is_the_changed_house() {
    let bags = 50.0;
    let proof = proof(&format!(
        "[as_built]\ninstalled_cost = 5000\nrebate = 1000\ncfm50_before = 3000\nm3h50_after = 4000\nbag_weight_lb = 26\n\
         [[as_built.surfaces]]\nbags = {bags}\nbays = 50\nbays_scanned = 50\ncold_after = 4\n{GOOD_SCAN}"
    ));
    let density = bags * 26.0 / (1850.0 * 0.75 * 0.92 * 2.55 / 12.0);
    let by_hand = house()
        .replace("fill_density_lb_ft3 = 4.0", &format!("fill_density_lb_ft3 = {density}\nbag_weight_lb = 26\ncfm50_before = 3000\nm3h50_after = 4000"))
        .replace("missed_fraction = 0.02", "missed_fraction = 0.08")
        .replace("installed_cost = 4600", "installed_cost = 5000")
        .replace("rebate = 1400", "rebate = 1000");
    let (a, b) = (proof.built_figures.unwrap(), assess(&House::from_toml(&by_hand).unwrap()));
    for (x, y) in [
        (a.npv, b.npv),
        (a.fuel_saved, b.fuel_saved),
        (a.net_cost, b.net_cost),
        (a.u_after.ip(), b.u_after.ip()),
        (a.fill_mass.ip(), b.fill_mass.ip()),
    ] {
        near(x, y, 1e-9 * y.abs());
    }
    near(a.fill_mass.ip(), bags * 26.0, 1e-9 * bags * 26.0);
    assert!(!codes(&proof).contains(&"leakage_not_tested"));
}

/// Nothing written down changes nothing, and is told.
#[test]
fn without_evidence_the_promise_stands_and_is_called_so() {
    let proof = proof("[as_built]\n");
    assert_eq!(proof.built_figures.unwrap().npv.to_bits(), proof.promised_figures.npv.to_bits());
    let found = codes(&proof);
    for code in [
        "bags_missing",
        "scan_missing",
        "machine_unchecked",
        "leakage_not_tested",
        "nothing_measured",
    ] {
        assert!(found.contains(&code), "{code} is not in {found:?}");
    }
    // Before the work there is nothing to say.
    let before = prove(&record(&house()).unwrap(), Confidence::default());
    assert!(before.built.is_none() && before.findings.is_empty());
    assert!(proof_account(&before, DOLLARS).iter().any(|b| b.title == "No figures as built"));
}

/// A missed share raises the payback: by how much, and what going back is worth, against two houses
/// assessed by hand.
#[test]
fn what_missed_bays_cost_is_the_difference_of_two_houses() {
    let proof = proof(&surface("bays = 50\nbays_scanned = 50\ncold_after = 5"));
    let at = |missed: f64| {
        assess(
            &House::from_toml(
                &house().replace("missed_fraction = 0.02", &format!("missed_fraction = {missed}")),
            )
            .unwrap(),
        )
    };
    let (now, filled) = (at(0.1), at(0.0));
    let cost = proof.going_back.unwrap().whole;
    near(cost.annual_savings_lost, filled.annual_savings - now.annual_savings, 1e-9);
    near(cost.worth_of_going_back, filled.npv - now.npv, 1e-8);
    let added = now.simple_payback_years.unwrap() - filled.simple_payback_years.unwrap();
    near(cost.payback_added_years.unwrap(), added, 1e-12);
    assert!(added > 0.0);
}

proptest! {
    /// More cold bays never shorten the payback, and going back is never worth less.
    #[test]
    fn missing_more_is_never_better(less in 0_u32..50, more in 0_u32..50) {
        let (less, more) = (less.min(more), less.max(more));
        let at = |cold: u32| proof(&surface(&format!("bays = 50\nbays_scanned = 50\ncold_after = {cold}")));
        let (a, b) = (at(less), at(more));
        let (x, y) = (a.built_figures.unwrap(), b.built_figures.unwrap());
        prop_assert!(x.simple_payback_years <= y.simple_payback_years);
        let worth = |proof: &Proof| proof.going_back.as_ref().unwrap().whole.worth_of_going_back;
        prop_assert!(worth(&a) <= worth(&b) + 1e-9 && worth(&a) >= 0.0);
    }

    /// The measured saving comes out as it went in, at the offer's price.
    #[test]
    fn the_measured_saving_is_valued_as_it_is(saved in -500.0..2_000.0_f64, wide in 0.0..300.0_f64) {
        let proof = proof(&format!(
            "[as_built]\n[follow_up]\nfuel_saved = {saved}\nfuel_saved_low = {}\nfuel_saved_high = {}\n",
            saved - wide, saved + wide
        ));
        let measured = proof.measured.unwrap();
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (1.0 + b.abs());
        prop_assert!(close(measured.figures.fuel_saved, saved));
        prop_assert!(close(measured.figures.annual_savings, saved * 3.6));
        prop_assert!(close(measured.low.unwrap().fuel_saved, saved - wide));
        prop_assert!(close(measured.high.unwrap().fuel_saved, saved + wide));
        if saved > 1e-6 {
            let payback = measured.figures.simple_payback_years.unwrap();
            prop_assert!(close(payback, 3200.0 / (saved * 3.6)));
        } else if saved < 0.0 {
            prop_assert_eq!(measured.figures.simple_payback_years, None);
        }
    }
}

/// Several surfaces, one of them an open attic floor.
fn two_surfaces() -> String {
    let (_, list) = read("README.md")
        .split_once("<!-- surfaces -->")
        .map(|(a, b)| (a.to_owned(), b.to_owned()))
        .unwrap();
    let (list, _) = list.split_once("<!-- /surfaces -->").unwrap();
    list.trim().trim_start_matches("```toml").trim_end_matches("```").to_owned()
}

#[test]
fn every_surface_has_its_own_evidence() {
    let text = format!(
        "{}\n[as_built]\ndate = 2026-10-02\n\
         [[as_built.surfaces]]\nname = \"Outside Walls\"\nbags = 45\nbays = 90\nbays_scanned = 90\ncold_after = 9\n\
         [[as_built.surfaces]]\nname = \"attic floor\"\nbags = 60\nr_by_maker = 38\n{GOOD_SCAN}",
        two_surfaces()
    );
    let record = record(&text).unwrap();
    let proof = prove(&record, Confidence::default());
    assert_eq!(proof.missed.len(), 4);
    assert_eq!(proof.densities.len(), 2);
    // 650 × 10/12 = 541.7 ft³ less the joists' share of the depth: 60 × 25 lb is above 2.2 lb/ft³.
    assert!(codes(&proof).contains(&"density_open_high"));
    let back = proof.going_back.as_ref().unwrap();
    let (walls, rest): (Vec<_>, Vec<_>) =
        back.surfaces.iter().partition(|(label, _)| label == "outside walls");
    near(walls[0].1.worth_of_going_back, back.whole.worth_of_going_back, 1e-6);
    assert!(rest.iter().all(|(_, cost)| cost.worth_of_going_back.abs() < 1e-9));

    let receipt = Receipt::new(&proof, record.as_built.as_ref().unwrap());
    let [walls, _, _, attic] = receipt.parts.as_slice() else { panic!("{:?}", receipt.parts) };
    assert_eq!((walls.coverage.ip(), walls.bags), (1400.0, Some(45.0)));
    near(walls.initial_thickness.unwrap().ip(), 3.75, 1e-9);
    assert_eq!(walls.initial_thickness, walls.settled_thickness);
    assert_eq!(walls.r_by_maker, None);
    // Blown 12.5 in. settles by a fifth to 10.
    near(attic.initial_thickness.unwrap().ip(), 12.5, 1e-9);
    assert_eq!(
        (attic.settled_thickness.unwrap().ip(), attic.r_by_maker.unwrap().ip()),
        (10.0, 38.0)
    );
}

/// 16 CFR 460.17 (S), `ftc_16cfr460`: coverage area, initial and settled thickness, R-value by the
/// maker's data, bags, date and signature, each part by itself.
#[test]
fn a_receipt_has_the_entries_of_the_rule() {
    let record = record(&read("demo-data/house-as-built.toml")).unwrap();
    let proof = prove(&record, Confidence::default());
    let receipt = Receipt::new(&proof, record.as_built.as_ref().unwrap());
    let [wall] = receipt.parts.as_slice() else { panic!() };
    // The mean of 2.25 in. beside the batt and 3.75 in. where there is none.
    near(wall.initial_thickness.unwrap().ip(), 2.55, 1e-9);
    near(wall.mass.unwrap().ip(), 1137.5, 1e-9);
    assert!(receipt.missing().is_empty(), "{:?}", receipt.missing());
    let text: String = receipt_account(&receipt, DOLLARS)
        .iter()
        .flat_map(|block| {
            std::iter::once(block.title.clone())
                .chain(block.lines.iter().map(|(l, t)| format!("{l}: {t}")))
        })
        .collect::<Vec<_>>()
        .join("\n");
    for entry in [
        "Coverage area: 1,850 ft²",
        "Initial installed thickness: 2.55 in",
        "Minimum settled thickness",
        "R-value, by the maker's data: 13.0",
        "Bags used: 45.5 of 25 lb",
        "Date of the work: 2026-10-02",
        "Signature of the installer: ____",
        "Check the current rule",
        "460.17",
    ] {
        assert!(text.contains(entry), "{entry} is not in\n{text}");
    }
    // What nobody read from the maker's chart is left open, and never worked out from an inch.
    let open = self::proof(&surface("bags = 45"));
    let receipt = Receipt::new(
        &open,
        self::record(&format!("{}\n{}", house(), surface("bags = 45")))
            .unwrap()
            .as_built
            .as_ref()
            .unwrap(),
    );
    assert_eq!(receipt.missing(), ["wall: R-value by the maker's data"]);
}

// ---------------------------------------------------------------- what cannot be

#[test]
fn what_cannot_be_says_what_to_look_at() {
    for (as_built, wanted) in [
        (
            "[as_built]\nbags_delivered = 40\n[[as_built.surfaces]]\nbags = 41\n",
            "as_built.bags_delivered = 40: fewer than the bags used, 41: look at the count",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\nbays = 60\nbays_scanned = 61\n",
            "as_built.surfaces[0].bays_scanned = 61: is more than bays = 60",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\nbays_scanned = 6\ncold_after = 7\n",
            "as_built.surfaces[0].cold_after = 7: is more than bays_scanned = 6",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\nbays_scanned = 6\ncold_before = 7\n",
            "cold_before = 7: is more than bays_scanned",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\ncold_after = 7\n",
            "as_built.surfaces[0].bays_scanned: must be given",
        ),
        (
            "[as_built]\ndate = 2026-10-02\n[as_built.scan]\ndate = 2026-10-01\n",
            "as_built.scan.date = 2026-10-01: is before the work was done",
        ),
        (
            "[offer]\ndate = 2026-10-03\n[as_built]\ndate = 2026-10-02\n",
            "as_built.date = 2026-10-02: is before offer.date = 2026-10-03",
        ),
        (
            "[as_built]\nrebate = 5000\n",
            "as_built.rebate = 5000: must not exceed installed_cost = 4600",
        ),
        ("[as_built]\ninstalled_cost = -1\n", "as_built.installed_cost = -1: allowed is"),
        (
            "[as_built]\n[[as_built.surfaces]]\nname = \"roof\"\n",
            "no surface of the house has this name; known are wall",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\n[[as_built.surfaces]]\n",
            "as_built.surfaces[0].name: must be given",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\nbag = 7\n",
            "bag: no value has this name; is bags meant?",
        ),
        (
            "[as_built]\n[[as_built.surfaces]]\nbays = 1.5\n",
            "bays = 1.5: allowed is a whole number",
        ),
        (
            "[as_built]\n[[as_built.calibration]]\ndate = 2026-10-02\n",
            "as_built.calibration[0].box_volume_ft3: must be given",
        ),
        (
            "[as_built]\n[[as_built.calibration]]\ndate = 2026-10-02\nbox_volume_ft3 = 0\nbox_mass_lb = 1\n",
            "box_volume_ft3 = 0: allowed is",
        ),
        ("[as_built]\n[as_built.scan]\ninside_f = 68\ninside_c = 20\n", "inside_c: given twice"),
        ("[as_built]\nsurfaces = 3\n", "as_built.surfaces: must be a list of tables"),
        ("[as_built]\nscan = 3\n", "as_built.scan: must be a table"),
        ("[follow_up]\ndate = 2027-01-01\n", "follow_up.fuel_saved: must be given"),
        (
            "[follow_up]\nfuel_saved = 5\nfuel_saved_low = 6\nfuel_saved_high = 9\n",
            "fuel_saved_low = 6: is more than fuel_saved = 5",
        ),
        ("[follow_up]\nfuel_saved = 5\nfuel_saved_low = 4\n", "fuel_saved_high: must be given"),
        (
            "[[as_built.surfaces]]\nsettled_thickness_in = 4\ninitial_thickness_in = 3\n",
            "fibre settles and does not rise",
        ),
    ] {
        let found = faults(as_built);
        assert!(found.contains(wanted), "{as_built}\n{found}\nwanted {wanted}");
    }
}

#[test]
fn every_fault_is_told_at_once_and_once() {
    let found = faults(
        "[survey]\ndate = 2026-03-02\n[as_built]\ndate = \"x\"\nbags_delivered = 1\n[[as_built.surfaces]]\nbags = 2\nbays = 1\nbays_scanned = 2\n",
    );
    assert_eq!(found.lines().count(), 2, "{found}");
    let of_house = record("fuel = \"oil\"\n[as_built]\n").unwrap_err();
    assert!(of_house.contains("fuel = oil") && of_house.contains("house_id"), "{of_house}");
}

proptest! {
    /// No table of evidence makes it panic, and what is read can be told.
    #[test]
    fn any_table_is_evidence_or_faults(
        bags in prop::option::of(-5.0..500.0_f64), bays in prop::option::of(0_u32..200),
        scanned in prop::option::of(0_u32..200), cold in prop::option::of(0_u32..200),
        delivered in prop::option::of(0.0..500.0_f64), inside in prop::option::of(-100.0..120.0_f64),
        boxes in prop::collection::vec(0.0..20.0_f64, 0..12), cost in prop::option::of(0.0..9_000.0_f64),
    ) {
        let line = |name: &str, value: Option<String>| value.map(|v| format!("{name} = {v}\n")).unwrap_or_default();
        let text = format!(
            "{}\n[as_built]\n{}{}[[as_built.surfaces]]\n{}{}{}{}[as_built.scan]\n{}{}",
            house(), line("bags_delivered", delivered.map(|v| v.to_string())), line("installed_cost", cost.map(|v| v.to_string())),
            line("bags", bags.map(|v| v.to_string())), line("bays", bays.map(|v| v.to_string())),
            line("bays_scanned", scanned.map(|v| v.to_string())), line("cold_after", cold.map(|v| v.to_string())),
            line("inside_f", inside.map(|v| v.to_string())), log(&boxes, ""),
        );
        if let Ok(record) = record(&text) {
            let proof = prove(&record, Confidence::default());
            for units in [UnitSystem::Ip, UnitSystem::Si] {
                let blocks = proof_account(&proof, Manner { units, currency: "$" });
                if proof.weight() == Weight::Hold {
                    prop_assert_eq!(blocks[0].tone, Tone::Hold);
                }
                for block in &blocks {
                    let text = format!("{} {:?}", block.title, block.lines);
                    prop_assert!(!text.contains("NaN") && !text.contains("inf "), "{}", text);
                    if text.contains("ayback") {
                        prop_assert!(text.contains("modelled"), "{}", text);
                    }
                }
            }
            let document = proof.document(UnitSystem::Ip).to_string();
            prop_assert!(document.contains("\"modelled\":true"));
        }
    }
}

/// A hold on the house comes before everything, whatever the evidence says.
#[test]
fn a_hold_on_the_house_comes_first() {
    let text = house().replace("knob_and_tube = \"no\"", "knob_and_tube = \"yes\"");
    let text = format!("{text}\n[as_built]\n{}", log(&[4.0, 4.0], ""));
    let blocks = proof_account(&prove(&record(&text).unwrap(), Confidence::default()), DOLLARS);
    assert_eq!(blocks[0].title, "HOLD: the work must not start");
    assert_eq!(blocks[1].title, "DO NOT WORK until the machine is adjusted");
}

#[test]
fn every_finding_can_be_reached() {
    let mut seen: Vec<&str> = Vec::new();
    let steady = [6.0, 6.1, 5.9, 6.05, 5.95, 6.0, 6.1, 5.9];
    let more = |rest: &[f64]| log(&[steady.as_slice(), rest].concat(), "");
    for as_built in [
        format!("[as_built]\n{}", more(&[5.0])),
        format!("[as_built]\n{}", more(&[6.02, 6.03, 6.04, 6.05, 6.06, 6.07])),
        "[as_built]\n".to_owned(),
        surface("bags = 100"),
        surface("bags = 60"),
        surface("bags = 40"),
        surface("bags = 44"),
        "[as_built]\nweather_that_day = \"rain\"\n".to_owned(),
        surface("bags = 10\nbays = 90\nbays_scanned = 80\ncold_after = 9"),
        "[as_built]\n[[as_built.surfaces]]\nbays_scanned = 4\ncold_after = 0\n".to_owned(),
        "[as_built]\n[[as_built.surfaces]]\nbays_scanned = 4\ncold_after = 0\n[as_built.scan]\nwind_mph = 40\n".to_owned(),
    ] {
        seen.extend(codes(&proof(&as_built)));
    }
    seen.push(ProofFinding::DensityOpenHigh.def().code); // every_surface_has_its_own_evidence
    for def in studbay::evidence::PROOF_FINDINGS {
        assert!(seen.contains(&def.code), "nothing gives rise to {}", def.code);
    }
    assert_eq!(Signal::Trend.as_str(), "trend");
}

// ---------------------------------------------------------------- many jobs

const HEADER: &str = "house_id,wall_area_ft2,series_r,heating_degree_days_f,heating_efficiency,fuel,fuel_price,installed_cost,crew,machine,work_date,bags_used,bays,bays_scanned,cold_after,inside_f,outside_f,wind_mph,sun_free_hours,box_volume_ft3,box_mass_lb,note";

/// 1,000 ft² of empty cavity of 3.5 in., a quarter of it framing: 218.75 ft³, 35 bags at 4.0.
fn job(id: &str, crew: &str, day: u32, bags: &str, cold: &str, mass: &str) -> String {
    format!(
        "{id},1000,3.0,5600,0.8,natural_gas,1.5,3000,{crew},m-{crew},2026-09-{day:02},{bags},60,60,{cold},68,40,5,6,1.5,{mass},x"
    )
}

#[test]
fn jobs_outside_the_limits_are_listed_by_crew_and_machine() {
    let rows = [
        HEADER.to_owned(),
        job("good", "1", 1, "34", "0", "6.0"),
        job("loose", "2", 1, "29", "0", "6.1"), // 3.31 lb/ft³
        job("cold", "2", 8, "30", "6", "5.9"),  // a tenth of the bays
        job("no bags", "1", 8, "", "0", "6.1"),
        job("=SUM(A1)", "2", 15, "29", "9", "6.0"),
        job("wrong", "1", 15, "34", "61", "6.0"), // more cold than seen
        job("odd", "1", 15, "many", "0", "6.0"),
    ];
    let review = review_jobs(rows.join("\n").as_bytes(), Confidence::default()).unwrap();
    assert_eq!((review.jobs.len(), review.rejects.len()), (5, 2));
    let names: Vec<&str> = review.listed().iter().map(|job| job.house_id.as_str()).collect();
    assert_eq!(names, ["loose", "cold", "=SUM(A1)", "no bags"]);
    near(review.jobs[0].density_lb_ft3.unwrap(), 34.0 * 25.0 / 218.75, 1e-9);
    assert_eq!(review.jobs[0].standing(), JobStanding::Within);
    assert!(review.jobs[1].density_outside && !review.jobs[1].coverage_outside);
    assert!(!review.jobs[2].density_outside && review.jobs[2].coverage_outside);
    let crew = &review.crews[0];
    assert_eq!(
        (crew.name.as_str(), crew.jobs, crew.density_outside, crew.coverage_outside),
        ("2", 3, 1, 2)
    );
    assert_eq!((crew.cold.unwrap().found(), crew.cold.unwrap().seen()), (15, 180));
    assert_eq!(review.machines[0].name, "m-2");
    assert_eq!((review.charts.len(), review.charts[0].chart.values.len()), (2, 2));
    assert_eq!(review.rejects[0].row, 6);
    assert!(
        review.rejects[0].issues[0]
            .to_string()
            .starts_with("cold_after = 61: is more than bays_scanned = 60")
    );
    assert!(
        review.rejects[1].issues[0].to_string().starts_with("bags_used = many: is not a number")
    );
    let csv = review.csv();
    assert_eq!(csv.lines().count(), 5);
    assert!(csv.contains(",'=SUM(A1),") || csv.contains("'=SUM(A1)"), "{csv}");
    let text = format!("{:?}", jobs_account(&review, 25));
    assert!(text.contains("3 of 5 jobs outside the limits"), "{text}");
}

#[test]
fn a_machine_is_followed_over_its_jobs() {
    let mut rows = vec![HEADER.to_owned()];
    let masses = ["6.0", "6.1", "5.9", "6.05", "5.95", "6.0", "6.1", "5.0"];
    // Out of order in the file: the chart goes by the day.
    for (week, mass) in (0_u32..).zip(masses).collect::<Vec<_>>().into_iter().rev() {
        rows.push(job(&format!("h{week}"), "1", 1 + 3 * week, "34", "0", mass));
    }
    let review = review_jobs(rows.join("\n").as_bytes(), Confidence::default()).unwrap();
    let [chart] = review.charts.as_slice() else { panic!("{:?}", review.charts) };
    assert_eq!(chart.chart.values.len(), 8);
    near(*chart.chart.values.last().unwrap(), 5.0 / 1.5, 1e-12);
    let blocks = jobs_account(&review, 3);
    assert_eq!(blocks[0].tone, Tone::Hold);
    assert!(blocks[0].title.starts_with("DO NOT WORK with m-1"));
}

#[test]
fn a_list_whose_columns_are_no_use_is_refused_with_the_reason() {
    let fault =
        |csv: &str| review_jobs(csv.as_bytes(), Confidence::default()).unwrap_err().to_string();
    assert!(fault("").contains("empty"));
    assert!(fault("house_id,wall_area_ft2\n").contains("no column of evidence"));
    let slip = fault(&HEADER.replace("bags_used", "bag_used"));
    assert!(slip.contains("bag_used") && slip.contains("is bags_used meant"), "{slip}");
    assert!(fault(&HEADER.replace("note", "crew")).contains("crew stands twice"));
    // A row of another length or another encoding is rejected and the rest is read.
    let mut rows = HEADER.as_bytes().to_vec();
    rows.extend_from_slice(b"\nshort,1\n\xff\xfe,1000,3,5600,0.8,natural_gas,1.5,3000,1,m,2026-09-01,34,60,60,0,68,40,5,6,1.5,6,x\n");
    rows.extend_from_slice(job("good", "1", 1, "34", "0", "6.0").as_bytes());
    let review = review_jobs(rows.as_slice(), Confidence::default()).unwrap();
    assert_eq!((review.jobs.len(), review.rejects.len()), (1, 2));
}

// ---------------------------------------------------------------- the document

/// Blocks as the command line prints them into a pipe.
fn plain(blocks: &[studbay::words::Block]) -> String {
    let block = |block: &studbay::words::Block| {
        let line = |(label, text): &(String, String)| match label.as_str() {
            "" => format!("\n  {text}"),
            label => format!("\n  {label}: {text}"),
        };
        block.lines.iter().map(line).fold(block.title.clone(), |out, line| out + &line)
    };
    blocks.iter().map(block).collect::<Vec<_>>().join("\n\n")
}

/// What stands in the document between two marks, as a block of text.
fn quoted(mark: &str) -> String {
    let text = read("docs/EVIDENCE.md");
    let (_, rest) = text.split_once(&format!("<!-- {mark} -->\n```text\n")).unwrap();
    rest.split_once(&format!("\n```\n<!-- /{mark} -->")).unwrap().0.to_owned()
}

#[test]
fn the_document_quotes_what_is_printed() {
    let record = record(&read("demo-data/house-as-built.toml")).unwrap();
    let proof = prove(&record, Confidence::default());
    assert_eq!(quoted("as built"), plain(&proof_account(&proof, DOLLARS)));
    let jobs = read("demo-data/jobs.csv");
    let review = review_jobs(jobs.as_bytes(), Confidence::default()).unwrap();
    assert_eq!(quoted("jobs"), plain(&jobs_account(&review, 8)));
    let toml = read("docs/EVIDENCE.md");
    let (_, rest) = toml.split_once("```toml\n").unwrap();
    let example = rest.split_once("```").unwrap().0;
    let found = self::record(&format!("{}\n{example}", house())).unwrap();
    assert!(found.as_built.unwrap().unread.is_empty());
}
