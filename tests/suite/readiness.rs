//! May the work start? The gravest finding decides, and nothing unknown is taken for fine.

use crate::samples::{house, plain};
use crate::spec::{Spec, Value};
use proptest::prelude::*;
use studbay::house::assess;
use studbay::readiness::{FINDINGS, Finding, Readiness, Weight};

/// A house with nothing left open.
fn clear() -> Spec {
    ["knob_and_tube", "vermiculite", "moisture_problem", "loose_interior_finish"]
        .into_iter()
        .fold(plain(), |spec, name| spec.with(name, "no"))
        .with("year_built", 1990.0)
        .with("spillage_test", "passed")
}

fn readiness(spec: &Spec) -> Readiness {
    assess(&spec.build()).readiness()
}

proptest! {
    /// hold where a finding holds, check where one must be looked at, clear otherwise.
    #[test]
    fn the_gravest_finding_decides(spec in house()) {
        let assessment = assess(&spec.build());
        let has = |weight| assessment.findings.iter().any(|f| f.def().weight == weight);
        let readiness = assessment.readiness();
        prop_assert_eq!(readiness == Readiness::Hold, has(Weight::Hold));
        let check = has(Weight::Check) && !has(Weight::Hold);
        prop_assert_eq!(readiness == Readiness::Check, check);
        let codes = assessment.findings.codes();
        let split: Vec<&str> = codes.split(';').filter(|code| !code.is_empty()).collect();
        let listed: Vec<&str> = assessment.findings.iter().map(Finding::code).collect();
        prop_assert_eq!(split, listed);
    }

    /// An answer of yes holds the work; answering unknown, or not at all, is never clear.
    #[test]
    fn a_yes_holds_and_an_unknown_is_never_clear(
        spec in house(),
        name in prop::sample::select(vec![
            "knob_and_tube", "vermiculite", "moisture_problem", "loose_interior_finish"
        ]),
    ) {
        prop_assert_eq!(readiness(&spec.clone().with(name, "yes")), Readiness::Hold);
        prop_assert_ne!(readiness(&spec.clone().with(name, "unknown")), Readiness::Clear);
        prop_assert_ne!(readiness(&spec.without(name)), Readiness::Clear);
    }

    /// What holds the work holds it whatever it would save: the figures are the same.
    #[test]
    fn hazards_change_no_figure(spec in house()) {
        let figures = |spec: &Spec| crate::spec::numbers(&spec.build());
        let held = spec.clone().with("knob_and_tube", "yes").with("spillage_test", "failed");
        prop_assert_eq!(figures(&spec), figures(&held));
    }
}

/// Each rule by itself. Sources stand beside each finding in the library: NFPA 70 394.12(5) and
/// 410.116(B) (S2), 40 CFR 745.83 (S2), government work specification for weatherization (S),
/// building-analyst standard (S2), state field guide (S2).
#[test]
fn each_hazard_has_its_finding() {
    assert_eq!(readiness(&clear()), Readiness::Clear);
    let cases: [(&str, Value, &str, Readiness); 14] = [
        ("knob_and_tube", "yes".into(), "knob_and_tube", Readiness::Hold),
        ("vermiculite", "yes".into(), "vermiculite", Readiness::Hold),
        ("moisture_problem", "yes".into(), "moisture_problem", Readiness::Hold),
        ("loose_interior_finish", "yes".into(), "loose_interior_finish", Readiness::Hold),
        ("spillage_test", "failed".into(), "spillage_failed", Readiness::Hold),
        ("knob_and_tube", "unknown".into(), "knob_and_tube_unknown", Readiness::Check),
        ("vermiculite", "unknown".into(), "vermiculite_unknown", Readiness::Check),
        ("moisture_problem", "unknown".into(), "moisture_unknown", Readiness::Check),
        ("loose_interior_finish", "unknown".into(), "interior_finish_unknown", Readiness::Check),
        ("spillage_test", "not_done".into(), "spillage_not_done", Readiness::Check),
        ("year_built", 1977.0.into(), "lead_safe_work", Readiness::Check),
        ("recessed_lights_or_flues", "yes".into(), "heat_sources", Readiness::Check),
        ("recessed_lights_or_flues", "unknown".into(), "heat_sources_unknown", Readiness::Check),
        ("fill_density_lb_ft3", 3.49.into(), "fill_density_low", Readiness::Check),
    ];
    for (name, value, code, expected) in cases {
        let spec = match value {
            Value::Word(ref word) => clear().with(name, word.as_str()),
            Value::Number(number) => clear().with(name, number),
        };
        let assessment = assess(&spec.build());
        assert_eq!(assessment.findings.codes(), code, "{name} {value:?}");
        assert_eq!(assessment.readiness(), expected, "{name} {value:?}");
    }
    // On the safe side of each limit.
    assert_eq!(readiness(&clear().with("year_built", 1978.0)), Readiness::Clear);
    assert_eq!(readiness(&clear().with("fill_density_lb_ft3", 3.5)), Readiness::Clear);
    assert_eq!(readiness(&clear().with("spillage_test", "none_needed")), Readiness::Clear);
}

/// In a slope, floor or attic there may be lights and flues until someone has looked.
#[test]
fn lights_and_flues_are_asked_about_where_they_can_be() {
    for kind in ["wall", "slope", "floor", "attic_floor"] {
        let mut spec = clear().listed();
        let fields = &mut spec.surfaces[0].fields;
        fields.set("kind", kind);
        if kind == "attic_floor" {
            fields.set("fill_depth_in", 10.0);
        }
        let expected = if kind == "wall" { Readiness::Clear } else { Readiness::Check };
        assert_eq!(readiness(&spec), expected, "{kind}");
        assert_eq!(readiness(&spec.with("recessed_lights_or_flues", "no")), Readiness::Clear);
    }
}

/// Each finding says why, who may clear it and, if it can stop the work, where the rule stands.
#[test]
fn findings_can_be_acted_on() {
    for def in FINDINGS {
        assert!(def.reason.len() > 20, "{}", def.code);
        assert!(!def.reason.ends_with('.'), "{}", def.code);
        assert_eq!(def.cleared_by.is_empty(), def.weight == Weight::Note, "{}", def.code);
        assert!(def.citation.is_some() || def.weight == Weight::Note, "{}", def.code);
        if let Some(citation) = def.citation {
            assert!(citation.document().is_some(), "{}: {:?}", def.code, citation);
        }
    }
}

/// Notes on what was left out say so, and hold nothing up.
#[test]
fn what_is_not_counted_is_noted() {
    for (fields, code) in [
        (&[("cooling_degree_days_f", 700.0)][..], "cooling_not_counted"),
        (&[("cfm50_before", 3000.0)], "leakage_test_incomplete"),
        (&[("cfm50_before", 3000.0), ("cfm50_after", 3100.0)], "leakage_rose"),
        (&[("installed_cost", 90_000.0)], "payback_beyond_life"),
        (&[("billed_heating_fuel", 100.0)], "saved_share_high;held_to_bills"),
        (&[("missed_fraction", 1.0)], "no_saving"),
    ] {
        let spec = fields.iter().fold(clear(), |spec, (name, value)| spec.with(name, *value));
        let assessment = assess(&spec.build());
        assert_eq!(assessment.findings.codes(), code);
        assert_eq!(assessment.readiness(), Readiness::Clear);
    }
    let undated = clear().without("year_built");
    assert_eq!(assess(&undated.build()).findings.codes(), "year_built_unknown");
    assert_eq!(readiness(&undated), Readiness::Clear);
}
