//! The job sheet: its fibre is that of the assessment to the bit, its counts are those of a pencil.

#![allow(clippy::cast_precision_loss, reason = "small counts")]

use crate::samples::house;
use crate::spec::Spec;
use proptest::prelude::*;
use studbay::house::{House, assess, surface_fills};
use studbay::jobsheet::{Production, SheetFinding, Stage, job_sheet};
use studbay::units::{Quantity, UnitSystem};

pub(crate) const WALL: &str = r#"
house_id = "invented"
wall_area_ft2 = 1200
framing_fraction = 0.25
cavity_depth_in = 3.5
series_r = 3
heating_degree_days_f = 5000
heating_efficiency = 0.8
fuel = "natural_gas"
fuel_price = 1.5
installed_cost = 2500
year_built = 1990
knob_and_tube = "no"
vermiculite = "no"
moisture_problem = "no"
loose_interior_finish = "no"
"#;

pub(crate) fn read(text: &str) -> House {
    House::from_toml(text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn faults(text: &str) -> String {
    House::from_toml(text).expect_err("must be refused").to_string()
}

fn sheet(text: &str) -> studbay::jobsheet::JobSheet {
    job_sheet(&read(text), &Production::default())
}

proptest! {
    /// Mass and bags come from the one calculation: per surface they add up to it, bit by bit, and
    /// bags are rounded up once for the job.
    #[test]
    fn surfaces_add_up_to_the_assessment(spec in house()) {
        let house = spec.build();
        let assessment = assess(&house);
        let fills = surface_fills(&house);
        let first = fills[0].mass.ip();
        let sum = fills.iter().skip(1).fold(first, |sum, fill| sum + fill.mass.ip());
        prop_assert_eq!(sum.to_bits(), assessment.fill_mass.ip().to_bits());

        let sheet = job_sheet(&house, &Production::default());
        prop_assert_eq!(sheet.assessed.mass.ip().to_bits(), assessment.fill_mass.ip().to_bits());
        prop_assert_eq!(sheet.assessed.bags.to_bits(), assessment.bags.to_bits());
        for (surface, fill) in sheet.surfaces.iter().zip(&fills) {
            prop_assert_eq!(surface.assessed.mass, fill.mass);
        }
        // Rounded up one by one they are never fewer, and fewer than one each more.
        let single: f64 = sheet.surfaces.iter().map(|surface| surface.fibre.bags).sum();
        prop_assert!(single >= sheet.fibre.bags);
        prop_assert!(single < sheet.fibre.bags + sheet.surfaces.len() as f64);
        prop_assert!(sheet.packed.bags + sheet.open.bags >= sheet.fibre.bags);
        prop_assert!(sheet.bags_to_bring >= sheet.fibre.bags);
        prop_assert!(sheet.fibre.mass.ip() >= sheet.assessed.mass.ip());
    }

    /// Density and volume give the mass back, in both unit systems.
    #[test]
    fn density_times_volume_is_the_mass(spec in house()) {
        let sheet = job_sheet(&spec.build(), &Production::default());
        for surface in &sheet.surfaces {
            let mass = surface.volume_ft3 * surface.density.ip();
            prop_assert!((mass - surface.fibre.mass.ip()).abs() <= 1e-12 * mass.abs());
            let volume_si = Quantity::Volume.express(surface.volume_ft3, UnitSystem::Si);
            let mass_si = volume_si * surface.density.si();
            prop_assert!((mass_si - surface.fibre.mass.si()).abs() <= 1e-9 * mass_si.abs());
            // Back again: what a crew works out from the bags it used.
            if surface.volume_ft3 > 0.0 {
                let density = surface.fibre.mass.ip() / surface.volume_ft3;
                prop_assert!((density - surface.density.ip()).abs() <= 1e-12 * density);
            }
        }
    }

    /// A plan or a look changes no figure of the assessment.
    #[test]
    fn a_plan_changes_no_figure(spec in house(), spacing in 8.0..48.0_f64, height in 1.0..60.0_f64) {
        let text = spec.to_toml();
        // A table of the plan must stand after the head and before the surfaces.
        let plan = format!("job = {{ stud_spacing_in = {spacing:?}, wall_height_ft = {height:?} }}\n{text}");
        prop_assert_eq!(crate::spec::bits(&read(&plan)), crate::spec::bits(&spec.build()));
        let sheet = sheet(&plan);
        for surface in sheet.surfaces.iter().filter(|surface| !surface.open()) {
            let bays = surface.bays.unwrap();
            prop_assert_eq!(surface.plugs().map_or(bays.openings, |plugs| plugs), bays.openings);
            let per_pocket = surface.fibre_per_pocket_lb().unwrap();
            let mass = surface.fibre.mass.ip();
            prop_assert!((per_pocket * bays.pockets - mass).abs() <= 1e-9 * mass.max(1.0));
        }
    }
}

/// By hand: 1,200 ft² with a quarter of framing is 900 ft² of cavity; 3.5 in. deep that is 262.5 ft³;
/// at 4.0 lb/ft³ 1,050 lb, exactly 42 bags of 25 lb; with 5 % spare 1,102.5 lb, 45 bags.
#[test]
fn bags_by_hand() {
    let sheet = sheet(WALL);
    let wall = &sheet.surfaces[0];
    assert_eq!(wall.cavity_area.ip(), 900.0);
    assert_eq!(wall.volume_ft3, 262.5);
    assert_eq!(wall.fibre.mass.ip(), 1050.0);
    assert_eq!((wall.fibre.bags, sheet.fibre.bags, sheet.bags_to_bring), (42.0, 42.0, 45.0));
    // A bag of 25.5 lb (common practice, no source): 1050/25.5 = 41.18.
    let other = self::sheet(&format!("bag_weight_lb = 25.5\n{WALL}"));
    assert_eq!(other.fibre.bags, 42.0);
    // 3.1 lb/ft³, what makers ask for at least (common practice, no source): 813.75 lb, 32.55 bags.
    let least = self::sheet(&format!("fill_density_lb_ft3 = 3.1\n{WALL}"));
    assert!((least.fibre.mass.ip() - 813.75).abs() < 1e-9);
    assert_eq!(least.fibre.bags, 33.0);
    // No spare, and all of it.
    assert_eq!(self::sheet(&format!("{WALL}\n[job]\nspare_fraction = 0")).bags_to_bring, 42.0);
    assert_eq!(self::sheet(&format!("{WALL}\n[job]\nspare_fraction = 1")).bags_to_bring, 84.0);
}

/// The crew fills every cavity: what the assessment expects to be missed is still brought.
#[test]
fn what_is_expected_to_be_missed_is_brought_all_the_same() {
    let sheet = sheet(&format!("missed_fraction = 0.1\n{WALL}"));
    assert!((sheet.assessed.mass.ip() - 945.0).abs() < 1e-9);
    assert_eq!(sheet.assessed.bags, 38.0);
    assert_eq!((sheet.fibre.mass.ip(), sheet.fibre.bags), (1050.0, 42.0));
}

/// Two surfaces of 10.4 bags are 21 bags for the job, and 11 for each by itself.
#[test]
fn bags_are_rounded_up_once_for_the_job() {
    let surface = |name: &str| {
        format!(
            "[[surfaces]]\nname = \"{name}\"\narea_ft2 = 312\nseries_r = 3\nframing_fraction = 0\ncavity_depth_in = 2.5\n"
        )
    };
    let head = WALL
        .lines()
        .filter(|line| {
            !["wall_area", "framing", "cavity", "series"].iter().any(|s| line.starts_with(s))
        })
        .collect::<Vec<_>>()
        .join("\n");
    let sheet = sheet(&format!("{head}\n{}{}", surface("a"), surface("b")));
    // 312 ft² of 2.5 in. is 65 ft³, 260 lb, 10.4 bags.
    assert_eq!(sheet.surfaces[0].fibre.mass.ip(), 260.0);
    assert_eq!(sheet.surfaces.iter().map(|s| s.fibre.bags).collect::<Vec<_>>(), [11.0, 11.0]);
    assert_eq!(sheet.fibre.bags, 21.0);
}

/// An open attic floor is another setting of the machine: its bags, depth and density stand apart.
#[test]
fn the_open_attic_stands_apart() {
    let text =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/two_family.toml"));
    let house = read(&text.unwrap());
    let sheet = job_sheet(&house, &Production::default());
    let attic = &sheet.surfaces[2];
    assert!(attic.open() && attic.way_in.is_none() && attic.bays.is_none());
    // 9 in. settled at a fifth of settling is 11.25 in. blown.
    assert!((attic.depth.ip() - 11.25).abs() < 1e-12);
    assert_eq!(attic.settled_depth.unwrap().ip(), 9.0);
    assert!(attic.density.ip() < 2.2);
    let packed: f64 = sheet.surfaces[..2].iter().map(|s| s.fibre.mass.ip()).sum();
    assert!((sheet.packed.mass.ip() - packed).abs() < 1e-9);
    assert_eq!(sheet.open.mass, attic.fibre.mass);
    assert!(sheet.days.attic_left_out);
    let steps: Vec<&str> = sheet.steps.iter().map(|step| step.text.as_str()).collect();
    assert!(steps.iter().any(|text| text.contains("not the setting of the walls")));

    // By hand: 1,760 ft² of 18 ft walls at 16 in. is 97.8 ft, 73.3 so 74 cavities; a row of stops
    // makes 148 pockets.
    let front = sheet.surfaces[0].bays.unwrap();
    assert_eq!((front.bays, front.pockets, front.openings), (74.0, 148.0, 148.0));
    assert!((sheet.surfaces[0].course_ft().unwrap() - 2.0 * 1760.0 / 18.0).abs() < 1e-9);
    // Stucco is drilled: no course comes off.
    assert_eq!(sheet.surfaces[1].course_ft(), None);
    assert_eq!(sheet.surfaces[1].plugs(), Some(46.0));
}

/// Common practice, no source: a tube from one band of removed siding makes fewer holes than a short
/// hose.
#[test]
fn a_tube_makes_fewer_holes() {
    let openings = |by: &str| {
        let job = format!(
            "[job]\nfill_by = \"{by}\"\nstud_spacing_in = 16\nwall_height_ft = 8\naccess = \"remove_course\""
        );
        sheet(&format!("{WALL}\n{job}")).surfaces[0].bays.unwrap()
    };
    let (tube, hose) = (openings("tube"), openings("short_hose"));
    assert_eq!((tube.openings, hose.openings), (113.0, 226.0));
    assert_eq!((tube.bands, hose.bands), (1.0, 2.0));
}

/// The same plan under SI names.
#[test]
fn the_plan_has_si_names() {
    let ip = sheet(&format!("{WALL}\n[job]\nstud_spacing_in = 16\nwall_height_ft = 8"));
    let si = sheet(&format!("{WALL}\n[job]\nstud_spacing_mm = 406.4\nwall_height_m = 2.4384"));
    let (a, b) = (ip.surfaces[0].bays.unwrap(), si.surfaces[0].bays.unwrap());
    assert_eq!((a.bays, a.openings), (b.bays, b.openings));
    assert!((a.run_ft - b.run_ft).abs() < 1e-9);
}

#[test]
fn what_the_sheet_cannot_know_is_said() {
    let codes = |text: &str| {
        sheet(text).findings.iter().map(|(finding, _)| finding.code()).collect::<Vec<_>>()
    };
    assert_eq!(codes(WALL), ["access_undecided", "openings_not_counted"]);
    let job = "[job]\naccess = \"from_inside\"\nstud_spacing_in = 16\nwall_height_ft = 8\n";
    assert_eq!(codes(&format!("{WALL}\n{job}")), ["blocking_not_said"]);
    assert_eq!(codes(&format!("{WALL}\n{job}blocking_rows = 0")), [""; 0]);
    // A stud of 1.5 in. every 12 in. takes an eighth.
    let thin = WALL.replace("framing_fraction = 0.25", "framing_fraction = 0.1");
    let tight = job.replace("16", "12");
    assert_eq!(codes(&format!("{thin}\n{tight}blocking_rows = 1")), ["framing_below_studs"]);
    // Makers ask for 3.1 lb/ft³ or more, careful crews never pack under 4.0 (common practice, no
    // source).
    let loose = format!("fill_density_lb_ft3 = 3.6\n{WALL}");
    assert!(codes(&loose).contains(&"under_careful_practice"));
    // A batt of 2.5 in. leaves an inch: no tube by default, and a word where one is planned.
    let tight = WALL.replace("series_r = 3", "series_r = 3\nbatt_thickness_in = 2.5");
    assert_eq!(sheet(&tight).surfaces[0].fill_by.key(), "short_hose");
    assert_eq!(sheet(WALL).surfaces[0].fill_by.key(), "tube");
    assert!(codes(&format!("{tight}\n{job}fill_by = \"tube\"")).contains(&"too_tight_for_tube"));
    assert!(!codes(&format!("{tight}\n{job}")).contains(&"too_tight_for_tube"));
    let asbestos = WALL.replace(
        "series_r = 3",
        "cladding = \"asbestos_cement_shingle\"\nsheathing = \"no_sheathing\"\ninterior_finish = \"gypsum_board_1_2in\"",
    );
    assert!(codes(&asbestos).iter().all(|code| *code != "asbestos_opened"));
    let opened = format!("{asbestos}\n[job]\naccess = \"drill_outside\"");
    assert!(sheet(&opened).findings.contains(&(SheetFinding::AsbestosOpened, 0)));
    assert_eq!(
        sheet(&format!("{WALL}\n[job]\nlorry = \"blue\"\ndate = 2026-04-01")).unread,
        ["lorry"]
    );
}

/// Before, during and after, in this order, each with its source; a hold comes first.
#[test]
fn the_checks_are_in_order() {
    let held = WALL.replace("knob_and_tube = \"no\"", "knob_and_tube = \"yes\"");
    let sheet = sheet(&held);
    let stages: Vec<Stage> = sheet.steps.iter().map(|step| step.stage).collect();
    let place = |stage| stages.iter().position(|s| *s == stage).unwrap();
    assert!(
        place(Stage::Before) < place(Stage::During) && place(Stage::During) < place(Stage::After)
    );
    assert!(stages.windows(2).all(|pair| pair[0] as u8 <= pair[1] as u8));
    assert!(sheet.steps[0].text.starts_with("The work must not start"));
    for step in &sheet.steps {
        assert!(step.citation.document().is_some(), "{:?}", step.citation);
    }
    let account = sheet.account(UnitSystem::Ip);
    assert!(account[0].title.contains("must not start"));
    assert!(account[0].lines.iter().any(|(_, text)| text.contains("licensed electrician")));
    assert_eq!(account.iter().filter(|block| block.title.starts_with("Bring ")).count(), 1);
}

#[test]
fn a_plan_that_cannot_be_is_refused() {
    for (job, said) in [
        ("stud_spacing_in = 1.5", "job.stud_spacing_in = 1.5: allowed is 8 to 48"),
        ("stud_spacing_mm = 16", "job.stud_spacing_mm = 16: allowed is 203.2 to 1219.2"),
        ("stud_spacing_in = 16\nstud_spacing_mm = 406", "write stud_spacing_in or stud_spacing_mm"),
        ("stud_spacing_in = -16", "allowed is 8 to 48"),
        ("stud_spacing_in = nan", "is not a number"),
        ("stud_spacing_in = \"wide\"", "is not a number"),
        ("wall_height_ft = 0", "job.wall_height_ft = 0: allowed is 1 to 60"),
        ("blocking_rows = 1.5", "a whole number, 0 to 20"),
        ("blocking_rows = -1", "allowed is a whole number"),
        ("spare_fraction = 5", "job.spare_fraction = 5: allowed is 0 to 1"),
        ("access = \"through the roof\"", "must be one of remove_course"),
        ("access = \"drill_outsid\"", "is drill_outside meant?"),
        ("fill_by = \"bucket\"", "must be one of tube, short_hose"),
        ("stud_spacng_in = 16", "is stud_spacing_in meant?"),
        ("surfaces = 3", "job.surfaces: must be a list of tables"),
        ("surfaces = [{ name = \"north\" }]", "job.surfaces[0].name = north: no surface"),
        ("surfaces = [{ access = \"drill_outside\" }]", "job.surfaces[0].name: must be given"),
        (
            "surfaces = [{ name = \"wall\" }, { name = \"wall\" }]",
            "job.surfaces[1].name = wall: given twice",
        ),
        ("surfaces = [{ name = \"wall\", colour = 1 }]", "no value has this name"),
    ] {
        let error = faults(&format!("{WALL}\n[job]\n{job}\n"));
        assert!(error.contains(said), "{job}: {error}");
    }
    assert!(faults(&format!("job = 3\n{WALL}")).contains("job: must be"));
}

proptest! {
    /// Whatever stands in the plan, there is a sheet or a fault, never a panic.
    #[test]
    fn no_plan_panics(text in "[a-z_]{1,12} = (-?[0-9]{1,6}(\\.[0-9]{1,3})?|\"[a-z ]{0,12}\"|true|\\[\\])") {
        if let Ok(house) = House::from_toml(&format!("{WALL}\n[job]\n{text}\n")) {
            let _ = job_sheet(&house, &Production::default()).account(UnitSystem::Si);
        }
    }
}

/// `Spec` writes its flat houses without a plan: the sheet is still whole.
#[test]
fn a_house_without_a_plan_has_a_sheet() {
    let spec: Spec = crate::samples::plain();
    let sheet = job_sheet(&spec.build(), &Production::default());
    assert_eq!(sheet.surfaces.len(), 1);
    assert!(!sheet.steps.is_empty() && sheet.bags_to_bring > 0.0);
}

/// What docs/JOB.md quotes is what is printed.
#[test]
fn the_document_quotes_what_is_printed() {
    use studbay::costing::{Rates, build_up};
    let root = env!("CARGO_MANIFEST_DIR");
    let file = |path: &str| std::fs::read_to_string(format!("{root}/{path}")).unwrap();
    let house = read(&file("demo-data/two_family.toml"));
    let rates = Rates::from_toml(&file("demo-data/rates.toml")).unwrap();
    let document = file("docs/JOB.md");
    let blocks = [
        job_sheet(&house, &rates.production()).account(UnitSystem::Ip),
        build_up(&house, &rates).unwrap().account("$"),
    ];
    let printed: Vec<String> = blocks
        .into_iter()
        .flatten()
        .flat_map(|block| {
            let lines = block.lines.into_iter().map(|(label, text)| format!("  {label}: {text}"));
            std::iter::once(block.title).chain(lines).collect::<Vec<_>>()
        })
        .collect();
    for name in ["sheet", "price"] {
        let (_, rest) = document.split_once(&format!("<!-- {name} -->")).unwrap();
        let (part, _) = rest.split_once(&format!("<!-- /{name} -->")).unwrap();
        let lines: Vec<&str> =
            part.lines().filter(|l| !l.is_empty() && !l.starts_with("```")).collect();
        assert!(lines.len() > 5);
        for line in lines {
            assert!(printed.iter().any(|known| known == line), "not printed: {line}");
        }
    }
    // Every question, role, name of the plan and rate is in the document.
    for def in studbay::house::QUESTIONS {
        assert!(document.contains(&format!("`{}`", def.code)), "{}", def.code);
    }
    for role in studbay::house::Role::KEYS {
        assert!(document.contains(&format!("`{role}`")), "{role}");
    }
}
