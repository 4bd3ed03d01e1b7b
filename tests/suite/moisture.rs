//! Vapour diffusion: saturation, closed forms, a case by hand, balance of mass, bad input.

use crate::samples::plain;
use crate::spec::Spec;
use approx::assert_relative_eq;
use proptest::collection::vec;
use proptest::prelude::*;
use studbay::comfort::{Given, Temperature};
use studbay::error::IssueCode;
use studbay::house::House;
use studbay::moisture::{
    IndoorHumidity, KG_S_M2_PA_PER_PERM, MOISTURE_FINDINGS, Moisture, MoistureFinding,
    OutdoorMonth, RawQuestion, Section, TRACE_KG_M2, VapourLayer, dew_point_c, factor_needed,
    monthly_means, saturation_pressure_pa, sd_m, words, year,
};
use studbay::tables::{MATERIALS, PERMEANCES, PermeanceRole, Role, permeance};
use studbay::units::UnitSystem;

fn t(celsius: f64) -> Temperature {
    Temperature::from_c(celsius).unwrap()
}

fn air(celsius: f64, rh: f64) -> OutdoorMonth {
    OutdoorMonth { temperature: t(celsius), rh }
}

fn layer(name: &str, r_m2k_w: f64, sd_m: f64) -> VapourLayer {
    VapourLayer { name: name.to_owned(), r_m2k_w, sd_m }
}

/// ISO 13788, saturation pressures (M): 20 °C 2337 Pa, 0 °C 610.5, -10 °C 259.3.
#[test]
fn saturation_is_that_of_the_standard() {
    assert_relative_eq!(saturation_pressure_pa(20.0), 2337.0, epsilon = 0.5);
    assert_eq!(saturation_pressure_pa(0.0), 610.5);
    assert_relative_eq!(saturation_pressure_pa(-10.0), 259.3, epsilon = 0.05);
}

/// 1 US perm = 57.2135 ng/(s m² Pa) at 0 °C (ASTM E96 and NIST SP 811, M).
#[test]
fn a_perm_is_what_it_is() {
    assert_relative_eq!(KG_S_M2_PA_PER_PERM * 1e12, 57.2135, epsilon = 5e-5);
    assert_relative_eq!(sd_m(1.0), 3.4957, epsilon = 5e-5);
}

/// A wall in which nothing condenses lets through delta_0 Δp/Σs_d: the closed form.
#[test]
fn a_dry_wall_has_the_flow_of_its_whole_resistance() {
    let section = Section::new(0.13, 0.04, &[layer("a", 0.5, 2.0), layer("b", 2.0, 0.5)]).unwrap();
    let months = [air(10.0, 0.7); 12];
    let year = year(&section, t(20.0), IndoorHumidity::Fixed(0.4), &months);
    let flow = 2e-10 * (0.4 * 2_336.951_143_802_342 - 0.7 * saturation_pressure_pa(10.0)) / 2.5;
    let january = year.months.iter().find(|m| m.month == 1).unwrap();
    let kg = flow * 31.0 * 86_400.0;
    assert_relative_eq!(january.vapour_in_kg_m2, kg, max_relative = 1e-12);
    assert_relative_eq!(january.vapour_out_kg_m2, kg, max_relative = 1e-12);
    assert_eq!((year.peak_kg_m2(), year.left_kg_m2(), year.dry_by()), (0.0, 0.0, None));
}

/// Worked by hand for this library (no source): kept so that the method does not drift.
///
/// Insulation R 3.0, s_d 0.5 m; sheathing R 0.1, s_d 2.0 m; films 0.13 and 0.04 m²K/W; room 20 °C
/// and 40 %: 934.78 Pa. December to February -10 °C and 80 %, all other months 18 °C and 60 %.
/// Winter: between insulation and sheathing 20 - 30 × 3.13/3.27 = -8.7156 °C, which holds 290.56
/// Pa; outdoors 207.47 Pa. In: 2e-10 × (934.78 - 290.56)/0.5 = 2.5769e-7, out: 2e-10 × 83.09/2 =
/// 8.309e-9, gathered 2.4938e-7 kg/m²s: 0.6679 kg/m² in December, 1.3359 by January's end, 1.9392
/// by February's.
/// Then: 20 - 2 × 3.13/3.27 = 18.0856 °C, 2073.96 Pa; to the room 2e-10 × 1139.18/0.5 = 4.5567e-7,
/// out 2e-10 × (2073.96 - 1237.70)/2 = 8.3626e-8: dries at 5.3930e-7 kg/m²s, 1.4445 kg/m² in March.
/// What is left, 0.4947, is gone on the 11th of April.
#[test]
fn a_year_by_hand() {
    let section =
        Section::new(0.13, 0.04, &[layer("insulation", 3.0, 0.5), layer("sheathing", 0.1, 2.0)])
            .unwrap();
    let mut months = [air(18.0, 0.6); 12];
    for winter in [11, 0, 1] {
        months[winter] = air(-10.0, 0.8);
    }
    let year = year(&section, t(20.0), IndoorHumidity::Fixed(0.4), &months);
    let at = section.nodes().iter().position(|n| n.place == "insulation | sheathing").unwrap();
    assert_eq!(year.months[0].month, 12);
    let held: Vec<f64> = year.months.iter().take(5).map(|m| m.held_kg_m2[at]).collect();
    for (ours, hand) in held.iter().zip([0.6679, 1.3359, 1.9392, 0.4947, 0.0]) {
        assert_relative_eq!(*ours, hand, epsilon = 1e-4);
    }
    assert_eq!(year.months[1].held_in_all(), held[1], "nothing condenses elsewhere");
    assert_relative_eq!(year.months[0].temperature_c[at], -8.7156, epsilon = 5e-5);
    assert_eq!((year.dry_by(), year.left_kg_m2()), (Some(4), 0.0));
    assert_relative_eq!(year.peak_kg_m2(), 1.9392, epsilon = 1e-4);
}

/// With a summer as cold as the winter, water gathers all year and never dries.
#[test]
fn water_that_cannot_dry_is_left() {
    let section = Section::new(0.13, 0.04, &[layer("a", 3.0, 0.5), layer("b", 0.1, 2.0)]).unwrap();
    let year = year(&section, t(20.0), IndoorHumidity::Fixed(0.4), &[air(-10.0, 0.8); 12]);
    assert_eq!(year.months[0].month, 1);
    assert_relative_eq!(year.left_kg_m2(), 2.4938e-7 * 365.0 * 86_400.0, epsilon = 1e-3);
    assert_eq!(year.dry_by(), None);
}

/// A layer of more than 0.25 m²K/W is cut into strips: 3.0 into twelve.
#[test]
fn thick_layers_are_cut() {
    let section = Section::new(0.13, 0.04, &[layer("a", 3.0, 0.5), layer("b", 0.25, 2.0)]).unwrap();
    assert_eq!(section.nodes().len(), 14);
    assert_eq!(section.nodes()[1].place, "within a");
    assert_eq!(section.nodes()[12].place, "a | b");
    assert_eq!(section.nodes()[13].place, "outside surface");
    assert_relative_eq!(section.r_m2k_w(), 3.42, epsilon = 1e-12);
    for bad in [layer("a", -1.0, 1.0), layer("a", 1.0, 0.0), layer("a", f64::NAN, 1.0)] {
        assert_eq!(Section::new(0.13, 0.04, &[bad]), None);
    }
    assert_eq!(Section::new(0.13, 0.04, &[]), None);
}

/// ISO 13788, internal humidity classes (M): the upper limits at 0 °C and below, falling to none
/// at 20 °C.
#[test]
fn humidity_classes_have_their_steps() {
    let outdoor = air(-5.0, 0.9);
    for (class, excess) in [(1, 270.0), (2, 540.0), (3, 810.0), (4, 1080.0), (5, 1360.0)] {
        let key = format!("class_{class}");
        let indoor = IndoorHumidity::from_key(&key).unwrap();
        let found = indoor.pressure_pa(t(20.0), &outdoor) - outdoor.pressure_pa();
        assert_relative_eq!(found, excess, epsilon = 1e-9);
        let mild = air(10.0, 0.5);
        let half = indoor.pressure_pa(t(20.0), &mild) - mild.pressure_pa();
        assert_relative_eq!(half, excess / 2.0, epsilon = 1e-9);
    }
    // EN 15026 (M): 35 % at -10 °C, 50 % at 5, 65 % at 20.
    let normal = IndoorHumidity::from_key("normal").unwrap();
    for (outdoor, rh) in [(-20.0, 0.35), (-10.0, 0.35), (5.0, 0.50), (25.0, 0.65)] {
        let found = normal.pressure_pa(t(20.0), &air(outdoor, 0.5)) / saturation_pressure_pa(20.0);
        assert_relative_eq!(found, rh, epsilon = 1e-12);
    }
    assert_eq!(IndoorHumidity::from_key("class_6"), None);
    // Never above saturation.
    let warm = IndoorHumidity::Class(5).pressure_pa(t(15.0), &air(14.0, 1.0));
    assert!(warm <= saturation_pressure_pa(15.0));
}

/// A room of 20 °C and 50 % against -5 °C: 1168.5/0.8 = 1460.6 Pa saturates at 12.62 °C, so the
/// surface needs (12.62 + 5)/25 = 0.705.
#[test]
fn the_surface_needs_a_factor() {
    let needed = factor_needed(t(20.0), IndoorHumidity::Fixed(0.5), &air(-5.0, 0.8)).unwrap();
    assert_relative_eq!(needed, 0.705, epsilon = 5e-4);
    assert_eq!(factor_needed(t(20.0), IndoorHumidity::Fixed(0.5), &air(25.0, 0.5)), None);
    let dry = factor_needed(t(20.0), IndoorHumidity::Fixed(0.0), &air(0.0, 0.5)).unwrap();
    assert!(dry.is_finite());
}

#[test]
fn monthly_means_keep_the_vapour() {
    let readings = (1..=12_u8).flat_map(|m| [(m, 0.0, 1.0), (m, 20.0, 0.5)]);
    let months = monthly_means(readings).unwrap();
    assert_eq!(months[3].temperature.c(), 10.0);
    let mean = f64::midpoint(610.5, 0.5 * saturation_pressure_pa(20.0));
    assert_relative_eq!(months[3].pressure_pa(), mean, max_relative = 1e-12);
    assert_eq!(monthly_means([(1, 0.0, 0.5)]), None, "eleven months are missing");
    for bad in [(0, 0.0, 0.5), (13, 0.0, 0.5), (1, f64::NAN, 0.5), (1, 0.0, 50.0)] {
        let all = (1..=12).map(|m| (m, 0.0, 0.5)).chain([bad]);
        assert_eq!(monthly_means(all), None, "{bad:?}");
    }
}

/// Invented winters and summers of a cold town.
pub(crate) fn cold_town() -> RawQuestion {
    RawQuestion {
        outdoor_c: Some(vec![-8.0, -6.5, -1.0, 6.0, 12.5, 17.5, 20.5, 19.5, 15.0, 9.0, 3.0, -4.5]),
        outdoor_rh: vec![0.78, 0.75, 0.72, 0.66, 0.65, 0.67, 0.68, 0.71, 0.74, 0.74, 0.78, 0.80],
        indoor: Given { c: Some(20.0), f: None },
        indoor_class: Some("class_3".to_owned()),
        exterior_coat: Some("exterior_oil_old".to_owned()),
        ..RawQuestion::default()
    }
}

pub(crate) fn framed() -> Spec {
    plain()
        .without("series_r")
        .with("cladding", "wood_bevel_siding_1_2in")
        .with("sheathing", "board_sheathing_3_4in")
        .with("interior_finish", "plaster_wood_lath_3_4in")
        .with("batt_thickness_in", 1.5)
        .with("batt_missing_fraction", 0.2)
}

fn check(house: &House, raw: &RawQuestion) -> Moisture {
    Moisture::of(house, &raw.check().unwrap()).unwrap()
}

/// What every practitioner expects: a coat on the room side keeps water out, one outside keeps it in.
#[test]
fn coats_do_what_they_do() {
    let house = framed().build();
    let peak = |raw: &RawQuestion| {
        let check = check(&house, raw);
        check.after.iter().map(|path| path.year.peak_kg_m2()).fold(0.0, f64::max)
    };
    let painted = peak(&cold_town());
    let bare = peak(&RawQuestion { exterior_coat: Some("none".to_owned()), ..cold_town() });
    let sealed =
        peak(&RawQuestion { interior_coat: Some("retarder_paint".to_owned()), ..cold_town() });
    assert!(bare < painted, "{bare} {painted}");
    assert!(sealed < painted, "{sealed} {painted}");
    assert!(painted > 0.1);
}

#[test]
fn findings_are_never_empty_and_never_a_pass() {
    let house = framed().build();
    let wet = check(&house, &cold_town());
    assert!(wet.findings.contains(&MoistureFinding::MoreThanBefore));
    let dry = RawQuestion {
        indoor_class: None,
        indoor_rh: Some(0.2),
        exterior_coat: Some("none".to_owned()),
        ..cold_town()
    };
    let dry = check(&house, &dry);
    assert_eq!(dry.findings, [MoistureFinding::NoneFound]);
    for moisture in [&wet, &dry] {
        for units in [UnitSystem::Ip, UnitSystem::Si] {
            let blocks = moisture.account(&house, units);
            let limits = blocks.last().unwrap();
            assert_eq!(limits.lines.len(), words::LIMITS.len(), "limits with every result");
        }
    }
    assert!(words::LIMITS.iter().any(|limit| limit.contains("no result of it is a certificate")));
    assert_eq!(MOISTURE_FINDINGS.len(), 8);
}

#[test]
fn a_hold_of_the_house_comes_first() {
    let house = framed().with("moisture_problem", "yes").build();
    let blocks = check(&house, &cold_town()).account(&house, UnitSystem::Ip);
    assert!(blocks[0].title.starts_with("HOLD"));
    assert!(blocks[0].lines.iter().any(|(_, text)| text.contains("water problem")));
}

#[test]
fn every_named_layer_of_a_wall_has_a_permeance() {
    for material in MATERIALS {
        let solid = material.r_h_ft2_f_btu > 0.0;
        if solid && material.role != Role::Other {
            let row = permeance(material.key);
            assert!(row.is_some_and(|row| row.role == PermeanceRole::Layer), "{}", material.key);
        }
    }
    for row in PERMEANCES {
        assert!(0.0 < row.low && row.low <= row.perms && row.perms <= row.high, "{}", row.key);
        // Still air is 120 perm inch (M): nothing an inch thick lets more through than a film of it.
        assert!(row.high <= 130.0, "{}", row.key);
    }
}

#[test]
fn faults_are_all_told_at_once() {
    let raw = RawQuestion {
        outdoor_f: Some(vec![200.0; 11]),
        outdoor_rh: vec![55.0; 12],
        indoor_rh: Some(0.4),
        indoor_class: Some("class_2".to_owned()),
        interior_coat: Some("latex".to_owned()),
        batt_facing: Some("kraft_facng".to_owned()),
        sheathing_perms: Some(-1.0),
        ..RawQuestion::default()
    };
    let faults = raw.check().unwrap_err().issues;
    let fields: Vec<&str> = faults.iter().map(|issue| issue.field.as_str()).collect();
    for field in [
        "outdoor_f",
        "outdoor_f[0]",
        "outdoor_rh[3]",
        "indoor_rh",
        "interior_coat",
        "batt_facing",
        "exterior_coat",
        "sheathing_perms",
    ] {
        assert!(fields.contains(&field), "{field} in {fields:?}");
    }
    let facing = faults.iter().find(|issue| issue.field == "batt_facing").unwrap();
    assert!(facing.reason.ends_with("; is kraft_facing meant?"), "{}", facing.reason);
    let range = faults.iter().find(|issue| issue.field == "outdoor_f[0]").unwrap();
    assert_eq!(range.reason, "allowed is -76 to 122");

    let refused = |spec: Spec, raw: RawQuestion| {
        Moisture::of(&spec.build(), &raw.check().unwrap()).unwrap_err().issues.remove(0)
    };
    let unknown = refused(plain(), cold_town());
    assert_eq!((unknown.code, unknown.field.as_str()), (IssueCode::Refused, "series_r"));
    let beyond = refused(framed(), RawQuestion { surface: Some(3), ..cold_town() });
    assert_eq!(beyond.to_string(), "surface = 3: the house has 1, counted from 0");
}

fn sections() -> impl Strategy<Value = Section> {
    let layers = vec((0.0..4.0_f64, 0.005..50.0_f64), 1..7);
    layers.prop_map(|layers| {
        let layers: Vec<VapourLayer> =
            layers.into_iter().map(|(r, sd)| layer("x", r, sd)).collect();
        Section::new(0.13, 0.04, &layers).unwrap()
    })
}

fn climates() -> impl Strategy<Value = [OutdoorMonth; 12]> {
    vec((-50.0..45.0_f64, 0.0..=1.0_f64), 12)
        .prop_map(|months| std::array::from_fn(|m| air(months[m].0, months[m].1)))
}

proptest! {
    #[test]
    fn dew_point_is_the_inverse(celsius in -60.0..60.0_f64) {
        prop_assert!((dew_point_c(saturation_pressure_pa(celsius)) - celsius).abs() < 1e-9);
    }

    /// What goes in comes out or stays; nothing is above saturation; temperatures never turn.
    #[test]
    fn mass_is_kept(
        section in sections(), climate in climates(), rh in 0.0..=1.0_f64, room in 5.0..35.0_f64
    ) {
        let year = year(&section, t(room), IndoorHumidity::Fixed(rh), &climate);
        prop_assert_eq!(year.months.len(), 12);
        let mut held = 0.0;
        for month in &year.months {
            let gained = month.vapour_in_kg_m2 - month.vapour_out_kg_m2;
            let size = 1.0 + month.vapour_in_kg_m2.abs() + month.vapour_out_kg_m2.abs() + held;
            prop_assert!((month.gained_in_all() - gained).abs() < 1e-11 * size);
            held += month.gained_in_all();
            prop_assert!((month.held_in_all() - held).abs() < 1e-11 * size);
            prop_assert!(month.held_kg_m2.iter().all(|&water| water >= 0.0));
            for (p, most) in month.pressure_pa.iter().zip(&month.saturation_pa) {
                prop_assert!(*p <= most * (1.0 + 1e-12) && *p >= 0.0);
            }
            let (low, high) = (room.min(month.outdoor.temperature.c()), room.max(month.outdoor.temperature.c()));
            let falls = room >= month.outdoor.temperature.c();
            for pair in month.temperature_c.windows(2) {
                let step = pair[0] - pair[1];
                    prop_assert!(if falls { step >= 0.0 } else { step <= 0.0 }, "it turns");
                prop_assert!((low - 1e-9..=high + 1e-9).contains(&pair[1]));
            }
        }
        // Nothing condenses on either face of the wall.
        let last = section.nodes().len() - 1;
        for month in &year.months {
            prop_assert_eq!((month.held_kg_m2[0], month.held_kg_m2[last]), (0.0, 0.0));
        }
    }

    /// The pressure is the string below saturation: straight where it does not touch, and between
    /// any two months' first days nothing dries that is not held.
    #[test]
    fn a_dry_month_is_a_string(
        section in sections(), outdoor in -40.0..15.0_f64, rh in 0.0..=1.0_f64
    ) {
        let climate = [air(outdoor, 0.8); 12];
        let year = year(&section, t(20.0), IndoorHumidity::Fixed(rh), &climate);
        let month = &year.months[0];
        let sd: Vec<f64> = section.nodes().iter().map(|node| node.sd_m).collect();
        let p = &month.pressure_pa;
        for k in 1..p.len() - 1 {
            let inward = (p[k - 1] - p[k]) / (sd[k] - sd[k - 1]);
            let outward = (p[k] - p[k + 1]) / (sd[k + 1] - sd[k]);
            let size = 1e-9 * (1.0 + inward.abs() + outward.abs());
            prop_assert!(inward >= outward - size, "it condenses or passes, it cannot dry");
            if p[k] < month.saturation_pa[k] * (1.0 - 1e-9) {
                prop_assert!((inward - outward).abs() <= 1e-6 * (1.0 + inward.abs()));
            }
        }
        if year.peak_kg_m2() > TRACE_KG_M2 {
            prop_assert!(year.left_kg_m2() > 0.0, "the same month all year cannot dry");
        }
    }
}
