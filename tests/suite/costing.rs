//! The price: every line is a quantity times a rate, and their sum is the price.

use crate::jobsheet::{WALL, read};
use proptest::prelude::*;
use studbay::costing::{Part, RATES, Rate, Rates, build_up};
use studbay::house::assess;

const JOB: &str = "
[job]
access = \"remove_course\"
stud_spacing_in = 16
wall_height_ft = 8
spare_fraction = 0
";

const OWN: &str = "
crew_size_people = 2
wage_per_person_hour = 40
packed_ft2_per_crew_day = 1200
setup_days_per_job = 0.5
machine_per_day = 100
fibre_per_bag = 15
plug_per_piece = 0.5
course_off_and_on_per_ft = 1
repaint_per_ft = 2
fixed_per_job = 200
overhead_fraction = 0.2
margin_fraction = 0.25
";

fn rates(text: &str) -> Rates {
    Rates::from_toml(text).unwrap_or_else(|error| panic!("{error}"))
}

fn faults(text: &str) -> String {
    Rates::from_toml(text).expect_err(text).to_string()
}

/// By hand: 1.5 days of two people at 8 hours and 40 is 960, the machine 150: labour 1,110. 42 bags at
/// 15 are 630, 113 plugs at a half 56.50: material 686.50. 150 ft of course off and on at 1, painted
/// at 2: 450. Fixed 200. In all 2,446.50; a fifth of overhead 489.30; 2,935.80 is three quarters of
/// the price: 3,914.40.
#[test]
fn a_price_by_hand() {
    let house = read(&format!("{WALL}{JOB}"));
    let built = build_up(&house, &rates(OWN)).unwrap();
    for (part, amount) in [
        (Part::Labour, 1110.0),
        (Part::Material, 686.5),
        (Part::AccessAndRepair, 450.0),
        (Part::Fixed, 200.0),
        (Part::Overhead, 489.3),
        (Part::Margin, 978.6),
    ] {
        assert!((built.part(part) - amount).abs() < 1e-9, "{part:?}: {}", built.part(part));
    }
    assert!((built.installed_cost - 3914.4).abs() < 1e-9);
    let codes: Vec<&str> = built.findings.iter().map(|finding| finding.code()).collect();
    // The house quotes 2,500.
    assert_eq!(codes, ["quote_far_below", "quote_below_cost"]);
    // It is the price of the assessment, once it is taken.
    let priced = house.priced(built.installed_cost).unwrap();
    let again = assess(&priced);
    assert_eq!(again.net_cost, built.installed_cost);
    assert_eq!(again.simple_payback_years, built.at_build_up.unwrap().simple_payback_years);
    let hours = built.lines.iter().find(|line| line.rate.rate == Rate::Wage).unwrap();
    assert_eq!((hours.quantity, hours.unit), (24.0, "person-hours"));
}

#[test]
fn a_quote_is_held_against_the_build_up() {
    let codes = |quote: f64| {
        let text = WALL.replace("installed_cost = 2500", &format!("installed_cost = {quote}"));
        let built = build_up(&read(&format!("{text}{JOB}")), &rates(OWN)).unwrap();
        built.findings.iter().map(|finding| finding.code()).collect::<Vec<_>>()
    };
    assert_eq!(codes(3914.4), [""; 0]);
    assert_eq!(codes(3914.4 * 1.24), [""; 0]);
    assert_eq!(codes(3914.4 * 1.26), ["quote_far_above"]);
    assert_eq!(codes(2940.0), [""; 0]);
    // Nothing is quoted yet.
    assert_eq!(codes(0.0), [""; 0]);
    assert_eq!(codes(2930.0), ["quote_far_below", "quote_below_cost"]);
}

/// Every rate that this job needs is asked for at once, with what for.
#[test]
fn what_is_missing_is_named() {
    let house = read(&format!("{WALL}{JOB}"));
    let error = build_up(&house, &rates("")).unwrap_err().to_string();
    for name in [
        "crew_size_people",
        "wage_per_person_hour",
        "fibre_per_bag",
        "plug_per_piece",
        "course_off_and_on_per_ft (or",
        "repaint_per_ft",
        "overhead_fraction",
        "margin_fraction",
    ] {
        let bare = name.trim_end_matches(" (or");
        assert!(error.contains(&format!("{bare}: must be given")), "{name}: {error}");
    }
    assert!(!error.contains("hours_per_day") && !error.contains("outside_hole"), "{error}");
    assert!(error.contains("since nail holes are painted"), "{error}");
    // Drilled from outside it needs other rates.
    let drilled = JOB.replace("remove_course", "drill_outside");
    let error = build_up(&read(&format!("{WALL}{drilled}")), &rates(OWN)).unwrap_err().to_string();
    assert!(error.starts_with("outside_hole_per_piece: must be given"), "{error}");
    assert_eq!(error.lines().count(), 1);
    // Not counted, it goes by area.
    let error = build_up(&read(WALL), &rates(OWN)).unwrap_err().to_string();
    assert!(
        error.contains("access_and_repair_per_ft2 (or access_and_repair_per_m2)")
            || error
                .contains("access_and_repair_per_ft2: must be given (or access_and_repair_per_m2)"),
        "{error}"
    );
    let by_area = format!("{OWN}access_and_repair_per_ft2 = 0.5");
    let built = build_up(&read(WALL), &rates(&by_area)).unwrap();
    assert_eq!(built.part(Part::AccessAndRepair), 600.0);
    assert!(built.findings.iter().any(|finding| finding.code() == "access_by_area"));
}

/// Where a crew gives no rate of its own, the days are those of common practice and said to be.
#[test]
fn a_default_is_marked() {
    let without = OWN.replace("packed_ft2_per_crew_day = 1200", "");
    let built = build_up(&read(&format!("{WALL}{JOB}")), &rates(&without)).unwrap();
    assert!(built.findings.iter().any(|finding| finding.code() == "days_by_practice"));
    // Half a two-family house of 2,400 ft² at one and three quarters, and the setting up.
    assert!((built.days.middle() - 1.375).abs() < 1e-12);
    let hours = rates(OWN).get(Rate::HoursPerDay).unwrap();
    assert_eq!((hours.value, hours.default), (8.0, Some("common practice, no source")));
    assert!(RATES.iter().filter(|def| def.default.is_some()).count() == 1);
}

#[test]
fn rates_that_cannot_be_are_refused() {
    for (text, said) in [
        ("fibre_per_bag = -1", "fibre_per_bag = -1: allowed is 0 or more"),
        ("wage_per_person_hour = nan", "is not a number"),
        ("wage_per_person_hour = \"much\"", "is not a number"),
        ("margin_fraction = 1", "margin_fraction = 1: allowed is 0 to 0.9"),
        ("overhead_fraction = 16", "allowed is 0 to 3"),
        ("crew_size_people = 0", "allowed is 1 to 50"),
        ("hours_per_day = 25", "allowed is 1 to 24"),
        ("packed_ft2_per_crew_day = 0", "allowed is 10"),
        ("fiber_per_bag = 15", "is fibre_per_bag meant?"),
        ("colour = 3", "known are crew_size_people"),
        (
            "repaint_per_ft = 1\nrepaint_per_m = 3",
            "write repaint_per_ft or repaint_per_m, not both",
        ),
        ("fibre_per_bag = [1]", "is not a number"),
        ("fibre_per_bag", "not valid TOML, line 1"),
    ] {
        let error = faults(text);
        assert!(error.contains(said), "{text}: {error}");
    }
    assert!(Rates::from_file("no/such/file.toml").is_err());
    let house = read(WALL);
    assert!(house.priced(-1.0).is_err() && house.priced(f64::NAN).is_err());
    let rebated =
        read(&WALL.replace("installed_cost = 2500", "installed_cost = 2500\nrebate = 2000"));
    assert!(rebated.priced(1999.0).is_err() && rebated.priced(2000.0).is_ok());
}

/// Money for a metre and money for a foot are the same money.
#[test]
fn rates_have_si_names() {
    let si = OWN
        .replace("course_off_and_on_per_ft = 1", "course_off_and_on_per_m = 3.280839895013123")
        .replace("packed_ft2_per_crew_day = 1200", "packed_m2_per_crew_day = 111.483648");
    let house = read(&format!("{WALL}{JOB}"));
    let (a, b) = (build_up(&house, &rates(OWN)).unwrap(), build_up(&house, &rates(&si)).unwrap());
    assert!((a.installed_cost - b.installed_cost).abs() < 1e-9);
}

proptest! {
    /// The parts are the price, whatever the rates; a dearer bag never makes it cheaper.
    #[test]
    fn the_parts_are_the_price(
        wage in 0.0..200.0_f64,
        bag in 0.0..50.0_f64,
        overhead in 0.0..3.0_f64,
        margin in 0.0..0.9_f64,
        more in 0.0..10.0_f64,
    ) {
        let own = |bag: f64| rates(&format!(
            "crew_size_people = 2\nwage_per_person_hour = {wage:?}\nfibre_per_bag = {bag:?}\n\
             plug_per_piece = 0.5\ncourse_off_and_on_per_ft = 1\nrepaint_per_ft = 2\n\
             overhead_fraction = {overhead:?}\nmargin_fraction = {margin:?}\n"));
        let house = read(&format!("{WALL}{JOB}"));
        let built = build_up(&house, &own(bag)).unwrap();
        let sum: f64 = Part::ALL.iter().map(|part| built.part(*part)).sum();
        prop_assert!((sum - built.installed_cost).abs() <= 1e-12 * sum.max(1.0));
        for line in &built.lines {
            prop_assert_eq!(line.amount, line.quantity * line.rate.value);
        }
        // Margin is a share of the price.
        prop_assert!((built.margin - margin * built.installed_cost).abs() <= 1e-9 * sum.max(1.0));
        let dearer = build_up(&house, &own(bag + more)).unwrap();
        prop_assert!(dearer.installed_cost >= built.installed_cost);
    }
}
