//! Laws of heat through surfaces.

use crate::samples::{attic_surface, cavity, flat, layer, nested, plain, surface};
use crate::spec::{Fields, Spec, SurfaceSpec};
use proptest::prelude::*;
use std::collections::BTreeMap;
use studbay::house::{Assessment, assess, explain};

/// Relative room for rounding in an inequality.
const ROUNDING: f64 = 1e-13;

fn not_above(low: f64, high: f64) -> Result<(), TestCaseError> {
    prop_assert!(low <= high + ROUNDING * high.abs(), "{low} must not exceed {high}");
    Ok(())
}

fn figures(spec: &Spec) -> Assessment {
    assess(&spec.build())
}

/// A plain house with this one surface.
fn with_surface(surface: SurfaceSpec) -> Spec {
    let head = plain().without("wall_area_ft2").without("series_r").head;
    Spec { head, surfaces: vec![surface] }
}

/// The cavity in the wall of the plain house.
fn with_cavity(cavity: &Fields) -> Spec {
    let mut spec = plain();
    for (name, value) in &cavity.0 {
        spec.head.set(name, value.clone());
    }
    spec
}

fn scaled(spec: &Spec, name: &'static str, factor: f64) -> Spec {
    let mut spec = spec.clone();
    spec.head.scale(name, factor);
    spec
}

proptest! {
    /// A mean lies between what it is a mean of: the U of the framing, the batt and the void.
    #[test]
    fn u_lies_between_its_paths(surface in surface()) {
        let house = with_surface(surface).build();
        let steps: BTreeMap<_, _> =
            explain(&house).into_iter().filter_map(|s| Some((s.symbol, s.value?))).collect();
        let open = steps.contains_key("r_joist");
        let (before, after): (&[_], &[_]) = if open {
            (&["r_joist", "u_bay", "series_r"], &["r_joist_after", "r_bay_after", "r_void_after"])
        } else {
            (&["r_frame", "u_batt_path", "r_void_path"], &["r_frame", "r_fill_batt", "r_fill_void"])
        };
        let us = |names: &[&str]| -> Vec<f64> {
            let u = |name: &&str| if name.starts_with('r') || *name == "series_r" {
                1.0 / steps[name]
            } else {
                steps[name]
            };
            names.iter().map(u).collect()
        };
        let span = |us: Vec<f64>| {
            us.iter().fold((f64::MAX, 0.0), |(low, high), u| (u.min(low), u.max(high)))
        };
        let a = assess(&house);
        let (low, high) = span(us(before));
        not_above(low, a.u_before.ip())?;
        not_above(a.u_before.ip(), high)?;
        // What is missed stays as it was.
        let (low, high) = span([us(after), us(before)].concat());
        not_above(low, a.u_after.ip())?;
        not_above(a.u_after.ip(), high)?;
    }

    /// The house's U lies between those of its surfaces.
    #[test]
    fn the_mean_lies_between_the_surfaces(spec in nested()) {
        let a = figures(&spec);
        let alone: Vec<_> =
            spec.surfaces.iter().map(|s| figures(&with_surface(s.clone()))).collect();
        let span = |u: fn(&Assessment) -> f64| {
            alone.iter().map(u).fold((f64::MAX, 0.0_f64), |(l, h), u| (u.min(l), u.max(h)))
        };
        for (mean, (low, high)) in [
            (a.u_before.ip(), span(|a| a.u_before.ip())),
            (a.u_after.ip(), span(|a| a.u_after.ip())),
        ] {
            // The mean is taken round the first surface: rounding is relative to the greatest.
            prop_assert!(mean >= low - 1e-13 * high && mean <= high * (1.0 + 1e-13));
        }
    }

    /// A further layer never raises U, before or after, of any kind of surface.
    #[test]
    fn a_layer_never_raises_u(mut surface in surface(), more in layer()) {
        if surface.layers.is_empty() {
            for name in ["series_r", "cladding", "sheathing", "interior_finish"] {
                surface.fields.unset(name);
            }
            surface.layers.push(Fields::default().with("r", 1.0));
        }
        let without = figures(&with_surface(surface.clone()));
        let mut thicker = surface;
        thicker.layers.push(more);
        let with = figures(&with_surface(thicker));
        not_above(with.u_before.ip(), without.u_before.ip())?;
        not_above(with.u_after.ip(), without.u_after.ip())?;
    }

    /// More R anywhere never raises U before: outside, framing, batt, air.
    #[test]
    fn more_r_never_raises_u_before(
        spec in flat(),
        name in prop::sample::select(vec![
            "series_r", "framing_r_per_in", "batt_r_per_in", "air_space_r"
        ]),
        low in 0.0..=1.0_f64,
        high in 0.0..=1.0_f64,
    ) {
        let (least, most) = match name {
            "series_r" => (0.3, 60.0),
            "framing_r_per_in" => (0.3, 3.0),
            "batt_r_per_in" => (1.5, 5.0),
            _ => (0.0, 3.0),
        };
        let spec = ["cladding", "sheathing", "interior_finish"]
            .iter()
            .fold(spec, |spec, name| spec.without(name));
        let spec = match spec.head.number("series_r") {
            Some(_) => spec,
            None => spec.with("series_r", 3.0),
        };
        let at = |share: f64| figures(&spec.clone().with(name, least + share * (most - least)));
        let (low, high) = (at(low.min(high)), at(low.max(high)));
        not_above(high.u_before.ip(), low.u_before.ip())?;
        // A better batt also stays better under the fill; air that the fill drives out does not.
        if name != "air_space_r" {
            not_above(high.u_after.ip(), low.u_after.ip())?;
        }
    }

    /// A thicker batt beside the same gap, in a cavity deeper by as much, never raises U.
    #[test]
    fn more_batt_beside_the_same_gap_never_raises_u(cavity in cavity(), more in 0.0..4.0_f64) {
        let depth = cavity.number("cavity_depth_in").unwrap();
        let more = more.min(16.0 - depth);
        let thin = with_cavity(&cavity);
        let thick = thin
            .clone()
            .with("cavity_depth_in", depth + more)
            .with("batt_thickness_in", cavity.number("batt_thickness_in").unwrap() + more);
        not_above(figures(&thick).u_before.ip(), figures(&thin).u_before.ip())?;
    }

    /// A better fill never raises U after, a missed bay never lowers it, and neither touches U
    /// before; the mass does not depend on the fill's R.
    #[test]
    fn a_better_fill_never_raises_u_after(
        spec in flat(), low in 2.0..5.0_f64, high in 2.0..5.0_f64
    ) {
        let at = |r: f64| figures(&spec.clone().with("fill_r_per_in", r));
        let (worse, better) = (at(low.min(high)), at(low.max(high)));
        not_above(better.u_after.ip(), worse.u_after.ip())?;
        prop_assert_eq!(better.u_before, worse.u_before);
        prop_assert_eq!(better.fill_mass, worse.fill_mass);
    }

    /// Denser fibre weighs more and, by the rule for its R, insulates no better.
    #[test]
    fn denser_fibre_weighs_more_and_insulates_no_better(
        spec in flat(), low in 3.0..6.0_f64, high in 3.0..6.0_f64
    ) {
        let spec = spec.without("fill_r_per_in");
        let at = |density: f64| figures(&spec.clone().with("fill_density_lb_ft3", density));
        let (light, dense) = (at(low.min(high)), at(low.max(high)));
        not_above(light.u_after.ip(), dense.u_after.ip())?;
        not_above(light.fill_mass.ip(), dense.fill_mass.ip())?;
        not_above(light.bags, dense.bags)?;
    }

    /// U is linear in the framing share.
    #[test]
    fn u_is_linear_in_the_framing_share(
        spec in flat(), left in 0.0..0.6_f64, right in 0.0..0.6_f64, share in 0.0..=1.0_f64
    ) {
        let at = |phi: f64| figures(&spec.clone().with("framing_fraction", phi));
        let between = left + share * (right - left);
        let (left, between, right) = (at(left), at(between), at(right));
        for u in [|a: &Assessment| a.u_before.ip(), |a: &Assessment| a.u_after.ip()] {
            let (l, b, r) = (u(&left), u(&between), u(&right));
            let line = l + share * (r - l);
            prop_assert!((b - line).abs() <= 1e-13 * l.max(r), "{} {} {}", l, b, r);
        }
    }

    /// What is saved falls in a straight line as more of the cavities are missed.
    #[test]
    fn savings_are_linear_in_what_is_missed(spec in flat(), missed in 0.0..=1.0_f64) {
        let spec = spec.without("cfm50_before").without("cfm50_after");
        let none = figures(&spec.clone().with("missed_fraction", 0.0));
        let some = figures(&spec.with("missed_fraction", missed));
        let (whole, part) = (none.heat_saved.ip(), some.heat_saved.ip());
        prop_assert!((part - (1.0 - missed) * whole).abs() <= 1e-13 * whole.abs());
        let (whole, part) = (none.fill_mass.ip(), some.fill_mass.ip());
        prop_assert!((part - (1.0 - missed) * whole).abs() <= 1e-13 * whole);
        prop_assert_eq!(some.u_before, none.u_before);
    }

    /// Gaps round a batt never lower U, the worse the less; the fill closes them.
    #[test]
    fn gaps_never_help(spec in flat()) {
        let at = |level: f64| {
            figures(&spec.clone().with("missed_fraction", 0.0).with("air_gap_level", level))
        };
        let [none, bridging, circulating] = [0.0, 1.0, 2.0].map(at);
        not_above(none.u_before.ip(), bridging.u_before.ip())?;
        not_above(bridging.u_before.ip(), circulating.u_before.ip())?;
        let spread = (circulating.u_after.ip() - none.u_after.ip()).abs();
        prop_assert!(spread <= 1e-13 * circulating.u_before.ip());
    }

    /// The temperature factor takes its share of the saving and leaves U alone.
    #[test]
    fn a_buffered_surface_saves_its_share(mut surface in surface(), factor in 0.0..=1.0_f64) {
        surface.fields.set("temperature_factor", 1.0);
        let outdoors = figures(&with_surface(surface.clone()));
        surface.fields.set("temperature_factor", factor);
        let buffered = figures(&with_surface(surface));
        let whole = outdoors.heat_saved.ip();
        prop_assert!((buffered.heat_saved.ip() - factor * whole).abs() <= 1e-13 * whole.abs());
        prop_assert_eq!(buffered.u_after, outdoors.u_after);
        prop_assert_eq!(buffered.fill_mass, outdoors.fill_mass);
    }

    /// More depth over an attic never raises U and never takes less fibre.
    #[test]
    fn a_deeper_attic_layer_never_raises_u(surface in attic_surface(), share in 0.0..=1.0_f64) {
        let shallow = figures(&with_surface(surface.clone()));
        let mut deeper = surface;
        let depth = deeper.fields.number("fill_depth_in").unwrap();
        deeper.fields.set("fill_depth_in", depth + share * (36.0 - depth));
        let deep = figures(&with_surface(deeper));
        not_above(deep.u_after.ip(), shallow.u_after.ip())?;
        not_above(shallow.fill_mass.ip(), deep.fill_mass.ip())?;
        prop_assert_eq!(deep.u_before, shallow.u_before);
    }

    /// Thinner air carries less heat, whichever way the leakage went.
    #[test]
    fn thinner_air_counts_for_less(height in -1500.0..15_000.0_f64, more in 0.0..5000.0_f64) {
        let above = (height + more).min(15_000.0);
        let house = plain().with("cfm50_before", 3000.0).with("cfm50_after", 2000.0);
        let low = figures(&house.clone().with("elevation_ft", height));
        let high = figures(&house.with("elevation_ft", above));
        not_above(high.heat_saved.ip(), low.heat_saved.ip())?;
    }

    /// A more efficient plant has less fuel to save, a realized share takes its share.
    #[test]
    fn fuel_follows_efficiency_and_realization(
        spec in flat(), times in 1.0..1.2_f64, share in 0.0..1.5_f64
    ) {
        let spec = spec.without("billed_heating_fuel").with("realization_rate", 1.0);
        let base = figures(&spec);
        let better = figures(&scaled(&spec, "heating_efficiency", times));
        let error = (better.fuel_saved * times - base.fuel_saved).abs();
        prop_assert!(error <= 1e-13 * base.fuel_saved.abs());
        let part = figures(&spec.with("realization_rate", share));
        for (part, whole) in [
            (part.fuel_saved, base.fuel_saved),
            (part.electricity_saved_kwh, base.electricity_saved_kwh),
        ] {
            prop_assert!((part - share * whole).abs() <= 1e-13 * whole.abs());
        }
        prop_assert_eq!(part.heat_saved, base.heat_saved);
    }
}
