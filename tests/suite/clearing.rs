//! Looks on record: only one with role, day and evidence clears anything; a yes is never lifted by
//! less than it takes; what is not known is never silently fine.

use crate::jobsheet::{WALL, read};
use crate::samples::house;
use proptest::prelude::*;
use studbay::house::{House, QUESTIONS, Question, Role, assess, requirement};
use studbay::readiness::{Answer, FINDINGS, Readiness, Weight};
use studbay::walk::{Entry, Reader, recorded, walk};

const HEAD: &str = r#"
house_id = "invented"
heating_degree_days_f = 5000
heating_efficiency = 0.8
fuel = "natural_gas"
fuel_price = 1.5
installed_cost = 2500
year_built = 1990
vermiculite = "no"
moisture_problem = "no"
loose_interior_finish = "no"
"#;

const SURFACES: &str = r#"
[[surfaces]]
name = "front"
area_ft2 = 800
series_r = 3

[[surfaces]]
name = "rear"
area_ft2 = 700
series_r = 3
"#;

fn look(finding: &str, rest: &str) -> String {
    format!("[[clearances]]\nfinding = \"{finding}\"\n{rest}\n")
}

fn by(role: &str, day: &str, surface: &str) -> String {
    format!(
        "surface = \"{surface}\"\nanswer = \"no\"\ncleared_by = \"{role}\"\ndate = {day}\nevidence = \"seen\""
    )
}

fn with(hazard: &str, looks: &str) -> House {
    read(&format!("{hazard}\n{HEAD}{SURFACES}{looks}"))
}

fn readiness(hazard: &str, looks: &str) -> Readiness {
    assess(&with(hazard, looks)).readiness()
}

fn faults(looks: &str) -> String {
    let text = format!("knob_and_tube = \"yes\"\n{HEAD}{SURFACES}{looks}");
    House::from_toml(&text).expect_err(&text).to_string()
}

const TUBE: &str = "knob_and_tube = \"yes\"";
const ELECTRICIAN: &str = "licensed_electrician";
const OFFICIAL: &str = "local_code_official";

/// A hold needs each role that it names, on every surface that it may cross.
#[test]
fn knob_and_tube_holds_every_surface_until_each_is_cleared() {
    let tube = |rest: &str| look("knob_and_tube", rest);
    assert_eq!(readiness(TUBE, ""), Readiness::Hold);
    let one = tube(&by(ELECTRICIAN, "2026-03-02", "all"));
    assert_eq!(readiness(TUBE, &one), Readiness::Hold, "the official is still needed");
    let both = format!("{one}{}", tube(&by(OFFICIAL, "2026-03-05", "all")));
    assert_eq!(readiness(TUBE, &both), Readiness::Clear);
    // One surface alone is not the house.
    let front = format!(
        "{}{}",
        tube(&by(ELECTRICIAN, "2026-03-02", "front")),
        tube(&by(OFFICIAL, "2026-03-05", "front"))
    );
    assert_eq!(readiness(TUBE, &front), Readiness::Hold);
    let walked = walk(&with(TUBE, &front));
    let held: Vec<&str> = walked.of_weight(Weight::Hold).map(|p| p.label.as_str()).collect();
    assert_eq!(held, ["rear"]);
    assert_ne!(walked.surface_readiness(0), Readiness::Hold);
    assert_eq!(walked.surface_readiness(1), Readiness::Hold);
    // The official before the electrician has seen the old wiring.
    let early = format!(
        "{}{}",
        tube(&by(ELECTRICIAN, "2026-03-05", "all")),
        tube(&by(OFFICIAL, "2026-03-02", "all"))
    );
    assert_eq!(readiness(TUBE, &early), Readiness::Hold);
    // On one day the order in the file does not matter.
    let same = format!(
        "{}{}",
        tube(&by(OFFICIAL, "2026-03-05", "all")),
        tube(&by(ELECTRICIAN, "2026-03-05", "all"))
    );
    assert_eq!(readiness(TUBE, &same), Readiness::Clear);
}

/// A yes in one place counts for every surface that it may cross; a later yes undoes a clearing.
#[test]
fn a_yes_runs_on_and_comes_back() {
    let none = "knob_and_tube = \"no\"";
    let found = look("knob_and_tube", "surface = \"rear\"\nanswer = \"yes\"\ndate = 2026-04-01");
    let house = with(none, &found);
    assert_eq!(assess(&house).readiness(), Readiness::Hold);
    assert!(assess(&house).findings.codes().starts_with("knob_and_tube"));
    let held = walk(&house).of_weight(Weight::Hold).count();
    assert_eq!(held, 2);
    // Damp stays where it was found.
    let damp = look("moisture_problem", "surface = \"rear\"\nanswer = \"yes\"\ndate = 2026-04-01");
    let walked = walk(&with(none, &damp));
    let held: Vec<&str> = walked.of_weight(Weight::Hold).map(|p| p.label.as_str()).collect();
    assert_eq!(held, ["rear"]);
    let cleared = |day: &str| {
        format!(
            "{}{}",
            look("knob_and_tube", &by(ELECTRICIAN, day, "all")),
            look("knob_and_tube", &by(OFFICIAL, day, "all"))
        )
    };
    assert_eq!(readiness(TUBE, &format!("{}{found}", cleared("2026-03-05"))), Readiness::Hold);
    assert_eq!(readiness(TUBE, &format!("{found}{}", cleared("2026-04-02"))), Readiness::Clear);
    // Who could not tell lifts nothing, and opens what was taken for fine.
    let dark = look("knob_and_tube", "surface = \"all\"\nanswer = \"unknown\"\ndate = 2026-05-01");
    assert_eq!(readiness(TUBE, &dark), Readiness::Hold);
    assert_eq!(readiness(none, &dark), Readiness::Check);
}

/// Each finding that can stop the work can be cleared by those it names, and by nobody less.
#[test]
fn every_finding_takes_all_that_it_names() {
    let cases = [
        ("knob_and_tube = \"yes\"", "knob_and_tube"),
        ("knob_and_tube = \"unknown\"", "knob_and_tube_unknown"),
        ("knob_and_tube = \"no\"\nrecessed_lights_or_flues = \"yes\"", "heat_sources"),
        ("knob_and_tube = \"no\"\nrecessed_lights_or_flues = \"unknown\"", "heat_sources_unknown"),
        ("knob_and_tube = \"no\"\nspillage_test = \"failed\"", "spillage_failed"),
        ("knob_and_tube = \"no\"\nspillage_test = \"not_done\"", "spillage_not_done"),
    ];
    for (hazard, code) in cases {
        let finding = FINDINGS.iter().find(|def| def.code == code).unwrap().finding;
        assert!(assess(&with(hazard, "")).findings.contains(finding), "{code}");
        let groups = requirement(finding).groups;
        let all: String = groups
            .iter()
            .enumerate()
            .map(|(day, group)| {
                look(code, &by(group[0].key(), &format!("2026-03-0{}", day + 1), "all"))
            })
            .collect();
        assert!(!assess(&with(hazard, &all)).findings.contains(finding), "{code}: {all}");
        if groups.len() > 1 {
            for left_out in 0..groups.len() {
                let some: String = groups
                    .iter()
                    .enumerate()
                    .filter(|(place, _)| *place != left_out)
                    .map(|(_, group)| look(code, &by(group[0].key(), "2026-03-01", "all")))
                    .collect();
                assert!(assess(&with(hazard, &some)).findings.contains(finding), "{code}: {some}");
            }
        }
    }
    // The same of what the house lists at its head, one by one.
    for (field, code) in [
        ("vermiculite", "vermiculite"),
        ("moisture_problem", "moisture_problem"),
        ("loose_interior_finish", "loose_interior_finish"),
    ] {
        let text = format!("knob_and_tube = \"no\"\n{HEAD}{SURFACES}")
            .replace(&format!("{field} = \"no\""), &format!("{field} = \"yes\""));
        assert_eq!(assess(&read(&text)).readiness(), Readiness::Hold, "{field}");
        let finding = FINDINGS.iter().find(|def| def.code == code).unwrap().finding;
        let looks: String = requirement(finding)
            .groups
            .iter()
            .map(|group| look(code, &by(group[0].key(), "2026-03-01", "all")))
            .collect();
        assert_eq!(
            assess(&read(&format!("{text}{looks}"))).readiness(),
            Readiness::Clear,
            "{field}"
        );
    }
}

/// A clearing without role, day or evidence is refused; so is a name, the wrong trade, a day before
/// the survey.
#[test]
fn a_clearing_that_is_not_whole_is_refused() {
    let whole = by(ELECTRICIAN, "2026-03-02", "all");
    for (without, said) in [
        ("cleared_by", "clearances[0].cleared_by: must be given: a role, not a name"),
        ("date", "clearances[0].date: must be given"),
        ("evidence", "clearances[0].evidence: must be given"),
        ("answer", "clearances[0].answer: must be given"),
        ("surface", "clearances[0].surface: must be given"),
    ] {
        let rest: Vec<&str> = whole.lines().filter(|line| !line.starts_with(without)).collect();
        let error = faults(&look("knob_and_tube", &rest.join("\n")));
        assert!(error.contains(said), "{without}: {error}");
    }
    for (from, to, said) in [
        ("\"seen\"", "\"  \"", "evidence: must be given"),
        (ELECTRICIAN, "Pat", "must be a role, not a name"),
        (ELECTRICIAN, "crew_leader", "may not clear this; who may: licensed_electrician"),
        (ELECTRICIAN, "homeowner", "may not clear this"),
        ("\"no\"", "\"cleared\"", "must be one of no, yes, unknown"),
        ("\"no\"", "3", "must be one of no, yes, unknown"),
        ("2026-03-02", "\"yesterday\"", "must be a day of the calendar"),
        ("2026-03-02", "\"2026-02-30\"", "must be a day of the calendar"),
        ("2026-03-02", "20260302", "must be a day of the calendar"),
        (
            "\"all\"",
            "\"north\"",
            "no surface of the house has this name; known are all, front, rear",
        ),
        ("evidence", "evidance", "is evidence meant?"),
    ] {
        let error = faults(&look("knob_and_tube", &whole.replace(from, to)));
        assert!(error.contains(said), "{from} -> {to}: {error}");
    }
    let unknown = faults(&look("knob_and_tubes", &whole));
    assert!(unknown.contains("is knob_and_tube meant?"), "{unknown}");
    let early = format!("[survey]\ndate = 2026-03-03\n{}", look("knob_and_tube", &whole));
    let error = faults(&early);
    assert!(
        error.contains("clearances[0].date = 2026-03-02: is before the survey of 2026-03-03"),
        "{error}"
    );
    assert!(faults("[survey]\ndate = \"soon\"\n").contains("survey.date"));
    let whole_house = look("spillage_test", &by("combustion_safety_tester", "2026-03-02", "front"));
    assert!(faults(&whole_house).contains("about the whole house"));
    assert!(House::from_toml(&format!("clearances = 4\n{WALL}")).is_err());
    assert!(House::from_toml(&format!("clearances = [4]\n{WALL}")).is_err());
    // The day of the survey itself will do.
    let same = format!("[survey]\ndate = 2026-03-02\n{}", look("knob_and_tube", &whole));
    assert!(House::from_toml(&format!("{TUBE}\n{HEAD}{SURFACES}{same}")).is_ok());
}

/// Names of surfaces must be one's own.
#[test]
fn a_name_that_two_surfaces_have_is_refused() {
    let twins = SURFACES.replace("rear", "front");
    let text = format!(
        "{TUBE}\n{HEAD}{twins}{}",
        look("knob_and_tube", &by(ELECTRICIAN, "2026-03-02", "front"))
    );
    assert!(House::from_toml(&text).unwrap_err().to_string().contains("more than one surface"));
}

proptest! {
    /// Without looks, every house is assessed as before, and the walk is never less grave.
    #[test]
    fn the_walk_is_never_less_grave_than_the_assessment(spec in house()) {
        let house = spec.build();
        let assessment = assess(&house);
        let walked = walk(&house);
        prop_assert!(walked.readiness >= assessment.readiness());
        // Every hold and every check of the assessment is a point of the walk.
        for finding in assessment.findings.iter().filter(|f| f.def().weight != Weight::Note) {
            let here = walked.points.iter().any(|point| {
                let def = point.question().def();
                let [yes, unknown] = def.findings();
                point.weight == Some(finding.def().weight)
                    && [yes, unknown].contains(&Some(finding))
            });
            prop_assert!(here, "{} is not on the walk", finding.code());
        }
        for point in &walked.points {
            prop_assert_eq!(point.weight.is_none(), point.standing.answer == Answer::No);
        }
    }

    /// Looks of any kind, in any order, never panic; what is held without them stays held unless
    /// some look says no.
    #[test]
    fn looks_in_any_order_hold_what_they_must(
        looks in prop::collection::vec(
            (0..QUESTIONS.len(), 0..3_usize, 0..Role::KEYS.len(), 1..28_u8, 0..3_usize), 0..6),
        held in any::<bool>(),
    ) {
        let mut text = String::new();
        let mut cleared = false;
        for (question, answer, role, day, place) in looks {
            let def = &QUESTIONS[question];
            let answer = ["no", "yes", "unknown"][answer];
            cleared |= answer == "no" && def.question == Question::KnobAndTube;
            let surface = ["all", "front", "rear"][place];
            text += &look(def.code, &format!(
                "surface = \"{surface}\"\nanswer = \"{answer}\"\ncleared_by = \"{}\"\n\
                 date = 2026-05-{day:02}\nevidence = \"seen\"", Role::KEYS[role]));
        }
        let hazard = if held { TUBE } else { "knob_and_tube = \"no\"" };
        if let Ok(house) = House::from_toml(&format!("{hazard}\n{HEAD}{SURFACES}{text}")) {
            let assessment = assess(&house);
            if held && !cleared {
                prop_assert_eq!(assessment.readiness(), Readiness::Hold);
            }
            let walked = walk(&house);
            prop_assert!(walked.readiness >= assessment.readiness());
            for reader in Reader::ALL {
                let account = walked.account(reader);
                if walked.readiness == Readiness::Hold {
                    prop_assert!(account[0].title.contains("must not start"));
                }
            }
        }
    }
}

/// Nobody having been asked is told as such, not as an answer.
#[test]
fn what_is_taken_is_said_to_be_taken() {
    let walked = walk(&read(WALL));
    let lights = walked.points.iter().find(|p| p.question() == Question::HeatSources).unwrap();
    assert!(lights.standing.taken && lights.standing.answer == Answer::No);
    let text = |reader| format!("{:?}", walked.account(reader));
    for reader in Reader::ALL {
        assert!(text(reader).contains("nobody was asked"), "{reader:?}");
    }
    // series_r names no cladding and no finish: what may be in them is not known.
    assert_eq!(walked.unknown(), 3);
    assert_eq!((walked.readiness, walked.assessed), (Readiness::Check, Readiness::Clear));
}

/// A look is written at the end of the file and nothing else of it is touched.
#[test]
fn a_look_is_written_into_the_file() {
    let text = format!("# kept\n{TUBE}\n{HEAD}{SURFACES}");
    let entry = |role: &str, day: &str| Entry {
        finding: "knob_and_tube".into(),
        surface: "all".into(),
        answer: "no".into(),
        cleared_by: role.into(),
        date: day.into(),
        evidence: "permit \"26-7\" \\ closed\nsecond line".into(),
    };
    let once = recorded(&text, &entry(ELECTRICIAN, "2026-03-02")).unwrap();
    assert!(once.starts_with(text.trim_end()));
    assert_eq!(assess(&read(&once)).readiness(), Readiness::Hold);
    let twice = recorded(&once, &entry(OFFICIAL, "2026-03-04")).unwrap();
    let house = read(&twice);
    assert_eq!(assess(&house).readiness(), Readiness::Clear);
    let evidence = house.clearances()[0].evidence.as_deref();
    assert_eq!(evidence, Some("permit \"26-7\" \\ closed\nsecond line"));
    // What is not whole is not written.
    let mut bare = entry(ELECTRICIAN, "2026-03-02");
    bare.evidence.clear();
    assert!(recorded(&text, &bare).is_err());
    assert!(recorded("house_id = \"a", &entry(ELECTRICIAN, "2026-03-02")).is_err());
    let inline = text.replace("# kept", "clearances = []");
    let error = recorded(&inline, &entry(ELECTRICIAN, "2026-03-02")).unwrap_err().to_string();
    assert!(error.contains("[[clearances]]"), "{error}");
}

/// Order, spacing and keys that nobody knows stay; only the look is new.
#[cfg(feature = "evidence")]
#[test]
fn a_look_is_written_into_json_and_nothing_else_moves() {
    let text = "{\n  \"survey\": {\"weather\": \"wet\",  \"a\": [2, 3.50]},\n  \"house_id\": \"invented\",\n  \
        \"wall_area_ft2\": 800, \"series_r\": 3, \"heating_degree_days_f\": 5000,\n  \
        \"heating_efficiency\": 0.80, \"fuel\": \"natural_gas\", \"fuel_price\": 1.5,\n  \
        \"installed_cost\": 2500, \"knob_and_tube\": \"yes\"\n}\n";
    let entry = |role: &str, day: &str| Entry {
        finding: "knob_and_tube".to_owned(),
        surface: "all".to_owned(),
        answer: "no".to_owned(),
        cleared_by: role.to_owned(),
        date: day.to_owned(),
        evidence: "the old \"tube\" is out; \\ seen".to_owned(),
    };
    let once = recorded(text, &entry(ELECTRICIAN, "2026-03-02")).unwrap();
    let head = text.trim_end().trim_end_matches('}').trim_end();
    assert!(once.starts_with(head), "{once}");
    assert!(once.ends_with("\n}\n"), "{once}");
    let held = House::from_json(&once).unwrap();
    assert_eq!(assess(&held).readiness(), Readiness::Hold, "the official has not looked yet");
    let twice = recorded(&once, &entry(OFFICIAL, "2026-03-04")).unwrap();
    let free = House::from_json(&twice).unwrap();
    assert_eq!(free.clearances().len(), 2);
    assert!(
        !assess(&free).findings.iter().any(|finding| finding.code().starts_with("knob_and_tube"))
    );
    // What is written is what was said, to the letter.
    assert!(twice.contains(r#""evidence": "the old \"tube\" is out; \\ seen""#), "{twice}");

    let bare = Entry { cleared_by: String::new(), ..entry(ELECTRICIAN, "2026-03-02") };
    assert!(recorded(text, &bare).is_err());
    assert!(recorded("{\"house_id\": ", &entry(ELECTRICIAN, "2026-03-02")).is_err());
}
